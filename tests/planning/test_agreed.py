"""What a plan measures without need or too seldom is named beside it, and what of its sheet it does not use."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import pytest
from tests.demo.laboratory import shipped_methods
from tests.demo.measuring import REF

from benchseal.planning.agreed import remarks_on
from benchseal.planning.make import Asked, plan_of
from benchseal.records.plan import PlanRow, RunPlan
from benchseal.records.preparation import DilutionStep
from benchseal.records.specification import Requirement, Specification

from .measuring_plans import planned

if TYPE_CHECKING:
    from benchseal.records.method import Method

METHOD = shipped_methods()["lead-furnace"]
LINE = Requirement(
    "Pb", "content", "ug/g", (METHOD.id,), 2, "", "0.50", "simple", "half_up", 2, "report", "house",
)  # fmt: skip
AGREED = Specification("specification", "ware", "Ware", "Ware", "ardlea", "", "", (LINE,))


def said(agreed: Specification | str = AGREED, **cells: Any) -> list[str]:  # noqa: ANN401  of PlanRow
    row = PlanRow("S-00001", "25.0", **{"portions": "2", **cells})
    return list(remarks_on(planned(METHOD, (row,)), (METHOD,), (row,), {"S-00001": agreed}))


def line(**changes: Any) -> Specification:  # noqa: ANN401  of Requirement
    return replace(AGREED, requirements=(replace(LINE, **changes),))


def test_nothing_is_said_of_a_plan_that_does_what_was_agreed() -> None:
    assert said() == []
    assert said(portions="3", added_ug={"Pb": "2.5"}, spikes="1") == []
    assert said(replace(AGREED, requirements=(LINE, replace(LINE, element="Cd", methods=("cadmium-furnace",))))) == []


@pytest.mark.parametrize(
    ("agreed", "cells", "words"),
    [
        pytest.param(line(element="Cd"), {}, "asks for no Pb; lead-furnace serves none of it", id="another element"),
        pytest.param(line(methods=("lead-flame",)), {}, "has Pb by lead-flame, not by lead-furnace", id="other method"),
        pytest.param(line(portions=4), {}, "2 portions of it are read by lead-furnace; its specification ware asks for",
                     id="too few portions"),
        pytest.param("its specification ware is not in force", {}, "nothing says what", id="nothing in force"),
        pytest.param(AGREED, {"added_ug": {"Cd": "100"}}, "added_ug of Cd is left out", id="another element added"),
        pytest.param(AGREED, {"dilutions": {"Cd": (DilutionStep("5", "9"),)}}, "dilutions of Cd", id="another diluted"),
        pytest.param(AGREED, {"added_ug": {"Pb": "2"}, "spikes": "0"}, "no portion of it gets an addition", id="none"),
    ],
)  # fmt: skip
def test_what_was_not_agreed_is_named(agreed: Specification | str, cells: dict[str, Any], words: str) -> None:
    (remark,) = said(agreed, **cells)
    assert remark.startswith("S-00001: ")
    assert words in remark


def test_one_solution_read_in_acids_that_differ_is_named() -> None:
    zinc = shipped_methods()["zinc-flame"]
    zinc = replace(zinc, conditions=replace(zinc.conditions, acid="nitric acid", acid_percent="0.5"))
    lead = replace(METHOD, conditions=replace(METHOD.conditions, acid="nitric acid", acid_percent="12"))

    def found(*methods: Method, **cells: Any) -> list[str]:  # noqa: ANN401  of PlanRow
        row = PlanRow("S-00001", "25.0", **cells)
        refs = tuple((replace(REF, id=one.id), one) for one in methods)
        plan = plan_of(Asked("PL-00001", "P1", "PL-00001", refs, (row,), {}))
        assert isinstance(plan, RunPlan), plan
        return [one for one in remarks_on(plan, methods, (row,), {}) if "acids" in one]

    (remark,) = found(lead, zinc)
    assert "(lead-furnace 12 % nitric acid, zinc-flame 0.5 % nitric acid): " in remark
    assert found(lead) == found(zinc) == []
    assert found(lead, replace(zinc, conditions=replace(zinc.conditions, acid_percent="12"))) == []
    assert found(lead, replace(zinc, conditions=replace(zinc.conditions, acid="", acid_percent=""))) == []
