"""What ``export run`` would do, tried without doing it; and what waits from earlier, in words for both."""

from __future__ import annotations

import json
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final, TypeAlias

from benchseal.desk import acknowledging
from benchseal.desk.acting import Receipt
from benchseal.desk.deliveries import profile_there
from benchseal.desk.delivery_plan import beside_of, profile_in_force, require_for_hand
from benchseal.desk.destinations import destination_of, probe
from benchseal.desk.file_rows import file_rows
from benchseal.desk.undelivered import undelivered
from benchseal.export.delivery import LedgerSpan, Material, bundle
from benchseal.problems import Notice, Problem, Stopped, Trouble
from benchseal.records.released import Delivery
from benchseal.records.said import some

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from benchseal.desk.site import Site
    from benchseal.desk.undelivered import Undelivered
    from benchseal.records.canonical import Json
    from benchseal.records.profile import Profile
    from benchseal.records.released import ReleasedRow, Together
    from benchseal.records.run import DocumentRef
    from benchseal.store.protocol import Reading, Row

    Sent: TypeAlias = Sequence[ReleasedRow | Together]

_SIGNATURE: Final = 4096  # bytes of a signature that is not made for a trial: more than any of ours has


@dataclass(frozen=True, slots=True)
class Waiting:
    """A delivery that is planned and not known to be done. files: digests of all of it but an empty last one."""

    delivery: str
    destination: str
    rows: int
    files: tuple[str, ...]
    profile: Profile


def waiting(site: Site, name: str) -> tuple[Waiting, ...]:
    """Every delivery of a profile that waits. name: of the profile, with or without its version."""
    with site.store.reading() as view:
        rows = view.rows("delivery", state="planned", profile=name.partition("@")[0])
        return tuple(_waiting(view, row) for row in rows)


def _waiting(view: Reading, row: Row) -> Waiting:
    place, profile = str(row["destination"]), profile_there(view, row)
    files = tuple(str(sha256) for _, sha256 in json.loads(row["files"]) if sha256)
    return Waiting(str(row["delivery_id"]), place, int(row["rows"]), files, profile)


def still_waits(one: Waiting, notices: Iterable[Notice]) -> tuple[Notice, ...]:
    """What kept a delivery back, with its number, its place and what may be done."""
    return tuple(_still_waits(one, notice) for notice in notices)


def _still_waits(one: Waiting, notice: Notice) -> Notice:
    if isinstance(notice, Problem):  # a secret that is missing or cannot be read
        what = f"{one.delivery} ({some(one.rows, 'row')}) waits for {one.destination}: {notice.what}"
        return replace(notice, what=what, remedy=f"{notice.remedy} Then run the export again.")
    if not isinstance(notice, Trouble):
        return notice
    what = f"{one.delivery} ({some(one.rows, 'row')}) waits for this place: {notice.what}"
    remedy = (
        f"{notice.remedy} If the place is gone for good, ask the receiver, then "
        f"`benchseal export move {one.delivery}` or `benchseal export close {one.delivery}`."
    )
    return Trouble(notice.code, notice.where or one.destination, what, remedy)


def planned_words(fixed: Mapping[str, str], nothing: Iterable[str], failed: Sequence[str]) -> list[str]:
    """What to say of what was planned, once it is known what could not be put down.

    fixed: deliveries of this run, each with what its plan says. nothing: what is said where there is nothing new.
    """
    if fixed:
        return [
            f"{said.removesuffix('.')}: planned, not put down." if one in failed else said
            for one, said in fixed.items()
        ]
    if failed:
        waits = f"{' and '.join(failed)} from before {'waits' if len(failed) == 1 else 'wait'} still."
        return [f"{said.removesuffix('.')}; {waits}" for said in nothing]
    return [*nothing]


def went_there(one: Waiting, to: str) -> str:
    """What to say of a delivery of an earlier run that is finished now. to: the folder this run names, or nothing."""
    other = f", not to {to}" if to and to != one.destination else ""
    return f"{one.delivery} waited from an earlier run: {some(one.rows, 'row')} went to {one.destination}{other}."


