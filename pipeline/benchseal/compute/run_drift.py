"""Signals corrected for drift along a run, by the pairs of check standard and check blank around them.

That is common practice, no source; the arithmetic is that of ``drift.py``, brought back to the state of the first pair:
A' = B0 + (A - B) S0/S. B is the check blank and S the check standard less the check blank, each straight between the
pair before and the pair after; B0 and S0 are those of the first pair after the calibration, so that the curve of that
state, intercept and all, is the right one to read A' on. Arithmetic is exact, on the readings as text.

Corrected is what is presented. Calibration, checks and rinses stay as read: they are judged as read, and what a failed
bracket voids stays void. Check solutions between which no presented solution stands are one group; one with at least
one check standard and one check blank that can be used is a pair, with the mean of each.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from fractions import Fraction
from math import nan, sqrt
from typing import TYPE_CHECKING, Literal

from benchseal.compute.run_numbers import fraction_of, ratio_text, record_text
from benchseal.compute.run_signals import Loss
from benchseal.compute.run_words import Against
from benchseal.records.results import DriftStep
from benchseal.records.run import PRESENTED_KINDS

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from benchseal.compute.run_curve import Points
    from benchseal.compute.run_measured import Measured
    from benchseal.compute.run_portions import PortionKey
    from benchseal.compute.run_signals import Signals
    from benchseal.records.preparation import Portion
    from benchseal.records.run import Run

_SECONDS_A_DAY, _SECONDS_AN_HOUR, _SECONDS_A_MINUTE = 86400, 3600, 60


@dataclass(frozen=True, slots=True)
class Side:
    """Check standards, or check blanks, of one pair: where they stand in the run's columns, and their readings."""

    places: tuple[int, ...]
    values: tuple[tuple[Fraction, ...], ...]

    @property
    def mean(self) -> Fraction:
        """Of its solutions, each the mean of its readings."""
        return sum((_mean(own) for own in self.values), Fraction(0)) / len(self.values)

    @property
    def share(self) -> Fraction:
        """What the variance of one reading is multiplied by to be that of ``mean``."""
        return sum((Fraction(1, len(self.values) ** 2 * len(own)) for own in self.values), Fraction(0))


@dataclass(frozen=True, slots=True)
class Pair:
    """One pair. positions: of its solutions, rising. at_time: in seconds, None where some reading has no time."""

    standard: Side
    blank: Side
    positions: tuple[int, ...]
    at_time: Fraction | None

    @property
    def at_position(self) -> Fraction:
        """Mean of its positions."""
        return Fraction(sum(self.positions), len(self.positions))

    @property
    def span(self) -> Fraction:
        """Net check standard."""
        return self.standard.mean - self.blank.mean

    @property
    def named(self) -> str:
        """``positions 8, 9``."""
        return f"positions {', '.join(map(str, self.positions))}"


@dataclass(frozen=True, slots=True)
class Step:
    """One signal corrected. before, after: which pairs; at: share of the way from one to the other."""

    before: int
    after: int
    along: Literal["time", "position"]
    at: Fraction
    signal: Fraction
    blank: Fraction
    span: Fraction
    factor: Fraction
    corrected: Fraction

    @property
    def net_share(self) -> Fraction:
        """r: the net signal over the net check standard, both as read."""
        return (self.signal - self.blank) / self.span

    @property
    def weights(self) -> dict[int, Fraction]:
        """Pair to w: a deviation d of its check standard moves A' by r w d, one of its check blank by (1 - r) w d.

        Derivatives of A' = B0 + (A - B) S0/S (JCGM 100, 5.1): 1 for the first pair, -F (1 - f) for the pair before,
        -F f for the pair after; what is the first pair too has the sum.
        """
        found = {0: Fraction(1)}
        for pair, weight in ((self.before, 1 - self.at), (self.after, self.at)):
            found[pair] = found.get(pair, Fraction(0)) - self.factor * weight
        return found


@dataclass(frozen=True, slots=True)
class Scatter:
    """Standard deviation of one reading about the mean of its solution, pooled, and its degrees of freedom."""

    sd: float
    df: int


@dataclass(frozen=True, slots=True)
class Drifted:
    """The correction of one run. pairs: in presented order, the first one first. steps, losses: by place.

    standards, blanks: scatter of the readings of the pairs.
    """

    pairs: tuple[Pair, ...]
    steps: Mapping[int, Step]
    losses: Mapping[int, Loss]
    standards: Scatter
    blanks: Scatter

    def u_parts(self, step: Step) -> tuple[float, float]:
        """What check standards and check blanks put into the standard uncertainty of a corrected signal."""
        r = step.net_share
        squares = [
            sum((weight**2 * side(self.pairs[pair]).share for pair, weight in step.weights.items()), Fraction(0))
            for side in (_standard_of, _blank_of)
        ]
        return (
            abs(float(r)) * self.standards.sd * sqrt(float(squares[0])),
            abs(float(1 - r)) * self.blanks.sd * sqrt(float(squares[1])),
        )


