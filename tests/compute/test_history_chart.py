"""Control charts over runs: limits frozen for each lot, whatever comes later, and what a reader sees of them.

Values are invented; published checks of limits and run rules stand in ``tests/published``.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchseal.compute.control_chart import LEAST_BASE, WISHED_BASE
from benchseal.compute.history_chart import (
    Against,
    Chart,
    Stretch,
    Value,
    against_history,
    chart_of,
    in_s,
    newest_broken,
    shown_part,
    text_of,
)
from benchseal.problems import Refusal

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.compute.control_chart import RuleSet

WE: tuple[RuleSet, ...] = ("western_electric",)
TEN = ("99", "101", "100.5", "99.5", "100.2", "99.8", "100.9", "99.1", "100.1", "99.9")  # breaks no rule
TWENTY = (*TEN, *TEN)


def value(n: int, found: str, **changes: Any) -> Value:  # noqa: ANN401  fields of a value
    """The n-th value: one a day, each in a run of its own, on record in that order."""
    at = f"2026-{1 + n // 28:02d}-{1 + n % 28:02d}T08:00:00Z"
    usual = Value(f"R-{n:05d}", 1, 0, 9, at, "L-1", found, "%", n)
    return replace(usual, **changes)


def row(found: Sequence[str], first: int = 1, **changes: Any) -> list[Value]:  # noqa: ANN401  as value
    return [value(n, text, **changes) for n, text in enumerate(found, first)]


def charted(*values: Value) -> Chart:
    return chart_of(values, WE, "CS on AA-1")


def only(chart: Chart) -> Stretch:
    (stretch,) = chart.stretches
    return stretch


def limits_of(values: Sequence[Value]) -> tuple[Fraction, Fraction]:
    limits = only(charted(*values)).limits
    assert limits is not None
    return limits.mean, limits.s


# ------------------------------------------------------------------ the base


@pytest.mark.parametrize(
    ("n", "base", "of"),
    [
        pytest.param(LEAST_BASE - 1, "none", 0, id="one too few"),
        pytest.param(LEAST_BASE, "growing", LEAST_BASE, id="just enough"),
        pytest.param(WISHED_BASE - 1, "growing", WISHED_BASE - 1, id="one before it stands"),
        pytest.param(WISHED_BASE, "frozen", WISHED_BASE, id="stands"),
        pytest.param(WISHED_BASE + 1, "frozen", WISHED_BASE, id="and stays"),
    ],
)
def test_limits_come_from_the_first_values(n: int, base: str, of: int) -> None:
    stretch = only(charted(*row((*TWENTY, "100")[:n])))
    assert (stretch.base, stretch.limits.base if stretch.limits else 0, stretch.n) == (base, of, n)
    assert (stretch.why is None) == (of > 0)
    assert stretch.base_runs == tuple(f"R-{place:05d}" for place in range(1, of + 1))


def test_too_few_values_are_a_refusal_with_both_numbers() -> None:
    why = only(charted(value(1, "100"))).why
    assert why == Refusal(
        "history.base-too-few",
        "CS on AA-1, lot L-1",
        "they need at least 10 values, better 20; there is 1.",
        "Go by the limits of the rule until more runs are there.",
    )


def test_equal_values_give_no_limits() -> None:
    stretch = only(charted(*row(["100"] * 12)))
    assert (stretch.limits, stretch.broken) == (None, ())
    assert stretch.why is not None
    assert stretch.why.code == "history.no-spread"


@settings(deadline=None)
@given(st.lists(st.integers(-(10**6), 10**6), max_size=12))
def test_no_later_value_moves_frozen_limits(later: list[int]) -> None:
    values = [*row(TWENTY), *row([str(one) for one in later], WISHED_BASE + 1)]
    assert limits_of(values) == limits_of(row(TWENTY))


def test_until_it_is_frozen_a_base_moves() -> None:
    assert limits_of(row((*TEN, "103"))) != limits_of(row(TEN))


@settings(deadline=None)
@given(st.permutations(range(26)), st.lists(st.integers(-9, 9), min_size=26, max_size=26))
def test_any_order_of_input_gives_the_same_chart(order: list[int], tenths: list[int]) -> None:
    values = [value(n, f"{100 + tenths[n] / 10:.1f}", lot=f"L-{n % 2}") for n in range(26)]
    assert charted(*values) == charted(*(values[place] for place in order))


def test_the_order_is_that_of_measurement() -> None:
    """Not of the run's number: a file may come in late. Within a run, as presented; R-100000 is after R-99999."""
    at = "2026-03-01T08:00:00Z"
    late, early = value(7, "1", measured_at="2026-03-02T08:00:00Z"), value(9, "2", measured_at="2026-02-28T08:00:00Z")
    second, first = value(8, "3", measured_at=at, place=2), value(8, "4", measured_at=at, place=1, position=99)
    big, small = value(100000, "5", measured_at=at, run="R-100000"), value(9, "6", measured_at=at, run="R-99999")
    chart = charted(late, second, big, small, first, early)
    assert [one.found for one in chart.values] == ["2", "4", "3", "6", "5", "1"]


