"""Results on dry basis and as a substance: value, limits and budget move together; what lacks gives no value."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.compute.making import Shot, bench_of, pair, pb_method, portion_of, requirement_of, run_of, samples, standards

from benchseal.compute.content import Portion as ContentPortion
from benchseal.compute.content import content
from benchseal.compute.run_work import work_run
from benchseal.records.method import UncertaintyPlan
from benchseal.records.preparation import DilutionStep
from benchseal.records.results import BelowLimit, NotReportable, Quantified, RunWork, WorkedResult
from benchseal.records.species import expression_factor

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.records.method import Method
    from benchseal.records.preparation import Portion
    from benchseal.records.specification import Requirement

WET: dict[str, Any] = {"moisture_percent": "20.0", "u_moisture_percent": "0.40"}


def results(
    holds: Sequence[float],
    requirements: Sequence[Requirement],
    method: Method | None = None,
    **prepared: Any,  # noqa: ANN401
) -> tuple[WorkedResult, ...]:
    """One sample of as many portions as numbers, for each requirement."""
    labels = "ABCDEF"[: len(holds)]
    shots = [Shot("sample", label, number, label) for label, number in zip(labels, holds, strict=True)]
    run = run_of((*standards(), *pair(), *shots, *pair()), method)
    work = work_run(run, bench_of([portion_of(label, **prepared) for label in labels], requirements))
    assert isinstance(work, RunWork), work
    return work.results


def asked(**changes: object) -> Requirement:
    return requirement_of(decimals=-1, upper="", **changes)


def value_of(one: WorkedResult) -> Quantified:
    assert isinstance(one.outcome, Quantified), one.outcome
    return one.outcome


def u_of(one: WorkedResult, name: str) -> float:
    return next((float(term.u) for term in one.contributions if term.name == name), 0.0)


def rel(one: object, other: object) -> float:
    return abs(float(str(one)) / float(str(other)) - 1)


# Dry basis


def test_a_dry_content_is_the_content_over_what_is_not_water() -> None:
    """By hand: 20 percent water, so everything in the sample's unit is 1/0.8 = 1.25 times as large."""
    wet, dry = results([5.0], [asked(), asked(basis="dry")], **WET)
    assert rel(value_of(dry).value, float(value_of(wet).value) * 1.25) < 1e-11
    assert rel(dry.quantification_limit, float(wet.quantification_limit) * 1.25) < 1e-11
    assert rel(dry.detection_limit, float(wet.detection_limit) * 1.25) < 1e-11
    assert (wet.basis, dry.basis) == ("as received", "dry")
    assert wet.result_id != dry.result_id
    assert ([row.moisture_percent for row in wet.portions], [row.moisture_percent for row in dry.portions]) == (
        [""],
        ["20.0"],
    )
    assert dry.portions[0].solution_value == wet.portions[0].solution_value


def test_the_moisture_is_a_line_of_the_budget_with_its_derivative() -> None:
    """dw/dM = w/(1 - M): with w 0.31, u(M) 0.40 percent of mass and 80 percent dry, u = 0.31 x 0.40/80."""
    wet, dry = results([5.0], [asked(), asked(basis="dry")], **WET)
    assert u_of(wet, "moisture") == 0
    assert u_of(dry, "moisture") == pytest.approx(float(value_of(dry).value) * 0.40 / 80.0, rel=1e-11)
    for name in ("reading noise", "calibration curve", "standard lot", "volume", "weighing", "recovery"):
        assert u_of(dry, name) == pytest.approx(1.25 * u_of(wet, name), rel=1e-10)
    assert sum(Decimal(term.share_percent) for term in dry.contributions) == pytest.approx(
        Decimal(100), abs=Decimal("1e-9")
    )


