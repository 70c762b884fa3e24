"""Reading numbers of documents: every number left out is named, every one that stands elsewhere is found."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.validate.test_check import DOCUMENT

from benchseal.records.known import Counted
from benchseal.records.run import NumberGap, RunDocument
from benchseal.validate.numbers import LEAST_OF_A_COPY, copied_from, gaps_around, gaps_within, is_counted
from benchseal.validate.shape import shape_problems

READINGS = DOCUMENT.readings
COUNT = len(READINGS.signal)
LINES = READINGS.line


def numbered(first: int = 1, *, without: frozenset[int] = frozenset()) -> RunDocument:
    """The sample document with numbers from ``first`` on, those of ``without`` passed over."""
    numbers = [number for number in range(first, first + COUNT + len(without)) if number not in without][:COUNT]
    return replace(DOCUMENT, readings=replace(READINGS, number=tuple(map(str, numbers))))


def counted(document: RunDocument, run: str = "R-00001", *, cancelled: bool = False) -> Counted:
    return Counted(run, cancelled, document)


def signal_changed(document: RunDocument, places: range) -> RunDocument:
    signals = ["9.99" if nth in places else text for nth, text in enumerate(document.readings.signal)]
    return replace(document, readings=replace(document.readings, signal=tuple(signals)))


def relabelled(document: RunDocument, place: int) -> RunDocument:
    labels = ["other" if nth == place else text for nth, text in enumerate(document.solutions.label)]
    return replace(document, solutions=replace(document.solutions, label=tuple(labels)))


@given(without=st.frozensets(st.integers(2, COUNT), max_size=12), first=st.integers(0, 10**11))
def test_all_that_is_left_out_is_named_and_nothing_else(without: frozenset[int], first: int) -> None:
    left_out = frozenset(first + nth for nth in without)
    (gaps,) = gaps_within([numbered(first, without=left_out)], "running")
    named = [number for gap in gaps for number in range(int(gap.first), int(gap.last) + 1)]
    highest = max(int(text) for text in numbered(first, without=left_out).readings.number)
    assert named == sorted(number for number in left_out if first < number < highest)
    assert all(LINES.index(gap.lines[1]) == LINES.index(gap.lines[0]) + 1 for gap in gaps)


def test_sections_of_one_file_follow_each_other() -> None:
    first, second, plain = numbered(1), numbered(COUNT + 4), DOCUMENT
    assert gaps_within([first, plain, numbered(COUNT + 1)], "running") == ((), (), ())
    gap = NumberGap("missing", "inside", str(COUNT + 1), str(COUNT + 3), (LINES[-1], LINES[0]))
    assert gaps_within([first, plain, second], "running") == ((), (), (gap,))
    assert not is_counted(plain)


def test_where_a_counter_begins_again_the_first_numbers_are_due() -> None:
    def start(last: int) -> NumberGap:
        return NumberGap("missing", "before", "1", str(last), (LINES[0],))

    both = [numbered(3), numbered(3 + COUNT)]
    assert gaps_within(both, "running") == ((), ())
    assert gaps_within(both, "each_file") == ((start(2),), ())
    assert gaps_within(both, "each_section") == ((start(2),), (start(2 + COUNT),))
    assert gaps_within([numbered(1), numbered(1)], "each_section") == ((), ())


@pytest.mark.parametrize(
    ("before", "after", "kinds"),
    [
        pytest.param(1001 - COUNT, 1001 + COUNT, [], id="fits on both sides"),
        pytest.param(1000 - COUNT, 1001 + COUNT, [("missing", "before", "1000", "1000")], id="one number before"),
        pytest.param(
            1001 - COUNT,
            1003 + COUNT,
            [("missing", "after", str(1001 + COUNT), str(1002 + COUNT))],
            id="two numbers after",
        ),
        pytest.param(5001, None, [("set_back", "before", str(5000 + COUNT), "1001")], id="set back before"),
        pytest.param(None, 1, [("set_back", "after", str(1000 + COUNT), "1")], id="set back after"),
        pytest.param(None, None, [], id="the only file"),
    ],
)
def test_neighbours(before: int | None, after: int | None, kinds: list[tuple[str, str, str, str]]) -> None:
    earlier = () if before is None else (counted(numbered(before), "R-00001"),)
    later = () if after is None else (counted(numbered(after), "R-00003"),)
    (gaps,) = gaps_around([numbered(1001)], earlier, later, ())
    assert [(gap.kind, gap.at, gap.first, gap.last) for gap in gaps] == kinds
    for gap in gaps:
        assert gap.run == ("R-00001" if gap.at == "before" else "R-00003")
        assert gap.lines == ((LINES[0],) if gap.at == "before" else (LINES[-1],))


def test_the_ends_of_neighbours_with_several_sections_count() -> None:
    earlier = (counted(numbered(1), "R-00001"), counted(numbered(1 + COUNT), "R-00002"))
    ours = [numbered(1 + 2 * COUNT), numbered(1 + 3 * COUNT)]
    assert gaps_around(ours, earlier, (), ()) == ((), ())
    (first, second) = gaps_around(ours, earlier[:1], (counted(numbered(5 + 4 * COUNT), "R-00009"),), ())
    assert [(gap.run, gap.first, gap.last) for gap in first] == [("R-00001", str(COUNT + 1), str(2 * COUNT))]
    assert [(gap.run, gap.first) for gap in second] == [("R-00009", str(4 * COUNT + 1))]


def test_shared_numbers_are_compared_by_signal_and_name() -> None:
    ours, theirs = numbered(11), numbered(1)
    (gaps,) = gaps_around([ours], (counted(theirs),), (), ())
    (gap,) = gaps
    assert (gap.kind, gap.shared, gap.first, gap.last) == ("shared", COUNT - 10, "11", str(COUNT))
    assert gap.lines == (LINES[0], LINES[COUNT - 11])
    assert gap.other_signals > 0, "the counter was set back by ten: other readings stand there"
    (gaps,) = gaps_around([numbered(1)], (), (), (counted(relabelled(signal_changed(theirs, range(2)), 3)),))
    assert [(gap.shared, gap.other_signals, gap.other_names) for gap in gaps] == [(COUNT, 2, 3)]


def test_the_same_signal_written_with_other_digits_is_the_same() -> None:
    longer = tuple(f"{text}0" if "." in text else text for text in READINGS.signal)
    theirs = numbered(1)
    theirs = replace(theirs, readings=replace(theirs.readings, signal=longer))
    (gaps,) = gaps_around([numbered(1)], (counted(theirs),), (), ())
    assert [gap.other_signals for gap in gaps] == [0]


def test_a_cancelled_run_counts_only_where_a_signal_differs() -> None:
    same, changed = numbered(1), signal_changed(numbered(1), range(3))
    assert gaps_around([same], (), (), (counted(same, cancelled=True),)) == ((),)
    assert gaps_around([same], (counted(numbered(1), cancelled=True),), (), ()) == ((),)
    (gaps,) = gaps_around([same], (), (), (counted(changed, cancelled=True),))
    assert [gap.other_signals for gap in gaps] == [3]
    (gaps,) = gaps_around([numbered(2 + COUNT)], (counted(same, cancelled=True),), (), ())
    assert [gap.first for gap in gaps] == [str(COUNT + 1)], "what was cancelled was still read"


def test_copies_far_away_need_readings_enough_and_no_other_signal() -> None:
    ours = numbered(COUNT - LEAST_OF_A_COPY + 1)
    theirs = numbered(1)
    few = replace(ours, readings=replace(ours.readings, signal=theirs.readings.signal[-5:] + READINGS.signal[5:]))
    assert [gap.shared for gap in copied_from(few, [counted(theirs)])] == [5]
    assert copied_from(few, [counted(signal_changed(theirs, range(COUNT - 1, COUNT)))]) == ()
    (one_less,) = [replace(few, readings=replace(few.readings, number=numbered(COUNT - 3).readings.number))]
    assert copied_from(one_less, [counted(theirs)]) == ()


def test_a_column_of_another_length_is_a_fault_of_shape() -> None:
    assert shape_problems(numbered(1)) == ()
    short = replace(DOCUMENT, readings=replace(READINGS, number=("1",)))
    assert [problem.code for problem in shape_problems(short)] == ["validate.columns"]
    wrong = replace(DOCUMENT, readings=replace(READINGS, number=("01",) * COUNT))
    assert {problem.code for problem in shape_problems(wrong)} == {"validate.shape"}
