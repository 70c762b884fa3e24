"""Rules of a label form beyond its shape: the grid lies on the sheet, and a label has room for its lines."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING

from benchseal.documents.judge import Fault

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.records.label_form import LabelForm

PAPER_MM = {"a4": (Decimal(210), Decimal(297)), "letter": (Decimal("215.9"), Decimal("279.4"))}
_LINES = Decimal("3.3")  # lines of the label's size: its own and two smaller ones, with their leading
_MM_PER_PT = Decimal("25.4") / 72


def label_form_faults(form: LabelForm) -> Iterator[Fault]:
    """What does not lie on the sheet, or on the label."""
    width, height = PAPER_MM[form.paper]
    yield from _beyond(form, "across", "width", width)
    yield from _beyond(form, "down", "height", height)
    high = _LINES * Decimal(form.letters_pt) * _MM_PER_PT
    if high > Decimal(form.label_height_mm):
        what = f"three lines at {form.letters_pt} pt are {high:.1f} mm high, a label {form.label_height_mm} mm."
        yield Fault(("letters_pt",), "documents.label-form-letters", what, "Take smaller letters, or a higher label.")


def _beyond(form: LabelForm, way: str, side: str, sheet: Decimal) -> Iterator[Fault]:
    count = getattr(form, way)
    margin = form.margin_left_mm if way == "across" else form.margin_top_mm
    size, gap = Decimal(getattr(form, f"label_{side}_mm")), Decimal(getattr(form, f"gap_{way}_mm"))
    end = Decimal(margin) + count * size + (count - 1) * gap
    if end > sheet:
        what = f"{count} labels {way} end {end} mm from the edge; the sheet has a {side} of {sheet} mm."
        yield Fault((way,), "documents.label-form-beyond", what, "Measure the sheet, and correct the numbers.")
