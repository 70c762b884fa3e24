"""What a correction for drift puts into the uncertainty, worked out again by numpy and by simulation."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from math import isclose, sqrt
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from tests.compute.drifting import (
    NEW,
    OPEN,
    TWO,
    State,
    W,
    around,
    drifting,
    only,
    pair,
    row,
    sample,
    shots_of,
    worked,
)
from tests.compute.making import BRACKETS, bench_of, pb_method, portion_of, readings_of, run_of, standards

from benchseal.compute.run_work import work_run, work_runs
from benchseal.records.results import Quantified, RunWork

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from tests.compute.making import Shot

END = State(0.94, 0.0006)
BLANK = portion_of("MB", "", kind="method_blank", mass_g="")
STANDARDS, BLANKS = "drift correction, check standards", "drift correction, check blanks"
LEVER = 25 / 0.5 / 1000  # ug/g per ug/L


def read_of(shots: Sequence[Shot]) -> dict[int, Any]:
    return {at: np.array([float(text) for text in readings_of(shot)]) for at, shot in enumerate(shots)}


def sd_of(shots: Sequence[Shot], kind: str) -> float:
    """Standard deviation of one reading, pooled over the solutions of a kind."""
    own = [read for at, read in read_of(shots).items() if shots[at].kind == kind]
    return sqrt(sum(((one - one.mean()) ** 2).sum() for one in own) / sum(len(one) - 1 for one in own))


def corrected(own: dict[int, Any], place: int, pairs: Sequence[tuple[int, int]], share: float) -> float:
    """Straight from the readings; pairs: places of standard and blank of the first, the one before, the one after."""
    spans = [own[s].mean() - own[b].mean() for s, b in pairs]
    blanks = [own[b].mean() for _, b in pairs]
    blank, span = (float(np.interp(share, (0, 1), one[1:])) for one in (blanks, spans))
    return float(blanks[0] + (own[place].mean() - blank) * spans[0] / span)


def u_of(
    shots: Sequence[Shot], pairs: Sequence[tuple[int, int]], value: Callable[[dict[int, Any]], float]
) -> dict[str, float]:
    """What the means of check standards, and of check blanks, put into ``value``: each mean moved both ways."""
    read, step = read_of(shots), 1e-7
    squares = {"check_standard": 0.0, "check_blank": 0.0}
    for at in {at for own in pairs for at in own}:
        up, down = (value({**read, at: read[at] + sign * step}) for sign in (1, -1))
        kind = shots[at].kind
        squares[kind] += ((up - down) / (2 * step) * sd_of(shots, kind)) ** 2 / len(read[at])
    return {kind: sqrt(square) for kind, square in squares.items()}


def rough(shots: Sequence[Shot], seed: int, noise: float = 0.00008) -> tuple[Shot, ...]:
    chance = np.random.default_rng(seed)
    return tuple(
        replace(shot, signals=tuple(f"{float(text) + chance.normal(0, noise):.7f}" for text in readings_of(shot)))
        for shot in shots
    )


@pytest.mark.parametrize("first_is_before", [True, False])
def test_a_whole_run_worked_out_again_by_numpy(*, first_is_before: bool) -> None:
    """Readings with scatter and drift, a blank taken off, two portions, content, every part of the budget."""
    extra = () if first_is_before else (sample("X", 5.0), *pair(State(0.99, 0.0001)))
    shots = rough(
        shots_of(
            *pair(), *extra, sample("MB", 0.6, State(0.98), kind="method_blank"), sample("V", 8.0, State(0.97)),
            sample("W", 8.3, State(0.96)), *pair(State(0.95, 0.0004)),
        ), 5,
    )  # fmt: skip
    method = drifting(blank_subtraction="undiluted", checks=tuple(replace(one, every=20) for one in BRACKETS))
    portions = [portion_of("V"), W, BLANK, portion_of("X", "S-00002")]
    work = work_run(run_of(shots, method), bench_of(portions, [TWO]))
    assert isinstance(work, RunWork)
    result = next(one for one in work.results if one.sample == "S-00001")

    start = 7 if first_is_before else 10  # place of the pair before; blank, V, W stand 1.5, 2.5, 3.5 fifths after it
    pairs = ((7, 8), (start, start + 1), (start + 5, start + 6))
    points = [(float(shot.nominal), float(text)) for shot in shots[:7] for text in readings_of(shot)]
    (b1, b0), cov = np.polyfit([x for x, _ in points], [y for _, y in points], 1, cov=True)
    residual = sqrt(sum((y - b0 - b1 * x) ** 2 for x, y in points) / 19)

    def of(own: dict[int, Any], nth: int) -> float:
        return corrected(own, start + 2 + nth, pairs, (1.5 + nth) / 5)

    read, c, factors = read_of(shots), {}, {}
    for nth, label in enumerate(("MB", "V", "W")):
        c[label] = (of(read, nth) - b0) / b1
    for nth, one in enumerate(result.portions, start=1):
        (step,) = one.drift
        assert isclose(float(step.corrected), of(read, nth), rel_tol=1e-10)
        both = u_of(shots, pairs, partial(of, nth=nth))
        u = sqrt(sum(part * part for part in both.values()))
        assert isclose(float(step.u_corrected), u, rel_tol=1e-6)
        assert isclose(float(one.solution_value), c[one.portion], rel_tol=1e-10)
        factors[one.portion] = float(step.factor)
        g = np.array([c[one.portion], 1.0]) / b1
        noise = factors[one.portion] * residual / b1 / sqrt(3)
        whole = sqrt(noise**2 + float(g @ cov @ g) + (u / b1) ** 2)
        assert isclose(float(one.u_solution), whole, rel_tol=1e-6)
        assert (step.df_standard, step.df_blank) == ((4, 4) if first_is_before else (6, 6))
    assert isinstance(result.outcome, Quantified)
    assert isclose(float(result.outcome.value), ((c["V"] + c["W"]) / 2 - c["MB"]) * LEVER, rel_tol=1e-10)

    budget = {one.name: float(one.u) for one in result.contributions}
    common = u_of(shots, pairs, lambda own: (of(own, 1) + of(own, 2)) / 2 - of(own, 0))
    assert isclose(budget[STANDARDS], LEVER / b1 * common["check_standard"], rel_tol=1e-5)
    assert isclose(budget[BLANKS], LEVER / b1 * common["check_blank"], rel_tol=1e-5)
    noise = sqrt(sum((factors[label] * residual / b1 / sqrt(3) * LEVER / 2) ** 2 for label in "VW"))
    assert isclose(budget["reading noise"], noise, rel_tol=1e-9)
    group = sum(
        budget.get(name, 0.0) ** 2 for name in ("reading noise", "calibration curve", "method blank, reading noise")
    )
    own = sum(budget[name] ** 4 for name in (STANDARDS, BLANKS))
    df = float(result.outcome.u) ** 4 / (group**2 / 19 + own / (4 if first_is_before else 6))
    assert int(result.outcome.df) == int(df)


def test_u_is_what_repetition_shows() -> None:
    """400 runs of normal readings: the scatter of the value is its u, within what 400 runs can tell (4 % one sd).

    The curve is the same each time, so its part of u is left out.
    """
    chance, noise, found, stated = np.random.default_rng(11), 0.0001, [], []
    shots = shots_of(*pair(), sample("W", 8.0, State(0.97, 0.0003)), *pair(END))
    read = read_of(shots)

    def noisy(at: int, shot: Shot) -> Shot:
        if shot.kind == "standard":
            return shot
        return replace(shot, signals=tuple(f"{read[at].mean() + chance.normal(0, noise):.9f}" for _ in "abc"))

    runs = [run_of([noisy(at, one) for at, one in enumerate(shots)], drifting()) for _ in range(400)]
    for work in work_runs(runs, bench_of([W], [OPEN])):
        assert isinstance(work, RunWork)
        (step,) = row(work).drift
        found.append(float(step.corrected))
        stated.append(float(step.u_corrected) ** 2 + (float(step.factor) * noise) ** 2 / 3)
    assert isclose(float(np.mean(found)), NEW.signal(8.0), rel_tol=5e-4)
    assert isclose(float(np.std(found, ddof=1)), sqrt(float(np.mean(stated))), rel_tol=0.12)


def test_portions_share_what_the_checks_put_in() -> None:
    """Two portions beside each other have it nearly whole in common: their mean has as much as each."""
    one = worked((*pair(), sample("V", 8.0), *pair()), [portion_of("V")])
    two = worked((*pair(), sample("V", 8.0), sample("W", 8.0), *pair()), [portion_of("V"), W], asked=[TWO])
    alone, both = (next(float(c.u) for c in only(work).contributions if c.name == STANDARDS) for work in (one, two))
    assert both > 0.9 * alone


def test_readings_without_scatter_add_nothing() -> None:
    still = [replace(one, signals=(readings_of(one)[0],) * 3) for one in pair()]
    found = worked((*still, sample("W", 8.0), *still))
    assert float(row(found).drift[0].u_corrected) == 0
    assert not any(one.name.startswith("drift") for one in only(found).contributions)


def test_a_validated_uncertainty_takes_the_place_of_it() -> None:
    plan = replace(pb_method().uncertainty, s0="0.1", s1_percent="3")
    found = only(worked((*pair(), sample("W", 8.0), *pair()), method=drifting(uncertainty=plan)))
    assert [one.name for one in found.contributions] == ["validated uncertainty"]


def test_a_curve_that_bends() -> None:
    method = drifting(calibration=replace(pb_method().calibration, model="quadratic"))
    work = worked((*pair(), sample("W", 8.0, State(0.97, 0.0003)), *pair(END)), method=method)
    assert work.calibration.model == "quadratic"
    b0, b1, b2 = (float(text) for text in work.calibration.coefficients)
    found = row(work)
    c = float(found.solution_value)
    assert isclose(b0 + b1 * c + b2 * c * c, float(found.drift[0].corrected), rel_tol=1e-10)
    assert isclose(_whole(work), float(found.drift[0].u_corrected) / (b1 + 2 * b2 * c) * LEVER, rel_tol=1e-9)


def test_a_curve_through_zero() -> None:
    net = tuple(replace(one, signals=around(0.00293 * float(one.nominal), 0.00005)) for one in standards())
    new, half, end = State(1.0, -0.0015), State(0.97, -0.00135), State(0.94, -0.0012)
    calibration = replace(pb_method().calibration, model="line_through_zero")
    method = drifting(calibration=calibration, signal_is="absorbance_zeroed_on_blank")
    work = work_run(run_of((*net, *pair(new), sample("W", 8.0, half), *pair(end)), method), bench_of([W], [OPEN]))
    assert isinstance(work, RunWork)
    found, slope = row(work), float(work.calibration.coefficients[0])
    assert isclose(float(found.solution_value), 8.0, rel_tol=1e-3)
    assert isclose(_whole(work), float(found.drift[0].u_corrected) / slope * LEVER, rel_tol=1e-9)


def _whole(work: RunWork) -> float:
    return sqrt(sum(float(one.u) ** 2 for one in only(work).contributions if one.name in {STANDARDS, BLANKS}))
