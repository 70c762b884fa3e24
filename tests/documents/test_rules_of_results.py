"""Rules about bases, substances, daily exposures, glassware and moisture: each broken once, and the good side taken."""

from __future__ import annotations

import json
from decimal import ROUND_FLOOR, Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchseal.documents.reading import ControlledDocument, read_document
from benchseal.documents.sheets import read_preparation
from benchseal.problems import Problem
from benchseal.records.method import Method
from benchseal.records.preparation import Portion
from benchseal.records.shape import plain_of
from benchseal.records.specification import Requirement, Specification

SAMPLES = Path(__file__).parents[2] / "fixtures" / "schemas"


def sample(kind: str) -> dict[str, Any]:
    """The good sample of a kind as a value to change."""
    found = read_document((SAMPLES / kind / "good.yaml").read_bytes(), "good.yaml")
    assert isinstance(found, ControlledDocument), found
    value = plain_of(found.value)
    assert isinstance(value, dict)
    return value


def problems_of(value: dict[str, Any]) -> tuple[Problem, ...]:
    """What the reader says of a document written as JSON, which is YAML too."""
    found = read_document(json.dumps(value).encode(), "it.yaml")
    return () if isinstance(found, ControlledDocument) else found


# Specifications


def line(**changes: object) -> dict[str, Any]:
    """A line that asks for calcium as content, with no limit."""
    usual: dict[str, Any] = {
        "element": "Ca",
        "quantity": "content",
        "unit": "ug/g",
        "methods": ["ca-flame"],
        "portions": 1,
        "lower": "",
        "upper": "",
        "rule": "simple",
        "rounding": "half_up",
        "decimals": -1,
        "exceedance_means": "report",
        "limit_source": "none",
    }
    return usual | changes


def specified(*lines: dict[str, Any]) -> tuple[Problem, ...]:
    return problems_of(sample("specification") | {"unit_name": "tablet", "requirements": list(lines)})


SINGLES = {"portions": 3, "lower": "1.0", "upper": "2.0", "portion_lower": "0.5", "portion_upper": "3.0"}
EXPOSURE = {"element": "Pb", "upper": "0.20", "pde_ug_per_day": "5", "daily_dose_g": "24", "route": "oral"}


@pytest.mark.parametrize(
    "lines",
    [
        pytest.param([line(), line(basis="dry")], id="one element on two bases"),
        pytest.param([line(), line(expressed_as="CaCO3"), line(expressed_as="CaO")], id="as itself and two substances"),
        pytest.param([line(basis="dry", expressed_as="CaCO3", unit="%")], id="a mass fraction in percent"),
        pytest.param([line(quantity="concentration", unit="mg/L", expressed_as="CaCO3")], id="hardness of water"),
        pytest.param([line(quantity="amount_per_unit", unit="mg", expressed_as="CaCO3")], id="in one unit"),
        pytest.param([line(quantity="release_per_area", unit="mg/dm2", expressed_as="CaO")], id="released"),
        pytest.param([line(**EXPOSURE)], id="exposure over dose, two places"),
        pytest.param([line(**EXPOSURE | {"upper": "0.208"})], id="three places"),
        pytest.param([line(**EXPOSURE | {"upper": "208", "unit": "ug/kg"})], id="another unit"),
        pytest.param([line(**EXPOSURE | {"upper": "0.50", "daily_dose_g": "10"})], id="nothing to round"),
        pytest.param([line(**EXPOSURE | {"upper": "2", "daily_dose_g": "2"})], id="2.5 down to no places"),
        pytest.param([line(**SINGLES)], id="limits of single portions"),
        pytest.param([line(**SINGLES | {"portion_upper": "2.0", "portion_lower": "1.0"})], id="those of the mean"),
        pytest.param([line(**SINGLES | {"rule": "pharma", "portion_lower": ""})], id="one side alone"),
    ],
)
def test_good_lines(lines: list[dict[str, Any]]) -> None:
    assert specified(*lines) == ()


