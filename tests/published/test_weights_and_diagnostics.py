"""Weights by the scatter of readings, the choice of a curve and what is said about it, against published examples."""

from __future__ import annotations

from dataclasses import replace
from itertools import groupby, permutations
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from scipy import stats
from tests.compute.making import Shot, bench_of, pb_method, run_of

from benchseal.compute.run_work import work_run
from benchseal.compute.sign_runs import sign_runs
from benchseal.records.method import ReplicateRule, Standard
from benchseal.records.results import RunWork

from .published import calc, case, digits, figures

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.records.results import Calibration, Diagnostic

DATA = figures("weights_and_diagnostics")
WEIGHTED = DATA["weighted_calibration"]
EVERY_X = [x for x, readings in zip(WEIGHTED["x"], WEIGHTED["readings"], strict=True) for _ in readings]
EVERY_Y = [y for readings in WEIGHTED["readings"] for y in readings]


def test_weighted_calibration_with_the_printed_weights() -> None:
    """Massart 1997, p. 200: 5.9 +- 2.5 and 44.1 +- 7.9; seven digits by the library that quotes it."""
    means = [sum(readings) / len(readings) for readings in WEIGHTED["readings"]]
    found = calc(
        kind="calibration",
        model="line",
        weighting="given",
        x=WEIGHTED["x"],
        y=means,
        weights=WEIGHTED["weights_three_places"],
        samples=[{"y": one["y"], "weight": one["weight"]} for one in WEIGHTED["published"]],
    )
    for sample, printed, full in zip(found["samples"], WEIGHTED["published"], WEIGHTED["recomputed"], strict=True):
        assert (round(sample["x"], 1), round(sample["half_width"], 1)) == (printed["x"], printed["half_width"])
        assert all(digits(sample[key], full[key]) >= 6.4 for key in ("x", "u", "half_width"))


def test_weights_from_the_readings_themselves() -> None:
    """The same readings under weighting 1/s2: s as printed, and the printed result but for the rounding of weights.

    The source reads the sample's weight off a drawing; here s comes from the line between neighbouring levels. A
    sample there counts as one mean of five.
    """
    samples = [{"y": one["y"], "readings": 5} for one in WEIGHTED["published"]]
    found = calc(kind="calibration", model="line", weighting="1/s2", x=EVERY_X, y=EVERY_Y, samples=samples)
    assert (found["n"], found["df"]) == (6, 4)
    assert [round(level["s"], 2) for level in found["levels"]] == WEIGHTED["s_two_places"]
    for sample, printed in zip(found["samples"], WEIGHTED["published"], strict=True):
        assert round(sample["x"], 1) == printed["x"]
        assert sample["half_width"] == pytest.approx(printed["half_width"], rel=0.03)
    told = [{**one, "weight": printed["weight"]} for one, printed in zip(samples, WEIGHTED["published"], strict=True)]
    found = calc(kind="calibration", model="line", weighting="1/s2", x=EVERY_X, y=EVERY_Y, samples=told)
    for sample, printed in zip(found["samples"], WEIGHTED["published"], strict=True):
        assert round(sample["half_width"], 1) == printed["half_width"]


def test_cadmium_by_a_variance_function() -> None:
    """Rocke and Lorenzato, Technometrics 37 (1995) 176, table 1 (data); the fit by numpy, with s0 and k near theirs."""
    data = case("rocke_lorenzato_cd_aas")
    s0, k = 0.3, 0.06
    x, y = np.array(data["x"]), np.array(data["y"])
    root = 1 / np.sqrt(s0**2 + (k * x) ** 2)
    design = np.stack([np.ones_like(x), x], axis=1) * root[:, None]
    b = np.linalg.lstsq(design, y * root, rcond=None)[0]
    rest = y * root - design @ b
    covariance = float(rest @ rest) / (len(x) - 2) * np.linalg.inv(design.T @ design)
    sample = {"y": 50.0, "readings": 4}
    asked: dict[str, Any] = {"kind": "calibration", "model": "line", "x": data["x"], "y": data["y"]}
    found = calc(**asked, weighting="variance_function", s0=s0, k=k, samples=[sample])
    assert all(digits(one, two) >= 11 for one, two in zip(found["coefficients"], b.tolist(), strict=True))
    assert digits(found["covariance"][0][1], float(covariance[0, 1])) >= 10
    x0 = (50.0 - b[0]) / b[1]
    s = float(rest @ rest) / (len(x) - 2)
    g = np.array([1, x0]) / b[1]
    u = np.sqrt(s * (s0**2 + (k * x0) ** 2) / 4 / b[1] ** 2 + g @ covariance @ g)
    assert digits(found["samples"][0]["u"], float(u)) >= 10
    assert found["lack_of_fit"]["significant"] is False


def test_intercept_of_fluorescein_is_not_zero() -> None:
    """Miller and Miller print 1.52 +- 0.76 (from memory): no line through zero for these readings."""
    data, printed = case("miller_fluorescein"), DATA["intercept_of_fluorescein"]
    found = calc(kind="calibration", model="line_through_zero", x=data["x"], y=data["y"])["free_intercept"]
    assert (round(found["b0"], 2), round(found["half_width"], 2)) == (printed["b0"], printed["half_width"])
    assert found["contains_zero"] is False


@pytest.mark.parametrize("name", ["harvey_unweighted", "rocke_lorenzato_cd_aas"])
def test_an_intercept_that_may_be_zero(name: str) -> None:
    full = case(name)["recomputed"]
    found = calc(kind="calibration", model="line_through_zero", x=case(name)["x"], y=case(name)["y"])["free_intercept"]
    assert digits(found["b0"], full["b0"]) >= 10
    assert digits(found["half_width"], full["predictions"][0]["t"] * full["s_b0"]) >= 10
    assert found["contains_zero"] is True


