"""Signed qualifications: putting one on record, the one of the version in use, and what changed since."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from benchseal import __version__
from benchseal.desk.acting import Receipt
from benchseal.desk.reading import load
from benchseal.desk.runs import require_reason
from benchseal.problems import Refusal, Stopped
from benchseal.records.canonical import digest
from benchseal.records.people import Role
from benchseal.records.qualification import Qualification
from benchseal.records.shape import read_record
from benchseal.records.signatures import Meaning

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.desk.acting import Acting
    from benchseal.desk.acts_qualification import SignQualification
    from benchseal.records.qualification import Installation
    from benchseal.store.protocol import Reading, Row

FIGURES: Final = 8


def sign_qualification(acting: Acting, act: SignQualification) -> Receipt:
    """Keep the report and the signature of each. It must be the one that was looked at, and two people sign."""
    require_reason(act.comment, "qualify sign")
    performed, approved = acting.who
    if performed.person == approved.person:
        what, remedy = "who performed it and who approves it are the same person.", "A second person has to sign."
        raise Stopped(Refusal("duty.same-checker", "qualify sign", what, remedy))
    figures = digest(act.record)[:FIGURES]
    if figures != act.listed:
        what = f"tested again it ends with {figures}, not with {act.listed or 'nothing'}."
        remedy = "Look at it with `benchseal qualify all`, then give what it ends with."
        raise Stopped(Refusal("qualify.changed", "qualify sign", what, remedy))
    record = read_record(Qualification, act.record)
    kept = acting.tx.keep(act.record)
    subject = f"qualification/{kept[:16]}"
    signers = ((performed, Role.ADMINISTRATOR, Meaning.PERFORMED), (approved, Role.APPROVER, Meaning.APPROVED))
    for who, role, meaning in signers:
        acting.write(
            "qualification.signed",
            subject,
            facts={
                "program": record.installation.program,
                "verdict": record.verdict,
                "installation": record.installation.figures,
                "signature": acting.sign(who, role, meaning, subject, version=1, digest=kept),
            },
            digests={"record": kept},
            reason=act.comment,
            actor=who.person,
        )
    said = f"Qualification of benchseal {record.installation.program}, {record.verdict}, is signed by two."
    return Receipt((said,), {"record": kept, "verdict": record.verdict, "tests": len(record.tests)})


def signed_qualifications(view: Reading) -> list[Row]:
    """Every one both have signed, oldest first."""
    rows = (row for row in view.rows("qualification") if row["performed_by"] and row["approved_by"])
    return sorted(rows, key=lambda row: int(row["seq"]))


def qualified(view: Reading) -> Row | None:
    """The last signed one of the version in use that did not fail; None where there is none."""
    found = [row for row in signed_qualifications(view) if row["program"] == __version__ and row["verdict"] != "failed"]
    return found[-1] if found else None


def qualification_record(view: Reading, row: Row) -> Qualification:
    """The record of a row."""
    return load(view, Qualification, row["record"])


def differences(before: Installation, now: Installation) -> Iterator[str]:
    """What is installed otherwise than it was tested: program, rules, Python, machine, files, libraries."""
    for name in ("program", "calculation_rules", "python", "system", "lock_sha256"):
        old, new = getattr(before, name), getattr(now, name)
        if old != new:
            yield f"{name.replace('_', ' ')}: {old} -> {new}"
    yield from _parts(
        "file", {one.name: one.sha256[:8] for one in before.files}, {one.name: one.sha256[:8] for one in now.files}
    )
    yield from _parts(
        "library",
        {one.name: f"{one.version} ({one.sha256[:8]})" for one in before.packages},
        {one.name: f"{one.version} ({one.sha256[:8]})" for one in now.packages},
    )


def _parts(what: str, before: dict[str, str], now: dict[str, str]) -> Iterator[str]:
    for name in sorted(before.keys() | now.keys()):
        old, new = before.get(name, "not there"), now.get(name, "not there")
        if old != new:
            yield f"{what} {name}: {old} -> {new}"
