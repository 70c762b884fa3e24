"""A result drawn again: every input of the budget is in the draws, as wide as the budget has it and as it should be."""

from __future__ import annotations

from dataclasses import replace
from math import inf, sqrt
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from scipy import stats
from tests.compute import bracketing, drifting
from tests.compute.making import (
    BRACKETS,
    Shot,
    bench_of,
    pair,
    pb_method,
    portion_of,
    requirement_of,
    run_of,
    samples,
    standards,
)
from tests.compute.test_explain_formulas import CASES, budget
from tests.compute.test_run_additions import around as around_additions
from tests.compute.test_run_additions import by_additions, series, tubes
from tests.compute.test_run_stored import PLANS
from tests.compute.test_run_stored import usual as stored_run

from benchseal.compute.cross_check import Asked, CrossCheck, NoCheck, asked_draws, cross_check
from benchseal.compute.explain_cross_check import DRAWN_AS, NO_CHECK, cross_check_lines, cross_check_values
from benchseal.compute.monte_carlo import drawn_values
from benchseal.compute.redraw_result import Redraw
from benchseal.compute.run_budget import ADDITIONS, BRACKETING, CURVE, DRIFT_BLANKS, DRIFT_STANDARDS, NOISE
from benchseal.compute.run_results import shares_of
from benchseal.compute.run_work import Worked, work_run, worked_run
from benchseal.records.method import Glassware
from benchseal.records.preparation import DilutionStep
from benchseal.records.results import Quantified

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from benchseal.records.known import Bench
    from benchseal.records.method import Method
    from benchseal.records.run import Run
    from benchseal.records.specification import Requirement

ASKED = Asked(50_000, 3)
REGRESSION = {NOISE, CURVE, "method blank, reading noise", "one-standard correction"}
OWN_DF = {ADDITIONS, BRACKETING, DRIFT_STANDARDS, DRIFT_BLANKS, "method blanks, scatter"}
ONE = requirement_of(upper="", decimals=-1)
TWO = replace(ONE, portions=2)
STEPS: dict[str, tuple[DilutionStep, ...]] = {"Pb": (DilutionStep("5", "100"),)}
BLANK = portion_of("MB", "", kind="method_blank", mass_g="")
NOTHING_STATED = {"mass_g": "0", "volume_percent": "0", "dilution_step_percent": "0", "recovery_percent": "0"}


def worked(run: Run, bench: Bench) -> Worked:
    found = worked_run(run, bench)
    assert isinstance(found, Worked), found
    assert isinstance(found.work.results[0].outcome, Quantified), found.work.results[0].outcome
    return found


def made(
    method: Method | None = None,
    *,
    holds: float = 5.0,
    asked: Requirement = TWO,
    **prepared: Any,  # noqa: ANN401  fields of a record
) -> tuple[Worked, Requirement]:
    """Two portions from the curve."""
    portions = [portion_of(label, **prepared) for label in "AB"]
    run = run_of((*standards(), *pair(), *samples("AB", holds), *pair()), method)
    return worked(run, bench_of(portions, [asked])), asked


def checked(of: Worked, asked: Requirement, how: Asked = ASKED) -> CrossCheck:
    found = cross_check(of, asked, of.work.results[0], how)
    assert isinstance(found, CrossCheck), found
    return found


def values(of: Worked, asked: Requirement, how: Asked = ASKED) -> NDArray[np.float64]:
    model = Redraw(of, asked, shares_of(of.chosen, of.work.results[0].sample, asked))
    found = drawn_values(model.values, how.draws, how.seed)
    assert not isinstance(found, str)
    return found


def wider(of: Worked, df: float) -> float:
    """Standard deviation to expect: that of the budget, estimated parts as wide as a t with their df makes them."""
    total = 0.0
    for one in of.work.results[0].contributions:
        own = of.chosen.solved.df if one.name in REGRESSION else df if one.name in OWN_DF else inf
        total += float(one.u) ** 2 * (own / (own - 2) if own < inf else 1.0)
    return sqrt(total)


def agrees(of: Worked, asked: Requirement, *, df: float = inf, within: float = 0.02) -> CrossCheck:
    """sd of the draws is that of the budget, and their middle the value, but for u^2/value of a quotient."""
    found = checked(of, asked)
    assert found.drawn.sd == pytest.approx(wider(of, df), rel=within)
    second_order = 1.2 * found.u**2 / found.value
    assert abs(found.drawn.mean - found.value) < within * found.u + 4 * found.drawn.u_mean + second_order
    return found


# ------------------------------------------------------------------ nearly linear: the budget comes back