def test_spread_of_cadmium_through_calc() -> None:
    """The same data: 64.5 against F(0.99; 3, 3) 29.46 of the tables."""
    data = case("rocke_lorenzato_cd_aas")
    found = calc(kind="calibration", model="line", x=data["x"], y=data["y"])["homogeneity"]
    sd = data["recomputed"]["replicate_sd"]
    assert digits(found["statistic"], (sd["43.2067"] / sd["0"]) ** 2) >= 11
    assert (found["df"], round(found["critical_99"], 2), found["significant"]) == ([3, 3], 29.46, True)


@pytest.mark.parametrize("row", DATA["runs_of_signs"]["at_most"], ids=lambda row: f"{row['above']}-{row['runs']}")
def test_distribution_of_runs_of_signs(row: dict[str, Any]) -> None:
    """Tables print P(U <= u). An order with u runs gives it where that is the smaller tail; else the other does."""
    at = sign_runs(_order(row["above"], row["below"], row["runs"]))
    tail = float(at.probability) / 2
    if row["probability"] < 0.5:
        assert round(tail, 3) == row["probability"]
    else:
        beyond = sign_runs(_order(row["above"], row["below"], row["runs"] + 1))
        assert round(1 - float(beyond.probability) / 2, 3) == row["probability"]


def test_distribution_of_runs_of_signs_by_listing_every_order() -> None:
    orders = set(permutations([1.0] * 4 + [-1.0] * 4))
    for runs in range(2, 9):
        fewer = sum(1 for order in orders if len(list(groupby(order))) <= runs)
        more = sum(1 for order in orders if len(list(groupby(order))) >= runs)
        found = sign_runs(_order(4, 4, runs))
        assert float(found.probability) == pytest.approx(min(1.0, 2 * min(fewer, more) / len(orders)), rel=1e-14)


def _order(above: int, below: int, runs: int) -> list[float]:
    """An order of signs with so many runs."""
    ups, downs = (runs + 1) // 2, runs // 2
    lengths = [1] * runs
    lengths[0] += above - ups
    lengths[1] += below - downs
    found = [sign for place, length in enumerate(lengths) for sign in [1.0 if place % 2 == 0 else -1.0] * length]
    assert sum(sign > 0 for sign in found) == above
    return found


# ------------------------------------------------------------------ the same through a run


def calibration_of(x: Sequence[float], y: Sequence[float], **plan: object) -> Calibration:
    """The record of a run whose calibration solutions are these; readings of equal x are one solution's."""
    levels = list(dict.fromkeys(x))
    changed = replace(pb_method().calibration, **plan)  # type: ignore[arg-type]
    method = pb_method(
        standards=tuple(Standard(f"S{place}", str(level)) for place, level in enumerate(levels)),
        calibration=changed,
        replicates=ReplicateRule(1, "99", "0", "test"),
        checks=(),
    )
    shots = [
        Shot("standard", f"S{place}", signals=tuple(str(one) for c, one in zip(x, y, strict=True) if c == level))
        for place, level in enumerate(levels)
    ]
    work = work_run(run_of(shots, method), bench_of([]))
    assert isinstance(work, RunWork)
    return work.calibration


def told(of: Calibration, name: str) -> Diagnostic:
    return next(one for one in of.diagnostics if one.name == name)


def test_nitrite_takes_a_quadratic() -> None:
    """DIN 38402-51:2017-05, example B.1: r 0.9988 for the line, yet Mandel's statistic is 572."""
    data = case("din38402_51_b1_nitrite")
    full = data["recomputed"]
    found = calibration_of(data["x"], data["y"], quadratic_allowed=True)
    assert found.model == "quadratic"
    for text, name in zip(found.coefficients, ("b0", "b1", "b2"), strict=True):
        assert digits(float(text), full["quadratic"][name]) >= 9
    mandel = told(found, "mandel")
    assert digits(float(mandel.statistic), full["mandel"]["PG"]) >= 10
    assert digits(float(mandel.critical), full["mandel"]["F99_1_nminus3"]) >= 11
    assert (mandel.df1, mandel.df2, mandel.exceeded) == (1, 9, True)
    line = calibration_of(data["x"], data["y"])
    runs = told(line, "sign_runs")
    assert (runs.statistic, runs.exceeded) == ("3", True)  # the ends lie above the line, the middle below
    assert told(line, "lack_of_fit").statistic == ""


def test_cadmium_keeps_its_line() -> None:
    """Rocke and Lorenzato's cadmium: F of lack of fit 0.342 with 4 and 18; the spread grows, the form is right."""
    data = case("rocke_lorenzato_cd_aas")
    full = data["recomputed"]
    found = calibration_of(data["x"], data["y"], quadratic_allowed=True)
    assert (found.model, found.n, found.df) == ("line", 24, 22)
    assert "it does not fit significantly better" in found.chosen_because
    lack = told(found, "lack_of_fit")
    assert digits(float(lack.statistic), full["lack_of_fit"]["F"]) >= 10
    assert (lack.df1, lack.df2, lack.exceeded) == (4, 18, False)
    assert digits(float(lack.critical), float(stats.f.ppf(0.95, 4, 18))) >= 11
    spread = told(found, "homogeneity")
    assert digits(float(spread.statistic), (full["replicate_sd"]["43.2067"] / full["replicate_sd"]["0"]) ** 2) >= 10
    assert spread.exceeded
