"""Rules of the sums of a specification: each broken once, and the good side taken."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest
from tests.documents.test_rules_of_results import SAMPLES, line, problems_of, sample

from benchseal.documents.reading import ControlledDocument, read_document
from benchseal.records.shape import record_bytes, record_of
from benchseal.records.specification import Specification

if TYPE_CHECKING:
    from benchseal.problems import Problem


def asked(**changes: object) -> dict[str, Any]:
    """Lead and cadmium together, by their upper bound."""
    usual: dict[str, Any] = {
        "id": "pb-cd",
        "elements": ["Pb", "Cd"],
        "quantity": "content",
        "unit": "mg/kg",
        "bound": "upper_bound",
        "upper": "5",
        "rule": "simple",
        "rounding": "half_up",
        "decimals": -1,
        "exceedance_means": "report",
        "limit_source": "agreed",
    }
    return usual | changes


LINES = (
    line(element="Pb"),
    line(element="Cd"),
    line(element="Ca"),
    line(element="Ca", basis="dry"),
    line(element="Zn", expressed_as="ZnO"),
    line(element="Zn", quantity="concentration", unit="mg/L"),
)


def with_sums(*sums: dict[str, Any]) -> tuple[Problem, ...]:
    return problems_of(sample("specification") | {"requirements": [*LINES], "sums": [*sums]})


@pytest.mark.parametrize(
    "sums",
    [
        pytest.param([], id="none"),
        pytest.param([asked()], id="with a limit"),
        pytest.param([asked(upper="")], id="for information"),
        pytest.param([asked(), asked(id="lower", bound="lower_bound")], id="one sum by two bounds"),
        pytest.param([asked(elements=["Pb", "Cd", "Ca"])], id="of three"),
        pytest.param([asked(unit="ug/kg", upper="5000")], id="in another unit than its parts"),
    ],
)
def test_good_sums(sums: list[dict[str, Any]]) -> None:
    assert with_sums(*sums) == ()


@pytest.mark.parametrize(
    ("changes", "code", "said"),
    [
        pytest.param(
            {"elements": ["Pb", "Hg"]},
            "specification-sum-part-missing",
            "No requirement asks for Hg as content, as received",
            id="no line",
        ),
        pytest.param(
            {"elements": ["Ca", "Pb"], "basis": "dry"},
            "specification-sum-part-missing",
            "No requirement asks for Pb as content, dry",
            id="a line on another basis",
        ),
        pytest.param(
            {"elements": ["Pb", "Zn"]},
            "specification-sum-part-missing",
            "No requirement asks for Zn as content",
            id="a line of a substance, and one of another quantity",
        ),
        pytest.param({"elements": ["Pb"]}, "specification-sum-elements", "two elements or more", id="one element"),
        pytest.param({"elements": ["Pb", "Pb"]}, "specification-sum-elements", "listed twice", id="one element twice"),
        pytest.param({"elements": ["Pb", "Xx"]}, "specification-sum-elements", "'Xx' is no symbol", id="no element"),
        pytest.param({"elements": []}, "list-short", "elements must not be empty", id="no elements"),
        pytest.param({"unit": "mg/L"}, "specification-unit", "mg/L does not fit content", id="unit of a solution"),
        pytest.param({"upper": "-1"}, "specification-limit-negative", "upper -1 is below zero", id="a negative limit"),
        pytest.param(
            {"upper": "", "rule": "guarded"}, "specification-rule-without-limit", "guarded", id="a rule, no limit"
        ),
        pytest.param({"upper": "5.25", "decimals": 1}, "specification-decimals", "fewer than the 2", id="few places"),
        pytest.param({"bound": "best_guess"}, "value-unknown", "medium_bound", id="no such bound"),
        pytest.param({"bound": ""}, "value-unknown", "lower_bound", id="no bound"),
        pytest.param({"lower": "1"}, "key-unknown", "'lower' is not a known key", id="a lower limit"),
        pytest.param({"id": "Pb Cd"}, "value-unfit", "id is 'Pb Cd'", id="no identifier"),
    ],
)
def test_broken_sums(changes: dict[str, object], code: str, said: str) -> None:
    problems = with_sums(asked(**changes))
    assert [problem.code for problem in problems] == [f"documents.{code}"], problems
    assert said in problems[0].what


def test_a_dry_sum_of_a_quantity_that_has_no_basis() -> None:
    """Its parts have no line either: a dry concentration is refused in a line as well."""
    problems = with_sums(asked(quantity="concentration", unit="mg/L", basis="dry"))
    assert {problem.code.rpartition(".")[2] for problem in problems} == {
        "specification-basis",
        "specification-sum-part-missing",
    }


def test_percentages_of_claims_cannot_be_added() -> None:
    claims = [
        line(element=element, quantity="percent_of_claim", unit="%", claim_mg="5", methods=["any"])
        for element in ("Pb", "Cd")
    ]
    value = sample("specification") | {"requirements": claims}
    (problem,) = problems_of(value | {"sums": [asked(quantity="percent_of_claim", unit="%")]})
    assert problem.code == "documents.specification-sum-quantity"


@pytest.mark.parametrize(
    ("second", "said"),
    [
        pytest.param(asked(elements=["Pb", "Ca"]), "The id 'pb-cd' stands twice; first as no. 1.", id="the id"),
        pytest.param(
            asked(id="again", elements=["Cd", "Pb"]), "This sum of Cd, Pb stands twice; first as no. 1.", id="the sum"
        ),
    ],
)
def test_a_sum_twice(second: dict[str, Any], said: str) -> None:
    (problem,) = with_sums(asked(), second)
    assert (problem.code, problem.what) == ("documents.specification-sum-twice", said)


def test_every_fault_of_a_sum_is_told_at_once() -> None:
    problems = with_sums(asked(elements=["Hg", "As"], unit="mg/L", upper="-1"))
    assert sorted(problem.code.removeprefix("documents.specification-") for problem in problems) == [
        "limit-negative",
        "sum-part-missing",
        "sum-part-missing",
        "unit",
    ]


def test_a_specification_without_sums_keeps_its_bytes() -> None:
    """Specifications approved before there were sums keep their digest."""
    value = sample("specification")
    assert "sums" not in value
    record = record_of(Specification, value)
    assert record.sums == ()
    assert b"sums" not in record_bytes(record)


def test_the_bad_sample_without_its_fault_reads_and_reads_back() -> None:
    text = (SAMPLES / "specification" / "bad-rule-sum.yaml").read_text(encoding="utf-8")
    found = read_document(text.replace("[Pb, Cd, As]", "[Pb, Cd]").encode(), "good-sum.yaml")
    assert isinstance(found, ControlledDocument), found
    assert isinstance(found.value, Specification)
    (one,) = found.value.sums
    assert (one.elements, one.bound, one.basis) == (("Pb", "Cd"), "upper_bound", "as received")
    again = read_document(record_bytes(found.value), "again.yaml")
    assert isinstance(again, ControlledDocument), again
    assert again.value == found.value
