"""Gaps in reading numbers in words: one sentence each, explained or not."""

from __future__ import annotations

from dataclasses import replace

import pytest
from tests.compute.making import run_of, samples, standards

from benchseal.compute.run_gaps import MOST_NAMED, number_findings
from benchseal.records.run import NumberGap

RUN = run_of((*standards(), *samples(["A/1"])))
SHARED = NumberGap("shared", "inside", "3", "9", (14, 20), "R-00002", shared=7)
_SENTENCES = {
    "reading number 7 is missing between lines 12 and 13": NumberGap("missing", "inside", "7", "7", (12, 13)),
    "reading numbers 7 to 9 are missing between lines 12 and 13": NumberGap("missing", "inside", "7", "9", (12, 13)),
    "reading numbers 1 to 3 are missing before line 12": NumberGap("missing", "before", "1", "3", (12,)),
    "reading number 7 is missing between R-00002 and line 12": NumberGap(
        "missing", "before", "7", "7", (12,), "R-00002"
    ),
    "reading number 7 is missing between line 12 and R-00002": NumberGap(
        "missing", "after", "7", "7", (12,), "R-00002"
    ),
    "the reading numbers fall from 90 (R-00002) to 1 (line 12): the counter was set back in between, or a time is "
    "wrong": NumberGap("set_back", "before", "90", "1", (12,), "R-00002"),
    "the reading numbers fall from 90 (line 12) to 1 (R-00002): the counter was set back in between, or a time is "
    "wrong": NumberGap("set_back", "after", "90", "1", (12,), "R-00002"),
    "7 readings (numbers 3 to 9, lines 14 to 20) stand in R-00002 too, with the same signals: the same readings are "
    "here twice": SHARED,
    "7 readings (numbers 3 to 9, lines 14 to 20) stand in R-00002 too, with the same signals, 3 under another name: "
    "the same readings are here twice": replace(SHARED, other_names=3),
    "7 readings (numbers 3 to 9, lines 14 to 20) stand in R-00002 too, 2 with another signal there: the counter was "
    "set back in between, or one of the two files was changed": replace(SHARED, other_signals=2, other_names=3),
    "1 reading (number 3, line 14) stands in R-00002 too, with the same signals: the same readings are here "
    "twice": replace(SHARED, last="3", lines=(14, 14), shared=1),
}


@pytest.mark.parametrize("words", _SENTENCES)
def test_each_gap_in_one_sentence(words: str) -> None:
    gap = _SENTENCES[words]
    explained = replace(gap, because="new lamp", by="p-ana.keel")
    run = replace(RUN, number_gaps=(gap, explained))
    assert number_findings(run) == (words, f"{words}; explained by p-ana.keel: new lamp")


def test_a_run_without_gaps_says_nothing() -> None:
    assert number_findings(RUN) == ()


def test_an_instrument_that_counts_in_tens_fills_no_pages() -> None:
    gaps = tuple(NumberGap("missing", "inside", str(n + 1), str(n + 9), (n, n + 1)) for n in range(0, 1000, 10))
    found = number_findings(replace(RUN, number_gaps=gaps))
    assert len(found) == MOST_NAMED + 1
    assert found[-1].startswith("80 more gaps")


def test_twenty_gaps_are_named_and_one_more_is_counted() -> None:
    gaps = tuple(NumberGap("missing", "inside", str(n + 1), str(n + 9), (n, n + 1)) for n in range(0, 210, 10))
    assert len(number_findings(replace(RUN, number_gaps=gaps[:20]))) == 20
    assert number_findings(replace(RUN, number_gaps=gaps))[20].startswith("1 more gaps")