@pytest.mark.parametrize(
    ("changes", "code", "words"),
    [
        pytest.param({"basis": "wet"}, "value-unknown", "'dry'", id="no such basis"),
        pytest.param(
            {"basis": "dry", "quantity": "concentration", "unit": "mg/L"},
            "specification-basis",
            "concentration on dry basis has no meaning",
            id="a dry solution",
        ),
        pytest.param(
            {"basis": "dry", "quantity": "amount_per_unit", "unit": "mg"},
            "specification-basis",
            "amount_per_unit",
            id="a dry tablet",
        ),
        pytest.param({"unit": "mg/L"}, "specification-unit", "mg/L does not fit content", id="unit of a solution"),
        pytest.param(
            {"quantity": "percent_of_claim", "unit": "mg/kg", "claim_mg": "5"},
            "specification-unit",
            "mg/kg does not fit percent_of_claim",
            id="a mass fraction of a claim",
        ),
        pytest.param(
            {"quantity": "percent_of_claim", "unit": "%", "claim_mg": "5", "expressed_as": "CaCO3"},
            "specification-substance",
            "cannot be given as CaCO3",
            id="a claim as a substance",
        ),
        pytest.param({"expressed_as": "MgO"}, "specification-substance", "MgO holds no Ca", id="another element's"),
        pytest.param({"expressed_as": "CaXx2"}, "specification-substance", "tabled for Xx", id="no such element"),
        pytest.param({"expressed_as": "Ca(OH2"}, "specification-substance", "does not close", id="bracket left open"),
        pytest.param({"expressed_as": "Ca"}, "specification-substance", "the element itself", id="the element"),
        pytest.param({"expressed_as": "CaCO3.H2O"}, "value-unfit", "expressed_as", id="a sign no formula has"),
        pytest.param({**EXPOSURE, "route": ""}, "specification-exposure", "lacking: route", id="no route"),
        pytest.param({**EXPOSURE, "daily_dose_g": ""}, "specification-exposure", "lacking: daily_dose_g", id="no dose"),
        pytest.param(
            {**EXPOSURE, "pde_ug_per_day": ""}, "specification-exposure", "lacking: pde_ug_per_day", id="no exposure"
        ),
        pytest.param({**EXPOSURE, "route": "nasal"}, "value-unknown", "oral", id="no such route"),
        pytest.param({**EXPOSURE, "daily_dose_g": "0.0"}, "specification-exposure", "daily_dose_g is 0.0", id="dose 0"),
        pytest.param(
            {**EXPOSURE, "pde_ug_per_day": "0"}, "specification-exposure", "pde_ug_per_day is 0", id="exposure 0"
        ),
        pytest.param({**EXPOSURE, "upper": ""}, "specification-exposure", "no upper limit", id="no limit"),
        pytest.param(
            {**EXPOSURE, "upper": "0.21"},
            "specification-exposure",
            "upper 0.21 is above the exposure over the dose: 5 ug/day over 24 g/day, 0.20833 ug/g",
            id="rounded to the nearest, above",
        ),
        pytest.param(
            {**EXPOSURE, "upper": "0.19"},
            "specification-exposure",
            "upper 0.19 is not 5 ug/day over 24 g/day, 0.20833 ug/g, rounded down to its places: 0.20",
            id="below what it says it is",
        ),
        pytest.param(
            {**EXPOSURE, "upper": "1"}, "specification-exposure", "is 0 when it is rounded down to the 0 places", id="0"
        ),
        pytest.param(
            {**EXPOSURE, "quantity": "amount_per_unit", "unit": "ug", "upper": "5"},
            "specification-exposure",
            "the content of the element, as received",
            id="in one unit",
        ),
        pytest.param(
            {**EXPOSURE, "basis": "dry"}, "specification-exposure", "as received", id="dry, where doses are as taken"
        ),
        pytest.param(
            {**EXPOSURE, "expressed_as": "PbO"}, "specification-exposure", "content of the element", id="as a substance"
        ),
        pytest.param(
            {**EXPOSURE, "unit": "mg/L"}, "specification-unit", "does not fit content", id="a unit of another kind"
        ),
        pytest.param({**SINGLES, "portions": 1}, "specification-portion-limit", "1 portion makes", id="one portion"),
        pytest.param({**SINGLES, "rule": "guarded"}, "specification-portion-limit", "guarded needs", id="a guard band"),
        pytest.param(
            {**SINGLES, "upper": ""}, "specification-portion-limit", "but upper is not", id="no limit of the mean"
        ),
        pytest.param(
            {**SINGLES, "portion_upper": "1.9"}, "specification-portion-limit", "narrower", id="narrower above"
        ),
        pytest.param(
            {**SINGLES, "portion_lower": "1.1"}, "specification-portion-limit", "narrower", id="narrower below"
        ),
        pytest.param({**SINGLES, "portion_lower": "-1"}, "specification-portion-limit", "below zero", id="below zero"),
        pytest.param(
            {**SINGLES, "portion_upper": "3.00", "decimals": 1}, "specification-decimals", "fewer", id="too few places"
        ),
    ],
)
def test_a_broken_line(changes: dict[str, Any], code: str, words: str) -> None:
    found = specified(line(**changes))
    assert [problem.code for problem in found] == [f"documents.{code}"]
    assert words in f"{found[0].what} {found[0].remedy}"


