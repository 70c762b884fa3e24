"""What has to be seen by somebody: locked accounts, resets, a clock that went back; and who has access, reviewed.

Each event is acknowledged by an administrator and by an approver, neither of them the person it is about (21 CFR
11.300(d): attempts at misuse are reported at once; which two is ours).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.desk.acting import PROGRAM, Acting, Receipt, Who, as_json
from benchseal.desk.runs import require_reason
from benchseal.problems import Problem, Refusal, Stopped
from benchseal.records.canonical import canonical_bytes, digest
from benchseal.records.people import Role
from benchseal.records.said import some_are
from benchseal.records.signatures import Meaning

if TYPE_CHECKING:
    from benchseal.desk.acts_security import AcknowledgeEvents, ConfirmClock, ReviewAccess
    from benchseal.desk.site import Site
    from benchseal.records.canonical import Json
    from benchseal.store.protocol import Reading, Row

LISTED_FIGURES = 8


def open_events(view: Reading) -> list[Row]:
    """Events that an administrator or an approver has not acknowledged yet, oldest first."""
    return [row for row in view.rows("security_event") if not (row["by_administrator"] and row["by_approver"])]


def acknowledge_events(acting: Acting, act: AcknowledgeEvents) -> Receipt:
    """Acknowledge events, for every role of the two the person has."""
    require_reason(act.comment, "event acknowledge")
    if not act.events:
        raise Stopped(Problem("event.which", "event acknowledge", "no event is named.", "See `benchseal event list`."))
    person = acting.first.person
    roles = sorted(acting.first.roles & {Role.ADMINISTRATOR, Role.APPROVER})
    refusals = []
    for number in dict.fromkeys(act.events):
        row = acting.tx.row("security_event", event=f"{number:09d}")
        if row is None:
            what, remedy = "there is no such event.", "See `benchseal event list`."
            refusals.append(Refusal("event.unknown", f"event {number}", what, remedy))
        elif person == row["person"]:
            what, remedy = f"it is about {person}.", "Somebody else has to acknowledge it."
            refusals.append(Refusal("event.own", f"event {number}", what, remedy))
        elif all(row[f"by_{role}"] for role in roles):
            what = "it was acknowledged already."
            refusals.append(Refusal("event.already", f"event {number}", what, "Nothing needs to be done."))
    if refusals:
        raise Stopped(*refusals)
    numbers = list(dict.fromkeys(act.events))
    acting.write(
        "event.acknowledged",
        f"person/{person}",
        facts={"events": as_json(numbers), "roles": as_json([*roles])},
        reason=act.comment,
    )
    said = f"{some_are(len(numbers), 'event')} acknowledged as {' and '.join(roles)}."
    return Receipt((said,), {"events": as_json(numbers)})


def confirm_clock(acting: Acting, act: ConfirmClock) -> Receipt:
    """The clock is right; entries made meanwhile keep the times they have."""
    require_reason(act.reason, "clock confirm")
    row = acting.tx.row("site", ledger=acting.site.ledger)
    if row is None or not row["clock_back"]:
        what = "the clock is not known to have gone back."
        raise Stopped(Refusal("clock.nothing-open", "clock confirm", what, "Nothing needs to be done."))
    acting.write("clock.confirmed", f"site/{acting.site.ledger}", reason=act.reason)
    return Receipt((f"Signing goes on; the clock says {acting.at}.",), {"at": acting.at})


def review_access(acting: Acting, act: ReviewAccess) -> Receipt:
    """Sign the list of accounts and roles as it stands; it must be the one that was looked at."""
    listing = access_list(acting.tx)
    kept = canonical_bytes(listing)
    now = digest(kept)[:LISTED_FIGURES]
    if act.listed != now:
        what = f"the list is {now} now, named is {act.listed or 'none'}."
        remedy = "Look at it with `benchseal access list`, then give the figures it ends with."
        raise Stopped(Refusal("access.changed", "access review", what, remedy))
    name = acting.tx.keep(kept)
    subject = f"access/{name[:16]}"
    signature = acting.sign(acting.first, Role.APPROVER, Meaning.REVIEWED, subject, version=1, digest=name)
    acting.write("access.reviewed", subject, facts={"signature": signature}, digests={"list": name}, reason=act.comment)
    return Receipt(("The accounts and roles are reviewed.",), {"list": now})


def access_list(view: Reading) -> dict[str, Json]:
    """Every account with its roles, as a review signs it."""
    people: list[Json] = [
        {
            "person": row["person"],
            "printed_name": row["printed_name"],
            "active": bool(row["active"]),
            "suspended": bool(row["suspended"]),
            "roles": [one["role"] for one in view.rows("role", person=row["person"]) if one["active"]],
        }
        for row in view.rows("person")
    ]
    return {"schema": "access-list/1", "people": people}


def note_locked(site: Site, person: str, failures: int) -> None:
    """An account locked itself after wrong passwords: on record, for others to see."""
    who = Who(PROGRAM, PROGRAM, frozenset(), signs=False)
    with site.store.writing() as tx:
        if tx.row("person", person=person) is not None:
            acting = Acting(site, tx, (who,), site.clock())
            acting.write("person.locked", f"person/{person}", facts={"failures": failures}, actor=PROGRAM)
