"""Deliveries put down: the same bytes under the same names, however often, then noted as done."""

from __future__ import annotations

import json
from itertools import chain
from pathlib import Path
from typing import TYPE_CHECKING, Final

from benchseal.desk import checkpoints
from benchseal.desk.acting import PROGRAM, Acting, Receipt, Who
from benchseal.desk.delivery_lock import exporting
from benchseal.desk.destinations import carrier_of, is_place_of, marker_of, require_marker
from benchseal.desk.drop import drop
from benchseal.desk.in_force import in_force
from benchseal.desk.perform import one_line_for_disk_faults
from benchseal.desk.reading import load
from benchseal.desk.receivers import customers_of, is_same_folder, require_for, revisions_of
from benchseal.problems import Finding, Refusal, Stopped
from benchseal.records.entries import read_entry
from benchseal.records.profile import Profile
from benchseal.review.cycles import DELIVERY, decide
from benchseal.review.duty import Situation
from benchseal.store.project_deliveries import files_text

if TYPE_CHECKING:
    from collections.abc import Iterable

    from benchseal.desk.site import Site
    from benchseal.store.protocol import Reading, Row

GIVEN_UP: Final = "given up"


def planned(site: Site, profile: str) -> list[str]:
    """Numbers of a profile's deliveries that are planned and not known to be done: what a crash may have left."""
    with site.store.reading() as view:
        return [row["delivery_id"] for row in view.rows("delivery", state="planned", profile=profile)]


def finish(site: Site, delivery_id: str) -> Receipt:
    """Put a planned delivery down and note it as done. Repeating it changes nothing."""
    with exporting(site):
        with site.store.writing() as tx:  # waits for an act that closes it at this moment
            _require_wanted(delivery_row(tx, delivery_id))
        placed = _put_down(site, delivery_id, "")
        with site.store.writing() as tx:
            row = delivery_row(tx, delivery_id)
            if row["state"] == GIVEN_UP:  # by another machine: the lock holds on one
                raise Stopped(_put_down_after(row))
            decided = decide(DELIVERY, "finish", Situation(f"delivery {delivery_id}", row["state"]), PROGRAM)
            if not isinstance(decided, Refusal):  # otherwise another exporter finished it meanwhile
                program = Who(PROGRAM, PROGRAM, frozenset(), signs=False)
                acting = Acting(site, tx, (program,), site.clock())
                acting.note_clock()
                acting.write("delivery.done", f"delivery/{delivery_id}")
    checkpoints.make(site)
    return placed


def profile_now(view: Reading, row: Row) -> Profile:
    """The profile of a delivery as it is in force; as it was planned by where none is."""
    now = in_force(view, "profile", row["profile"])
    return load(view, Profile, row["profile_digest"] if isinstance(now, str) else now["value"])


def profile_there(view: Reading, row: Row) -> Profile:
    """The version of a delivery's profile whose place its destination is; as it was planned by, where it is of none.

    The version in force comes first: a host key, a secret, whether a file is read back, a marker. A delivery that was
    moved may go to the place of a later version than it was planned by, and a withdrawal to that of an earlier one.
    """
    destination, planned = str(row["destination"]), load(view, Profile, row["profile_digest"])
    same = view.rows("delivery", profile=row["profile"], destination=destination)
    earlier = sorted(same, key=lambda one: int(one["planned"]), reverse=True)
    others = (load(view, Profile, one) for one in dict.fromkeys(str(one["profile_digest"]) for one in earlier))
    known = chain((profile_now(view, row), planned), others)
    return next((one for one in known if is_place_of(one, destination)), planned)


def put_down(site: Site, delivery_id: str, destination: str) -> Receipt:
    """Write a delivery's files, the same bytes and names, to where it went or to the folder ``destination``."""
    with exporting(site):
        with site.store.reading() as view:
            row = delivery_row(view, delivery_id)
            _require_wanted(row)
            if destination and not is_same_folder(destination, str(row["destination"])):
                require_for(site, view, destination, customers_of(view, row), (delivery_id, str(row["profile"])))
        return _put_down(site, delivery_id, destination)