def test_the_same_line_twice_is_named_with_its_basis() -> None:
    (problem,) = specified(line(basis="dry", expressed_as="CaO"), line(), line(basis="dry", expressed_as="CaO"))
    assert problem.code == "documents.specification-requirement-twice"
    assert problem.what == "Ca as content, dry, CaO stands twice; first as no. 1."


@given(
    st.decimals("0.1", "20000", places=1),
    st.decimals("0.001", "1000", places=3),
    st.integers(0, 6),
    st.sampled_from(["ug/g", "mg/kg", "ug/kg", "ng/g", "mg/g"]),
    st.integers(-2, 2),
)
def test_only_the_exposure_over_the_dose_rounded_down_is_taken(
    exposure: Decimal, dose: Decimal, places: int, unit: str, steps: int
) -> None:
    scale = Decimal({"ug/g": "1", "mg/kg": "1", "ug/kg": "1000", "ng/g": "1000", "mg/g": "0.001"}[unit])
    step = Decimal(1).scaleb(-places)
    due = (exposure * scale / dose).quantize(step, rounding=ROUND_FLOOR)
    upper = due + steps * step
    if upper < 0:
        return
    found = specified(
        line(
            element="Pb", unit=unit, upper=f"{upper:f}", pde_ug_per_day=f"{exposure:f}", daily_dose_g=f"{dose:f}",
            route="oral",
        )
    )  # fmt: skip
    assert (not found) == (steps == 0 and due > 0)
    assert {problem.code for problem in found} <= {"documents.specification-exposure"}


def test_lines_keep_what_they_say() -> None:
    found = read_document(
        json.dumps(sample("specification") | {"requirements": [line(**EXPOSURE)]}).encode(), "it.yaml"
    )
    assert isinstance(found, ControlledDocument)
    assert isinstance(found.value, Specification)
    (kept,) = found.value.requirements
    assert isinstance(kept, Requirement)
    assert (kept.pde_ug_per_day, kept.daily_dose_g, kept.route, kept.basis) == ("5", "24", "oral", "as received")


# Uncertainties of methods

PIPETTE = {"name": "P-10", "kind": "pipette", "nominal_ml": "10", "tolerance_ml": "0.02", "s_fill_ml": "0.01"}
FLASK = {"name": "F-100", "kind": "flask", "nominal_ml": "100", "tolerance_ml": "0.1", "s_fill_ml": "0.02"}
WARE = {"glassware": [PIPETTE, FLASK], "temperature_half_range_k": "4"}


def stated(**changes: object) -> tuple[Problem, ...]:
    method = sample("method")
    return problems_of(method | {"uncertainty": method["uncertainty"] | changes})


@pytest.mark.parametrize(
    "changes",
    [
        pytest.param({}, id="percentages"),
        pytest.param(WARE, id="glassware"),
        pytest.param({**WARE, "temperature_half_range_k": "0"}, id="no change of temperature"),
        pytest.param(
            {**WARE, "glassware": [FLASK, {**PIPETTE, "nominal_ml": "100"}]}, id="a pipette and a flask of one volume"
        ),
        pytest.param({"balance_linearity_g": "0.0002"}, id="a balance"),
        pytest.param({"standard_steps": [{"aliquot_ml": "10", "final_ml": "100"}]}, id="steps of standards"),
        pytest.param({"s0": "0.1", "s1_percent": "3"}, id="validated"),
        pytest.param({"s0": "0", "s1_percent": "3"}, id="validated, proportional only"),
    ],
)
def test_good_uncertainties(changes: dict[str, Any]) -> None:
    assert stated(**changes) == ()