@pytest.mark.parametrize(
    "changes",
    [
        pytest.param({"lot": "L-2"}, id="another lot"),
        pytest.param({"unit": "ug/L"}, id="another unit"),
        pytest.param({"basis": "5"}, id="another expected value"),
    ],
)
def test_what_cannot_be_compared_starts_a_base_of_its_own(changes: dict[str, str]) -> None:
    chart = charted(*row(TWENTY), *row(["500"] * 3, 21, **changes))
    before, after = chart.stretches
    assert (before.letter, before.base, before.n) == ("A", "frozen", 20)
    assert (after.letter, after.base, after.n, after.broken) == ("B", "none", 3, ())
    assert after.places == (20, 21, 22)
    assert before == only(charted(*row(TWENTY)))


def test_a_lot_taken_up_again_keeps_its_limits() -> None:
    chart = charted(*row(TWENTY), value(21, "50", lot="L-2"), value(22, "104"))
    first, _ = chart.stretches
    assert (first.n, first.places[-1]) == (21, 21)
    assert [(one.rule, one.first, one.last) for one in first.broken] == [("western_electric 1", 21, 21)]


def test_letters_go_on_after_z() -> None:
    chart = charted(*(value(n, "1", lot=f"L-{n}") for n in range(1, 55)))
    letters = [one.letter for one in chart.stretches]
    assert (letters[0], letters[25], letters[26], letters[51:]) == ("A", "Z", "a", ["z", "#", "#"])


def test_a_value_that_was_not_found_is_listed_and_counts_nowhere() -> None:
    chart = charted(*row(TEN), value(5, "", place=1, verdict="not_evaluated"))
    assert len(chart.values) == 11
    assert only(chart) == replace(only(charted(*row(TEN))), places=(0, 1, 2, 3, 4, 6, 7, 8, 9, 10))
    assert charted(value(1, "")).stretches == ()
    assert charted(value(1, "")).newest == -1


@pytest.mark.parametrize(
    ("entries", "late"),
    [
        pytest.param({}, (), id="in order"),
        pytest.param({3: 40}, ("R-00003",), id="one of the base after one beyond it"),
        pytest.param({20: 20}, (), id="the last of the base in time"),
        pytest.param({22: 40}, (), id="beyond the base"),
    ],
)
def test_a_base_completed_later_says_so(entries: dict[int, int], late: tuple[str, ...]) -> None:
    values = [replace(one, entry=entries.get(n, n)) for n, one in enumerate(row((*TWENTY, "100", "100")), 1)]
    assert only(charted(*values)).late == late


# ------------------------------------------------------------------ run rules and the newest value


def test_broken_rules_name_places_of_the_chart() -> None:
    other = row(["7", "8"], 3, lot="L-2", measured_at="2026-01-05T09:00:00Z")
    chart = charted(*row((*TWENTY, "104")), *other)
    (one,) = chart.stretches[0].broken
    assert (one.rule, one.words, one.in_base) == ("western_electric 1", "a value beyond 3 s", False)
    assert chart.values[one.last].found == "104"
    assert newest_broken(chart) == (one,)


def test_a_break_that_is_over_is_none_of_the_newest() -> None:
    chart = charted(*row((*TWENTY, "104", "100")))
    assert len(only(chart).broken) == 1
    assert newest_broken(chart) == ()
    elsewhere = charted(*row((*TWENTY, "104")), value(22, "3", lot="L-2"))
    assert newest_broken(elsewhere) == ()  # the newest value is of another lot


def test_a_break_within_the_base_says_so() -> None:
    chart = charted(*row((*TWENTY[:19], "107")))
    assert [(one.rule, one.in_base) for one in only(chart).broken] == [("western_electric 1", True)]


def test_a_value_as_far_as_a_line_is_not_beyond_it() -> None:
    """Twenty values with mean 100 and s exactly 2, two of them on the 3 s lines."""
    base = ["100"] * 14 + ["106", "94", "101", "99", "101", "99"]
    assert limits_of(row(base)) == (Fraction(100), Fraction(2))
    limits = only(charted(*row(base))).limits
    assert limits is not None
    assert in_s("106", limits) == 3
    first = "western_electric 1"
    assert first not in {one.rule for one in only(charted(*row((*base, "106")))).broken}
    assert first in {one.rule for one in only(charted(*row((*base, "106.000000001")))).broken}


# ------------------------------------------------------------------ what a reader asked to see


