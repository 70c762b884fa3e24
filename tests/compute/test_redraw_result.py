"""Results drawn again, draw by draw: the same numbers of the same generator put by hand into the manual's formulas.

``Hand`` takes them in the order in which a result is worked: reading, curve, dilution, blank, volume, mass, moisture,
unit; then what all portions share: recovery, area, standards. That order is what a seed stands for.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from math import sqrt
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from numpy.random import PCG64, Generator
from tests.compute import bracketing, drifting
from tests.compute.making import BRACKETS, Shot, bench_of, pair, pb_method, portion_of, run_of, samples, standards
from tests.compute.test_cross_check import BLANK, NOTHING_STATED, ONE, PIECES, STEPS, TWO, worked
from tests.compute.test_explain_formulas import budget
from tests.compute.test_run_additions import around as around_additions
from tests.compute.test_run_additions import by_additions, series, tubes
from tests.compute.test_run_stored import usual as stored_run

from benchseal.compute.redraw_result import Redraw
from benchseal.compute.redraw_solutions import Batch
from benchseal.compute.run_results import shares_of
from benchseal.records.method import Glassware
from benchseal.records.preparation import DilutionStep

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from benchseal.compute.run_work import Worked
    from benchseal.records.method import Method
    from benchseal.records.specification import Requirement

    Draws = NDArray[np.float64]

N, SEED = 400, 20
TO_UG_PER_G = 25.0 / 0.5 / 1000  # mL, g, µg/L to mg/L
PER_KELVIN = 2.1e-4  # expansion of water


@dataclass
class Hand:
    """One generator, and what is drawn once for all portions."""

    of: Worked
    source: Generator = field(default_factory=lambda: Generator(PCG64(SEED)))
    held: dict[object, Draws] = field(default_factory=dict)

    def normal(self, u: float = 1.0) -> Draws:
        return u * self.source.standard_normal(N)

    def rectangular(self, half: float) -> Draws:
        return (2 * self.source.random(N) - 1) * half

    def triangular(self, half: float) -> Draws:
        return (self.source.random(N) + self.source.random(N) - 1) * half

    def once(self, name: object, make: Callable[[], Draws]) -> Draws:
        if name not in self.held:
            self.held[name] = make()
        return self.held[name]

    def t(self, name: object, df: float) -> Draws:
        """What a standard deviation of ``df`` degrees of freedom is multiplied by."""
        return self.once(("t", name), lambda: np.sqrt(df / self.source.chisquare(df, N)))

    def percent(self, name: str, percent: float) -> Draws:
        return 1 + self.once(name, lambda: self.normal(percent / 100))

    def piece(self, name: str, nominal: float, tolerance: float, fill: float, kelvin: float = 0.0) -> Draws:
        def made() -> Draws:
            own = self.triangular(tolerance / nominal) + self.normal(fill / nominal)
            return own + self.rectangular(kelvin * PER_KELVIN) if kelvin else own

        return 1 + self.once(name, made)

    def noise(self) -> Draws:
        """Of the mean of three readings, as the scatter of the curve has it."""
        curve = self.of.work.calibration
        return self.t("curve", curve.df) * self.normal() * float(curve.residual_sd) / sqrt(3)

    def curve(self) -> Draws:
        """Coefficients, a row each."""
        found = self.of.work.calibration
        factor = np.linalg.cholesky(np.array([[float(one) for one in row] for row in found.covariance]))
        spread = self.t("curve", found.df)
        deviates = np.array([self.once(("b", place), self.normal) for place in range(len(factor))])
        middle = np.array([float(one) for one in found.coefficients])
        moved: Draws = middle[:, None] + spread * (factor @ deviates)
        return moved

    def read(self, signal: float, *, quiet: bool = False) -> Draws:
        """Concentration of a solution read on the line."""
        noise = np.zeros(N) if quiet else self.noise()
        b0, b1 = self.curve()
        found: Draws = (signal + noise - b0) / b1
        return found


def drawn(of: Worked, asked: Requirement) -> Draws:
    model = Redraw(of, asked, shares_of(of.chosen, of.work.results[0].sample, asked))
    assert model.not_covered is None
    return model.values(N, Generator(PCG64(SEED)))


def signals(of: Worked) -> list[float]:
    """Mean signals of the portions that count."""
    return [float(one.mean_signal) for one in of.work.results[0].portions if not one.why]


def agree(of: Worked, asked: Requirement, due: Draws) -> None:
    np.testing.assert_allclose(drawn(of, asked), due, rtol=2e-8)


def from_curve(method: Method, asked: Requirement, blanks: int = 0, **prepared: Any) -> Worked:  # noqa: ANN401
    """Portions A and B, and method blanks, which are diluted as the portions are where the method says so."""
    steps = prepared.get("dilutions", {}) if method.blank_subtraction == "same_dilution" else {}
    extra = prepared.pop("extra", "1")
    holds = dict(zip(("M1", "M2", "M3"), (1.0, 1.6, 0.7), strict=True))
    labels = list(holds)[:blanks]
    portions = [
        *(portion_of(label, **prepared) for label in "AB"),
        *(replace(BLANK, portion=label, dilutions=steps) for label in labels),
    ]
    shots = (
        *(*standards(), *pair(), *(Shot("method_blank", label, holds[label], label) for label in labels)),
        *(replace(one, dilution=extra) for one in samples("AB")),
        *pair(),
    )
    return worked(run_of(shots, method), bench_of(portions, [asked]))


def test_a_content_with_its_glassware_moisture_balance_and_recovery() -> None:
    """The pipette and flask of the step are those of the standards by name, and still pieces of their own there."""
    plan = budget(
        mass_g="0.004", balance_linearity_g="0.006", recovery_percent="4", temperature_half_range_k="8",
        glassware=(*PIECES, Glassware("F-25", "flask", "25", "1", "0.2")),
        standard_steps=(DilutionStep("5", "100"),),
    )  # fmt: skip
    asked = replace(TWO, basis="dry")
    of = from_curve(plan, asked, dilutions=STEPS, moisture_percent="10", u_moisture_percent="1.5")
    hand = Hand(of)
    total = np.zeros(N)
    for signal in signals(of):
        x = hand.read(signal)
        pipette = hand.piece("P-5", 5, 0.2, 0.05, 8)
        flask = hand.piece("F-100", 100, 3, 0.5, 8)
        made_up = hand.piece("F-25", 25, 1, 0.2, 8)
        own = hand.normal(0.004)
        empty, full = (hand.once(end, lambda: hand.rectangular(0.006)) for end in ("empty", "full"))
        mass = (0.5 + own + full - empty) / 0.5
        dry = 1 - hand.once("moisture", hand.normal) * (1.5 / 90)
        total += x * 20 * flask / pipette * made_up / mass / dry
    recovery, lot = hand.percent("recovery", 4), hand.percent("lot", 0.5)
    pipette, flask = hand.piece("P-5 s", 5, 0.2, 0.05, 8), hand.piece("F-100 s", 100, 3, 0.5, 8)
    agree(of, asked, total / 2 * TO_UG_PER_G / 0.9 * lot * pipette / flask / recovery)


@pytest.mark.parametrize("subtraction", ["undiluted", "same_dilution"])
def test_an_amount_per_unit_with_one_blank_and_steps_in_percent(subtraction: Any) -> None:  # noqa: ANN401
    """A dilution at the instrument is one more step. Of a blank diluted alike each step acts on the difference."""
    plan = replace(
        budget(mass_g="0", volume_percent="2", dilution_step_percent="3", recovery_percent="0"),
        blank_subtraction=subtraction,
    )
    asked = replace(TWO, quantity="amount_per_unit", unit="ug")
    fields = {"unit_mass_g": "2.5", "u_unit_mass_g": "0.1"}
    twice = {"Pb": (DilutionStep("5", "50"), DilutionStep("10", "20"))}
    of = from_curve(plan, asked, blanks=1, dilutions=twice, extra="1.25", **fields)
    blank_signal = of.signals.mean[of.chosen.run.document.solutions.kind.index("method_blank")]
    hand = Hand(of)
    total = np.zeros(N)
    for signal in signals(of):
        gross = hand.read(signal) * 10 * 2 * 1.25
        steps = hand.percent("first", 3) * hand.percent("second", 3) * hand.percent("instrument", 3)
        alike = 20 if subtraction == "same_dilution" else 1
        blank = hand.once("blank", lambda: hand.read(blank_signal) * alike)  # noqa: B023  called at once
        net = gross * steps - blank if subtraction == "undiluted" else (gross - blank) * steps
        volume, unit = hand.percent("volume", 2), 1 + hand.once("unit", hand.normal) * (0.1 / 2.5)
        total += net * volume * unit
    agree(of, asked, total / 2 * TO_UG_PER_G * 2.5 * hand.percent("lot", 0.5))


def test_of_several_blanks_the_mean_scatters_and_each_portion_has_its_own_again() -> None:
    """Their own readings are in that scatter, so a blank is read without noise."""
    plan = replace(budget(**NOTHING_STATED), blank_subtraction="undiluted")
    of = from_curve(plan, TWO, blanks=3, dilutions=STEPS)
    kinds = of.chosen.run.document.solutions.kind
    means = [of.signals.mean[place] for place, kind in enumerate(kinds) if kind == "method_blank"]
    b0, b1 = (float(one) for one in of.work.calibration.coefficients)
    s = float(np.std([(mean - b0) / b1 for mean in means], ddof=1))
    hand = Hand(of)
    total = np.zeros(N)
    for signal in signals(of):
        gross = hand.read(signal) * 20
        t = hand.t("blanks", 2)

        def middle(t: Draws = t) -> Draws:
            read = [hand.read(mean, quiet=True) for mean in means]
            whole: Draws = sum(read, np.zeros(N)) / 3 + t * hand.normal(s / sqrt(3))
            return whole

        total += gross - (hand.once("blank", middle) + t * hand.normal(s))
    agree(of, TWO, total / 2 * TO_UG_PER_G * hand.percent("lot", 0.5))


def test_a_release_per_area_is_divided_by_the_area_and_by_no_mass() -> None:
    plan = budget(mass_g="0.1", volume_percent="2", area_percent="3", recovery_percent="0")
    asked = replace(TWO, quantity="release_per_area", unit="ug/dm2")
    of = from_curve(plan, asked, area_dm2="2.5", mass_g="")
    hand = Hand(of)
    total = np.zeros(N)
    for signal in signals(of):
        total += hand.read(signal) * hand.percent("volume", 2)
    agree(of, asked, total / 2 * 25 / 1000 / 2.5 / hand.percent("area", 3) * hand.percent("lot", 0.5))


def test_a_concentration_knows_no_volume_and_no_mass() -> None:
    plan = budget(mass_g="0.1", volume_percent="20", area_percent="30", recovery_percent="0")
    asked = replace(TWO, quantity="concentration", unit="ug/L")
    of = from_curve(plan, asked)
    hand = Hand(of)
    first, second = (hand.read(signal) for signal in signals(of))
    agree(of, asked, (first + second) / 2 * hand.percent("lot", 0.5))


def test_what_is_divided_by_nothing_or_less_has_no_value() -> None:
    """Recovery, area and what is left of a mass: each wide, so that some draws fall below zero."""
    of = from_curve(budget(**{**NOTHING_STATED, "recovery_percent": "60"}), TWO)
    hand = Hand(of)
    for signal in signals(of):
        hand.read(signal)
    recovery = hand.percent("recovery", 60)
    assert 5 < np.count_nonzero(recovery <= 0) < 50
    assert np.array_equal(np.isnan(drawn(of, TWO)), recovery <= 0)
    of = from_curve(budget(**{**NOTHING_STATED, "mass_g": "0.3"}), TWO)
    hand = Hand(of)
    lost = np.zeros(N, dtype=bool)
    for signal in signals(of):
        hand.read(signal)
        lost |= 0.5 + hand.normal(0.3) <= 0
    assert np.array_equal(np.isnan(drawn(of, TWO)), lost)
    asked = replace(TWO, quantity="release_per_area", unit="ug/dm2")
    of = from_curve(
        budget(**{**NOTHING_STATED, "area_percent": "60", "recovery_percent": "60"}), asked, area_dm2="2", mass_g=""
    )
    hand = Hand(of)
    for signal in signals(of):
        hand.read(signal)
    recovery, area = hand.percent("recovery", 60), hand.percent("area", 60)
    assert np.array_equal(np.isnan(drawn(of, asked)), (recovery <= 0) | (area <= 0))
    asked = replace(TWO, basis="dry")
    of = from_curve(budget(**NOTHING_STATED), asked, moisture_percent="70", u_moisture_percent="20")
    hand = Hand(of)
    hand.read(signals(of)[0])
    left = 1 - hand.normal() * (20 / 30)
    assert 5 < np.count_nonzero(left <= 0) < 60
    assert np.array_equal(np.isnan(drawn(of, asked)), left <= 0)


# ------------------------------------------------------------------ other ways from signal to concentration


def test_each_portion_has_its_own_line_of_additions() -> None:
    """c = mean A/a1 - mean added; the two means and the slope of a line are independent."""
    method = replace(by_additions(), uncertainty=budget(**NOTHING_STATED).uncertainty)
    portions = [portion_of(label, additions=tubes(label)) for label in "VW"]
    shots = [*series("V", 4.0, 0.0024), *series("W", 4.4, 0.0024)]
    of = worked(run_of(around_additions(*shots), method), bench_of(portions, [TWO]))
    hand = Hand(of)
    total = np.zeros(N)
    added = np.repeat([0, 2.5, 5, 7.5], 3)
    for place, label in enumerate("VW"):
        y = np.array([float(text) for shot in shots[4 * place : 4 * place + 4] for text in shot.signals or ()])
        slope, intercept = np.polyfit(added, y, 1)
        s, sxx = sqrt(((y - intercept - slope * added) ** 2).sum() / 10), ((added - 3.75) ** 2).sum()
        t = hand.t(label, 10)
        middle = y.mean() + t * hand.normal(s / sqrt(12))
        total += middle / (slope + t * hand.normal(s / sqrt(sxx))) - 3.75
    agree(of, TWO, total / 2 * TO_UG_PER_G * hand.percent("lot", 0.5))


def test_between_two_standards_the_readings_of_each_are_drawn_once() -> None:
    """Of the readings before and after a sample each side weighs half; all share one s."""
    method = replace(bracketing.between(), uncertainty=budget(**NOTHING_STATED).uncertainty)
    shots = bracketing.run_shots(
        *bracketing.group(), bracketing.sample("V", 9.4), bracketing.sample("W", 9.6), *bracketing.group()
    )
    of = worked(run_of(shots, method), bench_of([portion_of(label) for label in "VW"], [TWO]))
    read = of.signals.values
    places = {low: (9 + at, 14 + at) for at, low in enumerate((8, 10, 12))}  # of each level: before, after
    kinds = of.chosen.run.document.solutions.kind
    assert {kinds[at] for both in places.values() for at in both} == {"bracket_standard"}
    squares = [(np.array(read[at]) - np.mean(read[at])) ** 2 for both in places.values() for at in both]
    s = sqrt(float(np.sum(squares)) / 12)
    hand = Hand(of)
    total = np.zeros(N)
    for at in (12, 13):
        t = hand.t("standards", 12)
        ends = []
        for level in (8, 10):
            moved = np.zeros(N)
            for place in places[level]:
                moved += hand.once(place, lambda: hand.normal(s / sqrt(3))) / 2
            ends.append(np.mean([np.mean(read[place]) for place in places[level]]) + t * moved)
        signal = np.mean(read[at]) + t * hand.normal(s / sqrt(3))
        total += 8 + 2 * (signal - ends[0]) / (ends[1] - ends[0])
    agree(of, TWO, total / 2 * TO_UG_PER_G * hand.percent("lot", 0.5))


def test_of_standards_read_twice_on_one_side_each_reading_weighs_a_quarter() -> None:
    """Two groups before the sample and one after it."""
    method = replace(bracketing.between(), uncertainty=budget(**NOTHING_STATED).uncertainty)
    group, levels = bracketing.group, (8.0, 10.0)
    shots = bracketing.run_shots(
        *(*group(1, levels), *group(1, levels), bracketing.sample("V", 9.4), *group(1, levels))
    )
    of = worked(run_of(shots, method), bench_of([portion_of("V")], [ONE]))
    read = of.signals.values
    places = {8: ((9, 11), (14,)), 10: ((10, 12), (15,))}  # of each level: before, after
    every = [at for sides in places.values() for side in sides for at in side]
    s = sqrt(sum(float(((np.array(read[at]) - np.mean(read[at])) ** 2).sum()) for at in every) / 12)
    hand = Hand(of)
    t = hand.t("standards", 12)
    ends = []
    for sides in places.values():
        moved, middle = np.zeros(N), 0.0
        for side in sides:
            for at in side:
                moved += hand.normal(s / sqrt(3)) / (2 * len(side))
                middle += float(np.mean(read[at])) / (2 * len(side))
        ends.append(middle + t * moved)
    signal = np.mean(read[13]) + t * hand.normal(s / sqrt(3))
    x = 8 + 2 * (signal - ends[0]) / (ends[1] - ends[0])
    agree(of, ONE, x * TO_UG_PER_G * hand.percent("lot", 0.5))


def test_corrected_for_drift_each_check_is_drawn_once_whatever_it_corrects() -> None:
    """B0 + (A - B) S0/S, B and S straight between the pair before and the pair after, by position."""
    wide = tuple(replace(one, low="80" if one.low else "", high="120" if one.low else "2") for one in BRACKETS)
    plan = budget(**NOTHING_STATED).uncertainty
    method = drifting.drifting(uncertainty=plan, checks=wide)
    half, last = drifting.State(0.97, -0.0005), drifting.State(0.94, -0.001)
    shots = drifting.shots_of(
        *drifting.pair(),
        drifting.sample("V", 8.0),
        *drifting.pair(half),
        drifting.sample("W", 8.2, half),
        *drifting.pair(last),
    )
    of = worked(run_of(shots, method), bench_of([portion_of(label) for label in "VW"], [TWO]))
    read = [np.array(own) for own in of.signals.values]
    pairs = ((7, 8), (10, 11), (13, 14))  # check standard and check blank
    s = [
        sqrt(sum(float(((read[one[side]] - read[one[side]].mean()) ** 2).sum()) for one in pairs) / 6)
        for side in (0, 1)
    ]
    hand = Hand(of)

    def check(number: int, side: int) -> Draws:
        name = ("standards", "blanks")[side]

        def made() -> Draws:
            t = hand.t(name, 6)
            whole: Draws = read[pairs[number][side]].mean() + t * hand.normal(s[side] / sqrt(3))
            return whole

        return hand.once((name, number), made)

    total = np.zeros(N)
    for at, before, after in ((9, 0, 1), (12, 1, 2)):
        noise = hand.noise()
        b0, b1 = hand.curve()
        share = (at + 1 - (sum(pairs[before]) / 2 + 1)) / (sum(pairs[after]) / 2 - sum(pairs[before]) / 2)
        blanks = [check(number, 1) for number in (before, after)]
        spans = [check(number, 0) - check(number, 1) for number in (before, after)]
        b, span = (one[0] + (one[1] - one[0]) * share for one in (blanks, spans))
        signal = read[at].mean() + noise  # of a reading as it was read: the factor acts on it with the signal
        ac = check(0, 1) + (signal - b) * (check(0, 0) - check(0, 1)) / span
        total += (ac - b0) / b1
    agree(of, TWO, total / 2 * TO_UG_PER_G * hand.percent("lot", 0.5))


def test_on_a_stored_curve_standard_and_blank_of_today_are_drawn_once() -> None:
    """(A - B) g(15)/(S - B) on the curve g, whose deviation at 15 is in the factor as well."""
    run = stored_run()[1]
    run = replace(run, method=replace(run.method, uncertainty=budget(**NOTHING_STATED).uncertainty))
    of = worked(run, bench_of([portion_of(label) for label in "VW"], [TWO]))
    read = [np.array(own) for own in of.signals.values]
    hand = Hand(of)
    curve = of.work.calibration
    u = float(curve.residual_sd) / sqrt(3)
    total = np.zeros(N)
    for signal in (read[4].mean(), read[5].mean()):
        noise = hand.noise()
        b0, b1 = hand.curve()
        t = hand.t("curve", curve.df)
        standard = read[1].mean() + t * hand.once("standard", lambda: hand.normal(u))
        blank = read[0].mean() + t * hand.once("blank of today", lambda: hand.normal(u))
        factor = (b0 + b1 * 15) / (standard - blank)
        total += ((signal + noise - blank) * factor - b0) / b1
    agree(of, TWO, total / 2 * TO_UG_PER_G * hand.percent("lot", 0.5))


@pytest.mark.parametrize("bend", [0.00002, -0.00001])
def test_on_a_quadratic_the_rising_branch_is_taken(bend: float) -> None:
    plan = budget(**NOTHING_STATED)
    method = replace(plan, calibration=replace(plan.calibration, model="quadratic"))
    shots = [
        replace(one, signals=tuple(f"{0.003 * c - bend * c * c + by:.7f}" for by in (-0.0001, 0.00002, 0.00008)))
        for one, c in ((one, one.holds) for one in (*standards(), *pair(), *samples("AB"), *pair()))
    ]
    of = worked(run_of(shots, method), bench_of([portion_of(label) for label in "AB"], [TWO]))
    hand = Hand(of)
    total = np.zeros(N)
    for signal in signals(of):
        y = signal + hand.noise()
        b0, b1, b2 = hand.curve()
        total += (-b1 + np.sqrt(b1 * b1 - 4 * b2 * (b0 - y))) / (2 * b2)
    np.testing.assert_allclose(
        drawn(of, TWO), total / 2 * TO_UG_PER_G * hand.percent("lot", 0.5), rtol=1e-5
    )  # of twelve digits of a covariance


def test_on_a_quadratic_that_falls_before_its_first_standard_the_later_root_is_taken() -> None:
    """b1 is below zero there, so the rising branch is (root - b1)/(2 b2)."""
    curve = {"20": 0.1, "22": 0.127, "25": 0.18, "30": 0.30, "35": 0.46, "40": 0.66}
    levels = tuple(replace(pb_method().standards[1], label=f"S{at}", concentration=at) for at in curve)
    plan = replace(pb_method().calibration, model="quadratic", largest_error_percent="90", at_lowest_percent="90")
    method = replace(budget(**NOTHING_STATED), calibration=plan, standards=levels, checks=())
    shots = [
        Shot("standard", f"S{at}", nominal=at, signals=(f"{signal:.4f}", f"{signal + 0.001:.4f}", f"{signal:.4f}"))
        for at, signal in curve.items()
    ]
    own = Shot("sample", "A", portion="A", signals=("0.2501", "0.2513", "0.2507"))
    of = worked(run_of([*shots, own], method), bench_of([portion_of("A")], [ONE]))
    hand = Hand(of)
    y = signals(of)[0] + hand.noise()
    b0, b1, b2 = hand.curve()
    assert np.all(b1 < 0)
    x = (np.sqrt(b1 * b1 - 4 * b2 * (b0 - y)) - b1) / (2 * b2)
    np.testing.assert_allclose(drawn(of, ONE), x * TO_UG_PER_G * hand.percent("lot", 0.5), rtol=1e-5)


# ------------------------------------------------------------------ what cannot be drawn, and how well scatter is known


def model_of(of: Worked, asked: Requirement = TWO) -> Redraw:
    return Redraw(of, asked, shares_of(of.chosen, of.work.results[0].sample, asked))


def test_a_blank_by_additions_is_not_covered() -> None:
    method = replace(by_additions(), blank_subtraction="undiluted")
    blank = replace(BLANK, additions=tubes("MB"))
    shots = [replace(one, kind="method_blank") for one in series("MB", 0.4, 0.0024)]
    presented = (*shots, Shot("sample", "V", portion="V", signals=("0.0117", "0.0116", "0.0118")))
    of = worked(run_of(around_additions(*presented), method), bench_of([portion_of("V"), blank], [ONE]))
    assert model_of(of, ONE).not_covered == "blank_by_additions"


@pytest.mark.parametrize(("blanks", "due"), [(0, 19), (1, 19), (2, 1), (3, 2)])
def test_the_least_degrees_of_freedom_are_those_of_the_curve_or_of_fewer_blanks(blanks: int, due: int) -> None:
    of = from_curve(replace(budget(), blank_subtraction="undiluted" if blanks else "none"), TWO, blanks=blanks)
    assert of.work.calibration.df == 19
    assert model_of(of).least_df == due


def test_the_least_degrees_of_freedom_of_other_ways() -> None:
    """Additions: twelve points less two, and no curve is drawn with them; brackets: six solutions of three readings."""
    portions = [portion_of("V"), portion_of("W", additions=tubes("W"))]
    line = series("W", 4.0, 0.0024)
    alone = worked(run_of(around_additions(*line), by_additions()), bench_of(portions[1:], [ONE]))
    assert model_of(alone, ONE).least_df == 10
    plan = replace(by_additions().calibration, fit_on="means")
    means = worked(
        run_of(around_additions(*line), replace(by_additions(), calibration=plan)), bench_of(portions[1:], [ONE])
    )
    assert model_of(means, ONE).least_df == 2
    shots = bracketing.run_shots(*bracketing.group(), bracketing.sample("V", 9.4), *bracketing.group())
    between = worked(run_of(shots, bracketing.between()), bench_of([portion_of("V")], [ONE]))
    assert model_of(between, ONE).least_df == 12
    checks = drifting.shots_of(*drifting.pair(), drifting.sample("V", 8.0), *drifting.pair())
    drifted = worked(run_of(checks, drifting.drifting()), bench_of([portion_of("V")], [ONE]))
    assert model_of(drifted, ONE).least_df == 4


def test_scatter_that_nobody_estimated_is_drawn_as_none() -> None:
    batch = Batch(5, Generator(PCG64(1)))
    assert np.array_equal(batch.spread("nothing", 0), np.ones(5))
    assert np.array_equal(batch.normal(0.0), np.zeros(5))
    assert batch.held == {}
    first = batch.spread("some", 3)
    assert np.array_equal(batch.spread("some", 3), first)
    assert not np.array_equal(batch.spread("other", 3), first)