def drift_of(run: Run, portions: Mapping[PortionKey, Portion], signals: Signals, points: Points) -> Drifted | None:
    """How the signals of ``run`` are corrected for drift; None where its method does not ask for it.

    portions: of its batches, as far as they are known. points: its calibration, after which the pairs begin.
    """
    if not run.method.drift.largest_percent:
        return None
    presented = _presented(run, portions)
    pairs = tuple(_pairs(run, signals, presented, max(points.places, default=-1)))
    steps: dict[int, Step] = {}
    losses: dict[int, Loss] = {}
    for place in presented:
        found = None if run.hidden[place] else _around(run, pairs, place)
        if isinstance(found, Loss):
            losses[place] = found
        elif found is not None and signals.texts[place]:
            steps[place] = _step(run, pairs, place, found, signals)
    return Drifted(
        pairs,
        steps,
        losses,
        _pooled(own for pair in pairs for own in pair.standard.values),
        _pooled(own for pair in pairs for own in pair.blank.values),
    )


def signals_drifted(found: Drifted | None, signals: Signals) -> Signals:
    """``signals`` with corrected ones in place of the presented; as they are without a correction.

    What cannot be corrected gives no value; a reason of the readings themselves comes first.
    """
    if found is None:
        return signals
    used = list(signals.used)
    for place, step in found.steps.items():
        used[place] = float(step.corrected)
    for place in found.losses:
        used[place] = nan
    lost = tuple(lack or found.losses.get(place) for place, lack in enumerate(signals.lost))
    return replace(signals, used=tuple(used), lost=lost)


def measured_drifted(found: Drifted | None, measured: tuple[Measured, ...]) -> tuple[Measured, ...]:
    """``measured`` with the record of each correction."""
    if found is None:
        return measured
    return tuple(
        replace(one, drift=_record(found, found.steps[one.index])) if one.index in found.steps else one
        for one in measured
    )


def time_of(run: Run, places: Iterable[int]) -> Fraction | None:
    """Mean time of all readings of some solutions, in seconds; None where one has none, or the clock changed."""
    if run.clock_changed:
        return None
    columns, readings = run.document.solutions, run.document.readings
    seconds: list[int | None] = []
    for place in places:
        first = columns.first_reading[place]
        seconds.extend(_seconds(text) for text in readings.taken_at[first : first + columns.reading_count[place]])
    known = [one for one in seconds if one is not None]
    return Fraction(sum(known), len(known)) if known and len(known) == len(seconds) else None


def _presented(run: Run, portions: Mapping[PortionKey, Portion]) -> list[int]:
    """Places of the presented solutions, as ``run_measured.py`` sees them."""
    found = []
    for place, kind in enumerate(run.document.solutions.kind):
        portion = None if run.hidden[place] else portions.get(run.portion[place])
        if run.hidden[place] or (kind if portion is None else portion.kind) in PRESENTED_KINDS:
            found.append(place)
    return found


def _pairs(run: Run, signals: Signals, presented: Sequence[int], calibrated: int) -> Iterator[Pair]:
    """The pairs after place ``calibrated``, the last calibration solution.

    A check solution that lacks a reading, or is diluted, is in no pair; its own check says what it says.
    """
    columns, apart = run.document.solutions, frozenset(presented)
    group: tuple[list[int], list[int]] = ([], [])
    for place in (*range(calibrated + 1, len(columns.kind)), -1):
        if place < 0 or place in apart:
            if all(group):
                yield _pair(run, signals, *group)
            group = ([], [])
        elif signals.lost[place] is None and fraction_of(columns.dilution[place] or "1") == 1:
            if columns.kind[place] == "check_standard":
                group[0].append(place)
            elif columns.kind[place] == "check_blank":
                group[1].append(place)


def _pair(run: Run, signals: Signals, standards: Sequence[int], blanks: Sequence[int]) -> Pair:
    places = sorted((*standards, *blanks))
    standard, blank = (Side(tuple(own), tuple(_values(signals, place) for place in own)) for own in (standards, blanks))
    positions = tuple(run.document.solutions.position[place] for place in places)
    return Pair(standard, blank, positions, time_of(run, places))


