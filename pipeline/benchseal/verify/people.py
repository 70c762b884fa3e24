"""Who signed what, whether everything is signed that has to be, and whether the people are kept apart."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from benchseal.identity.names import person_id
from benchseal.identity.statements import check_statement
from benchseal.records.manifest import PacketRun
from benchseal.records.people import Role
from benchseal.records.shape import record_digest
from benchseal.records.signatures import Meaning
from benchseal.verify.exceptions import exceptions, permitted
from benchseal.verify.opinions import opinions

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.records.evidence import Evidence, EvidenceRun
    from benchseal.records.manifest import Packet
    from benchseal.records.signatures import Signature
    from benchseal.verify.contents import Case, Faults


@dataclass(frozen=True, slots=True)
class _Due:
    """What a signature of one meaning must sign, and as what."""

    role: Role
    subject: str
    digest: str


def signatures(case: Case) -> Faults:
    """Each signature fits its statement, and the statement its subject; runs, content and opinions are signed."""
    yield from opinions(case)
    evidence, release = case.evidence, case.supplement.release
    for signature in (*evidence.signatures, release):
        for fault in _statement(case, signature):
            yield f"{_named(signature)}: {fault}"
    if release.statement.meaning != Meaning.RELEASED:
        yield f"the supplement's signature means {release.statement.meaning!r}, not released."
    for run in evidence.runs:
        for meaning, act in ((Meaning.PERFORMED, "submit"), (Meaning.REVIEWED, "accept")):
            if not signers_of(evidence, run, meaning, act):
                yield f"nobody signed {run.run}, version {run.version}, as {meaning.value}."
    if not _with(evidence, Meaning.APPROVED):
        yield "nobody signed the content as approved."
    signed = {signature.statement.digest for signature in evidence.signatures}
    if not {record_digest(packet) for packet in evidence.packets} <= signed:
        yield "a packet of runs is shown that nobody signed."


def separate(case: Case) -> Faults:
    """Whoever prepared, operated or measured neither reviewed nor approved; reviewer and approver are two people.

    A signed exception that the certificate prints may let one person review and approve; nothing lets analysts through.
    """
    evidence = case.evidence
    yield from exceptions(case)
    measured = {signature.statement.person for signature in _with(evidence, Meaning.PERFORMED)}
    named = [person_id(run.facts.facts.operator) for run in evidence.runs]
    measured |= {person for person in named if isinstance(person, str)}
    prepared = {portion.prepared_by for portion in evidence.portions if portion.prepared_by}
    reviewed = {signature.statement.person for signature in _with(evidence, Meaning.REVIEWED)}
    approved = {signature.statement.person for signature in _with(evidence, Meaning.APPROVED)}
    approved.add(case.supplement.release.statement.person)
    both = {person for person in reviewed & approved if permitted(case, person)}
    for ones, others, words in (
        (measured, reviewed, "both measured and reviewed"),
        (measured, approved, "both measured and approved or released"),
        (prepared, reviewed, "both prepared portions and reviewed"),
        (prepared, approved, "both prepared portions and approved or released"),
        (reviewed - both, approved, "both reviewed and approved or released"),
    ):
        for person in sorted(ones & others):
            yield f"{person} {words}."


def separate_words(case: Case) -> str:
    """What is said where the people are kept apart as far as they have to be."""
    if case.evidence.exceptions:
        names = ", ".join(signed.exception.exception for signed in case.evidence.exceptions)
        return f"nobody who worked on it checked it; one person may review and approve, by exception {names}."
    return "nobody who worked on it checked it; reviewer and approver are two."


def signers_of(evidence: Evidence, run: EvidenceRun, meaning: Meaning, act: str = "") -> tuple[Signature, ...]:
    """Signatures of one meaning on packets, of one act or any, that list this version of a run with this manifest."""
    listed = PacketRun(run.run, run.version, record_digest(run.manifest))
    shown = (packet for packet in evidence.packets if listed in packet.runs and act in {"", packet.act})
    packets = {record_digest(packet) for packet in shown}
    return tuple(one for one in _with(evidence, meaning) if one.statement.digest in packets)


def packet_of(evidence: Evidence, signature: Signature) -> Packet | None:
    """The packet a signature covers."""
    return next((one for one in evidence.packets if record_digest(one) == signature.statement.digest), None)


def _with(evidence: Evidence, meaning: Meaning) -> tuple[Signature, ...]:
    return tuple(signature for signature in evidence.signatures if signature.statement.meaning == meaning)


def _named(signature: Signature) -> str:
    statement = signature.statement
    return f"signature {signature.signature[:8]} of {statement.person} ({statement.meaning})"


def _statement(case: Case, signature: Signature) -> Iterator[str]:
    statement = signature.statement
    finding = check_statement(statement, signature.signature)
    if finding is not None:
        yield finding.what
    if statement.ledger != case.evidence.ledger:
        yield f"it is of ledger {statement.ledger}."
    due = _due(case, signature)
    if due is None:
        yield "it signs nothing that this certificate shows."
    elif (statement.role, statement.subject, statement.digest) != (due.role, due.subject, due.digest):
        yield (
            f"it signs {statement.subject} ({statement.digest[:16]}…) as {statement.role}; "
            f"due is {due.subject} ({due.digest[:16]}…) as {due.role.value}."
        )
    elif statement.version != 1:
        yield f"it signs version {statement.version} of {statement.subject}, of which there is one only."


def _due(case: Case, signature: Signature) -> _Due | None:
    evidence, statement = case.evidence, signature.statement
    subject = f"certificate/{evidence.certificate.number}"
    if signature is case.supplement.release:
        return _Due(Role.APPROVER, subject, case.evidence_sha256)
    if statement.meaning == Meaning.APPROVED:
        return _Due(Role.APPROVER, subject, case.content_sha256)
    packet = packet_of(evidence, signature)
    if packet is None:
        return None
    role = {
        (Meaning.PERFORMED, "submit"): Role.ANALYST,
        (Meaning.PERFORMED, "share"): Role.ANALYST,
        (Meaning.REVIEWED, "accept"): Role.REVIEWER,
    }
    due = next((own for (meaning, act), own in role.items() if (meaning, act) == (statement.meaning, packet.act)), None)
    return _Due(due, f"packet/{statement.digest[:16]}", statement.digest) if due else None
