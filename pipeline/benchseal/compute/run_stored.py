"""Runs on the curve of an earlier one: fitted again from its own readings, signals corrected by one standard.

Every signal of such a run is (A - B) F, B the blank read with the correction standard and F the factor that brings
that standard back onto the stored curve (``bracketing.py``). A quadratic is scaled in y, not fitted again. The curve
is judged as in its own run, then the factor, then the check standard and check blank that have to pass after it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from decimal import Decimal
from fractions import Fraction
from math import isfinite, nan, sqrt
from typing import TYPE_CHECKING, TypeAlias

from benchseal.compute import bracketing
from benchseal.compute.bracketing import NoFactor, one_standard
from benchseal.compute.run_bound import fit_problem, where_in
from benchseal.compute.run_calibration import calibration_of, judge_calibration
from benchseal.compute.run_curve import Points, Solved, points_of, solve_runs
from benchseal.compute.run_measured import measured_of
from benchseal.compute.run_numbers import record_text, shown
from benchseal.compute.run_signals import Loss, Signals, signals_of
from benchseal.compute.run_stored_solved import corrected
from benchseal.compute.run_words import CHECK_NAMES, Against
from benchseal.problems import Problem
from benchseal.records.results import Calibration, CheckVerdict, StoredUse
from benchseal.records.run import PRESENTED_KINDS, MeanColumns, ReadingColumns, SolutionColumns

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from benchseal.compute.fit import Fault
    from benchseal.compute.run_measured import Measured
    from benchseal.records.known import Bench
    from benchseal.records.method import CheckKind, Method
    from benchseal.records.quantities import PlainDecimal
    from benchseal.records.run import Run, StoredCurve

_NO_FACTOR: dict[NoFactor, str] = {
    "not_rising": "the stored curve does not rise over its whole range",
    "reference_outside": "the correction standard lies outside the stored standards",
    "no_sensitivity": "the correction standard reads no more than its blank",
    "no_signal": "the stored curve gives no signal above zero for the correction standard",
}
_HOUR_S = 3600
_OWN = "Measure with a calibration of its own."
_CONFIRMING: tuple[CheckKind, ...] = ("check_standard", "check_blank")


@dataclass(frozen=True, slots=True, eq=False)
class Stored:
    """What stands for the calibration of one run that has none of its own.

    run: the earlier run with nothing in it but its standards; signals, points, solved: as calculated there. index,
    blank_index: of the correction standard and its blank in the later run. nominal: its concentration. A, B, factor:
    mean signals of both and what net signals are multiplied by; nominal_signal: of the stored curve there.
    """

    curve: StoredCurve
    run: Run
    signals: Signals
    points: Points
    solved: Solved
    index: int
    blank_index: int
    nominal: PlainDecimal
    nominal_signal: float
    signal: float
    blank_signal: float
    factor: float


Found: TypeAlias = "Stored | tuple[Problem, ...] | None"


@dataclass(frozen=True, slots=True)
class Place:
    """Where correction standard and blank stand in a run: indexes of its columns, and the standard's concentration."""

    standard: int
    blank: int
    nominal: PlainDecimal


def stored_curves(runs: Sequence[Run], signals: Sequence[Signals]) -> list[Found]:
    """For each run what it calibrates by where it uses an earlier curve; None where it has a calibration of its own.

    A run whose curve cannot be corrected has Problems instead. Earlier calibrations of equal shape are fitted together.
    """
    using = [place for place, run in enumerate(runs) if run.stored_curve]
    earlier = [earlier_run(runs[place]) for place in using]
    own = [signals_of(run) for run in earlier]
    points = [points_of(run, read) for run, read in zip(earlier, own, strict=True)]
    solved = solve_runs(earlier, own, points) if using else []
    found: list[Found] = [None] * len(runs)
    for place, run, read, levels, curve in zip(using, earlier, own, points, solved, strict=True):
        found[place] = _stored(runs[place], signals[place], (run, read, levels, curve))
    return found


