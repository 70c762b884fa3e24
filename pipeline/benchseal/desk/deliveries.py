"""Deliveries: planned on record with their bytes fixed, dropped, then noted as done. A repeat puts down the same bytes.

The plan is an entry of its own: after a crash the bytes are already an object, under a number and time that stay.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from benchseal.certificate.evidence import PROGRAM as PROGRAM_VERSION
from benchseal.desk import checkpoints
from benchseal.desk.acting import PROGRAM, Acting, Receipt, Who, as_json
from benchseal.desk.drop import drop
from benchseal.desk.in_force import in_force
from benchseal.desk.perform import one_line_for_disk_faults
from benchseal.desk.reading import load, read_signature
from benchseal.export.delivery import LedgerSpan, bundle, done_name, file_name, manifest_name
from benchseal.export.profiles import reaching
from benchseal.export.render import preview
from benchseal.export.rows import released_rows, withdrawn_rows
from benchseal.ledger.tree import tree_root
from benchseal.problems import Refusal, Stopped
from benchseal.records.entries import read_entry
from benchseal.records.evidence import Evidence
from benchseal.records.profile import Profile
from benchseal.records.released import Delivery
from benchseal.records.run import DocumentRef
from benchseal.records.signatures import Meaning
from benchseal.review.cycles import DELIVERY, decide
from benchseal.review.duty import Situation

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.desk.acts_deliveries import PlanDelivery
    from benchseal.desk.site import Site
    from benchseal.export.columns import PreviewCell
    from benchseal.records.released import ReleasedRow
    from benchseal.store.protocol import Reading, Row


def plan_delivery(acting: Acting, act: PlanDelivery) -> Receipt:
    """Fix everything of one delivery: rows not delivered yet under this profile, their bytes, number and time."""
    view = acting.tx
    profile, ref = profile_in_force(view, act.profile)
    rows, places = _undelivered(view, profile)
    if not rows:
        return Receipt((f"Nothing new to deliver under {profile.id}.",), {"delivery": "", "rows": 0})
    count = acting.count("delivery")
    number = len(view.rows("delivery", profile=profile.id)) + 1  # counted within the profile
    delivery = Delivery(f"D-{count:05d}", number, acting.at, ref)
    size = view.size()
    span = LedgerSpan(acting.site.ledger, min(places), max(places), size, tree_root(size, view).hex())
    made = bundle(rows, profile, delivery, span, PROGRAM_VERSION)
    if isinstance(made, tuple):
        raise Stopped(*made)
    acting.write(
        "delivery.planned",
        f"delivery/{delivery.delivery_id}",
        facts={
            "count": count,
            "profile": profile.id,
            "profile_version": ref.version,
            "produced_at": delivery.produced_at,
            "destination": act.destination,
            "file": file_name(delivery, profile),
            "rows": len(rows),
            "done_file": profile.done_file,
            "values": as_json([{"result_id": row.result_id, "revision": int(row.revision)} for row in rows]),
        },
        digests={
            "profile": ref.digest,
            "data": view.keep(made.files[file_name(delivery, profile)]),
            "manifest": view.keep(made.files[manifest_name(delivery)]),
        },
    )
    return Receipt(
        (f"{delivery.delivery_id}: {len(rows)} results under {profile.id}.",),
        {"delivery": delivery.delivery_id, "rows": len(rows), "file": file_name(delivery, profile)},
    )


def planned(site: Site) -> list[str]:
    """Numbers of deliveries planned and not known to be done: what a crash may have left."""
    with site.store.reading() as view:
        return [row["delivery_id"] for row in view.rows("delivery", state="planned")]


def finish(site: Site, delivery_id: str) -> Receipt:
    """Put a planned delivery down and note it as done. Repeating it changes nothing."""
    placed = put_down(site, delivery_id, "")
    with site.store.writing() as tx:
        row = _row(tx, delivery_id)
        decided = decide(DELIVERY, "finish", Situation(f"delivery {delivery_id}", row["state"]), PROGRAM)
        if not isinstance(decided, Refusal):  # otherwise another exporter finished it meanwhile
            program = Who(PROGRAM, PROGRAM, frozenset(), signs=False)
            acting = Acting(site, tx, (program,), site.clock())
            acting.note_clock()
            acting.write("delivery.done", f"delivery/{delivery_id}")
    checkpoints.make(site)
    return placed


def put_down(site: Site, delivery_id: str, destination: str) -> Receipt:
    """Write a delivery's files, the same bytes under the same names, to where it went or to ``destination``."""
    with site.store.reading() as view:
        row = _row(view, delivery_id)
        profile = load(view, Profile, row["profile_digest"])
        ref = DocumentRef(row["profile"], 0, row["profile_digest"])
        delivery = Delivery(delivery_id, 0, row["produced_at"], ref)
        files = {row["file"]: view.bytes_of(row["data"]), manifest_name(delivery): view.bytes_of(row["manifest"])}
    if profile.done_file:
        files[done_name(delivery)] = b""
    folder = Path(destination or row["destination"])
    with one_line_for_disk_faults():
        if folder == site.outbox.resolve():
            folder.mkdir(exist_ok=True)  # any other folder must be there: a share that is not mounted is no folder
        dropped = drop(folder, files, tuple(files))
    words = "is there" if dropped.placed else "was already there, with the same bytes"
    return Receipt(
        (f"{folder / row['file']} {words}.",),
        {"delivery": delivery_id, "file": str(folder / row["file"]), "placed": [*dropped.placed], "rows": row["rows"]},
    )


