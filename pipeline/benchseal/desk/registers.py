"""Register rows and preparation sheets: a sheet comes in whole or not at all, one entry a row."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING, TypeVar, cast

from benchseal.desk.acting import Acting, Receipt
from benchseal.desk.in_force import in_force
from benchseal.desk.late import late_problems, local_moment, local_start, note_late
from benchseal.desk.reading import load
from benchseal.desk.samples_alike import alike, alike_problems, by_name, identifier_lines, require_new_file
from benchseal.desk.weighed import mass_problems, masses_of, remarks, times_of, without_mass, without_row
from benchseal.desk.weighed_once import shared_problems, taken_problems
from benchseal.desk.weighed_when import time_problems, time_remarks, times_read
from benchseal.documents.balance import balance_problems
from benchseal.documents.sheets import (
    read_customers,
    read_imported_samples,
    read_instruments,
    read_preparation,
    read_samples,
    read_standard_lots,
    row_places,
)
from benchseal.problems import Problem, Refusal, Stopped
from benchseal.records.ids import sample_number
from benchseal.records.import_profile import ImportProfile
from benchseal.records.preparation import Portion
from benchseal.records.registers import Customer, Instrument, Sample, StandardLot
from benchseal.records.said import some, some_are
from benchseal.records.shape import record_bytes
from benchseal.records.specification import Specification

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime

    from benchseal.desk.acts_registers import AddPreparation, AddRegister
    from benchseal.records.canonical import Digest, Json
    from benchseal.records.registers import SampleRow
    from benchseal.store.protocol import Reading

T = TypeVar("T")

_ALREADY = {
    "customer": "Leave the row out; what is on record is put right by `benchseal recipient correct`.",
    "standard_lot": "Leave the row out; what is on record is put right by `benchseal standard correct`.",
}
_AHEAD = timedelta(minutes=1)  # a watch may be a little ahead of this machine


def add_register(acting: Acting, act: AddRegister) -> Receipt:
    """Bring in a register sheet."""
    return _REGISTERS[act.register](acting, act)


def add_preparation(acting: Acting, act: AddPreparation) -> Receipt:
    """Bring in a preparation sheet; labels are unique within a batch, samples must be registered.

    A row without a mass gets that of the balance's file; a typed one must be the same.
    """
    weighed, masses = _weighed(acting, act)
    rows = _or_stop(read_preparation(act.data, act.source, masses))
    places = row_places("preparation", act.data, act.source)
    _stop_if([*balance_problems(rows, masses, act.source)])
    times: dict[str, str] = {}
    if weighed:
        times = times_of(acting.tx, weighed["balance"], weighed.get("balance_layout", ""), act.balance_source)
        _stop_if(
            [
                *mass_problems(acting.tx, rows, places, masses, act.balance_source),
                *shared_problems(rows, places, masses, act.balance_source),
                *taken_problems(acting.tx, rows, places, weighed, act.balance_source),
                *time_problems(acting.tx, rows, places, times, act.balance_source),
                *_weighed_ahead(acting, rows, places, times),
            ]
        )
    _stop_if(
        [*_preparation_problems(acting, rows, places), *_late(acting, act, [row.prepared_at for row in rows], places)]
    )
    for row in rows:
        entry = acting.write(
            "preparation.added",
            f"portion/{row.batch}/{row.portion}",
            facts={
                "batch": row.batch,
                "portion": row.portion,
                "sample": row.sample,
                "portion_kind": row.kind,
                "prepared_by": row.prepared_by,
                "version": 1,
            },
            digests={"record": acting.tx.keep(record_bytes(row)), **weighed},
        )
        happened = local_moment(acting.tx, row.prepared_at)
        note_late(acting, entry, f"portion/{row.batch}/{row.portion}", happened, act.late_because)
    batches = list(dict.fromkeys(row.batch for row in rows))
    is_are = "is" if len(rows) == 1 else "are"
    said = [f"{some(len(rows), 'portion')} of {', '.join(batches)} {is_are} on record."]
    data: dict[str, Json] = {"batches": [*batches], "portions": len(rows)}
    if weighed:
        said.append(f"Masses by the balance's own file: {sum(row.portion in masses for row in rows)}.")
        said += [*remarks(rows, masses), *(told := time_remarks(rows, times))]
        data["weighings_odd_in_time"] = [*told]
        data["weighings_without_row"] = [*without_row(rows, masses)]
        data["portions_without_mass"] = [row.portion for row in without_mass(rows)]
    return Receipt(tuple(said), data)


def _weighed(acting: Acting, act: AddPreparation) -> tuple[dict[str, Digest], dict[str, str]]:
    """The balance's own file kept, with what reads it, and the masses in it."""
    if not (act.balance or act.balance_source):  # an empty file was given too: it is told, never passed over
        return {}, {}
    by: dict[str, Digest] = {}
    if act.balance_layout:
        row = in_force(acting.tx, "balance_layout", act.balance_layout)
        if isinstance(row, str):
            what = f"no balance layout is in force by this name: {row}."
            raise Stopped(
                Refusal("balance.layout-not-in-force", act.balance_layout, what, "See `benchseal document list`.")
            )
        by = {"balance_layout": str(row["value"])}
    kept = acting.tx.keep(act.balance)
    masses = masses_of(acting.tx, kept, by.get("balance_layout", ""), act.balance_source)
    if not isinstance(masses, dict):
        raise Stopped(*masses)
    return {"balance": kept, **by}, masses


