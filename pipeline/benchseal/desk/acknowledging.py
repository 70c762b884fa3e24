"""What receivers say of deliveries, put on record; rows they did not take are held until a person acts on each.

Nothing is sent again by itself: a row that was refused once would be refused again. A corrected result is a row of its
own, in a later delivery; ``export again`` writes the same bytes once more where only the way was at fault.
"""

from __future__ import annotations

import json
from datetime import timedelta
from typing import TYPE_CHECKING

from benchseal.desk.acting import Receipt, as_json
from benchseal.desk.clock import moment_of
from benchseal.desk.deliveries import GIVEN_UP, delivery_row
from benchseal.desk.runs import require_reason
from benchseal.export.acknowledgements import read_acknowledgement
from benchseal.problems import Finding, Problem, Refusal, Stopped
from benchseal.records.canonical import canonical_bytes, digest
from benchseal.records.entries import read_entry
from benchseal.records.said import some, some_are
from benchseal.review.cycles import DELIVERY, decide
from benchseal.review.duty import Situation

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import datetime

    from benchseal.desk.acting import Acting
    from benchseal.desk.acts_deliveries import AcknowledgeDelivery, SettleRows
    from benchseal.records.acknowledgement import Acknowledgement
    from benchseal.records.canonical import Json
    from benchseal.store.protocol import Reading, Row

_ACTS = {"accepted": "accept", "partly": "accept in part", "rejected": "reject"}
_SHOWN = 10


def acknowledge_delivery(acting: Acting, act: AcknowledgeDelivery) -> Receipt:
    """Put an acknowledgement file on record. The same file again, or the same said in another form, changes nothing."""
    read = read_acknowledgement(act.data, act.source)
    if isinstance(read, tuple):
        raise Stopped(*read)
    row = delivery_row(acting.tx, read.delivery_id)
    if _is_said(acting.tx, row, act.data, read):
        said = f"{read.delivery_id}: this answer is already on record."
        return Receipt((said,), {"delivery": read.delivery_id, "state": str(row["state"]), "rejected": 0})
    if row["state"] == GIVEN_UP:
        raise Stopped(_answered_after(read.delivery_id))
    decided = decide(
        DELIVERY, _ACTS[read.state], Situation(f"delivery {read.delivery_id}", row["state"]), acting.first.person
    )
    if isinstance(decided, Refusal):
        raise Stopped(decided)
    kept = _held(acting.tx, row, read, act.source)
    before = {int(one["row_no"]) for one in acting.tx.rows("delivery_hold", delivery_id=read.delivery_id, is_open=1)}
    freed = sorted(before - {int(one[0]) for one in kept})
    acting.write(
        "delivery.acknowledged",
        f"delivery/{read.delivery_id}",
        facts={"state": decided, "source": act.source, "rejected": len(kept), "freed": as_json(freed)},
        digests={
            "file": acting.tx.keep(act.data),
            "held": acting.tx.keep(canonical_bytes(as_json(kept))),
        },
    )
    said = (
        f"{read.delivery_id}: {decided}."
        if not kept
        else f"{read.delivery_id}: {decided}; {some_are(len(kept), 'row')} held."
    )
    data: dict[str, Json] = {"delivery": read.delivery_id, "state": decided, "rejected": len(kept)}
    return Receipt((said,), data, tuple(_rejected(read.delivery_id, kept)))


def _is_said(view: Reading, row: Row, data: bytes, read: Acknowledgement) -> bool:
    """Whether the answer on record says the same: a repeat must not hold rows again that a person settled."""
    if not row["answer"]:
        return False
    if row["answer"] == digest(data) or row["state"] == read.state == "accepted":
        return True
    before = read_acknowledgement(view.bytes_of(row["answer"]), "")
    return not isinstance(before, tuple) and _substance(before) == _substance(read)


def _substance(read: Acknowledgement) -> tuple[object, ...]:
    return read.state, read.reason, frozenset(read.rejected)


def settle_rows(acting: Acting, act: SettleRows) -> Receipt:
    """Say what was done about held rows; they leave the list of what is held."""
    require_reason(act.reason, act.delivery)
    delivery_row(acting.tx, act.delivery)
    waiting = {int(row["row_no"]) for row in acting.tx.rows("delivery_hold", delivery_id=act.delivery, is_open=1)}
    rows = act.rows or tuple(sorted(waiting))
    unknown = [str(number) for number in rows if number not in waiting]
    if unknown or not rows:
        what = f"row {', '.join(unknown[:_SHOWN])} is not held." if unknown else "no row of it is held."
        raise Stopped(Refusal("delivery.row-not-held", act.delivery, what, "See `benchseal export list --held`."))
    acting.write(
        "delivery.settled", f"delivery/{act.delivery}", reason=act.reason, facts={"rows": as_json(sorted(set(rows)))}
    )
    left = len(waiting) - len(set(rows))
    said = f"{act.delivery}: {some_are(len(set(rows)), 'row')} settled, {left or 'none'} still held."
    return Receipt((said,), {"delivery": act.delivery, "settled": len(set(rows)), "held": left})


