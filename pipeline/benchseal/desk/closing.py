"""A planned delivery whose place does not come back: it goes elsewhere, arrived by another way, or is given up.

Whether the receiver holds it, the program cannot see; a person says so, and who of the receiver confirmed it. Only what
did not arrive is due again, so that each revision of a result comes once.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING

from benchseal.desk.acting import Receipt, as_json
from benchseal.desk.deliveries import GIVEN_UP, delivery_row, profile_now, profile_there
from benchseal.desk.delivery_lock import no_export
from benchseal.desk.destinations import destination_of, is_folder
from benchseal.desk.receivers import customers_of, not_chosen, require_for, revisions_of
from benchseal.desk.runs import require_reason
from benchseal.problems import Refusal, Stopped
from benchseal.records.canonical import canonical_bytes, digest
from benchseal.review.cycles import DELIVERY, decide
from benchseal.review.duty import Situation

if TYPE_CHECKING:
    from benchseal.desk.acting import Acting
    from benchseal.desk.acts_deliveries import CloseDelivery, MoveDelivery
    from benchseal.desk.site import Site
    from benchseal.records.canonical import Json
    from benchseal.store.protocol import Reading, Row


def look(site: Site, act: CloseDelivery | MoveDelivery) -> str:
    """What a look at the place finds of a delivery: ``there``, ``absent``, ``away``, or ``not looked`` at a server.

    Before the writer's lock, since a share that is away may take long to say so.
    """
    with site.store.reading() as view:
        row = view.row("delivery", delivery_id=act.delivery)
        if row is None or not is_folder(profile_there(view, row), str(row["destination"])):
            return "not looked"
    folder, stem = Path(row["destination"]), str(row["file"]).rpartition(".")[0]
    named = {name: sha256 for name, sha256 in json.loads(row["files"]) if name.startswith(stem) and sha256}
    try:
        if not folder.is_dir():
            return "away"
        held = (folder / name for name in named)
        there = any(digest(path.read_bytes()) == named[path.name] for path in held if path.is_file())
    except OSError:
        return "away"
    return "there" if there else "absent"


def move_delivery(acting: Acting, act: MoveDelivery) -> Receipt:
    """Say where a planned delivery is to go instead: the same bytes, under the same number. Nothing is put down yet."""
    require_reason(act.reason, "export move")
    with no_export(acting.site, act.delivery):
        row = _row_for(acting, act.delivery, "move")
        if acting.made == "there":  # moved, it would be in both places
            raise Stopped(_is_there(row))
        profile = profile_now(acting.tx, row)
        destination = destination_of(acting.site, profile, act.to)
        if destination == row["destination"]:
            what = f"that is where it goes already: {destination}."
            remedy = "Name another folder, or change the profile."
            raise Stopped(Refusal("delivery.not-moved", act.delivery, what, remedy))
        customers = customers_of(acting.tx, row)
        if not act.to and (others := not_chosen(profile, customers)):
            what = f"it holds results of {', '.join(others)}, whom {profile.id} no longer chooses: {destination}."
            remedy = "They are for the receiver who had them before: name a folder of theirs with --to."
            raise Stopped(Refusal("delivery.not-for-place", act.delivery, what, remedy))
        if act.to:
            require_for(acting.site, acting.tx, destination, customers, (act.delivery, profile.id))
        acting.write(
            "delivery.moved",
            f"delivery/{act.delivery}",
            facts={"from": row["destination"], "destination": destination, "looked": str(acting.made)},
            reason=act.reason,
        )
    said = (f"{act.delivery} goes to {destination} now; `benchseal export run {profile.id}` puts it down there.",)
    return Receipt(said, {"delivery": act.delivery, "destination": destination})


def close_delivery(acting: Acting, act: CloseDelivery) -> Receipt:
    """Note a planned delivery as arrived by another way, or give it up so that its results are due again."""
    require_reason(act.reason, act.delivery)
    if not act.confirmed_by.strip():
        what, remedy = "nobody is named who confirmed it.", "Ask the receiver, and say who answered and how."
        raise Stopped(Refusal("delivery.unconfirmed", act.delivery, what, remedy))
    with no_export(acting.site, act.delivery):
        row = _row_for(acting, act.delivery, "note as arrived" if act.arrived else "give up")
        return _arrived(acting, act, row) if act.arrived else _given_up(acting, act, row)


def _row_for(acting: Acting, delivery: str, act: str) -> Row:
    """The row of a delivery whose state allows the act. Raises Stopped."""
    row = delivery_row(acting.tx, delivery)
    decided = decide(DELIVERY, act, Situation(f"delivery {delivery}", row["state"]), acting.first.person)
    if isinstance(decided, Refusal):
        raise Stopped(decided)
    return row


def _is_there(row: Row) -> Refusal:
    what = f"its file stands in {row['destination']}."
    remedy = f"Run `benchseal export run {row['profile']}` to finish it; or have the file removed there first."
    return Refusal("delivery.is-there", str(row["delivery_id"]), what, remedy)


def _arrived(acting: Acting, act: CloseDelivery, row: Row) -> Receipt:
    view, values = acting.tx, []
    if row["state"] == GIVEN_UP:
        values = revisions_of(view, row)
        if elsewhere := _elsewhere(view, row, values):
            what = f"its results went out again in {', '.join(elsewhere)}: they are there twice."
            remedy = "Have one of the two removed there; each row is known by its result_id and revision."
            raise Stopped(Refusal("delivery.sent-again", act.delivery, what, remedy))
    acting.write(
        "delivery.arrived",
        f"delivery/{act.delivery}",
        reason=act.reason,
        facts={"profile": row["profile"], "confirmed_by": act.confirmed_by.strip(), "looked": str(acting.made)},
        digests={"values": view.keep(canonical_bytes(as_json([[*value] for value in values])))},
    )
    said = f"{act.delivery} is noted as arrived, confirmed by {act.confirmed_by.strip()}."
    return Receipt((said,), {"delivery": act.delivery, "state": "done", "results": 0})


def _given_up(acting: Acting, act: CloseDelivery, row: Row) -> Receipt:
    if acting.made == "there":
        raise Stopped(_is_there(row))
    values = revisions_of(acting.tx, row)
    overtaken = sum(_is_overtaken(acting.tx, row, value) for value in values)
    due = len(values) - overtaken
    acting.write(
        "delivery.given_up",
        f"delivery/{act.delivery}",
        reason=act.reason,
        facts={
            "profile": row["profile"],
            "confirmed_by": act.confirmed_by.strip(),
            "looked": str(acting.made),
            "results": len(values),
            "overtaken": overtaken,
            "look_again": as_json(_looked_since(acting.tx, row)),
        },
    )
    said = [
        f"{act.delivery} is given up: it did not arrive, as {act.confirmed_by.strip()} confirmed.",
        f"{due} results are due again under {row['profile']}. See `benchseal export preview {row['profile']}`.",
    ]
    if overtaken:
        said.append(f"{overtaken} are not due again: a later revision of each is in another delivery.")
    data: dict[str, Json] = {"delivery": act.delivery, "state": GIVEN_UP, "results": due, "overtaken": overtaken}
    return Receipt(tuple(said), data)


def _is_overtaken(view: Reading, row: Row, value: tuple[str, int]) -> bool:
    name, revision = value
    sent = view.rows("delivered", profile=row["profile"], result_id=name)
    return any(int(one["revision"]) >= revision and one["delivery_id"] != row["delivery_id"] for one in sent)


def _looked_since(view: Reading, row: Row) -> list[str]:
    """Deliveries of the profile behind which the next one must not begin, or it would miss what is due again."""
    return [
        str(one["delivery_id"])
        for one in view.rows("delivery", profile=row["profile"])
        if int(one["considered"])
        and one["delivery_id"] != row["delivery_id"]
        and (int(one["planned"]) > int(row["planned"]) or one["profile_digest"] != row["profile_digest"])
    ]


def _elsewhere(view: Reading, row: Row, values: list[tuple[str, int]]) -> list[str]:
    """Other deliveries under the same profile that hold any of these revisions."""
    keys = ({"profile": row["profile"], "result_id": name, "revision": f"{number:04d}"} for name, number in values)
    found = (view.row("delivered", **key) for key in keys)
    return sorted({str(one["delivery_id"]) for one in found if one is not None})
