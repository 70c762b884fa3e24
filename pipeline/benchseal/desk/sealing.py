"""After a signed release: checkpoint, render, seal, verify, put on record. Resumable; needs keys, never a password.

Killed anywhere in between, the certificate stays ``sealing`` and the same call finishes it: nothing is on record
before the sealed bytes are, and those are checked as an outsider would check them first. Where that check finds them
false, no call could ever finish it: it becomes a draft again, on record as refused, with its signed release.
"""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Final

from benchseal.certificate.conclude import line_id, lines_of
from benchseal.certificate.issue import render_certificate, seal_certificate
from benchseal.desk import checkpoints
from benchseal.desk.acting import PROGRAM, Acting, Receipt, Who, as_json
from benchseal.desk.clock import moment_of
from benchseal.desk.drop import drop
from benchseal.desk.founding import trust_of
from benchseal.desk.perform import one_line_for_disk_faults
from benchseal.desk.preliminary import void_lines
from benchseal.desk.preliminary_told import to_be_told
from benchseal.desk.reading import load, read_signature
from benchseal.desk.recipients import to_tell
from benchseal.desk.renderer import rendered
from benchseal.desk.seal_in_force import open_seal
from benchseal.desk.series import supersede
from benchseal.desk.stamped import sealed_by_the_rules, without_words
from benchseal.desk.texts import kept_text
from benchseal.desk.withdrawing import withdrawn_values
from benchseal.ledger.checkpoints import checkpoint_json
from benchseal.ledger.tree import prove_inclusion
from benchseal.problems import Finding, Problem, Refusal, Stopped
from benchseal.records.evidence import CheckpointRecord, EntryProof, Evidence, Supplement
from benchseal.records.shape import record_bytes, record_of
from benchseal.records.signatures import Meaning
from benchseal.verify.certificate import verify_certificate
from benchseal.verify.trust import read_trust

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.desk.site import Site
    from benchseal.ledger.checkpoints import Checkpoint
    from benchseal.records.canonical import Digest, Json
    from benchseal.records.signatures import Signature
    from benchseal.store.protocol import Reading, Row

_DRAFT_ANEW: Final = "Discard it, correct what is named, and draft the certificate again."


def waiting(site: Site) -> list[str]:
    """Numbers of certificates whose release is signed and that are not sealed yet."""
    with site.store.reading() as view:
        return [row["number"] for row in view.rows("certificate", state="sealing")]


def finish(site: Site, number: str) -> Receipt:
    """Seal a certificate whose release is signed. Raises Stopped; then it can be called again."""
    with one_line_for_disk_faults():
        checkpoint = checkpoints.make(site)
        row, evidence, supplement = _material(site, number, checkpoint)
        # The seal says when it was made, which may be days after the release: a stop in between, then another call.
        at = max(site.clock(), moment_of(supplement.release.statement.at))
        seal = open_seal(site, number, at)
        try:
            raw = rendered(render_certificate, evidence, record_bytes(supplement))
        except Stopped as stop:
            if all(isinstance(one, Problem) for one in stop.notices):  # of its content: no other try makes it
                _give_back(site, row, " ".join(one.what for one in stop.notices))
            raise
        sealing = partial(seal_certificate, raw, seal.signer, seal.certificate, at, seal.chain)
        sealed, unstamped = sealed_by_the_rules(site, number, at, sealing)
        _require_genuine(site, row, raw, sealed)
        _put_on_record(site, row, evidence, raw, sealed, checkpoint, unstamped)
        write_copy(site, number)
    path = site.certificates / f"{number}.pdf"
    with site.store.reading() as view:
        told = (one.said for one in to_be_told(view, sample=row["sample"]))
        void = (*void_lines(view, row["sample"]), *told)
        replaced = tuple(_replaced_lines(view, row["replaces"]))
    return Receipt(
        (f"{number} is released.", f"Its sealed file: {path}", *without_words(unstamped), *replaced, *void),
        {"number": number, "file": str(path), "state": "released"},
    )


def _replaced_lines(view: Reading, number: str) -> Iterator[str]:
    """What became of the certificate an amendment replaces, and who has it."""
    row = view.row("certificate", number=number) if number else None
    if row is not None:
        yield f"{number} is {row['state']}; its file stays on record."
        yield from (f"tell: {who}" for who in to_tell(view, number))


def copy_again(site: Site, number: str) -> Receipt | None:
    """Write the missing copy of an issued certificate: a stop right after sealing leaves none. None: it is there."""
    path = site.certificates / f"{number}.pdf"
    with site.store.reading() as view:
        row = view.row("certificate", number=number)
    if row is None or not row["sealed"] or path.exists():
        return None
    with one_line_for_disk_faults():
        write_copy(site, number)
    data: dict[str, Json] = {"number": number, "file": str(path), "state": str(row["state"])}
    return Receipt((f"{number} was released before.", f"Its sealed file: {path}"), data)


def write_copy(site: Site, number: str) -> None:
    """Write the disposable copy of an issued certificate under ``SITE/certificates``."""
    with site.store.reading() as view:
        row = view.row("certificate", number=number)
        if row is None or not row["sealed"]:
            raise Stopped(
                Refusal("certificate.not-issued", number, "it is not issued.", "See `benchseal certificate list`.")
            )
        data = view.bytes_of(row["sealed"])
    path = site.certificates / f"{number}.pdf"
    if path.exists() and path.read_bytes() != data:
        path.unlink()  # a copy is disposable; the store holds the original
    drop(site.certificates, {f"{number}.pdf": data}, (f"{number}.pdf",))


