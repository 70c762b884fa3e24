"""After a signed withdrawal: its notice is rendered, sealed, checked from outside, put on record. Needs no password.

Stopped anywhere in between, the certificate is withdrawn all the same, and the same call makes the notice.
"""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from benchseal.certificate.conclude import line_id, lines_of
from benchseal.certificate.evidence import PROGRAM as PROGRAM_NAME
from benchseal.certificate.present import result_rows
from benchseal.certificate.withdrawal import NOTICE_WORDING, render_notice
from benchseal.desk import checkpoints
from benchseal.desk.acting import PROGRAM, Acting, Receipt, Who, as_json
from benchseal.desk.clock import moment_of
from benchseal.desk.drop import drop
from benchseal.desk.founding import trust_of
from benchseal.desk.perform import one_line_for_disk_faults
from benchseal.desk.reading import load, read_signature
from benchseal.desk.recipients import without_notice
from benchseal.desk.renderer import rendered
from benchseal.desk.seal_in_force import open_seal
from benchseal.desk.stamped import sealed_by_the_rules, without_words
from benchseal.desk.texts import kept_text
from benchseal.ledger.checkpoints import checkpoint_json
from benchseal.ledger.tree import prove_inclusion
from benchseal.problems import Finding, Refusal, Stopped
from benchseal.records.entries import read_entry
from benchseal.records.evidence import CheckpointRecord, EntryProof, Evidence
from benchseal.records.ids import notice_number
from benchseal.records.shape import record_bytes, record_digest, record_of
from benchseal.records.signatures import Meaning
from benchseal.records.withdrawal import USUAL_FRACTIONS, NamedLine, NoticeProof, Withdrawal, WithdrawalNotice
from benchseal.verify.certificate import verify_certificate
from benchseal.verify.trust import read_trust

if TYPE_CHECKING:
    from benchseal.certificate.conclude import Line
    from benchseal.desk.site import Site
    from benchseal.ledger.checkpoints import Checkpoint
    from benchseal.records.canonical import Json
    from benchseal.store.protocol import Reading, Row


def waiting(site: Site) -> list[str]:
    """Numbers of withdrawn certificates whose notice was not made yet."""
    with site.store.reading() as view:
        return without_notice(view)


def sealed_notice(view: Reading, number: str) -> bytes:
    """The sealed notice of a withdrawn certificate; empty where there is none."""
    row = view.row("certificate_notice", number=number)
    return view.bytes_of(row["sealed"]) if row else b""


def finish(site: Site, number: str) -> Receipt:
    """Make the notice of a withdrawn certificate, or its copy again. Raises Stopped; then it can be called again."""
    with one_line_for_disk_faults():
        unstamped = _make(site, number) if number in waiting(site) else ""
        path = site.certificates / f"{notice_number(number)}.pdf"
        with site.store.reading() as view:
            data = sealed_notice(view, number)
        if not data:
            raise Stopped(Refusal("certificate.not-withdrawn", number, "it is not withdrawn.", "There is no notice."))
        if path.exists() and path.read_bytes() != data:
            path.unlink()  # a copy is disposable; the store holds the original
        drop(site.certificates, {path.name: data}, (path.name,))
    said = f"Its notice for everybody who has it: {path}"
    return Receipt(
        (said, *without_words(unstamped)), {"number": number, "notice": notice_number(number), "file": str(path)}
    )


