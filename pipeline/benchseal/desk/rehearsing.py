"""Every certificate is made once before anybody signs it, looked at as from outside, and thrown away.

What a text or a template of one's own would spoil must come to light while the draft can still be discarded: after its
release nothing can be changed any more. So does the notice of a withdrawal, before the withdrawal is signed.
"""

from __future__ import annotations

from contextlib import suppress
from dataclasses import replace
from functools import lru_cache, partial
from typing import TYPE_CHECKING, Final

from benchseal.certificate.trial import (
    invented,
    long_words,
    misread_on,
    rehearsed,
    stand_ins,
    trial_pages,
    under_letterhead,
)
from benchseal.desk.controlled import latest
from benchseal.desk.printed_by import template_in_force
from benchseal.desk.renderer import rendered
from benchseal.desk.site_rules import rules_in_force
from benchseal.documents.reading import read_document
from benchseal.problems import Problem, Refusal, Stopped
from benchseal.records.certificate_template import CertificateTemplate
from benchseal.records.entries import read_entry
from benchseal.records.evidence import Evidence
from benchseal.records.letterhead import Letterhead, Logo
from benchseal.records.printed_form import USUAL_FORM
from benchseal.records.shape import read_record, record_bytes, record_digest
from benchseal.records.withdrawal import NoticeProof

if TYPE_CHECKING:
    from benchseal.desk.acts_documents import AddDocument, ApproveDocument
    from benchseal.desk.site import Site
    from benchseal.records.printed_form import Language
    from benchseal.records.signatures import Signature
    from benchseal.records.site_rules import Paper
    from benchseal.records.withdrawal import WithdrawalNotice
    from benchseal.store.protocol import Reading, Row

_NAMED: Final = 3  # texts to look at first


def rehearse(evidence: Evidence, release: Signature | None = None) -> None:
    """Make its pages as they would be sealed. Raises Stopped with everything the check of the sealed file would say.

    release: its signature, or None where nobody signed yet; then another one stands in for it. The signatures are all
    that comes to a page which passed before: where the program itself lays it out, their texts are looked at alone.
    """
    if release is None:
        _passed(record_bytes(evidence))
    elif evidence.template:
        _look(evidence, release)
    elif problems := misread_on(evidence, release):
        raise Stopped(*problems)


@lru_cache(maxsize=8)
def _passed(evidence: bytes) -> None:
    """What one program let through when it was drafted, it lets through when it is approved."""
    _look(read_record(Evidence, evidence), None)


def _look(evidence: Evidence, release: Signature | None) -> None:
    from benchseal.verify.before_sealing import page_doubts  # noqa: PLC0415  heavy: it reads pages

    made = rendered(rehearsed, evidence, release)
    doubts = page_doubts(made, *stand_ins(evidence, release))
    _require_none(evidence.certificate.number, doubts, long_words(evidence, release) if doubts else ())


def rehearse_notice(notice: WithdrawalNotice) -> None:
    """Make the notice of a withdrawal before that is signed for good. Raises Stopped as ``rehearse``.

    The head of the ledger on it is of the certificate that comes with the program.
    """
    from benchseal.certificate.withdrawal import render_notice  # noqa: PLC0415  heavy
    from benchseal.verify.before_sealing import notice_doubts  # noqa: PLC0415  the same

    supplement = invented()[1]
    proof = NoticeProof("notice-proof/1", record_digest(notice), supplement.checkpoint, supplement.entries[0])
    made = rendered(render_notice, record_bytes(notice), record_bytes(proof))
    _require_none(notice.number, notice_doubts(made, notice, proof))


def _require_none(number: str, doubts: tuple[str, ...], first: tuple[str, ...] = ()) -> None:
    """first: texts to look at first, each with its place."""
    remedy = "Nothing was signed. Write what is named with other characters, or shorter; where that fails, report it."
    if first:
        remedy = f"{remedy} Words without a break, which may be what is meant: {', '.join(first[:_NAMED])}."
    found = [Problem("certificate.page-unfit", number, f"its page would not pass: {one}", remedy) for one in doubts]
    if found:
        raise Stopped(*found)


@lru_cache(maxsize=2)
def _trial(template: CertificateTemplate) -> bytes:
    """One program makes the same pages of a template each time; a second person's approval follows the first's."""
    return rendered(trial_pages, template)