def earlier_run(run: Run) -> Run:
    """The earlier run a stored curve stands for: its standards with their readings, and nothing else.

    Backgrounds are not copied with the readings; they were judged in that run.
    """
    (curve,) = run.stored_curve
    counts = [len(one.signals) for one in curve.solutions]
    texts = tuple(text for one in curve.solutions for text in one.signals)
    nothing, many = ("",) * len(texts), len(counts)
    document = replace(
        run.document,
        solutions=SolutionColumns(
            position=tuple(one.position for one in curve.solutions),
            label=tuple(one.label for one in curve.solutions),
            kind=tuple(one.kind for one in curve.solutions),
            nominal=tuple(one.nominal for one in curve.solutions),
            dilution=("1",) * many,
            first_reading=tuple(sum(counts[:place]) for place in range(many)),
            reading_count=tuple(counts),
        ),
        readings=ReadingColumns(
            signal=texts,
            as_read=texts,
            line=tuple(line for one in curve.solutions for line in one.lines),
            column=(0,) * len(texts),
            replicate=tuple(nth for count in counts for nth in range(1, count + 1)),
            taken_at=nothing,
            background=nothing,
            flag=nothing,
        ),
        means=MeanColumns((), (), ()),
    )
    return replace(
        run,
        document=document,
        method=replace(run.method, conditions=replace(run.method.conditions, largest_background="")),
        measured_at=curve.measured_at,
        portion=(("", ""),) * many,
        hidden=(False,) * many,
        stored_curve=(),
    )


def place_of(run: Run) -> Place | str:
    """Correction standard and blank of a run that uses a stored curve, or what keeps it from having them, in words.

    One correction standard before the first presented solution, one calibration blank directly before or after it, no
    other calibration solution. The concentration is that of the method's standard of the same label, else as printed.
    """
    columns = run.document.solutions
    by_kind: dict[str, list[int]] = {}
    for index, kind in enumerate(columns.kind):
        by_kind.setdefault("presented" if run.hidden[index] or kind in PRESENTED_KINDS else kind, []).append(index)
    standards, blanks = by_kind.get("correction_standard", []), by_kind.get("calibration_blank", [])
    if by_kind.get("standard"):
        return "it has standards of its own as well"
    if len(standards) != 1 or len(blanks) != 1:
        return f"it has {len(standards)} correction standards and {len(blanks)} calibration blanks; due is one of each"
    index, blank = standards[0], blanks[0]
    if abs(index - blank) != 1:
        return "its calibration blank does not stand directly beside the correction standard"
    if min(by_kind.get("presented", [len(columns.kind)])) < max(index, blank):
        return "a solution was presented before the correction standard and its blank"
    level = {standard.label: standard.concentration for standard in run.method.standards}
    nominal = level.get(columns.label[index]) or columns.nominal[index]
    return Place(index, blank, nominal) if nominal else "nothing says what its correction standard holds"


def correction_problems(run: Run) -> Iterator[Problem]:
    """What keeps a run from being corrected before anything is calculated; empty for one with its own calibration."""
    for curve in run.stored_curve:
        hours, apart = run.method.stored_curve.valid_hours, _apart_s(curve.measured_at, run.measured_at)
        if not hours or not 0 <= apart <= Fraction(Decimal(hours)) * _HOUR_S:
            what = f"The curve of {curve.run}, measured {curve.measured_at}, may not be used for a run of "
            what += f"{run.measured_at}: method {run.method.id} allows {f'{hours} hours' if hours else 'none'}."
            yield Problem("compute.curve-age", where_in(run), what, _OWN)
        if isinstance(where := place_of(run), str):
            what = f"The run is to use the curve of {curve.run}, but {where}."
            yield Problem("compute.correction-place", where_in(run), what, _OWN)


def _apart_s(earlier: str, later: str) -> Fraction:
    return Fraction((datetime.fromisoformat(later) - datetime.fromisoformat(earlier)).total_seconds())