def _weighed_ahead(
    acting: Acting, rows: tuple[Portion, ...], places: tuple[str, ...], times: dict[str, str]
) -> list[Problem]:
    """Weighings that are still to come."""
    read = times_read(times)
    return [
        problem
        for row, place in zip(rows, places, strict=True)
        if row.portion in read
        for problem in future_problems(
            acting.tx, acting.moment, f"{place}, portion {row.portion}", "weighed_at", read[row.portion]
        )
    ]


def _late(
    acting: Acting, act: AddPreparation | AddRegister, times: list[str], places: tuple[str, ...]
) -> list[Problem]:
    """Rows that come late without a reason; times: of the laboratory, when each was done."""
    return [
        problem
        for text, place in zip(times, places, strict=True)
        for problem in late_problems(acting, place, local_moment(acting.tx, text), act.late_because)
    ]


def _preparation_problems(acting: Acting, rows: tuple[Portion, ...], places: tuple[str, ...]) -> list[Problem]:
    view = acting.tx
    problems = []
    for row, place in zip(rows, places, strict=True):
        where = f"{place}, portion {row.portion}"
        problems += future_problems(view, acting.moment, where, "prepared_at", row.prepared_at)
        if view.row("portion", batch=row.batch, portion=row.portion) is not None:
            what = f"batch {row.batch} already has a portion {row.portion}."
            problems.append(Problem("preparation.already", where, what, "Give the portion another label."))
        else:
            problems += _tubes_taken(acting, row, where)
        if row.sample:
            problems += portion_sample_problems(view, row, where)
        if row.prepared_by and view.row("person", person=row.prepared_by) is None:
            what = f"{row.prepared_by} is not enrolled."
            problems.append(Problem("preparation.person-unknown", where, what, "Give the preparer's user id."))
    return problems


def portion_sample_problems(view: Reading, row: Portion, where: str) -> list[Problem]:
    """The sample is registered, and nobody prepares what has not come; both days are the laboratory's."""
    sample = view.row("sample", sample=row.sample)
    if sample is None:
        what = f"sample {row.sample} is not registered."
        return [Problem("preparation.sample-unknown", where, what, "See `benchseal sample list`.")]
    received = load(view, Sample, sample["record"]).row.received_on
    if row.prepared_at[:10] >= received:
        return []
    what = f"it was prepared at {row.prepared_at}, before its sample {row.sample} was received on {received}."
    return [Problem("preparation.before-receipt", where, what, "Put the time or the sample number right.")]


def _tubes_taken(acting: Acting, row: Portion, where: str) -> list[Problem]:
    """Labels of a portion, its own or those of its tubes, that another portion of the batch already has on a tube."""
    kept = (load(acting.tx, Portion, one["record"]) for one in acting.tx.rows("portion", batch=row.batch))
    taken = {label: other.portion for other in kept for label in other.labels}
    return [
        Problem(
            "preparation.already",
            where,
            f"batch {row.batch} already has a tube {label}, of portion {taken[label]}.",
            "Give the tube another label.",
        )
        for label in row.labels
        if label in taken
    ]


