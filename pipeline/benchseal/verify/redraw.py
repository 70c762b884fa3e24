"""The page drawn again from its evidence: the same bytes, or something on it does not come from there.

This sees what the words of a page do not show: letters of other shapes, strokes added to a figure, a thing moved. It
needs the renderer, takes a good half second, and can say yes only where program, renderer and its libraries are those
the page was made with; other ones draw the same page in other bytes. So a difference leaves it open.
"""

from __future__ import annotations

import io
from typing import TYPE_CHECKING

import pikepdf

from benchseal.certificate.issue import render_certificate
from benchseal.records.canonical import digest
from benchseal.verify.contents import Doubt

if TYPE_CHECKING:
    from benchseal.certificate.read_pdf import SealedPdf
    from benchseal.verify.contents import Case, Faults


def drawn_again(case: Case, opened: SealedPdf, sealed: bytes) -> Faults:
    """Whether the bytes before sealing come out again. sealed: the file, to say where they do not."""
    if case.evidence.template:
        yield Doubt(
            "it has the laboratory's own layout, which the file itself holds; a template of a file under check is not "
            "run. Its words were compared with those of the program."
        )
        return
    drawn = render_certificate(opened.evidence, opened.supplement)
    if not isinstance(drawn, bytes):
        yield Doubt(f"it cannot be drawn here: {' '.join(problem.what for problem in drawn)}")
    elif digest(drawn) != opened.unsealed_sha256:
        yield Doubt(
            f"drawn again here, {_difference(sealed, drawn)}: another version of the program or its renderer drew it, "
            f"or it was changed before sealing. It was made by {case.evidence.program}: try that, as it was then."
        )


def _difference(sealed: bytes, drawn: bytes) -> str:
    """Which pages are drawn by other instructions, in words."""
    with pikepdf.open(io.BytesIO(sealed)) as one, pikepdf.open(io.BytesIO(drawn)) as other:
        ours, theirs = ([page.obj.Contents.read_bytes() for page in pdf.pages] for pdf in (one, other))
    if len(ours) != len(theirs):
        return f"it has {len(theirs)} pages instead of {len(ours)}"
    differing = [str(number) for number, (a, b) in enumerate(zip(ours, theirs, strict=True), start=1) if a != b]
    if not differing:
        return "its pages have the same instructions, and what goes with them (type, tags, attachments) has other bytes"
    return f"page {', '.join(differing)} has other instructions"
