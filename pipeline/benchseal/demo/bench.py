"""From prepared tubes to series: the order of presentation, the check pairs, and every reading with its time."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from decimal import Decimal
from math import fsum
from typing import TYPE_CHECKING

from benchseal.demo.curves import Channel, least_squares, value_at
from benchseal.demo.series import OVER_RANGE, Presented, Read, Seen, Series
from benchseal.records.quantities import unit_factor
from benchseal.records.run import PRESENTED_KINDS

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from benchseal.demo.batches import Tube
    from benchseal.demo.draws import Draws
    from benchseal.records.method import CheckKind, Method, Standard
    from benchseal.records.run import SolutionKind

_GROUP = 10
_CLEAN = ("rinse", "calibration_blank", "check_blank", "method_blank", "standard", "second_source", "check_standard")


@dataclass(frozen=True, slots=True)
class Ageing:
    """A tube that wears out: the slope falls to ``share`` of itself from presented solution ``since`` to ``until``."""

    since: int
    until: int
    share: float


@dataclass(frozen=True, slots=True)
class Order:
    """What is presented, label and extra dilution, in order.

    aims: label to the share of its true concentration it shall read as. An aimed solution is placed on the fitted
    curve: the few figures the story needs. Everything else scatters.
    """

    presented: tuple[tuple[str, str], ...]
    aims: Mapping[str, float] = field(default_factory=dict)
    ageing: Ageing | None = None


@dataclass(frozen=True, slots=True)
class Measurement:
    """All that one run is made from."""

    method: Method
    channel: Channel
    order: Order
    tubes: Mapping[str, Tube]
    draws: Draws


def sequence(measurement: Measurement) -> tuple[Presented, ...]:
    """Calibration, second source, check pair, then the order with a check pair after every ten and at the end."""
    method, order = measurement.method, measurement.order
    element = method.element
    levels = [_level(standard) for standard in method.standards]
    if levels[0].concentration:
        # A weighted curve has no zero standard. The zero is read all the same, and kept, as a solution of no level.
        levels.insert(0, Presented("rinse", f"{element}-Z", 0.0))
    second = float(_expected(method, "second_source")) * measurement.channel.second_source
    opening = [*levels, Presented("second_source", f"{element}-SB", second), *_pair(method, 0)]
    body: list[Presented] = []
    groups = [order.presented[at : at + _GROUP] for at in range(0, len(order.presented), _GROUP)]
    for nth, group in enumerate(groups, 1):
        body += [_presented(method, measurement.tubes[label], dilution) for label, dilution in group]
        body += _pair(method, nth)
    return (*opening, *body)


def _level(standard: Standard) -> Presented:
    value = standard.concentration
    kind: SolutionKind = "standard" if float(value) else "calibration_blank"
    return Presented(kind, standard.label, float(value), value)


def _pair(method: Method, nth: int) -> list[Presented]:
    expected = float(_expected(method, "check_standard"))
    return [
        Presented("check_standard", f"{method.element}-CK{nth}", expected),
        Presented("check_blank", f"{method.element}-CB{nth}", 0.0),
    ]


def _expected(method: Method, check: CheckKind) -> str:
    return next(rule.expected for rule in method.checks if rule.check == check)


def _presented(method: Method, tube: Tube, dilution: str) -> Presented:
    unit = float(unit_factor("mg/L", method.solution_unit))
    concentration = tube.measured_mg_per_l(method.element) * unit / float(dilution)
    return Presented(tube.kind, tube.label, concentration, "", dilution)


def measured(measurement: Measurement, started: datetime, serial: str) -> Series:
    """The run as the instrument prints it."""
    channel, queue = measurement.channel, sequence(measurement)
    signals = [_signals(measurement, queue, place) for place in range(len(queue))]
    clock = started
    seen = []
    for presented, own in zip(queue, _printed(measurement, queue, signals), strict=True):
        clock += timedelta(seconds=channel.seconds_a_solution)
        reads = []
        for signal in own:
            clock += timedelta(seconds=channel.seconds_a_reading)
            reads.append(Read(signal, _background(channel, presented, measurement.draws), clock))
        seen.append(Seen(presented, tuple(reads), _mean(own, channel.digits)))
    return Series(measurement.method, serial, channel.operator, started, tuple(seen))


def _signals(measurement: Measurement, queue: Sequence[Presented], place: int) -> list[float]:
    """Readings of one solution, unrounded, over range or not."""
    channel, draws, presented = measurement.channel, measurement.draws, queue[place]
    count = measurement.method.replicates.count
    common = 1.0 + channel.solution_percent / 100.0 * draws.scatter()
    found = []
    for firing in range(place * count, place * count + count):
        sensitivity = (1.0 - channel.drift_percent / 100.0 * firing / 10.0) * _worn(measurement.order, queue, place)
        signal = channel.signal(presented.concentration, sensitivity)
        own = 1.0 + channel.reading_percent / 100.0 * draws.scatter()
        zero = channel.zero_sd * draws.scatter()
        found.append(channel.b0 + (signal - channel.b0) * common * own + zero)
    return found


def _worn(order: Order, queue: Sequence[Presented], place: int) -> float:
    """What is left of the slope by wear, falling evenly over the presented solutions of the worn stretch."""
    if order.ageing is None:
        return 1.0
    done = sum(one.kind in PRESENTED_KINDS for one in queue[: place + 1])
    along = (done - order.ageing.since) / (order.ageing.until - order.ageing.since)
    return 1.0 - (1.0 - order.ageing.share) * min(1.0, max(0.0, along))


def _printed(measurement: Measurement, queue: Sequence[Presented], signals: Sequence[list[float]]) -> list[list[str]]:
    """Readings as printed: aimed ones shifted onto the curve fitted to the printed standards, over range as a word."""
    method, digits, aims = measurement.method, measurement.channel.digits, measurement.order.aims
    top = max(float(standard.concentration) for standard in method.standards)
    printed = [[f"{value:.{digits}f}" for value in own] for own in signals]
    curve = _fitted(method, queue, printed)
    for place, presented in enumerate(queue):
        if presented.concentration > top and presented.kind in PRESENTED_KINDS:
            printed[place] = [OVER_RANGE] * len(printed[place])
        elif presented.label in aims:
            target = aims[presented.label] * presented.concentration
            wanted = value_at(curve, target)
            printed[place] = _shifted(signals[place], wanted, digits)
    return printed


def _fitted(method: Method, queue: Sequence[Presented], printed: Sequence[Sequence[str]]) -> tuple[float, ...]:
    points = [
        (one.concentration, fsum(map(float, own)) / len(own))
        for one, own in zip(queue, printed, strict=True)
        if one.kind in ("calibration_blank", "standard")
    ]
    terms = 3 if method.calibration.model == "quadratic" else 2
    return least_squares([x for x, _ in points], [y for _, y in points], terms)


def _shifted(values: Sequence[float], wanted: float, digits: int) -> list[str]:
    """``values`` with their mean moved to ``wanted``; the last one takes what rounding left over."""
    shift = wanted - fsum(values) / len(values)
    steps = [round((value + shift) * 10**digits) for value in values]
    steps[-1] += round(wanted * len(values) * 10**digits) - sum(steps)
    return [f"{step / 10**digits:.{digits}f}" for step in steps]


def _mean(printed: Sequence[str], digits: int) -> str:
    if OVER_RANGE in printed:
        return OVER_RANGE
    return f"{sum(map(Decimal, printed)) / len(printed):.{digits}f}"


def _background(channel: Channel, presented: Presented, draws: Draws) -> str:
    if channel.background is None:
        return ""
    low, high = channel.background
    share = 0.15 if presented.kind in _CLEAN else 1.0
    return f"{draws.between(low * share, high * share):.3f}"


def as_concentrations(series: Series, channel: Channel) -> Series:
    """The same run exported as concentrations only, as a refused file has it."""
    digits = 3
    solutions = []
    for seen in series.solutions:
        texts = [f"{(float(read.signal) - channel.b0) / channel.b1:.{digits}f}" for read in seen.readings]
        reads = tuple(replace(read, signal=text) for read, text in zip(seen.readings, texts, strict=True))
        solutions.append(replace(seen, readings=reads, mean=_mean(texts, digits)))
    unit = series.method.solution_unit
    return replace(series, solutions=tuple(solutions), signal_is="instrument_concentration", signal_unit=unit)