@pytest.mark.parametrize(("asked", "method", "prepared"), [one for one in CASES if "validation" not in str(one.id)])
def test_each_quantity_has_the_spread_of_its_budget(
    asked: Requirement, method: Method | None, prepared: dict[str, Any]
) -> None:
    """Recovery is left out: dividing by it is not linear, and has a test of its own."""
    own = method or pb_method()
    own = replace(own, uncertainty=replace(own.uncertainty, recovery_percent="0"))
    fields = {"dilutions": STEPS, **prepared}
    blank = replace(BLANK, dilutions=fields["dilutions"] if own.blank_subtraction == "same_dilution" else {})
    shots = (*standards(), *pair(), Shot("method_blank", "MB", 0.1, "MB"), *samples("AB"), *pair())
    bench = bench_of([*(portion_of(label, **fields) for label in "AB"), blank], [asked])
    agrees(worked(run_of(shots, own), bench), asked)


@pytest.mark.parametrize("weighting", ["1/x", "1/x2", "variance_function"])
@pytest.mark.parametrize("model", ["line", "quadratic"])
def test_weighted_curves(weighting: Any, model: Any) -> None:  # noqa: ANN401  words of the record
    known: dict[str, Any] = {}
    if weighting == "variance_function":
        known = {"variance_s0": "0.0002", "variance_k": "0.00006"}
    plan = replace(pb_method().calibration, weighting=weighting, model=model, **known)
    levels = tuple(one for one in pb_method().standards if one.concentration != "0")
    method = replace(budget(recovery_percent="0"), calibration=plan, standards=levels)
    run = run_of((*standards()[1:], *pair(), *samples("AB"), *pair()), method)
    agrees(worked(run, bench_of([portion_of(label) for label in "AB"], [TWO])), TWO)


def test_a_line_through_zero() -> None:
    plan = replace(pb_method().calibration, model="line_through_zero")
    method = replace(budget(recovery_percent="0"), calibration=plan, signal_is="absorbance_zeroed_on_blank")
    shots = [
        replace(shot, signals=tuple(f"{0.00293 * shot.holds * (1 + 0.01 * by):.7f}" for by in (-1, 0, 1)))
        for shot in (*standards(), *pair(), *samples("AB"), *pair())
    ]
    agrees(worked(run_of(shots, method), bench_of([portion_of(label) for label in "AB"], [TWO])), TWO)


PIECES = (Glassware("P-5", "pipette", "5", "0.2", "0.05"), Glassware("F-100", "flask", "100", "3", "0.5"))
WIDE_FLASK = (Glassware("F-25", "flask", "25", "1.5", "0"),)
PER_UNIT = {"unit_mass_g": "2.5", "u_unit_mass_g": "0.1"}


@pytest.mark.parametrize(
    ("name", "plan", "asked", "prepared"),
    [
        pytest.param("volume", {"volume_percent": "4"}, TWO, {}, id="volume"),
        pytest.param("dilution", {"dilution_step_percent": "4"}, TWO, {"dilutions": STEPS}, id="dilution step"),
        pytest.param("weighing", {"mass_g": "0.03"}, TWO, {}, id="repeatability of the balance"),
        pytest.param("weighing", {"balance_linearity_g": "0.03"}, TWO, {}, id="linearity of the balance"),
        pytest.param("glassware", {"glassware": PIECES}, TWO, {"dilutions": STEPS}, id="pieces of a step"),
        pytest.param("glassware", {"glassware": WIDE_FLASK}, TWO, {}, id="tolerance of a flask"),
        pytest.param(
            "glassware",
            {"glassware": (Glassware("F-25", "flask", "25", "0", "0"),), "temperature_half_range_k": "300"},
            TWO,
            {},
            id="temperature",
        ),
        pytest.param(
            "standard lot and its dilution",
            {"standard_steps": (DilutionStep("5", "100"),), "dilution_step_percent": "4"},
            TWO,
            {},
            id="dilution of the standards, by percent",
        ),
        pytest.param(
            "standard lot and its dilution",
            {"standard_steps": (DilutionStep("5", "100"),), "glassware": PIECES},
            TWO,
            {},
            id="dilution of the standards, by pieces",
        ),
        pytest.param(
            "moisture",
            {},
            replace(TWO, basis="dry"),
            {"moisture_percent": "10", "u_moisture_percent": "3"},
            id="moisture",
        ),
        pytest.param(
            "mean unit mass", {}, replace(TWO, quantity="amount_per_unit", unit="ug"), PER_UNIT, id="mean unit mass"
        ),
        pytest.param(
            "area",
            {"area_percent": "4"},
            replace(TWO, quantity="release_per_area", unit="ug/dm2"),
            {"area_dm2": "2.5", "mass_g": ""},
            id="area",
        ),
        pytest.param("recovery", {"recovery_percent": "3"}, TWO, {}, id="recovery"),
    ],
)
def test_an_input_that_rules_the_budget_rules_the_draws(
    name: str, plan: dict[str, Any], asked: Requirement, prepared: dict[str, Any]
) -> None:
    of, asked = made(budget(**{**NOTHING_STATED, **plan}), asked=asked, **prepared)
    shares = {one.name: float(one.share_percent) for one in of.work.results[0].contributions}
    assert shares[name] > 80, shares
    agrees(of, asked)


