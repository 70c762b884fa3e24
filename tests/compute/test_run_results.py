"""From portions to results: quantities, choice of reading, limits, rounding, verdicts, uncertainty."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from math import sqrt
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.compute.making import (
    Shot,
    bench_of,
    pair,
    pb_method,
    pb_signal,
    portion_of,
    requirement_of,
    rule,
    run_of,
    samples,
    standards,
)

from benchseal.compute.content import Portion as ContentPortion
from benchseal.compute.content import content
from benchseal.compute.run_budget import Uncertainty
from benchseal.compute.run_outcome import below_limit
from benchseal.compute.run_outcome import quantified as quantify
from benchseal.compute.run_work import work_run
from benchseal.records.method import UncertaintyPlan
from benchseal.records.preparation import DilutionStep
from benchseal.records.results import BelowLimit, NotReportable, Quantified, RunWork, WorkedResult

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.records.method import Method
    from benchseal.records.preparation import Portion
    from benchseal.records.specification import Requirement

TWO = (portion_of("A"), portion_of("B"))


def results(
    shots: Sequence[Shot],
    portions: Sequence[Portion] = TWO,
    requirements: Sequence[Requirement] | None = None,
    method: Method | None = None,
) -> tuple[WorkedResult, ...]:
    run = run_of((*standards(), *pair(), *shots, *pair()), method)
    work = work_run(run, bench_of(portions, requirements))
    assert isinstance(work, RunWork), work
    return work.results


def result(
    holds: Sequence[float],
    requirement: Requirement | None = None,
    method: Method | None = None,
    **prepared: Any,  # noqa: ANN401  fields of a record
) -> WorkedResult:
    """One sample of as many portions as numbers."""
    labels = "ABCDEF"[: len(holds)]
    shots = [Shot("sample", label, number, label) for label, number in zip(labels, holds, strict=True)]
    portions = [portion_of(label, **prepared) for label in labels]
    return results(shots, portions, [requirement or requirement_of(portions=len(holds))], method)[0]


def quantified(one: WorkedResult) -> Quantified:
    assert isinstance(one.outcome, Quantified), one.outcome
    return one.outcome


def refused(one: WorkedResult) -> NotReportable:
    assert isinstance(one.outcome, NotReportable), one.outcome
    return one.outcome


@pytest.mark.parametrize(
    ("requirement", "prepared", "expected"),
    [
        pytest.param(requirement_of(quantity="concentration", unit="mg/L"), {}, 0.005, id="concentration"),
        pytest.param(requirement_of(quantity="concentration", unit="ng/L"), {}, 5000.0, id="to a smaller unit"),
        pytest.param(requirement_of(), {}, 0.25, id="content"),
        pytest.param(requirement_of(unit="mg/kg"), {"dilutions": {"Pb": (DilutionStep("5", "100"),)}}, 5.0, id="DF 20"),
        pytest.param(
            requirement_of(),
            {"dilutions": {"Pb": (DilutionStep("10", "100"), DilutionStep("4", "100"))}},
            62.5,
            id="two steps, DF 250",
        ),
        pytest.param(requirement_of(), {"dilutions": {"Zn": (DilutionStep("5", "100"),)}}, 0.25, id="steps of another"),
        pytest.param(
            requirement_of(quantity="amount_per_unit", unit="ug"), {"unit_mass_g": "2.494"}, 0.6235, id="per unit"
        ),
        pytest.param(
            requirement_of(quantity="percent_of_claim", unit="%", claim_mg="0.00125"),
            {"unit_mass_g": "2.494"},
            49.88,
            id="percent of claim",
        ),
        pytest.param(
            requirement_of(quantity="release_per_area", unit="mg/dm2"),
            {"area_dm2": "2.50", "mass_g": "", "volume_ml": "350"},
            0.0007,
            id="release per area",
        ),
    ],
)
def test_each_quantity(requirement: Requirement, prepared: dict[str, Any], expected: float) -> None:
    one = result([5.0], replace(requirement, decimals=-1, upper=""), **prepared)
    assert abs(float(quantified(one).value) / expected - 1) < 0.002
    limit = float(one.quantification_limit)
    assert abs(limit / expected - 0.2) < 1e-9, "the limit, 1 ug/L of 5, moves exactly as the value"
    assert abs(float(one.detection_limit) / limit - 0.3) < 1e-9


@pytest.mark.parametrize(
    ("requirement", "prepared", "code", "words"),
    [
        pytest.param(requirement_of(), {"mass_g": ""}, "portion.incomplete", "no mass", id="no mass"),
        pytest.param(requirement_of(), {"mass_g": "0"}, "portion.incomplete", "mass entered is 0", id="mass of zero"),
        pytest.param(
            requirement_of(quantity="release_per_area", unit="mg/dm2"),
            {},
            "portion.incomplete",
            "no area",
            id="no area",
        ),
        pytest.param(
            requirement_of(quantity="amount_per_unit", unit="mg"), {}, "portion.incomplete", "unit mass", id="unit mass"
        ),
        pytest.param(
            requirement_of(quantity="percent_of_claim", unit="%"),
            {"unit_mass_g": "2.5"},
            "portion.incomplete",
            "no claim",
            id="no claim",
        ),
        pytest.param(requirement_of(unit="mg/L"), {}, "specification.unit", "cannot be turned", id="unit of a liquid"),
        pytest.param(
            requirement_of(), {"not_determined": "spilled"}, "portion.not-determined", "spilled", id="spilled"
        ),
    ],
)
def test_a_sample_whose_rows_do_not_suffice_is_not_reportable(
    requirement: Requirement, prepared: dict[str, Any], code: str, words: str
) -> None:
    found = refused(result([5.0], requirement, **prepared))
    assert found.code == code
    assert words in found.why


def test_the_mean_of_portions_is_of_their_values_of_record() -> None:
    one = result([5.0, 5.2])
    values = [Decimal(portion.value) for portion in one.portions]
    assert Decimal(quantified(one).value) == round(sum(values) / 2, 12)


def test_fewer_portions_than_asked_for_is_no_result() -> None:
    """One of two read; the other spilled, not presented, or over range: said with its reason."""
    spilled = (TWO[0], replace(TWO[1], not_determined="spilled"))
    asked = [requirement_of(portions=2)]
    for portions, shots, words in (
        (spilled, samples("A"), "B: not determined: spilled"),
        (TWO, samples("A"), "B: not measured in this run"),
        (TWO, (*samples("A"), *samples("B", 25.0)), "B: above the highest standard (20 µg/L)"),
    ):
        found = results(shots, portions, asked)[0]
        assert refused(found).why.startswith("1 of 2 portions give a value")
        assert words in refused(found).why
        assert [portion.why == "" for portion in found.portions] == [True, False]


def test_a_portion_prepared_for_another_element_is_not_missed() -> None:
    other = portion_of("B", elements=("Cd",))
    assert results(samples("A"), (TWO[0], other))[0].portions[0].portion == "A"
    assert len(results(samples("A"), (TWO[0], other))[0].portions) == 1


def test_portions_of_two_batches_make_no_result() -> None:
    other = portion_of("B", batch="T-2")
    shots = (*samples("A"), replace(samples("B")[0], batch="T-2"))
    assert refused(results(shots, (TWO[0], other))[0]).code == "portions.several-batches"


def again(label: str, holds: float, dilution: str) -> Shot:
    return Shot("sample", label, holds, label, dilution)


@pytest.mark.parametrize(
    ("shots", "used"),
    [
        pytest.param((again("A", 25.0, "1"), again("A", 2.6, "10")), 11, id="over range, then diluted"),
        pytest.param((again("A", 2.6, "10"), again("A", 25.0, "1")), 10, id="whatever the order"),
        pytest.param((again("A", 1.9, "10"), again("A", 18.0, "1")), 11, id="the least diluted in range counts"),
        pytest.param((again("A", 5.0, "1"), again("A", 4.0, "1")), 10, id="alike: the first, not the one that passes"),
        pytest.param((again("A", 10.9, "1"), again("A", 9.4, "1")), 10, id="alike: the first, even where it fails"),
    ],
)
def test_which_reading_of_a_portion_counts(shots: Sequence[Shot], used: int) -> None:
    run = run_of((*standards(), *pair(), *shots, *pair()))
    work = work_run(run, bench_of(TWO[:1]))
    assert isinstance(work, RunWork)
    one = work.results[0]
    assert [portion.position for portion in one.portions if not portion.why] == [used]
    assert len(one.portions) == 2, "the other stays visible"
    assert [row.position for row in work.voided] == [21 - used]


def test_a_value_of_a_diluted_reading_and_its_limit_are_scaled_back() -> None:
    one = results((again("A", 25.0, "1"), again("A", 2.5, "10")), TWO[:1])[0]
    assert abs(float(quantified(one).value) - 1.25) < 0.01
    assert one.quantification_limit == "0.500000000000"


def test_the_whole_dilution_is_that_of_the_steps_times_that_at_the_instrument() -> None:
    portion = replace(TWO[0], dilutions={"Pb": (DilutionStep("5", "100"),)})
    one = results((again("A", 2.5, "2.5"),), (portion,))[0]
    (row,) = one.portions
    assert (row.dilution, row.extra_dilution) == ("50", "2.5")
    assert one.quantification_limit == "2.50000000000"


@pytest.mark.parametrize(
    ("values", "limits", "below"),
    [
        pytest.param(("0.04", "0.03"), ("0.05", "0.05"), True, id="both below"),
        pytest.param(("0.06", "0.07"), ("0.05", "0.05"), False, id="both above"),
        pytest.param(("0.04", "0.07"), ("0.05", "0.05"), False, id="mixed, mean above"),
        pytest.param(("0.02", "0.07"), ("0.05", "0.05"), True, id="mixed, mean below"),
        pytest.param(("0.04", "0.06"), ("0.05", "0.05"), False, id="mean on the limit is a value"),
        pytest.param(("0.1", "0.2"), ("0.1", "0.2"), False, id="0.1 + 0.2 is 0.3"),
    ],
)
def test_which_portions_make_a_result_below_the_limit(
    values: tuple[str, str], limits: tuple[str, str], below: bool
) -> None:
    assert below_limit(values, limits) is below


@pytest.mark.parametrize(
    ("requirement", "prepared", "text"),
    [
        pytest.param(requirement_of(), {}, "<0.050", id="places of the specification"),
        pytest.param(requirement_of(), {"mass_g": "0.4990"}, "<0.051", id="rounded up"),
        pytest.param(requirement_of(decimals=-1), {"mass_g": "0.4990"}, "<0.051", id="two significant digits"),
        pytest.param(requirement_of(decimals=1), {}, "<0.1", id="few places"),
    ],
)
def test_how_a_result_below_the_limit_is_written(requirement: Requirement, prepared: dict[str, Any], text: str) -> None:
    one = result([0.4], requirement, **prepared)
    assert isinstance(one.outcome, BelowLimit)
    assert one.outcome.value_text == text


@pytest.mark.parametrize(
    ("requirement", "verdict", "words"),
    [
        pytest.param(requirement_of(upper="0.050"), "pass", "", id="limit on the quantification limit"),
        pytest.param(requirement_of(upper="0.049"), "none", "above the acceptance limit", id="limit below it"),
        pytest.param(requirement_of(upper="0.500", lower="0.010"), "none", "lower limit", id="a lower limit"),
        pytest.param(requirement_of(upper=""), "none", "", id="no limit"),
        pytest.param(requirement_of(upper="0.054", rule="guarded"), "none", "acceptance limit", id="guard band in it"),
        pytest.param(requirement_of(upper="0.070", rule="guarded"), "pass", "", id="guard band clear of it"),
    ],
)
def test_the_verdict_on_a_result_below_the_limit(requirement: Requirement, verdict: str, words: str) -> None:
    one = result([0.4], requirement)
    assert one.verdict == verdict
    assert words in one.comment_required
    assert bool(one.comment_required) == bool(words)
    assert one.probability == ""


@pytest.mark.parametrize(
    ("requirement", "verdict"),
    [
        pytest.param(requirement_of(upper="0.30"), "pass", id="simple, below"),
        pytest.param(requirement_of(upper="0.24"), "fail", id="simple, above"),
        pytest.param(requirement_of(upper="", lower="0.24"), "pass", id="simple, above a lower limit"),
        pytest.param(requirement_of(upper="0.27", rule="guarded"), "fail", id="guarded, within U"),
        pytest.param(requirement_of(upper="0.27", rule="nonbinary"), "conditional pass", id="four-way, within U"),
        pytest.param(requirement_of(upper="0.24", rule="nonbinary"), "conditional fail", id="four-way, above"),
        pytest.param(requirement_of(upper="0.24", rule="beyond_doubt"), "pass", id="not beyond doubt"),
        pytest.param(requirement_of(upper="0.2", rule="pharma"), "pass", id="rounded to 0.2"),
        pytest.param(
            requirement_of(upper="0.24", lower="0.23", rule="guarded"), "none", id="no room between the bands"
        ),
        pytest.param(requirement_of(upper="", lower=""), "none", id="no limit"),
    ],
)
def test_the_verdict_follows_the_rule_of_the_requirement(requirement: Requirement, verdict: str) -> None:
    """The value is 0.2499 ug/g, U about 0.031."""
    assert result([5.0], requirement).verdict == verdict


def test_borderline_results_ask_for_a_comment() -> None:
    rounded = result([5.0], requirement_of(upper="0.2", rule="pharma"))
    assert "Unrounded 0.24985 lies outside the limit 0.2; rounded to its places it passes." in rounded.comment_required
    near = result([5.0], requirement_of(upper="0.27"))
    assert near.comment_required == "The limit 0.27 lies within the expanded uncertainty of the result."
    assert result([5.0], requirement_of(upper="0.50")).comment_required == ""


def test_probability_is_given_with_six_places() -> None:
    one = result([5.0], requirement_of(upper=result([5.0]).outcome.value))  # type: ignore[union-attr]
    assert one.probability == "0.500000"


def test_a_value_without_any_uncertainty_is_not_reported() -> None:
    found = quantify(requirement_of(), ("0.25",), Uncertainty("0", "", ()), "2")
    assert isinstance(found, NotReportable)
    assert found.code == "uncertainty.zero"


def test_one_portion_agrees_with_the_content_function() -> None:
    """The same model written independently (``content.py``): value, and each contribution it knows."""
    plan = UncertaintyPlan("0.002", "0.3", "0.5", "0", "2", "test")
    method = pb_method(uncertainty=plan)
    one = result([5.0], requirement_of(), method, dilutions={"Pb": (DilutionStep("5", "100"),)})
    portion = one.portions[0]
    numbers = [float(portion.solution_value) / 1000, 0.0, 20.0, 25.0, 0.5, 0.0]
    spreads = [float(portion.u_solution) / 1000, 0.0, 20.0 * 0.005, 25.0 * 0.003, 0.002, 0.0]
    found = content(
        ContentPortion(*(np.array([value]) for value in numbers)),
        "undiluted",
        ContentPortion(*(np.array([value]) for value in spreads)),
    )
    assert abs(float(found.mg_per_kg[0]) / float(quantified(one).value) - 1) < 1e-11
    known = dict(
        zip(("solution", "blank", "dilution", "volume", "mass", "moisture"), found.contributions[:, 0], strict=True)
    )
    ours = {term.name: float(term.u) for term in one.contributions}
    assert abs(sqrt(ours["reading noise"] ** 2 + ours["calibration curve"] ** 2) / known["solution"] - 1) < 1e-9
    for name, theirs in (("dilution", "dilution"), ("volume", "volume"), ("weighing", "mass")):
        assert abs(ours[name] / known[theirs] - 1) < 1e-9


def test_the_curve_is_shared_between_portions_and_reading_noise_is_not() -> None:
    one, four = result([5.0]), result([5.0] * 4)
    single, mean = ({term.name: float(term.u) for term in found.contributions} for found in (one, four))
    assert abs(mean["reading noise"] / single["reading noise"] - 0.5) < 1e-9
    assert abs(mean["weighing"] / single["weighing"] - 0.5) < 1e-9
    for shared in ("calibration curve", "standard lot", "volume", "recovery"):
        assert abs(mean[shared] / single[shared] - 1) < 1e-9


def test_shares_make_a_hundred_percent_and_u_is_their_root() -> None:
    one = result([5.0, 7.0], requirement_of(portions=2), dilutions={"Pb": (DilutionStep("5", "100"),)})
    assert abs(sum(float(term.share_percent) for term in one.contributions) - 100) < 1e-9
    assert abs(sqrt(sum(float(term.u) ** 2 for term in one.contributions)) / float(quantified(one).u) - 1) < 1e-11


def blank_case(stated: str, blank_dilution: str, holds: float = 1.0, count: int = 1) -> WorkedResult:
    steps = {"Pb": (DilutionStep("10", "100"),)}
    portions = [portion_of("A", dilutions=steps)]
    for number in range(count):
        own = steps if blank_dilution == "same" else {}
        portions.append(portion_of(f"MB{number}", "", kind="method_blank", mass_g="", dilutions=own))
    shots = [Shot("method_blank", f"MB{number}", holds + 0.1 * number, f"MB{number}") for number in range(count)]
    method = pb_method(blank_subtraction=stated)
    return results((*shots, *samples("A")), portions, [requirement_of(decimals=-1)], method)[0]


def test_a_blank_is_taken_off_once_where_it_was_prepared_alike() -> None:
    """c DF - b undiluted: 50 - 1 = 49; (c - b) DF alike: (5 - 1) 10 = 40 ug/L, times 0.05."""
    assert abs(float(quantified(blank_case("undiluted", "none")).value) / 2.45 - 1) < 0.005
    assert abs(float(quantified(blank_case("same_dilution", "same")).value) / 2.0 - 1) < 0.005
    assert abs(float(quantified(blank_case("none", "none")).value) / 2.5 - 1) < 0.005
    assert blank_case("none", "none").portions[0].blank_value == ""


def test_a_blank_not_diluted_as_the_method_says_takes_the_result() -> None:
    assert refused(blank_case("undiluted", "same")).code == "blank.dilution"
    assert refused(blank_case("same_dilution", "none")).code == "blank.dilution"


@pytest.mark.parametrize("stated", ["undiluted", "same_dilution"])
def test_a_blank_in_another_volume_takes_the_result(stated: str) -> None:
    """The same amount from the reagents is half the concentration in twice the volume; 25 and 25.0 mL are equal."""

    def case_of(volume: str) -> WorkedResult:
        blank = portion_of("MB", "", kind="method_blank", mass_g="", volume_ml=volume)
        shots = [Shot("method_blank", "MB", 1.0, "MB"), *samples("A")]
        portions = [portion_of("A", volume_ml="25.0"), blank]
        return results(shots, portions, [requirement_of()], pb_method(blank_subtraction=stated))[0]

    found = refused(case_of("50"))
    assert found.code == "blank.dilution"
    assert "made up to 50 mL, this portion to 25.0 mL" in found.why
    assert quantified(case_of("25")).kind == "quantified"


def test_a_missing_blank_takes_the_result() -> None:
    assert refused(blank_case("undiluted", "none", count=0)).code == "blank.missing"
    assert refused(blank_case("undiluted", "none", holds=25.0)).code == "blank.missing"


def test_several_blanks_scatter() -> None:
    """Three blanks 1.0, 1.1, 1.2 have s 0.1 ug/L: u^2 = s^2 (1 + 1/3), in the digest times 0.05."""
    one = blank_case("undiluted", "none", count=3)
    scatter = next(term for term in one.contributions if term.name == "method blanks, scatter")
    assert abs(float(scatter.u) / (0.1 * sqrt(4 / 3) * 0.05) - 1) < 0.01
    assert abs(float(one.portions[0].blank_value) - 1.1) < 0.02


def test_a_shared_blank_lessens_the_part_of_the_curve_never_the_noise() -> None:
    with_blank = {t.name: float(t.u) for t in blank_case("same_dilution", "same").contributions}
    without = {t.name: float(t.u) for t in blank_case("none", "none").contributions}
    assert with_blank["method blank, reading noise"] == pytest.approx(with_blank["reading noise"])
    assert with_blank["calibration curve"] < without["calibration curve"]


@settings(max_examples=40)
@given(st.lists(st.floats(1.5, 19.0), min_size=1, max_size=4), st.sampled_from(["line", "quadratic"]))
def test_the_budget_agrees_with_derivatives_taken_numerically(holds: list[float], model: str) -> None:
    """The curve's part against differences of the mean over shifted coefficients (as QUAM's spreadsheets do)."""
    method = pb_method(
        calibration=replace(pb_method().calibration, model=model),  # type: ignore[arg-type]
        checks=(),
    )
    labels = "ABCD"[: len(holds)]
    work = work_run(
        run_of((*standards(), *(Shot("sample", x, c, x) for x, c in zip(labels, holds, strict=True))), method),
        bench_of([portion_of(x) for x in labels], [requirement_of(portions=len(holds))]),
    )
    assert isinstance(work, RunWork)
    b = np.array([float(text) for text in work.calibration.coefficients])
    v = np.array([[float(text) for text in row] for row in work.calibration.covariance])
    signals = np.array([float(portion.mean_signal) for portion in work.results[0].portions])

    def mean(at: np.ndarray) -> float:
        c = at[2] if len(at) == 3 else 0.0
        roots = 2 * (signals - at[0]) / (at[1] + np.sqrt(at[1] ** 2 - 4 * c * (at[0] - signals)))
        return float(np.mean(roots) * 0.05)

    steps = np.diag(np.sqrt(np.diag(v)) * 1e-3)
    gradient = np.array([(mean(b + step) - mean(b - step)) / (2 * step[i]) for i, step in enumerate(steps)])
    curve = next(float(term.u) for term in work.results[0].contributions if term.name == "calibration curve")
    assert curve == pytest.approx(sqrt(gradient @ v @ gradient), rel=1e-4)


def test_requirements_of_other_methods_and_elements_are_left_alone() -> None:
    asked = [requirement_of(), requirement_of(methods=("pb-flame",)), requirement_of(element="Cd")]
    asked.append(requirement_of(quantity="concentration", unit="mg/L"))
    found = results(samples("A"), TWO[:1], asked)
    assert [one.quantity for one in found] == ["content", "concentration"]
    assert len({one.result_id for one in found}) == 2


def test_a_duplicate_is_a_portion_like_its_sample() -> None:
    portions = (portion_of("A"), portion_of("B", kind="duplicate"))
    shots = (*samples("A"), Shot("duplicate", "B", 6.0, "B"))
    one = results(shots, portions, [requirement_of(portions=2)])[0]
    assert abs(float(quantified(one).value) - 0.275) < 0.002


def test_checks_do_not_choose_readings() -> None:
    """A control sample that fails first and passes when read again has failed."""
    portions = (*TWO, portion_of("LC", "", kind="control_sample", mass_g="", added_ug={"Pb": "0.25"}))
    shots = (Shot("control_sample", "LC", 7.0, "LC"), *samples("A"), Shot("control_sample", "LC", 10.0, "LC"))
    method = pb_method(checks=(rule("control_sample", low="80", high="120"),))
    assert refused(results(shots, portions, None, method)[0]).code == "run.check"


def test_signals_of_the_helpers_follow_their_curve() -> None:
    assert pb_signal(10.0) == pytest.approx(0.0308)
