"""The periodic review: a report of a span of the ledger, made again from its entries, and signed (EU GMP Annex 11, 11).

The report ends at a named entry, so that work going on meanwhile does not change what is signed. What is open and
overdue is as ``doctor`` found it, its code and place; the door asks it, since it stands above the desk.
"""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING, Final

from benchseal.desk.acting import Receipt, as_json
from benchseal.desk.impact import periods_of
from benchseal.desk.reading import all_entries
from benchseal.desk.runs import require_reason
from benchseal.desk.site_rules import rules_in_force
from benchseal.problems import Refusal, Stopped
from benchseal.records.canonical import canonical_bytes, digest
from benchseal.records.people import Role
from benchseal.records.signatures import Meaning

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from benchseal.desk.acting import Acting
    from benchseal.desk.acts_periodic import SignPeriodic
    from benchseal.records.canonical import Json
    from benchseal.records.entries import Entry
    from benchseal.records.site_rules import SiteRules
    from benchseal.store.protocol import Reading

FIGURES: Final = 8
# Entries a review reads one by one; others are counted. A kind that ends with a full stop is a family.
_INCIDENTS: Final = (
    "person.locked", "person.password_reset", "person.enabled", "recovery.used", "clock.back", "clock.confirmed",
    "site.restored", "file.refused", "late.noted", "correction.made", "run.cancelled", "run.reopened",
    "certificate.withdrawn", "certificate.touched", "investigation.",
)  # fmt: skip
_CHANGES: Final = (
    "document.approved", "program.changed", "person.added", "person.confirmed", "person.role_given",
    "person.role_taken", "person.disabled", "exception.", "key.", "qualification.signed",
)  # fmt: skip
_LAST: Final = {
    "backup.made": "backup",
    "backup.tested": "restore test",
    "access.reviewed": "access review",
    "recovery.checked": "trial of the envelope",
    "trail.reviewed": "trail review",
    "periodic.reviewed": "periodic review",
    "qualification.signed": "qualification",
}


def report_of(view: Reading, upto: int, amiss: Sequence[str]) -> dict[str, Json]:
    """The report of the entries after the last periodic review, up to ``upto``; amiss: code and place of findings."""
    entries = [entry for entry in all_entries(view) if entry.seq <= upto]
    reviews = [entry for entry in entries if entry.kind == "periodic.reviewed"]
    since = _upto(reviews[-1]) if reviews else 0
    span = [entry for entry in entries if entry.seq > since]
    periods = [one for one in periods_of(entries) if one.last == 0 or one.last > since]
    return {
        "schema": "periodic-report/1",
        "since": since + 1,
        "upto": upto,
        "from": span[0].at if span else "",
        "to": span[-1].at if span else "",
        "programs": [{"program": one.program, "first": one.first, "since": one.since} for one in periods],
        "counts": dict(sorted(Counter(entry.kind for entry in span).items())),
        "incidents": as_json([_line(entry) for entry in span if _is(entry, _INCIDENTS)]),
        "changes": as_json([_line(entry) for entry in span if _is(entry, _CHANGES)]),
        "last": {what: _last(entries, kind) for kind, what in _LAST.items()},
        "signature_letter": _letter(rules_in_force(view)),
        "amiss": as_json(sorted(amiss)),
    }


def _letter(rules: SiteRules) -> str:
    """The letter to an authority about electronic signatures, as the rules of the site name it; empty without one."""
    return f"{rules.signature_letter}, {rules.signature_letter_on}" if rules.signature_letter else ""


def listed(report: dict[str, Json]) -> str:
    """What a report ends with and its signature names: last entry and first figures of its digest."""
    return f"{report['upto']}-{digest(canonical_bytes(report))[:FIGURES]}"


def changes_after(view: Reading, seq: int) -> list[dict[str, Json]]:
    """What was changed of program, documents, people, exceptions and keys after an entry."""
    return [_line(entry) for entry in all_entries(view) if entry.seq > seq and _is(entry, _CHANGES)]


def sign_periodic(acting: Acting, act: SignPeriodic) -> Receipt:
    """Sign the report that was looked at. It must still come out as it was."""
    require_reason(act.comment, "periodic sign")
    number, _, _ = act.listed.partition("-")
    upto = int(number) if number.isascii() and number.isdigit() else 0
    size = acting.tx.size()
    report = report_of(acting.tx, upto, act.amiss) if 0 < upto <= size else {}
    if not report or listed(report) != act.listed:
        now = listed(report_of(acting.tx, size, act.amiss))
        what = f"no report ends with {act.listed or 'nothing'}; it would now be {now}."
        remedy = "Look at it with `benchseal periodic`, then give what it ends with."
        raise Stopped(Refusal("periodic.changed", "periodic sign", what, remedy))
    name = acting.tx.keep(canonical_bytes(report))
    subject = f"periodic/{name[:16]}"
    signature = acting.sign(acting.first, Role.APPROVER, Meaning.REVIEWED, subject, version=1, digest=name)
    acting.write(
        "periodic.reviewed",
        subject,
        facts={"upto": upto, "signature": signature},
        digests={"report": name},
        reason=act.comment,
    )
    said = f"The report of entries {report['since']} to {upto} is signed."
    return Receipt((said,), {"upto": upto, "report": name})


def _upto(review: Entry) -> int:
    upto = review.facts["upto"]
    return upto if isinstance(upto, int) else review.seq


def _is(entry: Entry, kinds: tuple[str, ...]) -> bool:
    return any(entry.kind == kind or (kind.endswith(".") and entry.kind.startswith(kind)) for kind in kinds)


def _line(entry: Entry) -> dict[str, Json]:
    return {"entry": entry.seq, "at": entry.at, "kind": entry.kind, "subject": entry.subject, "reason": entry.reason}


def _last(entries: Iterable[Entry], kind: str) -> str:
    return max((entry.at for entry in entries if entry.kind == kind), default="")
