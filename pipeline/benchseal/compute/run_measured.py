"""Every solution of one run after the curve: what it is, what it read, what it holds, or why it gives no value."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, assert_never

from benchseal.compute.invert import Status
from benchseal.compute.run_numbers import fraction_of, record_text, shown, shown_against
from benchseal.compute.run_signals import Loss
from benchseal.compute.run_words import Against
from benchseal.records.quantities import PlainDecimal, unit_shown
from benchseal.records.run import PRESENTED_KINDS

if TYPE_CHECKING:
    from collections.abc import Mapping
    from fractions import Fraction

    from benchseal.compute.run_curve import Points, Solved
    from benchseal.compute.run_signals import Signals
    from benchseal.records.known import Bench
    from benchseal.records.method import Method
    from benchseal.records.preparation import Portion
    from benchseal.records.results import AddedSeries, Bracket, DriftStep
    from benchseal.records.run import Run, SolutionKind


@dataclass(frozen=True, slots=True)
class Measured:
    """One solution. index: its place in the run's columns; position: as presented.

    kind: its portion's kind where it has one. portion: None for calibration, checks and hidden solutions.
    extra: dilution at the instrument. x, u, u_reading: in the solution read, NaN (texts empty) where there is no
    number. lost: why it gives no value whatever its bracket says. series: where it stands for a portion evaluated by
    standard additions; x and u_reading are then those of that line, and the curve has no part in them. bracket: the
    same for one read between two standards. drift: where its signal was corrected for drift.
    """

    index: int
    position: int
    label: str
    kind: SolutionKind
    hidden: bool
    presented: bool
    nominal: PlainDecimal
    portion: Portion | None
    extra: Fraction
    lines: tuple[int, ...]
    signals: tuple[PlainDecimal, ...]
    mean_signal: PlainDecimal
    rsd_percent: PlainDecimal
    x: float
    u_reading: float
    x_text: PlainDecimal
    u_text: PlainDecimal
    lost: Loss | None
    series: AddedSeries | None = None
    bracket: Bracket | None = None
    drift: DriftStep | None = None

    @property
    def on_curve(self) -> bool:
        """Whether x is read on the run's curve."""
        return self.series is None and self.bracket is None

    @property
    def positions(self) -> tuple[int, ...]:
        """Its own, or those of all tubes of its series."""
        return (self.position,) if self.series is None else tuple(tube.position for tube in self.series.tubes)

    @property
    def key(self) -> tuple[str, str]:
        """Batch and label of its portion; empty texts without one."""
        return ("", "") if self.portion is None else (self.portion.batch, self.portion.portion)


@dataclass(frozen=True, slots=True, eq=False)
class _Parts:
    """What the solutions of one run are made from. levels: place to concentration of the calibration solutions."""

    run: Run
    bench: Bench
    signals: Signals
    solved: Solved
    levels: Mapping[int, PlainDecimal]
    highest: PlainDecimal


def measured_of(run: Run, bench: Bench, signals: Signals, points: Points, solved: Solved) -> tuple[Measured, ...]:
    """Every solution of ``run`` in presented order."""
    levels = dict(zip(points.places, points.texts, strict=True)) if points.places else {}
    parts = _Parts(run, bench, signals, solved, levels, max(points.texts, key=Decimal))
    return tuple(_measured(parts, index) for index in range(len(run.document.solutions.position)))


def scatters(method: Method, rsd_percent: PlainDecimal, concentration: PlainDecimal) -> bool:
    """Whether readings of a solution of ``concentration`` scatter beyond the method's limit.

    Not judged below ``judged_from``, nor at or below zero, where the relative scatter means nothing.
    """
    rule = method.replicates
    if not judged_for_scatter(method, rsd_percent, concentration):
        return False
    return Decimal(rsd_percent) > Decimal(rule.largest_rsd_percent)


def judged_for_scatter(method: Method, rsd_percent: PlainDecimal, concentration: PlainDecimal) -> bool:
    """Whether the scatter of readings of a solution of ``concentration`` is judged at all."""
    if not rsd_percent or not concentration or Decimal(concentration) <= 0:
        return False
    return Decimal(concentration) >= Decimal(method.replicates.judged_from or "0")


