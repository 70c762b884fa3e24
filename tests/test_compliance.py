"""The table of clauses: made from the marks, refusing what it cannot place, honest about what is not shown."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from tools.compliance import (
    TABLE,
    Clause,
    Document,
    Mark,
    gathered,
    marks_in,
    read_clauses,
    read_results,
    said,
    table,
)

if TYPE_CHECKING:
    from pathlib import Path

CLAUSE = Clause("X 1", "asks", "does")
POSITIVE, NEGATIVE = (
    Mark("X 1", "clause", "tests/test_x.py", "test_a"),
    Mark("X 1", "refuses", "tests/test_x.py", "test_b"),
)


def test_the_table_of_the_manual_is_what_the_marks_give() -> None:
    documents, clauses = read_clauses()
    page = table(documents, gathered(clauses, marks_in()))
    assert TABLE.read_text(encoding="utf-8") == page, "make it again: .venv/bin/python tools/compliance.py"


@pytest.mark.parametrize(
    ("marks", "word"),
    [
        pytest.param((), "**open**", id="no test"),
        pytest.param((POSITIVE,), "**open**", id="nobody tries to break it"),
        pytest.param((NEGATIVE,), "**open**", id="nobody shows it"),
        pytest.param((POSITIVE, NEGATIVE), "held", id="both"),
    ],
)
def test_a_clause_is_held_only_with_both_kinds(marks: tuple[Mark, ...], word: str) -> None:
    (shown,) = gathered((CLAUSE,), marks)
    assert said(shown, None) == word
    assert ("meant: does" in table([Document("X", "X")], (shown,))) == (word != "held")


@pytest.mark.refuses("A11 1")
@pytest.mark.parametrize(
    ("attacks", "word"),
    [
        pytest.param((), "**open**", id="nobody tries to break it"),
        pytest.param((NEGATIVE,), "**open**", id="one attack"),
        pytest.param((NEGATIVE, NEGATIVE), "**open**", id="the same one twice"),
        pytest.param((NEGATIVE, NEGATIVE._replace(test="test_c")), "held", id="two"),
    ],
)
def test_a_clause_of_high_risk_is_held_only_with_two_attacks(attacks: tuple[Mark, ...], word: str) -> None:
    clause = Clause("X 1", "asks", "does", risk="high")
    (shown,) = gathered((clause,), (POSITIVE, *attacks))
    assert said(shown, None) == word
    assert "| X 1 | high |" in table([Document("X", "X")], (shown,))


@pytest.mark.refuses("A11 1")
def test_one_attack_that_failed_or_did_not_run_does_not_count_for_high_risk(tmp_path: Path) -> None:
    clause, other = Clause("X 1", "asks", "does", risk="high"), NEGATIVE._replace(test="test_c")
    (shown,) = gathered((clause,), (POSITIVE, NEGATIVE, other))
    case = "<testcase classname='tests.test_x' name='{}'/>"
    run = tmp_path / "run.xml"
    run.write_text(f"<testsuite>{''.join(map(case.format, ('test_a', 'test_b')))}</testsuite>")
    assert said(shown, read_results(run)).startswith("**open**")
    run.write_text(f"<testsuite>{''.join(map(case.format, ('test_a', 'test_b', 'test_c')))}</testsuite>")
    assert said(shown, read_results(run)).startswith("held")


@pytest.mark.clause("A11 1")
def test_trail_signatures_duty_calculation_and_release_are_of_high_risk() -> None:
    high = {each.id for each in read_clauses()[1] if each.risk == "high"}
    assert {"P11 11.10(e)", "P11 11.70", "P11 11.10(g)", "17025 7.5", "17025 7.8.1.1", "OOS IV.B"} <= high


@pytest.mark.parametrize(
    ("second", "words"),
    [
        pytest.param("<testcase classname='tests.test_x' name='test_b[1]'/>", "held (2 passed)", id="passed"),
        pytest.param(
            "<testcase classname='tests.test_x' name='test_b[1]'><failure/></testcase>"
            "<testcase classname='tests.test_x' name='test_b[2]'/>",
            "**open** (2 passed, 1 failed)",
            id="one case failed",
        ),
        pytest.param(
            "<testcase classname='tests.test_x' name='test_b'><skipped/></testcase>",
            "**open** (1 passed, 1 skipped)",
            id="skipped",
        ),
        pytest.param("", "**open** (1 passed)", id="did not run"),
    ],
)
def test_only_what_passed_counts_in_a_run(tmp_path: Path, second: str, words: str) -> None:
    run = tmp_path / "run.xml"
    run.write_text(
        f"<testsuites><testsuite><testcase classname='tests.test_x' name='test_a'/>{second}</testsuite></testsuites>"
    )
    (shown,) = gathered((CLAUSE,), (POSITIVE, NEGATIVE))
    assert said(shown, read_results(run)) == words


def test_a_mark_that_names_no_clause_is_said_with_its_test() -> None:
    with pytest.raises(ValueError, match=r"tests/test_x\.py::test_a: 'X 9'"):
        gathered((CLAUSE,), (POSITIVE._replace(clause="X 9"),))


@pytest.mark.parametrize(
    "source",
    [
        pytest.param("ID = 'X 1'\n@pytest.mark.clause(ID)\ndef test_a(): pass\n", id="not plain text"),
        pytest.param("@pytest.mark.clause()\ndef test_a(): pass\n", id="no clause"),
        pytest.param("@pytest.mark.refuses('X 1')\ndef helper(): pass\n", id="on no test"),
    ],
)
def test_a_mark_that_would_be_lost_is_said(tmp_path: Path, source: str) -> None:
    (tmp_path / "test_x.py").write_text(source)
    with pytest.raises(ValueError, match=r"test_x\.py: the mark in line"):
        list(marks_in(tmp_path))


def test_marks_are_found_on_tests_cases_and_whole_files(tmp_path: Path) -> None:
    (tmp_path / "test_x.py").write_text(
        "pytestmark = [pytest.mark.clause('X 1')]\n"
        "@pytest.mark.refuses('X 2', 'X 3')\n"
        "@pytest.mark.parametrize('a', [pytest.param(1, marks=pytest.mark.refuses('X 4'))])\n"
        "def test_a(a): pass\n"
    )
    found = {(mark.kind, mark.clause, mark.test) for mark in marks_in(tmp_path)}
    assert found == {("refuses", f"X {n}", "test_a") for n in (2, 3, 4)} | {("clause", "X 1", "test_a")}
