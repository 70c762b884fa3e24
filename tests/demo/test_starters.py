"""The starter documents: readable, and every limit either published (and equal to it) or openly a house limit."""

from __future__ import annotations

import csv
from decimal import ROUND_FLOOR, Decimal
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from benchseal.demo.starters import (
    CERTIFICATE_FORMS,
    LAYOUTS,
    LETTERHEADS,
    METHODS,
    SPECIFICATIONS,
    Document,
    documents,
)
from benchseal.documents.reading import ControlledDocument, read_document
from benchseal.records.quantities import decimals_of
from benchseal.records.specification import Requirement, Specification

from .laboratory import shipped_methods

if TYPE_CHECKING:
    from benchseal.records.method import CheckRule, Method

LIMITS = Path(__file__).parents[2] / "fixtures" / "published" / "limits"
OURS = ("house limit, invented", "common practice, no source")
DAILY_DOSE_G = {"mineral-lozenge": Decimal("10.0"), "drink-sachet": Decimal(24)}


def rows(name: str) -> list[dict[str, str]]:
    with (LIMITS / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def read(name: str, text: str) -> ControlledDocument:
    found = read_document(text.encode("utf-8"), name)
    assert isinstance(found, ControlledDocument), found
    return found


DOCUMENTS = [pytest.param(one, id=one.name) for one in documents()]
SHIPPED = shipped_methods()
METHOD_CASES = [pytest.param(one, id=name) for name, one in SHIPPED.items()]
CHECKS = [
    pytest.param(method, rule, id=f"{name} {rule.id}") for name, method in SHIPPED.items() for rule in method.checks
]
SPECIFIED = {
    one.name.removesuffix(".yaml"): read(one.name, one.text).value for one in documents() if one.kind == "specification"
}


@pytest.mark.parametrize("document", DOCUMENTS)
def test_every_document_reads_under_its_own_name(document: Document) -> None:
    found = read(document.name, document.text)
    assert (found.kind, f"{found.id.lower()}.yaml") == (document.kind, document.name)


def test_all_are_there() -> None:
    forms = len(CERTIFICATE_FORMS) + len(LETTERHEADS)
    assert len(documents()) == len(LAYOUTS) + len(METHODS) + len(SPECIFICATIONS) + forms == 16
    assert set(METHODS) < set(SHIPPED), "the demo uses some of the methods shipped"
    assert len(SHIPPED) == 20


def test_every_technique_and_flame_has_a_starter() -> None:
    assert {(method.technique, method.conditions.flame) for method in SHIPPED.values()} == {
        ("flame", "air_acetylene"),
        ("flame", "nitrous_oxide_acetylene"),
        ("furnace", ""),
        ("cold_vapour", ""),
        ("hydride", ""),
    }


def test_all_may_be_approved_together() -> None:
    """No name by which a file calls a method means two of them."""
    names = [name for method in SHIPPED.values() for name in method.file_names]
    assert len(names) == len(set(names))
    assert all(method.id == name for name, method in SHIPPED.items())


@pytest.mark.parametrize(("method", "rule"), CHECKS)
def test_a_limit_is_published_and_equal_or_openly_ours(method: Method, rule: CheckRule) -> None:
    """Published numbers: fixtures/published/limits, paragraph by paragraph; what is from memory says so."""
    published = {(row["source"], row["check"]): row for row in (*rows("checks.csv"), *rows("checks_from_memory.csv"))}
    found = published.get((rule.source, rule.check))
    if found is not None:
        assert (rule.low, rule.high, rule.confirmed) == (found["low"], found["high"], found["confirmed"] == "yes")
        assert rule.confirmed != ("from memory" in rule.source)
    elif rule.confirmed:
        assert rule.check in {"check_blank", "method_blank"}, "only blanks take their number from the method itself"
        assert rule.source.startswith("EPA "), method.id
    else:
        assert rule.source.startswith(OURS)


@pytest.mark.parametrize("method", METHOD_CASES)
def test_a_blank_stays_below_the_lowest_level_or_a_tenth_of_the_smallest_limit(method: Method) -> None:
    """EPA 7000B and 7010: 10.2.2, check blank below the lowest level; 9.5, method blank below 10 % of the limit.

    EPA 200.9 and 245.1: 9.3.4, calibration blank within the detection limit; 9.3.1, method blank below 2.2 times it.
    """
    for rule in method.checks:
        if rule.check in {"check_blank", "method_blank"}:
            assert Decimal(rule.low) == -Decimal(rule.high)
        if "9.3.4" in rule.source and rule.check == "check_blank":
            assert Decimal(rule.high) == Decimal(method.detection_level)
        elif rule.check == "check_blank":
            assert Decimal(rule.high) == Decimal(method.lowest_level)
        if rule.check == "method_blank" and rule.source.startswith("EPA "):
            assert Decimal(rule.high) == _blank_allowed(method, rule)


def _blank_allowed(method: Method, rule: CheckRule) -> Decimal:
    """What the clause named by the rule leaves, in the solution."""
    if "9.3.1" in rule.source:
        return Decimal("2.2") * Decimal(method.detection_level)
    if "9.5" not in rule.source:
        return Decimal(method.lowest_level)
    if served := _served(method):
        return min(Decimal(one.upper) for one in served) * Decimal("0.5") / Decimal(25) * 1000 / 10  # 0.50 g to 25 mL
    (limit,) = (
        row for row in rows("../regulatory_limits.csv")
        if row["element"] == method.element and row["regime"] == "US EPA lead and copper rule"
    )  # fmt: skip
    assert (limit["unit"], f"{limit['limit']} mg/L" in rule.source) == (method.solution_unit, True)
    return Decimal(limit["limit"]) / 10


def _served(method: Method) -> list[Requirement]:
    return [
        one for spec in SPECIFIED.values() if isinstance(spec, Specification) for one in spec.requirements
        if method.id in one.methods
    ]  # fmt: skip


@pytest.mark.parametrize("method", METHOD_CASES)
def test_the_check_pair_stands_after_every_ten_and_closes_the_run(method: Method) -> None:
    """EPA 7000B and 7010, 10.2.2; EPA 200.9 and 245.1, 9.3.4: after every 10 samples and at the end."""
    pair = [rule for rule in method.checks if rule.check in {"check_standard", "check_blank"} and rule.when != "first"]
    assert [rule.check for rule in pair] == ["check_standard", "check_blank"]
    assert [(rule.every, rule.at_end, rule.brackets) for rule in pair] == [(10, True, True)] * 2


@pytest.mark.parametrize("name", ["lead-furnace-water", "mercury-vapour-water"])
def test_right_after_the_calibration_the_window_is_half_as_wide(name: str) -> None:
    """EPA 200.9 and 245.1, 9.3.4: 95 to 105 percent right after the calibration, 90 to 110 later."""
    first, later = (rule for rule in SHIPPED[name].checks if rule.check == "check_standard")
    assert (first.when, first.low, first.high, first.brackets, first.required) == ("first", "95", "105", True, True)
    assert (later.when, later.low, later.high, later.brackets, later.required) == ("later", "90", "110", True, True)
    assert first.expected == later.expected


@pytest.mark.parametrize("method", METHOD_CASES)
def test_every_figure_says_where_it_comes_from(method: Method) -> None:
    plan = method.calibration
    for text in (plan.source, method.replicates.source, method.uncertainty.source, method.lowest_level_source):
        assert any(word in text for word in ("EPA ", "invented", "common practice, no source")), text
    assert bool(method.detection_level) == bool(method.detection_level_source)
    assert method.operating_conditions
    assert method.references


@pytest.mark.parametrize("method", METHOD_CASES)
def test_a_method_warns_and_points_to_local_rules(method: Method) -> None:
    text = " ".join(method.cautions).lower()
    assert "local rules" in text
    assert "safety data sheets" in text
    assert {"cold_vapour": "mercury vapour", "hydride": "hydride", "flame": "acetylene"}.get(
        method.technique, "hot"
    ) in text
    assert ("burner head made for" in text) == (method.conditions.flame == "nitrous_oxide_acetylene")
    assert "gives no operating advice" in text


@pytest.mark.parametrize("name", sorted(DAILY_DOSE_G))
def test_limits_of_elements_follow_from_the_daily_dose(name: str) -> None:
    """ICH Q3D(R2) oral PDE over the largest daily dose, rounded down to the places printed."""
    specification = SPECIFIED[name]
    assert isinstance(specification, Specification)
    exposure = {row["element"]: Decimal(row["oral_ug_per_day"]) for row in rows("daily_exposure.csv")}
    judged = [one for one in specification.requirements if one.element in exposure]
    assert {one.element for one in judged} == set(exposure)
    for one in judged:
        due = exposure[one.element] / DAILY_DOSE_G[name]
        assert Decimal(one.upper) == due.quantize(Decimal(1).scaleb(-decimals_of(one.upper)), rounding=ROUND_FLOOR)
        assert one.limit_source.startswith("ICH Q3D(R2)")


def test_ware_has_the_limits_of_the_directive() -> None:
    """Directive 84/500/EEC, category 1."""
    specification = SPECIFIED["flat-ware"]
    assert isinstance(specification, Specification)
    assert {one.element: one.upper for one in specification.requirements} == {
        row["element"]: row["mg_per_dm2"] for row in rows("ceramics.csv")
    }


def test_a_house_limit_says_so() -> None:
    for specification in SPECIFIED.values():
        assert isinstance(specification, Specification)
        for one in specification.requirements:
            assert one.limit_source.startswith(("ICH Q3D(R2)", "Directive 84/500/EEC", "house limit, invented"))


@pytest.mark.parametrize("method", METHOD_CASES)
def test_a_quadratic_has_six_levels_and_a_line_five(method: Method) -> None:
    """EPA 8000D, 11.5 and 11.5.3 (statistics of chromatography, reused)."""
    assert len(method.standards) >= {"quadratic": 6, "line": 5}[method.calibration.model]
    assert method.calibration.smallest_levels >= {"quadratic": 6, "line": 5}[method.calibration.model]