def _customers(acting: Acting, act: AddRegister) -> Receipt:
    rows: tuple[Customer, ...] = _or_stop(read_customers(act.data, act.source))
    _stop_if(
        _taken(acting.tx, "customer", [row.customer for row in rows], row_places("customer", act.data, act.source))
    )
    for row in rows:
        kept = acting.tx.keep(record_bytes(row))
        acting.write("customer.added", f"customer/{row.customer}", facts={"name": row.name}, digests={"record": kept})
    return _said("customer", [row.customer for row in rows])


def _instruments(acting: Acting, act: AddRegister) -> Receipt:
    rows: tuple[Instrument, ...] = _or_stop(read_instruments(act.data, act.source))
    _stop_if(
        _taken(
            acting.tx, "instrument", [row.instrument for row in rows], row_places("instrument", act.data, act.source)
        )
    )
    for row in rows:
        kept = acting.tx.keep(record_bytes(row))
        facts: dict[str, Json] = {"serial": row.serial, "technique": row.technique}
        acting.write("instrument.added", f"instrument/{row.instrument}", facts=facts, digests={"record": kept})
    return _said("instrument", [row.instrument for row in rows])


def _standards(acting: Acting, act: AddRegister) -> Receipt:
    rows: tuple[StandardLot, ...] = _or_stop(read_standard_lots(act.data, act.source))
    _stop_if(_taken(acting.tx, "standard_lot", [row.lot for row in rows], row_places("standard", act.data, act.source)))
    for row in rows:
        kept = acting.tx.keep(record_bytes(row))
        facts: dict[str, Json] = {"element": row.element, "purpose": row.purpose}
        acting.write("standard_lot.added", f"standard/{row.lot}", facts=facts, digests={"record": kept})
    return _said("standard lot", [row.lot for row in rows])


def _samples(acting: Acting, act: AddRegister) -> Receipt:
    rows, places, by = _sample_rows(acting, act)
    there = {load(acting.tx, Sample, row["record"]).row: str(row["sample"]) for row in acting.tx.rows("sample")}
    named = by_name(there)
    twins = [bool(act.separate_because.strip()) and any(alike(row, named)) for row in rows]
    if act.separate_because.strip() and not any(twins):
        what = "a reason is given, and no row is like a sample on record."
        _stop_if([Problem("sample.not-alike", act.source, what, "Leave --separate-because out.")])
    likes = [] if act.separate_because.strip() else _alike_problems(rows, places, there)
    _stop_if(
        [
            *_sample_problems(acting, rows, places, there),
            *likes,
            *_late(acting, act, [row.received_on for row in rows], places),
        ]
    )
    numbers = []
    for row, twin in zip(rows, twins, strict=True):
        count = acting.count("sample")
        number = sample_number(count)
        kept = acting.tx.keep(record_bytes(Sample(number, row)))
        facts: dict[str, Json] = {
            "lot": row.lot,
            "customer": row.customer,
            "product": row.product,
            "specification": row.specification,
            "count": count,
        }
        said_why = act.separate_because.strip() if twin else ""
        entry = acting.write(
            "sample.added", f"sample/{number}", facts=facts, digests={"record": kept, **by}, reason=said_why
        )
        note_late(acting, entry, f"sample/{number}", local_moment(acting.tx, row.received_on), act.late_because)
        numbers.append(number)
    said = tuple(f"{number}: lot {row.lot} of {row.customer}" for number, row in zip(numbers, rows, strict=True))
    remarks_of_ids = identifier_lines(rows, numbers, there)
    data: dict[str, Json] = {"samples": [*numbers], "remarks": [one.strip() for one in remarks_of_ids]}
    return Receipt((*said, *remarks_of_ids), data)


