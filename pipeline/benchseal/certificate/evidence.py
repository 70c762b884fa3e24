"""Evidence: built when a certificate is drafted, completed with signatures at release, the same bytes ever after.

The *content* is the evidence without signatures: its digest is what an approver signs. The release signature covers the
digest of the whole evidence, and so stands outside it (in the supplement).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from benchseal import __version__, shipped
from benchseal.certificate.wording import WORDING
from benchseal.records.canonical import canonical_bytes, digest
from benchseal.records.certificate_template import ShippedTemplate
from benchseal.records.evidence import (
    CertificateFacts,
    ClearSolution,
    Evidence,
    EvidenceRun,
)
from benchseal.records.printed_form import USUAL_FORM
from benchseal.records.results import CALCULATION_RULES
from benchseal.records.run import PRESENTED_KINDS
from benchseal.records.shape import plain_of, record_bytes

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from benchseal.certificate.blocks import Blocks
    from benchseal.records.canonical import Digest
    from benchseal.records.certificate_template import CertificateTemplate
    from benchseal.records.exceptions import SignedException
    from benchseal.records.letterhead import Letterhead
    from benchseal.records.manifest import Manifest, Packet, ResultBasis
    from benchseal.records.opinions import SignedOpinion
    from benchseal.records.preparation import Portion
    from benchseal.records.printed_form import PrintedForm
    from benchseal.records.registers import StandardLot
    from benchseal.records.results import RunWork
    from benchseal.records.run import DocumentRef, Run
    from benchseal.records.signatures import Signature
    from benchseal.records.specification import Specification
    from benchseal.records.sums import WorkedSum

# The files of the templates that decide how a certificate looks; the type is part of the version.
PAGE_FILES = ("certificate.html.jinja", "certificate_body.html.jinja", "certificate.css", "figures.svg.jinja")
PROGRAM = f"benchseal {__version__}"


_SIGNATURES: Final = b'"signatures":'


@dataclass(frozen=True, slots=True)
class RunPart:
    """One reviewed run a certificate draws on, with all that was fixed when it was submitted.

    bases: of every result of the run, in order. portions: every preparation row the run measured.
    """

    run_id: str
    run: Run
    work: RunWork
    manifest: Manifest
    blocks: Blocks
    bases: tuple[ResultBasis, ...]
    portions: Mapping[tuple[str, str], Portion]
    lots: tuple[StandardLot, ...]


@dataclass(frozen=True, slots=True)
class Content:
    """What a certificate is made from.

    results: which result_id of which run, in the order of the page. sums: those the specification asks for, in its own.
    exceptions: those by which a reviewer may approve too. opinions: those given on its results. form, letterhead: what
    it is printed by, each with its document.
    """

    ledger: str
    certificate: CertificateFacts
    specification: Specification
    specification_ref: DocumentRef
    results: tuple[tuple[str, str], ...]
    packets: tuple[Packet, ...]
    sums: tuple[WorkedSum, ...] = ()
    exceptions: tuple[SignedException, ...] = ()
    opinions: tuple[SignedOpinion, ...] = ()
    form: PrintedForm = USUAL_FORM
    form_ref: tuple[DocumentRef, ...] = ()
    letterhead: tuple[Letterhead, ...] = ()
    letterhead_ref: tuple[DocumentRef, ...] = ()
    template: tuple[CertificateTemplate, ...] = ()
    template_ref: tuple[DocumentRef, ...] = ()


def build_content(content: Content, parts: Sequence[RunPart]) -> Evidence:
    """The evidence without signatures. Only this sample's solutions and the laboratory's own are shown."""
    sample = content.certificate.sample.sample
    used = [part for part in parts if any(run == part.run_id for run, _ in content.results)]
    bases = tuple(_basis(used, run, result) for run, result in content.results)
    return Evidence(
        schema="evidence/1",
        program=PROGRAM,
        calculation_rules=CALCULATION_RULES,
        wording=WORDING,
        ledger=content.ledger,
        certificate=content.certificate,
        specification=content.specification,
        specification_ref=content.specification_ref,
        runs=tuple(_run(part, sample) for part in used),
        portions=_portions(used, sample),
        standard_lots=_lots(used),
        results=bases,
        printed=(),
        packets=content.packets,
        signatures=(),
        sums=content.sums,
        exceptions=content.exceptions,
        opinions=content.opinions,
        form=content.form,
        form_ref=content.form_ref,
        letterhead=content.letterhead,
        letterhead_ref=content.letterhead_ref,
        template=content.template,
        template_ref=content.template_ref,
        shipped_template=(ShippedTemplate("certificate", shipped.set_digest(*PAGE_FILES)),),
    )


def content_bytes(evidence: Evidence) -> bytes:
    """Canonical bytes of the evidence without signatures: their digest is what an approver signs."""
    return record_bytes(replace(evidence, signatures=()))


def content_digest(evidence: Evidence) -> Digest:
    """SHA-256 of ``content_bytes``."""
    return digest(content_bytes(evidence))


def content_digest_of(data: bytes, evidence: Evidence) -> Digest:
    """``content_digest`` of an evidence file, of its own bytes. data: canonical, those of ``evidence``.

    Its signatures are cut out of them where they are found once, which saves writing all of it anew.
    """
    signed = canonical_bytes([plain_of(one) for one in evidence.signatures])
    if data.count(_SIGNATURES + signed) != 1:
        return content_digest(evidence)
    return digest(data.replace(_SIGNATURES + signed, _SIGNATURES + b"[]"))


def with_signatures(content: Evidence, signatures: Sequence[Signature]) -> Evidence:
    """The whole evidence: every signature but the release, in order of signing."""
    return replace(content, signatures=tuple(sorted(signatures, key=lambda each: each.statement.at)))


def _basis(parts: Sequence[RunPart], run: str, result_id: str) -> ResultBasis:
    found = [
        basis for part in parts if part.run_id == run for basis in part.bases if basis.result.result_id == result_id
    ]
    if len(found) != 1:
        raise AssertionError(f"{len(found)} results {result_id} in {run} where one was meant")
    return found[0]


def _run(part: RunPart, sample: str) -> EvidenceRun:
    clear = tuple(
        ClearSolution(salt, solution)
        for salt, solution in zip(part.blocks.salts, part.blocks.solutions, strict=True)
        if _is_shown(part, solution.kind, (solution.batch, solution.portion), sample)
    )
    return EvidenceRun(
        run=part.run_id,
        version=part.manifest.version,
        manifest=part.manifest,
        method=part.run.method,
        leaves=part.blocks.leaves,
        facts_salt=part.blocks.facts_salt,
        facts=part.blocks.facts,
        clear=clear,
        calibration=part.work.calibration,
        checks=part.work.checks,  # those made on a sample name positions, never labels
    )


def _is_shown(part: RunPart, kind: str, portion: tuple[str, str], sample: str) -> bool:
    """Calibration, checks, the laboratory's own solutions, and this sample's; a spiked portion counts as its sample."""
    if kind not in PRESENTED_KINDS:
        return True
    return part.portions[portion].sample in {"", sample}


def _portions(parts: Sequence[RunPart], sample: str) -> tuple[Portion, ...]:
    found = {key: portion for part in parts for key, portion in part.portions.items() if portion.sample in {"", sample}}
    return tuple(found[key] for key in sorted(found))


def _lots(parts: Sequence[RunPart]) -> tuple[StandardLot, ...]:
    found = {lot.lot: lot for part in parts for lot in part.lots}
    return tuple(found[name] for name in sorted(found))
