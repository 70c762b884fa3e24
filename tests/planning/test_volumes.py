"""What runs take from the tubes of a plan: added over its methods, and named where a tube holds less."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from tests.demo.laboratory import shipped_methods
from tests.demo.measuring import REF

from benchseal.planning.make import Asked, plan_of
from benchseal.planning.volumes import taken_of
from benchseal.records.plan import PlanRow, RunPlan
from benchseal.records.preparation import DilutionStep

if TYPE_CHECKING:
    from benchseal.planning.volumes import Taken
    from benchseal.records.method import Method

FLAME = [method for method in shipped_methods().values() if method.technique == "flame"][:1]


def _bare(element: str) -> Method:
    """A method that reads each portion twice and asks for nothing else."""
    found = FLAME[0]
    return replace(
        found, id=f"{element.lower()}-bare", element=element, checks=(), blank_subtraction="none",
        replicates=replace(found.replicates, count=2),
    )  # fmt: skip


def _plan(*elements: str, drawn_ml: str = "4", **row: object) -> RunPlan:
    rows = (PlanRow("S-00001", str(row.pop("volume_ml", "5")), **row),)  # type: ignore[arg-type]
    methods = tuple((replace(REF, id=f"{each.lower()}-bare"), _bare(each)) for each in elements)
    plan = plan_of(Asked("PL-00001", "P1", "PL-00001", methods, rows, {}, drawn_ml))
    assert isinstance(plan, RunPlan), plan
    return plan


def _of(plan: RunPlan, label: str) -> list[Taken]:
    return [one for one in taken_of(plan) if one.label == label]


def test_what_two_methods_draw_from_one_tube_is_added_and_held_against_it() -> None:
    (one,) = _of(_plan("Pb", "Cd"), "P1-01a")
    assert (one.by, one.total_ml, one.made_up_ml, one.short) == (
        (("pb-bare", "8"), ("cd-bare", "8")), "16", "5", True,
    )  # fmt: skip
    assert one.words == "P1-01a, the solution made up: made up to 5 mL; 16 mL are taken (pb-bare 8, cd-bare 8)."


@pytest.mark.parametrize(("volume_ml", "short"), [("15.9", True), ("16", False), ("16.0", False), ("25", False)])
def test_a_tube_that_just_holds_enough_is_not_short(volume_ml: str, short: bool) -> None:
    (one,) = _of(_plan("Pb", "Cd", volume_ml=volume_ml), "P1-01a")
    assert one.short is short


def test_one_method_alone_is_named_where_it_takes_too_much() -> None:
    assert [one.total_ml for one in _of(_plan("Pb"), "P1-01a")] == ["8"]
    assert _of(_plan("Pb", volume_ml="8"), "P1-01a") == []


def test_of_a_diluted_solution_the_aliquot_is_taken_once() -> None:
    steps = {"Pb": (DilutionStep("1", "10"), DilutionStep("12", "20"))}
    found = _of(_plan("Pb", "Cd", dilutions=steps, volume_ml="8"), "P1-01a")
    assert [(one.what, one.by, one.total_ml, one.made_up_ml, one.short) for one in found] == [
        ("the solution made up", (("Pb diluted", "1"), ("cd-bare", "8")), "9", "8", True),
        ("step 1 for Pb", (("step 2", "12"),), "12", "10", True),
    ]
    (short,) = _of(_plan("Pb", dilutions={"Pb": (DilutionStep("1", "5"),)}), "P1-01a")
    assert (short.what, short.total_ml, short.made_up_ml) == ("diluted for Pb", "8", "5")


def test_a_standard_of_two_methods_is_added_and_its_volume_is_open() -> None:
    plan = _plan("Pb", "Cd")
    label = (
        plan.runs[0].solutions[-1].label if not plan.runs[0].solutions[-1].batch else plan.runs[0].solutions[0].label
    )
    (one,) = _of(plan, label)
    assert (one.total_ml, one.made_up_ml, one.short) == ("16", "", False)


def test_nothing_is_said_where_nobody_stated_what_is_drawn() -> None:
    assert taken_of(_plan("Pb", "Cd", drawn_ml="")) == ()


def test_a_furnace_takes_what_its_method_injects_whatever_is_drawn_by_the_flame_beside_it() -> None:
    furnace = next(one for one in shipped_methods().values() if one.conditions.injection_ul == "20")
    methods = tuple((replace(REF, id=one.id), one) for one in (FLAME[0], furnace))
    rows = (PlanRow("S-00001", "25"),)
    plan = plan_of(Asked("PL-00001", "P1", "PL-00001", methods, rows, {}, "2.5"))
    assert isinstance(plan, RunPlan), plan
    assert [run.drawn_ml for run in plan.runs] == ["2.5", "0.02"]
