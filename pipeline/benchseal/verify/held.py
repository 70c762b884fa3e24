"""What the ledger holds: the checkpoint, the entries of all signatures, and their order."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from benchseal.ledger.checkpoints import Checkpoint, check_checkpoint, parse_checkpoint
from benchseal.ledger.hashes import record_hash
from benchseal.ledger.key_history import out_of_time
from benchseal.ledger.proofs import check_inclusion
from benchseal.records.entries import Entry, read_entry
from benchseal.records.shape import plain_of
from benchseal.records.signatures import Meaning
from benchseal.verify.contents import Doubt
from benchseal.verify.people import packet_of, signers_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.records.evidence import CheckpointRecord, EntryProof
    from benchseal.records.signatures import Signature
    from benchseal.verify.contents import Case, Faults
    from benchseal.verify.trust import Trust


@dataclass(frozen=True, slots=True)
class _Home:
    """The entry a signature of one meaning comes with: its kind, and which digest of it is the one signed."""

    kind: str
    digest: str


_HOMES: dict[str, _Home] = {
    Meaning.PERFORMED: _Home("run.submitted", "packet"),
    Meaning.REVIEWED: _Home("run.reviewed", "packet"),
    Meaning.APPROVED: _Home("certificate.approved", "content"),
    Meaning.RELEASED: _Home("certificate.sealing", "evidence"),
}
_SHARE = _Home("run.share_signed", "packet")  # of whoever did a part of what another submitted


def checkpoint(case: Case) -> Faults:
    """A key trusted for this ledger signed its head."""
    yield from checkpoint_faults(case.supplement.checkpoint, case.evidence.ledger, case.trust)


def checkpoint_faults(record: CheckpointRecord, ledger: str, trust: Trust) -> Faults:
    """What speaks against a head. ledger: the one the file says it belongs to."""
    if record.ledger != ledger:
        yield f"the checkpoint is of ledger {record.ledger}, the evidence of {ledger}."
    if trust.ledger != ledger:
        yield Doubt(f"the trust file is of ledger {trust.ledger} ({trust.laboratory}), not {ledger}.")
    parsed = parse_checkpoint(plain_of(record))
    if not isinstance(parsed, Checkpoint):
        yield from (problem.what for problem in parsed)
        return
    period = trust.key_period(parsed.key_id)
    if period is None:
        yield Doubt(
            f"the checkpoint names key {parsed.key_id}, which the trust file does not hold. Keys are renewed: ask the "
            "laboratory for its present trust file."
        )
    elif (finding := check_checkpoint(parsed, period.public) or out_of_time(period, parsed)) is not None:
        yield finding.what
    elif period.revoked is not None and parsed.root not in period.revoked.confirmed:
        yield Doubt(
            f"key {parsed.key_id} of the checkpoint is revoked as from {period.revoked.since} "
            f"({period.revoked.reason}), and the laboratory does not confirm this head."
        )


def entries(case: Case) -> Faults:
    """Every signature stands in an entry of the checkpoint's tree; nothing else is shown; the order is right."""
    held: list[Entry] = []
    for proof in case.supplement.entries:
        entry = _entry(proof)
        if entry is None:
            yield "an entry cannot be read."
        elif not _included(case, entry, proof):
            yield f"entry {entry.seq} ({entry.kind}) is not in the tree of the checkpoint."
        else:
            held.append(entry)
    shown = [entry.seq for entry in held]
    if shown != sorted(set(shown)):
        yield "the entries are not each shown once, in order of the ledger."
    signatures = (*case.evidence.signatures, case.supplement.release)
    homes = {signature.signature: tuple(_homes(case, signature, held)) for signature in signatures}
    for signature in signatures:
        if not homes[signature.signature]:
            statement = signature.statement
            yield f"no entry shown holds the signature {signature.signature[:8]} of {statement.person}."
    used = {entry.seq for found in homes.values() for entry in found}
    yield from (f"entry {entry.seq} holds no signature of this certificate." for entry in held if entry.seq not in used)
    yield from _order(case, {name: min(entry.seq for entry in found) for name, found in homes.items() if found})


def _entry(proof: EntryProof) -> Entry | None:
    try:
        return read_entry(proof.body.encode("utf-8"))
    except ValueError:
        return None


def _included(case: Case, entry: Entry, proof: EntryProof) -> bool:
    head = case.supplement.checkpoint
    path = tuple(bytes.fromhex(node) for node in proof.path)
    leaf = record_hash(proof.body.encode("utf-8"))
    return check_inclusion(leaf, entry.seq - 1, head.size, path, bytes.fromhex(head.root))


def _homes(case: Case, signature: Signature, held: list[Entry]) -> Iterator[Entry]:
    """Entries in which a signature stands as it must."""
    statement = signature.statement
    packet = packet_of(case.evidence, signature)
    home = _SHARE if packet is not None and packet.act == "share" else _HOMES.get(statement.meaning)
    for entry in held:
        if (
            home is not None
            and entry.kind == home.kind
            and entry.facts.get("signature") == plain_of(signature)
            and entry.digests.get(home.digest) == statement.digest
            and (entry.actor, entry.at) == (statement.person, statement.at)
            and _is_subject(case, signature, entry)
        ):
            yield entry


def _is_subject(case: Case, signature: Signature, entry: Entry) -> bool:
    """The entry is about the certificate, or about a run of the packet with the manifest listed there."""
    packet = packet_of(case.evidence, signature)
    if packet is None:
        return entry.subject == f"certificate/{case.evidence.certificate.number}"
    return any(
        entry.subject == f"run/{run.run}" and entry.digests.get("manifest") == run.manifest for run in packet.runs
    )


def _order(case: Case, seq: dict[str, int]) -> Iterator[str]:
    """Measured, then reviewed, then approved, then released, by the ledger's own count."""
    evidence = case.evidence
    last = {}
    for run in evidence.runs:
        stages = [
            [seq[one.signature] for one in signers_of(evidence, run, meaning) if one.signature in seq]
            for meaning in (Meaning.PERFORMED, Meaning.REVIEWED)
        ]
        if all(stages) and max(stages[0]) > min(stages[1]):
            yield f"{run.run} was reviewed before it was signed as measured."
        last[run.run] = max((number for stage in stages for number in stage), default=0)
    approved = [
        seq[one.signature]
        for one in evidence.signatures
        if one.statement.meaning == Meaning.APPROVED and one.signature in seq
    ]
    if approved and min(approved) < max(last.values(), default=0):
        yield "the content was approved before its runs were reviewed."
    released = seq.get(case.supplement.release.signature, 0)
    if approved and released and released < max(approved):
        yield "the certificate was released before it was approved."