def _material(site: Site, number: str, checkpoint: Checkpoint) -> tuple[Row, bytes, Supplement]:
    with site.store.reading() as view:
        row = view.row("certificate", number=number)
        if row is None or row["state"] != "sealing":
            state = row["state"] if row else "unknown"
            raise Stopped(
                Refusal("certificate.wrong-state", number, f"it is {state}, not sealing.", "Sign its release first.")
            )
        evidence = view.bytes_of(row["evidence"])
        release = _release(view, row["evidence"])
        signatures = [*load(view, Evidence, row["evidence"]).signatures, release]
        supplement = Supplement(
            schema="supplement/1",
            evidence_sha256=row["evidence"],
            release=release,
            checkpoint=record_of(CheckpointRecord, checkpoint_json(checkpoint)),
            entries=_proofs(view, signatures, checkpoint.size),
        )
    return row, evidence, supplement


def _release(view: Reading, evidence: Digest) -> Signature:
    rows = view.rows("signature", digest=evidence, meaning=Meaning.RELEASED.value)
    if len(rows) != 1:
        raise AssertionError("a sealing certificate has one release signature")
    return read_signature(rows[0])


def _proofs(view: Reading, signatures: list[Signature], size: int) -> tuple[EntryProof, ...]:
    """The ledger entry of each signature, and that the checkpoint's tree holds it."""
    places = []
    for signature in signatures:
        row = view.row("signature", signature=signature.signature)
        if row is None:
            raise AssertionError("a signature on record has its row")
        places.append(int(row["seq"]))
    return tuple(
        EntryProof(
            body=next(view.entries(seq))[1].decode(),
            path=tuple(node.hex() for node in prove_inclusion(seq - 1, size, view)),
        )
        for seq in sorted(set(places))
    )


def _require_genuine(site: Site, row: Row, raw: bytes, sealed: bytes) -> None:
    trust = read_trust(as_json(trust_of(site)))
    if isinstance(trust, tuple):
        raise Stopped(*trust)
    report = verify_certificate(sealed, trust)
    if report.word != "GENUINE":
        said = "; ".join(check.said for check in report.checks if not check.holds)
        remedy = "Nothing was released; it waits for its seal. Report this fault of the program."
        if report.word == "ALTERED":  # what is open may be decided another time, what is false is not
            _give_back(site, row, said, raw)
            remedy = f"Nothing was released; it is a draft again. {_DRAFT_ANEW} Report this fault of the program."
        what = f"the sealed file does not verify: {said}"
        raise Stopped(Finding("integrity.own-certificate", row["number"], what, remedy))


def _give_back(site: Site, row: Row, why: str, raw: bytes = b"") -> None:
    """Put on record that a signed release cannot be sealed: a draft again, which can be discarded. Nothing was issued.

    raw: the pages that did not pass, kept for whoever looks for the fault.
    """
    with site.store.writing() as tx:
        now = tx.row("certificate", number=row["number"])
        if now is None or now["state"] != "sealing" or now["evidence"] != row["evidence"]:
            return  # another process came to an end with it meanwhile
        acting = Acting(site, tx, (Who(PROGRAM, PROGRAM, frozenset(), signs=False),), site.clock())
        acting.note_clock()
        pages = {"unsealed": tx.keep(raw)} if raw else {}
        subject, digests = f"certificate/{row['number']}", {"evidence": row["evidence"], **pages}
        acting.write("certificate.refused", subject, facts={"why": kept_text(why)}, digests=digests)


def _put_on_record(  # noqa: PLR0913, PLR0917  one step of ``finish``
    site: Site, row: Row, evidence: bytes, raw: bytes, sealed: bytes, checkpoint: Checkpoint, unstamped: str
) -> None:
    with site.store.writing() as tx:
        now = tx.row("certificate", number=row["number"])
        if now is None or now["state"] != "sealing" or now["evidence"] != row["evidence"]:
            return  # another process finished it meanwhile; its bytes are the ones on record
        content = load(tx, Evidence, row["evidence"])
        replaced = content.certificate.replaces
        values = _values(tx, content)
        if replaced:
            values += withdrawn_values(tx, replaced, frozenset(str(value["result_id"]) for value in values))
        program = Who(PROGRAM, PROGRAM, frozenset(), signs=False)
        acting = Acting(site, tx, (program,), site.clock())
        acting.note_clock()
        acting.write(
            "certificate.released",
            f"certificate/{row['number']}",
            facts={"values": as_json(values), "checkpoint": as_json(checkpoint_json(checkpoint))},
            digests={"unsealed": tx.keep(raw), "sealed": tx.keep(sealed), "evidence": tx.keep(evidence)},
        )
        if unstamped:
            subject = f"certificate/{row['number']}"
            acting.write("certificate.unstamped", subject, facts={"why": kept_text(unstamped)})
        if replaced:
            supersede(acting, row["number"], replaced)


def _values(view: Reading, content: Evidence) -> list[dict[str, str | int]]:
    """The revision each line of a certificate becomes."""
    values: list[dict[str, str | int]] = []
    for name in map(line_id, lines_of(content)):
        revision = len(view.rows("released", result_id=name)) + 1
        kind = "new" if revision == 1 else "corrected"
        values.append({"result_id": name, "revision": revision, "change_kind": kind})
    return values