def test_an_extra_dilution_at_the_instrument_deviates_too() -> None:
    method = budget(**{**NOTHING_STATED, "dilution_step_percent": "4"})
    shots = (Shot("sample", label, 5.0, portion=label, dilution="10") for label in "AB")
    run = run_of((*standards(), *pair(), *shots, *pair()), method)
    agrees(worked(run, bench_of([portion_of(label) for label in "AB"], [TWO])), TWO)


def test_the_lot_of_the_standards() -> None:
    bench = bench_of([portion_of(label) for label in "AB"], [TWO])
    lots = {name: replace(lot, u_percent="4") for name, lot in bench.lots.items()}
    run = run_of((*standards(), *pair(), *samples("AB"), *pair()), budget(**NOTHING_STATED))
    found = agrees(worked(run, replace(bench, lots=lots)), TWO)
    assert found.compared is not None


@pytest.mark.parametrize("subtraction", ["undiluted", "same_dilution"])
@pytest.mark.parametrize("blanks", [1, 6])
def test_blanks(subtraction: Any, blanks: int) -> None:  # noqa: ANN401  a word of the record
    """Six blanks that scatter: the scatter has 5 degrees of freedom, in their mean and once for each portion."""
    method = replace(budget(recovery_percent="0"), blank_subtraction=subtraction)
    steps = STEPS if subtraction == "same_dilution" else {}
    labels = [f"M{nth}" for nth in range(blanks)]
    holds = (1.0, 1.3, 0.8, 1.1, 0.7, 1.4)
    shots = (
        *(*standards(), *pair()),
        *(Shot("method_blank", label, of, label) for label, of in zip(labels, holds, strict=False)),
        *(*samples("AB"), *pair()),
    )
    portions = [
        *(portion_of(label, dilutions=STEPS) for label in "AB"),
        *(replace(BLANK, portion=label, dilutions=steps) for label in labels),
    ]
    of = worked(run_of(shots, method), bench_of(portions, [TWO]))
    names = [one.name for one in of.work.results[0].contributions]
    assert ("method blanks, scatter" in names) == (blanks > 1)
    found = agrees(of, TWO, df=blanks - 1, within=0.04)
    assert found.moments


# ------------------------------------------------------------------ other ways from signal to concentration


@pytest.mark.parametrize("fit_on", ["readings", "means"])
def test_standard_additions(fit_on: str) -> None:
    method = replace(by_additions(fit_on=fit_on), uncertainty=budget(**NOTHING_STATED).uncertainty)
    portions = [portion_of(label, additions=tubes(label)) for label in "VW"]
    shots = [shot for label in "VW" for shot in series(label, 4.0, 0.0024)]
    of = worked(run_of(around_additions(*shots), method), bench_of(portions, [TWO]))
    (line, other) = (one.series[0] for one in of.work.results[0].portions)
    assert line.df == other.df
    found = checked(of, TWO)
    if line.df > 4:
        agrees(of, TWO, df=line.df)
    assert found.moments == (line.df > 2)


def test_between_two_standards() -> None:
    """Both portions share their standards: what these put in is common, in the budget and in the draws."""
    method = replace(bracketing.between(), uncertainty=budget(**NOTHING_STATED).uncertainty)
    shots = bracketing.run_shots(
        *bracketing.group(), bracketing.sample("V", 9.4), bracketing.sample("W", 9.6), *bracketing.group()
    )
    of = worked(run_of(shots, method), bench_of([portion_of(label) for label in "VW"], [TWO]))
    (first, second) = (one.bracket[0] for one in of.work.results[0].portions)
    assert first.low.positions == second.low.positions
    agrees(of, TWO, df=first.df)