def late(view: Reading, now: datetime, profile: str = "") -> Iterator[Finding]:
    """Deliveries whose receiver should have answered by now: of one profile, or of all."""
    for row in view.rows("delivery", state="done", **({"profile": profile} if profile else {})):
        if not row["answer_hours"]:
            continue
        due = moment_of(row["done_at"]) + timedelta(hours=int(row["answer_hours"]))
        if now > due:
            hours = int(row["answer_hours"])
            agreed = f"{some(hours, 'hour')} {'was' if hours == 1 else 'were'} agreed"
            what = f"it was delivered at {row['done_at']} and is not acknowledged; {agreed}."
            remedy = "Ask the receiver; then `benchseal export acknowledge FILE`."
            yield Finding("delivery.acknowledgement-late", str(row["delivery_id"]), what, remedy)


def held(view: Reading) -> list[Row]:
    """Rows that receivers did not take and nobody acted on yet."""
    return sorted(view.rows("delivery_hold", is_open=1), key=lambda row: (row["delivery_id"], int(row["row_no"])))


def alarms(view: Reading, now: datetime, profile: str = "") -> tuple[Finding, ...]:
    """What a scheduled export should wake somebody for: of one profile, or of all."""
    name_of, _, _ = profile.partition("@")
    counts: dict[str, int] = {}
    for row in held(view):
        if name_of and delivery_row(view, str(row["delivery_id"]))["profile"] != name_of:
            continue
        counts[str(row["delivery_id"])] = counts.get(str(row["delivery_id"]), 0) + 1
    waiting = [
        Finding(
            "delivery.acknowledgement-rejected",
            name,
            f"not taken by its receiver: {some_are(count, 'row')} held.",
            _REMEDY,
        )
        for name, count in counts.items()
    ]
    return (*late(view, now, name_of), *waiting)


_REMEDY = "See `benchseal export list --held`; when something was done about them, `benchseal export settle`."


def _answered_after(delivery_id: str) -> Refusal:
    what = "its receiver answers, but it was given up as not arrived: its results may come twice."
    remedy = (
        "Ask the receiver. If it holds the delivery: `benchseal export close --arrived yes`, then acknowledge again; "
        "where its results were sent again since, have it removed there."
    )
    return Refusal("delivery.answered-after", delivery_id, what, remedy)


def _held(view: Reading, row: Row, read: Acknowledgement, source: str) -> list[list[str | int]]:
    """Row number, result, revision and reason of each row that was not taken. Raises Stopped.

    Of a delivery that was rejected that is every row; those that are named keep their own reason.
    """
    values = _values(view, row)
    reasons = {one.row_no: one.reason for one in read.rejected}
    if read.state == "rejected":
        whole = read.reason or "rejected as a whole"
        reasons = dict.fromkeys(range(1, len(values) + 1), whole) | reasons
    beyond = [number for number in reasons if number > len(values)]
    if beyond or (read.state == "partly" and len(reasons) == len(values)):
        what = (
            f"row {beyond[0]} is named; {read.delivery_id} has {len(values)}."
            if beyond
            else "it says partly, and names every row."
        )
        raise Stopped(Problem("acknowledgement.row-unknown", source, what, "Ask the receiver which rows are meant."))
    return [[number, *values[number - 1], reason] for number, reason in sorted(reasons.items())]


def _values(view: Reading, row: Row) -> list[tuple[str, int]]:
    """Result and revision of each row of a delivery, in the order of its file.

    Of a row with several, their names with blanks between and the last of their revisions.
    """
    entry = read_entry(next(view.entries(int(row["planned"])))[1])
    if "values" in entry.digests:
        found: dict[int, tuple[str, int]] = {}
        for nth, (name, revision, *at) in enumerate(json.loads(view.bytes_of(entry.digests["values"])), start=1):
            place = at[0] if at else nth
            names, last = found.get(place, ("", 0))
            found[place] = " ".join(dict.fromkeys((*names.split(), str(name)))), max(last, int(revision))
        return list(found.values())
    listed = json.loads(canonical_bytes(entry.facts["values"]))  # of first versions
    return [(str(value["result_id"]), int(value["revision"])) for value in listed]


def _rejected(delivery_id: str, held_rows: list[list[str | int]]) -> Iterator[Finding]:
    for number, name, revision, reason in held_rows[:_SHOWN]:
        where = f"{delivery_id}, row {number}, result {name}, revision {revision}"
        yield Finding("delivery.acknowledgement-rejected", where, f"the receiver says: {reason}.", _REMEDY)
    if len(held_rows) > _SHOWN:
        what = f"not taken either: {len(held_rows) - _SHOWN} more."
        yield Finding("delivery.acknowledgement-rejected", delivery_id, what, _REMEDY)
