"""Reports of records as views for paper: the trail of a subject, one lot."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any, cast

from benchseal import __version__
from benchseal.certificate.record_page import Change, Event, RecordPage, Section
from benchseal.desk.changed import corrected_of, subjects_of_run
from benchseal.desk.clock import stamp
from benchseal.desk.reading import all_entries
from benchseal.desk.site_rules import rules_in_force
from benchseal.desk.trail import changes, concerns, of_lot
from benchseal.identity.statements import local_time, role_words, shown
from benchseal.problems import Refusal, Stopped
from benchseal.records.quantities import unit_shown
from benchseal.records.shape import record_of
from benchseal.records.signatures import Signature

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from benchseal.desk.site import Site
    from benchseal.records.entries import Entry
    from benchseal.store.protocol import Row
    from benchseal.store.sqlite import SqliteReading


def trail_page(site: Site, view: SqliteReading, subject: str, person: str) -> tuple[RecordPage, list[Entry]]:
    """The trail of one subject, given as in ``ledger show``. Raises Stopped where nothing is on record about it."""
    entries = [entry for entry in all_entries(view) if concerns(entry, subject)]
    if not entries:
        what = "no entry concerns it."
        raise Stopped(Refusal("ledger.unknown", subject, what, "Give run/R-00001, certificate/…, sample/…"))
    page = _page(site, view, ("Trail of records", entries[-1].subject), entries, (), person)
    return page, entries


def lot_page(site: Site, view: SqliteReading, lot: str, person: str) -> tuple[RecordPage, list[Entry]]:
    """The timeline of one lot: sample, portions, runs, holds, certificates, deliveries."""
    sample, entries = of_lot(view, lot)
    row = view.row("sample", sample=sample) or {}
    certificates = tuple(
        (one["number"], one["kind"], one["state"], one["reason"]) for one in view.rows("certificate", sample=sample)
    )
    sections = (
        Section("Sample", _SAMPLE, (_cells(row, _SAMPLE),)),
        Section("Runs and results", _OF_LOT, tuple(_lot_rows(view, sample))),
        _changed(view, _subjects_of_lot(view, sample)),
        Section("Certificates", ("number", "kind", "state", "reason"), certificates),
    )
    page = _page(site, view, ("Timeline of a lot", str(row.get("lot", lot))), entries, sections, person)
    short = (replace(event, changes=(), who=event.who.partition(" (")[0]) for event in page.events)
    return replace(page, events=_grouped(short), compact=True), entries


_SAMPLE = ("sample", "lot", "product", "customer", "specification")
_OF_LOT = ("run", "what", "method", "instrument, measured (UTC)", "result ± U", "verdict", "state of the run")
_CARRIER = "packet:"  # what several runs are signed by together: no value of the record
_CHANGED_SINCE = "Changed since first entry"
_CHANGED = ("of", "what", "before", "after", "by", "at (UTC)", "reason")


def _changed(view: SqliteReading, subjects: Sequence[str]) -> Section:
    """Whether anything a print rests on was changed since it was first entered (Annex 11, 8.2), and how."""
    rows = tuple(
        (one.subject, one.name, one.old, one.new, one.person, one.at[:16].replace("T", " "), one.reason)
        for one in corrected_of(view, subjects)
    )
    if not rows:
        return Section(_CHANGED_SINCE, lines=("Nothing it rests on was changed since it was first entered.",))
    return Section(_CHANGED_SINCE, _CHANGED, rows)


def _subjects_of_lot(view: SqliteReading, sample: str) -> list[str]:
    """What the results of a sample rest on that people enter; of the runs' portions its own and the batch's."""
    others = {
        f"portion/{row['batch']}/{row['portion']}" for row in view.rows("portion") if row["sample"] not in {"", sample}
    }
    found = [subject for run in _runs_of(view, sample) for subject in subjects_of_run(view, run)]
    return [f"sample/{sample}", *(subject for subject in found if subject not in others)]


def _cells(row: Row | dict[str, Any], names: Sequence[str]) -> tuple[str, ...]:
    return tuple(str(row.get(name, "")) for name in names)


def _runs_of(view: SqliteReading, sample: str) -> list[Row]:
    names = {
        one["run"]
        for portion in view.rows("portion", sample=sample)
        for one in view.rows("run_portion", batch=portion["batch"], portion=portion["portion"])
    }
    return [row for row in view.rows("run") if row["run"] in names]


def _lot_rows(view: SqliteReading, sample: str) -> list[tuple[str, ...]]:
    return [
        (
            row["run"],
            f"{row['element']} {row['quantity'].replace('_', ' ')}",
            run["method"],
            f"{run['instrument']}, {run['measured_at'][:16].replace('T', ' ')}",
            _result_words(row),
            "" if row["verdict"] == "none" else row["verdict"],
            run["state"],
        )
        for run in _runs_of(view, sample)
        for row in view.rows("result", run=run["run"], sample=sample)
    ]


def _result_words(row: Row) -> str:
    if not row["value_text"]:
        return str(row["outcome"]).replace("_", " ")
    spread = f" ± {row['expanded_text']}" if row["expanded_text"] else ""
    return f"{row['value_text']}{spread} {unit_shown(row['unit'])}"


def _page(  # noqa: PLR0913, PLR0917  the parts of a page
    site: Site,
    view: SqliteReading,
    named: tuple[str, str],
    entries: Sequence[Entry],
    sections: tuple[Section, ...],
    person: str,
) -> RecordPage:
    row = view.row("site", ledger=site.ledger) or {}
    now, zone = stamp(site.clock()), str(row.get("zone", "UTC"))
    about = (
        ("entries", f"{len(entries)}, numbers {entries[0].seq} to {entries[-1].seq} of {view.size()}"),
        ("zone", f"{zone}; times below are UTC where nothing else is said"),
        ("made", f"{local_time(now, zone)}, {now[:19].replace('T', ' ')} UTC, by {printed_person(view, person)}"),
        ("ledger", site.ledger),
    )
    return RecordPage(
        title=named[0],
        subject=named[1],
        laboratory=str(row.get("name", "")),
        address=str(row.get("address", "")).replace("\n", ", "),
        program=f"benchseal {__version__}",
        made_at=f"{now[:19]}Z",
        about=about,
        sections=sections,
        signatures=shown_signatures(entries),
        events=events_of(view, entries, zone),
        paper=rules_in_force(view).paper,
    )


def _why(entry: Entry) -> str:
    """What was said; of a certificate that was superseded, which nobody says anything of, by which."""
    return f"replaced by {entry.facts['by']}" if entry.kind == "certificate.superseded" else entry.reason


def events_of(view: SqliteReading, entries: Sequence[Entry], zone: str) -> tuple[Event, ...]:
    """Entries as a report tells them: who with which role then, what, why, and what each changed."""
    changed = changes(view, entries)
    roles = roles_then(all_entries(view))
    return tuple(
        Event(
            entry=str(entry.seq),
            at=f"{entry.at[:19].replace('T', ' ')} UTC",
            local=local_time(entry.at, zone),
            who=printed_person(view, entry.actor),
            role=", ".join(role_words(role) for role in sorted(roles.get(entry.seq, ()))),
            what=entry.kind.replace(".", " ").replace("_", " "),
            about=entry.subject,
            reason=_why(entry),
            signed=_signed(entry),
            changes=tuple(_change(line) for line in changed.get(entry.seq, ()) if not line.startswith(_CARRIER)),
        )
        for entry in entries
    )


def _grouped(events: Iterable[Event]) -> tuple[Event, ...]:
    """Entries of one kind, one after the other, by one person, with one signature or none: one line."""
    found: list[Event] = []
    for event in events:
        last = found[-1] if found else None
        same = last and (last.what, last.who, last.signed, last.reason)
        if last and same == (event.what, event.who, event.signed, event.reason):
            first = last.entry.partition(" to ")[0]
            about = f"{last.about.partition(' … ')[0]} … {event.about}"
            found[-1] = replace(last, entry=f"{first} to {event.entry}", about=about)
        else:
            found.append(event)
    return tuple(found)


def roles_then(entries: Sequence[Entry]) -> dict[int, frozenset[str]]:
    """Entry number to the roles its actor had when it was made."""
    now: dict[str, set[str]] = {}
    found = {}
    for entry in entries:
        facts = cast("dict[str, Any]", entry.facts)
        person = entry.subject.partition("/")[2]
        found[entry.seq] = frozenset(now.get(entry.actor, set()))
        if entry.kind == "site.founded":
            now = {one["person"]: set(one["roles"]) for one in facts["persons"]}
            found[entry.seq] = frozenset(now.get(entry.actor, set()))
        elif entry.kind == "person.added":
            now[facts["person"]] = set(facts["roles"])
        elif entry.kind == "person.role_given":
            now.setdefault(person, set()).add(facts["role"])
        elif entry.kind == "person.role_taken":
            now.get(person, set()).discard(facts["role"])
    return found


def shown_signatures(entries: Sequence[Entry]) -> list[tuple[str, ...]]:
    """Every signature these entries carry, in the lines people read."""
    found = [(entry.kind, entry.facts["signature"]) for entry in entries if "signature" in entry.facts]
    read = [(kind, record_of(Signature, cast("Any", one))) for kind, one in found]
    return [shown(one.statement, one.signature, kind) for kind, one in read]


def _signed(entry: Entry) -> str:
    signature = cast("dict[str, Any] | None", entry.facts.get("signature"))
    if not signature:
        return ""
    return f"signed as {signature['statement']['meaning']}, {signature['signature'][:8]}"


def _change(line: str) -> Change:
    """A line of ``changes``: label, path, old and new."""
    label, _, rest = line.partition(": ")
    path, _, values = rest.partition(": ")
    old, arrow, new = values.partition(" -> ")
    return Change(f"{label}: {path}", old, new) if arrow else Change(line, "", "")


def printed_person(view: SqliteReading, person: str) -> str:
    """Printed name and user id."""
    row = view.row("person", person=person)
    return f"{row['printed_name']} ({person})" if row else person