@pytest.mark.parametrize("subtraction", ["none", "undiluted"])
def test_corrected_for_drift(subtraction: Any) -> None:  # noqa: ANN401  a word of the record
    """The span scatters widely, so that what the checks put in is not small."""
    wide_checks = tuple(replace(one, low="80" if one.low else "", high="120" if one.low else "2") for one in BRACKETS)
    plan = budget(**NOTHING_STATED).uncertainty
    method = drifting.drifting(blank_subtraction=subtraction, uncertainty=plan, checks=wide_checks)
    half = drifting.State(0.97, -0.0005)
    last = drifting.State(0.94, -0.001)
    wide = drifting.around(drifting.NEW.signal(10.0), 0.001)
    shots = drifting.shots_of(
        *(drifting.check(signals=wide), drifting.zero()),
        drifting.sample("MB", 0.2, kind="method_blank"),
        drifting.sample("V", 8.0),
        *drifting.pair(half),
        drifting.sample("W", 8.2, half),
        *drifting.pair(last),
    )
    of = worked(run_of(shots, method), bench_of([*(portion_of(label) for label in "VW"), BLANK], [TWO]))
    shares = {one.name: float(one.share_percent) for one in of.work.results[0].contributions}
    assert shares[DRIFT_STANDARDS] > 20, shares
    agrees(of, TWO, df=of.work.results[0].portions[0].drift[0].df_standard, within=0.03)


@pytest.mark.parametrize("options", PLANS)
def test_on_a_stored_curve(options: dict[str, Any]) -> None:
    run = stored_run(**options)[1]
    run = replace(run, method=replace(run.method, uncertainty=budget(**NOTHING_STATED).uncertainty))
    of = worked(run, bench_of([*(portion_of(label) for label in "VW"), BLANK], [TWO]))
    assert "one-standard correction" in {one.name for one in of.work.results[0].contributions}
    agrees(of, TWO)


# ------------------------------------------------------------------ not linear: as theory has it


def noisy(model: Any, off: Sequence[float], bend: float = 0.0, holds: float = 5.0) -> tuple[Worked, Requirement]:  # noqa: ANN401
    """One portion on a curve of single readings: ``off`` of each standard, in A s."""
    levels = [float(one.concentration) for one in pb_method().standards]
    shots = [
        Shot("standard", f"S{nth}", nominal=f"{level:g}", signals=(f"{0.003 * level - bend * level**2 + by:.7f}",))
        for nth, (level, by) in enumerate(zip(levels, off, strict=True))
    ]
    plan = replace(
        pb_method().calibration,
        model=model,
        largest_error_percent="1000",
        at_lowest_percent="1000",
        smallest_r_squared="0.1",
    )
    method = replace(
        budget(**NOTHING_STATED),
        calibration=plan,
        replicates=replace(pb_method().replicates, count=1),
        checks=(),
        lowest_level="0.01",
    )
    reading = (f"{0.003 * holds - bend * holds**2:.7f}",)
    run = run_of((*shots, Shot("sample", "A", portion="A", signals=reading)), method)
    bench = bench_of([portion_of("A")], [ONE])
    lots = {name: replace(lot, u_percent="0") for name, lot in bench.lots.items()}
    return worked(run, replace(bench, lots=lots)), ONE


OFF = (0.004, -0.006, 0.003, -0.002, 0.005, -0.007, 0.003)
TO_UG_PER_G = 0.05  # 25 mL/0.5 g


def fieller(of: Worked, y0: float) -> tuple[float, float]:
    """Roots of (y0 - b0 - b1 x)^2 = t^2 s^2 (1 + 1/n + (x - xm)^2/Sxx), for one reading (measurement.md names it)."""
    curve = of.work.calibration
    x = np.array([float(level.concentration) for level in curve.levels])
    b0, b1 = (float(one) for one in curve.coefficients)
    middle, sxx, t = x.mean(), ((x - x.mean()) ** 2).sum(), stats.t.ppf(0.975, curve.df)
    ts = (t * float(curve.residual_sd)) ** 2
    a = b1 * b1 - ts / sxx
    b = -2 * (b1 * (y0 - b0) - ts * middle / sxx)
    c = (y0 - b0) ** 2 - ts * (1 + 1 / len(x) + middle**2 / sxx)
    low, high = np.sort(np.roots([a, b, c]).real)
    return float(low), float(high)


def test_a_badly_known_slope_gives_the_interval_of_fieller_and_not_that_of_the_budget() -> None:
    """With a common drawn scatter the drawn interval of a line is Fieller's, but for draws whose slope falls."""
    of, asked = noisy("line", OFF, holds=16.0)
    found = checked(of, asked, Asked(400_000, 5))
    exact = [end * TO_UG_PER_G for end in fieller(of, 0.048)]
    for end, error, due in zip(found.drawn.symmetric, found.drawn.u_ends, exact, strict=True):
        assert abs(end - due) < 5 * error
    assert found.interval is not None
    assert abs(found.interval[1] - exact[1]) > 0.2 * found.u  # what the budget cannot see
    assert found.compared is not None
    assert found.compared.validated is False
    text = " ".join(" ".join(cross_check_lines(of.work.results[0], found)).split())
    assert "Verdict: beyond the tolerance" in text
    assert "the drawn interval is the better one" in text


