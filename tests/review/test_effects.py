"""Results before and after, told apart by what they rest on."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from tests.compute.making import bench_of, pair, portion_of, run_of, samples, standards

from benchseal.certificate.blocks import block_tree, result_bases
from benchseal.compute.run_work import work_run
from benchseal.records.preparation import DilutionStep, Portion
from benchseal.records.results import RunWork
from benchseal.review.effects import check_changes, compared, result_changes

if TYPE_CHECKING:
    from benchseal.records.manifest import ResultBasis


def made(portions: list[Portion]) -> tuple[RunWork, tuple[ResultBasis, ...]]:
    run, bench = run_of((*standards(), *pair(), *samples(("A", "B")), *pair())), bench_of(portions)
    work = work_run(run, bench)
    assert isinstance(work, RunWork), work
    lots = [bench.lots[name] for name in run.standard_lots]
    return work, result_bases(work, block_tree("R-00001", run, bytes(32)), bench.portions, lots, bytes(32))


A, B = portion_of("A", "S-00001"), portion_of("B", "S-00002")


def test_the_same_is_untouched() -> None:
    found = compared(made([A, B])[1], made([A, B])[1])
    assert (found.changed, len(found.untouched)) == ((), 2)


@pytest.mark.clause("17025 7.5.2")
def test_one_mass_changes_one_result_and_says_both_sides() -> None:
    before, after = made([A, B])[1], made([replace(A, mass_g="0.6000"), B])[1]
    (change,) = result_changes("R-00001", compared(before, after), {"S-00001": "L-1"})
    assert (change.sample, change.lot, change.what) == ("S-00001", "L-1", "Pb content")
    old, new = (float(text.split("of record ")[1].rstrip(")")) for text in (change.old, change.new))
    assert new == pytest.approx(old * 5 / 6)


def test_what_a_row_says_of_another_element_is_not_rested_on() -> None:
    other = replace(A, elements=("Pb", "Cd"), dilutions={"Cd": (DilutionStep("1", "50"),)})
    again = replace(other, dilutions={"Cd": (DilutionStep("1", "5"),)}, added_ug={"Cd": "5"})
    assert compared(made([other, B])[1], made([again, B])[1]).changed == ()
    own = replace(other, dilutions={"Pb": (DilutionStep("1", "5"),)})
    assert len(compared(made([other, B])[1], made([own, B])[1]).changed) == 1


def test_who_prepared_a_portion_is_part_of_what_its_result_rests_on() -> None:
    found = compared(made([A, B])[1], made([replace(A, prepared_by="p-b"), B])[1])
    (change,) = result_changes("R-00001", found, {})
    assert change.old == change.new


def test_a_result_that_vanishes_and_one_that_appears() -> None:
    before, after = made([A, B])[1], made([A, replace(B, sample="S-00003")])[1]
    changes = result_changes("R-00001", compared(before, after), {})
    assert [(one.sample, one.old == "nothing", one.new == "nothing") for one in changes] == [
        ("S-00002", False, True),
        ("S-00003", True, False),
    ]


def test_checks_are_told_by_rule_and_place() -> None:
    checks = made([A, B])[0].checks
    other = replace(checks[0], verdict="fail", found="1")
    (change,) = check_changes(checks, (other, *checks[1:]))
    assert change.name.startswith(checks[0].rule)
    assert change.new.startswith("fail, found 1")
    assert check_changes(checks, checks) == ()
    assert check_changes(checks, checks[1:])[0].new == "nothing"
