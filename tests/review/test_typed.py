"""Which typed values a second person has to see."""

from __future__ import annotations

import pytest

from benchseal.records.preparation import Addition, DilutionStep, Portion
from benchseal.records.registers import StandardLot
from benchseal.records.site_rules import TypedQuantity, TypedRange
from benchseal.review.lateness import hours_late
from benchseal.review.typed import typed_in_lot, typed_in_portion

ROW = Portion(
    "Y-1", "AY-01", "sample", "S-00001", ("Zn",), "100.0", "p-ana.keel", "2026-03-02T09:00:00",
    mass_g="1.0120", unit_mass_g="2.494", u_unit_mass_g="0.005", dilutions={"Zn": (DilutionStep("5", "100"),)},
    added_ug={"Zn": "10"}, additions={"Zn": (Addition("Y-1", "0"), Addition("Y-1a", "5"))},
)  # fmt: skip
LOT = StandardLot("L-1", "Zn", "calibration", "1000", "mg/L", "0.2", "a maker", "C-1", "2026-01-01", "2026-12-31")


def names(*ranges: TypedRange, by_file: bool = False) -> list[str]:
    return [one.name for one in typed_in_portion(ROW, ranges, weighed_by_file=by_file)]


EVERYTHING = ["mass_g", "unit_mass_g", "u_unit_mass_g", "volume_ml", "dilutions", "added_ug", "additions"]


@pytest.mark.clause("A11 6")
def test_everything_typed_that_a_result_rests_on_is_named() -> None:
    assert names() == EVERYTHING
    said = [str(one) for one in typed_in_portion(ROW, (), weighed_by_file=False)]
    assert "dilutions Zn 5/100" in said
    assert "additions Zn Y-1=0 Y-1a=5" in said
    assert [str(one) for one in typed_in_lot(LOT, ())] == ["value 1000 mg/L", "u_percent 0.2"]


def test_a_mass_of_the_balance_s_own_file_is_not_typed() -> None:
    assert names(by_file=True) == EVERYTHING[1:]


@pytest.mark.parametrize(
    ("quantity", "low", "high", "exempt"),
    [
        pytest.param("mass_g", "1.0120", "2", True, id="at the lower end"),
        pytest.param("mass_g", "0.5", "1.012", True, id="at the upper end, written shorter"),
        pytest.param("mass_g", "1.0121", "2", False, id="just below"),
        pytest.param("mass_g", "0.5", "1.0119", False, id="just above"),
        pytest.param("volume_ml", "50", "100", True, id="a volume"),
        pytest.param("dilution_factor", "20", "20", True, id="the factor itself"),
        pytest.param("dilution_factor", "20.1", "30", False, id="a larger factor only"),
        pytest.param("dilution_factor", "2", "19.9", False, id="a smaller factor only"),
    ],
)
def test_a_validated_range_stands_in_for_the_second_person(
    quantity: TypedQuantity, low: str, high: str, *, exempt: bool
) -> None:
    name = {"dilution_factor": "dilutions"}.get(quantity, quantity)
    assert (name not in names(TypedRange(quantity, low, high))) is exempt
    assert [one for one in names(TypedRange(quantity, low, high)) if one != name] == [
        one for one in EVERYTHING if one != name
    ]


def test_one_step_outside_its_range_is_enough() -> None:
    two = Portion(
        "Y-1", "AY-01", "sample", "S-00001", ("Zn",), "100.0", "", "2026-03-02T09:00:00",
        dilutions={"Zn": (DilutionStep("5", "100"), DilutionStep("1", "500"))},
    )  # fmt: skip
    found = typed_in_portion(two, (TypedRange("dilution_factor", "2", "100"),), weighed_by_file=False)
    assert "dilutions" in [one.name for one in found]


def test_a_range_of_standards_covers_the_value_and_never_its_uncertainty() -> None:
    assert [one.name for one in typed_in_lot(LOT, (TypedRange("standard_value", "900", "1100"),))] == ["u_percent"]


def test_hours_late() -> None:
    from datetime import UTC, datetime, timedelta  # noqa: PLC0415

    now = datetime(2026, 3, 2, 12, 0, tzinfo=UTC)
    assert hours_late(now - timedelta(hours=24), now, 24) == 0
    assert hours_late(now - timedelta(hours=24, seconds=1), now, 24) == 24
    assert hours_late(now - timedelta(hours=49), now, 24) == 49
    assert hours_late(now - timedelta(days=400), now, 0) == 0
    assert hours_late(now + timedelta(hours=30), now, 24) == 0