def test_a_low_content_on_a_bent_curve_is_what_another_simulation_gives() -> None:
    """Written out here: sigma by chi-square, coefficients by numpy's Cholesky factor, the root by the text-book."""
    off = tuple(one / 20 for one in OFF)
    of, asked = noisy("quadratic", off, bend=0.00005, holds=0.2)
    found, curve = checked(of, asked, Asked(400_000, 5)), of.work.calibration
    rng = np.random.default_rng(77)
    sigma = np.sqrt(curve.df / rng.chisquare(curve.df, 400_000))
    factor = np.linalg.cholesky(np.array([[float(one) for one in row] for row in curve.covariance]))
    b = np.array([float(one) for one in curve.coefficients])[:, None] + sigma * (
        factor @ rng.standard_normal((3, 400_000))
    )
    y = 0.000598 + sigma * float(curve.residual_sd) * rng.standard_normal(400_000)
    assert of.work.results[0].portions[0].mean_signal == "0.000598000000000"
    x = (-b[1] + np.sqrt(b[1] ** 2 - 4 * b[2] * (b[0] - y))) / (2 * b[2]) * TO_UG_PER_G
    for end, error, due in zip(found.drawn.symmetric, found.drawn.u_ends, np.quantile(x, [0.025, 0.975]), strict=True):
        assert abs(end - due) < 6 * error
    assert found.drawn.sd == pytest.approx(np.std(x), rel=0.02)
    assert found.drawn.symmetric[0] < 0 < found.value  # the interval reaches below zero, and is not cut there


def test_recovery_is_divided_by() -> None:
    """v/(1 + u z): the ends are v/(1 + 1.96 u) and v/(1 - 1.96 u), the mean v (1 + u^2 + 3 u^4)."""
    of, asked = made(budget(**{**NOTHING_STATED, "recovery_percent": "10"}), asked=TWO)
    found = checked(of, asked, Asked(400_000, 9))
    z = stats.norm.ppf(0.975)
    due = found.value / (1 + 0.1 * z), found.value / (1 - 0.1 * z)
    for end, exact in zip(found.drawn.symmetric, due, strict=True):
        assert end == pytest.approx(exact, rel=4e-3)  # reading noise is a hundredth of it
    assert found.drawn.mean == pytest.approx(found.value * (1 + 0.01 + 3e-4), rel=1e-3)
    low, high = found.drawn.shortest
    assert high - low < found.drawn.symmetric[1] - found.drawn.symmetric[0]


NORMAL_END = stats.norm.ppf(0.975)
TRIANGLE_END = 1 - sqrt(0.05)  # of the half-width: 2.5 % of a triangle lie beyond
WIDE_PIPETTE = (Glassware("P-5", "pipette", "5", "1", "0"), Glassware("F-100", "flask", "100", "0", "0"))
WIDE_STEP_FLASK = (Glassware("P-5", "pipette", "5", "0", "0"), Glassware("F-100", "flask", "100", "20", "0"))
STANDARD_STEP = {"standard_steps": (DilutionStep("5", "100"),)}


