"""Controlled documents: brought in by those who work on results, put in force by an approver who is not the author."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from benchseal.desk.acting import Acting, Receipt, as_json
from benchseal.desk.clock import moment_of
from benchseal.desk.comparing import against_in_force
from benchseal.desk.in_force import begins_at
from benchseal.desk.layout_samples import limits_of, meanings_lost, samples_differ
from benchseal.desk.printed_by import form_refusals
from benchseal.desk.reading import load
from benchseal.desk.runs import require_reason
from benchseal.desk.site_rules import rules_in_force
from benchseal.documents.reading import read_document
from benchseal.export.profiles import check_profile
from benchseal.ingest.draft_text import unchecked
from benchseal.problems import Refusal, Stopped
from benchseal.records.canonical import digest
from benchseal.records.layout import Layout
from benchseal.records.method import Method
from benchseal.records.people import Role
from benchseal.records.profile import Profile
from benchseal.records.shape import plain_of
from benchseal.records.signatures import Meaning
from benchseal.records.site_rules import MONTH_DAYS
from benchseal.records.specification import Specification
from benchseal.review.cycles import DOCUMENT, decide
from benchseal.review.duty import Situation

if TYPE_CHECKING:
    from datetime import datetime

    from benchseal.desk.acts_documents import AddDocument, ApproveDocument, ReviewDocument, WithdrawDocument
    from benchseal.records.canonical import Json
    from benchseal.store.protocol import Reading, Row


def add_document(acting: Acting, act: AddDocument) -> Receipt:
    """Bring in a new version; the site allots its number."""
    read = read_document(act.data, act.source)
    if isinstance(read, tuple):
        raise Stopped(*read)
    if isinstance(read.value, Profile) and (wrong := check_profile(read.value)):
        raise Stopped(*wrong)
    if isinstance(read.value, Layout) and (open_remarks := unchecked(act.data, act.source)):
        raise Stopped(*open_remarks)
    before = versions(acting.tx, read.kind, read.id)
    now = [row for row in before if row["state"] == "approved" or (row is before[-1] and row["state"] != "withdrawn")]
    same = next((row for row in now if row["value"] == digest(read.canonical)), None)
    if same is not None:  # an older one may come in force again: as a version of its own, approved anew
        is_in_force = "is in force" if same["state"] == "approved" else "is the latest"
        what = f"version {same['version']} {is_in_force} and says exactly the same."
        raise Stopped(Refusal("document.no-change", f"{read.kind} {read.id}", what, "Nothing needs to be done."))
    version = len(before) + 1
    acting.write(
        "document.added",
        f"document/{read.kind}/{read.id}",
        facts={"kind": read.kind, "id": read.id, "version": version, "title": read.value.title},
        digests={
            "source": acting.tx.keep(act.data),
            "value": acting.tx.keep(read.canonical),
            **({"trial": acting.tx.keep(acting.made)} if isinstance(acting.made, bytes) and acting.made else {}),
        },
    )
    return Receipt(
        (f"{read.kind} {read.id}, version {version}, waits for approval by somebody else.", *limits_of(read.value)),
        {"kind": read.kind, "id": read.id, "version": version},
    )


def approve_document(acting: Acting, act: ApproveDocument) -> Receipt:
    """Put the latest version in force, now or from a later day; the version in force before is superseded then."""
    row = latest(acting.tx, act.id)
    effective, begins = begins_at(acting, act.effective)
    _decide(acting, row, "approve for later" if begins else "approve", authors=_authors(acting.tx, row))
    _require_after_waiting(acting.tx, row, begins or acting.at)
    if row["kind"] == "specification" and (unserved := _unserved(acting.tx, row, begins or acting.at)):
        raise Stopped(*unserved)
    if row["kind"] == "certificate_form" and (refused := form_refusals(acting.tx, row)):
        raise Stopped(*refused)
    if row["kind"] == "layout" and (differ := samples_differ(acting.tx, row)):
        raise Stopped(*differ)
    comparison, in_force = against_in_force(acting.tx, row)
    if row["kind"] == "layout" and not act.looked_at and (lost := meanings_lost(acting.tx, row, in_force)):
        raise Stopped(*lost)
    if act.seen and act.seen != comparison.figures:
        what = f"what it changes ends with {comparison.figures} now; looked at was {act.seen}."
        remedy = f"Look at it again with `benchseal document compare {row['kind']}/{row['id']}`."
        raise Stopped(Refusal("document.compared-other", f"{row['kind']} {row['id']}", what, remedy))
    facts = _signed(acting, row, Meaning.APPROVED)
    facts |= {
        "supersedes": int(in_force["version"]) if in_force and not begins else 0,
        "effective": effective,
        "begins": begins,
        "compared_with": int(in_force["version"]) if in_force else 0,
    }
    digests = {"value": row["value"], "comparison": acting.tx.keep(comparison.content)}
    acting.write("document.approved", _subject(row), facts=facts, digests=digests)
    when = f"counts from {effective}" if begins else "is in force"
    return Receipt(
        (f"{row['kind']} {row['id']}, version {row['version']}, {when}.",),
        {
            **_named(row),
            "effective": effective,
            "compared_with": facts["compared_with"],
            "comparison": comparison.figures,
            "differences": as_json([plain_of(each) for each in comparison.found]),
        },
    )


def review_document(acting: Acting, act: ReviewDocument) -> Receipt:
    """Sign that the version in force stays as it is; its next review is counted from here."""
    require_reason(act.comment, "document review")
    row = _version(acting.tx, act.id)
    _decide(acting, row, "review", authors={row["author"]})
    facts = _signed(acting, row, Meaning.REVIEWED)
    acting.write("document.reviewed", _subject(row), facts=facts, digests={"value": row["value"]}, reason=act.comment)
    return Receipt((f"{row['kind']} {row['id']}, version {row['version']}, stays as it is.",), _named(row))


def withdraw_document(acting: Acting, act: WithdrawDocument) -> Receipt:
    """Take a version out of use. Nothing takes its place until another version is approved."""
    require_reason(act.reason, "document withdraw")
    row = _version(acting.tx, act.id)
    _decide(acting, row, "withdraw", authors=set())
    facts = _signed(acting, row, Meaning.WITHDRAWN)
    acting.write("document.withdrawn", _subject(row), facts=facts, digests={"value": row["value"]}, reason=act.reason)
    said = [f"{row['kind']} {row['id']}, version {row['version']}, is withdrawn; records made with it keep naming it."]
    if row["state"] == "approved":
        said.append("No version of it is in force now.")
    return Receipt(tuple(said), _named(row))


def due_documents(view: Reading, now: datetime) -> list[tuple[Row, str]]:
    """Documents in force that nobody looked at for longer than the rules of the site allow, and since when."""
    longest = timedelta(days=rules_in_force(view).document_review_months * MONTH_DAYS)
    looked = [(row, max(row["approved_at"], row["begins"], row["reviewed_at"])) for row in _approved(view)]
    return [(row, at) for row, at in looked if longest and now - moment_of(at) > longest]


def _approved(view: Reading) -> list[Row]:
    return view.rows("document", state="approved")


def _decide(acting: Acting, row: Row, step: str, *, authors: set[str]) -> None:
    named = f"{row['kind']} {row['id']}, version {row['version']}"
    situation = Situation(named, row["state"], dict.fromkeys(authors, ("author",)))
    decided = decide(DOCUMENT, step, situation, acting.first.person)
    if isinstance(decided, Refusal):
        raise Stopped(decided)


def _authors(view: Reading, row: Row) -> set[str]:
    """Everybody who brought in a version since the last approved one: the draft is the work of them all."""
    authors: set[str] = set()
    for each in versions(view, row["kind"], row["id"]):
        authors = set() if each["approver"] else authors | {each["author"]}
    return authors | {row["author"]}


def _require_after_waiting(view: Reading, row: Row, begins: str) -> None:
    """A version does not count before one approved earlier does: that one would take its place on its day."""
    for each in view.rows("document", kind=row["kind"], id=row["id"], state="waiting"):
        if each["begins"] > begins:
            what = f"version {each['version']} is approved and counts from {each['effective']}."
            remedy = f"Name that day or a later one, or withdraw {row['id']}@{each['version']} first."
            raise Stopped(Refusal("document.before-waiting", f"{row['kind']} {row['id']}", what, remedy))


def _signed(acting: Acting, row: Row, meaning: Meaning) -> dict[str, Json]:
    version = int(row["version"])
    signature = acting.sign(acting.first, Role.APPROVER, meaning, _subject(row), version=version, digest=row["value"])
    return {**_named(row), "signature": signature}


def _named(row: Row) -> dict[str, Json]:
    return {"kind": row["kind"], "id": row["id"], "version": int(row["version"])}


def _subject(row: Row) -> str:
    return f"document/{row['kind']}/{row['id']}"


def _unserved(view: Reading, row: Row, begins: str) -> list[Refusal]:
    """Why nothing could ever be judged by a specification that counts from ``begins``: its customer, or its methods."""
    specification, where = load(view, Specification, row["value"]), f"specification {row['id']}"
    refusals = []
    if view.row("customer", customer=specification.customer) is None:
        what = f"its customer {specification.customer} is not registered."
        remedy = "Add the customer with `benchseal recipient add`, then approve."
        refusals.append(Refusal("specification.customer-unknown", where, what, remedy))
    methods = [each for each in view.rows("document", kind="method") if each["state"] in {"approved", "waiting"}]
    in_force = {each["id"]: each["value"] for each in methods if each["begins"] <= begins}
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


def named(view: Reading, name: str) -> Row:
    """A document's row by ``ID`` (its latest version) or ``ID@VERSION``. Raises Stopped."""
    identifier, _, version = name.partition("@")
    row = latest(view, identifier)
    if not version:
        return row
    found = [each for each in versions(view, row["kind"], row["id"]) if each["version"] == version]
    if not found:
        what = f"there is no version {version}; the latest is {row['version']}."
        raise Stopped(Refusal("document.unknown", name, what, "See `benchseal document list`."))
    return found[0]


def _version(view: Reading, name: str) -> Row:
    """The version named, or the one in force, or the latest."""
    row = named(view, name)
    if "@" in name:
        return row
    return view.row("document", kind=row["kind"], id=row["id"], state="approved") or row
