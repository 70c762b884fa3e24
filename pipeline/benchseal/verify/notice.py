"""The outside check of a notice of withdrawal: its seal, the signed withdrawal, the ledger that holds it, the page.

What it proves: the laboratory took back the certificate whose sealed file has the SHA-256 named, for the reason given,
by the person who signed; and of which sample and results, since their identifiers were signed. The customer, the lot,
the product, the day of release, the amount of a claim and the parts of a sum are the laboratory's word under its seal.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final, TypeVar

from benchseal.certificate.page_flow import Flow, due_flow, flow_faults
from benchseal.certificate.withdrawal import NOTICE_WORDING, notice_html, notice_page
from benchseal.identity.statements import check_statement
from benchseal.ledger.hashes import record_hash
from benchseal.ledger.proofs import check_inclusion
from benchseal.records.canonical import digest
from benchseal.records.entries import read_entry
from benchseal.records.ids import notice_number
from benchseal.records.people import Role
from benchseal.records.shape import plain_of, read_record, record_digest
from benchseal.records.signatures import Meaning
from benchseal.records.withdrawal import NoticeProof, WithdrawalNotice
from benchseal.verify.contents import NOT_LOOKED_AT, Doubt, check_of
from benchseal.verify.held import checkpoint_faults
from benchseal.verify.notice_lines import line_faults
from benchseal.verify.page import stands
from benchseal.verify.report import Check, Report
from benchseal.verify.sealing_key import sealed_after

if TYPE_CHECKING:
    from collections.abc import Callable

    from benchseal.certificate.read_pdf import SealedPdf
    from benchseal.records.entries import Entry
    from benchseal.verify.contents import Faults
    from benchseal.verify.trust import Trust

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class NoticeCase:
    """What is looked at: notice and proof as records, the digest of the notice, the text of each page, the trust.

    flow: every word of the pages in order.
    """

    notice: WithdrawalNotice
    proof: NoticeProof
    notice_sha256: str
    pages: tuple[str, ...]
    trust: Trust
    flow: Flow


def size_of(opened: SealedPdf) -> int:
    """Entries of the ledger at the head the notice carries; 0 where its proof cannot be read."""
    proof, _ = read_part(NoticeProof, opened.supplement, "proof")
    return proof.checkpoint.size if proof else 0


def notice_report(opened: SealedPdf, seal_checks: tuple[Check, ...], trust: Trust) -> Report:
    """Everything found about an opened notice. seal_checks: what was found about its seal and key."""
    notice, first = read_part(WithdrawalNotice, opened.evidence, "notice")
    proof, second = read_part(NoticeProof, opened.supplement, "proof")
    checks = (*seal_checks, first, second)
    if notice is not None and proof is not None:
        case = NoticeCase(notice, proof, digest(opened.evidence), opened.pages, trust, opened.flow)
        checks = (*checks, *(look_at_notice(case, *look) for look in LOOKS))
        if early := sealed_after(opened, notice.signature.statement.at):
            checks = (early, *checks)
    report = Report(
        checks,
        sealed_by=opened.signer,
        sealed_at=opened.signed_at.strftime("%Y-%m-%dT%H:%M:%SZ"),
        unsealed_sha256=opened.unsealed_sha256,
        sealed_sha256=opened.sealed_sha256,
    )
    return _about(report, notice) if notice else report


def _about(report: Report, notice: WithdrawalNotice) -> Report:
    withdrawn = notice.withdrawal
    return replace(
        report,
        number=notice.number,
        laboratory=notice.laboratory.name,
        sample=f"{notice.sample.sample}, lot {notice.sample.row.lot}",
        conclusion=f"certificate {withdrawn.certificate} is withdrawn: {withdrawn.reason}",
        withdraws=withdrawn.sealed,
    )


def read_part(kind: type[T], data: bytes, name: str) -> tuple[T | None, Check]:
    """One of the two files attached as a record, or None, and what is said of that."""
    try:
        return read_record(kind, data), Check(name, holds=True, said="canonical, in its form.")
    except ValueError as fault:
        return None, Check(name, holds=False, said=f"it cannot be read ({fault}).")


def look_at_notice(case: NoticeCase, name: str, faults: Callable[[NoticeCase], Faults], good: str) -> Check:
    """One look as a check. Whatever breaks it half way is a fault of the file, never a traceback."""
    try:
        return check_of(name, tuple(faults(case)), good)
    except Exception:  # noqa: BLE001  a hostile file can break any reader; saying so is the point
        return Check(name, holds=False, said=NOT_LOOKED_AT)


def _belongs(case: NoticeCase) -> Faults:
    if case.proof.notice_sha256 != case.notice_sha256:
        yield f"the proof is of notice {case.proof.notice_sha256[:16]}…, not of this one."


def _signed(case: NoticeCase) -> Faults:
    """An approver signed exactly this withdrawal."""
    notice = case.notice
    withdrawn, statement = notice.withdrawal, notice.signature.statement
    finding = check_statement(statement, notice.signature.signature)
    if finding is not None:
        yield finding.what
    if statement.ledger != notice.ledger:
        yield f"it is of ledger {statement.ledger}, not {notice.ledger}."
    if (statement.meaning, statement.role) != (Meaning.WITHDRAWN, Role.APPROVER):
        yield f"it means {statement.meaning} as {statement.role}; a withdrawal is signed as withdrawn by an approver."
    if statement.subject != f"certificate/{withdrawn.certificate}" or statement.version != 1:
        yield f"it signs {statement.subject}, the notice is about certificate {withdrawn.certificate}."
    if statement.digest != record_digest(withdrawn):
        yield "what it signs is another withdrawal: certificate, file, reason or results differ."
    if notice.number != notice_number(withdrawn.certificate):
        yield f"number {notice.number} is not that of a notice about {withdrawn.certificate}."


def _laboratory(case: NoticeCase) -> Faults:
    """It is the laboratory of the trust file."""
    named, trusted = case.notice.laboratory.name, case.trust.laboratory
    if named != trusted:
        yield f"the notice names {named!r}; the trust file is of {trusted!r}."


def _lines(case: NoticeCase) -> Faults:
    """Every result taken back is named, as what its identifier is made of, and nothing else."""
    named = [line.result_id for line in case.notice.lines]
    taken = [value.result_id for value in case.notice.withdrawal.values]
    if not taken:
        yield "it takes nothing back."
    if sorted(named) != sorted(set(taken)):
        yield f"{len(named)} results are named, {len(taken)} are taken back; they are not the same."
    yield from line_faults(case.notice)


def _held(case: NoticeCase) -> Faults:
    """The ledger's entry of the withdrawal stands in the tree of the head, and says the same."""
    notice, proof = case.notice, case.proof
    body = proof.entry.body.encode("utf-8")
    try:
        entry = read_entry(body)
    except ValueError as fault:
        yield f"the entry cannot be read ({fault})."
        return
    head, path = proof.checkpoint, tuple(bytes.fromhex(node) for node in proof.entry.path)
    if not check_inclusion(record_hash(body), entry.seq - 1, head.size, path, bytes.fromhex(head.root)):
        yield f"entry {entry.seq} ({entry.kind}) is not in the tree of the checkpoint."
    if not _says(entry, notice):
        yield f"entry {entry.seq} ({entry.kind}) does not hold this withdrawal with this signature."