@pytest.mark.parametrize(
    ("plan", "asked", "prepared", "reach", "divides"),
    [
        pytest.param({"volume_percent": "10"}, ONE, {}, 0.1 * NORMAL_END, False, id="a larger volume raises"),
        pytest.param(
            {"dilution_step_percent": "10"}, ONE, {"dilutions": STEPS}, 0.1 * NORMAL_END, False, id="a step raises"
        ),
        pytest.param({"mass_g": "0.05"}, ONE, {}, 0.1 * NORMAL_END, True, id="a larger mass lowers"),
        pytest.param(
            {"area_percent": "10"},
            replace(ONE, quantity="release_per_area", unit="ug/dm2"),
            {"area_dm2": "2.5", "mass_g": ""},
            0.1 * NORMAL_END,
            True,
            id="a larger area lowers",
        ),
        pytest.param({"recovery_percent": "10"}, ONE, {}, 0.1 * NORMAL_END, True, id="a larger recovery lowers"),
        pytest.param(
            {},
            replace(ONE, basis="dry"),
            {"moisture_percent": "10", "u_moisture_percent": "9"},
            0.1 * NORMAL_END,
            True,
            id="what is left of the mass lowers",
        ),
        pytest.param(
            {},
            replace(ONE, quantity="amount_per_unit", unit="ug"),
            {"unit_mass_g": "2.5", "u_unit_mass_g": "0.25"},
            0.1 * NORMAL_END,
            False,
            id="a larger unit raises",
        ),
        pytest.param(
            {"glassware": WIDE_PIPETTE},
            ONE,
            {"dilutions": STEPS},
            0.2 * TRIANGLE_END,
            True,
            id="a larger pipette lowers",
        ),
        pytest.param(
            {"glassware": WIDE_STEP_FLASK},
            ONE,
            {"dilutions": STEPS},
            0.2 * TRIANGLE_END,
            False,
            id="a larger flask raises",
        ),
        pytest.param(
            {"glassware": WIDE_PIPETTE, **STANDARD_STEP},
            ONE,
            {},
            0.2 * TRIANGLE_END,
            False,
            id="a larger pipette of the standards raises",
        ),
        pytest.param(
            {"glassware": WIDE_STEP_FLASK, **STANDARD_STEP},
            ONE,
            {},
            0.2 * TRIANGLE_END,
            True,
            id="a larger flask of the standards lowers",
        ),
    ],
)
def test_each_input_acts_the_way_its_formula_has_it(
    plan: dict[str, Any], asked: Requirement, prepared: dict[str, Any], reach: float, divides: bool
) -> None:
    """One portion, one wide input with a factor of 1 +- reach: the ends are v(1 +- reach), or v/(1 -+ reach)."""
    bench = bench_of([portion_of("A", **prepared)], [asked])
    lots = {name: replace(lot, u_percent="0") for name, lot in bench.lots.items()}
    run = run_of((*standards(), *pair(), *samples("A", 10.0), *pair()), budget(**{**NOTHING_STATED, **plan}))
    found = checked(worked(run, replace(bench, lots=lots)), asked, Asked(200_000, 6))
    ends = (1 / (1 + reach), 1 / (1 - reach)) if divides else (1 - reach, 1 + reach)
    for end, due in zip(found.drawn.symmetric, ends, strict=True):
        assert end / found.value == pytest.approx(due, rel=0.01)


def test_a_stronger_lot_raises() -> None:
    bench = bench_of([portion_of("A")], [ONE])
    lots = {name: replace(lot, u_percent="10") for name, lot in bench.lots.items()}
    run = run_of((*standards(), *pair(), *samples("A", 10.0), *pair()), budget(**NOTHING_STATED))
    found = checked(worked(run, replace(bench, lots=lots)), ONE, Asked(200_000, 6))
    for end, due in zip(found.drawn.symmetric, (1 - 0.1 * NORMAL_END, 1 + 0.1 * NORMAL_END), strict=True):
        assert end / found.value == pytest.approx(due, rel=0.01)


def test_a_tolerance_is_drawn_triangular_and_not_normal() -> None:
    """A flask alone: the whole distribution against scipy's triangle."""
    of, asked = made(
        budget(**{**NOTHING_STATED, "glassware": (Glassware("F-25", "flask", "25", "10", "0"),)}), asked=TWO
    )
    drawn = values(of, asked, Asked(20_000, 4)) / float(of.work.results[0].outcome.value)  # type: ignore[union-attr]
    assert stats.kstest(drawn, stats.triang(0.5, 0.6, 0.8).cdf).statistic < 0.02
    assert stats.kstest(drawn, stats.norm(1, 0.4 / sqrt(6)).cdf).statistic > 0.02


def test_the_scatter_of_a_curve_is_drawn_as_t() -> None:
    """One portion, readings and curve alone, 5 degrees of freedom: quantiles of t, and not of a normal."""
    of, asked = noisy("line", tuple(one / 200 for one in OFF), holds=8.0)
    found = values(of, asked, Asked(200_000, 8))
    outcome = of.work.results[0].outcome
    assert isinstance(outcome, Quantified)
    reduced = (found - float(outcome.value)) / float(outcome.u)
    for probability in (0.025, 0.25, 0.75, 0.975):
        assert np.quantile(reduced, probability) == pytest.approx(stats.t.ppf(probability, 5), abs=0.04)


def test_portions_share_their_curve_and_not_their_readings() -> None:
    """Of two portions with equal content the curve's part stays whole, that of readings falls by the root of two."""
    of, asked = made(budget(**NOTHING_STATED), asked=TWO)
    parts = {one.name: float(one.u) for one in of.work.results[0].contributions}
    alone = Redraw(of, asked, shares_of(of.chosen, "S-00001", asked)[:1])
    single = drawn_values(alone.values, 100_000, 2)
    assert not isinstance(single, str)
    squares = {name: own**2 * (2 if name == NOISE else 1) for name, own in parts.items()}
    own = sum(square * (19 / 17 if name in REGRESSION else 1) for name, square in squares.items())
    assert np.std(single) == pytest.approx(sqrt(own), rel=0.02)


# ------------------------------------------------------------------ what is said of the draws