def _around(run: Run, pairs: Sequence[Pair], place: int) -> tuple[int, int] | Loss:
    """The pair before a presented solution and the pair after it, or why it cannot be corrected by them."""
    position = run.document.solutions.position[place]
    after = next((at for at, pair in enumerate(pairs) if pair.positions[0] > position), len(pairs))
    sides = [*(["before"] if after == 0 else []), *(["after"] if after == len(pairs) else [])]
    if sides:
        words = f"no check standard with a check blank was read {' or '.join(sides)} it since the calibration"
        return Loss("drift.open", f"{words}, so drift is not known; read it again between two such pairs")
    for pair in (pairs[0], pairs[after - 1], pairs[after]):
        if pair.span <= 0:
            words = f"the check standard at {pair.named} reads no more than its check blank"
            return Loss("drift.no-span", f"{words}; find the cause, calibrate and read again")
    limit = run.method.drift.largest_percent
    for pair in (pairs[after - 1], pairs[after]):
        percent = 100 * (pair.span - pairs[0].span) / pairs[0].span
        if abs(percent) > fraction_of(limit):
            words = Against(ratio_text(percent), f"-{limit}", limit, "%").words
            words = f"the net check standard at {pair.named} has drifted from the first one by {words}"
            return Loss("drift.too-large", f"{words}; calibrate and read again")
    return after - 1, after


def _step(run: Run, pairs: Sequence[Pair], place: int, around: tuple[int, int], signals: Signals) -> Step:
    first, before, after = pairs[0], pairs[around[0]], pairs[around[1]]
    along, at = _way(run, before, after, place)
    blank = before.blank.mean + (after.blank.mean - before.blank.mean) * at
    span = before.span + (after.span - before.span) * at
    signal, factor = _mean(_values(signals, place)), first.span / span
    corrected = first.blank.mean + (signal - blank) * factor
    return Step(*around, along, at, signal, blank, span, factor, corrected)


def _way(run: Run, before: Pair, after: Pair, place: int) -> tuple[Literal["time", "position"], Fraction]:
    """Share of the way between two pairs: by time where every reading of the three has one, else by position.

    Times that do not rise (a clock set back) are none.
    """
    now, start, end = time_of(run, (place,)), before.at_time, after.at_time
    if now is not None and start is not None and end is not None and start <= now <= end and start < end:
        return "time", (now - start) / (end - start)
    position = run.document.solutions.position[place]
    return "position", (position - before.at_position) / (after.at_position - before.at_position)


def _seconds(local: str) -> int | None:
    """Whole seconds of a local time; None for no time, or for text that is none."""
    try:
        at = datetime.fromisoformat(local)
    except ValueError:
        return None
    minutes = at.minute * _SECONDS_A_MINUTE + at.second
    return at.toordinal() * _SECONDS_A_DAY + at.hour * _SECONDS_AN_HOUR + minutes


def _record(found: Drifted, step: Step) -> DriftStep:
    first, before, after = (found.pairs[place] for place in (0, step.before, step.after))
    u_standards, u_blanks = found.u_parts(step)
    return DriftStep(
        first=first.positions,
        before=before.positions,
        after=after.positions,
        along=step.along,
        at=ratio_text(step.at),
        first_blank=ratio_text(first.blank.mean),
        first_span=ratio_text(first.span),
        blank=ratio_text(step.blank),
        span=ratio_text(step.span),
        factor=ratio_text(step.factor),
        corrected=ratio_text(step.corrected),
        sd_standard=record_text(found.standards.sd),
        sd_blank=record_text(found.blanks.sd),
        df_standard=found.standards.df,
        df_blank=found.blanks.df,
        u_corrected=record_text(sqrt(u_standards * u_standards + u_blanks * u_blanks)),
    )


def _pooled(solutions: Iterable[Sequence[Fraction]]) -> Scatter:
    """0 with 0 where there are none."""
    squares, df = Fraction(0), 0
    for own in solutions:
        mean = _mean(own)
        squares += sum(((value - mean) ** 2 for value in own), Fraction(0))
        df += len(own) - 1
    return Scatter(sqrt(float(squares / df)), df) if df else Scatter(0.0, 0)


def _values(signals: Signals, place: int) -> tuple[Fraction, ...]:
    return tuple(fraction_of(text) for text in signals.texts[place])


def _mean(values: Sequence[Fraction]) -> Fraction:
    return sum(values, Fraction(0)) / len(values)


def _standard_of(pair: Pair) -> Side:
    return pair.standard


def _blank_of(pair: Pair) -> Side:
    return pair.blank
