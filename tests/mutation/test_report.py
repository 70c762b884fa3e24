"""The report of a campaign, and the file of equivalent mutants."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tests.mutation.__main__ import EQUIVALENT, all_mutants, pick
from tests.mutation.report import equivalents, gone, report, share
from tests.mutation.touched import Index, Touched

if TYPE_CHECKING:
    from pathlib import Path


def line(verdict: str, module: str = "m") -> dict[str, object]:
    at = {"where": "f", "line": 3, "context": "return a < b", "change": "a < b -> a <= b", "nth": 1, "tests": 2}
    return {"module": module, "verdict": verdict, **at}


def test_what_is_listed_as_equivalent_exists() -> None:
    there = {mutant.key for mutant in all_mutants().values()}
    listed = equivalents(EQUIVALENT)
    assert gone(listed, there) == []
    assert all(reason.strip() for reason in listed.values())


def test_a_listed_mutant_that_is_gone_is_found(tmp_path: Path) -> None:
    path = tmp_path / "equivalent.toml"
    path.write_text(
        '[[mutant]]\nmodule = "m"\nwhere = "f"\ncontext = "c"\nchange = "1 -> 2"\nreason = "r"\n', encoding="utf-8"
    )
    listed = equivalents(path)
    assert listed == {("m", "f", "c", "1 -> 2", 1): "r"}
    assert gone(listed, [("m", "f", "c", "1 -> 2", 2)]) == list(listed)
    assert gone(listed, listed) == []


def test_equivalents_count_neither_as_killed_nor_as_survivors() -> None:
    lines = [line("killed"), line("hanged"), line("survived"), line("equivalent"), line("broken")]
    assert share(lines) == (2, 4)


def test_the_report_names_survivors_with_line_and_change() -> None:
    text = report([line("killed"), line("survived"), line("killed", "n")], "2 of 9")
    assert "2 of 9" in text
    assert "| m | 2 | 1 | 0 | 0 | 1 | 50.0 |" in text
    assert "| all | 3 | 2 | 0 | 0 | 1 | 66.7 |" in text
    assert "m:3 f: a < b -> a <= b; 2 tests; in: return a < b" in text


def test_a_sample_is_the_same_for_the_same_seed() -> None:
    every = all_mutants()
    assert pick(every, [], 50, 3) == pick(every, [], 50, 3) != pick(every, [], 50, 4)
    assert {place[0] for place in pick(every, ["fit"], 0, 1)} == {"fit"}


def test_lines_of_changed_test_files_are_collected_again() -> None:
    touched = Touched("p", {"a.py": "1", "b.py": "1"}, {"a.py::t": 1.0, "b.py::t": 2.0}, {"a.py::t": {}, "b.py::t": {}})
    assert touched.keep(Touched("p", {"a.py": "1", "b.py": "2"})) == ["b.py"]
    assert set(touched.seconds) == {"a.py::t"}
    assert touched.keep(Touched("other", {"a.py": "1", "b.py": "2"})) == ["a.py", "b.py"]
    assert touched.lines == {}


def test_tests_of_a_statement_come_quickest_first_and_those_seen_at_import_are_told() -> None:
    index = Index(
        Touched(
            seconds={"a.py::slow": 9.0, "a.py::quick": 0.1, "b.py::other": 0.5},
            lines={"a.py::slow": {"m": [3]}, "a.py::quick": {"m": [3, 4]}, "b.py::other": {"n": [1]}},
            at_import={"b.py": {"m": [3]}},
        )
    )
    assert index.tests_of("m", 3, whole=False) == (["a.py::quick", "b.py::other", "a.py::slow"], {"b.py::other"})
    assert index.tests_of("m", 4, whole=False) == (["a.py::quick"], set())
    assert index.tests_of("m", 9, whole=False) == ([], set())
    assert index.tests_of("m", 9, whole=True) == (["a.py::quick", "a.py::slow"], {"a.py::quick", "a.py::slow"})
    assert index.slowest("a.py::quick") == 9.0
