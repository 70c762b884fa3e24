"""Investigations in words: the case, its questions with facts and answers, its plans, and its timeline."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from benchseal.desk.cases import Case, age_days, allowed_days, is_sum, now_of, overdue, value_text
from benchseal.desk.reading import load
from benchseal.records.investigation import LINES, PlanRecord
from benchseal.records.quantities import unit_shown

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence
    from datetime import datetime

    from benchseal.records.entries import Entry
    from benchseal.store.protocol import Reading, Row

_TEXT_SHOWN = 200


def value(mark: Row) -> str:
    """``0.62 ± 0.08``, as it came."""
    expanded = f" ± {mark['expanded_text']}" if mark["expanded_text"] else ""
    return f"{mark['value_text'] or 'no value'}{expanded}"


def case_lines(view: Reading, case: Case, facts: Mapping[str, tuple[str, ...]], now: datetime) -> list[str]:
    """One investigation for somebody who works on it."""
    return [
        *_head(view, case, now),
        "results:",
        *(f"  {line}" for line in _results(view, case)),
        *(["questions:", *(f"  {line}" for line in _questions(view, case, facts))] if _asks(case) else []),
        *_steps(view, case),
        f"waits for {case.waits_for}",
    ]


def report_lines(
    view: Reading, case: Case, facts: Mapping[str, tuple[str, ...]], entries: Sequence[Entry], now: datetime
) -> list[str]:
    """The whole as a report: the case, then its timeline."""
    lines = [
        f"  {one['at']}  {one['who']}  {one['what']}{'; ' + one['words'] if one['words'] else ''}"
        for one in timeline(entries)
    ]
    return [
        f"Report of investigation {case.name}",
        "",
        *case_lines(view, case, facts, now),
        "",
        "timeline (UTC):",
        *lines,
    ]


def timeline(entries: Sequence[Entry]) -> list[dict[str, Any]]:
    """Each entry of the case: when, who, what, in which words, signed as what."""
    found = []
    for entry in entries:
        signature = entry.facts.get("signature")
        statement = signature.get("statement") if isinstance(signature, dict) else None
        signed = f", signed as {statement['meaning']}" if isinstance(statement, dict) else ""
        what = entry.kind.partition(".")[2].replace("_", " ") + _about(entry) + signed
        found.append({"entry": entry.seq, "at": entry.at, "who": entry.actor, "what": what, "words": entry.reason})
    return found


def case_json(view: Reading, case: Case, facts: Mapping[str, tuple[str, ...]], now: datetime) -> dict[str, Any]:
    """The same for ``--json``."""
    return {
        "investigation": case.row,
        "working_days": age_days(view, case, now),
        "overdue": overdue(view, case, now),
        "waits_for": case.waits_for,
        "results": [{**one, "now": _now(view, one)} for one in case.results],
        "questions": [
            {"line": line.name, "asks": line.asks, "phase": line.phase, "facts": list(facts.get(line.name, ())),
             "answer": case.answers.get(line.name)}
            for line in LINES
        ],
        "plans": list(case.plans),
        "holds": list(case.holds),
    }  # fmt: skip


def _head(view: Reading, case: Case, now: datetime) -> Iterator[str]:
    row = case.row
    yield f"{case.name}: {row['outcome'] or case.state}; lot {row['lot']} of {row['customer']}, sample {row['sample']}"
    original = case.results[0]
    unit = unit_shown(row["unit"])
    yield f"{row['line']}: {value(original)} {unit} in {row['run']}; the limit is {row['limit_text']} {unit}"
    late = f", more than the {allowed_days(view, case)} allowed" if overdue(view, case, now) else ""
    until = f"closed {row['closed_at']}" if row["closed_at"] else "open"
    yield f"opened {row['opened_at']}, {until}, {age_days(view, case, now)} working days{late}"
    if row["means"] == "investigate":
        yield f"work on it began {row['started_at']}" if row["started_at"] else "nobody has begun to work on it"
    told = f"told: {row['told_who']} at {row['told_at']}, {row['told_how']}"
    yield told if row["told_at"] else "nobody is on record as told: customer and quality unit"
    held = [f"{hold['lot']} ({hold['element']})" for hold in case.holds if hold["is_open"]]
    yield f"held: lots {', '.join(held)}" if held else "it holds nothing"


def _results(view: Reading, case: Case) -> Iterator[str]:
    for mark in case.results:
        now = _now(view, mark)
        came = f"{mark['run']}, {mark['kind']}{' by plan ' + mark['plan'] if mark['plan'] else ''}: {value(mark)}"
        verdict = f", {mark['verdict']}" if mark["verdict"] != "none" else ""
        changed = f"; now {now}" if now != mark["value_text"] and not is_sum(case) else ""
        why = f" ({mark['why']})" if mark["why"] else ""
        aside = "; set aside" if mark["set_aside"] else ""
        by = f", measured {mark['measured_at']} by {mark['analyst'] or 'not on record'}"
        yield f"{came}{verdict}{by}{changed}{aside}{why}"


def _now(view: Reading, mark: Row) -> str:
    found = now_of(view, mark)
    return "none" if found is None else value_text(found)


def _asks(case: Case) -> bool:
    return bool(case.row["means"] == "investigate")


def _questions(view: Reading, case: Case, facts: Mapping[str, tuple[str, ...]]) -> Iterator[str]:
    for line in LINES:
        if line.phase == 2 and case.state in {"open", "phase 1"} and line.name not in case.answers:
            continue
        yield f"{line.name}: {line.asks}"
        yield from (f"  on record: {fact}" for fact in facts.get(line.name, ()))
        answer = case.answers.get(line.name)
        if answer is None:
            yield "  not answered"
            continue
        yield f"  {answer['person']}, {answer['at']}: {answer['answer']}"
        yield f"  evidence: {_evidence(view, answer['evidence'], answer['evidence_name'])}"


def _steps(view: Reading, case: Case) -> Iterator[str]:
    row = case.row
    if row["statement"]:
        yield f"statement of {row['stated_by']}: {row['statement']}"
    for plan in case.plans:
        record = load(view, PlanRecord, plan["record"])
        by = f", by {record.analyst}" if record.analyst else ""
        rule = f"; rule: {record.rule}" if record.rule else ""
        same = f"; same analyst because {record.same_analyst_reason}" if record.same_analyst_reason else ""
        yield (
            f"plan {plan['plan']}, {record.kind}, {plan['state']}: {record.readings} of {record.sample}{by}, signed "
            f"{plan['signed_at']} by {plan['person']}: {record.rationale}{rule}{same}"
        )
    if row["cause"]:
        also = f" (it explains {row['also']} too)" if row["also"] else ""
        yield f"cause, {row['category']}: {row['cause']}{also}"
    if row["conclusion"]:
        yield f"decided, {row['outcome']}: {row['conclusion']}"


def _evidence(view: Reading, name: str, file: str) -> str:
    """A file by name and digest; a text as it is."""
    if file:
        return f"file {file}, SHA-256 {name}"
    text = view.bytes_of(name).decode("utf-8", "replace")
    return text if len(text) <= _TEXT_SHOWN else f"{text[:_TEXT_SHOWN]}…"


def _about(entry: Entry) -> str:
    """What the entry is about, beyond its kind."""
    facts = entry.facts
    match entry.kind.partition(".")[2]:
        case "answered":
            said = f" {facts['line']}"
        case "result":
            said = f" {facts['run']}, {facts['kind']}: {facts['value_text'] or 'no value'}"
        case "planned":
            said = f" {facts['kind']}, {facts['readings']} of {facts['sample']}"
        case "told":
            said = f": {facts['who']}, {facts['how']}"
        case "closed":
            said = f": {facts['outcome']}"
        case "extended":
            said = f" to lot {facts['lot']}"
        case _:
            said = ""
    return said