def _stored(
    run: Run, signals: Signals, earlier: tuple[Run, Signals, Points, Solved | Fault]
) -> Stored | tuple[Problem, ...]:
    own, read, points, solved = earlier
    place = place_of(run)
    if not isinstance(solved, Solved):
        return (fit_problem(run, solved, points),)
    if isinstance(place, str):  # ``correction_problems`` said so before
        raise TypeError(place)
    signal, blank = signals.mean[place.standard], signals.mean[place.blank]
    found: bracketing.Correction | str = "the correction standard or its blank has no reading"
    if isfinite(signal) and isfinite(blank):
        corrected_by = one_standard(_curve(points, solved), _standard(place.nominal, signal), Fraction(blank))
        found = _NO_FACTOR[corrected_by] if isinstance(corrected_by, str) else corrected_by
    if isinstance(found, str):
        what = f"The curve of {run.stored_curve[0].run} cannot be corrected: {found}."
        return (Problem("compute.correction-impossible", where_in(run), what, "Calibrate again."),)
    return Stored(
        curve=run.stored_curve[0],
        run=own,
        signals=read,
        points=points,
        solved=solved,
        index=place.standard,
        blank_index=place.blank,
        nominal=place.nominal,
        nominal_signal=float(found.nominal),
        signal=signal,
        blank_signal=blank,
        factor=float(found.factor),
    )


def _curve(points: Points, solved: Solved) -> bracketing.StoredCurve:
    """The fitted coefficients as exact numbers; a line through zero has b0 = 0."""
    held = [Fraction(one) for one in solved.coefficients.tolist()]
    levels = [Fraction(Decimal(text)) for text in points.texts]
    coefficients = tuple(held) if solved.powers[0] == 0 else (Fraction(0), *held)
    return bracketing.StoredCurve(coefficients, min(levels), max(levels))


def _standard(nominal: PlainDecimal, signal: float) -> bracketing.Standard:
    return bracketing.Standard(Fraction(Decimal(nominal)), Fraction(signal))


def signals_used(found: Found, signals: Signals) -> Signals:
    """``signals`` with what is read on the stored curve, (A - B) F; as they are without one.

    A solution presented before the correction standard, other than its blank, gives no value.
    """
    if not isinstance(found, Stored):
        return signals
    early = Loss("correction.before", "presented before the correction standard; read again")
    before = [index < found.index and index != found.blank_index for index in range(len(signals.mean))]
    return replace(
        signals,
        used=tuple(
            nan if lost else (mean - found.blank_signal) * found.factor
            for mean, lost in zip(signals.mean, before, strict=True)
        ),
        lost=tuple(early if lost else loss for loss, lost in zip(signals.lost, before, strict=True)),
    )


def signals_of_record(calibration: Calibration, signals: Signals) -> Signals:
    """As ``signals_used``, by the factor of record; for lists that serve the bench."""
    for use in calibration.stored:
        blank, factor = float(use.blank_signal), float(use.factor)
        return replace(signals, used=tuple((mean - blank) * factor for mean in signals.mean))
    return signals


def points_used(found: Found, run: Run, signals: Signals) -> Points:
    """The calibration points of ``run``: its own, or those of the stored curve, which have no place in it."""
    return replace(found.points, places=()) if isinstance(found, Stored) else points_of(run, signals)


def solved_used(found: Found, solved: Solved, signals: Signals) -> Solved:
    """``solved`` with the uncertainty that comes of the correction; as it is without one."""
    if not isinstance(found, Stored):
        return solved
    net = [mean - found.blank_signal for mean in signals.mean]
    return corrected(
        solved,
        shares=[one / (found.signal - found.blank_signal) for one in net],
        factor=found.factor,
        nominal=float(found.nominal),
        places=(found.index, found.blank_index),
    )


