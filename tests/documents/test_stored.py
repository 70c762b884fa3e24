"""Methods that allow the curve of an earlier run: one that does, and one change for each rule that must stop it."""

from __future__ import annotations

import pytest
from tests.documents.test_checks import GOOD, read

from benchseal.records.method import Method, StoredCurvePlan

PLAN = {"valid_hours": "'24'", "smallest_factor": "'0.8'", "largest_factor": "'1.2'", "source": "house limit"}


def method_text(text: str = GOOD, **changes: str) -> str:
    """The good sample zeroed on its blank, with the plan; an empty text leaves a key out."""
    rows = ", ".join(f"{key}: {value}" for key, value in (PLAN | changes).items() if value)
    zeroed = text.replace("signal_is: absorbance\n", "signal_is: absorbance_zeroed_on_blank\n")
    assert zeroed != text or "zeroed_on_blank" in text
    return f"{zeroed}stored_curve: {{{rows}}}\n"


def test_the_plan_is_read() -> None:
    method = read(method_text())
    assert isinstance(method, Method), method
    assert method.stored_curve == StoredCurvePlan("24", "0.8", "1.2", "house limit")


def test_a_method_without_the_section_allows_none() -> None:
    method = read(GOOD)
    assert isinstance(method, Method)
    assert method.stored_curve == StoredCurvePlan()


@pytest.mark.parametrize("key", PLAN)
def test_each_number_and_the_source_must_be_there(key: str) -> None:
    assert read(method_text(**{key: ""})) == ["stored-incomplete"]
    assert read(method_text(**{key: "''"})) == ["stored-incomplete"]


def test_an_empty_section_allows_none() -> None:
    method = read(method_text(**dict.fromkeys(PLAN, "''")))
    assert isinstance(method, Method), method


_NUMBERS = {
    "no hour": ({"valid_hours": "'0'"}, "stored-hours"),
    "no factor": ({"smallest_factor": "'0'"}, "stored-window"),
    "a smallest above one": ({"smallest_factor": "'1.01'"}, "stored-window"),
    "a largest below one": ({"largest_factor": "'0.99'"}, "stored-window"),
}


@pytest.mark.parametrize("defect", _NUMBERS)
def test_each_defect_is_the_only_one(defect: str) -> None:
    changes, code = _NUMBERS[defect]
    assert read(method_text(**changes)) == [code]


@pytest.mark.parametrize("changes", [{"smallest_factor": "'1'"}, {"largest_factor": "'1.0'"}, {"valid_hours": "'0.5'"}])
def test_no_correction_at_all_is_a_window_too(changes: dict[str, str]) -> None:
    assert isinstance(read(method_text(**changes)), Method)


def test_signals_that_hold_the_blank_cannot_be_multiplied() -> None:
    text = method_text().replace("absorbance_zeroed_on_blank", "absorbance")
    assert read(text) == ["stored-signals"]


def test_it_stands_beside_no_other_correction() -> None:
    additions = "  additions: allowed\n  additions_source: test\n"
    limit = "  smallest_r_squared: '0.990'\n"
    assert limit in GOOD
    with_additions = GOOD.replace(limit, limit + additions)
    assert read(method_text(with_additions)) == ["stored-beside"]
    drift = "drift: {largest_percent: '10', source: test}\n"
    found = read(method_text(GOOD + drift))
    assert isinstance(found, list)
    assert "stored-beside" in found


@pytest.mark.parametrize("kind", ["check_standard", "check_blank"])
def test_a_correction_must_be_confirmed(kind: str) -> None:
    """Both checks are required of the first solution of their kind."""
    free = GOOD.replace(f"    check: {kind}\n", f"    check: {kind}\n    required: false\n")
    assert free != GOOD
    assert read(method_text(free)) == ["stored-unconfirmed"]
    late = GOOD.replace(f"    check: {kind}\n", f"    check: {kind}\n    when: later\n")
    found = read(method_text(late))
    assert isinstance(found, list)
    assert "stored-unconfirmed" in found
