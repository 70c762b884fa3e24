"""What a plan measures without need or too seldom is named beside it, and what of its sheet it does not use."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from tests.demo.laboratory import shipped_methods

from benchseal.planning.agreed import remarks_on
from benchseal.records.plan import PlanRow
from benchseal.records.preparation import DilutionStep
from benchseal.records.specification import Requirement, Specification

from .measuring_plans import planned

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
