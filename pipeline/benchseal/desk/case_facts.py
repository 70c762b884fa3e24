"""The facts beside an investigation's questions, gathered from the calculation it was opened by and the registers."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.desk.case_registers import register_lines
from benchseal.desk.reading import load
from benchseal.desk.standing import lots_now, portions_now
from benchseal.records.registers import Instrument
from benchseal.records.results import RunWork
from benchseal.records.run import Run
from benchseal.review.checklist import Evidenced, prefilled

if TYPE_CHECKING:
    from benchseal.desk.cases import Case
    from benchseal.store.protocol import Reading


def facts_of(view: Reading, case: Case) -> dict[str, tuple[str, ...]]:
    """Question to what the record says. Curve, checks and readings as calculated then; registers as they are now."""
    run, work = load(view, Run, case.row["bound"]), load(view, RunWork, case.row["work"])
    result = next((one for one in work.results if one.result_id == case.row["result_id"]), None)
    if result is None:  # a sum, which no run makes: its parts have their own
        return {"calculation": tuple(f"a part of it was reviewed in {one['run']}" for one in case.results)}
    row = view.row("instrument", instrument=run.instrument)
    original = next(one for one in case.results if one["kind"] == "original")
    return prefilled(
        Evidenced(
            run=run,
            work=work,
            result=result,
            portions=portions_now(view, case.row["run"]),
            lots=lots_now(view, run),
            instrument=None if row is None else load(view, Instrument, row["record"]),
            analyst=original["analyst"],
            facts=register_lines(view, run, result, original["analyst"]),
        )
    )
