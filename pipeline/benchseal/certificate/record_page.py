"""A report of records on paper: what is on record about one subject, by the same way to PDF as certificates go.

It is no certificate: not sealed, nothing attached; its digest stands in the manifest beside it.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from functools import cache
from typing import TYPE_CHECKING

from weasyprint import CSS
from weasyprint.text.fonts import FontConfiguration

from benchseal import shipped
from benchseal.certificate.render import ShippedOnly, environment, pdf_of

if TYPE_CHECKING:
    from collections.abc import Sequence


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
    """A table, or plain lines where it has no columns."""

    title: str
    columns: tuple[str, ...] = ()
    rows: tuple[tuple[str, ...], ...] = ()
    lines: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class RecordPage:
    """One report. made_at: ``YYYY-MM-DDTHH:MM:SSZ``. signatures: each as the lines of ``statements.shown``.

    compact: upright, a line an entry: a timeline on one page.
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

    @property
    def changed(self) -> bool:
        """Whether any entry has old and new values to show."""
        return any(event.changes for event in self.events)


def render_record(page: RecordPage) -> bytes:
    """PDF bytes of a report."""
    html = environment().get_template("record.html.jinja").render(page=page)
    return pdf_of(html, (), datetime.fromisoformat(page.made_at), _type())


@cache
def _type() -> tuple[FontConfiguration, CSS]:
    fonts = FontConfiguration()
    return fonts, CSS(string=shipped.template("record.css"), font_config=fonts, url_fetcher=ShippedOnly())