def ruled(percent: str) -> tuple[Worked, Requirement]:
    """A result whose u is ``percent`` of 0.25 ug/g, by volumes."""
    bench = bench_of([portion_of(label) for label in "AB"], [TWO])
    lots = {name: replace(lot, u_percent="0") for name, lot in bench.lots.items()}
    method = budget(**{**NOTHING_STATED, "volume_percent": percent})
    run = run_of((*standards(), *pair(), *samples("AB"), *pair()), method)
    return worked(run, replace(bench, lots=lots)), TWO


def test_a_linear_result_stands() -> None:
    """u 0.0107: half of the last of two digits is 0.0005, a twentieth of u."""
    of, asked = ruled("4.2")
    found = checked(of, asked, Asked(200_000, 1))
    assert found.compared is not None
    assert (found.compared.delta, found.compared.validated, found.more_draws) == (0.0005, True, None)
    assert 95.2 < found.covered_percent < 95.8  # k 2 covers 95.45 %
    low, high = found.reported
    assert high - low == pytest.approx(4 * found.u)
    text = " ".join(" ".join(cross_check_lines(of.work.results[0], found)).split())
    assert "Verdict: within the tolerance: the interval of the law of propagation stands" in text
    assert "200000 trials from seed 1" in text
    assert "no part of the record, stored nowhere" in text


def test_too_few_trials_leave_the_verdict_open_and_say_how_many_would_do() -> None:
    """u 0.0095: the tolerance is 0.00005, a two-hundredth of u."""
    of, asked = ruled("3.7")
    found = checked(of, asked, Asked(10_000, 1))
    assert found.compared is not None
    assert (found.compared.delta, found.compared.validated) == (0.00005, None)
    assert found.more_draws is not None
    assert found.more_draws > 100_000
    text = " ".join(cross_check_lines(of.work.results[0], found))
    assert "Verdict: open" in text
    few = replace(found, more_draws=40_000)
    assert "About 40000 trials would do" in " ".join(cross_check_lines(of.work.results[0], few))


def test_the_same_seed_gives_the_same_answer_and_another_seed_another() -> None:
    of, asked = made(asked=TWO)
    one, same, other = (checked(of, asked, Asked(20_000, seed)) for seed in (7, 7, 8))
    assert one == same
    assert one.drawn.mean != other.drawn.mean
    assert (one.seed, other.seed) == (7, 8)


def test_draws_do_not_move_the_record() -> None:
    run = run_of((*standards(), *pair(), *samples("AB"), *pair()))
    bench = bench_of([portion_of(label) for label in "AB"], [TWO])
    of = worked(run, bench)
    checked(of, TWO)
    assert of.work == work_run(run, bench)


def test_values_for_programs_hold_what_the_lines_say() -> None:
    of, asked = made(asked=TWO)
    found = checked(of, asked)
    told = cross_check_values(of.work.results[0], found)
    assert told["recorded"] is False
    assert (told["trials"], told["seed"], told["df"]) == (50_000, 3, int(found.df))
    assert told["interval_symmetric"] == found.drawn.symmetric
    refused = cross_check_values(of.work.results[0], "below_limit")
    assert (refused["not_drawn"], refused["why"]) == ("below_limit", NO_CHECK["below_limit"])


def test_few_degrees_of_freedom_give_no_moments() -> None:
    """A line through three levels, fitted on means: one degree of freedom. The interval is still drawn."""
    plan = replace(pb_method().calibration, fit_on="means", smallest_levels=3)
    method = replace(budget(**NOTHING_STATED), calibration=plan, standards=pb_method().standards[::3])
    run = run_of((*standards()[::3], *pair(), *samples("AB"), *pair()), method)
    of = worked(run, bench_of([portion_of(label) for label in "AB"], [TWO]))
    found = checked(of, TWO)
    assert not found.moments
    assert cross_check_values(of.work.results[0], found)["drawn_u"] is None
    assert "none" in " ".join(cross_check_lines(of.work.results[0], found))


# ------------------------------------------------------------------ what is not drawn


def refused(of: Worked, asked: Requirement) -> NoCheck:
    found = cross_check(of, asked, of.work.results[0], ASKED)
    assert isinstance(found, str)
    text = " ".join(" ".join(cross_check_lines(of.work.results[0], found)).split())
    assert f"not drawn: {NO_CHECK[found]}" in text
    return found


def any_run(method: Method | None = None, holds: float = 5.0) -> Worked:
    found = worked_run(
        run_of((*standards(), *pair(), *samples("AB", holds), *pair()), method),
        bench_of([portion_of(label) for label in "AB"], [TWO]),
    )
    assert isinstance(found, Worked)
    return found


