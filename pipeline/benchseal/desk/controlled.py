"""Controlled documents: brought in by those who work on results, put in force by an approver who is not the author."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.desk.acting import Acting, Receipt
from benchseal.documents.reading import read_document
from benchseal.export.profiles import check_profile
from benchseal.problems import Refusal, Stopped
from benchseal.records.people import Role
from benchseal.records.profile import Profile
from benchseal.records.signatures import Meaning
from benchseal.review.cycles import DOCUMENT, decide
from benchseal.review.duty import Situation

if TYPE_CHECKING:
    from benchseal.desk.acts import AddDocument, ApproveDocument
    from benchseal.store.protocol import Reading, Row


def add_document(acting: Acting, act: AddDocument) -> Receipt:
    """Bring in a new version; the site allots its number."""
    read = read_document(act.data, act.source)
    if isinstance(read, tuple):
        raise Stopped(*read)
    if isinstance(read.value, Profile) and (wrong := check_profile(read.value)):
        raise Stopped(*wrong)
    before = versions(acting.tx, read.kind, read.id)
    same = next((row for row in before if acting.tx.bytes_of(row["value"]) == read.canonical), None)
    if same is not None:
        what = f"version {same['version']} says exactly the same."
        raise Stopped(Refusal("document.no-change", f"{read.kind} {read.id}", what, "Nothing needs to be done."))
    version = len(before) + 1
    acting.write(
        "document.added",
        f"document/{read.kind}/{read.id}",
        facts={"kind": read.kind, "id": read.id, "version": version, "title": read.value.title},
        digests={"source": acting.tx.keep(act.data), "value": acting.tx.keep(read.canonical)},
    )
    return Receipt(
        (f"{read.kind} {read.id}, version {version}, waits for approval by somebody else.",),
        {"kind": read.kind, "id": read.id, "version": version},
    )


def approve_document(acting: Acting, act: ApproveDocument) -> Receipt:
    """Put the latest version in force; the version in force before is superseded."""
    row = latest(acting.tx, act.id)
    version = int(row["version"])
    subject = f"document/{row['kind']}/{row['id']}"
    situation = Situation(f"{row['kind']} {row['id']}", row["state"], {row["author"]: ("author",)})
    decided = decide(DOCUMENT, "approve", situation, acting.first.person)
    if isinstance(decided, Refusal):
        raise Stopped(decided)
    in_force = acting.tx.row("document", kind=row["kind"], id=row["id"], state="approved")
    signature = acting.sign(
        acting.first, Role.APPROVER, Meaning.APPROVED, subject, version=version, digest=row["value"]
    )
    acting.write(
        "document.approved",
        subject,
        facts={
            "kind": row["kind"],
            "id": row["id"],
            "version": version,
            "supersedes": int(in_force["version"]) if in_force else 0,
            "signature": signature,
        },
        digests={"value": row["value"]},
    )
    return Receipt(
        (f"{row['kind']} {row['id']}, version {version}, is in force.",),
        {"kind": row["kind"], "id": row["id"], "version": version},
    )


def versions(view: Reading, kind: str, identifier: str) -> list[Row]:
    """Every version of a document, oldest first."""
    return sorted(view.rows("document", kind=kind, id=identifier), key=lambda row: int(row["version"]))


def latest(view: Reading, identifier: str) -> Row:
    """Latest version of the document with this identifier (``lead-furnace`` or ``method/lead-furnace``)."""
    kind, _, name = identifier.rpartition("/")
    rows = view.rows("document", id=name, **({"kind": kind} if kind else {}))
    kinds = sorted({row["kind"] for row in rows})
    if not rows:
        raise Stopped(
            Refusal("document.unknown", identifier, "there is no such document.", "See `benchseal document list`.")
        )
    if len(kinds) > 1:
        raise Stopped(
            Refusal(
                "document.several",
                identifier,
                f"it is a {' and a '.join(kinds)}.",
                f"Say {kinds[0]}/{name}, for instance.",
            )
        )
    return versions(view, kinds[0], name)[-1]
