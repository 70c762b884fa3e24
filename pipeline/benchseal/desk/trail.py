"""The trail in use: finding entries, everything about one lot, what an entry changed, and reviewing it.

A review names the entries that were looked at; the figures of their list make sure that none was added meanwhile.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, cast

from benchseal.desk.acting import Receipt, as_json
from benchseal.desk.deliveries import given_up_with
from benchseal.desk.reading import all_entries, sample_of_lot
from benchseal.desk.runs import require_reason
from benchseal.desk.site_rules import rules_in_force
from benchseal.problems import Problem, Refusal, Stopped
from benchseal.records.canonical import canonical_bytes, digest, parse_canonical
from benchseal.records.corrections import EFFECT_FIGURES
from benchseal.records.people import Role
from benchseal.records.said import some
from benchseal.records.signatures import Meaning

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from benchseal.desk.acting import Acting
    from benchseal.desk.acts_trail import ReviewTrail
    from benchseal.records.canonical import Json
    from benchseal.records.entries import Entry
    from benchseal.store.protocol import Reading

LISTED_FIGURES = 8
MOST_CHANGES = 40
_LONGEST = 60  # signs of one value
# Acts of checking: they never bar a person from reviewing a trail.
_CHECKING = frozenset(
    {
        "run.reviewed",
        "run.returned",
        "certificate.approved",
        "certificate.returned",
        "certificate.sealing",
        "certificate.justified",
        "correction.consented",
        "document.approved",
        "trail.reviewed",
        "preparation.confirmed",
        "standard_lot.confirmed",
        "periodic.reviewed",
    }
)


@dataclass(frozen=True, slots=True)
class Wanted:
    """What entries to find; an empty text asks nothing. since, until: YYYY-MM-DD, both days included, UTC."""

    who: str = ""
    kind: str = ""
    subject: str = ""
    since: str = ""
    until: str = ""
    text: str = ""


def find(view: Reading, wanted: Wanted) -> Iterator[Entry]:
    """Entries that fit everything asked, oldest first. text: in subject, reason or facts, capitals or not."""
    text = wanted.text.casefold()
    for entry in all_entries(view):
        day = entry.at[:10]
        if (
            wanted.who in {"", entry.actor, entry.actor.removeprefix("p-")}
            and (not wanted.kind or entry.kind == wanted.kind or entry.kind.startswith(f"{wanted.kind}."))
            and (not wanted.subject or concerns(entry, wanted.subject))
            and (not wanted.since or day >= wanted.since)
            and (not wanted.until or day <= wanted.until)
            and (not text or text in _words(entry))
        ):
            yield entry


def concerns(entry: Entry, subject: str) -> bool:
    """Whether an entry is about a subject, given whole (``run/R-00001``) or as its identifier alone."""
    return entry.subject == subject or entry.subject.partition("/")[2] == subject


def of_lot(view: Reading, lot: str) -> tuple[str, list[Entry]]:
    """The sample of a lot, and every entry about it, its portions, runs, holds, certificates and deliveries.

    Raises Stopped where the lot is not known, or is one of several samples.
    """
    sample = str(sample_of_lot(view, lot)["sample"])
    subjects = {f"sample/{sample}"}
    for portion in view.rows("portion", sample=sample):
        subjects.add(f"portion/{portion['batch']}/{portion['portion']}")
        read_in = view.rows("run_portion", batch=portion["batch"], portion=portion["portion"])
        subjects |= {f"run/{row['run']}" for row in read_in}
    subjects |= {f"investigation/{row['investigation']}" for row in view.rows("hold", sample=sample)}
    subjects |= {f"investigation/{row['investigation']}" for row in view.rows("investigation", sample=sample)}
    subjects |= {f"investigation/{row['investigation']}" for row in view.rows("investigation_result", sample=sample)}
    subjects |= {f"opinion/{row['opinion']}" for row in view.rows("opinion", sample=sample)}
    numbers = {str(row["number"]) for row in view.rows("certificate", sample=sample)}
    subjects |= {f"certificate/{number}" for number in numbers}
    for row in (row for number in numbers for row in view.rows("released", number=number)):
        for delivered in view.rows("delivered", result_id=row["result_id"], revision=row["revision"]):
            subjects.add(f"delivery/{delivered['delivery_id']}")
    subjects |= {f"delivery/{name}" for name in given_up_with(view, numbers)}
    effects = [row["effect"] for subject in subjects for row in view.rows("correction", subject=subject)]
    subjects |= {f"correction/{effect[:EFFECT_FIGURES]}" for effect in effects}
    return sample, [entry for entry in all_entries(view) if entry.subject in subjects]


def changes(view: Reading, entries: Sequence[Entry]) -> dict[int, list[str]]:
    """Entry number to what its objects say otherwise than those of the entry before it about the same subject.

    Lines ``work: results/0/outcome/value_text: 12.3 -> 12.4``; at most ``MOST_CHANGES``, then how many more. What was
    put right in a run stands first, as its entry says it: the first of its corrections has none before it. So do typed
    values a second person was shown and confirmed.
    """
    found: dict[int, list[str]] = {}
    by_label: dict[tuple[str, str], list[tuple[int, str]]] = {}
    for entry in entries:
        if lines := [*_put_right(entry), *_shown(entry)]:
            found[entry.seq] = lines
        for label, name in entry.digests.items():
            by_label.setdefault((entry.subject, label), []).append((entry.seq, name))
    for (_, label), versions in by_label.items():
        for (_, before), (seq, after) in pairwise(versions):
            if before != after:
                found.setdefault(seq, []).extend(f"{label}: {line}" for line in _object_changes(view, before, after))
    return {seq: [*lines[:MOST_CHANGES], *_more(lines)] for seq, lines in found.items()}


def _put_right(entry: Entry) -> list[str]:
    """``label of position 17: Y-B2/1 -> Y-B3/1``, of what was put right in a run itself."""
    if entry.kind != "run.corrected":
        return []
    changes = cast("list[dict[str, str]]", entry.facts["changes"])
    return [f"{one['name']}: {one['old']} -> {one['new']}" for one in changes]


def _shown(entry: Entry) -> list[str]:
    """``confirmed: mass_g 1.0120``, of each typed value a second person was shown."""
    if not entry.kind.endswith(".confirmed"):
        return []
    return [f"confirmed: {one}" for one in cast("list[str]", entry.facts.get("values", []))]


def listed(entries: Sequence[Entry]) -> str:
    """First figures of the digest over the numbers and bodies of these entries: what a review names."""
    shown: list[Json] = [
        {"seq": entry.seq, "kind": entry.kind, "at": entry.at, "actor": entry.actor, "reason": entry.reason}
        for entry in entries
    ]
    return digest(canonical_bytes(shown))[:LISTED_FIGURES]


def last_review(entries: Sequence[Entry], person: str) -> Entry | None:
    """The last review of these entries' subject by this person."""
    own = [entry for entry in entries if entry.kind == "trail.reviewed" and entry.actor == person]
    return own[-1] if own else None


