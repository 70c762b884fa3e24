"""Derived rows of certificates: what follows from each of their entries."""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

from benchseal.store.changes import Change, Put
from benchseal.store.project_rows import Facts, contribution, counted, name_of, signed

if TYPE_CHECKING:
    from benchseal.records.entries import Entry
    from benchseal.store.project_rows import Projection, ReadObject


def _certificate_drafted(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    facts = cast("Facts", entry.facts)
    number = name_of(entry)
    columns = ("kind", "sample", "lot", "customer", "first", "replaces")
    head = Put(
        "certificate",
        {"number": number},
        {**{name: facts[name] for name in columns}, "state": "draft", "content": entry.digests["content"]},
    )
    runs = tuple(
        Put(
            "certificate_run",
            {"number": number, "run": run["run"]},
            {"version": run["version"], "manifest": run["manifest"]},
        )
        for run in facts["runs"]
    )
    series = facts["year"] if facts["kind"] == "original" else f"{facts['first']}/{facts['kind']}"
    return (
        head,
        counted(f"certificate/{series}", facts),
        *runs,
        contribution(entry.subject, entry.actor, "draft"),
    )


def _certificate_state(state: str, *digests: str, act: str = "") -> Projection:
    def rows(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
        values: dict[str, str | int] = {"state": state, "reason": entry.reason}
        values.update({name: entry.digests[name] for name in digests})
        head = Put("certificate", {"number": name_of(entry)}, values)
        return (head, *signed(cast("Facts", entry.facts), act, entry.subject)) if act else (head,)

    return rows


def _certificate_released(entry: Entry, read: ReadObject) -> tuple[Change, ...]:
    return (*_certificate_state("released", "unsealed", "sealed")(entry, read), *_values(entry))


def _certificate_withdrawn(entry: Entry, read: ReadObject) -> tuple[Change, ...]:
    settled = Put("certificate", {"number": name_of(entry)}, {"flag": ""})
    return (*_certificate_state("withdrawn", act="withdraw")(entry, read), settled, *_values(entry))


def _values(entry: Entry) -> tuple[Change, ...]:
    """Revisions of results that an entry puts out."""
    return tuple(
        Put(
            "released",
            {"result_id": value["result_id"], "revision": f"{value['revision']:04d}"},
            {"number": name_of(entry), "change_kind": value["change_kind"]},
        )
        for value in cast("Facts", entry.facts)["values"]
    )


def _certificate_superseded(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    by = cast("Facts", entry.facts)["by"]
    values: dict[str, str | int] = {"state": "superseded", "reason": f"replaced by {by}", "flag": ""}
    return (Put("certificate", {"number": name_of(entry)}, values),)


def _recipient(kind: str) -> Projection:
    def rows(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
        facts = cast("Facts", entry.facts)
        values = {
            "number": name_of(entry),
            "kind": kind,
            "person_told": facts["to"],
            "how": facts["how"],
            "state": facts.get("state", ""),
            "person": entry.actor,
            "at": entry.at,
        }
        return (Put("certificate_recipient", {"event": f"{entry.seq:09d}"}, values),)

    return rows


def _certificate_noticed(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    values: dict[str, str | int] = {"unsealed": entry.digests["unsealed"], "sealed": entry.digests["notice"]}
    return (Put("certificate_notice", {"number": name_of(entry)}, values),)


def _certificate_copied(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    facts = cast("Facts", entry.facts)
    values: dict[str, str | int] = {
        "given_to": facts["to"],
        "reason": entry.reason,
        "state": facts["state"],
        "person": entry.actor,
        "at": entry.at,
    }
    head = Put("certificate_copy", {"number": name_of(entry), "copy": f"{facts['count']:04d}"}, values)
    return (head, counted(f"copy/{name_of(entry)}", facts))


def _preliminary_given(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    facts = cast("Facts", entry.facts)
    columns = ("sample", "lot", "customer", "given_to")
    values = {**{name: facts[name] for name in columns}, "at": entry.at, "person": entry.actor}
    head = Put("preliminary", {"number": name_of(entry)}, {**values, "figures": entry.digests["figures"]})
    return (head, counted(f"preliminary/{facts['year']}", facts))


def _preliminary_told(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    facts = cast("Facts", entry.facts)
    values: dict[str, str | int] = {"who": facts["who"], "how": facts["how"], "told": entry.digests["told"]}
    key = {"number": name_of(entry), "event": f"{entry.seq:09d}"}
    return (Put("preliminary_told", key, {**values, "person": entry.actor, "at": entry.at}),)


CERTIFICATES: dict[str, Projection] = {
    "certificate.drafted": _certificate_drafted,
    "certificate.discarded": _certificate_state("discarded"),
    "certificate.approved": _certificate_state("approved", "content", act="approve"),
    "certificate.returned": _certificate_state("draft", act="return"),
    "certificate.sealing": _certificate_state("sealing", "evidence", act="release"),
    "certificate.refused": _certificate_state("draft"),
    "certificate.released": _certificate_released,
    "certificate.superseded": _certificate_superseded,
    "certificate.withdrawn": _certificate_withdrawn,
    "certificate.noticed": _certificate_noticed,
    "certificate.copied": _certificate_copied,
    "certificate.sent": _recipient("sent"),
    "certificate.told": _recipient("told"),
    "preliminary.given": _preliminary_given,
    "preliminary.told": _preliminary_told,
}
