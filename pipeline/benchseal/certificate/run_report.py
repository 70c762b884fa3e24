"""The full report of a run on paper: parts of paragraphs, tables, pictures and worked calculations, in reading order.

Tables and figures are numbered here, and a long table is split into captioned ones, so that whoever turns pages or
hears them read always knows where they are. It is no certificate: not sealed, nothing attached.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from typing import TYPE_CHECKING, Final, Literal, TypeAlias

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from benchseal.certificate.record_page import Event
    from benchseal.pictures.against_limit import LimitPicture
    from benchseal.pictures.calibration import CalibrationPicture
    from benchseal.pictures.check_chart import CheckPicture
    from benchseal.pictures.over_run import OverRunPicture
    from benchseal.pictures.shares import SharesPicture

    Picture: TypeAlias = CalibrationPicture | CheckPicture | OverRunPicture | SharesPicture | LimitPicture

Paper: TypeAlias = Literal["a4", "letter"]
Drawn: TypeAlias = Literal["calibration", "check_chart", "over_run", "shares", "against_limit"]

PAPERS: Final[tuple[Paper, ...]] = ("a4", "letter")
ROWS_A_TABLE: Final = 40
_TOO_FEW: Final = 4  # rows that are no part of their own
# Points between the margins of the narrower paper, less a little: pictures must fit both.
TEXT_WIDTH: Final = 500.0


@dataclass(frozen=True, slots=True)
class Column:
    """One column. share: of the width, in percent. figures: set at the right."""

    title: str
    share: float
    figures: bool = False
    digest: bool = False


@dataclass(frozen=True, slots=True)
class Table:
    """Rows under one header; part: which part of a long table it is, in words."""

    caption: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[str, ...], ...]
    number: int = 0
    part: str = ""
    form: Literal["table"] = "table"


@dataclass(frozen=True, slots=True)
class Facts:
    """Labels and what is said of them, without a header."""

    rows: tuple[tuple[str, str], ...]
    form: Literal["facts"] = "facts"


@dataclass(frozen=True, slots=True)
class Figure:
    """A picture with its caption; notes stand under it, half: two side by side.

    numbers: caption of the table that has its numbers.
    """

    drawn: Drawn
    picture: Picture
    caption: str
    numbers: str
    notes: tuple[str, ...] = ()
    half: bool = False
    number: int = 0
    table: int = 0
    form: Literal["figure"] = "figure"


@dataclass(frozen=True, slots=True)
class Calculation:
    """A worked calculation as ``run explain`` prints it, line by line."""

    title: str
    lines: tuple[str, ...]
    form: Literal["calculation"] = "calculation"


@dataclass(frozen=True, slots=True)
class Words:
    """Paragraphs."""

    lines: tuple[str, ...]
    form: Literal["words"] = "words"


Item: TypeAlias = Table | Facts | Figure | Calculation | Words


@dataclass(frozen=True, slots=True)
class Part:
    """One chapter of the report."""

    title: str
    items: tuple[Item, ...]


@dataclass(frozen=True, slots=True)
class RunReport:
    """The whole. made_at: ``YYYY-MM-DDTHH:MM:SSZ``. signatures: each as the lines of ``statements.shown``.

    stand: the one sentence the eye should find first. events: the trail of the run.
    """

    subject: str
    stand: str
    stand_kind: Literal["complies", "fails", "open"]
    laboratory: str
    address: str
    program: str
    made_at: str
    about: tuple[tuple[str, str], ...]
    parts: tuple[Part, ...]
    signatures: Sequence[tuple[str, ...]]
    events: tuple[Event, ...]


def render_run_report(report: RunReport, paper: Paper = "a4") -> bytes:
    """PDF bytes: PDF/A-3, tagged. The same report gives the same bytes."""
    size = "A4" if paper == "a4" else "letter"
    at, parts = datetime.fromisoformat(report.made_at), numbered(report.parts)
    from benchseal.certificate.render import render_paper  # noqa: PLC0415  heavy

    return render_paper("run_report.html.jinja", "run_report.css", at, size=size, page=report, parts=parts)


def numbered(parts: Sequence[Part]) -> tuple[Part, ...]:
    """Every table and figure with its number, long tables split, each figure with the number of its table.

    A figure whose table is not there is a fault of the program (KeyError).
    """
    captions = [item.caption for part in parts for item in part.items if isinstance(item, Table)]
    if len(set(captions)) < len(captions):
        raise AssertionError("two tables bear the same caption")
    tables = {caption: nth for nth, caption in enumerate(captions, 1)}
    figures = 0
    found = []
    for part in parts:
        items: list[Item] = []
        for item in part.items:
            if isinstance(item, Table):
                items += _split(replace(item, number=tables[item.caption]))
            elif isinstance(item, Figure):
                figures += 1
                items.append(replace(item, number=figures, table=tables[item.numbers]))
            else:
                items.append(item)
        found.append(replace(part, items=tuple(items)))
    return tuple(found)


def _split(table: Table) -> Iterator[Table]:
    """The table in parts of about ``ROWS_A_TABLE`` rows; rows without a first cell stay with the one before."""
    groups: list[list[tuple[str, ...]]] = []
    for row in table.rows:
        if row[0] or not groups:
            groups.append([])
        groups[-1].append(row)
    parts: list[list[tuple[str, ...]]] = []
    for group in groups:
        if not parts or len(parts[-1]) + len(group) > ROWS_A_TABLE:
            parts.append([])
        parts[-1] += group
    if len(parts) > 1 and len(parts[-1]) < _TOO_FEW:
        last = parts.pop()
        parts[-1] += last
    for nth, rows in enumerate(parts, 1):
        yield replace(table, rows=tuple(rows), part=f"part {nth} of {len(parts)}" if len(parts) > 1 else "")
    if not parts:
        yield table
