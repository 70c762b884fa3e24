"""A planned run measured exactly as planned: its sheet filled in, its file written, read, bound and calculated."""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING

from tests.demo import measuring
from tests.demo.measuring import REF, Tube

from benchseal.compute.run_work import work_run
from benchseal.documents.sheets import read_preparation
from benchseal.ingest.reader import read_file
from benchseal.planning.make import Asked, plan_of
from benchseal.planning.sheet import sheet_text
from benchseal.records.known import Bench, Known
from benchseal.records.plan import PlanRow, RunPlan
from benchseal.records.preparation import Portion
from benchseal.records.quantities import plain, unit_factor
from benchseal.records.registers import Instrument
from benchseal.records.run import Run, RunDocument
from benchseal.validate.check import check_run

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from benchseal.problems import Problem
    from benchseal.records.method import Method
    from benchseal.records.plan import PlannedSolution
    from benchseal.records.results import RunWork

NATIVE = Decimal("0.3")  # of the highest standard: what a sample's solution holds
ADDED = Decimal("0.3")  # and what its spiked solution holds beside it
VOLUME_ML = "25.0"


def rows_for(method: Method, samples: int = 2, **changes: object) -> tuple[PlanRow, ...]:
    """Samples, a control and, of solids, a reference material, with what their solutions are to hold."""
    share = micrograms(method, ADDED)
    own = [PlanRow("", VOLUME_ML, kind="control_sample", added_ug={method.element: share})]
    if measuring.quantity_of(method) == "content":
        content = f"{measuring.due(method, NATIVE * top(method)):.9f}"
        own.append(PlanRow("", VOLUME_ML, kind="reference_material", expected_ug_per_g={method.element: content}))
    named = [
        PlanRow(f"S-{nth:05d}", VOLUME_ML, added_ug={method.element: share}, **changes)  # type: ignore[arg-type]
        for nth in range(1, samples + 1)
    ]
    return (*own, *named)


def top(method: Method) -> Decimal:
    return Decimal(method.standards[-1].concentration)


def micrograms(method: Method, share: Decimal) -> str:
    """What brings ``VOLUME_ML`` to a share of the highest standard."""
    of = Fraction(share * top(method)) * unit_factor(method.solution_unit, "mg/L") * Fraction(VOLUME_ML)
    return plain(Decimal(of.numerator) / Decimal(of.denominator))


def planned(method: Method, rows: Sequence[PlanRow]) -> RunPlan:
    found = plan_of(Asked("PL-00001", "P1", "PL-00001", ((replace(REF, id=method.id), method),), tuple(rows), {}))
    assert isinstance(found, RunPlan), found
    return found


def filled(plan: RunPlan, method: Method) -> tuple[Portion, ...]:
    """The plan's sheet as it comes back: times, a person, masses and surfaces typed in, nothing else touched."""
    read = list(csv.DictReader(io.StringIO(sheet_text(plan.portions))))
    quantity = measuring.quantity_of(method)
    for row in read:
        row["prepared_by"], row["prepared_at"] = "p-a", "2026-03-01T10:00:00"
        row["mass_g"] = "0.5000" if quantity == "content" else ""
        row["area_dm2"] = "4.00" if quantity == "release_per_area" else ""
    out = io.StringIO()
    lines = csv.DictWriter(out, list(read[0]))
    lines.writeheader()
    lines.writerows(read)
    back = read_preparation(out.getvalue().encode(), "sheet.csv")
    portions = tuple(one for one in back if isinstance(one, Portion))
    assert len(portions) == len(back), back
    return portions


def tube(method: Method, one: PlannedSolution) -> Tube:
    """What the bench presents for a planned solution."""
    holds = Decimal(one.concentration) if one.concentration else NATIVE * top(method)
    if one.kind in {"spiked_sample", "post_spiked_sample"}:
        holds += ADDED * top(method)
    return Tube(one.kind, one.label, holds, one.concentration, one.dilution)


def measured(
    method: Method, plan: RunPlan, leave: Callable[[PlannedSolution], bool] = lambda _: False
) -> RunWork | tuple[Problem, ...]:
    """The plan's run of ``method``, but for the solutions that are left out."""
    solutions = [one for one in plan.runs[0].solutions if not leave(one)]
    portions = filled(plan, method)
    read = [one for one in portions if one.portion in {each.label for each in solutions}]
    data = measuring._file(method, [tube(method, one) for one in solutions], ())  # noqa: SLF001  the same file
    found = read_file(data, "planned.txt", measuring._layout(), REF)  # noqa: SLF001
    document = found[0]
    assert isinstance(document, RunDocument), found
    instrument = Instrument("bench-1", "TQ-1", method.technique, "Europe/Berlin", "2025-01-07")
    known = Known(
        ((REF, method),), {one.portion: (one,) for one in read}, frozenset(), (instrument,),
        measuring.lots(method), "2026-03-03T00:00:00Z",
    )  # fmt: skip
    run = check_run(document, known)
    if not isinstance(run, Run):
        return run
    return work_run(run, _bench(method, read))


def _bench(method: Method, portions: Iterable[Portion]) -> Bench:
    usual = measuring.bench(method, portions)
    numbers = {one.sample for one in portions if one.sample}
    return replace(usual, samples={number: replace(usual.samples["S-00001"], sample=number) for number in numbers})
