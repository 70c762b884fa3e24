"""Every line of a budget by hand: the manual's formulas put in with numpy's line through the same readings.

``due`` of each case is the whole budget: a line that is missing there must be missing in the record too.
"""

from __future__ import annotations

from dataclasses import replace
from math import sqrt
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from tests.compute.making import BRACKETS, Shot, bench_of, pair, portion_of, run_of, standards
from tests.compute.test_cross_check import BLANK, NOTHING_STATED, TWO
from tests.compute.test_explain_formulas import budget
from tests.compute.test_run_additions import around as around_additions
from tests.compute.test_run_additions import by_additions, tubes

from benchseal.compute.run_work import work_run
from benchseal.records.method import Glassware
from benchseal.records.preparation import DilutionStep
from benchseal.records.results import BelowLimit, Quantified, RunWork

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from benchseal.records.method import Method
    from benchseal.records.results import WorkedResult
    from benchseal.records.specification import Requirement

X = np.repeat([0, 1, 2.5, 5, 10, 15, 20], 3)
PER_ML_PER_G = 25.0 / 0.5 / 1000  # µg/L to µg/g
HOLDS = {"A": 5.0, "B": 7.0}
WIDE = tuple(replace(one, low="" if not one.low else "50", high="50" if not one.low else "150") for one in BRACKETS)


class Line:
    """The curve of ``standards()``: b, covariance, s of one reading."""

    def __init__(self) -> None:
        y = np.array(
            [float(f"{(0.0015 + 0.00293 * shot.holds) * by:.7f}") for shot in standards() for by in (0.99, 1, 1.01)]
        )
        design = np.stack([np.ones(21), X])
        self.b = np.linalg.solve(design @ design.T, design @ y)
        self.s = sqrt(((y - self.b @ design) ** 2).sum() / 19)
        self.covariance = np.linalg.inv(design @ design.T) * self.s**2

    def read(self, holds: float, extra: float = 1.0) -> float:
        """Concentration of a shot's three readings, times its dilution at the instrument."""
        readings = [float(f"{(0.0015 + 0.00293 * holds) * by:.7f}") for by in (0.99, 1, 1.01)]
        return float((np.mean(readings) - self.b[0]) / self.b[1]) * extra

    @property
    def u_reading(self) -> float:
        return float(self.s / sqrt(3) / self.b[1])

    def gradient(self, x: float) -> NDArray[np.float64]:
        found: NDArray[np.float64] = np.array([-1.0, -x]) / self.b[1]
        return found

    def u_curve(self, weighed: NDArray[np.float64]) -> float:
        return sqrt(float(weighed @ self.covariance @ weighed))


def result_of(
    method: Method,
    asked: Requirement,
    blanks: Mapping[str, float] | None = None,
    extra: str = "1",
    **prepared: Any,  # noqa: ANN401  fields of a record by name
) -> WorkedResult:
    """Portions A and B holding 5 and 7, and blanks."""
    own = {
        label: {key: one[label] if isinstance(one, dict) and label in one else one for key, one in prepared.items()}
        for label in HOLDS
    }
    steps = prepared.get("dilutions", {}) if method.blank_subtraction == "same_dilution" else {}
    portions = [
        *(portion_of(label, **own[label]) for label in HOLDS),
        *(replace(BLANK, portion=label, dilutions=steps) for label in blanks or {}),
    ]
    shots = (
        *(*standards(), *pair(), *(Shot("method_blank", label, of, label) for label, of in (blanks or {}).items())),
        *(Shot("sample", label, holds, label, extra) for label, holds in HOLDS.items()),
        *pair(),
    )
    work = work_run(run_of(shots, replace(method, checks=WIDE)), bench_of(portions, [asked]))
    assert isinstance(work, RunWork), work
    (result,) = work.results
    assert isinstance(result.outcome, Quantified | BelowLimit), result.outcome
    return result


def holds(result: WorkedResult, due: Mapping[str, float], df: float | None = 19, rel: float = 2e-9) -> None:
    """Names, u, shares and effective degrees of freedom; df: of all that the readings and the curve put in."""
    found = {one.name: float(one.u) for one in result.contributions}
    assert list(found) == list(due)
    assert found == pytest.approx(dict(due), rel=rel)
    whole = sum(one**2 for one in due.values())
    for one in result.contributions:
        assert float(one.share_percent) == pytest.approx(100 * due[one.name] ** 2 / whole, rel=4 * rel)
    if isinstance(result.outcome, Quantified):
        assert float(result.outcome.u) == pytest.approx(sqrt(whole), rel=rel)
        group = sum(due[name] ** 2 for name in due if name in {"reading noise", "calibration curve", NOISE_OF_BLANK})
        if df is not None:
            assert result.outcome.df == str(int(whole**2 / (group**2 / df)))


