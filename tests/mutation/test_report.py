"""The report of a campaign, and the file of equivalent mutants."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from scipy.stats import binom
from tests.mutation.__main__ import EQUIVALENT, Results, all_mutants, pick
from tests.mutation.report import equivalents, gone, interval_percent, report, share
from tests.mutation.running import Job, Outcome
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


def test_the_interval_of_a_share_is_the_exact_binomial_one() -> None:
    """Clopper and Pearson by their definition: each end leaves 2.5 % beyond what was found."""
    low, high = (end / 100 for end in interval_percent(270, 300))
    assert binom.sf(269, 300, low) == pytest.approx(0.025, rel=1e-6)
    assert binom.cdf(270, 300, high) == pytest.approx(0.025, rel=1e-6)
    assert interval_percent(100, 100)[0] == pytest.approx(100 * 0.025**0.01)
    assert interval_percent(100, 100)[1] == 100.0
    assert "2 of 3 killed; if drawn by chance, 95 % interval 9.4 to 99.2 %." in report(
        [line("killed"), line("survived"), line("killed"), line("equivalent")], "all"
    )


def test_outcomes_are_kept_as_long_as_they_hold(tmp_path: Path) -> None:
    """Killed stays killed; a survivor is tried again with other tests, and with more of the same."""
    mutant = next(iter(all_mutants().values()))

    def again(verdict: str, tests: str = "1", budget: float = 10.0) -> int:
        path = tmp_path / "results.jsonl"
        path.unlink(missing_ok=True)
        first = Results(path, Touched("p", {"a.py": "1"}), 10.0)
        first.start(keep=False)
        first.add(Outcome(Job(mutant, 0, (), (), {}), verdict, ""))
        second = Results(path, Touched("p", {"a.py": tests}), budget)
        second.start(keep=True)
        return len(second.lines)

    assert [again("killed", "2", 99.0), again("hanged"), again("equivalent")] == [1, 1, 0]
    assert [again("survived"), again("survived", budget=9.0)] == [1, 1]
    assert [again("survived", budget=11.0), again("survived", "2")] == [0, 0]


def test_tests_of_the_file_named_like_the_module_come_first() -> None:
    files = (
        "tests/test_run_drift.py",
        "tests/test_run_budget.py",
        "tests/test_run_budget_more.py",
        "tests/test_fit.py",
    )
    tests = {f"{file}::t": seconds for file, seconds in zip(files, (0.1, 0.9, 0.8, 0.01), strict=True)}
    index = Index(Touched(seconds=tests, lines={test: {"run_budget": [3]} for test in tests}))
    order, _ = index.tests_of("run_budget", 3, whole=False)
    assert [test.removeprefix("tests/test_").removesuffix(".py::t") for test in order] == [
        *("run_budget_more", "run_budget"),
        *("run_drift", "fit"),
    ]


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