def trial_of_new(site: Site, act: AddDocument) -> bytes:
    """Pages of invented figures by a template that is brought in; empty for any other document. Raises Stopped.

    A letterhead is tried too, on the paper and in the template that are in force; of it no pages stay.
    """
    read = read_document(act.data, act.source)
    value = None if isinstance(read, tuple) else read.value
    if isinstance(value, Letterhead):
        _try_letterhead(site, value)
    return _trial(value) if isinstance(value, CertificateTemplate) else b""


def trial_of_latest(site: Site, act: ApproveDocument) -> bytes:
    """The same by this version of the program, for the version that is to be approved. Raises Stopped."""
    kind, value = "", b""
    with site.store.reading() as view, suppress(Stopped):  # of no document the act itself says so
        row = latest(view, act.id)
        if row["kind"] in {"certificate_template", "letterhead"}:
            kind, value = row["kind"], view.bytes_of(row["value"])
    if kind == "letterhead":
        _try_letterhead(site, read_record(Letterhead, value))
    return _trial(read_record(CertificateTemplate, value)) if kind == "certificate_template" else b""


def _try_letterhead(site: Site, letterhead: Letterhead) -> None:
    """Stops what no page would pass under, by its fields: in force, it would hold up every certificate."""
    with site.store.reading() as view:
        template, paper = template_in_force(view), rules_in_force(view).paper
    letterhead_passed(letterhead, template, paper)


@lru_cache(maxsize=4)
def letterhead_passed(letterhead: Letterhead, template: tuple[CertificateTemplate, ...], paper: Paper) -> None:
    """Make the invented certificate under it in each of its languages. Raises Stopped naming the fields at fault."""
    for language in [one.language for one in letterhead.words] or [USUAL_FORM.language]:
        tried = partial(_head_doubts, language=language, template=template, paper=paper)
        doubts = tried(letterhead)
        if doubts:
            plain = _each_field_plain(letterhead)
            fields = [name for name, other in plain.items() if not tried(other)] or list(plain)
            said = ", ".join(dict.fromkeys(one.partition(": ")[2] or one for one in doubts))
            what = f"a certificate under it ({language}) would not pass: {said}"
            remedy = "Nothing was signed. Write it shorter, or with blanks where a line may break; a logo, less wide."
            raise Stopped(*(Problem("certificate.page-unfit", f"letterhead, {name}", what, remedy) for name in fields))


def _head_doubts(
    letterhead: Letterhead, language: Language, template: tuple[CertificateTemplate, ...], paper: Paper
) -> tuple[str, ...]:
    from benchseal.verify.before_sealing import page_doubts  # noqa: PLC0415  heavy: it reads pages

    evidence = under_letterhead(letterhead, language, template, paper)
    return page_doubts(rendered(rehearsed, evidence, None), *stand_ins(evidence, None))


def _each_field_plain(letterhead: Letterhead) -> dict[str, Letterhead]:
    """The letterhead with one field as short as can be, by the name of that field."""
    words = letterhead.words
    plain = {
        "laboratory": replace(letterhead, laboratory="A"),
        "address": replace(letterhead, address="A"),
        "accreditation": replace(letterhead, words=tuple(replace(one, accreditation="") for one in words)),
        "foot": replace(letterhead, words=tuple(replace(one, foot="") for one in words)),
        "logo": replace(letterhead, logo=Logo("none", "", letterhead.logo.width_mm, "")),
    }
    return {name: other for name, other in plain.items() if other != letterhead}


def kept_trial(view: Reading, row: Row) -> bytes:
    """The trial that stays with a version of a template. Raises Stopped for a document that has none."""
    subject, version = f"document/{row['kind']}/{row['id']}", int(row["version"])
    if row["kind"] == "certificate_template":
        for one in view.entries():
            entry = read_entry(one[1])
            if (entry.kind, entry.subject, entry.facts.get("version")) == ("document.added", subject, version):
                return view.bytes_of(entry.digests["trial"])
    what = "no pages were made of it; only a certificate_template has a trial."
    raise Stopped(Refusal("document.no-trial", f"{row['kind']} {row['id']}", what, "Leave --pdf out."))
