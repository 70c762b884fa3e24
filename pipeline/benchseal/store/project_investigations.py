"""Derived rows of investigations: the case, its results, answers and plans, and what is held."""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

from benchseal.store.changes import Change, Put
from benchseal.store.project_rows import Facts, contribution, counted, name_of, signed

if TYPE_CHECKING:
    from benchseal.records.entries import Entry
    from benchseal.store.project_rows import Projection, ReadObject

_HEAD = ("means", "state", "sample", "lot", "customer", "element", "line", "run", "result_id", "limit_text", "unit")
_RESULT = (
    "kind",
    "plan",
    "sample",
    "result",
    "value_text",
    "expanded_text",
    "verdict",
    "analyst",
    "measured_at",
    "why",
)


def _opened(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    facts = cast("Facts", entry.facts)
    head: dict[str, str | int] = {name: facts[name] for name in _HEAD}
    head.update({"opened_at": entry.at, "work": entry.digests["work"], "bound": entry.digests["bound"]})
    rows: tuple[Change, ...] = (
        Put("investigation", {"investigation": name_of(entry)}, head),
        counted("investigation", facts),
        _of(entry, facts["original"]),
    )
    return (*rows, _held(entry, facts, facts["why"])) if facts["means"] == "investigate" else rows


def _held(entry: Entry, facts: Facts, why: str) -> Put:
    return Put(
        "hold",
        {"sample": facts["sample"], "element": facts["element"], "investigation": name_of(entry)},
        {"lot": facts["lot"], "customer": facts["customer"], "why": why, "is_open": 1},
    )


def _of(entry: Entry, one: Facts) -> Put:
    key = {"investigation": name_of(entry), "run": one["run"], "result_id": one["result_id"]}
    return Put("investigation_result", key, {name: one[name] for name in _RESULT})


def _result(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    return (_of(entry, cast("Facts", entry.facts)),)


def _head(entry: Entry, **values: str) -> Put:
    """The case moves: its new state, and since when it is worked on."""
    facts = cast("Facts", entry.facts)
    started = {"started_at": entry.at} if facts["starts"] else {}
    moved: dict[str, str | int] = {"state": facts["state"], **started, **values}
    return Put("investigation", {"investigation": name_of(entry)}, moved)


def _answered(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    facts = cast("Facts", entry.facts)
    values: dict[str, str | int] = {
        "answer": entry.reason,
        "evidence": entry.digests["evidence"],
        "evidence_name": facts["evidence_name"],
        "person": entry.actor,
        "at": entry.at,
    }
    key = {"investigation": name_of(entry), "line": facts["line"]}
    return (_head(entry), Put("investigation_answer", key, values), contribution(entry.subject, entry.actor, "assess"))


def _stated(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    head = _head(entry, statement=entry.reason, stated_by=entry.actor)
    return (head, *signed(cast("Facts", entry.facts), "state", entry.subject))


def _told(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    facts = cast("Facts", entry.facts)
    told = {"told_at": entry.at, "told_who": facts["who"], "told_how": facts["how"]}
    closed = {"closed_at": entry.at} if facts["state"] == "told" else {}
    return (_head(entry, **told, **closed),)


def _planned(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    facts = cast("Facts", entry.facts)
    investigation = name_of(entry)
    values: dict[str, str | int] = {name: facts[name] for name in ("kind", "sample", "analyst", "readings")}
    values.update({"record": entry.digests["plan"], "signed_at": entry.at, "person": entry.actor, "state": "in force"})
    replaced = tuple(
        Put("investigation_plan", {"investigation": investigation, "plan": plan}, {"state": "replaced"})
        for plan in facts["replaces"]
    )
    return (
        _head(entry),
        *replaced,
        Put("investigation_plan", {"investigation": investigation, "plan": facts["plan"]}, values),
        *_signed(entry, "decide"),
    )


def _signed(entry: Entry, act: str) -> tuple[Change, ...]:
    facts = cast("Facts", entry.facts)
    return (*signed(facts, act, entry.subject), contribution(entry.subject, entry.actor, act))


def _cause_found(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    facts = cast("Facts", entry.facts)
    return (
        _head(entry, category=facts["category"], cause=entry.reason, also=" ".join(facts["also"])),
        *_signed(entry, "assess"),
    )


def _invalidated(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    facts = cast("Facts", entry.facts)
    set_aside = tuple(
        Put(
            "investigation_result",
            {"investigation": name_of(entry), "run": one["run"], "result_id": one["result_id"]},
            {"set_aside": one["result"]},
        )
        for one in facts["results"]
    )
    return (_head(entry), *set_aside, *_signed(entry, "decide"))


def _closed(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    facts = cast("Facts", entry.facts)
    lifted = tuple(
        Put(
            "hold",
            {"sample": sample, "element": element, "investigation": name_of(entry)},
            {"is_open": 0},
        )
        for sample, element in facts["holds"]
    )
    head = _head(entry, outcome=facts["outcome"], conclusion=entry.reason, closed_at=entry.at)
    return (head, *lifted, *_signed(entry, "decide"))


def _extended(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    facts = cast("Facts", entry.facts)
    why = f"{name_of(entry)} of another lot was extended to it: {entry.reason}"
    return (_head(entry), _held(entry, facts, why))


def _step(act: str) -> Projection:
    def rows(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
        return (_head(entry), *_signed(entry, act))

    return rows


INVESTIGATIONS: dict[str, Projection] = {
    "investigation.opened": _opened,
    "investigation.result": _result,
    "investigation.answered": _answered,
    "investigation.stated": _stated,
    "investigation.told": _told,
    "investigation.planned": _planned,
    "investigation.cause_found": _cause_found,
    "investigation.cause_refused": _step("decide"),
    "investigation.invalidated": _invalidated,
    "investigation.no_cause": _step("assess"),
    "investigation.evaluated": _step("assess"),
    "investigation.closed": _closed,
    "investigation.extended": _extended,
}