def preview_profile(view: Reading, name: str) -> tuple[tuple[PreviewCell, ...], ...]:
    """Row by row what the next delivery would hold."""
    profile, _ = profile_in_force(view, name)
    rows, _places = _undelivered(view, profile)
    return preview(rows, profile)


def profile_in_force(view: Reading, name: str) -> tuple[Profile, DocumentRef]:
    """An approved export profile. Raises Stopped."""
    row = in_force(view, "profile", name)
    if isinstance(row, str):
        what = f"no export profile is in force by this name: {row}."
        raise Stopped(Refusal("export.profile-not-in-force", name, what, "See `benchseal document list`."))
    return load(view, Profile, row["value"]), DocumentRef(row["id"], int(row["version"]), row["value"])


def _undelivered(view: Reading, profile: Profile) -> tuple[list[ReleasedRow], list[int]]:
    """Released rows this profile is for and has not delivered, with the ledger entries that put them out."""
    rows: list[ReleasedRow] = []
    places: list[int] = []
    holds: dict[str, ReleasedRow] = {}
    for seq, own in _put_out(view):
        for row in own:
            key = {"profile": profile.id, "result_id": row.result_id, "revision": f"{int(row.revision):04d}"}
            done = view.row("delivered", **key)
            by = profile if done is None else _profile_of(view, str(done["delivery_id"]))
            sent = reaching(row, holds.pop(row.result_id, None), by)
            if sent is None:
                continue
            holds[row.result_id] = sent
            if done is None:
                rows.append(sent)
                places.append(seq)
    return rows, places


def _profile_of(view: Reading, delivery_id: str) -> Profile:
    return load(view, Profile, _row(view, delivery_id)["profile_digest"])


def _put_out(view: Reading) -> Iterator[tuple[int, list[ReleasedRow]]]:
    """Every revision of every result, entry by entry as the ledger has them: released, corrected, withdrawn."""
    by_entry: dict[int, list[Row]] = {}
    for value in view.rows("released"):
        by_entry.setdefault(int(value["seq"]), []).append(value)
    last: dict[str, ReleasedRow] = {}
    for seq, values in sorted(by_entry.items()):
        number = str(values[0]["number"])
        gone = {value["result_id"] for value in values if value["change_kind"] == "withdrawn"}
        own: list[ReleasedRow] = []
        if len(gone) < len(values):
            own += _released_by(view, number, {name: int(row.revision) for name, row in last.items()})
        own += withdrawn_rows([row for name, row in last.items() if name in gone], _why_gone(view, seq, number))
        last.update({row.result_id: row for row in own})
        yield seq, own


def _released_by(view: Reading, number: str, before: dict[str, int]) -> tuple[ReleasedRow, ...]:
    row = view.row("certificate", number=number)
    release = view.row("signature", digest=row["evidence"], meaning=Meaning.RELEASED.value) if row else None
    if row is None or release is None:
        raise AssertionError("a sealed certificate has its release signature")
    evidence = load(view, Evidence, row["evidence"])
    return released_rows(evidence, read_signature(release), row["sealed"], before)


def _why_gone(view: Reading, seq: int, number: str) -> str:
    """The reason of a withdrawal; for a line an amendment no longer reports, that of the amendment."""
    row = view.row("certificate", number=number)
    return read_entry(next(view.entries(seq))[1]).reason or (
        load(view, Evidence, row["content"]).certificate.reason if row else ""
    )


def _row(view: Reading, delivery_id: str) -> Row:
    row = view.row("delivery", delivery_id=delivery_id)
    if row is None:
        what = "there is no such delivery."
        raise Stopped(Refusal("delivery.unknown", delivery_id, what, "See `benchseal export list`."))
    return row