@pytest.mark.parametrize(
    ("changes", "code", "words"),
    [
        pytest.param(
            {**WARE, "glassware": [FLASK, {**PIPETTE, "name": "F-100"}]},
            "name-twice",
            "'F-100' is given twice",
            id="name",
        ),
        pytest.param(
            {**WARE, "glassware": [FLASK, {**FLASK, "name": "F-2", "nominal_ml": "100.0"}]},
            "glassware",
            "two pieces for a flask of 100.0 mL",
            id="two flasks of one volume",
        ),
        pytest.param({**WARE, "glassware": [{**FLASK, "nominal_ml": "0"}]}, "glassware", "nominal_ml", id="no volume"),
        pytest.param(
            {**WARE, "glassware": [{**FLASK, "tolerance_ml": "0.0"}]}, "glassware", "tolerance_ml", id="no tolerance"
        ),
        pytest.param(
            {**WARE, "glassware": [{**FLASK, "tolerance_ml": "100"}]}, "glassware", "its volume 100 mL", id="all of it"
        ),
        pytest.param({"glassware": [FLASK]}, "temperature", "by how much the temperature", id="no temperature"),
        pytest.param({"temperature_half_range_k": "4"}, "temperature", "no glassware is listed", id="no glassware"),
        pytest.param(
            {"standard_steps": [{"aliquot_ml": "100", "final_ml": "10"}]},
            "standard-step",
            "no dilution",
            id="turned round",
        ),
        pytest.param(
            {"standard_steps": [{"aliquot_ml": "0", "final_ml": "10"}]},
            "standard-step",
            "0/10 is no",
            id="nothing taken",
        ),
        pytest.param({"s0": "0.1"}, "validated", "s0 is 0.1, and s1_percent is not given", id="s0 alone"),
        pytest.param({"s1_percent": "3"}, "validated", "s1_percent is 3, and s0 is not given", id="s1 alone"),
        pytest.param({"s0": "0", "s1_percent": "0.0"}, "validated", "both 0", id="nothing at all"),
    ],
)
def test_a_broken_uncertainty(changes: dict[str, Any], code: str, words: str) -> None:
    found = stated(**changes)
    assert [problem.code for problem in found] == [f"documents.method-{code}"]
    assert words in found[0].what
    assert found[0].remedy


def test_uncertainties_keep_what_they_say() -> None:
    method = sample("method")
    text = json.dumps(method | {"uncertainty": method["uncertainty"] | WARE}).encode()
    found = read_document(text, "it.yaml")
    assert isinstance(found, ControlledDocument)
    assert isinstance(found.value, Method)
    assert [piece.name for piece in found.value.uncertainty.glassware] == ["P-10", "F-100"]


# Sheets

COLUMNS = (
    "portion,batch,kind,sample,elements,volume_ml,prepared_by,prepared_at,mass_g,moisture_percent,u_moisture_percent"
)


def sheet(mass: str, moisture: str, u_moisture: str) -> tuple[Portion, ...] | tuple[Problem, ...]:
    cells = f"A,T-1,sample,S-00001,Ca,50,p-ana,2026-01-02T10:00:00,{mass},{moisture},{u_moisture}"
    return read_preparation(f"{COLUMNS}\n{cells}\n".encode(), "it.csv")


@pytest.mark.parametrize(
    ("moisture", "u_moisture"), [("", ""), ("5.20", "0.10"), ("0", "0.05"), ("99.9", "0"), ("0.0", "0.0")]
)
def test_a_moisture_is_kept_as_entered(moisture: str, u_moisture: str) -> None:
    (row,) = sheet("0.5", moisture, u_moisture)
    assert isinstance(row, Portion), row
    assert (row.moisture_percent, row.u_moisture_percent) == (moisture, u_moisture)


@pytest.mark.parametrize(
    ("cells", "code", "words"),
    [
        pytest.param(("0.5", "5.2", ""), "portion-moisture", "belong together", id="no uncertainty"),
        pytest.param(("0.5", "", "0.1"), "portion-moisture", "belong together", id="uncertainty alone"),
        pytest.param(("0.5", "100", "0.1"), "portion-moisture", "nothing would be left", id="water alone"),
        pytest.param(("0.5", "520", "0.1"), "portion-moisture", "moisture_percent is 520", id="permille"),
        pytest.param(("", "5.2", "0.1"), "portion-moisture", "no mass", id="a liquid"),
        pytest.param(("0.5", "-1", "0.1"), "value-unfit", "moisture_percent", id="below zero"),
    ],
)
def test_a_broken_moisture(cells: tuple[str, str, str], code: str, words: str) -> None:
    (problem,) = sheet(*cells)
    assert isinstance(problem, Problem), problem
    assert problem.code == f"documents.{code}"
    assert words in problem.what
