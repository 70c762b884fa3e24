"""Rows of means and spreads are never proposed as readings, whatever word tells them, and where none does."""

from __future__ import annotations

import pytest

from benchseal.ingest.accounting import Accounted, accounted
from benchseal.ingest.draft import Draft, proposed
from benchseal.ingest.guess_rows import counter_with_words, last_are_means, told_by_numbers
from benchseal.records.layout import MeanRow
from benchseal.records.run import DocumentRef

HEAD = "Serial: TQ-4\nTechnique: flame\nElement: Pb 283.3\nDate: 2026-03-12 09:10:00\n"
_SOLUTIONS = (
    ("Blank", "BLK", ("0.0008", "0.0011", "0.0009"), ("0.0009", "0.0002", "0.7777")),
    ("Std 1", "STD", ("0.0608", "0.0612", "0.0598"), ("0.0606", "0.0007", "0.7778")),
    ("Std 2", "STD", ("0.1202", "0.1198", "0.1194"), ("0.1198", "0.0004", "0.7779")),
    ("Y-1", "SMP", ("0.3370", "0.3412", "0.3401"), ("0.3394", "0.0022", "0.7776")),
)


def _text(*words: str, kinds: tuple[int, ...] = (0,), header: str = "R") -> str:
    """Three readings of each solution, then a row for each word: kind 0 its mean, 1 its deviation, 2 neither."""
    text = HEAD + f"No;Name;Type;{header};Abs\n"
    for place, (name, code, readings, others) in enumerate(_SOLUTIONS, 1):
        rows = [*((str(nth), each) for nth, each in enumerate(readings, 1))]
        rows += [(word, others[kind]) for word, kind in zip(words, kinds, strict=True)]
        text += "".join(f"{place};{name};{code};{count};{value}\n" for count, value in rows)
    return text


def _draft(text: str) -> Draft:
    draft = proposed(text.encode(), "x.txt", "draft")
    assert isinstance(draft, Draft), draft
    return draft


def _told(text: str, draft: Draft) -> Accounted:
    return accounted(text.encode(), "x.txt", draft.layout, DocumentRef("draft", 0, "0" * 64))


def _readings(told: Accounted) -> int:
    return sum(len(run.readings.signal) for run in told.documents)


@pytest.mark.parametrize("word", ["m", "M", "x", "s", "%", "Av", "med", "moy", "-", "zzz"])
def test_rows_with_the_means_of_the_readings_are_named_and_asked(word: str) -> None:
    draft = _draft(_text(word))
    assert draft.layout.table.mean_rows == (MeanRow("R", word),)
    assert not draft.remarks["table.mean_rows"][0], "please check"
    told = _told(_text(word), draft)
    assert (told.problems, _readings(told)) == ((), 12)
    assert sum(len(run.means.mean) for run in told.documents) == 4


def test_rows_with_deviations_are_dropped_and_asked() -> None:
    draft = _draft(_text("x", "u", kinds=(0, 1)))
    assert draft.layout.table.mean_rows == (MeanRow("R", "x"),)
    at = next(nth for nth, pattern in enumerate(draft.layout.drop_lines) if "u" in pattern)
    assert not draft.remarks[f"drop_lines.{at}"][0], "please check"
    told = _told(_text("x", "u", kinds=(0, 1)), draft)
    assert (told.problems, _readings(told)) == ((), 12)


@pytest.mark.parametrize("word", ["", "m", "q"])
def test_rows_nothing_tells_are_no_readings_and_the_draft_asks(word: str) -> None:
    """Until somebody says what they are, a file with them is refused."""
    text = _text(word, kinds=(2,))
    draft = _draft(text)
    assert draft.layout.table.mean_rows == ()
    assert [one.means for one in draft.layout.table.columns][3] == "replicate"
    assert any(f"Rows with '{word}' under 'R' are no readings" in one for one in draft.open)
    sure, why = draft.remarks["table.columns.3"]
    assert not sure
    assert why.startswith("counts the readings of each solution")
    assert {one.code for one in _told(text, draft).problems} == {"ingest.reading-order"}


def test_a_last_row_that_has_the_mean_and_no_word_is_asked() -> None:
    """Counted on as one more reading, or not counted at all."""
    for text in (_text("4"), _text("4").replace(";R;", ";Remark;")):
        draft = _draft(text)
        signal = [one.means for one in draft.layout.table.columns].index("signal")
        sure, why = draft.remarks[f"table.columns.{signal}"]
        assert not sure
        assert "is it a reading?" in why
    plain = _draft(_text("4", kinds=(2,)))
    assert not any("may be a mean" in one for one in plain.open)


def test_what_counts_and_what_does_not() -> None:
    rows = [[cell] for cell in ("1", "2", "m", "1", "2", "m")]
    assert counter_with_words(rows) == (0, ("m",))
    assert counter_with_words([]) is None
    for other in ("1 2 3 1 2 3", "m 1 2 m 1 2", "1 m 2 1 m 2", "1 m 1 m", "1 m 2 m", "a b c d e f", "1 2 4 m 1 2 4 m"):
        assert counter_with_words([[cell] for cell in other.split()]) is None, other
    positions = ["1", "", "2", "", "1", "", "2", ""]  # of two tables, carried down
    assert counter_with_words([[cell] for cell in positions]) is None


def test_numbers_tell_means_and_spreads() -> None:
    readings = [["0,10", "0,20"], ["0,30", "0,50"], ["0,70", "0,80"]]
    assert told_by_numbers(readings, ["0,15", "0,40", "0,75"], ",") == "mean"
    assert told_by_numbers(readings, ["47,1", "35,4", "9,4"], ",") == "spread", "relative, in percent"
    assert told_by_numbers(readings, ["0,15", "0,40", "0,99"], ",") == ""
    assert told_by_numbers([["0,10"], ["0,30"]], ["0,10", "0,30"], ",") == "", "of one reading nothing shows"
    assert last_are_means("aaabbbccc", ["1", "3", "2", "4", "6", "5", "7", "9", "8"], ".") == 3
    assert last_are_means("aaabbbccc", ["1", "1", "1", "4", "4", "4", "7", "9", "8"], ".") == 0, "too few that differ"
