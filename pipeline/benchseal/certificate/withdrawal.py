"""The notice of withdrawal on paper: what is taken back, why, by whom, and what its receiver should do.

It names the results and never their values. Whoever verifies it builds the same page from the notice attached to it.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Final

from benchseal.certificate.complete import unprintable
from benchseal.certificate.language import Words, local
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
NOTICE_WORDING: Final = 1  # changes when a word of the printed page may; the notice says which it was printed by
HEADINGS: Final = ("notice/taken_back", "notice/to_do", "heading/held", "heading/check")
_ROOT_FIGURES: Final = 16
_SIGNATURE_FIGURES: Final = 8


@dataclass(frozen=True, slots=True)
class NoticePage:
    """What the page says, in its order. facts: label and text. lines: substance and quantity, never a value."""

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
    words: Words

    def texts(self) -> Iterator[tuple[str, str]]:
        """Everything the page says, with what each text is called."""
        yield "title", self.title
        yield "number", self.number
        yield "laboratory", self.laboratory
        yield "address", self.address
        yield "conclusion", self.conclusion
        yield from (("heading", self.words.say(key)) for key in HEADINGS)
        yield from (*self.facts, *self.more_facts)
        yield "reason", self.reason
        yield from (("result taken back", f"{substance} {quantity}") for substance, quantity in self.lines)
        yield from (("what to do", text) for text in self.to_do)
        yield "signature", f"{self.signature.name}, {self.signature.role}. {self.signature.meaning}"
        yield "signature", self.signed
        yield "limits", self.limits
        yield from (("where it is held", text) for text in self.held)
        yield "how to check", self.words.say("notice/verify")
        yield "end", self.end

    @property
    def signed(self) -> str:
        """When it was signed, and how the signature begins."""
        return f"{self.signature.at} · {self.words.say('page/signature', start=self.signature.digest_start)}"


def notice_page(notice: WithdrawalNotice, checkpoint: CheckpointRecord) -> NoticePage:
    """The page of a notice, in the form it names. Raises ValueError for a time that is none."""
    row, words = notice.sample.row, Words(notice.form)
    say, zone = words.say, notice.laboratory.zone
    withdrawn, statement = notice.withdrawal, notice.signature.statement
    shown = {value.result_id for value in withdrawn.values}
    return NoticePage(
        title=say("notice/title"),
        number=notice.number,
        laboratory=notice.laboratory.name,
        address=_one_line(notice.laboratory.address),
        conclusion=say("notice/conclusion", number=withdrawn.certificate),
        facts=(
            (say("label/customer"), notice.customer.name),
            (say("label/address"), _one_line(notice.customer.address)),
            (say("label/product"), row.product),
            (say("label/lot"), row.lot),
        ),
        more_facts=(
            (say("label/sample_number"), notice.sample.sample),
            (say("label/customer_sample"), row.customer_sample_id),
            (say("notice/released"), words.day(local(notice.released_at, zone))),
            (say("notice/withdrawn"), words.day(local(statement.at, statement.zone))),
        ),
        reason=withdrawn.reason,
        lines=tuple((line.substance, line.quantity) for line in notice.lines if line.result_id in shown),
        to_do=(
            say("notice/do_not_use"),
            say("notice/tell"),
            say("notice/mark"),
            say("notice/look"),
            say("notice/answer"),
        ),
        signature=SignatureParagraph(
            name=statement.printed_name,
            role=words.word("role", statement.role),
            meaning=say("notice/signed"),
            at=words.signed_at(statement.at, statement.zone),
            digest_start=notice.signature.signature[:_SIGNATURE_FIGURES],
        ),
        limits=say("notice/more"),
        held=(
            say("notice/sealed", digest=spaced(withdrawn.sealed)),
            say("page/ledger", ledger=notice.ledger, size=checkpoint.size, root=checkpoint.root[:_ROOT_FIGURES]),
            say("notice/made", program=notice.program),
        ),
        end=say("notice/end", number=notice.number),
        program=notice.program,
        words=words,
    )


def notice_problems(page: NoticePage) -> tuple[Problem, ...]:
    """Everything that keeps a notice from being printed: an empty text, or a character the type lacks."""
    found = []
    for name, text in page.texts():
        if not text.strip() and name != page.words.say("label/customer_sample"):
            what = "A notice of withdrawal must state this; it is empty."
            remedy = "Report this: a certificate on record has it."
            found.append(Problem("certificate.field-empty", name, what, remedy))
        found += unprintable(name, text)
    if not page.lines:
        what, remedy = "A notice of withdrawal names what it takes back; it names nothing.", "Report this."
        found.append(Problem("certificate.field-empty", "results taken back", what, remedy))
    return tuple(found)


def notice_html(page: NoticePage) -> str:
    """The page before it is laid out; without its date, which is nowhere on paper."""
    from benchseal.certificate.render import template_text  # noqa: PLC0415  heavy

    return template_text(TEMPLATE, page=page)


def render_notice(notice_bytes: bytes, proof_bytes: bytes) -> bytes | tuple[Problem, ...]:
    """The unsealed PDF with both files attached, dated by the withdrawal; the same bytes every time.

    Raises ValueError for files that are no notice and its proof: they are made a moment before.
    """
    from benchseal.certificate.render import SIZES, STYLE, Attached, page_number_rule, render_paper  # noqa: PLC0415  heavy

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
    size, margins = SIZES[notice.paper], page_number_rule(page.words)
    return render_paper(TEMPLATE, STYLE, at, attached, size=size, more_style=margins, page=page)


def spaced(figures: str) -> str:
    """A digest in groups of sixteen figures, which a line can break between."""
    return " ".join(figures[at : at + 16] for at in range(0, len(figures), 16))


def _one_line(text: str) -> str:
    return ", ".join(line.strip() for line in text.splitlines() if line.strip())
