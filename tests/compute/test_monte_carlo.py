"""Monte Carlo: what is drawn is what was asked, and what is said of it holds."""

from __future__ import annotations

from dataclasses import replace
from math import sqrt
from typing import TYPE_CHECKING, Any, cast

import numpy as np
import pytest
from numpy.random import PCG64, Generator
from scipy import stats

from benchseal.compute.arrays import column
from benchseal.compute.fit import Model, fit
from benchseal.compute.monte_carlo import Drawn, Shape, Uncertain, compared, propagate, tolerance
from benchseal.compute.monte_carlo_model import Measured, Reading, Sample, measured

from .asking import GOOD, ask

if TYPE_CHECKING:
    from benchseal.compute.content import BlankWas

CONTENT = GOOD["monte_carlo"][0]
STEPS = [0.0, 0.5, 1, 1.5, 2, 2.5, 3, 3.5, 4]
NOISE = [0.4, -1.1, 0.7, 0.2, -0.6, 1.3, -0.8, -0.3, 0.2]
LINE = [0.001 + 0.2 * x + 0.001 * e for x, e in zip(STEPS, NOISE, strict=True)]
CURVED = [y - 0.01 * x * x for x, y in zip(STEPS, LINE, strict=True)]


def source() -> Generator:
    return Generator(PCG64(11))


@pytest.mark.parametrize("shape", ["normal", "rectangular", "triangular"])
def test_a_shape_has_its_distribution_and_its_u(shape: Shape) -> None:
    """Kolmogorov and Smirnov against scipy's distributions; mean and u within 4 standard errors."""
    drawn = Uncertain(5, 0.2, shape).draws(100_000, source())
    reach = 0.2 * {"normal": 1.0, "rectangular": sqrt(3), "triangular": sqrt(6)}[shape]
    own = {
        "normal": stats.norm(5, reach),
        "rectangular": stats.uniform(5 - reach, 2 * reach),
        "triangular": stats.triang(0.5, 5 - reach, 2 * reach),
    }[shape]
    assert stats.kstest(drawn, own.cdf).pvalue > 0.001
    assert abs(drawn.mean() - 5) < 4 * 0.2 / sqrt(100_000)
    assert abs(drawn.std() / 0.2 - 1) < 0.01


def test_student_is_scaled_and_shifted() -> None:
    drawn = Uncertain(5, 0.2, "student", 4).draws(100_000, source())
    assert stats.kstest(drawn, stats.t(4, 5, 0.2).cdf).pvalue > 0.001


def test_an_exact_input_is_its_value() -> None:
    assert set(Uncertain(3.5).draws(10, source()).tolist()) == {3.5}


@pytest.mark.parametrize(("model", "y"), [("line", LINE), ("line_through_zero", LINE), ("quadratic", CURVED)])
def test_concentrations_follow_the_t_of_the_fit(model: Model, y: list[float]) -> None:
    """(x - x0)/u is t with the degrees of freedom of the fit, nearly: the slope is known to a part in a thousand."""
    found = _measured(model, y)
    drawn = found.values(200_000, source())
    u = sqrt(float(found.found.u_reading[0, 0]) ** 2 + float(found.found.u_curve[0, 0]) ** 2)
    reduced = (drawn - float(found.found.x[0, 0])) / u
    for probability in (0.025, 0.25, 0.75, 0.975):
        assert abs(np.quantile(reduced, probability) - stats.t.ppf(probability, found.df)) < 0.03


def test_with_known_weights_nothing_is_wider_than_normal() -> None:
    """Four points and u of each stated: the scatter of so few is not drawn, so the ends are those of a normal."""
    x, y = column([0.0, 1, 2, 3]), column([0.001, 0.199, 0.402, 0.6])
    known = fit(x, y, "line", "given", weights=column([1e6] * 4), variance="known")
    found = measured(known, Reading(0.3, 1, 1e6), Sample())
    assert isinstance(found, Measured)
    drawn = found.values(200_000, source())
    u = sqrt(float(found.found.u_reading[0, 0]) ** 2 + float(found.found.u_curve[0, 0]) ** 2)
    ends = np.quantile((drawn - float(found.found.x[0, 0])) / u, [0.025, 0.975])
    assert np.abs(ends - [-1.96, 1.96]).max() < 0.03


