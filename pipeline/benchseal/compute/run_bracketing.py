"""Portions read between two standards close around them, which take the place of the curve.

That is common practice, no source. Bracket standards between which no presented solution stands are one group. A
solution is read against those that stand in the group before and in the group after it, so that what drifts along the
run cancels. Arithmetic is exact, on the readings as text, until the last step; the functions are those of ``calc``.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise
from math import nan, sqrt
from typing import TYPE_CHECKING

from benchseal.compute.bracketing import Standard, bracketed, u_bracketed
from benchseal.compute.run_numbers import fraction_of, ratio_text, record_text, shown, shown_against
from benchseal.compute.run_signals import Loss
from benchseal.compute.run_words import Against
from benchseal.records.quantities import unit_shown
from benchseal.records.results import Bracket, BracketStandard

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from benchseal.compute.run_measured import Measured
    from benchseal.records.method import Method
    from benchseal.records.quantities import PlainDecimal
    from benchseal.records.results import Calibration
    from benchseal.records.run import Run

_FROM_THE_CURVE = "method_blank"  # it holds next to nothing: no standard can stand close around it
_READ_AGAIN = "read it again between two groups of bracket standards"


@dataclass(frozen=True, slots=True)
class Read:
    """A bracket standard as it was read: what it holds, and its readings."""

    measured: Measured
    concentration: PlainDecimal
    values: tuple[Fraction, ...]

    @property
    def mean(self) -> Fraction:
        """Mean of its readings."""
        return sum(self.values, Fraction(0)) / len(self.values)

    @property
    def name(self) -> str:
        """``BS1 at position 9``."""
        return f"{self.measured.label} at position {self.measured.position}"


@dataclass(frozen=True, slots=True)
class _Standard:
    """One concentration in the group before a solution and in the group after it."""

    before: tuple[Read, ...]
    after: tuple[Read, ...]

    @property
    def ends(self) -> tuple[Fraction, Fraction]:
        """Mean of its solutions before, and after."""
        first, last = (sum((one.mean for one in own), Fraction(0)) / len(own) for own in (self.before, self.after))
        return first, last

    @property
    def point(self) -> Standard:
        """Its concentration, and the mean of both ends."""
        return Standard(fraction_of(self.before[0].concentration), sum(self.ends, Fraction(0)) / 2)

    def u(self, sd: float) -> float:
        """Standard uncertainty of the mean signal; every reading has ``sd``."""
        parts = (Fraction(1, (2 * len(own)) ** 2 * len(one.values)) for own in (self.before, self.after) for one in own)
        return sd * sqrt(float(sum(parts, Fraction(0))))

    def record(self, sd: float) -> BracketStandard:
        """As the record holds it."""
        solutions = [one.measured for one in (*self.before, *self.after)]
        return BracketStandard(
            label=solutions[0].label,
            concentration=self.before[0].concentration,
            positions=tuple(one.position for one in solutions),
            signals=tuple(text for one in solutions for text in one.signals),
            mean_signal=ratio_text(self.point.y),
            u_signal=record_text(self.u(sd)),
        )


@dataclass(frozen=True, slots=True)
class _Parts:
    """What the solutions of one run are read with. sd: of one reading, with df."""

    method: Method
    calibration: Calibration
    groups: tuple[tuple[Read, ...], ...]
    sd: float
    df: int

    @property
    def unit(self) -> str:
        """Of concentrations, as people read it."""
        return unit_shown(self.method.solution_unit)

    def named(self, one: _Standard) -> str:
        """``BS1, 8 µg/L``."""
        return f"{one.before[0].measured.label}, {one.before[0].concentration} {self.unit}"


def between_standards(
    run: Run, calibration: Calibration, measured: tuple[Measured, ...], suspect: Mapping[int, Loss]
) -> tuple[tuple[Measured, ...], tuple[str, ...]]:
    """``measured`` with every portion but method blanks read between two standards, and what standards were not used.

    suspect: positions of bracket standards that stand in no good bracket of checks, and why; they are not used. Nothing
    is changed where the method does not read so. ``run_bound_bracketing.py`` has seen to the standards.
    """
    if not run.method.calibration.bracketing:
        return measured, ()
    measured = tuple(
        replace(one, lost=suspect[one.position]) if one.lost is None and one.position in suspect else one
        for one in measured
    )
    groups = tuple(groups_of(run.method, measured))
    sd, df = pooled(one for own in groups for one in own)
    parts = _Parts(run.method, calibration, groups, sd, df)
    found = tuple(
        one if one.portion is None or one.kind == _FROM_THE_CURVE else _between(parts, one) for one in measured
    )
    return found, tuple(_not_used(groups))


def held_by(method: Method, label: str, nominal: PlainDecimal) -> PlainDecimal:
    """Concentration of a bracket standard: the method's of that label, else the one the file prints, or empty."""
    return next((one.concentration for one in method.standards if one.label == label), nominal)


