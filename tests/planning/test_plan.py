"""A run plan holds everything its method's rules ask for: measured so it passes, and without any part it does not."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from functools import partial
from typing import TYPE_CHECKING

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.demo.laboratory import shipped_methods
from tests.demo.measuring import REF

from benchseal.planning.make import Asked, PastCurve, plan_of
from benchseal.planning.tubes import shared_labels, tubes_of
from benchseal.problems import Problem
from benchseal.records.plan import PlanRow, RunPlan
from benchseal.records.results import RunWork

from .measuring_plans import measured, planned, rows_for

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.records.method import Method
    from benchseal.records.plan import PlannedSolution

SHIPPED = shipped_methods()
METHODS = [pytest.param(method, id=name) for name, method in SHIPPED.items()]
NAMES = sorted(SHIPPED)


def asked_by(rule: str, one: PlannedSolution) -> bool:
    return rule in one.rules


def at_place(place: int, one: PlannedSolution) -> bool:
    return one.position == place


def worked(found: object) -> RunWork:
    assert isinstance(found, RunWork), found
    return found


@pytest.mark.parametrize("method", METHODS)
def test_a_run_measured_as_planned_passes_every_check_of_its_method(method: Method) -> None:
    work = worked(measured(method, planned(method, rows_for(method))))
    assert work.usable, work.findings
    assert [one.rule for one in work.checks if one.verdict == "fail"] == []
    met = {one.rule for one in work.checks if one.verdict == "pass"}
    # Of a water there is no reference material here; a solution too weak for a dilution test is not judged by it.
    spared = {
        rule.id for rule in method.checks if rule.check in {"reference_material", "dilution_test"} and not rule.required
    }
    assert {rule.id for rule in method.checks} - spared <= met


@settings(max_examples=30)
@given(st.sampled_from(NAMES), st.integers(1, 24), st.integers(1, 3), st.sampled_from(["", "1", "2"]))
def test_any_number_of_samples_portions_and_spikes_stays_within_its_brackets(
    name: str, samples: int, portions: int, spikes: str
) -> None:
    method = SHIPPED[name]
    plan = planned(method, rows_for(method, samples, portions=str(portions), spikes=spikes))
    work = worked(measured(method, plan))
    assert work.usable, work.findings
    assert [one for one in work.voided if one.code != "portion.not-used"] == []


@pytest.mark.parametrize("method", METHODS)
def test_without_what_a_required_rule_asks_for_the_run_has_a_problem(method: Method) -> None:
    """Each rule in turn: planned as if the method did not have it, judged by the whole method."""
    for rule in method.checks:
        if not rule.required or rule.check in {"sensitivity", "acid_match"}:
            continue
        plan = planned(method, rows_for(method))
        work = measured(method, plan, partial(asked_by, rule.id))
        assert not isinstance(work, RunWork) or not work.usable or work.voided, rule.id


@pytest.mark.parametrize("method", METHODS)
def test_without_one_check_of_a_bracket_something_is_void(method: Method) -> None:
    plan = planned(method, rows_for(method, 14))
    for rule in method.checks:
        if rule.brackets:
            places = [one.position for one in plan.runs[0].solutions if rule.id in one.rules][1:]
            assert places
            for place in places:
                work = worked(measured(method, plan, partial(at_place, place)))
                assert work.voided, (rule.id, place)


def test_expected_signals_come_from_a_reviewed_curve_or_are_said_to_be_unknown() -> None:
    method = SHIPPED["copper-flame-water"]
    first = planned(method, rows_for(method))
    assert {one.not_known for one in first.runs[0].solutions if one.concentration} == {"no reviewed run of this method"}
    curve = worked(measured(method, first)).calibration
    asked = Asked(
        "PL-00002",
        "P2",
        "B",
        ((replace(REF, id=method.id), method),),
        rows_for(method),
        {method.id: PastCurve("R-00001", curve)},
    )
    again = plan_of(asked)
    assert isinstance(again, RunPlan)
    own = {one.label: one for one in again.runs[0].solutions}
    intercept, slope = (Decimal(text) for text in curve.coefficients)
    assert Decimal(own["P2-CHK-1"].signal) == pytest.approx(intercept + 2 * slope, rel=Decimal("0.005"))
    assert own["P2-01a"].signal == ""
    assert own["P2-01a"].not_known == "what it holds is to be measured"
    short = replace(curve, highest="1.00")
    over = plan_of(replace(asked, curves={method.id: PastCurve("R-00001", short)}))
    assert isinstance(over, RunPlan)
    assert {one.not_known for one in over.runs[0].solutions if one.label == "P2-CHK-1"} == {
        "above the curve of R-00001"
    }


def codes(found: object) -> list[str]:
    assert isinstance(found, tuple), found
    assert all(isinstance(one, Problem) for one in found)
    return [one.code for one in found]


def test_a_method_whose_solutions_nobody_knows_beforehand_is_refused() -> None:
    method = SHIPPED["copper-flame-water"]
    bracketing = replace(method.calibration, bracketing="required")
    additions = replace(method.calibration, additions="required")
    for calibration, code in ((bracketing, "plan.bracketing"), (additions, "plan.additions")):
        other = replace(method, calibration=calibration)
        assert codes(plan_of(Asked("PL-1", "P1", "B", ((REF, other),), rows_for(method), {}))) == [code]


def test_methods_and_rows_must_meet() -> None:
    method = SHIPPED["copper-flame-water"]
    rows = (PlanRow("S-00001", "25", methods=("zinc-flame",)),)
    found = plan_of(Asked("PL-1", "P1", "B", ((replace(REF, id=method.id), method),), rows, {}))
    assert codes(found) == ["plan.method-not-named", "plan.no-sample"]


def test_one_portion_serves_every_method_and_further_ones_only_those_that_ask() -> None:
    copper, zinc = SHIPPED["copper-flame-water"], SHIPPED["zinc-flame"]
    methods = tuple((replace(REF, id=one.id), one) for one in (copper, zinc))
    plan = plan_of(Asked("PL-1", "P1", "B", methods, (PlanRow("S-00001", "25"),), {}))
    assert isinstance(plan, RunPlan)
    own = {one.portion: one.elements for one in plan.portions}
    assert own["P1-01a"] == ("Cu", "Zn")
    assert own["P1-01r"] == ("Cu",), "only the copper method has a check after preparation"
    assert len(set(own)) == len(plan.portions)


def two_methods(*names: str) -> RunPlan | tuple[Problem, ...]:
    methods = tuple((replace(REF, id=name), SHIPPED[name]) for name in names)
    return plan_of(Asked("PL-1", "P1", "B", methods, (PlanRow("S-00001", "25"),), {}))


def test_every_tube_of_a_plan_of_several_methods_has_a_label_of_its_own() -> None:
    plan = two_methods("lead-furnace", "cadmium-furnace")
    assert isinstance(plan, RunPlan)
    tubes = tubes_of(plan)
    assert len({tube.label for tube in tubes}) == len(tubes)
    said = {tube.label: tube.what for tube in tubes}
    assert said["P1-Pb-SS-1"] == "second source 10.0 µg/L"
    assert said["P1-Cd-SS-1"] == "second source 1.00 µg/L"
    read = {one.label for run in plan.runs for one in run.solutions}
    assert read == set(said), "the order of reading names every tube, and no other"


@pytest.mark.parametrize("name", NAMES)
def test_labels_but_those_of_standards_begin_with_the_plan(name: str) -> None:
    plan = planned(SHIPPED[name], rows_for(SHIPPED[name]))
    own = {standard.label for standard in SHIPPED[name].standards}
    assert all(tube.label.startswith("P1-") or tube.label in own for tube in tubes_of(plan))
    assert len({tube.label for tube in tubes_of(plan)}) == len(tubes_of(plan))


def called(method: Method, labels: Sequence[str]) -> Method:
    named = [replace(one, label=label) for one, label in zip(method.standards, labels, strict=False)]
    return replace(method, standards=(*named, *method.standards[len(named) :]))


def test_standards_that_cannot_be_one_tube_have_no_label_in_common() -> None:
    """Of one element with two contents it is refused; of two elements it is a mixed standard, one tube."""
    lead, cadmium = SHIPPED["lead-furnace"], SHIPPED["cadmium-furnace"]
    again = replace(lead, id="lead-again", standards=(lead.standards[0], *lead.standards[2:]))
    assert lead.standards[1].concentration != lead.standards[2].concentration
    other = called(again, [one.label for one in lead.standards])
    row = (PlanRow("S-00001", "25"),)
    both = ((replace(REF, id=lead.id), lead), (replace(REF, id=other.id), other))
    found = plan_of(Asked("PL-1", "P1", "B", both, row, {}))
    assert set(codes(found)) == {"plan.label-twice"}
    assert {one.where for one in found} == {one.label for one in other.standards[1:]}  # type: ignore[union-attr]
    mixed = called(cadmium, [one.label for one in lead.standards])
    plan = plan_of(Asked("PL-1", "P1", "B", (both[0], (replace(REF, id=mixed.id), mixed)), row, {}))
    assert isinstance(plan, RunPlan)
    held = {tube.label: (tube.what, tube.of) for tube in tubes_of(plan)}
    top = lead.standards[1]
    what = f"standard Pb {top.concentration} µg/L, Cd {mixed.standards[1].concentration} µg/L"
    assert held[top.label] == (what, "PL-1 · Pb Cd")


def test_a_standard_called_like_a_portion_is_refused() -> None:
    method = called(SHIPPED["lead-furnace"], ["P1-01a"])
    found = plan_of(Asked("PL-1", "P1", "B", ((replace(REF, id=method.id), method),), (PlanRow("S-00001", "25"),), {}))
    assert codes(found) == ["plan.label-twice"]


def test_two_methods_of_one_element_number_their_checks() -> None:
    lead = SHIPPED["lead-furnace"]
    other = called(replace(lead, id="lead-again"), [f"again-{nth}" for nth in range(len(lead.standards))])
    methods = ((replace(REF, id=lead.id), lead), (replace(REF, id=other.id), other))
    plan = plan_of(Asked("PL-1", "P1", "B", methods, (PlanRow("S-00001", "25"),), {}))
    assert isinstance(plan, RunPlan)
    assert {"P1-Pb1-SS-1", "P1-Pb2-SS-1"} <= {tube.label for tube in tubes_of(plan)}
    assert not shared_labels(tubes_of(plan))


def test_a_plan_of_an_earlier_version_keeps_its_tubes_apart() -> None:
    """Its checks had no plan and no element: the record reads as it was made, each tube still gets its label."""
    plan = two_methods("lead-furnace", "cadmium-furnace")
    assert isinstance(plan, RunPlan)
    runs = tuple(
        replace(
            run,
            solutions=tuple(replace(one, label=one.label.replace(f"P1-{run.element}-", "")) for one in run.solutions),
        )
        for run in plan.runs
    )
    old = replace(plan, runs=runs)
    assert "SS-1" in shared_labels(tubes_of(old))
    assert [tube.what for tube in tubes_of(old) if tube.label == "SS-1"] == [
        "second source 10.0 µg/L",
        "second source 1.00 µg/L",
    ]
    assert len(tubes_of(old)) == len(tubes_of(plan))