def test_drawn_one_by_one_without_covariance_the_spread_would_be_wrong() -> None:
    """Coefficients drawn apart give more than twice the spread on this curve: the covariance is drawn."""
    found = _measured("quadratic", CURVED)
    b, sds = found.fit.coefficients[:, 0], np.sqrt(np.diagonal(found.fit.covariance[:, :, 0]))
    alone = b[:, None] + sds[:, None] * source().standard_normal((3, 50_000))
    root = np.sqrt(alone[1] ** 2 - 4 * alone[2] * (alone[0] - 0.3))
    apart = 2 * (0.3 - alone[0]) / (alone[1] + root)
    u_curve = float(found.found.u_curve[0, 0])
    assert np.nanstd(apart) > 2 * u_curve
    quiet = Measured(found.fit, Reading(0.3, 1e12, float("nan")), found.found, found.sample)
    assert np.quantile(np.abs(quiet.values(50_000, source()) - quiet.found.x[0, 0]), 0.6827) < 1.5 * sqrt(
        float(found.found.u_reading[0, 0]) ** 2 + u_curve**2
    )


def _measured(model: Model, y: list[float]) -> Measured:
    line = fit(column(STEPS), column(y), model)
    found = measured(line, Reading(0.3, 3, float("nan")), Sample())
    assert isinstance(found, Measured)
    return found


def test_the_same_seed_gives_the_same_answer_and_another_seed_another() -> None:
    one, same, other = (ask("monte_carlo", **{**CONTENT, "seed": seed}) for seed in (7, 7, 8))
    assert one == same
    assert one["mean"] != other["mean"]
    assert one["seed"] == 7


def test_the_first_draws_do_not_depend_on_how_many_follow() -> None:
    seen: list[np.ndarray[Any, np.dtype[np.float64]]] = []

    def model(n: int, generator: Generator) -> np.ndarray[Any, np.dtype[np.float64]]:
        seen.append(generator.standard_normal(n))
        return seen[-1]

    propagate(model, 60_000, 3)
    propagate(model, 130_000, 3)
    assert np.array_equal(np.concatenate(seen[:2])[:50_000], np.concatenate(seen[2:])[:50_000])
    assert [len(one) for one in seen] == [50_000, 10_000, 50_000, 50_000, 30_000]


def test_the_symmetric_interval_covers_95_percent_and_the_shortest_is_no_longer() -> None:
    """A lopsided sum would be none; a quotient is: content divided by a wide recovery."""
    found = ask("monte_carlo", **{**CONTENT, "draws": 200_000, "recovery": {"value": 1, "u": 0.15}})
    (low, high), (left, right) = found["interval_symmetric"], found["interval_shortest"]
    assert right - left < high - low
    assert left < low
    assert found["mean"] > found["value"]
    assert found["validated"] is False


def test_standard_errors_are_those_of_repeated_drawing() -> None:
    """60 seeds: what ends and mean scatter by is what one answer says, within a third."""
    terms = [{"name": "a", "value": 0, "u": 1}, {"name": "b", "value": 0, "u": 1, "distribution": "rectangular"}]
    runs = [ask("monte_carlo", measurement="sum", seed=seed, draws=4000, terms=terms) for seed in range(60)]
    for seen, said in (
        ([one["mean"] for one in runs], [one["standard_error_mean"] for one in runs]),
        ([one["interval_symmetric"][0] for one in runs], [one["standard_error_ends"][0] for one in runs]),
        ([one["interval_symmetric"][1] for one in runs], [one["standard_error_ends"][1] for one in runs]),
    ):
        assert abs(np.std(seen) / np.mean(said) - 1) < 0.35


@pytest.mark.parametrize(
    ("u", "delta"), [(0.0178, 0.0005), (2.0, 0.05), (10.149, 0.5), (0.0996, 0.005), (0.0994, 0.0005), (1e-30, 5e-32)]
)
def test_tolerance_is_half_of_the_last_kept_digit(u: float, delta: float) -> None:
    assert tolerance(u) == delta