def test_a_part_shows_less_and_changes_nothing() -> None:
    """--from and --to choose what is seen; limits and rules rest on all values."""
    whole = charted(*row((*TWENTY, "104", "100")))
    part = shown_part(whole, lambda one: one.measured_at >= "2026-01-21")
    assert [one.found for one in part.values] == ["99.9", "104", "100"]
    assert (only(part).limits, only(part).base_runs, only(part).n) == (
        only(whole).limits, only(whole).base_runs, 22,
    )  # fmt: skip
    (one,) = only(part).broken
    assert part.values[one.last].found == "104"


def test_a_break_that_began_before_the_part_begins_with_it() -> None:
    high = ["100.6"] * 8
    whole = charted(*row((*TWENTY, *high)))
    (one,) = (each for each in only(whole).broken if each.rule == "western_electric 4")
    assert (whole.values[one.first].found, one.last) == ("100.6", 27)
    part = shown_part(whole, lambda each: each.run >= "R-00026")
    (seen,) = (each for each in only(part).broken if each.rule == "western_electric 4")
    assert (seen.first, seen.last, len(part.values)) == (0, 2, 3)


def test_a_break_that_ended_before_the_part_is_not_in_it() -> None:
    whole = charted(*row((*TWENTY, "104", "100")))
    assert only(shown_part(whole, lambda one: one.found == "100")).broken == ()


def test_a_part_without_values_is_empty() -> None:
    part = shown_part(charted(*row(TEN)), lambda _: False)
    assert (part.values, part.stretches, part.newest, newest_broken(part)) == ((), (), -1, ())


@settings(deadline=None)
@given(st.lists(st.integers(-40, 40), min_size=10, max_size=40), st.integers(0, 2**40 - 1))
def test_parts_hold_what_the_whole_holds(tenths: list[int], mask: int) -> None:
    values = [value(n, f"{100 + one / 10:.1f}", lot=f"L-{n % 2}") for n, one in enumerate(tenths)]
    whole = charted(*values)
    part = shown_part(whole, lambda one: bool(mask >> one.entry & 1))
    seen = {one.entry for one in part.values}
    for stretch in whole.stretches:
        kept = [one for one in part.stretches if one.key == stretch.key]
        last = {(one.rule, whole.values[one.last].entry) for one in stretch.broken} if kept else set()
        assert {(one.rule, part.values[one.last].entry) for own in kept for one in own.broken} == {
            each for each in last if each[1] in seen
        }
        for own in kept:
            assert own.limits == stretch.limits
            assert all(part.values[place].key == own.key for place in own.places)
            assert all(one.first in own.places and one.first <= one.last for one in own.broken)


# ------------------------------------------------------------------ the newest against its history


def history(*found: str, **changes: Any) -> Against | Refusal:  # noqa: ANN401  as value
    values = row(found[:-1], **changes)
    return against_history(charted(*values, value(60, found[-1])), len(values), "sensitivity on AA-1")


@pytest.mark.parametrize(
    ("newest", "percent", "moved"),
    [
        pytest.param("30", "100", False, id="as ever"),
        pytest.param("36", "120", False, id="on the upper end"),
        pytest.param("36.001", "120.003333333", True, id="beyond the upper end"),
        pytest.param("24", "80", False, id="on the lower end"),
        pytest.param("23.999", "79.9966666667", True, id="beyond the lower end"),
    ],
)
def test_twenty_percent_from_the_mean_of_its_history(newest: str, percent: str, moved: bool) -> None:
    found = history("29", "30", "31", newest)
    assert isinstance(found, Against)
    assert (found.earlier, Fraction(found.mean), found.moved) == (3, Fraction(30), moved)
    assert Fraction(found.percent) == Fraction(percent)


def test_the_newest_is_no_part_of_its_history() -> None:
    found = history("30", "30", "30", "300")
    assert isinstance(found, Against)
    assert Fraction(found.percent) == 1000


@pytest.mark.parametrize(
    "changes", [{"unit": "ug/L"}, {"basis": "A"}, {"found": ""}], ids=["another unit", "another signal", "none found"]
)
def test_a_history_of_another_kind_is_none(changes: dict[str, str]) -> None:
    values = [replace(one, **changes) for one in row(("29", "30", "31"))]  # type: ignore[arg-type]
    found = against_history(charted(*values, value(60, "30")), 3, "x")
    assert isinstance(found, Refusal)
    assert found.code == "history.earlier-too-few"
    assert "0; at least 3" in found.what


def test_other_lots_are_part_of_a_history() -> None:
    assert isinstance(history("29", "30", "31", "30", lot="L-0"), Against)


@pytest.mark.parametrize(
    ("exact", "text"),
    [
        (Fraction(0), "0"), (Fraction(2, 3), "0.666666666667"), (Fraction(10**70), f"1{'0' * 70}"),
        (Fraction(-1, 8), "-0.125"), (Fraction(1, 10**60), f"0.{'0' * 59}1"),
    ],
)  # fmt: skip
def test_texts_have_the_digits_of_the_record_at_any_size(exact: Fraction, text: str) -> None:
    found = text_of(exact)
    assert Fraction(found) == Fraction(text)