def test_a_dry_content_agrees_with_the_content_function() -> None:
    """The same model written independently (``content.py``): value, and each contribution it knows."""
    plan = UncertaintyPlan("0.002", "0.3", "0.5", "0", "2", "test")
    steps = {"Pb": (DilutionStep("5", "100"),)}
    (one,) = results([5.0], [asked(basis="dry")], pb_method(uncertainty=plan), dilutions=steps, **WET)
    portion = one.portions[0]
    numbers = [float(portion.solution_value) / 1000, 0.0, 20.0, 25.0, 0.5, 0.2]
    spreads = [float(portion.u_solution) / 1000, 0.0, 20.0 * 0.005, 25.0 * 0.003, 0.002, 0.004]
    found = content(
        ContentPortion(*(np.array([value]) for value in numbers)),
        "undiluted",
        ContentPortion(*(np.array([value]) for value in spreads)),
    )
    assert rel(found.mg_per_kg[0], value_of(one).value) < 1e-11
    named = ("solution", "blank", "dilution", "volume", "mass", "moisture")
    known = dict(zip(named, found.contributions[:, 0], strict=True))
    for name, theirs in (
        ("dilution", "dilution"),
        ("volume", "volume"),
        ("weighing", "mass"),
        ("moisture", "moisture"),
    ):
        assert rel(u_of(one, name), known[theirs]) < 1e-9


def test_a_moisture_found_once_is_common_to_the_portions() -> None:
    one, four = (
        results([5.0], [asked(basis="dry")], **WET)[0],
        results([5.0] * 4, [asked(basis="dry", portions=4)], **WET)[0],
    )
    assert u_of(four, "moisture") == pytest.approx(u_of(one, "moisture"), rel=1e-9)
    assert u_of(four, "weighing") == pytest.approx(u_of(one, "weighing") / 2, rel=1e-9)


def test_no_water_changes_nothing_but_the_name() -> None:
    wet, dry = results([5.0], [asked(), asked(basis="dry")], moisture_percent="0", u_moisture_percent="0")
    assert wet.outcome == dry.outcome
    assert wet.contributions == dry.contributions
    assert (dry.portions[0].moisture_percent, wet.result_id == dry.result_id) == ("0", False)


@pytest.mark.parametrize(
    ("prepared", "words"),
    [
        pytest.param({}, "no moisture is entered", id="none entered"),
        pytest.param({"moisture_percent": "100"}, "the moisture entered is 100 %", id="nothing left"),
        pytest.param({"moisture_percent": "100.1"}, "the moisture entered is 100.1 %", id="more than all"),
        pytest.param({**WET, "mass_g": ""}, "no mass is entered", id="no mass"),
    ],
)
def test_without_a_usable_moisture_there_is_no_value(prepared: dict[str, Any], words: str) -> None:
    wet, dry = results([5.0], [asked(), asked(basis="dry")], **prepared)
    assert isinstance(dry.outcome, NotReportable)
    assert (dry.outcome.code, dry.quantification_limit) == ("portion.incomplete", "")
    assert words in dry.outcome.why
    assert words in dry.portions[0].why
    assert isinstance(wet.outcome, Quantified) == ("mass_g" not in prepared), "the other basis is not touched"


def test_one_portion_without_moisture_takes_the_result_not_a_mean_of_the_others() -> None:
    portions = [portion_of("A", **WET), portion_of("B")]
    run = run_of((*standards(), *pair(), *samples("AB"), *pair()))
    work = work_run(run, bench_of(portions, [asked(basis="dry", portions=2)]))
    assert isinstance(work, RunWork)
    outcome = work.results[0].outcome
    assert isinstance(outcome, NotReportable)
    assert outcome.why == "1 of 2 portions give a value (B: no moisture is entered)"


def test_a_result_below_the_limit_is_judged_by_the_dry_limit() -> None:
    """The limit 0.050 ug/g of the portion is 0.0625 of what is dry: written rounded up, judged as it is."""
    limits = [
        asked(basis="dry"),
        replace(asked(basis="dry"), upper="0.062"),
        replace(asked(basis="dry"), upper="0.063"),
    ]
    dry = [results([0.4], [one], **WET)[0] for one in limits]
    assert isinstance(dry[0].outcome, BelowLimit)
    assert dry[0].outcome.value_text == "<0.063"
    assert Fraction(dry[0].outcome.limit) == Fraction("0.0625")
    assert [one.verdict for one in dry] == ["none", "none", "pass"]


