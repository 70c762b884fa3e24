"""Factors of portions by hand: to content, area, volume, dry mass; what an entry lacks or holds that cannot be."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING, Any

import pytest
from tests.compute.making import portion_of, requirement_of

from benchseal.compute.run_portions import (
    amount_ratio,
    base_factor,
    expression_of,
    factor_of,
    per_portion,
    steps_factor,
)
from benchseal.compute.run_signals import Loss
from benchseal.records.preparation import DilutionStep

if TYPE_CHECKING:
    from benchseal.records.preparation import Portion

OPEN = requirement_of(upper="")
BY_AREA = {"mass_g": "", "area_dm2": "2.5"}
BY_VOLUME = {"mass_g": ""}


def portion(**changes: Any) -> Portion:  # noqa: ANN401  fields of a record by name
    """25 mL of 0.5 g unless changed."""
    return portion_of("A", **changes)


@pytest.mark.parametrize(
    ("fields", "unit", "factor"),
    [
        pytest.param({}, "mg/L", Fraction(50), id="a mass: 25 mL over 0.5 g, mg/L to ug/g"),
        pytest.param({}, "ug/L", Fraction(1, 20), id="from ug/L a thousandth of it"),
        pytest.param(BY_AREA, "mg/L", Fraction(10), id="an area: 25 mL over 2.5 dm2"),
        pytest.param({"area_dm2": "2.5"}, "mg/L", Fraction(50), id="a mass goes before an area"),
        pytest.param(BY_VOLUME, "ug/L", Fraction(1, 1000), id="neither: mg/L of the solution"),
        pytest.param({"mass_g": "", "volume_ml": ""}, "mg/L", Fraction(1), id="then no volume is needed"),
    ],
)
def test_the_own_content_of_a_portion(fields: dict[str, Any], unit: str, factor: Fraction) -> None:
    assert base_factor(unit, portion(**fields)) == factor


@pytest.mark.parametrize(
    ("ours", "theirs", "ratio"),
    [
        pytest.param({"mass_g": "1.5"}, {"mass_g": "0.5"}, Fraction(3), id="masses"),
        pytest.param({**BY_AREA}, {"mass_g": "", "area_dm2": "5"}, Fraction(1, 2), id="areas"),
        pytest.param({"mass_g": "", "volume_ml": "10"}, BY_VOLUME, Fraction(2, 5), id="volumes"),
        pytest.param({"area_dm2": "1"}, {"area_dm2": "9"}, Fraction(1), id="masses go before areas"),
    ],
)
def test_how_much_sample_one_portion_holds_against_another(
    ours: dict[str, Any], theirs: dict[str, Any], ratio: Fraction
) -> None:
    assert amount_ratio(portion(**ours), portion(**theirs)) == ratio


@pytest.mark.parametrize(
    ("ours", "theirs", "words"),
    [
        pytest.param({}, BY_VOLUME, "no mass is entered", id="the other has no mass"),
        pytest.param(BY_VOLUME, {}, "no mass is entered", id="this one has none"),
        pytest.param(BY_AREA, BY_VOLUME, "no area is entered", id="the other has no area"),
        pytest.param({}, {"mass_g": "0"}, "the mass entered is 0", id="a mass of nothing"),
        pytest.param(BY_VOLUME, {"mass_g": "", "volume_ml": "-5"}, "the volume entered is -5", id="a volume below 0"),
    ],
)
def test_amounts_that_cannot_be_compared(ours: dict[str, Any], theirs: dict[str, Any], words: str) -> None:
    with pytest.raises(ValueError, match=words):
        amount_ratio(portion(**ours), portion(**theirs))


def test_micrograms_of_a_portion_need_its_volume() -> None:
    assert per_portion("mg/L", portion()) == 25
    assert per_portion("ug/L", portion()) == Fraction(1, 40)
    with pytest.raises(ValueError, match="no volume is entered"):
        per_portion("mg/L", portion(volume_ml=""))


def test_dilution_steps_multiply_and_are_those_of_the_element() -> None:
    steps = {"Pb": (DilutionStep("5", "100"), DilutionStep("3", "50")), "Cd": (DilutionStep("1", "10"),)}
    one = portion(dilutions=steps)
    assert [steps_factor(one, element) for element in ("Pb", "Cd", "Hg")] == [Fraction(1000, 3), 10, 1]


@pytest.mark.parametrize(
    ("asked", "fields", "factor"),
    [
        pytest.param({"quantity": "concentration", "unit": "ug/L"}, {}, Fraction(1000), id="a concentration"),
        pytest.param({"unit": "ng/g"}, {}, Fraction(50_000), id="a content in ng/g"),
        pytest.param({"quantity": "amount_per_unit", "unit": "ug"}, {"unit_mass_g": "2"}, Fraction(100), id="per unit"),
        pytest.param(
            {"quantity": "percent_of_claim", "unit": "%", "claim_mg": "0.2"}, {"unit_mass_g": "2"}, Fraction(50),
            id="of a claim: 100 ug of 200 ug",
        ),
        pytest.param({"quantity": "release_per_area", "unit": "ug/dm2"}, BY_AREA, Fraction(10), id="per area"),
        pytest.param({"basis": "dry"}, {"moisture_percent": "20"}, Fraction(125, 2), id="dry: over 0.8"),
        pytest.param({"basis": "dry"}, {"moisture_percent": "0"}, Fraction(50), id="dry already"),
    ],
)  # fmt: skip
def test_from_mg_per_l_to_each_quantity(asked: dict[str, Any], fields: dict[str, Any], factor: Fraction) -> None:
    assert factor_of(replace(OPEN, **asked), "mg/L", portion(**fields)) == factor


@pytest.mark.parametrize(
    ("asked", "fields", "code", "why"),
    [
        pytest.param({}, BY_VOLUME, "portion.incomplete", "no mass is entered", id="no mass"),
        pytest.param({}, {"volume_ml": ""}, "portion.incomplete", "no volume is entered", id="no volume"),
        pytest.param(
            {"quantity": "amount_per_unit", "unit": "ug"}, {}, "portion.incomplete", "no mean unit mass is entered",
            id="no unit mass",
        ),
        pytest.param(
            {"quantity": "release_per_area", "unit": "ug/dm2"}, {}, "portion.incomplete", "no area is entered",
            id="no area",
        ),
        pytest.param({"basis": "dry"}, {}, "portion.incomplete", "no moisture is entered", id="no moisture"),
        pytest.param(
            {"basis": "dry"}, {"moisture_percent": "100"}, "portion.incomplete", "the moisture entered is 100 %",
            id="nothing but water",
        ),
        pytest.param(
            {"basis": "dry"}, {"moisture_percent": "-1"}, "portion.incomplete", "the moisture entered is -1 %",
            id="less water than none",
        ),
        pytest.param(
            {"basis": "dry", "quantity": "concentration", "unit": "mg/L"}, {}, "specification.basis",
            "concentration on dry basis has no meaning", id="a solution is not dried",
        ),
        pytest.param(
            {"expressed_as": "CdO"}, {}, "specification.basis", "Pb", id="a substance without the element",
        ),
        pytest.param({"unit": "mg/L"}, {}, "specification.unit", "mg/L", id="a unit of another kind"),
    ],
)  # fmt: skip
def test_what_has_no_factor_says_why(asked: dict[str, Any], fields: dict[str, Any], code: str, why: str) -> None:
    found = factor_of(replace(OPEN, **asked), "mg/L", portion(**fields))
    assert isinstance(found, Loss)
    assert found.code == code
    assert why in found.why


def test_a_percentage_of_a_claim_is_of_the_element() -> None:
    asked = replace(OPEN, quantity="percent_of_claim", unit="%", claim_mg="1")
    assert expression_of(asked) == ""
    with pytest.raises(ValueError, match="a percentage of the claim cannot be given as PbO"):
        expression_of(replace(asked, expressed_as="PbO"))


def test_lead_as_its_oxide() -> None:
    """Pb 207.2 and O 15.999 (IUPAC abridged): 223.199/207.2."""
    factor = float(expression_of(replace(OPEN, expressed_as="PbO")))
    assert factor == pytest.approx(223.199 / 207.2, rel=1e-11)
