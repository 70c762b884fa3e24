"""A report of records on paper: what is on record about one subject, by the same way to PDF as certificates go.

It is no certificate: not sealed, nothing attached; its digest stands in the manifest beside it.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.records.site_rules import Paper

TEMPLATE: Final = "record.html.jinja"
STYLE: Final = "record.css"


@dataclass(frozen=True, slots=True)
class Change:
    """One value that an entry changed, as text."""

    path: str
    old: str
    new: str


@dataclass(frozen=True, slots=True)
class Event:
    """One entry. at: UTC; local: the same in the laboratory's zone; role: the person's roles at that time."""

    entry: str
    at: str
    local: str
    who: str
    role: str
    what: str
    about: str
    reason: str
    signed: str
    changes: tuple[Change, ...]


@dataclass(frozen=True, slots=True)
class Section:
    """A table, or plain lines where it has no columns. widths: of the columns in percent; else all alike."""

    title: str
    columns: tuple[str, ...] = ()
    rows: tuple[tuple[str, ...], ...] = ()
    lines: tuple[str, ...] = ()
    widths: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class RecordPage:
    """One report. made_at: ``YYYY-MM-DDTHH:MM:SSZ``. signatures: each as the lines of ``statements.shown``.

    compact: upright, a line an entry: a timeline on one page. paper: A4 where it is empty.
    """

    title: str
    subject: str
    laboratory: str
    address: str
    program: str
    made_at: str
    about: tuple[tuple[str, str], ...]
    sections: tuple[Section, ...]
    signatures: Sequence[tuple[str, ...]]
    events: tuple[Event, ...]
    compact: bool = False
    paper: Paper = ""

    @property
    def changed(self) -> bool:
        """Whether any entry has old and new values to show."""
        return any(event.changes for event in self.events)


def render_record(page: RecordPage) -> bytes:
    """PDF bytes of a report."""
    from benchseal.certificate.render import render_paper  # noqa: PLC0415  heavy

    size = "letter landscape" if page.paper == "letter" else ""
    return render_paper(TEMPLATE, STYLE, datetime.fromisoformat(page.made_at), size=size, page=page)
