"""Counts and sections in drafts: what a file says it holds is compared, and what names one element fits the others."""

from __future__ import annotations

import pytest

from benchseal.ingest.accounting import accounted
from benchseal.ingest.draft import Draft, proposed
from benchseal.records.run import DocumentRef

REF = DocumentRef("draft", 0, "0" * 64)
HEAD = "Serial number: TQ-4\nTechnique: flame\nDate: 2026-03-12 09:10:00\n"
ROWS = "1;Blank;1;0.001\n1;Blank;2;0.002\n2;Std 1;1;0.051\n2;Std 1;2;0.052\n3;Ware;1;0.031\n3;Ware;2;0.032\n"
LAST = "3;Ware;1;0.031\n3;Ware;2;0.032\n"
TABLE = "No;Sample ID;Rep;Abs\n" + ROWS


def _draft(text: str) -> Draft:
    draft = proposed(text.encode(), "x.txt", "draft")
    assert isinstance(draft, Draft), draft
    return draft


def _codes(text: str, draft: Draft) -> set[str]:
    return {each.code for each in accounted(text.encode(), "x.txt", draft.layout, REF).problems}


def test_facts_left_open_do_not_hide_a_count() -> None:
    """The file does not say its wavelength: the draft has a problem of its own, and compares the count all the same."""
    text = HEAD + "Element: Pb\n\n" + TABLE + "Total firings: 6\n"
    draft = _draft(text)
    assert draft.layout.last_line == r"Total +firings: +(?P<count_readings>[0-9]+)\s*"
    assert "ingest.count-differs" not in _codes(text, draft)
    assert "ingest.count-differs" in _codes(text.replace(LAST, ""), draft)


@pytest.mark.parametrize(
    "word", ["Injections", "Burns", "Shots", "Results", "Einzelwerte", "Messungen", "Zündungen", "Gizmos"]
)
def test_a_closing_number_of_readings_is_a_count_whatever_its_word(word: str) -> None:
    text = HEAD + "Element: Pb 283.3 nm\n\n" + TABLE + f"{word}: 6\n"
    draft = _draft(text)
    assert "(?P<count_readings>[0-9]+)" in draft.layout.last_line
    assert not draft.remarks["last_line"][0], "somebody has to look"
    assert _codes(text.replace(LAST, ""), draft) == {"ingest.count-differs"}


@pytest.mark.parametrize(
    "line", ["Lamp: 6", "Closed 06:06:06", "Page 6 of 6", "Slit 0.6", "Rev v6", "Standards: 6", "6 mA", "3 Gizmos"]
)
def test_a_closing_number_of_another_thing_is_no_count(line: str) -> None:
    text = HEAD + "Element: Pb 283.3 nm\n\n" + TABLE + f"{line}\n"
    assert "count_" not in _draft(text).layout.last_line


@pytest.mark.parametrize(
    "line", ["-- 6 readings of 3 solutions --", "-- 3 Lösungen, 6 Messungen --", "Solutions: 3 Readings: 6"]
)
def test_two_counts_in_one_line_are_both_compared(line: str) -> None:
    text = HEAD + "Element: Pb 283.3 nm\n\n" + TABLE + f"{line}\n"
    last = _draft(text).layout.last_line
    assert ("<count_solutions>" in last, "<count_readings>" in last) == (True, True)
    assert _codes(text, _draft(text)) == set()
    assert _codes(text.replace(LAST, ""), _draft(text)) == {"ingest.count-differs"}


def test_a_count_that_is_not_what_was_read_says_so() -> None:
    draft = _draft(HEAD + "Element: Pb 283.3 nm\n\n" + TABLE + "Readings: 8\n")
    assert "count_" not in draft.layout.last_line
    assert "none of what was read (6 readings, 3 solutions)" in draft.remarks["last_line"][1]


def _sections(one: str, two: str, begins: str, ends: str) -> str:
    part = f"{begins}\nLine: {{}} nm\n{TABLE}{ends}\n\n"
    parts = part.replace("%E", one).format("324.8") + part.replace("%E", two).format("279.5")
    return HEAD + "\n" + parts + "Closed\n"


@pytest.mark.parametrize(("one", "two", "symbols"), [("Cu", "Mn", ["Cu", "Mn"]), ("Kupfer", "Mangan", ["Cu", "Mn"])])
def test_the_element_of_a_section_is_read_from_the_line_that_begins_it(one: str, two: str, symbols: list[str]) -> None:
    text = _sections(one, two, "*** Part %E ***", "*** End %E: 3 solutions, 6 readings ***")
    draft = _draft(text)
    told = accounted(text.encode(), "x.txt", draft.layout, REF)
    assert [run.facts.element for run in told.documents] == symbols
    assert [line.text for line in told.lines if line.role in {"no place", "dropped"}] == []
    assert list(told.problems) == []
    ends = draft.layout.section.ends
    assert "(?P<count_solutions>[0-9]+) +solutions, +(?P<count_readings>[0-9]+) +readings" in ends
    assert ("element_again" in ends) == (one == symbols[0])
    assert _codes(text.replace(LAST, "", 1), draft) == {"ingest.count-differs"}
    assert "Kupfer" not in draft.layout.section.begins + ends
    assert r"+Cu" not in draft.layout.section.begins + ends


def test_the_element_at_the_end_of_a_section_is_held_against_it() -> None:
    text = _sections("Cu", "Mn", "*** Part %E ***", "*** End %E: 3 solutions, 6 readings ***")
    draft = _draft(text)
    assert "ingest.cut-off" in _codes(text.replace("End Mn", "End Cu"), draft)


def test_lines_of_sections_that_differ_in_a_word_are_read_in_each() -> None:
    text = _sections("Cu", "Mn", "Element: %E\nlamp of %E alone, shelf left", "End %E: 3 solutions, 6 readings")
    text = text.replace("Mn alone, shelf left", "Mn alone, shelf right")
    told = accounted(text.encode(), "x.txt", _draft(text).layout, REF)
    assert [run.facts.element for run in told.documents] == ["Cu", "Mn"]
    assert list(told.problems) == []


def test_the_one_section_of_a_file_says_its_element_too() -> None:
    text = HEAD + "\n*** Element Cu ***\nLine: 324.8 nm\n" + TABLE + "*** End Cu: 3 solutions, 6 readings ***\n"
    draft = _draft(text)
    (run,) = accounted(text.encode(), "x.txt", draft.layout, REF).documents
    assert (run.facts.element, _codes(text, draft)) == ("Cu", set())
    assert "(?P<element_again>" in draft.layout.last_line
    assert _codes(text.replace("Element Cu", "Element Mn").replace("End Cu", "End Mn"), draft) == set()
    assert "ingest.cut-off" in _codes(text.replace("End Cu", "End Mn"), draft)


@pytest.mark.parametrize("line", ["Element In use", "*** Element Cu of two ***", "metals are measured As found"])
def test_a_word_that_looks_like_a_symbol_is_no_element(line: str) -> None:
    draft = _draft(f"{HEAD}{line}\nLine: 324.8 nm\n{TABLE}")
    assert "element" in {one.fact for one in draft.layout.stated}


def test_counts_of_each_section_in_lines_of_their_own_are_compared() -> None:
    text = _sections("Cu", "Mn", "*** Part %E ***", "Solutions: 3\nReadings: 6\nPart done")
    draft = _draft(text)
    assert _codes(text, draft) == set()
    assert draft.layout.section.ends
    assert "ingest.count-differs" in _codes(text.replace(LAST, "", 1), draft)
