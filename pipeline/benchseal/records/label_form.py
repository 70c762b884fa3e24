"""A sheet of labels: a plain grid whose sizes are stated in millimetres."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from benchseal.records.quantities import PlainDecimal


@dataclass(frozen=True, slots=True)
class LabelForm:
    """One form. across, down: how many labels; margins: from the edges of the sheet; letters_pt: of the code."""

    kind: Literal["label_form"]
    id: str
    title: str
    paper: Literal["a4", "letter"]
    across: int
    down: int
    label_width_mm: PlainDecimal
    label_height_mm: PlainDecimal
    margin_left_mm: PlainDecimal
    margin_top_mm: PlainDecimal
    gap_across_mm: PlainDecimal
    gap_down_mm: PlainDecimal
    letters_pt: PlainDecimal
