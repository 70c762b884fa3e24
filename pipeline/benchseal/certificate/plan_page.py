"""A run plan and its labels on paper. Neither is a certificate: nothing is sealed, nothing attached."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import TYPE_CHECKING

from benchseal.certificate.render import render_paper
from benchseal.certificate.run_report import numbered

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.certificate.run_report import Paper, Part
    from benchseal.records.label_form import LabelForm


@dataclass(frozen=True, slots=True)
class PlanPage:
    """A plan, or a worksheet of standards, as parts of words and tables. made_at: ``YYYY-MM-DDTHH:MM:SSZ``."""

    title: str
    subject: str
    laboratory: str
    address: str
    program: str
    made_at: str
    about: tuple[tuple[str, str], ...]
    parts: tuple[Part, ...]


@dataclass(frozen=True, slots=True)
class PlacedLabel:
    """One label where it lies on its sheet, millimetres from the upper left corner."""

    left_mm: Decimal
    top_mm: Decimal
    lines: tuple[str, str, str]


def render_plan(page: PlanPage, paper: Paper = "a4") -> bytes:
    """PDF bytes: PDF/A-3, tagged. The same plan gives the same bytes."""
    size = "A4" if paper == "a4" else "letter"
    at, parts = datetime.fromisoformat(page.made_at), numbered(page.parts)
    return render_paper("plan.html.jinja", "run_report.css", at, size=size, page=page, parts=parts)


def render_labels(form: LabelForm, labels: Sequence[tuple[str, str, str]], made_at: str, title: str) -> bytes:
    """PDF bytes of sheets of labels, filled row by row."""
    size = "A4" if form.paper == "a4" else "letter"
    sheets = placed(form, labels)
    at = datetime.fromisoformat(made_at)
    return render_paper("labels.html.jinja", "labels.css", at, size=size, form=form, sheets=sheets, title=title)


def placed(form: LabelForm, labels: Sequence[tuple[str, str, str]]) -> tuple[tuple[PlacedLabel, ...], ...]:
    """Labels on their sheets, in exact millimetres."""
    step_across = Decimal(form.label_width_mm) + Decimal(form.gap_across_mm)
    step_down = Decimal(form.label_height_mm) + Decimal(form.gap_down_mm)
    each = form.across * form.down
    return tuple(
        tuple(
            PlacedLabel(
                Decimal(form.margin_left_mm) + nth % form.across * step_across,
                Decimal(form.margin_top_mm) + nth // form.across * step_down,
                lines,
            )
            for nth, lines in enumerate(labels[start : start + each])
        )
        for start in range(0, len(labels), each)
    )