def not_used(label: str, position: int) -> str:
    """How the finding about a bracket standard without a value begins."""
    return f"bracket standard {label} at position {position} is not used: "


def groups_of(method: Method, measured: Sequence[Measured]) -> Iterator[tuple[Read, ...]]:
    """Bracket standards in presented order, those between which no presented solution stands together."""
    own: list[Read] = []
    for one in measured:
        if one.presented and own:
            yield tuple(own)
            own = []
        if one.kind == "bracket_standard" and not one.hidden:
            values = tuple(fraction_of(text) for text in one.signals)
            own.append(Read(one, held_by(method, one.label, one.nominal), values))
    if own:
        yield tuple(own)


def pooled(reads: Iterable[Read]) -> tuple[float, int]:
    """Standard deviation of one reading about the mean of its solution, and its degrees of freedom, sum of n - 1.

    Of the standards that give a value; 0 with 0 where there is none.
    """
    squares, df = Fraction(0), 0
    for one in reads:
        if one.measured.lost is None:
            mean = one.mean
            squares += sum(((value - mean) ** 2 for value in one.values), Fraction(0))
            df += len(one.values) - 1
    return (sqrt(float(squares / df)), df) if df else (0.0, 0)


def _between(parts: _Parts, one: Measured) -> Measured:
    """A solution with what it holds between its two standards, or why there is no value."""
    if one.lost is not None:
        return _without(one, one.lost)
    values = tuple(fraction_of(text) for text in one.signals)
    y = sum(values, Fraction(0)) / len(values)
    two = _two_around(parts, one, y)
    if isinstance(two, Loss):
        return _without(one, two)
    low, high = two
    window = fraction_of(parts.method.calibration.bracketing_window_percent) / 100
    x = bracketed(low.point, high.point, y, window)
    if isinstance(x, str):
        return _without(one, _wide(parts, low, high, y))
    loss = _judged(parts, low, high, x)
    if loss is not None:
        return _without(one, loss)
    bracket, u = _with_uncertainty(parts, low, high, values)
    return replace(one, x=float(x), u_reading=u, x_text=ratio_text(x), u_text=record_text(u), bracket=bracket)


def _with_uncertainty(
    parts: _Parts, low: _Standard, high: _Standard, values: Sequence[Fraction]
) -> tuple[Bracket, float]:
    """The bracket of a solution with ``values``, and the standard uncertainty of what it gives."""
    y = sum(values, Fraction(0)) / len(values)
    u_low, u_high, u_sample = low.u(parts.sd), high.u(parts.sd), parts.sd / sqrt(len(values))
    bracket = Bracket(
        low=low.record(parts.sd),
        high=high.record(parts.sd),
        sd=record_text(parts.sd),
        u_sample=record_text(u_sample),
        u_from_sample=record_text(u_bracketed(low.point, high.point, y, (0.0, 0.0, u_sample))),
        u_from_standards=record_text(u_bracketed(low.point, high.point, y, (u_low, u_high, 0.0))),
        df=parts.df,
    )
    return bracket, u_bracketed(low.point, high.point, y, (u_low, u_high, u_sample))


def _without(one: Measured, loss: Loss) -> Measured:
    return replace(one, x=nan, u_reading=nan, x_text="", u_text="", lost=loss)


def _two_around(parts: _Parts, one: Measured, y: Fraction) -> tuple[_Standard, _Standard] | Loss:
    """The standards next below and next above reading ``y``, of those that stand before and after it."""
    before = next((own for own in reversed(parts.groups) if own[-1].measured.position < one.position), ())
    after = next((own for own in parts.groups if own[0].measured.position > one.position), ())
    if not (before and after):
        return Loss("bracketing.open", f"no bracket standard was read {_side(before, after)} it; {_READ_AGAIN}")
    found = _in_both(before, after)
    if not found:
        words = f"no bracket standard gives a value both before it ({_places(before)}) and after it ({_places(after)})"
        return Loss("bracketing.open", f"{words}{_lost_words((*before, *after))}; {_READ_AGAIN}")
    unit = parts.method.signal_unit
    for lower, upper in pairwise(found):
        if lower.point.y >= upper.point.y:
            signals = [f"{parts.named(each)}, reads {_text(each.point.y)} {unit}" for each in (lower, upper)]
            words = f"the bracket standards around it do not rise: {', and '.join(signals)}"
            return Loss("bracketing.not-rising", f"{words}; find out what was read, and read again")
    if len(found) < 2 or not found[0].point.y <= y <= found[-1].point.y:
        return _outside(parts, found, y)
    pairs = [(low, high) for low, high in pairwise(found) if low.point.y <= y <= high.point.y]
    return min(pairs, key=lambda pair: pair[1].point.x - pair[0].point.x)  # two where it reads as a standard does