NOISE_OF_BLANK = "method blank, reading noise"
LINE = Line()


def test_two_weighings_of_one_balance_with_glassware_and_moisture() -> None:
    """Masses differ. Repeatability is each weighing's own; linearity, at both ends, and all pieces are common."""
    glass = (
        Glassware("P-5", "pipette", "5.0", "0.2", "0.05"),
        Glassware("F-100", "flask", "100", "3", "0.5"),
        Glassware("F-25", "flask", "25", "1", "0.2"),
        Glassware("F-25 b", "flask", "25.0", "9", "9"),
    )
    plan = budget(
        mass_g="0.004", balance_linearity_g="0.006", recovery_percent="4", temperature_half_range_k="8",
        glassware=glass, standard_steps=(DilutionStep("5", "100"), DilutionStep("2", "50")), area_percent="40",
        volume_percent="30", dilution_step_percent="1",
    )  # fmt: skip
    result = result_of(
        plan, replace(TWO, basis="dry"), mass_g={"A": "0.5000", "B": "0.4000"}, moisture_percent="10",
        u_moisture_percent="1.5", dilutions={"Pb": (DilutionStep("5", "100"),)},
    )  # fmt: skip
    masses, x = (0.5, 0.4), [LINE.read(one) for one in HOLDS.values()]
    factors = [20 * 25 / mass / 1000 / 0.9 for mass in masses]
    sizes = [one * factor for one, factor in zip(x, factors, strict=True)]
    mean = sum(sizes) / 2
    warm = 8 * 2.1e-4 / sqrt(3)
    pieces = [sqrt((t / sqrt(6) / v) ** 2 + (f / v) ** 2 + warm**2) for v, t, f in ((5, 0.2, 0.05), (100, 3, 0.5))]
    made_up = sqrt((1 / sqrt(6) / 25) ** 2 + (0.2 / 25) ** 2 + warm**2)
    step = sqrt(pieces[0] ** 2 + pieces[1] ** 2)
    per_gram = [size / 2 / mass for size, mass in zip(sizes, masses, strict=True)]
    lot = sqrt(0.005**2 + step**2 + 0.01**2)  # the second step of the standards has no listed ware
    weighed = sum((factor / 2 * LINE.gradient(one) for one, factor in zip(x, factors, strict=True)), np.zeros(2))
    holds(
        result,
        {
            "reading noise": LINE.u_reading * sqrt(sum((factor / 2) ** 2 for factor in factors)),
            "calibration curve": LINE.u_curve(weighed),
            "standard lot and its dilution": mean * lot,
            "glassware": mean * sqrt(step**2 + made_up**2),
            "weighing": sqrt(
                sum((one * 0.004) ** 2 for one in per_gram) + (sum(per_gram) * 0.006 * sqrt(2) / sqrt(3)) ** 2
            ),
            "moisture": mean * 1.5 / 90,
            "recovery": mean * 0.04,
        },
    )


