"""The notice of withdrawal on paper: what is taken back, why, by whom, and what its receiver should do.

It names the results and never their values. Whoever verifies it builds the same page from the notice attached to it.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Final

from benchseal.certificate import wording
from benchseal.certificate.complete import unprintable
from benchseal.certificate.language import ENGLISH
from benchseal.certificate.view import SignatureParagraph
from benchseal.problems import Problem
from benchseal.records.canonical import digest
from benchseal.records.shape import read_record
from benchseal.records.withdrawal import NoticeProof, WithdrawalNotice

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.records.evidence import CheckpointRecord

TEMPLATE: Final = "withdrawal.html.jinja"
NOTICE: Final = "notice.json"
PROOF: Final = "proof.json"
TITLE: Final = "Notice of withdrawal"
NOTICE_WORDING: Final = 1  # changes when a word of the printed page may; the notice says which it was printed by
REASON: Final = "Seal of the laboratory on a notice of withdrawal"
_ROOT_FIGURES: Final = 16
_SIGNATURE_FIGURES: Final = 8

MEANING: Final = "I withdraw this certificate."
TO_DO: Final = (
    "Do not use the results named above any more, and do not pass the certificate on.",
    "Tell everybody to whom you gave it, or a copy of it, or its results.",
    "Mark your copies as withdrawn, or remove them, as your own rules of keeping records demand.",
    "Look, by your own rules, at what was decided by these results. This notice says nothing about the goods.",
    "Tell the laboratory that this notice has reached you.",
)
MORE: Final = "This notice carries no results. If others follow, they come in a certificate with a number of its own."


@dataclass(frozen=True, slots=True)
class NoticePage:
    """What the page says, in its order. facts, held: label and text. lines: substance and quantity, never a value."""

    title: str
    number: str
    laboratory: str
    address: str
    conclusion: str
    facts: tuple[tuple[str, str], ...]
    more_facts: tuple[tuple[str, str], ...]
    reason: str
    lines: tuple[tuple[str, str], ...]
    to_do: tuple[str, ...]
    signature: SignatureParagraph
    limits: str
    held: tuple[str, ...]
    end: str
    program: str

    def texts(self) -> Iterator[tuple[str, str]]:
        """Everything the page says, with what each text is called."""
        yield "title", self.title
        yield "number", self.number
        yield "laboratory", self.laboratory
        yield "address", self.address
        yield "conclusion", self.conclusion
        yield from (*self.facts, *self.more_facts)
        yield "reason", self.reason
        yield from (("result taken back", f"{substance} {quantity}") for substance, quantity in self.lines)
        yield from (("what to do", text) for text in self.to_do)
        yield "signature", f"{self.signature.name}, {self.signature.role}. {self.signature.meaning}"
        yield "signature", f"{self.signature.at} · signature {self.signature.digest_start}"
        yield "limits", self.limits
        yield from (("where it is held", text) for text in self.held)


def notice_page(notice: WithdrawalNotice, checkpoint: CheckpointRecord) -> NoticePage:
    """The page of a notice. Raises ValueError for a time that is none."""
    row, zone = notice.sample.row, notice.laboratory.zone
    withdrawn, statement = notice.withdrawal, notice.signature.statement
    shown = {value.result_id for value in withdrawn.values}
    return NoticePage(
        title=TITLE,
        number=notice.number,
        laboratory=notice.laboratory.name,
        address=_one_line(notice.laboratory.address),
        conclusion=f"Certificate {withdrawn.certificate} is withdrawn.",
        facts=(
            ("Customer", notice.customer.name),
            ("Address", _one_line(notice.customer.address)),
            ("Product", row.product),
            ("Lot", row.lot),
        ),
        more_facts=(
            ("Sample number", notice.sample.sample),
            ("Customer\u2019s sample", row.customer_sample_id),
            ("Released", wording.day(wording.local(notice.released_at, zone))),
            ("Withdrawn", wording.day(wording.local(statement.at, statement.zone))),
        ),
        reason=withdrawn.reason,
        lines=tuple((line.substance, line.quantity) for line in notice.lines if line.result_id in shown),
        to_do=TO_DO,
        signature=SignatureParagraph(
            name=statement.printed_name,
            role=ENGLISH.word("role", statement.role),
            meaning=MEANING,
            at=wording.signed_at(statement.at, statement.zone),
            digest_start=notice.signature.signature[:_SIGNATURE_FIGURES],
        ),
        limits=MORE,
        held=(
            f"Sealed file that is withdrawn (SHA-256): {spaced(withdrawn.sealed)}",
            f"Ledger {notice.ledger}, head: {checkpoint.size} entries, root {checkpoint.root[:_ROOT_FIGURES]}",
            f"Made with {notice.program}",
        ),
        end=f"End of notice {notice.number}",
        program=notice.program,
    )


def notice_problems(page: NoticePage) -> tuple[Problem, ...]:
    """Everything that keeps a notice from being printed: an empty text, or a character the type lacks."""
    found = []
    for name, text in page.texts():
        if not text.strip() and name != "Customer\u2019s sample":
            what = "A notice of withdrawal must state this; it is empty."
            remedy = "Report this: a certificate on record has it."
            found.append(Problem("certificate.field-empty", name, what, remedy))
        found += unprintable(name, text)
    if not page.lines:
        what, remedy = "A notice of withdrawal names what it takes back; it names nothing.", "Report this."
        found.append(Problem("certificate.field-empty", "results taken back", what, remedy))
    return tuple(found)


def render_notice(notice_bytes: bytes, proof_bytes: bytes) -> bytes | tuple[Problem, ...]:
    """The unsealed PDF with both files attached, dated by the withdrawal; the same bytes every time.

    Raises ValueError for files that are no notice and its proof: they are made a moment before.
    """
    from benchseal.certificate.render import SIZES, STYLE, Attached, render_paper  # noqa: PLC0415  heavy

    notice = read_record(WithdrawalNotice, notice_bytes)
    proof = read_record(NoticeProof, proof_bytes)
    if proof.notice_sha256 != digest(notice_bytes):
        raise ValueError("the proof belongs to another notice")
    page = notice_page(notice, proof.checkpoint)
    if problems := notice_problems(page):
        return problems
    attached = (
        Attached(NOTICE, notice_bytes, "Source", "What is withdrawn, why, and the signature"),
        Attached(PROOF, proof_bytes, "Supplement", "Checkpoint and proof that the ledger holds the withdrawal"),
    )
    at = datetime.fromisoformat(notice.signature.statement.at)
    return render_paper(TEMPLATE, STYLE, at, attached, size=SIZES[notice.paper], page=page)


def spaced(figures: str) -> str:
    """A digest in groups of sixteen figures, which a line can break between."""
    return " ".join(figures[at : at + 16] for at in range(0, len(figures), 16))


def _one_line(text: str) -> str:
    return ", ".join(line.strip() for line in text.splitlines() if line.strip())
