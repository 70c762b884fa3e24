"""Planning a delivery: its rows, bytes, number and time go on record before anything leaves the site.

The plan is an entry of its own: after a crash the bytes are already objects, under a number and time that stay.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, cast

from benchseal.certificate.evidence import PROGRAM as PROGRAM_VERSION
from benchseal.desk.acting import Receipt, as_json
from benchseal.desk.deliveries import numbers_given_up
from benchseal.desk.destinations import destination_of
from benchseal.desk.file_rows import file_rows
from benchseal.desk.in_force import in_force
from benchseal.desk.reading import load
from benchseal.desk.receivers import require_for
from benchseal.desk.seal_in_force import open_seal
from benchseal.desk.undelivered import MOST_ROWS, undelivered
from benchseal.documents.reading import read_document
from benchseal.export.delivery import LedgerSpan, Material, bundle, file_name
from benchseal.export.profiles import check_profile
from benchseal.export.render import preview
from benchseal.identity.seal_file import der_of
from benchseal.ledger.tree import tree_root
from benchseal.problems import Notice, Problem, Refusal, Stopped, Trouble
from benchseal.records.canonical import canonical_bytes
from benchseal.records.profile import Profile
from benchseal.records.released import Delivery
from benchseal.records.run import DocumentRef
from benchseal.records.said import some

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from benchseal.desk.acting import Acting
    from benchseal.desk.acts_deliveries import PlanDelivery
    from benchseal.desk.seal_in_force import SealInForce
    from benchseal.desk.site import Site
    from benchseal.desk.undelivered import Undelivered
    from benchseal.export.columns import PreviewCell
    from benchseal.records.released import ReleasedRow
    from benchseal.store.protocol import Reading

NOT_IN_FORCE: Final = "export.profile-not-in-force"  # as profile_in_force says it


def open_key(site: Site, act: PlanDelivery) -> object:
    """The sealing key, where the profile wants a signature: opened before the writer's lock, since it is slow.

    None where there is nothing to sign; whether the profile is in force, the act says. Where the key does not open,
    why: the act stops by it.
    """
    with site.store.reading() as view:
        row = in_force(view, "profile", act.profile)
        if isinstance(row, str) or "signature" not in load(view, Profile, row["value"]).beside:
            return None
    try:
        return open_seal(site, act.profile, site.clock())
    except Stopped as stop:
        return stop


def plan_delivery(acting: Acting, act: PlanDelivery) -> Receipt:
    """Fix everything of what was not delivered yet under this profile: rows, their bytes, number and time.

    One delivery to the place of the profile, and one to each other place that holds what is withdrawn for a customer
    the profile no longer chooses.
    """
    profile, ref = profile_in_force(acting.tx, act.profile)
    if isinstance(acting.made, Stopped):
        raise acting.made
    found = undelivered(acting.tx, profile, ref.digest)
    own = destination_of(acting.site, profile, act.to)
    require_for_hand(acting.site, acting.tx, profile, found, act.to and own)
    planned: list[Receipt] = []
    notices: list[Notice] = []
    for destination, part in found.by_destination(own).items():
        try:
            planned.append(_planned(acting, (profile, ref), part, destination, only_there=destination != own))
        except Stopped as stop:
            notices += stop.notices
    if notices:
        raise Stopped(*notices)
    if not planned:
        return Receipt(
            (f"Nothing new to deliver under {profile.id}.",), {"delivery": "", "planned": [], "rows": 0, "more": False}
        )
    return Receipt(
        tuple(said for one in planned for said in one.said),
        {
            "delivery": planned[0].data["delivery"],
            "planned": [one.data for one in planned],
            "rows": sum(int(str(one.data["rows"])) for one in planned),
            "more": len(found.rows) >= MOST_ROWS,
        },
    )


def require_for_hand(site: Site, view: Reading, profile: Profile, found: Undelivered, folder: str) -> None:
    """That a folder named by hand is no place of a profile that does not choose what goes there. Raises Stopped."""
    rows = [row for row, only in zip(found.rows, found.only_to, strict=True) if not only]
    if folder and rows:
        require_for(site, view, folder, {row.customer_id for row in rows}, (f"profile {profile.id}", profile.id))


def _planned(
    acting: Acting, by: tuple[Profile, DocumentRef], found: Undelivered, destination: str, *, only_there: bool
) -> Receipt:
    """One delivery to one destination. by: the profile and which version it is."""
    view, rows, (profile, ref) = acting.tx, found.rows, by
    count = acting.count("delivery")
    number = len(view.rows("delivery", profile=profile.id)) + 1  # counted within the profile
    delivery = Delivery(f"D-{count:05d}", number, acting.at, ref)
    size = view.size()
    span = LedgerSpan(acting.site.ledger, min(found.places), max(found.places), size, tree_root(size, view).hex())
    material = Material(
        span,
        PROGRAM_VERSION,
        beside_of(view, profile, rows),
        _signer(acting, profile),
        numbers_given_up(view, profile.id),
    )
    placed = file_rows(view, profile, found, destination if only_there else "")
    made = bundle(placed.sent, profile, delivery, material)
    if isinstance(made, tuple):
        raise Stopped(*made)
    name = file_name(delivery, profile)
    kept = {label: view.keep(made.files[one]) for one, label in _labels(made.order, name).items()}
    values = [[*value[: 2 if profile.one_row_per == "result" else 3]] for value in placed.values]
    acting.write(
        "delivery.planned",
        f"delivery/{delivery.delivery_id}",
        facts={
            "count": count,
            "profile": profile.id,
            "profile_version": ref.version,
            "produced_at": delivery.produced_at,
            "destination": destination,
            "file": name,
            "rows": len(placed.sent),
            "considered": found.considered,
            "answer_hours": profile.acknowledge.within_hours if profile.acknowledge else 0,
            "files": as_json([[one, label] for one, label in _labels(made.order, name).items()]),
            "done_file": profile.done_file,
        },
        digests={"profile": ref.digest, "values": view.keep(canonical_bytes(as_json(values))), **kept},
    )
    why = f", withdrawn where {profile.id} chooses their customer no longer: {destination}" if only_there else ""
    return Receipt(
        (f"{delivery.delivery_id}: {some(len(rows), 'result')} under {profile.id}{why}.",),
        {"delivery": delivery.delivery_id, "rows": len(placed.sent), "results": len(rows), "file": name},
    )


def _labels(order: Sequence[str], name: str) -> dict[str, str]:
    """Of each file but the empty last one, under what its digest stands in the entry."""
    return {one: "data" if one == name else one for one in order if not one.endswith(".done")}


def beside_of(view: Reading, profile: Profile, rows: Sequence[ReleasedRow]) -> dict[str, bytes]:
    """Sealed PDFs of the certificates of what is sent, by the names of their files without ending.

    Of a withdrawn one its notice, once there is one; of a superseded one nothing: its rows come again with the
    certificate in its place.
    """
    if "certificates" not in profile.beside:
        return {}
    found = {}
    for number in {row.certificate_no: None for row in rows}:
        held, notice = view.row("certificate", number=number), view.row("certificate_notice", number=number)
        if held is not None and held["state"] == "released":
            found[number] = view.bytes_of(held["sealed"])
        elif held is not None and held["state"] == "withdrawn" and notice is not None:
            found[f"{number}-W"] = view.bytes_of(notice["sealed"])
    return found


def _signer(acting: Acting, profile: Profile) -> Callable[[bytes], bytes] | None:
    if "signature" not in profile.beside:
        return None
    from benchseal.export.signature import signed  # noqa: PLC0415  slow to import, for profiles that sign only

    founded = acting.tx.row("site", ledger=acting.site.ledger)
    if founded is None:
        raise AssertionError("a site has a founding entry")
    certificate = acting.tx.bytes_of(founded["seal_certificate"])
    seal = cast("SealInForce | None", acting.made)
    if seal is None or der_of(seal.certificate) != certificate:  # handed over, or the profile changed, meanwhile
        what = "the sealing key or the profile changed while this began."
        raise Stopped(Trouble("delivery.key-changed", profile.id, what, "Nothing was planned. Run the export again."))
    return lambda stated: signed(stated, seal.signer, seal.certificate, seal.chain)


def preview_profile(view: Reading, name: str, at: str) -> tuple[tuple[PreviewCell, ...], ...]:
    """Row by row what a delivery planned ``at`` this moment would hold; its number is not known before it is."""
    profile, ref = profile_in_force(view, name)
    return preview(
        file_rows(view, profile, undelivered(view, profile, ref.digest)).sent, profile, Delivery("not-yet", 0, at, ref)
    )


def chosen_of_nobody(view: Reading, profile: Profile) -> tuple[str, ...]:
    """A remark on each customer or method a profile chooses that the site does not have: it may still come."""
    known = {row["id"] for row in view.rows("document", kind="method")}
    customers = [one for one in profile.choose.customers if view.row("customer", customer=one) is None]
    methods = [one for one in profile.choose.methods if one not in known]
    return (
        *(f"no customer {one} is registered: nothing of theirs would go." for one in customers),
        *(f"no method {one} is there: nothing measured by it would go." for one in methods),
    )


def profile_in_force(view: Reading, name: str) -> tuple[Profile, DocumentRef]:
    """An approved export profile. Raises Stopped."""
    row = in_force(view, "profile", name)
    if isinstance(row, str):
        what = f"no export profile is in force by this name: {row}."
        raise Stopped(Refusal("export.profile-not-in-force", name, what, "See `benchseal document list`."))
    return load(view, Profile, row["value"]), DocumentRef(row["id"], int(row["version"]), row["value"])


def profile_of_file(data: bytes, source: str) -> Profile:
    """A profile that is not in force yet, to be tried. Raises Stopped with every problem."""
    read = read_document(data, source)
    if isinstance(read, tuple):
        raise Stopped(*read)
    if not isinstance(read.value, Profile):
        what = f"it is a {read.kind}, not an export profile."
        raise Stopped(Problem("export.not-a-profile", source, what, "Give an export profile."))
    if wrong := check_profile(read.value):
        raise Stopped(*wrong)
    return read.value
