"""Pages made for a trial: of invented figures by a template that is new, of a draft as it would be sealed.

The figures are those of an invented certificate that comes with the program; they try a layout and prove nothing.
"""

from __future__ import annotations

import gzip
from dataclasses import replace
from datetime import datetime
from functools import cache
from typing import TYPE_CHECKING, Final

from benchseal import shipped
from benchseal.certificate.complete import misread_texts, printed_texts
from benchseal.certificate.present import view_of, with_printed
from benchseal.certificate.wording import WORDING
from benchseal.records.canonical import digest
from benchseal.records.evidence import ChangedText, Evidence, Supplement
from benchseal.records.printed_form import USUAL_FORM, PrintedForm
from benchseal.records.shape import read_record, record_bytes

if TYPE_CHECKING:
    from benchseal.certificate.view import CertificateView
    from benchseal.problems import Problem
    from benchseal.records.certificate_template import CertificateTemplate
    from benchseal.records.letterhead import Letterhead
    from benchseal.records.printed_form import Language
    from benchseal.records.signatures import Signature
    from benchseal.records.site_rules import Paper

_LONG_WORD, _SHOWN = 35, 24  # signs; the digest on the page is in groups of 16
_GERMAN: Final = PrintedForm("de", ",", "", "d. MMMM y")


@cache
def invented() -> tuple[Evidence, Supplement]:
    """The evidence of the invented certificate, and its supplement."""
    evidence = gzip.decompress(shipped.starter_bytes("trial/evidence.json.gz"))
    return read_record(Evidence, evidence), read_record(Supplement, shipped.starter_bytes("trial/supplement.json"))


def trial_pages(template: CertificateTemplate) -> bytes | tuple[Problem, ...]:
    """The invented certificate, marked DRAFT on each page; or everything the template spoils on one of four papers.

    The other three, as they would be sealed: the same, an amendment in German on Letter paper, one in simplified form.
    """
    evidence, _ = invented()
    facts = evidence.certificate
    changed = (ChangedText("Lot", "B-1", facts.sample.row.lot), ChangedText("Comment", "", "Invented."))
    amendment = replace(facts, number=f"{facts.number}-A1", kind="amendment", replaces=facts.number, reason="Invented.")
    german = with_printed(replace(evidence, certificate=amendment, form=_GERMAN))
    simplified = replace(facts, simplified="invented agreement of 2026-01-02")
    shown = _page(evidence, (template,), "", draft=True)
    others = (
        _page(evidence, (template,), ""),
        _page(replace(german, changed=changed), (template,), "letter"),
        _page(replace(evidence, certificate=simplified), (template,), ""),
    )
    found = dict.fromkeys(one for made in (shown, *others) if not isinstance(made, bytes) for one in made)
    return tuple(found) or shown


def under_letterhead(
    letterhead: Letterhead, language: Language, template: tuple[CertificateTemplate, ...], paper: Paper
) -> Evidence:
    """The invented certificate under a letterhead, as it would be issued in a language on a paper."""
    evidence, _ = invented()
    facts = evidence.certificate
    laboratory = replace(facts.laboratory, name=letterhead.laboratory, address=letterhead.address)
    return with_printed(
        replace(
            evidence,
            certificate=replace(facts, laboratory=laboratory, paper=paper),
            form=_GERMAN if language == "de" else USUAL_FORM,
            letterhead=(letterhead,),
            template=template,
            wording=WORDING,
        )
    )


def long_words(evidence: Evidence, release: Signature | None) -> tuple[str, ...]:
    """Texts of a certificate that hold a long word without a place to break it, with its beginning."""
    signed, supplement = stand_ins(evidence, release)
    view = _view(signed, supplement.release, supplement, draft=False)
    found: dict[str, str] = {}
    for place, text in printed_texts(view):
        longest = max(text.split(), key=len)
        if len(longest) >= _LONG_WORD and not place.startswith("provenance"):
            found.setdefault(longest, f"{place} ({longest[:_SHOWN]!r} …)")
    return tuple(found.values())


def stand_ins(evidence: Evidence, release: Signature | None) -> tuple[Evidence, Supplement]:
    """A certificate as it would be sealed: signatures it lacks yet and a head of the ledger, of the invented one."""
    signed = evidence if evidence.signatures else replace(evidence, signatures=invented()[0].signatures)
    supplement = invented()[1]
    named = replace(supplement, evidence_sha256=digest(record_bytes(signed)))
    return signed, replace(named, release=release or supplement.release)


def misread_on(evidence: Evidence, release: Signature | None) -> tuple[Problem, ...]:
    """Texts of a certificate, as it would be sealed, with characters that its type draws as others."""
    signed, supplement = stand_ins(evidence, release)
    return tuple(misread_texts(_view(signed, supplement.release, supplement, draft=False)))


def rehearsed(evidence: Evidence, release: Signature | None) -> bytes | tuple[Problem, ...]:
    """The pages of a certificate as they would be sealed, with nothing attached; or what keeps it from them."""
    if problems := misread_on(evidence, release):
        return problems
    signed, _ = stand_ins(evidence, release)
    return _page(signed, evidence.template, evidence.certificate.paper, release=release)


def _page(
    evidence: Evidence,
    template: tuple[CertificateTemplate, ...],
    paper: Paper,
    *,
    release: Signature | None = None,
    draft: bool = False,
) -> bytes | tuple[Problem, ...]:
    from benchseal.certificate.page_check import held_to_its_words  # noqa: PLC0415  heavy
    from benchseal.certificate.render import render  # noqa: PLC0415  the same

    supplement = invented()[1]
    view = _view(evidence, None if draft else release or supplement.release, supplement, draft=draft)
    made = render(view, (), datetime.fromisoformat(supplement.release.statement.at), paper, template)
    return held_to_its_words(made, view, template) if template and isinstance(made, bytes) else made


def _view(evidence: Evidence, release: Signature | None, supplement: Supplement, *, draft: bool) -> CertificateView:
    return view_of(
        evidence,
        release=release,
        checkpoint=None if draft else supplement.checkpoint,
        evidence_digest="" if draft else digest(record_bytes(evidence)),
        draft=draft,
    )
