"""Derived rows of run plans: what follows from each of their entries."""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

from benchseal.store.changes import Change, Put
from benchseal.store.project_rows import Facts, counted, name_of

if TYPE_CHECKING:
    from benchseal.records.entries import Entry
    from benchseal.store.project_rows import Projection, ReadObject


def _made(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    facts = cast("Facts", entry.facts)
    values: dict[str, str | int] = {
        "batch": facts["batch"],
        "methods": " ".join(facts["methods"]),
        "record": entry.digests["record"],
        "person": entry.actor,
        "at": entry.at,
    }
    return (Put("plan", {"plan": name_of(entry)}, values), counted("plan", facts))


def _labels_printed(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    facts = cast("Facts", entry.facts)
    values: dict[str, str | int] = {
        "form": facts["form"],
        "tubes": " ".join(facts["tubes"]),
        "again": " ".join(facts["again"]),
        "reason": entry.reason,
        "person": entry.actor,
        "at": entry.at,
    }
    return (Put("plan_labels", {"plan": name_of(entry), "copy": f"{facts['copy']:04d}"}, values),)


PLANS: dict[str, Projection] = {"plan.made": _made, "plan.labels_printed": _labels_printed}