def _says(entry: Entry, notice: WithdrawalNotice) -> bool:
    withdrawn, statement = notice.withdrawal, notice.signature.statement
    return (
        entry.kind == "certificate.withdrawn"
        and entry.subject == f"certificate/{withdrawn.certificate}"
        and entry.reason == withdrawn.reason
        and entry.facts.get("signature") == plain_of(notice.signature)
        and entry.facts.get("values") == plain_of(withdrawn)["values"]
        and entry.digests.get("withdrawal") == statement.digest
        and (entry.actor, entry.at) == (statement.person, statement.at)
    )


def _head(case: NoticeCase) -> Faults:
    return checkpoint_faults(case.proof.checkpoint, case.notice.ledger, case.trust)


def _words(case: NoticeCase) -> Faults:
    """The page says what the notice says. By another form only numbers can be looked for."""
    notice = case.notice
    known = notice.wording == NOTICE_WORDING
    if known:
        texts = tuple(notice_page(notice, case.proof.checkpoint).texts())
    else:
        texts = (("number", notice.number), ("certificate", notice.withdrawal.certificate))
    for name, text in texts:
        if text and not stands(text, case.pages):
            yield f"the page does not say {name} {text!r}."
    if not known:
        yield Doubt(
            f"the page was worded by form {notice.wording}, this program words notices by form {NOTICE_WORDING}: only "
            f"the two numbers were looked for. It was made by {notice.program}: try that."
        )


def _nothing_else(case: NoticeCase) -> Faults:
    """The pages say what follows from the notice, in that order, and not a word more."""
    notice = case.notice
    if notice.wording != NOTICE_WORDING:
        yield Doubt(f"a page worded by form {notice.wording} cannot be compared word by word.")
        return
    due = due_flow(notice_html(notice_page(notice, case.proof.checkpoint)))
    yield from flow_faults(case.flow, due, notice.number, notice.laboratory.name, kind="notice")


PAGE_LOOKS: Final = (
    ("printed words", _words, "certificate, lot, reason, results and signature on the page fit."),
    ("nothing else printed", _nothing_else, "every word of the pages, in order, follows from the notice."),
)
LOOKS: Final = (
    ("proof of this notice", _belongs, "its proof belongs to this notice."),
    ("laboratory", _laboratory, "the one the trust file names."),
    ("signature", _signed, "an approver signed this withdrawal."),
    ("results taken back", _lines, "each is named, as its signed identifier says, none with a value."),
    ("ledger entry", _held, "the ledger holds the withdrawal as it was signed."),
    ("checkpoint", _head, "a trusted key signed the ledger's head."),
    *PAGE_LOOKS,
)