@pytest.mark.parametrize("subtraction", ["undiluted", "same_dilution"])
def test_a_unit_of_a_tablet_with_one_blank_and_steps_in_percent(subtraction: Any) -> None:  # noqa: ANN401
    """Of an undiluted blank a step moves the gross value, of one diluted alike the net; each step by itself."""
    plan = replace(
        budget(mass_g="0.004", volume_percent="2", dilution_step_percent="3", recovery_percent=""),
        blank_subtraction=subtraction,
    )
    twice = {"Pb": (DilutionStep("5", "50"), DilutionStep("10", "20"))}
    result = result_of(
        plan, replace(TWO, quantity="amount_per_unit", unit="ug"), {"M": 1.5}, "1.25", dilutions=twice,
        unit_mass_g="2.5", u_unit_mass_g="0.1",
    )  # fmt: skip
    alike = 20 if subtraction == "same_dilution" else 1
    factor, dilution = PER_ML_PER_G * 2.5, 10 * 2 * 1.25
    x, blank = [LINE.read(one) for one in HOLDS.values()], LINE.read(1.5)
    if subtraction == "same_dilution":
        dilution_of_blank: float = alike
        sizes = [(one * dilution - blank * alike) * factor for one in x]
        moved = sizes
    else:
        dilution_of_blank = 1
        sizes = [(one * dilution - blank) * factor for one in x]
        moved = [one * dilution * factor for one in x]
    mean = sum(sizes) / 2
    weighed = sum((factor * dilution / 2 * LINE.gradient(one) for one in x), np.zeros(2))
    weighed = weighed - factor * dilution_of_blank * LINE.gradient(blank)
    holds(
        result,
        {
            "reading noise": LINE.u_reading * factor * dilution / sqrt(2),
            NOISE_OF_BLANK: LINE.u_reading * factor * dilution_of_blank,
            "calibration curve": LINE.u_curve(weighed),
            "standard lot": mean * 0.005,
            "dilution": sum(moved) / 2 * 0.03 * sqrt(3),
            "volume": mean * 0.02,
            "weighing": sqrt(sum((size / 2 / 0.5 * 0.004) ** 2 for size in sizes)),
            "mean unit mass": mean * 0.1 / 2.5,
        },
    )


def test_several_blanks_scatter_once_in_their_mean_and_once_in_each_portion() -> None:
    plan = replace(budget(**NOTHING_STATED), blank_subtraction="undiluted")
    blanks = {"M1": 1.0, "M2": 1.6, "M3": 0.7}
    result = result_of(plan, TWO, blanks, mass_g={"A": "0.5000", "B": "0.4000"})
    factors = [25 / mass / 1000 for mass in (0.5, 0.4)]
    x, read = [LINE.read(one) for one in HOLDS.values()], [LINE.read(one) for one in blanks.values()]
    variance = float(np.var(read, ddof=1))
    mean = sum((one - np.mean(read)) * factor for one, factor in zip(x, factors, strict=True)) / 2
    weighed = sum((factor / 2 * LINE.gradient(one) for one, factor in zip(x, factors, strict=True)), np.zeros(2))
    weighed = weighed - sum(factors) / 2 * sum((LINE.gradient(one) for one in read), np.zeros(2)) / 3
    due = {
        "reading noise": LINE.u_reading * sqrt(sum((factor / 2) ** 2 for factor in factors)),
        "method blanks, scatter": sqrt(
            variance * ((sum(factors) / 2) ** 2 / 3 + sum((factor / 2) ** 2 for factor in factors))
        ),
        "calibration curve": LINE.u_curve(weighed),
        "standard lot": float(mean) * 0.005,
    }
    holds(result, due, df=None)
    whole = sum(one**2 for one in due.values())
    group = due["reading noise"] ** 2 + due["calibration curve"] ** 2
    assert isinstance(result.outcome, Quantified)
    assert result.outcome.df == str(int(whole**2 / (group**2 / 19 + due["method blanks, scatter"] ** 4 / 2)))


def test_a_release_per_area_has_no_mass_and_a_concentration_no_volume() -> None:
    plan = budget(mass_g="0.1", volume_percent="2", area_percent="3", recovery_percent="1")
    x = [LINE.read(one) for one in HOLDS.values()]
    weighed = sum((LINE.gradient(one) / 2 for one in x), np.zeros(2))
    factor = 25 / 1000 / 2.5
    mean = sum(x) / 2
    of_lines = {"reading noise": LINE.u_reading / sqrt(2), "calibration curve": LINE.u_curve(weighed)}
    area = replace(TWO, quantity="release_per_area", unit="ug/dm2")
    holds(
        result_of(plan, area, area_dm2="2.5", mass_g=""),
        {name: one * factor for name, one in of_lines.items()}
        | {
            "standard lot": mean * factor * 0.005,
            "volume": mean * factor * 0.02,
            "area": mean * factor * 0.03,
            "recovery": mean * factor * 0.01,
        },
    )
    holds(
        result_of(plan, replace(TWO, quantity="concentration", unit="ug/L")),
        of_lines | {"standard lot": mean * 0.005, "recovery": mean * 0.01},
    )