def _in_both(before: Sequence[Read], after: Sequence[Read]) -> list[_Standard]:
    """Concentrations of which both groups have a standard that gives a value, rising."""
    sides: list[dict[Fraction, list[Read]]] = [{}, {}]
    for own, side in zip((before, after), sides, strict=True):
        for one in own:
            if one.measured.lost is None:
                side.setdefault(fraction_of(one.concentration), []).append(one)
    first, last = sides
    return [_Standard(tuple(first[x]), tuple(last[x])) for x in sorted(first.keys() & last.keys())]


def _outside(parts: _Parts, found: Sequence[_Standard], y: Fraction) -> Loss:
    unit, signals = parts.method.signal_unit, [ratio_text(one.point.y) for one in found]
    reads = f"it reads {shown_against(ratio_text(y), *signals)} {unit}"
    span = " to ".join(dict.fromkeys(shown_against(text, ratio_text(y)) for text in (signals[0], signals[-1])))
    held = " to ".join(dict.fromkeys(one.before[0].concentration for one in (found[0], found[-1])))
    standards = "standards" if len(found) > 1 else "only standard"
    words = f"{reads}, the {standards} before and after it {span} {unit} ({held} {parts.unit})"
    return Loss("bracketing.outside", f"{words}; dilute, or read it between standards on both sides of it")


def _wide(parts: _Parts, low: _Standard, high: _Standard, y: Fraction) -> Loss:
    """The farther of the two standards against the window."""
    x = bracketed(low.point, high.point, y, high.point.x / low.point.x)  # a window that both are always within
    if isinstance(x, str):
        raise AssertionError(f"two standards around a reading give {x}")  # noqa: TRY004  a fault of the program
    away = [(abs(one.point.x - x) / x, one) for one in (low, high)]
    share, far = max(away, key=lambda pair: pair[0])
    against = Against(ratio_text(100 * share), "", parts.method.calibration.bracketing_window_percent, "%")
    words = f"{parts.named(far)}, lies {against.words}, away from it ({shown(ratio_text(x))} {parts.unit})"
    return Loss("bracketing.wide", f"{words}; read it between closer standards, or dilute to one")


def _judged(parts: _Parts, low: _Standard, high: _Standard, x: Fraction) -> Loss | None:
    """What keeps a value between good standards from being used: a standard that changed, the end of the curve."""
    loss = _changed(parts, low) or _changed(parts, high)
    highest = parts.calibration.highest
    if loss is not None or x <= fraction_of(highest):
        return loss
    words = f"{shown_against(ratio_text(x), highest)} {parts.unit}, above the highest standard ({shown(highest)}"
    return Loss("reading.over-range", f"{words} {parts.unit}); dilute and read again")


def _changed(parts: _Parts, one: _Standard) -> Loss | None:
    """Whether its net signal before and after differ by more than the method allows, in percent of their mean."""
    limit = parts.method.calibration.bracketing_change_percent
    if not limit:
        return None
    first, last = one.ends
    net, apart = (first + last) / 2 - _zero(parts), abs(last - first)
    if net > 0 and 100 * apart <= fraction_of(limit) * net:
        return None
    unit = parts.method.signal_unit
    words = f"{parts.named(one)}, read {_text(first)} {unit} before it and {_text(last)} {unit} after it"
    if net > 0:
        words += f", a change of {Against(ratio_text(100 * apart / net), '', limit, '%').words}"
    else:
        words += ", which is not above zero"
    return Loss("bracketing.changed", f"{words}; find the cause and read again")


def _zero(parts: _Parts) -> Fraction:
    """What a signal shows at zero concentration: nothing where it was zeroed on the blank, else b0 of the curve."""
    curve = parts.calibration
    if parts.method.signal_is == "absorbance_zeroed_on_blank" or curve.model == "line_through_zero":
        return Fraction(0)
    return fraction_of(curve.coefficients[0] or "0")


def _not_used(groups: Iterable[Sequence[Read]]) -> Iterator[str]:
    """What the findings of the run say of a standard that gives no value: no presented solution stands for it."""
    for own in groups:
        for one in own:
            if one.measured.lost is not None:
                yield f"{not_used(one.measured.label, one.measured.position)}{one.measured.lost.why}"


def _lost_words(reads: Sequence[Read]) -> str:
    lost = [f"{one.name}: {one.measured.lost.why}" for one in reads if one.measured.lost is not None]
    return f" ({'; '.join(lost)})" if lost else ""


def _side(before: Sequence[Read], after: Sequence[Read]) -> str:
    if before or after:
        return "after" if before else "before"
    return "before or after"


def _places(reads: Sequence[Read]) -> str:
    positions = ", ".join(str(one.measured.position) for one in reads)
    return f"position{'s' if len(reads) > 1 else ''} {positions}"


def _text(value: Fraction) -> str:
    return shown(ratio_text(value))
