"""Whose place a folder named by hand is: results of one customer never go where a profile sends those of others."""

from __future__ import annotations

import json
import os
from pathlib import Path
from typing import TYPE_CHECKING

from benchseal.desk.reading import load
from benchseal.problems import Refusal, Stopped
from benchseal.records.canonical import canonical_bytes
from benchseal.records.entries import read_entry
from benchseal.records.profile import Profile

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator

    from benchseal.desk.site import Site
    from benchseal.store.protocol import Reading, Row


def require_for(site: Site, view: Reading, folder: str, customers: Collection[str], named: tuple[str, str]) -> None:
    """That ``folder`` is no place of a profile which does not choose all of ``customers``. Raises Stopped.

    named: the delivery, or what else is to go there, and its profile. A profile without a place sends to the outbox:
    many may share it, so only that of the delivery's own profile counts.
    """
    where, own = named
    for profile in _approved(view):
        place = profile.send_to
        if (place is not None and place.kind != "folder") or (place is None and profile.id != own):
            continue
        if not is_same_folder(folder, str(site.outbox) if place is None else place.folder):
            continue
        if others := not_chosen(profile, customers):
            what = f"it holds results of {', '.join(others)}, whom {profile.id} does not choose, and goes to its place"
            remedy = "Name a folder of a receiver who may have them."
            raise Stopped(Refusal("delivery.not-for-place", where, f"{what}: {folder}.", remedy))


def customers_of(view: Reading, row: Row) -> set[str]:
    """Customers of a delivery's results."""
    keys = ({"result_id": name, "revision": f"{number:04d}"} for name, number in revisions_of(view, row))
    numbers = {str(one["number"]) for one in (view.row("released", **key) for key in keys) if one is not None}
    found = (view.row("certificate", number=number) for number in sorted(numbers))
    return {str(one["customer"]) for one in found if one is not None}


def revisions_of(view: Reading, row: Row) -> list[tuple[str, int]]:
    """Result and revision of each that a delivery was planned with."""
    entry = read_entry(next(view.entries(int(row["planned"])))[1])
    if "values" in entry.digests:
        return [(str(value[0]), int(value[1])) for value in json.loads(view.bytes_of(entry.digests["values"]))]
    listed = json.loads(canonical_bytes(entry.facts["values"]))  # of first versions
    return [(str(value["result_id"]), int(value["revision"])) for value in listed]


def not_chosen(profile: Profile, customers: Collection[str]) -> list[str]:
    """Those of ``customers`` that a profile does not choose."""
    return sorted({*customers} - {*profile.choose.customers}) if profile.choose.customers else []


def _approved(view: Reading) -> Iterator[Profile]:
    """Of each profile, for each place it was ever to send to, the last version that was approved."""
    last: dict[tuple[str, str], Profile] = {}
    rows = [row for row in view.rows("document", kind="profile") if row["approver"]]
    for row in sorted(rows, key=lambda one: int(one["version"])):
        profile = load(view, Profile, row["value"])
        place = profile.send_to
        folder = os.path.normcase(Path(place.folder)) if place is not None and place.kind == "folder" else ""
        last[profile.id, folder] = profile
    yield from last.values()


def is_same_folder(one: str, other: str) -> bool:
    """Whether two paths are one folder, however they are written: by links, case, or a mount."""
    written = [os.path.normcase(Path(path).resolve()) for path in (one, other)]
    if written[0] == written[1]:
        return True
    try:
        return Path(one).samefile(other)
    except OSError:
        return False  # one is not there: then they are not the same, or nobody can see it
