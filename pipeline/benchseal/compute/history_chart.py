"""Control charts over runs: values of one kind in order of measurement, limits frozen for each standard lot.

A stretch is what shares one base: the values under the same standard lot, in the same unit and on the same basis. Its
first values by time of measurement are its base; from ``WISHED_BASE`` values on the limits stand, whatever follows.
"""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass, replace
from decimal import Context, Decimal
from fractions import Fraction
from itertools import chain, repeat
from string import ascii_lowercase, ascii_uppercase
from typing import TYPE_CHECKING, Literal, TypeAlias

from benchseal.compute.characteristic import LEAST_HISTORY
from benchseal.compute.control_chart import LEAST_BASE, WISHED_BASE, Limits, base_limits, breaks
from benchseal.compute.run_numbers import fraction_of
from benchseal.problems import Refusal
from benchseal.records.quantities import SIGNIFICANT_DIGITS_OF_RECORD, plain, round_to_decimals, round_to_significant

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from benchseal.compute.control_chart import RuleSet
    from benchseal.records.quantities import PlainDecimal

Base: TypeAlias = Literal["frozen", "growing", "none"]
_WIDE = Context(prec=50)
_MOST_PLACES = 12
MOVED_PERCENT = 20  # how far a sensitivity may lie from the mean of its history (common practice, no source)


@dataclass(frozen=True, slots=True)
class Value:
    """One value of a chart and where it is from.

    place: order among the values of its run. position: of the solution, 0 where it is of several or is not told.
    found: empty where nothing was found; such a value is listed and counts nowhere. basis: what must be the same for
    two values to be compared, besides lot and unit. entry: number of the ledger entry that put it on record.
    expected_unit: that of what was expected, often another one than that of what was found.
    """

    run: str
    version: int
    place: int
    position: int
    measured_at: str
    lot: str
    found: PlainDecimal
    unit: str
    entry: int
    basis: str = ""
    expected: PlainDecimal = ""
    low: PlainDecimal = ""
    high: PlainDecimal = ""
    verdict: str = ""
    why: str = ""
    slope: PlainDecimal = ""
    slope_unit: str = ""
    expected_unit: str = ""

    @property
    def key(self) -> tuple[str, str, str]:
        """What values of one stretch share."""
        return self.lot, self.unit, self.basis


@dataclass(frozen=True, slots=True)
class Broken:
    """A stretch of values that breaks a run rule. first, last: places in the chart's values, from 0.

    in_base: it begins among the values that gave the limits.
    """

    rule: str
    words: str
    first: int
    last: int
    in_base: bool


@dataclass(frozen=True, slots=True)
class Stretch:
    """The values of one standard lot. letter: what marks it; n: how many of its values have a number, shown or not.

    places: of those shown, in the chart's values, from 0. limits: None where there are none, and why says the reason.
    base: ``growing`` while fewer than ``WISHED_BASE`` values are there, so that the next one still moves the limits.
    base_runs: runs of its values. late: those of them that came in, or were calculated again, after a value beyond
    the base had: the limits may then differ from those that were seen before.
    """

    letter: str
    lot: str
    unit: str
    basis: str
    n: int
    places: tuple[int, ...]
    limits: Limits | None = None
    base: Base = "none"
    why: Refusal | None = None
    base_runs: tuple[str, ...] = ()
    broken: tuple[Broken, ...] = ()
    late: tuple[str, ...] = ()

    @property
    def key(self) -> tuple[str, str, str]:
        """What its values share."""
        return self.lot, self.unit, self.basis


@dataclass(frozen=True, slots=True)
class Chart:
    """Values in order of measurement, and their stretches in order of first appearance."""

    values: tuple[Value, ...]
    stretches: tuple[Stretch, ...]

    @property
    def newest(self) -> int:
        """Place of the newest value with a number; -1 where there is none."""
        return max((one.places[-1] for one in self.stretches), default=-1)


@dataclass(frozen=True, slots=True)
class Against:
    """The newest value against the mean of the earlier ones of its unit and basis, whatever the lot."""

    newest: int
    earlier: int
    mean: PlainDecimal
    percent: PlainDecimal
    moved: bool


def chart_of(values: Sequence[Value], sets: Sequence[RuleSet], where: str) -> Chart:
    """The chart of all values of one series; where: what it is about, for refusals. In any order the same chart."""
    ordered = tuple(sorted(values, key=_when))
    places: dict[tuple[str, str, str], list[int]] = {}
    for place, one in enumerate(ordered):
        if one.found:
            places.setdefault(one.key, []).append(place)
    letters = chain(ascii_uppercase, ascii_lowercase, repeat("#"))
    return Chart(
        ordered,
        tuple(
            _stretch(letter, ordered, own, sets, where) for letter, own in zip(letters, places.values(), strict=False)
        ),
    )


