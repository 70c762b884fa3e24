"""Derived rows of instruments' events, training facts, confirmations, late entries, periodic reviews, the program."""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

from benchseal.store.changes import Change, Put
from benchseal.store.project_rows import Facts, counted, name_of, signed

if TYPE_CHECKING:
    from benchseal.records.entries import Entry
    from benchseal.store.project_rows import Projection, ReadObject


def _event(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    facts = cast("Facts", entry.facts)
    values: dict[str, str | int] = {name: facts[name] for name in ("kind", "at", "by", "until")}
    values |= {"instrument": name_of(entry), "record": entry.digests["record"]}
    return (Put("instrument_event", {"event": f"{entry.seq:09d}"}, values),)


def _training_added(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    facts = cast("Facts", entry.facts)
    row = Put(
        "training",
        {"training": name_of(entry)},
        {
            **{name: facts[name] for name in ("person", "subject", "version", "since", "until")},
            "may_train": int(facts["may_train"]),
            "evidence": entry.reason,
            "entered_by": entry.actor,
            "entered_at": entry.at,
        },
    )
    return (row, counted("training", facts))


def _training_withdrawn(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    values: dict[str, str | int] = {"withdrawn_by": entry.actor, "withdrawn_at": entry.at}
    return (Put("training", {"training": name_of(entry)}, values),)


def _confirmed(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    key = {"subject": entry.subject, "record": entry.digests["record"]}
    return (Put("confirmation", key, {"person": entry.actor, "at": entry.at}),)


def _late(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    facts = cast("Facts", entry.facts)
    values: dict[str, str | int] = {
        "subject": entry.subject,
        "event_at": facts["event_at"],
        "person": entry.actor,
        "reason": entry.reason,
        "hours": facts["hours"],
        "entry": facts["entry"],
    }
    return (Put("late_entry", {"event": f"{entry.seq:09d}"}, values),)


def _periodic(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    facts = cast("Facts", entry.facts)
    values: dict[str, str | int] = {"person": entry.actor, "at": entry.at, "upto": facts["upto"]}
    row = Put("periodic_review", {"report": entry.digests["report"]}, values)
    return (row, *signed(facts, "review", entry.subject))


def _program(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    facts = cast("Facts", entry.facts)
    return (Put("site", {"ledger": name_of(entry)}, {"program": facts["program"]}),)


INSTRUMENTS: dict[str, Projection] = {
    "instrument.event": _event,
    "training.added": _training_added,
    "training.withdrawn": _training_withdrawn,
    "preparation.confirmed": _confirmed,
    "standard_lot.confirmed": _confirmed,
    "late.noted": _late,
    "periodic.reviewed": _periodic,
    "program.changed": _program,
}