@pytest.mark.parametrize("quantity", ["concentration", "amount_per_unit", "percent_of_claim", "release_per_area"])
def test_a_dry_basis_of_something_else_gives_no_value(quantity: str) -> None:
    unit = {"concentration": "mg/L", "amount_per_unit": "mg", "percent_of_claim": "%", "release_per_area": "mg/dm2"}
    whole: dict[str, Any] = {"unit_mass_g": "2.5", "u_unit_mass_g": "0.01"} | (
        {"mass_g": "", "area_dm2": "2"} if quantity == "release_per_area" else {}
    )
    dry = asked(quantity=quantity, unit=unit[quantity], basis="dry", claim_mg="1")
    outcome = results([5.0], [dry], **WET, **whole)[0].outcome
    assert isinstance(outcome, NotReportable)
    assert outcome.code == "specification.basis"


@settings(max_examples=60, deadline=None)
@given(st.decimals("0", "99", places=2), st.decimals("0", "2", places=2), st.floats(1.5, 19.0))
def test_moisture_scales_value_limit_and_budget_alike(moisture: Decimal, u_moisture: Decimal, holds: float) -> None:
    prepared: dict[str, Any] = {"moisture_percent": f"{moisture}", "u_moisture_percent": f"{u_moisture}"}
    wet, dry = results([holds], [asked(), asked(basis="dry")], **prepared)
    scale = 100.0 / (100.0 - float(moisture))
    assert rel(value_of(dry).value, float(value_of(wet).value) * scale) < 1e-10
    assert rel(dry.quantification_limit, float(wet.quantification_limit) * scale) < 1e-10
    own = float(value_of(dry).value) * float(u_moisture) / (100.0 - float(moisture))
    u = (float(value_of(wet).u) * scale) ** 2 + own**2
    assert float(value_of(dry).u) == pytest.approx(u**0.5, rel=1e-9)


@settings(max_examples=30, deadline=None)
@given(st.decimals("0", "98", places=1), st.decimals("0.1", "1.9", places=1))
def test_more_water_means_more_in_what_is_dry(moisture: Decimal, more: Decimal) -> None:
    prepared: list[dict[str, Any]] = [
        {"moisture_percent": f"{text}", "u_moisture_percent": "0.1"} for text in (moisture, moisture + more)
    ]
    less, greater = (value_of(results([5.0], [asked(basis="dry")], **one)[0]) for one in prepared)
    assert Decimal(less.value) < Decimal(greater.value)
    assert Decimal(less.u) < Decimal(greater.u)


# As a substance


@pytest.mark.parametrize(
    ("requirement", "prepared"),
    [
        pytest.param({"quantity": "concentration", "unit": "mg/L"}, {}, id="concentration"),
        pytest.param({}, {}, id="content"),
        pytest.param({"basis": "dry"}, WET, id="dry content"),
        pytest.param(
            {"quantity": "amount_per_unit", "unit": "mg"}, {"unit_mass_g": "2.5", "u_unit_mass_g": "0.01"}, id="unit"
        ),
        pytest.param({"quantity": "release_per_area", "unit": "mg/dm2"}, {"mass_g": "", "area_dm2": "2"}, id="release"),
    ],
)
def test_a_substance_is_a_factor_on_everything(requirement: dict[str, Any], prepared: dict[str, Any]) -> None:
    """Pb(NO3)2 weighs (207.2 + 2 x 14.007 + 6 x 15.999)/207.2 = 1.5985 times its lead."""
    element, substance = results(
        [5.0], [asked(**requirement), asked(**requirement, expressed_as="Pb(NO3)2")], **prepared
    )
    factor = float(expression_factor("Pb(NO3)2", "Pb"))
    assert f"{factor:.4f}" == "1.5985"
    assert rel(value_of(substance).value, float(value_of(element).value) * factor) < 1e-11
    assert rel(value_of(substance).u, float(value_of(element).u) * factor) < 1e-10
    assert rel(substance.quantification_limit, float(element.quantification_limit) * factor) < 1e-11
    assert rel(substance.detection_limit, float(element.detection_limit) * factor) < 1e-11
    assert (element.expressed_as, element.expression_factor) == ("", "")
    assert (substance.expressed_as, substance.expression_factor) == ("Pb(NO3)2", "1.59849420849")
    assert element.result_id != substance.result_id
    assert [term.share_percent[:10] for term in element.contributions] == [
        term.share_percent[:10] for term in substance.contributions
    ]


