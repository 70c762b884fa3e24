"""What a reviewer sees of a run beside its numbers: its corrected time, late entries, typed values and who saw them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.desk.confirmations import rows_of_run
from benchseal.desk.instrument_time import corrected
from benchseal.desk.late import late_rows, late_words
from benchseal.desk.plan_differences import plan_lines
from benchseal.desk.reading import load
from benchseal.desk.same_readings import same_readings_lines
from benchseal.desk.site_rules import rules_in_force
from benchseal.records.run import Run

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.desk.confirmations import Typed
    from benchseal.store.protocol import Reading, Row


def run_lines(view: Reading, row: Row) -> list[str]:
    """Lines for ``run show``; none where there is nothing to say."""
    moment = corrected(view, row["instrument"], row["measured_at"])
    said = [f"  by the last check of its clock: {moment}"] if moment != row["measured_at"] else []
    said += plan_lines(view, load(view, Run, row["bound"]))
    said += same_readings_lines(view, row["run"])
    portions = view.rows("run_portion", run=row["run"])
    names = [(each["batch"], each["portion"]) for each in portions]
    samples = {
        each["sample"]
        for batch, portion in names
        for each in view.rows("portion", batch=batch, portion=portion)
        if each["sample"]
    }
    subjects = [f"run/{row['run']}", *(f"portion/{batch}/{portion}" for batch, portion in names)]
    subjects += [f"sample/{sample}" for sample in sorted(samples)]
    said += [f"  {late_words(each)}" for each in late_rows(view, *subjects)]
    if rules_in_force(view).typed_values == "second_person":
        said += [f"  typed: {line}" for one in rows_of_run(view, row) for line in _typed_lines(one)]
    return said


def _typed_lines(one: Typed) -> Iterator[str]:
    """What of a row somebody confirmed, and what nobody did."""
    if one.seen_words:
        yield f"{one.name}, {one.seen_words}: confirmed by {one.confirmed_by}"
    if one.waits:
        yield f"{one.name}, {one.unseen_words}: not confirmed"