def curve_used(
    found: Stored, run: Run, bench: Bench, solved: Solved, measured: Sequence[Measured]
) -> tuple[Calibration, tuple[CheckVerdict, ...]]:
    """The curve as in its own run, record and verdicts, with how it was used and the verdict on the factor.

    Positions of levels are those of the earlier run; so its verdicts have none. ``solved``: of this run.
    """
    standards = measured_of(found.run, bench, found.signals, found.points, found.solved)
    plain = calibration_of(run.method, found.points, found.solved, standards)
    calibration = replace(plain, stored=(_use(found, run, solved),))
    told = tuple(
        replace(one, positions=(), why=f"curve of {found.curve.run}: {one.why}" if one.why else "")
        for one in judge_calibration(run.method, plain, found.solved, standards)
    )
    return calibration, (*told, _judge_factor(run.method, calibration.stored[0], measured))


def _use(found: Stored, run: Run, solved: Solved) -> StoredUse:
    """The record of the correction. u(F) = F sqrt(u(S)^2 + u(B)^2)/(S - B): of the readings, the curve is apart."""
    positions, net = run.document.solutions.position, found.signal - found.blank_signal
    u_net = sqrt(sum(one * one for one in solved.u_correction))
    return StoredUse(
        run=found.curve.run,
        version=found.curve.version,
        measured_at=found.curve.measured_at,
        position=positions[found.index],
        blank_position=positions[found.blank_index],
        nominal=found.nominal,
        nominal_signal=record_text(found.nominal_signal),
        signal=record_text(found.signal),
        blank_signal=record_text(found.blank_signal),
        factor=record_text(found.factor),
        u_factor=record_text(found.factor * u_net / net),
    )


def _judge_factor(method: Method, use: StoredUse, measured: Sequence[Measured]) -> CheckVerdict:
    plan = method.stored_curve
    positions = tuple(sorted((use.position, use.blank_position)))
    against = Against(use.factor, plan.smallest_factor, plan.largest_factor, "")
    lost = [
        f"{one.label} at position {one.position}: {one.lost.why}"
        for one in measured
        if one.position in positions and one.lost is not None
    ]
    if not against.inside:
        lost.insert(0, f"the factor of the correction by one standard is {against.words}; calibrate again")
    return _verdict(method, "factor", positions, against, "; ".join(lost))


def judge_confirmed(
    found: Stored, method: Method, measured: Sequence[Measured], simple: Mapping[str, Sequence[CheckVerdict]]
) -> CheckVerdict:
    """A check standard and a check blank after the correction, before anything else is presented: all of them pass.

    Common practice, no source. What was read before the correction says nothing of it.
    """
    first = min((one.position for one in measured if one.presented), default=len(measured) + 1)
    after = measured[max(found.index, found.blank_index)].position
    faults, positions = [], []
    for kind in _CONFIRMING:
        between = [one.position for one in measured if one.kind == kind and after < one.position < first]
        own = [one for rule in method.checks if rule.check == kind for one in simple.get(rule.id, ())]
        meant = [one for one in own if set(one.positions) & set(between)]
        if not meant:
            faults.append(f"{CHECK_NAMES[kind]} was not read between the correction and the first solution presented")
        faults.extend(one.why for one in meant if one.verdict != "pass")
        positions += between
    why = f"the correction is not confirmed: {'; '.join(dict.fromkeys(faults))}" if faults else ""
    return _verdict(method, "confirmed", tuple(sorted(positions)), Against("", "", "", ""), why)


def _verdict(method: Method, name: str, positions: tuple[int, ...], against: Against, why: str) -> CheckVerdict:
    return CheckVerdict(
        rule=f"calibration.{name}",
        check="calibration",
        positions=positions,
        expected="",
        found=against.found,
        low=against.low,
        high=against.high,
        unit=against.unit,
        verdict="fail" if why else "pass",
        why=why,
        source=method.stored_curve.source,
        made_on_sample=False,
    )


def correction_findings(calibration: Calibration) -> tuple[str, ...]:
    """A word on a correction standard in the lower half of the range, whose scatter goes into the factor."""
    return tuple(
        f"the correction standard ({shown(use.nominal)}) lies in the lower half of the stored standards: its scatter "
        "goes into every value; a standard of the middle or above is better (common practice, no source)"
        for use in calibration.stored
        if 2 * Decimal(use.nominal) < Decimal(calibration.lowest) + Decimal(calibration.highest)
    )
