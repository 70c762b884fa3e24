"""The unit of what a check expects, each as the preparation sheet, the method or the curve states it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from benchseal.records.expected_units import expected_unit

if TYPE_CHECKING:
    from benchseal.records.results import JudgedKind


@pytest.mark.parametrize(
    ("check", "furnace", "unit"),
    [
        pytest.param("check_standard", True, "ug/L", id="a standard, by the curve"),
        pytest.param("method_blank", True, "ug/L", id="a blank, by the curve"),
        pytest.param("control_sample", True, "ug", id="an amount added"),
        pytest.param("reference_material", True, "ug/g", id="a certified content"),
        pytest.param("acid_match", True, "%", id="acid"),
        pytest.param("sensitivity", True, "pg", id="a characteristic mass"),
        pytest.param("sensitivity", False, "ug/L", id="a characteristic concentration"),
    ],
)
def test_each_kind_is_expected_in_its_own_unit(check: JudgedKind, unit: str, *, furnace: bool) -> None:
    assert expected_unit(check, "ug/L", furnace=furnace) == unit