def test_a_reader_with_a_calculator_gets_the_value_from_the_factor_of_record() -> None:
    (one,) = results([5.0], [asked(expressed_as="PbO")])
    row = one.portions[0]
    # ug/L x mL/g is ng/g
    by_hand = Fraction(row.solution_value) * 25 / Fraction("0.5") / 1000 * Fraction(one.expression_factor)
    assert abs(by_hand / Fraction(row.value) - 1) < Fraction(1, 10**11)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        pytest.param({"expressed_as": "CaCO3"}, "CaCO3 holds no Pb", id="of another element"),
        pytest.param({"expressed_as": "Pb(NO3"}, "does not close", id="unreadable"),
        pytest.param(
            {"expressed_as": "PbO", "quantity": "percent_of_claim", "unit": "%", "claim_mg": "1"},
            "percentage of the claim cannot be given as PbO",
            id="of a claim",
        ),
    ],
)
def test_a_substance_that_cannot_be_given_gives_no_value(changes: dict[str, Any], words: str) -> None:
    """Specifications like these are refused before; a calculation that meets one still says so."""
    (one,) = results([5.0], [asked(**changes)], unit_mass_g="2.5", u_unit_mass_g="0.01")
    assert isinstance(one.outcome, NotReportable)
    assert one.outcome.code == "specification.basis"
    assert words in one.outcome.why
    assert one.expression_factor == ""


def test_each_basis_and_substance_is_a_result_of_its_own() -> None:
    lines = [
        asked(basis=basis, expressed_as=substance)
        for basis in ("as received", "dry")
        for substance in ("", "PbO", "PbO2")
    ]
    found = results([5.0], lines, **WET)
    assert len({one.result_id for one in found}) == len(lines)
    assert [(one.basis, one.expressed_as) for one in found] == [(line.basis, line.expressed_as) for line in lines]


@pytest.mark.parametrize(
    ("unit", "scale"),
    [
        ("ug/g", 1),
        ("mg/kg", 1),
        ("ug/kg", 1000),
        ("ng/g", 1000),
        ("mg/g", Fraction(1, 1000)),
        ("%", Fraction(1, 10000)),
    ],
)
@pytest.mark.parametrize("basis", ["as received", "dry"])
def test_the_unit_changes_numbers_and_nothing_else(unit: str, scale: Fraction, basis: str) -> None:
    first, other = results(
        [5.0, 5.3], [asked(basis=basis, portions=2), asked(basis=basis, unit=unit, portions=2)], **WET
    )
    assert rel(value_of(other).value, float(value_of(first).value) * float(scale)) < 1e-11
    assert rel(value_of(other).u, float(value_of(first).u) * float(scale)) < 1e-10
    assert value_of(other).df == value_of(first).df


@settings(max_examples=25, deadline=None)
@given(st.floats(1.5, 19.0), st.floats(1.01, 1.2), st.sampled_from(["", "PbO", "Pb(NO3)2"]))
def test_more_in_the_solution_is_more_in_the_result(holds: float, more: float, substance: str) -> None:
    if holds * more > 19.5:
        return
    lines = [asked(basis="dry", expressed_as=substance)]
    low, high = (value_of(results([one], lines, **WET)[0]) for one in (holds, holds * more))
    assert Decimal(low.value) < Decimal(high.value)


def _batch(order: Sequence[int]) -> dict[str, WorkedResult]:
    portions: list[Portion] = [
        portion_of("ABC"[place], f"S-0000{place + 1}", moisture_percent=f"{5 + place}", u_moisture_percent="0.2")
        for place in order
    ]
    shots = [Shot("sample", "ABC"[place], 4.0 + place, "ABC"[place]) for place in order]
    run = run_of((*standards(), *pair(), *shots, *pair()))
    work = work_run(run, bench_of(portions, [asked(basis="dry", expressed_as="PbO"), asked()]))
    assert isinstance(work, RunWork)
    return {one.result_id: one for one in work.results}


def test_alone_or_with_others_in_any_order_the_bits_are_the_same() -> None:
    whole, turned = _batch([0, 1, 2]), _batch([2, 0, 1])
    assert set(whole) == set(turned)
    for place in range(3):
        for name, one in _batch([place]).items():
            for other in (whole[name], turned[name]):
                assert (one.outcome, one.contributions) == (other.outcome, other.contributions)