def _sample_rows(acting: Acting, act: AddRegister) -> tuple[tuple[SampleRow, ...], tuple[str, ...], dict[str, Digest]]:
    """Rows, where each stands, and what they came by: of another system's file, the file and the profile."""
    if not act.profile:
        return (_or_stop(read_samples(act.data, act.source)), row_places("sample", act.data, act.source), {})
    row = in_force(acting.tx, "import_profile", act.profile)
    if isinstance(row, str):
        what = f"no import profile is in force by this name: {row}."
        raise Stopped(Refusal("import.profile-not-in-force", act.profile, what, "See `benchseal document list`."))
    require_new_file(acting.tx, act.data, act.source)
    read = read_imported_samples(act.data, act.source, load(acting.tx, ImportProfile, row["value"]))
    problems = [each for each in read if isinstance(each, Problem)]
    if problems:
        raise Stopped(*problems)
    rows, places = cast("tuple[tuple[SampleRow, ...], tuple[str, ...]]", read)
    return rows, places, {"file": acting.tx.keep(act.data), "import_profile": str(row["value"])}


def _sample_problems(
    acting: Acting, rows: tuple[SampleRow, ...], places: tuple[str, ...], there: dict[SampleRow, str]
) -> list[Problem]:
    """there: rows on record, each with its sample."""
    view = acting.tx
    problems = []
    for row, place in zip(rows, places, strict=True):
        where = f"{place}, lot {row.lot}"
        if row in there:
            what = f"{there[row]} was registered with exactly this row."
            problems.append(Problem("sample.already", where, what, "Leave it out, or say what tells the two apart."))
        problems += future_problems(view, acting.moment, where, "received_on", row.received_on)
        problems += future_problems(view, acting.moment, where, "sampled_on", row.sampled_on)
        if view.row("customer", customer=row.customer) is None:
            what = f"customer {row.customer} is not registered."
            problems.append(Problem("sample.customer-unknown", where, what, "Add it with `benchseal recipient add`."))
        problems += _specification_problems(view, row, where)
    return problems


def _alike_problems(rows: tuple[SampleRow, ...], places: tuple[str, ...], there: dict[SampleRow, str]) -> list[Problem]:
    named = by_name(there)
    return [
        problem
        for row, place in zip(rows, places, strict=True)
        if row not in there
        for problem in alike_problems(row, f"{place}, lot {row.lot}", named)
    ]


def _specification_problems(view: Reading, row: SampleRow, where: str) -> list[Problem]:
    """What is agreed with one customer judges no other customer's sample."""
    document = in_force(view, "specification", row.specification)
    if isinstance(document, str):
        what = f"specification {row.specification} is not in force: {document}."
        return [Problem("sample.specification-unknown", where, what, "Have it approved first.")]
    agreed_with = load(view, Specification, document["value"]).customer
    if agreed_with == row.customer:
        return []
    what = f"the sample is of customer {row.customer}; specification {row.specification} is agreed with {agreed_with}."
    return [Problem("sample.specification-customer", where, what, "Name a specification of this customer.")]


def future_problems(view: Reading, moment: datetime, where: str, name: str, text: str) -> list[Problem]:
    """A day, or day and time, of the laboratory that has not come; of sampling elsewhere: that has come nowhere."""
    if name == "sampled_on":
        due = text <= (moment + timedelta(hours=14)).date().isoformat()
    else:
        due = local_start(view, text) <= moment + _AHEAD
    if due:
        return []
    return [Problem("sheet.future", where, f"{name} is {text}, which is still to come.", "Put the date right.")]


def _taken(view: Reading, table: str, names: list[str], places: tuple[str, ...]) -> list[Problem]:
    column = {"standard_lot": "lot"}.get(table, table)
    return [
        Problem(f"{column}.already", place, f"{name} is already registered.", _ALREADY.get(table, "Leave the row out."))
        for name, place in zip(names, places, strict=True)
        if view.row(table, **{column: name}) is not None
    ]


def _or_stop(read: tuple[T, ...] | tuple[Problem, ...]) -> tuple[T, ...]:
    problems = [each for each in read if isinstance(each, Problem)]
    if problems:
        raise Stopped(*problems)
    return tuple(each for each in read if not isinstance(each, Problem))


def _stop_if(problems: list[Problem]) -> None:
    if problems:
        raise Stopped(*problems)


def _said(what: str, names: list[str]) -> Receipt:
    return Receipt((f"{some_are(len(names), f'{what} row')} on record: {', '.join(names)}.",), {"added": [*names]})


_REGISTERS: dict[str, Callable[[Acting, AddRegister], Receipt]] = {
    "customer": _customers,
    "instrument": _instruments,
    "standard": _standards,
    "sample": _samples,
}
