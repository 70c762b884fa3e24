"""Samples of a run's batches of which it read nothing. Invented runs: they show rules, no number is evidence."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from tests.compute.making import BATCH, bench_of, pb_method, portion_of, requirement_of, run_of, samples, standards

from benchseal.compute.reread import Beside, reread
from benchseal.compute.reread_absent import absent, absent_portions, results_asked
from benchseal.compute.run_work import work_run
from benchseal.records.results import RunWork

if TYPE_CHECKING:
    from benchseal.compute.reread import Reread
    from benchseal.records.preparation import Portion
    from benchseal.records.specification import Requirement

A = portion_of("A")
B, B2 = portion_of("B", "S-00002"), portion_of("B2", "S-00002", kind="duplicate")


def listed(
    *portions: Portion,
    asked: tuple[Requirement, ...] = (requirement_of(),),
    values: dict[str, tuple[str, ...]] | None = None,
    reasons: dict[str, str] | None = None,
) -> Reread:
    """The list of a run that read portion A alone, of a batch with these besides. values: by sample."""
    rows = (A, *portions)
    levels = tuple(replace(shot, background="0.1") for shot in standards())
    run, bench = run_of((*levels, *samples("A")), pb_method(checks=())), bench_of(rows, asked)
    work = work_run(run, bench)
    assert isinstance(work, RunWork), work
    own = {(one.batch, one.portion): one for one in rows}
    _, specification = bench.specifications["lozenge"]
    names = {one.sample: results_asked(run.method, specification, bench.ledger, one.sample) for one in rows}
    known = {name: runs for sample, runs in (values or {}).items() for name in names[sample]}
    missing = absent(absent_portions(run, own), names, known, reasons or {})
    assert {result.result_id for result in work.results} <= set(names["S-00001"]), "named as results are"
    return reread(run, work, Beside(own, {}, {}, {}, missing))


def test_every_portion_of_a_sample_not_read_at_all_is_to_be_read() -> None:
    found = listed(B, B2)
    assert [(one.sample, one.portion, one.kind, one.code, one.positions) for one in found.open] == [
        ("S-00002", "B", "sample", "portion.not-measured", ()),
        ("S-00002", "B2", "duplicate", "portion.not-measured", ()),
    ]
    assert {(one.batch, one.action, one.why) for one in found.open} == {
        (BATCH, "read_again", "not measured in this run")
    }
    assert not found.is_done


def test_another_run_with_all_its_results_leaves_nothing_to_do() -> None:
    found = listed(B, values={"S-00002": ("R-9",)})
    assert [(one.portion, one.value_in) for one in found.again] == [("B", ("R-9",))]
    assert found.is_done


def test_of_two_results_both_must_be_there() -> None:
    asked = (requirement_of(), requirement_of(quantity="amount_per_unit", unit="ug", upper="1"))
    _, *rest = names = results_asked(
        run_of(standards()).method, bench_of((A,), asked).specifications["lozenge"][1], "l", "s"
    )
    assert (len(rest), len(set(names))) == (1, 2)
    own = {(BATCH, "B"): B}
    (one,) = absent(own, {"S-00002": names}, {names[0]: ("R-9",)}, {})
    assert one.value_in == ()
    (one,) = absent(own, {"S-00002": names}, {names[0]: ("R-9",), names[1]: ("R-8", "R-9")}, {})
    assert one.value_in == ("R-9", "R-8")


def test_the_reason_on_record_stands_beside_it() -> None:
    (one,) = listed(B, reasons={"S-00002": "the customer took the order back: a letter"}).again
    assert one.why == "not measured in this run: the customer took the order back: a letter"


@pytest.mark.parametrize(
    "portion",
    [
        pytest.param(portion_of("C", "S-00002", elements=("Cd",)), id="prepared for another element"),
        pytest.param(portion_of("C", "S-00002", not_determined="the tray fell"), id="lost"),
        pytest.param(portion_of("C", "", kind="method_blank", mass_g=""), id="of no sample"),
        pytest.param(portion_of("C", "S-00001", kind="duplicate"), id="of a sample that was read"),
    ],
)
def test_what_is_not_to_be_read_is_not_named(portion: Portion) -> None:
    assert listed(portion).again == ()


def test_a_sample_whose_specification_asks_nothing_of_the_method_is_not_named() -> None:
    other = requirement_of(methods=("pb-flame",))
    run, (_, specification) = run_of(standards()), bench_of((A,), (other,)).specifications["lozenge"]
    asked = results_asked(run.method, specification, "l", "S-00002")
    assert asked == ()
    assert absent({(BATCH, "B"): B}, {"S-00002": asked}, {}, {}) == ()