def _make(site: Site, number: str) -> str:
    """Make and keep the notice; why it has no time-stamp, where the rules ask for one and allow to do without."""
    checkpoint = checkpoints.make(site)
    with site.store.reading() as view:
        row = view.row("certificate", number=number)
        founded = view.row("site", ledger=site.ledger)
        if row is None or founded is None:
            raise AssertionError("a withdrawn certificate of a founded site")
        notice = notice_of(view, site, row)
        proof = _proof(view, notice, checkpoint)
    raw = rendered(render_notice, record_bytes(notice), record_bytes(proof))
    from benchseal.certificate.seal import OF_NOTICE, SealKey, seal  # noqa: PLC0415  heavy: only who seals needs it

    at = max(site.clock(), moment_of(checkpoint.at))
    key = open_seal(site, notice.number, at)
    sealing = partial(seal, raw, SealKey(key.signer, key.certificate, key.chain), at, OF_NOTICE)
    sealed, unstamped = sealed_by_the_rules(site, notice.number, at, sealing)
    _require_genuine(site, notice.number, sealed)
    with site.store.writing() as tx:
        if tx.row("certificate_notice", number=number):
            return ""  # another process made it meanwhile; its bytes are the ones on record
        acting = Acting(site, tx, (Who(PROGRAM, PROGRAM, frozenset(), signs=False),), site.clock())
        acting.note_clock()
        acting.write(
            "certificate.noticed",
            f"certificate/{number}",
            facts={"number": notice.number, "checkpoint": as_json(checkpoint_json(checkpoint))},
            digests={"unsealed": tx.keep(raw), "notice": tx.keep(sealed)},
        )
        if unstamped:
            told: dict[str, Json] = {"number": notice.number, "why": kept_text(unstamped)}
            acting.write("certificate.notice_unstamped", f"certificate/{number}", facts=told)
    return unstamped


def notice_of(view: Reading, site: Site, row: Row) -> WithdrawalNotice:
    """The notice of a certificate whose withdrawal is signed."""
    content = load(view, Evidence, row["evidence"])
    facts = content.certificate
    (signed,) = view.rows("signature", subject=f"certificate/{row['number']}", meaning=Meaning.WITHDRAWN.value)
    withdrawal = load(view, Withdrawal, signed["digest"])
    taken = {value.result_id for value in withdrawal.values}
    lines = ((line_id(line), line, row) for line, row in zip(lines_of(content), result_rows(content), strict=True))
    (released,) = view.rows("signature", digest=row["evidence"], meaning=Meaning.RELEASED.value)
    return WithdrawalNotice(
        schema="withdrawal-notice/1",
        program=PROGRAM_NAME,
        wording=NOTICE_WORDING,
        ledger=site.ledger,
        number=notice_number(row["number"]),
        laboratory=facts.laboratory,
        customer=facts.customer,
        sample=facts.sample,
        released_at=released["at"],
        lines=tuple(
            NamedLine(name, one.substance, one.quantity, _unusual(line)) for name, line, one in lines if name in taken
        ),
        withdrawal=withdrawal,
        signature=read_signature(signed),
        paper=facts.paper,
        form=content.form,
    )


def _unusual(line: Line) -> str:
    """The fraction, where it is none of the usual three: not every notice prints it, and an identifier holds it."""
    return "" if line.fraction in USUAL_FRACTIONS else line.fraction


def _proof(view: Reading, notice: WithdrawalNotice, checkpoint: Checkpoint) -> NoticeProof:
    row = view.row("signature", signature=notice.signature.signature)
    if row is None:
        raise AssertionError("a signature on record has its row")
    seq = int(row["seq"])
    body = next(view.entries(seq))[1]
    if read_entry(body).kind != "certificate.withdrawn":
        raise AssertionError("a withdrawal is signed in its entry")
    return NoticeProof(
        schema="notice-proof/1",
        notice_sha256=record_digest(notice),
        checkpoint=record_of(CheckpointRecord, checkpoint_json(checkpoint)),
        entry=EntryProof(body.decode(), tuple(node.hex() for node in prove_inclusion(seq - 1, checkpoint.size, view))),
    )


def _require_genuine(site: Site, number: str, sealed: bytes) -> None:
    trust = read_trust(as_json(trust_of(site)))
    if isinstance(trust, tuple):
        raise Stopped(*trust)
    report = verify_certificate(sealed, trust)
    if report.word != "GENUINE":
        what = "the sealed notice does not verify: " + "; ".join(one.said for one in report.checks if not one.holds)
        remedy = "The certificate is withdrawn all the same. Tell those who have it; report this fault of the program."
        raise Stopped(Finding("integrity.own-certificate", number, what, remedy))
