"""Control charts of checks over runs on paper: each standard lot its picture, with limits and values as tables."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Literal

from benchseal.certificate.run_report import numbered

if TYPE_CHECKING:
    from benchseal.certificate.run_report import Paper, Part


@dataclass(frozen=True, slots=True)
class ChartPage:
    """The whole. subject: the method. made_at: ``YYYY-MM-DDTHH:MM:SSZ``. stand: the sentence the eye finds first."""

    subject: str
    stand: str
    stand_kind: Literal["complies", "open"]
    laboratory: str
    address: str
    program: str
    made_at: str
    about: tuple[tuple[str, str], ...]
    parts: tuple[Part, ...]


def render_charts(page: ChartPage, paper: Paper = "a4") -> bytes:
    """PDF bytes: PDF/A-3, tagged. The same page gives the same bytes."""
    size = "A4" if paper == "a4" else "letter"
    at, parts = datetime.fromisoformat(page.made_at), numbered(page.parts)
    from benchseal.certificate.render import render_paper  # noqa: PLC0415  heavy

    return render_paper("check_charts.html.jinja", "run_report.css", at, size=size, page=page, parts=parts)
