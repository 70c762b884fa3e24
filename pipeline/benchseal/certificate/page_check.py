"""Pages of a laboratory's own template, held to what they have to say before anything is sealed.

A template lays out; it decides no word. Its pages must say what the program's own page says of the same record, every
word in that order and no other, each seen, and leave the upper margin free. Those are the rules the outside check has
for every certificate, so that a page let through here is one that holds there; ``layout_rules`` has what goes beyond.
"""

from __future__ import annotations

import io
from typing import TYPE_CHECKING, Final

import pikepdf

from benchseal.certificate.complete import printed_texts
from benchseal.certificate.layout_rules import page_faults, style_faults
from benchseal.certificate.page_flow import drawn_flow, due_flow, flow_faults
from benchseal.certificate.page_form import form_faults, margin_faults
from benchseal.certificate.render import page_html
from benchseal.problems import Problem

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.certificate.page_flow import Flow
    from benchseal.certificate.view import CertificateView
    from benchseal.records.certificate_template import CertificateTemplate

_WHERE: Final = "certificate_template CERTIFICATE"
_REMEDY: Final = "Nothing was made. Mend the template and have a new version approved; it lays out and changes no word."
_MOST: Final = 12


def held_to_its_words(
    pdf: bytes, view: CertificateView, template: tuple[CertificateTemplate, ...]
) -> bytes | tuple[Problem, ...]:
    """The pages, or everything about them that is not as it has to be. pdf: not sealed yet."""
    laid_out = page_faults(page_html(view, template), page_html(view))
    styled = (fault for one in template for fault in style_faults(one.style))
    found = tuple(dict.fromkeys((*styled, *laid_out, *_faults(pdf, view))))[:_MOST]
    return tuple(Problem("certificate.template-differs", _WHERE, what, _REMEDY) for what in found) or pdf


def _faults(pdf: bytes, view: CertificateView) -> Iterator[str]:
    with pikepdf.open(io.BytesIO(pdf)) as opened:
        if view.unsealed_mark:
            yield from _mark_faults(drawn_flow(opened), view)
            return
        hidden = [f"of the pages: {fault}" for fault in form_faults(opened, sealed=False)]
        hidden += margin_faults(opened)
        yield from hidden
        if hidden:
            return
        flow = drawn_flow(opened)
    pages = "".join(flow.pages)
    due = due_flow(page_html(view), view.logo)
    for place, text in printed_texts(view):
        bare = "".join(text.split())
        if bare in due.text and bare not in pages:
            yield f"{place}: the pages do not say {text[:120]!r}."
    yield from flow_faults(flow, due, view.number, view.laboratory.name, view.foot, own_layout=True)


def _mark_faults(flow: Flow, view: CertificateView) -> Iterator[str]:
    """A paper that is not to be taken for a certificate says so across each page, and in words on the first."""
    mark = view.words.word("mark", view.unsealed_mark)
    for number, page in enumerate(flow.pages, start=1):
        if not page.startswith("".join(mark.split())):
            yield f"page {number}: {mark} does not stand across it."
    notice = view.words.say("mark/notice", mark=mark)
    if flow.pages and "".join(notice.split()) not in flow.pages[0]:
        yield f"page 1: it does not say {notice!r}."
