"""Whole rows of the list for the bench, field by field, for each way a portion comes to stand there."""

from __future__ import annotations

from dataclasses import replace

from tests.compute.making import Shot, pair, pb_method, portion_of, requirement_of, samples
from tests.compute.test_reread import listed

from benchseal.compute.reread import Again

TWO = requirement_of(portions=2)
READ = Again(
    action="read_again",
    positions=(10,),
    batch="T-1",
    portion="A",
    sample="S-00001",
    kind="sample",
    code="",
    why="",
    extra_dilution="1",
    over=False,
    background=False,
    dilution=None,
    needed=True,
    value_in=(),
)
LACKING = replace(READ, positions=())


def test_a_portion_that_was_prepared_and_not_read() -> None:
    found, *_ = listed((*pair(), *samples("A"), *pair()), [portion_of("A"), portion_of("B")], asked=[TWO])
    assert found.again == (replace(LACKING, portion="B", code="portion.not-measured", why="not measured in this run"),)


def test_a_duplicate_that_was_lost() -> None:
    lost = portion_of("B", kind="duplicate", not_determined="the tube broke")
    found, *_ = listed((*pair(), *samples("A"), *pair()), [portion_of("A"), lost], asked=[TWO])
    assert found.again == (
        replace(
            LACKING, action="prepare_again", portion="B", kind="duplicate", code="portion.not-determined",
            why="not determined: the tube broke",
        ),
    )  # fmt: skip


def test_a_portion_that_nobody_prepared() -> None:
    found, *_ = listed((*pair(), *samples("A"), *pair()), [portion_of("A")], asked=[TWO])
    assert found.again == (
        replace(
            LACKING, action="prepare_again", portion="", code="portions.too-few", why="1 of 2 portions were prepared"
        ),
    )


def test_a_portion_without_its_mass() -> None:
    found, *_ = listed((*pair(), *samples("A"), *pair()), [portion_of("A", mass_g="")])
    (row,) = found.again
    assert row == replace(READ, action="complete_record", code="portion.incomplete", why=row.why)
    assert row.why.startswith("no mass is entered")


def test_a_blank_by_its_preparation_is_one_whatever_the_file_calls_it() -> None:
    """Read as a sample, prepared as a method blank: above the standards it is prepared again, and never diluted."""
    blank = portion_of("MB", "", kind="method_blank", mass_g="")
    shots = (*pair(), Shot("sample", "MB", 25.0, "MB"), *samples("A"), *pair())
    found, *_ = listed(shots, [blank, portion_of("A")], pb_method(blank_subtraction="undiluted"))
    (row,) = [one for one in found.again if one.portion == "MB"]
    assert (row.kind, row.action, row.over, row.dilution, row.sample) == (
        "method_blank",
        "prepare_again",
        True,
        None,
        "",
    )
    assert row.needed


def test_a_reading_in_another_run_is_named_and_settles_it() -> None:
    shots = (*pair(), *samples("A", 25.0), *pair())
    found, *_ = listed(shots, [portion_of("A")], elsewhere=["S-00001"])
    (row,) = found.again
    assert (row.value_in, row.needed, row.over) == (("R-9",), True, True)
    assert found.open == ()