def looked_at(view: Reading, review: Entry | None) -> frozenset[int]:
    """Numbers of the entries a review was about, and its own; nothing without one."""
    if review is None:
        return frozenset()
    looked = parse_canonical(view.bytes_of(review.digests["looked"]))
    seen = looked.get("entries") if isinstance(looked, dict) else None
    if not isinstance(seen, list):
        return frozenset()
    return frozenset(one for one in seen if isinstance(one, int)) | {review.seq}


def review_trail(acting: Acting, act: ReviewTrail) -> Receipt:
    """Sign that the entries about a subject were looked at; nobody with an entry of their own among them can."""
    require_reason(act.comment, "ledger review")
    entries = [entry for entry in all_entries(acting.tx) if concerns(entry, act.subject)]
    seen = [entry for entry in entries if entry.kind != "trail.reviewed"]
    if not seen:
        what = "no entry concerns it."
        raise Stopped(Refusal("ledger.unknown", act.subject, what, "Give run/R-00001, certificate/…, sample/…"))
    person = acting.first.person
    own = [entry for entry in seen if entry.actor == person and entry.kind not in _CHECKING]
    if own:
        what = f"entry {own[0].seq} of it ({own[0].kind}) is by {person}."
        raise Stopped(Refusal("duty.own-work", act.subject, what, "Another person has to review this trail."))
    if act.listed != listed(seen):
        what = f"the list is {listed(seen)} now, named is {act.listed or 'none'}."
        remedy = "Entries were added since you looked: see `benchseal ledger show`, then give the figures it ends with."
        raise Stopped(Refusal("trail.changed", act.subject, what, remedy))
    subject = seen[-1].subject
    looked = canonical_bytes(
        {"schema": "trail-review/1", "subject": subject, "entries": as_json([entry.seq for entry in seen])}
    )
    name = acting.tx.keep(looked)
    role = Role.REVIEWER if Role.REVIEWER in acting.first.roles else Role.APPROVER
    signature = acting.sign(acting.first, role, Meaning.REVIEWED, subject, version=1, digest=name)
    acting.write(
        "trail.reviewed", subject, facts={"signature": signature}, digests={"looked": name}, reason=act.comment
    )
    said = f"The trail of {subject} is reviewed: {some(len(seen), 'entry')}, {seen[0].seq} to {seen[-1].seq}."
    return Receipt((said,), {"subject": subject, "entries": as_json([entry.seq for entry in seen])})


