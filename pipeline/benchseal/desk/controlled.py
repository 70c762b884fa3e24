"""Controlled documents: brought in by those who work on results, put in force by an approver who is not the author."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.desk.acting import Acting, Receipt
from benchseal.desk.reading import load
from benchseal.documents.reading import read_document
from benchseal.export.profiles import check_profile
from benchseal.problems import Refusal, Stopped
from benchseal.records.method import Method
from benchseal.records.people import Role
from benchseal.records.profile import Profile
from benchseal.records.signatures import Meaning
from benchseal.records.specification import Specification
from benchseal.review.cycles import DOCUMENT, decide
from benchseal.review.duty import Situation

if TYPE_CHECKING:
    from benchseal.desk.acts_documents import AddDocument, ApproveDocument
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
    if row["kind"] == "specification" and (unserved := _unserved(acting.tx, row)):
        raise Stopped(*unserved)
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


def _unserved(view: Reading, row: Row) -> list[Refusal]:
    """Why nothing could ever be judged by a specification: its customer, or a method it names."""
    specification, where = load(view, Specification, row["value"]), f"specification {row['id']}"
    refusals = []
    if view.row("customer", customer=specification.customer) is None:
        what = f"its customer {specification.customer} is not registered."
        remedy = "Add the customer with `benchseal recipient add`, then approve."
        refusals.append(Refusal("specification.customer-unknown", where, what, remedy))
    in_force = {each["id"]: each["value"] for each in view.rows("document", kind="method", state="approved")}
    for number, requirement in enumerate(specification.requirements, start=1):
        line = f"{where}, requirement no. {number}"
        for name in requirement.methods:
            if name not in in_force:
                what = f"{requirement.element} is to be measured by method {name}, which is not in force."
                remedy = "Have the method approved first, or name one that is in force."
                refusals.append(Refusal("specification.method-not-in-force", line, what, remedy))
                continue
            measures = load(view, Method, in_force[name]).element
            if measures != requirement.element:
                what = f"the requirement is for {requirement.element}; method {name} measures {measures}."
                remedy = "Name a method of this element in a new version of the specification."
                refusals.append(Refusal("specification.method-element", line, what, remedy))
    return refusals


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