def tried_out(site: Site, name: str, to: str) -> Receipt:
    """What ``export run`` would do: how many rows, and whether each place would take them. Nothing is written."""
    with site.store.reading() as view:
        profile, ref = profile_in_force(view, name)
        found = undelivered(view, profile, ref.digest)
        destination = destination_of(site, profile, to)
        held = waiting(site, name)
        refused: tuple[Notice, ...] = ()
        try:
            require_for_hand(site, view, profile, found, to and destination)
            each = found.by_destination(destination).items()
            parts = [_part(view, (profile, ref), *one, destination) for one in each]
        except Stopped as stop:  # as the run itself: what waits goes all the same
            if not held:
                raise
            refused, parts = stop.notices, []
        sizes = [sum(len(view.bytes_of(file)) for file in one.files) for one in held]
        alarms = acknowledging.alarms(view, site.clock(), profile.id)
    if destination == str(site.outbox.resolve()):
        site.outbox.mkdir(exist_ok=True)
    rows, made = sum(one.rows for one in parts), sum(one.made for one in parts)
    count = f"{some(len(found.rows), 'result')} in {some(rows, 'row')}"
    said = [f"{count} would be delivered under {profile.id}, {made} bytes with all that goes along."]
    if refused:
        said = [f"{some(len(found.rows), 'new result')} would not be delivered under {profile.id}."]
    notices = [*refused]
    elsewhere = [one for one in parts if one.destination != destination]
    said += [f"{some(one.rows, 'row')} would go to {one.destination}, which holds them." for one in elsewhere]
    own = [one for one in parts if one.destination == destination]
    for part in (*(own or (_Part(profile, destination, 0, 0),)), *elsewhere):
        try:
            said.append(probe(part.profile, part.destination, part.made))
        except Stopped as stop:
            notices += stop.notices
    for one, size in zip(held, sizes, strict=True):
        try:
            seen = probe(one.profile, one.destination, size)
        except Stopped as stop:
            notices += still_waits(one, stop.notices)
        else:
            said.append(f"{one.delivery} waits ({some(one.rows, 'row')}) and would go to its place: {seen}")
    data: dict[str, Json] = {
        "rows": rows,
        "results": 0 if refused else len(found.rows),
        "bytes": made,
        "destination": destination,
    }
    data["elsewhere"] = [one.destination for one in elsewhere]
    return Receipt(tuple(said), data | {"waiting": [one.delivery for one in held]}, (*notices, *alarms))


@dataclass(frozen=True, slots=True)
class _Part:
    """What would go to one destination: rows and bytes. profile: whose place it is."""

    profile: Profile
    destination: str
    rows: int
    made: int


def _part(view: Reading, by: tuple[Profile, DocumentRef], destination: str, found: Undelivered, own: str) -> _Part:
    profile, ref = by
    delivery = Delivery("D-00000", 1, "1970-01-01T00:00:00.000Z", ref)
    elsewhere = destination != own
    sent = file_rows(view, profile, found, destination if elsewhere else "").sent
    row = {"profile": profile.id, "profile_digest": ref.digest, "destination": destination}
    there = profile_there(view, row) if elsewhere else profile
    return _Part(there, destination, len(sent), _made(view, profile, delivery, found, sent))


def _made(view: Reading, profile: Profile, delivery: Delivery, found: Undelivered, sent: Sent) -> int:
    """Bytes of every file of a delivery, a signature counted as if it were long. Raises Stopped."""
    if not found.rows:
        return 0
    span = LedgerSpan("", min(found.places), max(found.places), view.size(), "0" * 64)
    made = bundle(sent, profile, delivery, Material(span, "", beside_of(view, profile, found.rows)))
    if isinstance(made, tuple):
        raise Stopped(*made)
    return sum(map(len, made.files.values())) + (_SIGNATURE if "signature" in profile.beside else 0)
