"""Ledger entry to derived rows: the only place that makes them, used by the act and by replay alike.

Pure: what it gives follows from the entry and the objects it names. It never recomputes a number; it copies what
the calculation put on record.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, TypeAlias, cast

from benchseal.records.canonical import canonical_bytes, parse_canonical
from benchseal.store.changes import Change, Clear, Put

if TYPE_CHECKING:
    from collections.abc import Callable

    from benchseal.records.canonical import Digest
    from benchseal.records.entries import Entry

    ReadObject: TypeAlias = Callable[[Digest], bytes]


Facts: TypeAlias = "dict[str, Any]"  # shape fixed by (kind, v); the desk writes them


def project(entry: Entry, read: ReadObject) -> tuple[Change, ...]:
    """Rows that follow from one entry, in order. Raises KeyError for a kind this program does not know."""
    return _PROJECTIONS[entry.kind](entry, read)


def known_kinds() -> frozenset[str]:
    """Every entry kind this program can replay."""
    return frozenset(_PROJECTIONS)


def _name(entry: Entry) -> str:
    return entry.subject.partition("/")[2]


def _count(name: str, facts: Facts) -> Put:
    return Put("counter", {"name": name}, {"value": facts["count"]})


def _signed(facts: Facts, act: str, subject: str, *, contributes: bool = False) -> tuple[Change, ...]:
    """The signature row, and the contribution of the person who signed."""
    statement = facts["signature"]["statement"]
    rows: list[Change] = [
        Put(
            "signature",
            {"signature": facts["signature"]["signature"]},
            {
                **{name: statement[name] for name in ("subject", "digest", "person", "role", "meaning", "at")},
                "version": statement["version"],
                "statement": canonical_bytes(statement).decode(),
            },
        )
    ]
    if contributes:
        rows.append(_contribution(subject, statement["person"], act))
    return tuple(rows)


def _contribution(subject: str, person: str, act: str) -> Put:
    return Put("contribution", {"subject": subject, "person": person, "act": act})


def _person(person: Facts) -> tuple[Change, ...]:
    row = Put(
        "person",
        {"person": person["person"]},
        {
            "printed_name": person["printed_name"],
            "identity_check": person["identity_check"],
            "enrolled_by": person["enrolled_by"],
            "password_sha256": person["password_sha256"],
            "active": 1,
        },
    )
    return (row, *(Put("role", {"person": person["person"], "role": role}, {"active": 1}) for role in person["roles"]))


def _founded(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    facts = cast("Facts", entry.facts)
    site = Put(
        "site",
        {"ledger": facts["ledger"]},
        {
            **{name: facts["laboratory"][name] for name in ("name", "address", "zone")},
            "seal_fingerprint": facts["seal_fingerprint"],
            "seal_key_id": facts["seal_key_id"],
            "seal_certificate": entry.digests["seal_certificate"],
            "tree_key": facts["tree_key"],
            "tree_key_id": facts["tree_key_id"],
        },
    )
    return (site, *(row for person in facts["persons"] for row in _person(person)))


def _person_added(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    return _person(cast("Facts", entry.facts))


def _nothing(_: Entry, __: ReadObject) -> tuple[Change, ...]:
    """An entry that changes no derived row."""
    return ()


def _document_key(facts: Facts) -> dict[str, str]:
    return {"kind": facts["kind"], "id": facts["id"], "version": str(facts["version"])}


def _document_added(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    facts = cast("Facts", entry.facts)
    row = Put(
        "document",
        _document_key(facts),
        {
            "title": facts["title"],
            "source": entry.digests["source"],
            "value": entry.digests["value"],
            "state": "draft",
            "author": entry.actor,
        },
    )
    return (row,)


def _document_approved(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    facts = cast("Facts", entry.facts)
    rows: list[Change] = []
    if facts["supersedes"]:
        before = {**_document_key(facts), "version": str(facts["supersedes"])}
        rows.append(Put("document", before, {"state": "superseded"}))
    rows.append(Put("document", _document_key(facts), {"state": "approved", "approver": entry.actor}))
    return (*rows, *_signed(facts, "approve", entry.subject))


def _registered(table: str, *columns: str, key: str = "") -> Callable[[Entry, ReadObject], tuple[Change, ...]]:
    """A projection for a register row: its record is an object, its few columns stand in the facts."""

    def rows(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
        facts = cast("Facts", entry.facts)
        values: dict[str, str | int] = {name: facts[name] for name in columns}
        row = Put(table, {key or table: _name(entry)}, {**values, "record": entry.digests["record"]})
        return (row, _count(table, facts)) if "count" in facts else (row,)

    return rows


def _preparation(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    facts = cast("Facts", entry.facts)
    row = Put(
        "portion",
        {"batch": facts["batch"], "portion": facts["portion"]},
        {
            "sample": facts["sample"],
            "kind": facts["portion_kind"],
            "version": facts["version"],
            "record": entry.digests["record"],
        },
    )
    subject = f"portion/{facts['batch']}/{facts['portion']}"
    persons = {entry.actor, facts["prepared_by"]} - {""}
    return (row, *(_contribution(subject, person, "prepare") for person in sorted(persons)))


def _file_refused(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    facts = cast("Facts", entry.facts)
    values: dict[str, str | int] = {"name": facts["name"], "state": "refused", "report": entry.digests["report"]}
    return (Put("source_file", {"sha256": entry.digests["raw"]}, values),)


def _run_ingested(entry: Entry, read: ReadObject) -> tuple[Change, ...]:
    facts = cast("Facts", entry.facts)
    run = _name(entry)
    head = Put(
        "run",
        {"run": run},
        {
            **{name: facts[name] for name in ("element", "method", "instrument", "measured_at")},
            "state": "draft",
            "source_sha256": entry.digests["raw"],
            "document": entry.digests["document"],
            "version": 0,
            "reviewed_version": 0,
        },
    )
    accepted = Put("source_file", {"sha256": entry.digests["raw"]}, {"name": facts["name"], "state": "accepted"})
    portions = tuple(
        Put("run_portion", {"run": run, "batch": batch, "portion": portion}) for batch, portion in facts["portions"]
    )
    return (
        accepted,
        head,
        _count("run", facts),
        *portions,
        *(_contribution(f"run/{run}", person, "operate") for person in sorted({entry.actor, facts["operator"]} - {""})),
        *_work(entry, read),
    )


def _work(entry: Entry, read: ReadObject) -> tuple[Change, ...]:
    """Columns and result rows that name the run's calculation."""
    run = _name(entry)
    work = cast("Facts", parse_canonical(read(entry.digests["work"])))
    values: dict[str, str | int] = {
        "bound": entry.digests["bound"],
        "work": entry.digests["work"],
        "usable": int(work["usable"]),
    }
    rows = tuple(_result(run, place, result) for place, result in enumerate(work["results"]))
    return (Put("run", {"run": run}, values), Clear("result", {"run": run}), *rows)


