"""The calibration points of runs as columns, weighed as their methods say, and whether a quadratic may take over.

A quadratic is chosen from the calibration points alone, before any sample is read backwards, so no sample can choose
the model it passes by.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from benchseal.compute.fit import POWERS, Fit, Model, Weighting, fit
from benchseal.compute.judge_curve import order_objections, rse_percent
from benchseal.compute.run_numbers import record_text, shown
from benchseal.compute.weights import VarianceFunction, WeightRule, level_scatter, scatter_rule

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.compute.arrays import Array
    from benchseal.compute.run_curve import Points
    from benchseal.records.method import CalibrationPlan
    from benchseal.records.quantities import PlainDecimal


@dataclass(frozen=True, slots=True)
class Posed:
    """The calibration of one run as its method poses it."""

    plan: CalibrationPlan
    points: Points


@dataclass(frozen=True, slots=True)
class Choice:
    """The form of one run's curve; because: why, where the method allows a choice, else empty."""

    model: Model
    because: str


def columns(series: Sequence[Sequence[float]]) -> Array:
    """Series as columns, shorter ones filled with NaN at their end."""
    longest = max(len(one) for one in series)
    filled = np.full((longest, len(series)), np.nan)
    for place, one in enumerate(series):
        filled[: len(one), place] = one
    return filled


def fit_group(model: Model, group: Sequence[Posed]) -> Fit:
    """One fit of runs with the same weighting and number of points."""
    x, y = columns([one.points.x for one in group]), columns([one.points.y for one in group])
    weighting = group[0].plan.weighting
    return fit(x, y, model, weighting, rule=_rule(weighting, group))


def choices_of(posed: Sequence[Posed]) -> list[Choice]:
    """The form of each run's curve: the method's, or a quadratic where it is allowed and nothing speaks against it."""
    found = [Choice(one.plan.model, "") for one in posed]
    shapes: dict[tuple[Weighting, int], list[int]] = {}
    for place, one in enumerate(posed):
        if not (one.plan.quadratic_allowed and one.plan.model == "line"):
            continue
        if len(one.points.x) <= len(POWERS["quadratic"]):
            found[place] = Choice("line", "a quadratic is allowed, but there are not enough points for one")
        else:
            shapes.setdefault((one.plan.weighting, len(one.points.x)), []).append(place)
    for group in shapes.values():
        for place, choice in zip(group, _chosen([posed[place] for place in group]), strict=True):
            found[place] = choice
    return found


def unweighed(points: Points) -> tuple[PlainDecimal, ...]:
    """Concentrations of the levels that weighting 1/s2 has no weight for: a single reading, or no scatter."""
    scatter = level_scatter(points.readings)
    each = zip(points.texts, points.concentrations, strict=True)
    return tuple(dict.fromkeys(text for text, x in each if not scatter[x] > 0))


def _chosen(group: Sequence[Posed]) -> list[Choice]:
    line, quadratic = (fit_group(model, group) for model in ("line", "quadratic"))
    levels = [len(set(one.points.x)) for one in group]
    errors = zip(rse_percent(line).tolist(), rse_percent(quadratic).tolist(), strict=True)
    return [
        Choice("line", f"a quadratic is allowed, but {'; '.join(against)}")
        if against
        else Choice("quadratic", _words(many, *pair))
        for against, many, pair in zip(order_objections(quadratic, line, levels), levels, errors, strict=True)
    ]


def _words(levels: int, rse_of_line: float, rse_of_quadratic: float) -> str:
    before, after = (shown(record_text(one), digits=3) for one in (rse_of_line, rse_of_quadratic))
    return (
        f"a quadratic is allowed, fits significantly better than the line, has {levels} levels, rises over the whole "
        f"range and gives smaller back-calculated errors (relative standard error {after} % instead of {before} %)"
    )


def _rule(weighting: Weighting, group: Sequence[Posed]) -> WeightRule | None:
    if weighting == "variance_function":
        pairs = np.array([(float(one.plan.variance_s0), float(one.plan.variance_k)) for one in group])
        return VarianceFunction(pairs[:, 0], pairs[:, 1])
    if weighting == "1/s2":
        scatter = [level_scatter(one.points.readings) for one in group]
        return scatter_rule(scatter, columns([one.points.counts for one in group]))
    return None