@pytest.mark.parametrize(
    ("interval", "error", "validated"),
    [
        pytest.param((-2.0, 2.04), 0.01, True, id="both ends within"),
        pytest.param((-2.0, 2.06), 0.01, False, id="one end is not"),
        pytest.param((-2.06, 2.0), 0.01, False, id="nor the other"),
        pytest.param((-2.0, 2.04), 0.03, None, id="ends known too poorly"),
        pytest.param((-2.0, 2.2), 0.03, False, id="apart all the same"),
        pytest.param((-2.0, 2.1), 0.03, None, id="perhaps apart"),
        pytest.param((-2.0, 2.12), 0.03, False, id="apart by more than twice the error of the end"),
        pytest.param((-2.12, 2.0), 0.03, False, id="at the other end too"),
    ],
)
def test_both_ends_decide(interval: tuple[float, float], error: float, validated: bool | None) -> None:
    """Delta is 0.05 for u = 1."""
    drawn = Drawn(1000, 0, 0, 1, (-2.0, 2.0), (-2.0, 2.0), 0.01, (error, error))
    assert compared(drawn, interval, 1.0).validated is validated


def test_draws_beyond_the_curve_are_counted() -> None:
    """A slope known poorly: of 100 000 draws some have none, fewer than one in a thousand."""
    y = [0.02, 0.18, 0.44, 0.58, 0.81]
    found = ask("monte_carlo", **{**CONTENT, "y": y, "draws": 100_000, "reading": {"y": 0.4}})
    assert 0 <= found["draws_without_value"] < 100
    worse = [0.1, 0.05, 0.5, 0.5, 0.8]
    refused = ask("monte_carlo", **{**CONTENT, "y": worse, "draws": 100_000, "reading": {"y": 0.4}})
    assert refused["mean"]["refused"]["code"] == "calc.draws-without-value"
    assert isinstance(refused["value"], float)


def test_a_blank_at_the_same_dilution_is_taken_off_before_it() -> None:
    both = [
        ask("monte_carlo", **{**CONTENT, "recovery": {"value": 1}, "blank_was": was})["value"]
        for was in ("undiluted", "same_dilution")
    ]
    same = {"solution_mg_per_l": 1, "blank_mg_per_l": 0.01, "dilution": 10, "volume_ml": 50, "mass_g": 0.5}
    plain = [ask("content", **same, blank_was=was)["mg_per_kg"] for was in ("undiluted", "same_dilution")]
    assert both[0] - both[1] == pytest.approx(plain[0] - plain[1], rel=1e-9)


def test_the_gum_answer_is_that_of_the_kinds_for_one_thing_each() -> None:
    """calibration gives x and u, content carries them, uncertainty combines with the recovery."""
    request = CONTENT
    sample = {"y": request["reading"]["y"], "readings": 3}
    of_curve = ask("calibration", model="line", x=request["x"], y=request["y"], samples=[sample])["samples"][0]
    carried = ask(
        "content", solution_mg_per_l=of_curve["x"], blank_mg_per_l=0.01, blank_was="undiluted", dilution=10,
        volume_ml=50, mass_g=0.5, u_solution=of_curve["u"], u_blank=0.002, u_dilution=0.03,
        u_volume=0.1 / sqrt(3), u_mass=0.0002,
    )  # fmt: skip
    found = ask("monte_carlo", **request)
    assert found["value"] == pytest.approx(carried["mg_per_kg"] / 0.95, rel=1e-12)
    by_recovery = found["value"] * 0.01 / 0.95
    assert found["gum"]["u"] == pytest.approx(sqrt((carried["u"] / 0.95) ** 2 + by_recovery**2), rel=1e-12)


