"""What a run did otherwise than its plan: each kind of difference alone, named, and nothing where it was as planned."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.demo.laboratory import shipped_methods

from benchseal.planning.against import differences, prepared_otherwise
from benchseal.records.run import SolutionColumns

from .measuring_plans import filled, planned, rows_for

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.records.plan import PlannedSolution
    from benchseal.records.run import SolutionKind

METHOD = shipped_methods()["copper-flame-water"]
PLAN = planned(METHOD, rows_for(METHOD, 12))
RUN = PLAN.runs[0]
DUE = RUN.solutions
SAMPLE = next(place for place, one in enumerate(DUE) if one.sample == "S-00003")  # read once, as those after it


def columns(solutions: Sequence[PlannedSolution], readings: int = 3) -> SolutionColumns:
    """Solutions as a run document has them, in this order."""
    count = len(solutions)
    return SolutionColumns(
        tuple(range(1, count + 1)),
        tuple(one.label for one in solutions),
        tuple(one.kind for one in solutions),
        ("",) * count,
        tuple(one.dilution for one in solutions),
        tuple(readings * nth for nth in range(count)),
        (readings,) * count,
    )


def found(solutions: Sequence[PlannedSolution], readings: int = 3) -> list[tuple[str, str, int]]:
    return [(one.kind, one.label, one.position) for one in differences(RUN, columns(solutions, readings))]


def test_as_planned_there_is_nothing_to_say() -> None:
    assert found(DUE) == []


def test_labels_of_checks_are_the_file_s_own() -> None:
    assert found([one if one.batch or one.kind == "standard" else replace(one, label="X") for one in DUE[1:]]) == [
        ("missing", DUE[0].label, 0)
    ]


@given(st.integers(0, len(DUE) - 1))
def test_any_solution_left_out_is_missing(place: int) -> None:
    missing = [one for one in found([*DUE[:place], *DUE[place + 1 :]]) if one[0] == "missing"]
    assert len(missing) == 1
    kind = DUE[place].kind
    assert next(one.kind for one in DUE if one.label == missing[0][1]) == kind


def test_one_that_moved_is_out_of_order_and_no_other() -> None:
    moved = [*DUE[:SAMPLE], *DUE[SAMPLE + 1 : SAMPLE + 4], DUE[SAMPLE], *DUE[SAMPLE + 4 :]]
    assert ("order", DUE[SAMPLE].label, SAMPLE + 4) in found(moved)
    assert {one[0] for one in found(moved)} == {"order"}


@given(st.permutations(range(4, 10)))
def test_any_order_is_named_unless_it_is_the_planned_one(places: list[int]) -> None:
    standards = [replace(DUE[1], label=f"T{nth}", position=nth + 1) for nth in range(20)]
    run = replace(RUN, solutions=tuple(standards))
    mixed = [*standards[:4], *(standards[nth] for nth in places), *standards[10:]]
    named = differences(run, columns(mixed))
    assert (len(named) == 0) == (places == sorted(places))
    assert all(one.kind == "order" for one in named)


def test_a_diluted_further_reading_names_its_first() -> None:
    last = next(place for place, one in reversed(list(enumerate(DUE))) if one.kind == "sample")
    again = replace(DUE[last], dilution="10")
    (one,) = differences(RUN, columns([*DUE, again]))
    assert (one.kind, one.first, one.position) == ("again", last + 1, len(DUE) + 1)
    assert "diluted 10 times" in one.words


@pytest.mark.parametrize(
    ("name", "value", "kind"), [("dilution", "2", "dilution"), ("kind", "duplicate", "kind"), ("label", "Z-9", "extra")]
)
def test_a_solution_read_otherwise(name: str, value: SolutionKind, kind: str) -> None:
    last = next(place for place, one in reversed(list(enumerate(DUE))) if one.kind == "sample")
    other = replace(DUE[last], **{name: value})  # type: ignore[arg-type]  # one of three columns
    kinds = {one[0] for one in found([*DUE[:last], other, *DUE[last + 1 :]])}
    assert kinds == {kind, "missing"} if kind == "extra" else kinds == {kind}


def test_fewer_readings_than_planned() -> None:
    assert {one[0] for one in found(DUE, 2)} == {"readings"}
    assert len(found(DUE, 2)) == len(DUE)


def test_portions_prepared_otherwise() -> None:
    kept = {one.portion: one for one in filled(PLAN, METHOD)}
    assert prepared_otherwise(PLAN, kept) == ()
    first = PLAN.portions[-1].portion
    for change in ({"volume_ml": "50.0"}, {"sample": "S-00099"}, {"not_determined": "spilt"}):
        other = {**kept, first: replace(kept[first], **change)}  # type: ignore[arg-type]  # one of three columns
        assert [one.label for one in prepared_otherwise(PLAN, other)] == [first]
    same = {**kept, first: replace(kept[first], volume_ml="25")}
    assert prepared_otherwise(PLAN, same) == (), "25 and 25.0 mL are one volume"
    soured = PLAN.portions[-1].acid_percent
    assert soured, "the plan names the acid of its method"
    for acid, named in ((f"{soured}.0" if "." not in soured else f"{soured}0", 0), ("2", 1), ("", 1)):
        found = prepared_otherwise(PLAN, {**kept, first: replace(kept[first], acid_percent=acid)})
        assert [one.words for one in found] == [f"{first}: acid_percent as entered, not as planned"] * named
    gone = {name: one for name, one in kept.items() if name != first}
    (lost,) = prepared_otherwise(PLAN, gone)
    assert lost.words == f"{first} was planned and is not on record"
    (more,) = prepared_otherwise(PLAN, {**kept, "X-1": replace(kept[first], portion="X-1")})
    assert more.words == "X-1 is on record and was not planned"