def test_a_result_below_its_limit_is_not_drawn() -> None:
    assert refused(any_run(holds=0.2), TWO) == "below_limit"


def test_a_result_without_a_value_is_not_drawn() -> None:
    assert refused(any_run(holds=50.0), TWO) == "no_value"


def test_an_uncertainty_found_by_validation_is_not_drawn() -> None:
    assert refused(any_run(budget(s0="0.02", s1_percent="3")), TWO) == "validated"


def test_a_slope_that_may_be_none_is_not_drawn() -> None:
    """g is below 1, so the budget answers; a few drawn slopes in a hundred fall."""
    of, asked = noisy("line", tuple(3 * one for one in OFF), holds=8.0)
    assert refused(of, asked) == "draws_without_value"


def test_no_uncertainty_no_draws() -> None:
    of, asked = made(asked=TWO)
    result = of.work.results[0]
    assert isinstance(result.outcome, Quantified)
    certain = replace(result, outcome=replace(result.outcome, u="0"))
    assert cross_check(of, asked, certain, ASKED) == "no_uncertainty"


def test_a_model_that_is_not_made_is_named() -> None:
    of, asked = made(replace(budget(), blank_subtraction="none"), asked=TWO)
    assert Redraw(of, asked, ()).not_covered == "no_portions"
    shares = shares_of(of.chosen, "S-00001", asked)
    stored = worked_run(stored_run()[1], bench_of([*(portion_of(label) for label in "VW"), BLANK], [TWO]))
    shots = drifting.shots_of(*drifting.pair(), drifting.sample("V", 8.0), *drifting.pair())
    drifted = worked_run(run_of(shots, drifting.drifting(checks=BRACKETS)), bench_of([portion_of("V")], [ONE]))
    assert isinstance(stored, Worked)
    assert isinstance(drifted, Worked)
    both = replace(stored, drifted=drifted.drifted)
    assert Redraw(both, asked, shares).not_covered == "corrected_twice"


def test_every_reason_and_every_line_of_a_budget_has_its_words() -> None:
    from typing import get_args  # noqa: PLC0415

    from benchseal.compute.explain_budget import REGRESSION as GROUP  # noqa: PLC0415
    from benchseal.compute.explain_budget import STATED  # noqa: PLC0415

    assert set(NO_CHECK) == {word for one in get_args(NoCheck) for word in (get_args(one) or (one,))}
    assert set(DRAWN_AS) == {*GROUP, *STATED, *OWN_DF}


# ------------------------------------------------------------------ what is asked for


@pytest.mark.parametrize(
    ("trials", "seed", "due"),
    [
        ("", None, Asked(200_000, 1)),
        ("", "", Asked(200_000, 1)),
        ("1000", "0", Asked(1_000, 0)),
        ("2000000", "4294967295", Asked(2_000_000, 2**32 - 1)),
    ],
)
def test_trials_and_seed(trials: str, seed: str | None, due: Asked) -> None:
    assert asked_draws(trials, seed) == due


@pytest.mark.parametrize(
    ("trials", "seed", "codes"),
    [
        pytest.param("999", None, ["monte-carlo.trials"], id="too few"),
        pytest.param("2000001", None, ["monte-carlo.trials"], id="too many"),
        pytest.param("-5", "7", ["monte-carlo.trials"], id="below zero"),
        pytest.param("1e5", "7", ["monte-carlo.trials"], id="an exponent"),
        pytest.param("R-00001", "7", ["monte-carlo.trials"], id="a run in the place of trials"),
        pytest.param("\u0661\u0660\u0660\u0660", "7", ["monte-carlo.trials"], id="digits of another script"),
        pytest.param("9" * 400, "7", ["monte-carlo.trials"], id="absurdly many"),
        pytest.param("5000", "-1", ["monte-carlo.seed"], id="seed below zero"),
        pytest.param("5000", "4294967296", ["monte-carlo.seed"], id="seed too large"),
        pytest.param("5000", "1.0", ["monte-carlo.seed"], id="seed not whole"),
        pytest.param("5000", " 1", ["monte-carlo.seed"], id="a blank before the seed"),
        pytest.param("5000", "\u00b2", ["monte-carlo.seed"], id="a raised digit"),
        pytest.param("x", "y", ["monte-carlo.trials", "monte-carlo.seed"], id="both"),
        pytest.param(None, "7", ["monte-carlo.seed-alone"], id="a seed and no trials"),
    ],
)
def test_bad_trials_and_seeds_are_named_all_at_once(trials: str | None, seed: str | None, codes: list[str]) -> None:
    found = asked_draws(trials, seed)
    assert isinstance(found, tuple)
    assert [one.code for one in found] == codes
    assert all(one.what.isascii() and len(one.what) < 200 for one in found)