def test_standards_and_moisture_reach_the_answer() -> None:
    plain = {key: one for key, one in CONTENT.items() if key not in {"recovery", "blank", "blank_was"}}
    base = ask("monte_carlo", **plain)
    dry = ask("monte_carlo", **plain, moisture={"value": 0.2, "u": 0.01})
    lots = ask("monte_carlo", **plain, standards={"value": 1, "u": 0.02})
    assert dry["value"] == pytest.approx(base["value"] / 0.8, rel=1e-12)
    for other, relative in ((dry, 0.01 / 0.8), (lots, 0.02)):
        alone = sqrt((base["gum"]["u"] / base["value"]) ** 2 + relative**2)
        assert other["gum"]["u"] / other["value"] == pytest.approx(alone, rel=1e-12)
        assert other["mean"] == pytest.approx(other["value"], rel=0.01)


def test_a_well_known_measurement_is_validated() -> None:
    """Many points, small relative uncertainties, normal inputs: the GUM holds, and drawing says so."""
    x, y = STEPS * 20, [0.2 * a + 0.0004 * e for a, e in zip(STEPS * 20, NOISE * 20, strict=True)]
    found = ask(
        "monte_carlo", measurement="content", seed=2, draws=1_500_000, model="line", x=x, y=y,
        reading={"y": 0.3, "readings": 3}, standards={"value": 1, "u": 0.004}, volume_ml={"value": 50, "u": 0.05},
        mass_g={"value": 0.5, "u": 0.0003},
    )  # fmt: skip
    assert found["validated"] is True
    assert max(found["difference_ends"]) <= found["delta"]


def test_a_ramp_of_draws_shows_every_figure_by_hand() -> None:
    """Draws 0 to 9999: JCGM 101, 7.7 with M 10 000: q 9500, r 250, so the 250th and the 9750th.

    The mean of 0 to n-1 is (n-1)/2 and its variance n(n+1)/12. An end scatters by sqrt(M 0.025 0.975) = 15.6 ranks,
    16 whole ones; half of what lies between 16 below and 16 above is 16.
    """
    found = propagate(lambda n, _: np.arange(float(n))[::-1], 10_000, 1)
    assert isinstance(found, Drawn)
    assert (found.mean, found.draws, found.without_value) == (4999.5, 10_000, 0)
    assert found.sd == pytest.approx(sqrt(10_000 * 10_001 / 12), rel=1e-14)
    assert found.u_mean == pytest.approx(found.sd / 100, rel=1e-14)
    assert found.symmetric == (249.0, 9749.0)
    assert found.shortest == (0.0, 9500.0)
    assert found.u_ends == (16.0, 16.0)


def test_the_shortest_interval_lies_where_draws_are_densest() -> None:
    """A thousand draws, squares of 0 to 999: the lowest 950 steps are the shortest."""
    found = propagate(lambda n, _: np.arange(float(n)) ** 2, 1000, 1)
    assert isinstance(found, Drawn)
    assert found.shortest == (0.0, 950.0**2)
    assert found.symmetric == (24.0**2, 974.0**2)
    assert found.u_ends == ((29.0**2 - 19**2) / 2, (979.0**2 - 969**2) / 2)  # sqrt(24.4) up: 5 ranks


def test_draws_without_a_value_may_be_one_in_a_thousand_and_no_more() -> None:
    def without(lost: int) -> object:
        return propagate(lambda n, _: np.where(np.arange(n) < lost, np.nan, 1.0 + np.arange(n)), 10_000, 1)

    some = without(10)
    assert isinstance(some, Drawn)
    assert (some.draws, some.without_value) == (10_000, 10)
    assert without(11) == "draws_without_value"
    assert propagate(lambda n, _: np.full(n, np.inf), 1000, 1) == "no_finite_value"


@pytest.mark.parametrize(("error", "validated"), [(0.025, True), (0.0250001, None)])
def test_ends_known_to_half_the_tolerance_are_known_well_enough(error: float, validated: bool | None) -> None:
    """Delta is 0.05 for u = 1, and the distance of the upper end just that."""
    drawn = Drawn(1000, 0, 0, 1, (-2.0, 2.0), (-2.0, 2.0), 0.01, (error, 0.01))
    assert compared(drawn, (-2.0, 2.05 - 1e-12), 1.0).validated is validated


