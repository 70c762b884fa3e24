"""Derived rows of corrections: what follows from each of their entries."""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

from benchseal.store.changes import Change, Put
from benchseal.store.project_rows import Facts, contribution, correction, name_of, signed

if TYPE_CHECKING:
    from benchseal.records.entries import Entry
    from benchseal.store.project_rows import Projection, ReadObject


def _preparation(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    facts = cast("Facts", entry.facts)
    values: dict[str, str | int] = {
        "sample": facts["sample"],
        "version": facts["version"],
        "record": entry.digests["record"],
    }
    prepared = {facts["prepared_by"]} - {""}
    return (
        Put("portion", {"batch": facts["batch"], "portion": facts["portion"]}, values),
        contribution(entry.subject, entry.actor, "change"),
        *(contribution(entry.subject, person, "prepare") for person in sorted(prepared)),
        correction(entry),
    )


def _standard(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    return (
        Put("standard_lot", {"lot": name_of(entry)}, {"record": entry.digests["record"]}),
        contribution(entry.subject, entry.actor, "change"),
        correction(entry),
    )


def _sample(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    facts = cast("Facts", entry.facts)
    values: dict[str, str | int] = {"lot": facts["lot"], "product": facts["product"], "record": entry.digests["record"]}
    return (
        Put("sample", {"sample": name_of(entry)}, values),
        contribution(entry.subject, entry.actor, "change"),
        correction(entry),
    )


def _customer(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    values: dict[str, str | int] = {"name": cast("Facts", entry.facts)["name"], "record": entry.digests["record"]}
    return (Put("customer", {"customer": name_of(entry)}, values), correction(entry))


def _signed(act: str) -> Projection:
    def rows(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
        return signed(cast("Facts", entry.facts), act, entry.subject)

    return rows


def _touched(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    facts = cast("Facts", entry.facts)
    return (Put("certificate", {"number": name_of(entry)}, {"state": facts["state"], "flag": facts["flag"]}),)


def _justified(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    return (
        Put("certificate", {"number": name_of(entry)}, {"flag": ""}),
        *signed(cast("Facts", entry.facts), "justify", entry.subject),
    )


CORRECTIONS: dict[str, Projection] = {
    "preparation.corrected": _preparation,
    "standard_lot.corrected": _standard,
    "sample.corrected": _sample,
    "customer.corrected": _customer,
    "correction.made": _signed("correct"),
    "correction.consented": _signed("consent"),
    "certificate.touched": _touched,
    "certificate.justified": _justified,
}
