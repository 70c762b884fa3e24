"""What a site knows beside one run: its batches, what specifications ask for, and what other runs gave."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.compute.reread import Beside, portions_with_value
from benchseal.compute.reread_absent import absent, absent_portions, results_asked
from benchseal.desk.bench import corrections_of
from benchseal.desk.reading import load
from benchseal.records.preparation import Portion
from benchseal.records.registers import Instrument, Sample
from benchseal.records.results import RunWork
from benchseal.records.run import Run
from benchseal.records.specification import Specification

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from datetime import datetime

    from benchseal.compute.reread import Again
    from benchseal.desk.site import Site
    from benchseal.store.protocol import Reading, Row


def beside(view: Reading, ledger: str, number: str, run: Run, work: RunWork) -> Beside:
    """For the list of what is to be read again. number: of the run, empty for one that did not come in."""
    portions, others = _portions(view, run), _others(view, number, run)
    return Beside(
        portions=portions,
        wanted=_wanted(view, work),
        results=_results_in(view, (one.result_id for one in work.results), others),
        readings=_readings_in(view, run, others),
        absent=_absent(view, ledger, (number, run), portions, others),
    )


def absent_lines(view: Reading, ledger: str, number: str, run: Run) -> list[str]:
    """Samples of the run's batches of which it read nothing though it was asked to, in words: one line each."""
    found: dict[str, list[Again]] = {}
    for one in _absent(view, ledger, (number, run), _portions(view, run), _others(view, number, run)):
        found.setdefault(one.sample, []).append(one)
    said = []
    for sample, own in found.items():
        lot = next(str(row["lot"]) for row in view.rows("sample", sample=sample))
        elsewhere = f"; value in {', '.join(own[0].value_in)}" if own[0].value_in else ""
        labels = ", ".join(one.portion for one in own)
        said.append(f"  {sample} (lot {lot}), {labels}: {own[0].why}{elsewhere}")
    return said


def _portions(view: Reading, run: Run) -> dict[tuple[str, str], Portion]:
    """Every portion of the batches read in a run."""
    return {
        (each["batch"], each["portion"]): load(view, Portion, each["record"])
        for batch in sorted({batch for batch, _ in run.portion if batch})
        for each in view.rows("portion", batch=batch)
    }


def _others(view: Reading, number: str, run: Run) -> dict[str, Row]:
    return {
        each["run"]: each
        for each in view.rows("run", element=run.method.element)
        if each["run"] != number and each["state"] != "cancelled" and each["usable"]
    }


def _absent(
    view: Reading,
    ledger: str,
    of: tuple[str, Run],
    portions: Mapping[tuple[str, str], Portion],
    others: Mapping[str, Row],
) -> tuple[Again, ...]:
    """Portions of samples of which a run read nothing. of: its number, empty for one that did not come in, and it."""
    number, run = of
    found = absent_portions(run, portions)
    if not found:
        return ()
    asked: dict[str, tuple[str, ...]] = {}
    for name in {one.sample for one in found.values()}:
        sample = view.row("sample", sample=name)
        agreed = load(view, Sample, sample["record"]).row.specification if sample is not None else ""
        document = view.row("document", kind="specification", id=agreed, state="approved")
        if document is not None:
            asked[name] = results_asked(run.method, load(view, Specification, document["value"]), ledger, name)
    names = [result for results in asked.values() for result in results]
    row = view.row("run", run=number)
    unmeasured = corrections_of(view, row).unmeasured if row is not None else ()
    return absent(found, asked, _results_in(view, names, others), {one.sample: one.words for one in unmeasured})


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


def _results_in(view: Reading, names: Iterable[str], others: Mapping[str, Row]) -> dict[str, tuple[str, ...]]:
    found: dict[str, tuple[str, ...]] = {}
    for name in names:
        rows = view.rows("result", result_id=name)
        good = [str(each["run"]) for each in rows if each["run"] in others and each["outcome"] != "not_reportable"]
        if good:
            found[name] = tuple(good)
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