def shown_part(chart: Chart, shows: Callable[[Value], bool]) -> Chart:
    """The chart as a reader asked to see it: what is left out still counts for limits and rules.

    A broken rule is shown where the last of its values is; one that began before is shown from the first value there.
    """
    kept = [place for place, one in enumerate(chart.values) if shows(one)]
    new = {old: place for place, old in enumerate(kept)}
    stretches = [_shown_stretch(one, new) for one in chart.stretches]
    return Chart(tuple(chart.values[place] for place in kept), tuple(one for one in stretches if one.places))


def _shown_stretch(stretch: Stretch, new: Mapping[int, int]) -> Stretch:
    """new: places of the whole chart to those of its part."""
    own = [place for place in stretch.places if place in new]
    broken = (
        replace(one, first=new[own[bisect_left(own, one.first)]], last=new[one.last])
        for one in stretch.broken
        if one.last in new
    )
    return replace(stretch, places=tuple(new[place] for place in own), broken=tuple(broken))


def newest_broken(chart: Chart) -> tuple[Broken, ...]:
    """Broken rules that the newest value is part of."""
    newest = chart.newest
    return tuple(each for one in chart.stretches for each in one.broken if each.last == newest)


def against_history(chart: Chart, newest: int, where: str) -> Against | Refusal:
    """The value at place ``newest``, which has a number, in percent of the mean of those before it."""
    value = chart.values[newest]
    earlier = (one for one in chart.values[:newest] if one.found and one.key[1:] == value.key[1:])
    before = [fraction_of(one.found) for one in earlier]
    if len(before) < LEAST_HISTORY:
        what = f"earlier values of the same kind: {len(before)}; at least {LEAST_HISTORY} are needed to compare with."
        return Refusal("history.earlier-too-few", where, what, "Measure more runs.")
    mean = sum(before, Fraction(0)) / len(before)
    percent = 100 * fraction_of(value.found) / mean
    moved = abs(percent - 100) > MOVED_PERCENT
    return Against(newest, len(before), text_of(mean), text_of(percent), moved)


def in_s(found: PlainDecimal, limits: Limits) -> Fraction:
    """How many standard deviations a value lies above the centre, below it negative."""
    return (fraction_of(found) - limits.mean) / limits.s


def text_of(value: Fraction) -> PlainDecimal:
    """A ratio as plain decimal text with the digits of a value of record, of any size: it goes into no record."""
    if value == 0:
        return "0"
    quotient = _WIDE.divide(Decimal(value.numerator), Decimal(value.denominator))
    return plain(round_to_significant(quotient, SIGNIFICANT_DIGITS_OF_RECORD, "half_even"))


def _when(value: Value) -> tuple[str, int, str, int]:
    return value.measured_at, len(value.run), value.run, value.place


def _stretch(letter: str, values: Sequence[Value], places: list[int], sets: Sequence[RuleSet], where: str) -> Stretch:
    own = [values[place] for place in places]
    numbers = [fraction_of(one.found) for one in own]
    size = min(len(own), WISHED_BASE)
    limits = base_limits(numbers, size)
    open_stretch = Stretch(letter, *own[0].key, len(own), tuple(places))
    if not isinstance(limits, Limits):
        return replace(open_stretch, why=_why_none(limits, len(own), f"{where}, lot {own[0].lot}"))
    return replace(
        open_stretch,
        limits=limits,
        base="frozen" if size == WISHED_BASE else "growing",
        base_runs=tuple(dict.fromkeys(one.run for one in own[:size])),
        broken=tuple(
            Broken(f"{one.rules} {one.rule}", one.words, places[one.first], places[one.last], one.first < size)
            for one in breaks(numbers, limits, sets)
        ),
        late=_late(own, size),
    )


def _why_none(code: str, n: int, where: str) -> Refusal:
    if code == "no_spread":
        what, remedy = "all values of the base are equal: there is no s to draw limits from.", "Look at the readings."
        return Refusal("history.no-spread", where, what, remedy)
    what = f"they need at least {LEAST_BASE} values, better {WISHED_BASE}; there {'is' if n == 1 else 'are'} {n}."
    return Refusal("history.base-too-few", where, what, "Go by the limits of the rule until more runs are there.")


def _late(values: Sequence[Value], size: int) -> tuple[str, ...]:
    first_beyond = min((one.entry for one in values[size:]), default=None)
    if first_beyond is None:
        return ()
    return tuple(dict.fromkeys(one.run for one in values[:size] if one.entry > first_beyond))


def base_words(stretch: Stretch, limits: Limits) -> str:
    """What the limits of a stretch rest on, and whether they still move."""
    first, last = stretch.base_runs[0], stretch.base_runs[-1]
    runs = first if first == last else f"{first} to {last}"
    if stretch.base == "frozen":
        return f"limits from its first {limits.base} values, {runs}; frozen"
    return f"limits from its {limits.base} values so far, {runs}; they move until {WISHED_BASE} are there"


def places_of(limits: Limits) -> int:
    """Decimals that show two significant figures of s."""
    return min(max(1 - Decimal(text_of(limits.s)).adjusted(), 0), _MOST_PLACES)


def rounded(text: PlainDecimal, places: int) -> str:
    """A number of a chart for people, half to even."""
    return plain(round_to_decimals(Decimal(text), places, "half_even"))
