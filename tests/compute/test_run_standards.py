"""A lot of another value than its standards were made from: concentrations scale by the ratio, and nothing else does.

The expectation is arithmetic, not an example: all standards off by one factor scale every concentration read on the
line by that factor.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.compute.making import (
    BRACKETS,
    Shot,
    bench_of,
    pair,
    pb_method,
    portion_of,
    rule,
    run_of,
    samples,
    standards,
)

from benchseal.compute.run_standards import as_they_were, standard_factor
from benchseal.compute.run_work import work_run
from benchseal.records.preparation import Addition
from benchseal.records.results import Quantified, RunWork

if TYPE_CHECKING:
    from benchseal.records.known import Bench
    from benchseal.records.run import Run

METHOD = pb_method(checks=(rule("second_source"), rule("lowest_level", low="50", high="150"), *BRACKETS))


def usual() -> Run:
    shots = (*standards(), Shot("second_source", "Q", 10.0, nominal="10"), Shot("lowest_level", "L", 1.0, nominal="1"))
    return run_of((*shots, *pair(), *samples(("A", "B")), *pair()), METHOD)


def bench(**values: str) -> Bench:
    """Lots with other values; their standards were made as of 1000 mg/L."""
    known = bench_of([portion_of("A", "S-00001"), portion_of("B", "S-00002")])
    lots = {
        name: replace(lot, value=values[name[3:]], prepared_as="1000") if name[3:] in values else lot
        for name, lot in known.lots.items()
    }
    return replace(known, lots=lots)


def worked(known: Bench) -> RunWork:
    work = work_run(usual(), known)
    assert isinstance(work, RunWork), work
    return work


def values(work: RunWork) -> list[float]:
    found = [result.outcome for result in work.results]
    return [float(one.value) for one in found if isinstance(one, Quantified)]


def test_a_lot_that_is_what_was_thought_changes_not_one_object() -> None:
    run, known = usual(), bench()
    assert as_they_were(run, known) == (run, known)
    assert as_they_were(run, known)[0] is run
    same = bench(CAL="1000", SEC="1000.0")
    assert as_they_were(run, same)[0] is run


@pytest.mark.clause("17025 7.5")
@given(st.integers(950, 1050))
def test_every_value_scales_with_the_calibration_lot(value: int) -> None:
    before, after = worked(bench()), worked(bench(CAL=str(value)))
    assert values(after) == pytest.approx([one * value / 1000 for one in values(before)], rel=1e-9)
    levels = [float(level.concentration) for level in after.calibration.levels]
    assert levels == pytest.approx([float(level.concentration) * value / 1000 for level in before.calibration.levels])


def test_checks_of_the_same_lot_stay_and_the_second_source_moves() -> None:
    before, after = worked(bench()), worked(bench(CAL="1010"))
    found = [{check.rule: check.found for check in work.checks} for work in (before, after)]
    for name in ("check-standard", "lowest-level"):
        assert float(found[1][name]) == pytest.approx(float(found[0][name]), rel=1e-9)
    assert float(found[1]["second-source"]) == pytest.approx(1.01 * float(found[0]["second-source"]), rel=1e-9)


def test_another_second_source_moves_its_check_alone() -> None:
    before, after = worked(bench()), worked(bench(SEC="990"))
    assert (after.calibration, after.results) == (before.calibration, before.results)
    changed = [one.rule for one, other in zip(after.checks, before.checks, strict=True) if one != other]
    assert changed == ["second-source"]


def test_tubes_of_standard_additions_hold_the_standard_too() -> None:
    tubes = {"Pb": (Addition("A", "0"), Addition("A1", "5")), "Cd": (Addition("A", "0"), Addition("A2", "5"))}
    known = bench(CAL="990")
    known = replace(known, portions={("T-1", "A"): portion_of("A", additions=tubes)})
    _, true = as_they_were(usual(), known)
    added = {element: [one.added for one in own] for element, own in true.portions["T-1", "A"].additions.items()}
    assert added == {"Pb": ["0", "4.95"], "Cd": ["0", "5"]}


def test_the_factor_is_exact() -> None:
    lot = bench(CAL="990").lots["PB-CAL"]
    assert standard_factor(lot) == Fraction(99, 100)
    assert standard_factor(replace(lot, prepared_as="")) == 1
    assert standard_factor(replace(lot, value="1", prepared_as="3")) == Fraction(1, 3)


def test_each_kind_of_solution_takes_the_factor_of_its_own_lot() -> None:
    """Standards and checks are made from the first lot, the second source from the second; samples from neither."""
    run = usual()
    true, _ = as_they_were(run, bench(CAL="1100", SEC="900"))
    columns = run.document.solutions
    for kind, before, after in zip(columns.kind, columns.nominal, true.document.solutions.nominal, strict=True):
        if kind in {"standard", "lowest_level"}:
            assert Fraction(after) == Fraction(before) * Fraction(11, 10)
        elif kind == "second_source":
            assert (before, after) == ("10", "9")
        else:
            assert (before, after) == ("", "")
    marked = replace(columns, nominal=tuple("5" for _ in columns.kind))
    scaled, _ = as_they_were(replace(run, document=replace(run.document, solutions=marked)), bench(CAL="1100"))
    found = dict(zip(columns.kind, scaled.document.solutions.nominal, strict=True))
    assert found == {
        "standard": "5.5",
        "lowest_level": "5.5",
        "check_standard": "5.5",
        "second_source": "5",
        "check_blank": "5",
        "sample": "5",
    }
