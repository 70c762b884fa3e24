"""The language and the signs of a page against those its evidence names."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from benchseal.certificate.language import CATALOGUES, Words
from benchseal.certificate.page_text import bare
from benchseal.certificate.present_form import title_of
from benchseal.verify.page import form_unknown, known_wording

if TYPE_CHECKING:
    from benchseal.records.printed_form import Language
    from benchseal.verify.contents import Case, Faults

NAMES: Final[dict[Language, str]] = {"en": "English", "de": "German"}


def language(case: Case) -> Faults:
    """The page has the title of the language named, and no other; its numbers cannot be read in two ways."""
    form = case.evidence.form
    if form.group and form.group == form.decimal:
        yield f"the evidence names {form.decimal!r} for both decimals and groups of figures."
    yield from form_unknown(case)
    if not known_wording(case):
        return
    pages = tuple(map(bare, case.pages))
    for other in CATALOGUES:
        stands = any(bare(title_of(case.evidence, Words.in_language(other))) in page for page in pages)
        if other == form.language and not stands:
            yield f"the page has no title in {NAMES[other]}, the language the evidence names."
        if other != form.language and stands:
            yield f"the page has a title in {NAMES[other]}; the evidence names {NAMES[form.language]}."


def language_words(case: Case) -> str:
    """What is said when nothing is wrong."""
    form = case.evidence.form
    sign = "full stop" if form.decimal == "." else "comma"
    return f"{NAMES[form.language]}, decimals after a {sign}, as the evidence says."