def _result(run: str, place: int, result: Facts) -> Put:
    outcome = result["outcome"]
    return Put(
        "result",
        {"run": run, "place": f"{place:05d}"},
        {
            **{
                name: result[name]
                for name in ("result_id", "sample", "element", "quantity", "unit", "verdict", "comment_required")
            },
            "outcome": outcome["kind"],
            "value_text": outcome.get("value_text", ""),
            "expanded_text": outcome.get("expanded_text", ""),
            "why": outcome.get("why", ""),
        },
    )


def _hold_opened(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    facts = cast("Facts", entry.facts)
    key = {"sample": facts["sample"], "element": facts["element"]}
    return (
        Put("hold", key, {"run": facts["run"], "result_id": facts["result_id"], "why": facts["why"], "is_open": 1}),
    )


def _run_calculated(entry: Entry, read: ReadObject) -> tuple[Change, ...]:
    return (*_work(entry, read), _contribution(entry.subject, entry.actor, "enter"))


def _run_submitted(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    facts = cast("Facts", entry.facts)
    values: dict[str, str | int] = {
        "state": "submitted",
        "version": facts["version"],
        "manifest": entry.digests["manifest"],
        "packet": entry.digests["packet"],
    }
    return (
        Put("run", {"run": _name(entry)}, values),
        *_signed(facts, "submit", entry.subject, contributes=True),
    )


def _run_reviewed(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    facts = cast("Facts", entry.facts)
    values: dict[str, str | int] = {
        "state": "reviewed",
        "reviewed_version": facts["version"],
        "reviewed_manifest": entry.digests["manifest"],
        "reviewed_packet": entry.digests["packet"],
        "reviewed_work": entry.digests["work"],
        "reviewed_bound": entry.digests["bound"],
    }
    return (Put("run", {"run": _name(entry)}, values), *_signed(facts, "accept", entry.subject))


def _run_state(state: str, act: str) -> Callable[[Entry, ReadObject], tuple[Change, ...]]:
    def rows(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
        change = Put("run", {"run": _name(entry)}, {"state": state})
        return (change, *_signed(cast("Facts", entry.facts), act, entry.subject))

    return rows


def _certificate_drafted(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    facts = cast("Facts", entry.facts)
    number = _name(entry)
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
    return (
        head,
        _count(f"certificate/{facts['year']}", facts),
        *runs,
        _contribution(entry.subject, entry.actor, "draft"),
    )


def _certificate_state(state: str, *digests: str, act: str = "") -> Callable[[Entry, ReadObject], tuple[Change, ...]]:
    def rows(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
        values: dict[str, str | int] = {"state": state, "reason": entry.reason}
        values.update({name: entry.digests[name] for name in digests})
        head = Put("certificate", {"number": _name(entry)}, values)
        return (head, *_signed(cast("Facts", entry.facts), act, entry.subject)) if act else (head,)

    return rows


def _certificate_released(entry: Entry, read: ReadObject) -> tuple[Change, ...]:
    facts = cast("Facts", entry.facts)
    number = _name(entry)
    values = tuple(
        Put(
            "released",
            {"result_id": value["result_id"], "revision": f"{value['revision']:04d}"},
            {"number": number, "change_kind": value["change_kind"]},
        )
        for value in facts["values"]
    )
    return (*_certificate_state("released", "unsealed", "sealed")(entry, read), *values)


def _delivery_planned(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    facts = cast("Facts", entry.facts)
    delivery = _name(entry)
    columns = ("profile", "produced_at", "destination", "file", "rows")
    head = Put(
        "delivery",
        {"delivery_id": delivery},
        {
            **{name: facts[name] for name in columns},
            "profile_digest": entry.digests["profile"],
            "state": "planned",
            "data": entry.digests["data"],
            "manifest": entry.digests["manifest"],
        },
    )
    rows = tuple(
        Put(
            "delivered",
            {"profile": facts["profile"], "result_id": value["result_id"], "revision": f"{value['revision']:04d}"},
            {"delivery_id": delivery},
        )
        for value in facts["values"]
    )
    return (head, _count("delivery", facts), *rows)


def _delivery_done(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    return (Put("delivery", {"delivery_id": _name(entry)}, {"state": "done"}),)


_PROJECTIONS: dict[str, Callable[[Entry, ReadObject], tuple[Change, ...]]] = {
    "site.founded": _founded,
    "person.added": _person_added,
    "person.unlocked": _nothing,
    "document.added": _document_added,
    "document.approved": _document_approved,
    "customer.added": _registered("customer", "name"),
    "instrument.added": _registered("instrument", "serial", "technique"),
    "standard_lot.added": _registered("standard_lot", "element", "purpose", key="lot"),
    "sample.added": _registered("sample", "lot", "customer", "product", "specification"),
    "preparation.added": _preparation,
    "file.refused": _file_refused,
    "run.ingested": _run_ingested,
    "hold.opened": _hold_opened,
    "run.calculated": _run_calculated,
    "run.submitted": _run_submitted,
    "run.returned": _run_state("returned", "return"),
    "run.reviewed": _run_reviewed,
    "run.reopened": _run_state("reopened", "reopen"),
    "run.cancelled": _run_state("cancelled", "cancel"),
    "certificate.drafted": _certificate_drafted,
    "certificate.discarded": _certificate_state("discarded"),
    "certificate.approved": _certificate_state("approved", "content", act="approve"),
    "certificate.returned": _certificate_state("draft", act="return"),
    "certificate.sealing": _certificate_state("sealing", "evidence", act="release"),
    "certificate.released": _certificate_released,
    "delivery.planned": _delivery_planned,
    "delivery.done": _delivery_done,
}