def _put_down(site: Site, delivery_id: str, destination: str) -> Receipt:
    with site.store.reading() as view:
        row = delivery_row(view, delivery_id)
        files = {name: view.bytes_of(sha256) if sha256 else b"" for name, sha256 in _files_of_plan(view, row)}
        profile, now = profile_there(view, row), profile_now(view, row)
    way = None if destination else carrier_of(profile, row["destination"])
    if way is not None:
        placed, at = way.carry(delivery_id, files).placed, f"{row['destination'].rstrip('/')}/{row['file']}"
    else:
        folder = Path(destination or row["destination"])
        with one_line_for_disk_faults():
            if folder == site.outbox.resolve():
                folder.mkdir(exist_ok=True)  # any other folder must be there: a share not mounted is no folder
            marker = _marker((now, profile), str(folder))
            require_marker(str(folder), marker)
            placed, at = drop(folder, files, tuple(files)).placed, str(folder / row["file"])
            require_marker(str(folder), marker)  # also where the share went away meanwhile
    words = "is there" if placed else "was already there, with the same bytes"
    return Receipt(
        (f"{at} {words}.",),
        {"delivery": delivery_id, "file": at, "placed": [*placed], "rows": row["rows"]},
    )


def _files_of_plan(view: Reading, row: Row) -> list[tuple[str, str]]:
    """Name and digest of each file as the ledger has them. Raises Stopped where the row beside it says otherwise."""
    entry = read_entry(next(view.entries(int(row["planned"])))[1])
    subject = ("delivery.planned", f"delivery/{row['delivery_id']}")
    if (entry.kind, entry.subject) != subject or files_text(entry) != row["files"]:
        what = f"its files are not those entry {row['planned']} fixed."
        remedy = "Nothing was put down. Stop work, keep this copy, and run `benchseal verify --all`."
        raise Stopped(Finding("integrity.derived-row", str(row["delivery_id"]), what, remedy))
    return [(str(name), str(sha256)) for name, sha256 in json.loads(row["files"])]


def _marker(profiles: tuple[Profile, Profile], folder: str) -> str:
    """By the first of them whose place the folder is; a folder that is none of theirs has none."""
    found = (marker_of(one, folder) for one in profiles)
    return next((one for one in found if one is not None), "")


def delivery_row(view: Reading, delivery_id: str) -> Row:
    """The row of a delivery. Raises Stopped."""
    row = view.row("delivery", delivery_id=delivery_id)
    if row is None:
        what = "there is no such delivery."
        raise Stopped(Refusal("delivery.unknown", delivery_id, what, "See `benchseal export list`."))
    return row


def numbers_given_up(view: Reading, profile: str) -> tuple[int, ...]:
    """Numbers, counted within a profile, of its deliveries that were given up: a receiver need not wait for them."""
    rows = sorted(view.rows("delivery", profile=profile), key=lambda row: int(row["planned"]))
    return tuple(number for number, row in enumerate(rows, start=1) if row["state"] == GIVEN_UP)


def given_up_with(view: Reading, numbers: Iterable[str]) -> set[str]:
    """Deliveries that were given up, of which a result released or withdrawn with these certificates was part."""
    rows = view.rows("delivery", state=GIVEN_UP)
    if not rows:
        return set()
    own = {
        (str(one["result_id"]), int(one["revision"]))
        for number in numbers
        for one in view.rows("released", number=number)
    }
    return {str(row["delivery_id"]) for row in rows if not own.isdisjoint(revisions_of(view, row))}


def _require_wanted(row: Row) -> None:
    if row["state"] == GIVEN_UP:
        what = "it was given up, since it did not arrive; its results are due again under another number."
        remedy = "See `benchseal ledger show`. If it did arrive: `benchseal export close --arrived yes`."
        raise Stopped(Refusal("delivery.given-up", str(row["delivery_id"]), what, remedy))


def _put_down_after(row: Row) -> Finding:
    what = "it was given up while this export put it down: its results are due again, and may come twice."
    remedy = "Have its files removed at the place; or, before the next export, `benchseal export close --arrived yes`."
    return Finding("delivery.put-down-after", str(row["delivery_id"]), what, remedy)