def test_distances_of_ends_have_no_sign() -> None:
    drawn = Drawn(1000, 0, 0, 1, (-2.0, 2.0), (-2.0, 2.0), 0.01, (0.01, 0.01))
    found = compared(drawn, (-2.25, 1.5), 1.0)
    assert (found.apart, found.delta, found.validated) == ((0.25, 0.5), 0.05, False)


@pytest.mark.parametrize("blank_was", ["undiluted", "same_dilution"])
def test_each_draw_is_carried_to_the_sample_by_the_formula_of_the_manual(blank_was: str) -> None:
    """Exact inputs: the concentration drawn alone, the same draws carried, and the formula written out by hand."""
    alone = _measured("line", LINE)
    given = {
        "blank": Uncertain(0.3), "dilution": Uncertain(10.0), "volume_ml": Uncertain(50.0), "mass_g": Uncertain(0.5),
        "moisture": Uncertain(0.2), "recovery": Uncertain(0.8), "standards": Uncertain(1.1),
    }  # fmt: skip
    carried = Measured(alone.fit, alone.reading, alone.found, Sample(blank_was=cast("BlankWas", blank_was), **given))
    c, found = alone.values(1000, source()), carried.values(1000, source())
    net = c * 10.0 - 0.3 if blank_was == "undiluted" else (c - 0.3) * 10.0
    np.testing.assert_allclose(found, net * 50.0 / (0.5 * (1 - 0.2) * 0.8) * 1.1, rtol=1e-13)


@pytest.mark.parametrize(
    ("name", "value", "sound"),
    [
        ("mass_g", 0.0, False), ("mass_g", 1e-9, True), ("volume_ml", 0.0, False), ("volume_ml", 1e-9, True),
        ("dilution", 0.0, False), ("dilution", 1e-9, True), ("recovery", 0.0, False), ("recovery", 1e-9, True),
        ("moisture", 1.0, False), ("moisture", 0.999, True), ("blank", -5.0, True), ("standards", 0.0, True),
    ],
)  # fmt: skip
def test_draws_that_cannot_be_have_no_value(name: str, value: float, sound: bool) -> None:
    alone = _measured("line", LINE)
    sample = replace(Sample(), **{name: Uncertain(value)})  # type: ignore[arg-type]
    of = Measured(alone.fit, alone.reading, alone.found, sample)
    with np.errstate(all="ignore"):
        found = of.values(100, source())
    assert np.all(np.isfinite(found)) if sound else np.all(np.isnan(found))


def test_coefficients_are_drawn_with_their_covariance() -> None:
    """Of the curve alone, its reading exactly known: the spread is the curve part of u by the delta method.

    With known weights nothing is wider than normal. 200 000 draws know a spread to 0.2 %.
    """
    x, y = column(STEPS), column(CURVED)
    known = fit(x, y, "quadratic", "given", weights=column([1e8] * 9), variance="known")
    found = measured(known, Reading(0.3, 1, 1e20), Sample())
    assert isinstance(found, Measured)
    drawn = found.values(200_000, source())
    assert np.std(drawn) == pytest.approx(float(found.found.u_curve[0, 0]), rel=0.01)
    assert np.mean(drawn) == pytest.approx(float(found.found.x[0, 0]), abs=5 * float(np.std(drawn)) / 400)


def test_a_curve_without_any_scatter_leaves_what_else_is_uncertain() -> None:
    """y = x: no residual at all, so nothing of the curve varies; a volume of 2 % does."""
    points = {"model": "line", "x": [0, 1, 2, 4], "y": [0, 1, 2, 4], "reading": {"y": 1}}
    found = ask(
        "monte_carlo", measurement="content", seed=5, draws=20_000, **points, volume_ml={"value": 1, "u": 0.02},
        mass_g={"value": 1},
    )  # fmt: skip
    assert found["value"] == pytest.approx(1, rel=1e-14)
    assert found["gum"]["u"] == pytest.approx(0.02, rel=1e-12)
    low, high = found["interval_symmetric"]
    assert (low, high) == (pytest.approx(1 - 1.96 * 0.02, abs=0.002), pytest.approx(1 + 1.96 * 0.02, abs=0.002))
