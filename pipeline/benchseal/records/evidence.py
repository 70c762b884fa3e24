"""Evidence: what one certificate carries so that its reader can check it alone.

It shows the calibration, the checks, the standards and this customer's samples in clear. Every other solution of
a run appears as its salted leaf only: no label, lot, name or reading.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from benchseal.records.canonical import Digest
from benchseal.records.certificate_template import CertificateTemplate, ShippedTemplate
from benchseal.records.exceptions import SignedException
from benchseal.records.letterhead import Letterhead
from benchseal.records.manifest import Manifest, Packet, ResultBasis
from benchseal.records.method import Method
from benchseal.records.opinions import SignedOpinion
from benchseal.records.preparation import Portion
from benchseal.records.printed_form import USUAL_FORM, PrintedForm
from benchseal.records.quantities import PlainDecimal
from benchseal.records.registers import Customer, Sample, StandardLot
from benchseal.records.results import Calibration, CheckVerdict
from benchseal.records.run import DocumentRef, RunFacts, SolutionKind, StoredCurve
from benchseal.records.shape import LEFT_OUT_WHEN_EMPTY
from benchseal.records.signatures import Signature
from benchseal.records.site_rules import Paper
from benchseal.records.specification import Specification
from benchseal.records.sums import WorkedSum


@dataclass(frozen=True, slots=True)
class LeafReading:
    """One reading as the block tree holds it.

    background: where the method judges it, else empty. taken_at: local time as the file has it, where the method
    corrects signals for drift and the clock did not change in the run; else empty, and not in the bytes at all.
    """

    replicate: int
    line: int
    signal: PlainDecimal
    flag: str
    background: PlainDecimal = ""
    taken_at: str = field(default="", metadata=LEFT_OUT_WHEN_EMPTY)


@dataclass(frozen=True, slots=True)
class LeafSolution:
    """One solution as the block tree holds it; its canonical bytes, salted, are a leaf."""

    position: int
    label: str
    kind: SolutionKind
    nominal: PlainDecimal
    dilution: PlainDecimal
    batch: str
    portion: str
    readings: tuple[LeafReading, ...]


@dataclass(frozen=True, slots=True)
class LeafFacts:
    """The run's facts as the block tree holds them: its last leaf. solutions: how many leaves stand before it.

    stored_curve: one where the run used the curve of an earlier run, with the readings of its standards.
    The file's name is left out, since people name files after customers; its digest says which file it was.
    """

    run: str
    source_sha256: Digest
    layout: DocumentRef
    method: DocumentRef
    facts: RunFacts
    instrument: str
    measured_at: str
    standard_lots: tuple[str, ...]
    solutions: int
    stored_curve: tuple[StoredCurve, ...] = ()


@dataclass(frozen=True, slots=True)
class ClearSolution:
    """A solution shown in clear, with the salt of its leaf."""

    salt: Digest
    solution: LeafSolution


@dataclass(frozen=True, slots=True)
class EvidenceRun:
    """One run of the evidence.

    leaves: every leaf of the block tree in order, the facts' leaf last. clear: the solutions shown. calibration and
    checks as calculated over the whole run; those made_on_sample of somebody else cannot be recomputed here.
    """

    run: str
    version: int
    manifest: Manifest
    method: Method
    leaves: tuple[Digest, ...]
    facts_salt: Digest
    facts: LeafFacts
    clear: tuple[ClearSolution, ...]
    calibration: Calibration
    checks: tuple[CheckVerdict, ...]


@dataclass(frozen=True, slots=True)
class PrintedResult:
    """The row of one result or sum as the page shows it: tokens in reading order, compared in that order by verify.

    result_id: of the result, or the sum_id of a sum.
    """

    result_id: str
    tokens: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Laboratory:
    """Who issues."""

    name: str
    address: str
    zone: str


@dataclass(frozen=True, slots=True)
class CertificateFacts:
    """What the certificate says beside its results.

    number: ``C-2026-00001`` style, allotted at draft. kind: original, amendment or supplement; first: number of the
    first certificate of the series, or its own. replaces: of an amendment. others: where this one reports only some
    lines of the specification, the certificates that report the others. conclusion: ``complies`` or ``does not comply``
    with the specification. deviations, comments: text, each with nothing to say as an empty tuple. simplified: the
    agreement by which how it was measured is not printed, or empty. paper: size of the pages, A4 where it is empty.
    """

    number: str
    kind: Literal["original", "amendment", "supplement"]
    first: str
    replaces: str
    reason: str
    laboratory: Laboratory
    customer: Customer
    sample: Sample
    measured_from: str
    measured_to: str
    conclusion: str
    deviations: tuple[str, ...]
    comments: tuple[str, ...]
    others: tuple[str, ...] = field(default=(), metadata=LEFT_OUT_WHEN_EMPTY)
    simplified: str = field(default="", metadata=LEFT_OUT_WHEN_EMPTY)
    paper: Paper = field(default="", metadata=LEFT_OUT_WHEN_EMPTY)


@dataclass(frozen=True, slots=True)
class ChangedText:
    """One text of the page that is not what the replaced certificate printed (ISO/IEC 17025:2017, 7.8.8.1).

    place: what it is called on the page. before, after: as printed there and here; empty where it does not stand.
    """

    place: str
    before: str
    after: str


@dataclass(frozen=True, slots=True)
class Evidence:
    """The whole. wording: by which form the page was printed. printed: the rows of the results, then those of the sums.

    signatures: every one but the release, which covers the digest of these bytes. exceptions: those by which a reviewer
    of these runs may approve and release too; empty nearly always. replaced_sha256, changed: of an amendment, the
    sealed file it replaces and what it prints otherwise. opinions: those given on its results. form: the language,
    numbers and dates of the page. letterhead: its head and foot, or none where it has the site's name and address only.
    template: the laboratory's own layout of the page, whole, or none. letterhead_ref, form_ref, template_ref: the
    approved documents these come from, or none. shipped_template: the program's templates the page was drafted for.
    """

    schema: Literal["evidence/1"]
    program: str
    calculation_rules: int
    wording: int
    ledger: str
    certificate: CertificateFacts
    specification: Specification
    specification_ref: DocumentRef
    runs: tuple[EvidenceRun, ...]
    portions: tuple[Portion, ...]
    standard_lots: tuple[StandardLot, ...]
    results: tuple[ResultBasis, ...]
    printed: tuple[PrintedResult, ...]
    packets: tuple[Packet, ...]
    signatures: tuple[Signature, ...]
    sums: tuple[WorkedSum, ...] = field(default=(), metadata=LEFT_OUT_WHEN_EMPTY)
    exceptions: tuple[SignedException, ...] = field(default=(), metadata=LEFT_OUT_WHEN_EMPTY)
    replaced_sha256: Digest = field(default="", metadata=LEFT_OUT_WHEN_EMPTY)
    changed: tuple[ChangedText, ...] = field(default=(), metadata=LEFT_OUT_WHEN_EMPTY)
    opinions: tuple[SignedOpinion, ...] = field(default=(), metadata=LEFT_OUT_WHEN_EMPTY)
    form: PrintedForm = field(default=USUAL_FORM, metadata=LEFT_OUT_WHEN_EMPTY)
    letterhead: tuple[Letterhead, ...] = field(default=(), metadata=LEFT_OUT_WHEN_EMPTY)
    letterhead_ref: tuple[DocumentRef, ...] = field(default=(), metadata=LEFT_OUT_WHEN_EMPTY)
    form_ref: tuple[DocumentRef, ...] = field(default=(), metadata=LEFT_OUT_WHEN_EMPTY)
    template: tuple[CertificateTemplate, ...] = field(default=(), metadata=LEFT_OUT_WHEN_EMPTY)
    template_ref: tuple[DocumentRef, ...] = field(default=(), metadata=LEFT_OUT_WHEN_EMPTY)
    shipped_template: tuple[ShippedTemplate, ...] = field(default=(), metadata=LEFT_OUT_WHEN_EMPTY)


@dataclass(frozen=True, slots=True)
class EntryProof:
    """A ledger entry with its RFC 6962 inclusion path in the tree of ``Supplement.checkpoint``."""

    body: str
    path: tuple[Digest, ...]


@dataclass(frozen=True, slots=True)
class CheckpointRecord:
    """A signed tree head (``ledger/checkpoints.py`` makes and checks it)."""

    schema: Literal["checkpoint/1"]
    ledger: str
    size: int
    root: Digest
    at: str
    key_id: str
    signature: str


@dataclass(frozen=True, slots=True)
class Supplement:
    """What could only be known after the evidence was fixed: the release, and the proof that the ledger holds it."""

    schema: Literal["supplement/1"]
    evidence_sha256: Digest
    release: Signature
    checkpoint: CheckpointRecord
    entries: tuple[EntryProof, ...]
