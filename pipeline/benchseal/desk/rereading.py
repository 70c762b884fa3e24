"""What a site knows beside one run: its batches, what specifications ask for, and what other runs gave."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.compute.reread import Beside, portions_with_value
from benchseal.desk.reading import load
from benchseal.records.preparation import Portion
from benchseal.records.registers import Instrument
from benchseal.records.results import RunWork
from benchseal.records.run import Run
from benchseal.records.specification import Specification

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

    from benchseal.desk.site import Site
    from benchseal.store.protocol import Reading, Row


def beside(view: Reading, number: str, run: Run, work: RunWork) -> Beside:
    """For the list of what is to be read again. number: of the run, empty for one that did not come in."""
    batches = sorted({batch for batch, _ in run.portion if batch})
    portions = {
        (each["batch"], each["portion"]): load(view, Portion, each["record"])
        for batch in batches
        for each in view.rows("portion", batch=batch)
    }
    others = {
        each["run"]: each
        for each in view.rows("run", element=run.method.element)
        if each["run"] != number and each["state"] != "cancelled" and each["usable"]
    }
    return Beside(portions, _wanted(view, work), _results_in(view, work, others), _readings_in(view, run, others))


def place_of(view: Reading, site: Site, run: Run) -> tuple[str, datetime]:
    """Time zone of the instrument of a run, and now."""
    row = view.row("instrument", instrument=run.instrument)
    if row is None:
        raise AssertionError(f"{run.instrument} of a run is not registered")
    return load(view, Instrument, row["record"]).zone, site.clock()


def _wanted(view: Reading, work: RunWork) -> dict[str, int]:
    """Portions asked for each result, by the version of the specification it was judged by."""
    found = {}
    for result in work.results:
        for asked in load(view, Specification, result.specification.digest).requirements:
            if (asked.element, asked.quantity, asked.basis, asked.expressed_as) == (
                result.element,
                result.quantity,
                result.basis,
                result.expressed_as,
            ):
                found[result.result_id] = asked.portions
    return found


def _results_in(view: Reading, work: RunWork, others: Mapping[str, Row]) -> dict[str, tuple[str, ...]]:
    found: dict[str, tuple[str, ...]] = {}
    for result in work.results:
        rows = view.rows("result", result_id=result.result_id)
        good = [str(each["run"]) for each in rows if each["run"] in others and each["outcome"] != "not_reportable"]
        if good:
            found[result.result_id] = tuple(good)
    return found


def _readings_in(view: Reading, run: Run, others: Mapping[str, Row]) -> dict[tuple[str, str], tuple[str, ...]]:
    """Other runs with a reading that counts, for each portion of this run."""
    keys = {key for key in run.portion if key[1]}
    sharing = {
        str(each["run"])
        for batch, portion in keys
        for each in view.rows("run_portion", batch=batch, portion=portion)
        if each["run"] in others
    }
    found: dict[tuple[str, str], tuple[str, ...]] = {}
    for number in sorted(sharing):
        other = others[number]
        for key in keys & portions_with_value(load(view, Run, other["bound"]), load(view, RunWork, other["work"])):
            found[key] = (*found.get(key, ()), number)
    return found