@pytest.mark.parametrize("negative", [False, True])
def test_a_validated_uncertainty_is_common_and_takes_the_size_of_a_value(negative: bool) -> None:
    """The mean of each portion's sqrt((s0 carried)^2 + (s1 value)^2); a value below zero has a size too."""
    plan = replace(budget(s0="0.2", s1_percent="3"), blank_subtraction="undiluted", lowest_level="0.001")
    blank = 5.5 if negative else 1.0
    result = result_of(plan, TWO, {"M": blank}, dilutions={})
    values = [(LINE.read(one) - LINE.read(blank)) * PER_ML_PER_G for one in HOLDS.values()]
    assert (min(values) < 0) == negative
    each = [sqrt((0.2 * PER_ML_PER_G) ** 2 + (0.03 * value) ** 2) for value in values]
    holds(result, {"validated uncertainty": sum(each) / 2}, df=None)
    assert isinstance(result.outcome, Quantified)
    assert result.outcome.df == ""


def test_what_is_proportional_takes_the_size_of_a_value_below_zero() -> None:
    """Of -0.5 and 1.5 the mean is 0.5, and a recovery of 4 % moves each by its own size."""
    plan = replace(budget(**{**NOTHING_STATED, "recovery_percent": "4"}), blank_subtraction="undiluted")
    result = result_of(replace(plan, lowest_level="0.001"), TWO, {"M": 5.5})
    values = [(LINE.read(one) - LINE.read(5.5)) * PER_ML_PER_G for one in HOLDS.values()]
    found = {one.name: float(one.u) for one in result.contributions}
    assert found["recovery"] == pytest.approx(0.04 * (abs(values[0]) + abs(values[1])) / 2, rel=1e-8)


def test_one_of_the_two_figures_of_a_validation_is_none() -> None:
    """Both belong together; a method with one of them has the budget of its parts."""
    for half in ({"s0": "0.2"}, {"s1_percent": "3"}):
        names = [one.name for one in result_of(budget(**half), TWO).contributions]
        assert names[0] == "reading noise"
        assert "validated uncertainty" not in names


def test_lines_of_additions_have_their_own_degrees_of_freedom() -> None:
    """nu of both together: u^4/(u1^4/10 + u2^4/10), each line with twelve points."""
    method = replace(by_additions(), uncertainty=budget(**NOTHING_STATED).uncertainty)
    rows = []
    for label, spread in (("V", 0.0002), ("W", 0.0003)):
        for place, tube in enumerate(tubes(label)["Pb"]):
            middle = 0.0024 * (4 + float(tube.added)) + (0.00004, -0.00003, -0.00005, 0.00004)[place]
            rows.append(
                Shot(
                    "sample",
                    tube.label,
                    portion=label,
                    signals=tuple(f"{middle + by * spread:.7f}" for by in (-1, 0.2, 0.8)),
                )
            )
    portions = [portion_of(label, additions=tubes(label)) for label in "VW"]
    work = work_run(run_of(around_additions(*rows), method), bench_of(portions, [TWO]))
    assert isinstance(work, RunWork)
    (result,) = work.results
    parts = [float(one.u_solution) * PER_ML_PER_G / 2 for one in result.portions]
    term, lot = sqrt(sum(one**2 for one in parts)), float(result.contributions[1].u)
    assert float(result.contributions[0].u) == pytest.approx(term, rel=1e-9)
    assert isinstance(result.outcome, Quantified)
    assert result.outcome.df == str(int((term**2 + lot**2) ** 2 / sum(one**4 / 10 for one in parts)))


def test_moisture_moves_no_result_as_received() -> None:
    result = result_of(budget(), TWO, moisture_percent="10", u_moisture_percent="1.5")
    assert "moisture" not in {one.name for one in result.contributions}


def test_a_percentage_of_the_claim_is_made_of_weighings_and_units() -> None:
    asked = replace(TWO, quantity="percent_of_claim", unit="%", claim_mg="0.001")
    result = result_of(budget(mass_g="0.004"), asked, unit_mass_g="2.5", u_unit_mass_g="0.1")
    found = {one.name: float(one.u) for one in result.contributions}
    sizes = [LINE.read(one) * PER_ML_PER_G * 2.5 / 1000 / 0.001 * 100 for one in HOLDS.values()]
    assert found["weighing"] == pytest.approx(sqrt(sum((size / 2 / 0.5 * 0.004) ** 2 for size in sizes)), rel=2e-9)
    assert found["mean unit mass"] == pytest.approx(sum(sizes) / 2 * 0.1 / 2.5, rel=2e-9)
