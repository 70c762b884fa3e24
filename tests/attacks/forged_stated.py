"""Lies in what a certificate states, by somebody who holds the sealing key and the key of the ledger's heads.

Everything is made again about the lie: the page, the signatures, the ledger's entries and its head. What is left to
be found is that a statement contradicts another, or has a form this program never gives it. Common practice, no source.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any, Final

from tests.attacks.forged_outside import Attack
from tests.attacks.forging import Issued, printed

from benchseal.certificate.evidence import content_digest
from benchseal.certificate.present import with_printed
from benchseal.identity.statements import sign_statement
from benchseal.ledger.blocks import held_tree
from benchseal.ledger.checkpoints import checkpoint_json, make_checkpoint
from benchseal.ledger.hashes import record_hash
from benchseal.ledger.tree import prove_inclusion
from benchseal.records.canonical import canonical_bytes, digest, parse_json
from benchseal.records.evidence import CheckpointRecord, EntryProof, Evidence
from benchseal.records.shape import plain_of, record_bytes, record_of
from benchseal.records.signatures import Meaning, Signature

if TYPE_CHECKING:
    from collections.abc import Callable

    from tests.attacks.forging import Forger

    from benchseal.certificate.view import CertificateView
    from benchseal.records.signatures import SignatureStatement


def _as_is(value: Any) -> Any:  # noqa: ANN401  any part of a certificate
    return value


def remade(
    content: Callable[[Evidence], Evidence] = _as_is,
    statement: Callable[[SignatureStatement], SignatureStatement] = _as_is,
    view: Callable[[CertificateView], CertificateView] = _as_is,
    head: str = "",
) -> Callable[[Forger], bytes]:
    """A certificate made again about a lie. head: time of the ledger's head; empty: as it was."""

    def make(forger: Forger) -> bytes:
        lied = _signed(forger, with_printed(content(forger.one.evidence)), statement, head)
        return forger.sealed(printed(lied, view(lied.view())), max(lied.at, forger.one.at))

    return make


def _signed(
    forger: Forger, content: Evidence, statement: Callable[[SignatureStatement], SignatureStatement], head: str
) -> Issued:
    """Everything after the content: signatures, release, entries, head."""
    one, renewed = forger.one, {}
    subject = f"certificate/{content.certificate.number}"
    for old in one.evidence.signatures:
        told = statement(old.statement)
        if told.meaning == Meaning.APPROVED:
            told = replace(told, digest=content_digest(content), subject=subject)
        renewed[old.signature] = Signature(told, sign_statement(told))
    evidence = replace(content, signatures=tuple(renewed.values()))
    name, old = digest(record_bytes(evidence)), one.supplement.release
    told = replace(statement(old.statement), digest=name, subject=subject)
    renewed[old.signature] = Signature(told, sign_statement(told))
    bodies = dict(_entry(proof, renewed) for proof in one.supplement.entries)
    size = one.supplement.checkpoint.size
    tree = held_tree([record_hash(bodies.get(seq, b"%d" % seq)) for seq in range(1, size + 1)])
    made = make_checkpoint(
        ledger=evidence.ledger,
        size=size,
        root=tree.root,
        at=head or one.supplement.checkpoint.at,
        public_key=forger.heads.public_key().public_bytes_raw(),
        sign=forger.heads.sign,
    )
    supplement = replace(
        one.supplement,
        evidence_sha256=name,
        release=renewed[old.signature],
        checkpoint=record_of(CheckpointRecord, checkpoint_json(made)),
        entries=tuple(
            EntryProof(body.decode(), tuple(node.hex() for node in prove_inclusion(seq - 1, size, tree)))
            for seq, body in bodies.items()
        ),
    )
    return replace(one, evidence=evidence, supplement=supplement)


def _entry(proof: EntryProof, renewed: dict[str, Signature]) -> tuple[int, bytes]:
    """An entry with the signature made again."""
    body: Any = parse_json(proof.body.encode())
    signature = renewed[body["facts"]["signature"]["signature"]]
    stated = signature.statement
    body["facts"]["signature"] = plain_of(signature)
    body["actor"], body["at"] = stated.person, stated.at
    if body["subject"].startswith("certificate/"):
        body["subject"] = stated.subject
        body["digests"] = dict.fromkeys(body["digests"], stated.digest)
    return body["seq"], canonical_bytes(body)


def _other_words(view: CertificateView) -> CertificateView:
    conformity = replace(view.conformity, conclusion="No result complies with the specification.")
    return replace(view, conformity=conformity, accreditation="Accredited by nobody.")


def _worded(form: int) -> Callable[[Evidence], Evidence]:
    return lambda content: replace(content, wording=form)


_UNKNOWN: Final = "UNKNOWN"
_FORM: Final = "does not know that one"
STATED: Final = (
    Attack("words: a form there never was", remade(_worded(99), view=_other_words), "printed words", _FORM, _UNKNOWN),
    Attack("words: a form there never was, nothing else", remade(_worded(99)), "nothing else printed", _FORM, _UNKNOWN),
    Attack("words: form 1", remade(_worded(1), view=_other_words), "printed words", _FORM, _UNKNOWN),
    Attack("words: form 0", remade(_worded(0)), "marked changes", _FORM, _UNKNOWN),
    Attack("words: form -1", remade(_worded(-1)), "printed language", _FORM, _UNKNOWN),
    Attack(
        "words: another conclusion under an earlier form",
        remade(_worded(2), view=_other_words),
        "printed words",
        "does not say conclusion",
        _UNKNOWN,
    ),
)
