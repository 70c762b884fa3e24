"""The word of a report, and what a text broken over two pages counts as."""

from __future__ import annotations

import pytest
from tests.verify.making import make, trust

from benchseal.verify.contents import Case, Doubt, Look, check_of, look_at
from benchseal.verify.page import _stands
from benchseal.verify.report import Check, Report


@pytest.mark.parametrize(
    ("answers", "word", "code"),
    [
        pytest.param([True, True], "GENUINE", 0, id="all hold"),
        pytest.param([True, None], "UNKNOWN", 3, id="one is open"),
        pytest.param([None, False], "ALTERED", 6, id="false outweighs open"),
        pytest.param([], "UNKNOWN", 3, id="nothing was looked at"),
    ],
)
def test_the_word(answers: list[bool | None], word: str, code: int) -> None:
    report = Report(tuple(Check("a look", holds, "said.") for holds in answers))
    assert (report.word, report.exit_code) == (word, code)


def test_faults_outweigh_doubts_and_are_said_once() -> None:
    assert check_of("a", (), "good.") == Check("a", holds=True, said="good.")
    assert check_of("a", (Doubt("unsure."),), "good.") == Check("a", holds=None, said="unsure.")
    assert check_of("a", (Doubt("unsure."), "bad.", "bad."), "good.") == Check("a", holds=False, said="bad.")


def test_many_faults_are_counted() -> None:
    check = check_of("a", tuple(f"fault {number}." for number in range(9)), "good.")
    assert check.said.endswith("fault 4. and 4 more.")


def test_a_look_that_breaks_is_a_finding() -> None:
    made = make()
    case = Case(made.evidence, made.supplement, "0" * 64, "0" * 64, (), trust())

    def breaks(_: Case) -> str:
        raise ZeroDivisionError("half way")

    check = look_at(case, Look("a look", lambda _: iter(()), breaks))
    assert check.holds is False
    assert check.said == "it could not be looked at: what it rests on is missing, or of another form."


@pytest.mark.parametrize(
    ("pages", "stands"),
    [
        pytest.param(("xxabcdexx",), True, id="on one page"),
        pytest.param(("xxabc", "dexx"), True, id="broken over two"),
        pytest.param(("xxabcfoot", "headdexx"), True, id="broken, with foot and head between"),
        pytest.param(("xxabc", "xx", "dexx"), False, id="a page between"),
        pytest.param(("dexx", "xxabc"), False, id="the wrong way round"),
        pytest.param(("xxabcd", "xx"), False, id="the end missing"),
        pytest.param(("xx", "abcd"), False, id="cut"),
        pytest.param((), False, id="no page"),
    ],
)
def test_a_text_stands_on_a_page_or_over_two(pages: tuple[str, ...], stands: bool) -> None:
    assert _stands("abc de", pages) is stands


@pytest.mark.parametrize(
    ("pages", "stands"),
    [
        (("head abc", "defghi", "jklm foot"), True),
        (("head abc", "defghi foot", "jklm foot"), True),
        (("head abc", "defghi", "jkl foot"), False),
        (("head abc", "de other words of that page", "fghijklm foot"), False),
        (("head abc", "jklm", "defghi"), False),
        (("head abc", "defghi"), False),
    ],
)
def test_a_text_may_fill_pages_in_between(pages: tuple[str, ...], stands: bool) -> None:
    assert _stands("abc defghijklm", pages) is stands


def test_a_single_word_is_never_broken_over_pages() -> None:
    """The first letter of a lot stands on many a page, and its other ones on the next by chance."""
    assert not _stands("A-1", ("Analysis of another", "ledger bs-1f00"))
    assert _stands("A-1", ("lotA-1", "x"))
    assert _stands("A- 1", ("lotA-", "1x"))
