"""A withdrawal as it is signed, and the notice of it that receivers get."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final, Literal

from benchseal.records.canonical import Digest
from benchseal.records.evidence import CheckpointRecord, EntryProof, Laboratory
from benchseal.records.printed_form import USUAL_FORM, PrintedForm
from benchseal.records.registers import Customer, Sample
from benchseal.records.shape import LEFT_OUT_WHEN_EMPTY
from benchseal.records.signatures import Signature
from benchseal.records.site_rules import Paper

USUAL_FRACTIONS: Final = ("total", "dissolved", "released")


@dataclass(frozen=True, slots=True)
class WithdrawnValue:
    """One result taken back: the revision receivers are sent next, without a value."""

    result_id: str
    revision: int
    change_kind: Literal["withdrawn"]


@dataclass(frozen=True, slots=True)
class Withdrawal:
    """What the approver signs. sealed: SHA-256 of the certificate's sealed file. reason: one line, told to others."""

    schema: Literal["withdrawal/1"]
    certificate: str
    sealed: Digest
    reason: str
    values: tuple[WithdrawnValue, ...]


@dataclass(frozen=True, slots=True)
class NamedLine:
    """What a result taken back was of, in the words of the certificate; never its value.

    fraction: of the element, where it is none of the usual three and so might not stand in those words.
    """

    result_id: str
    substance: str
    quantity: str
    fraction: str = field(default="", metadata=LEFT_OUT_WHEN_EMPTY)


@dataclass(frozen=True, slots=True)
class WithdrawalNotice:
    """What the notice says; attached to it as ``notice.json``.

    number: ``C-2026-00001-W``. signature: over the digest of ``withdrawal``. wording: the form the page was
    printed by. released_at: when the certificate was released. paper, form: of the pages, as the certificate's.
    """

    schema: Literal["withdrawal-notice/1"]
    program: str
    wording: int
    ledger: str
    number: str
    laboratory: Laboratory
    customer: Customer
    sample: Sample
    released_at: str
    lines: tuple[NamedLine, ...]
    withdrawal: Withdrawal
    signature: Signature
    paper: Paper = field(default="", metadata=LEFT_OUT_WHEN_EMPTY)
    form: PrintedForm = field(default=USUAL_FORM, metadata=LEFT_OUT_WHEN_EMPTY)


@dataclass(frozen=True, slots=True)
class NoticeProof:
    """That the ledger holds the withdrawal; attached as ``proof.json``. entry: of the signed withdrawal."""

    schema: Literal["notice-proof/1"]
    notice_sha256: Digest
    checkpoint: CheckpointRecord
    entry: EntryProof
