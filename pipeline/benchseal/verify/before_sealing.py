"""The looks of the outside check at pages that are not sealed yet: what they would find, before anybody signs.

What is looked at beside the pages (readings, signatures, the ledger) is not there yet, so nothing of it is looked at.
"""

from __future__ import annotations

import io
from typing import TYPE_CHECKING, Final

import pikepdf

from benchseal.certificate.page_flow import Flow, drawn_flow
from benchseal.certificate.page_form import form_faults
from benchseal.certificate.page_marks import title_faults
from benchseal.certificate.page_structure import Structure
from benchseal.certificate.page_words import Pages
from benchseal.records.shape import record_bytes, record_digest
from benchseal.verify.contents import Look, case_of, look_at
from benchseal.verify.language import language, language_words
from benchseal.verify.notice import PAGE_LOOKS, NoticeCase, look_at_notice
from benchseal.verify.page import changes, nothing_else, rows, wording
from benchseal.verify.trust import Trust

if TYPE_CHECKING:
    from benchseal.records.evidence import Evidence, Supplement
    from benchseal.records.withdrawal import NoticeProof, WithdrawalNotice
    from benchseal.verify.report import Check

_LOOKS: Final = (
    Look("printed language", language, language_words),
    Look("printed rows", rows, lambda _: ""),
    Look("printed words", wording, lambda _: ""),
    Look("marked changes", changes, lambda _: ""),
)
_NOBODY: Final = Trust("", "", (), ())  # no look at a page asks for it


def page_doubts(pdf: bytes, evidence: Evidence, supplement: Supplement) -> tuple[str, ...]:
    """What the outside check would say against these pages, in its sentences. pdf: of this evidence, not sealed."""
    texts, flow, faults = _read(pdf, lists=False)
    if faults:
        return faults
    case = case_of(evidence, supplement, record_bytes(evidence), texts, _NOBODY)
    whole = Look("nothing else printed", lambda _: nothing_else(case, flow), lambda _: "")
    return _against(tuple(look_at(case, look) for look in (*_LOOKS, whole)))


def notice_doubts(pdf: bytes, notice: WithdrawalNotice, proof: NoticeProof) -> tuple[str, ...]:
    """The same of a notice of withdrawal."""
    texts, flow, faults = _read(pdf, lists=True)
    if faults:
        return faults
    case = NoticeCase(notice, proof, record_digest(notice), texts, _NOBODY, flow)
    return _against(tuple(look_at_notice(case, *look) for look in PAGE_LOOKS))


def _read(pdf: bytes, *, lists: bool) -> tuple[tuple[str, ...], Flow, tuple[str, ...]]:
    """The text of each page, all words, and everything about the form of the pages."""
    with pikepdf.open(io.BytesIO(pdf)) as opened:
        aloud, followed = Structure(opened), Pages(opened)
        form = form_faults(opened, sealed=False, lists=lists, aloud=aloud, pages=followed)
        faults = tuple(dict.fromkeys(form))
        if faults:
            return (), Flow((), ()), faults
        flow = drawn_flow(opened, aloud, followed)
        return followed.texts(), flow, tuple(title_faults(opened, flow.pages))


def _against(checks: tuple[Check, ...]) -> tuple[str, ...]:
    return tuple(check.said for check in checks if check.holds is not True)