def require_trails_reviewed(view: Reading, runs: Iterable[str]) -> None:
    """Where the rules ask for it: every entry about these runs was looked at in a review. Raises Stopped."""
    if rules_in_force(view).trail_review != "required":
        return
    refusals = []
    for run in runs:
        unseen = _unseen(view, f"run/{run}")
        if unseen:
            numbers = ", ".join(str(entry.seq) for entry in unseen)
            what = f"nobody has looked at entr{'y' if len(unseen) == 1 else 'ies'} {numbers} of its trail."
            remedy = f"Somebody with no entry among them runs `benchseal ledger show run/{run}`, then `ledger review`."
            refusals.append(Refusal("trail.unreviewed", f"run/{run}", what, remedy))
    if refusals:
        raise Stopped(*refusals)


def _unseen(view: Reading, subject: str) -> list[Entry]:
    """Entries about a subject, other than of checking, that no review of its trail names."""
    entries = [entry for entry in all_entries(view) if entry.subject == subject]
    seen = {seq for entry in entries if entry.kind == "trail.reviewed" for seq in looked_at(view, entry)}
    return [entry for entry in entries if entry.kind not in _CHECKING and entry.seq not in seen]


def require_day(text: str, option: str) -> str:
    """A day as entries are compared with it. Raises Stopped."""
    from datetime import date  # noqa: PLC0415  beside its only use

    try:
        return date.fromisoformat(text).isoformat() if text else ""
    except ValueError:
        what = f"{text!r} is no day."
        raise Stopped(Problem("ledger.day", option, what, "Write it as 2026-03-02.")) from None


def _words(entry: Entry) -> str:
    return f"{entry.subject} {entry.reason} {canonical_bytes(entry.facts).decode()}".casefold()


def _object_changes(view: Reading, before: str, after: str) -> Iterator[str]:
    try:
        old, new = (parse_canonical(view.bytes_of(name)) for name in (before, after))
    except (KeyError, ValueError):  # not a record, or lost: the digests are all there is to say
        yield f"{before[:16]}… -> {after[:16]}…"
        return
    yield from _differences("", old, new)


def _differences(path: str, old: Json, new: Json) -> Iterator[str]:
    if old == new:
        return
    if isinstance(old, dict) and isinstance(new, dict):
        for key in sorted(old.keys() | new.keys()):
            yield from _differences(f"{path}/{key}".lstrip("/"), old.get(key, "nothing"), new.get(key, "nothing"))
    elif isinstance(old, list) and isinstance(new, list) and len(old) == len(new):
        for place, (one, other) in enumerate(zip(old, new, strict=True)):
            yield from _differences(f"{path}/{place}", one, other)
    else:
        yield f"{path}: {_short(old)} -> {_short(new)}"


def _short(value: Json) -> str:
    text = value if isinstance(value, str) else canonical_bytes(value).decode()
    return text if len(text) <= _LONGEST else f"{text[:_LONGEST]}…"


def _more(lines: Sequence[str]) -> list[str]:
    return [f"{len(lines) - MOST_CHANGES} more"] if len(lines) > MOST_CHANGES else []