def _measured(parts: _Parts, index: int) -> Measured:
    run, solved, solutions = parts.run, parts.solved, parts.run.document.solutions
    portion = None if run.hidden[index] else parts.bench.portions.get(run.portion[index])
    kind: SolutionKind = portion.kind if portion is not None else solutions.kind[index]
    off_curve = solved.status[index] is Status.OVER_RANGE
    x_text, rsd = record_text(solved.x[index]), record_text(parts.signals.rsd_percent[index])
    return Measured(
        index=index,
        position=solutions.position[index],
        label=solutions.label[index],
        kind=kind,
        hidden=run.hidden[index],
        presented=run.hidden[index] or kind in PRESENTED_KINDS,
        nominal=parts.levels.get(index) or solutions.nominal[index],
        portion=portion,
        extra=fraction_of(solutions.dilution[index] or "1"),
        lines=parts.signals.lines[index],
        signals=parts.signals.texts[index],
        mean_signal=record_text(parts.signals.mean[index]),
        rsd_percent=rsd,
        x=solved.x[index],
        u_reading=solved.u_reading[index],
        x_text="" if off_curve else x_text,
        u_text="" if off_curve else record_text(solved.u[index]),
        lost=None if run.hidden[index] else _lost(parts, index, rsd, x_text) or _negative(run.method, kind, x_text),
    )


def _lost(parts: _Parts, index: int, rsd: PlainDecimal, x_text: PlainDecimal) -> Loss | None:
    """The first reason why a solution gives no value: its readings, its range, their scatter.

    A calibration solution cannot be off the curve it makes.
    """
    method, level = parts.run.method, parts.levels.get(index, "")
    lack = parts.signals.lost[index]
    if lack is None and not level:
        lack = _off_curve(parts.solved, index, parts.highest, unit_shown(method.solution_unit))
    return lack or _scatter(method, rsd, level or x_text)


def _negative(method: Method, kind: SolutionKind, concentration: PlainDecimal) -> Loss | None:
    """Why a presented solution that reads below zero by more than the lowest level gives no value.

    As "less than" it would pass every upper limit (common practice, no source). The size of a blank is judged by its
    own check.
    """
    if kind not in PRESENTED_KINDS or kind == "method_blank" or not concentration:
        return None
    if Decimal(concentration) >= -Decimal(method.lowest_level):
        return None
    unit = unit_shown(method.solution_unit)
    words = f"reads {shown_against(concentration, f'-{method.lowest_level}')} {unit}, further below zero than the"
    words += f" lowest level ({method.lowest_level} {unit}): zero or blank is wrong; read again"
    return Loss("reading.negative", words)


def _scatter(method: Method, rsd: PlainDecimal, concentration: PlainDecimal) -> Loss | None:
    if not scatters(method, rsd, concentration):
        return None
    against = Against(rsd, "", method.replicates.largest_rsd_percent, "%")
    return Loss("reading.scatter", f"the readings scatter by {against.words}; read again")


def _off_curve(solved: Solved, index: int, highest: PlainDecimal, unit: str) -> Loss | None:
    """Why the curve gives no value for a solution; extrapolation is never one."""
    status = solved.status[index]
    match status:
        case Status.IN_RANGE | Status.BELOW_LOWEST:
            return None
        case Status.OVER_RANGE:
            return _over_range(highest, unit)
        case Status.NO_ROOT:
            if solved.powers[-1] == 2 and float(solved.coefficients[-1]) < 0:  # above the vertex of a falling-off curve
                return _over_range(highest, unit)
            return Loss("reading.no-root", "the curve never reaches this reading; read again")
        case Status.SLOPE_NOT_SIGNIFICANT | Status.NOT_RISING | Status.NO_WEIGHT | Status.NOT_FITTED:
            return Loss("calibration.unusable", "the calibration curve cannot be read backwards here")
        case Status.NO_READING:
            return Loss("reading.missing", "there is no reading; read again")
        case _:
            assert_never(status)


def _over_range(highest: PlainDecimal, unit: str) -> Loss:
    return Loss("reading.over-range", f"above the highest standard ({shown(highest)} {unit}); dilute and read again")
