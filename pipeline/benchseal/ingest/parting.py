"""A section to the runs it holds: a transposed table turned, a table of several elements parted."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from benchseal.documents.times import read_date, read_day_time, read_time
from benchseal.ingest.cells import Cell, split_line
from benchseal.ingest.plan import header_columns
from benchseal.ingest.walk import EXPORT_AGAIN, OTHER_LAYOUT, Fact, Section

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from benchseal.ingest.plan import Plan


def runs_of(section: Section, plan: Plan, say: Callable[..., None]) -> list[Section]:
    """One section for each run, in the order their first rows stand; the section itself where it holds one.

    say: ``Walk.say``. A transposed table has its ``columns`` and ``turned`` set here.
    """
    if plan.layout.table.transposed:
        _turn(section, plan, say)
    beside = {column.element: column.wavelength_nm for column in section.columns if column.element}
    if beside:
        return [_beside(section, element, wavelength) for element, wavelength in beside.items()]
    if any(column.means == "element" for column in section.columns):
        return _by_rows(section, plan)
    return [section]


def _turn(section: Section, plan: Plan, say: Callable[..., None]) -> None:
    form, columns = plan.layout.file, plan.layout.table.columns
    rows = [(number, text, split_line(text, form, columns)) for number, text in section.rows]
    section.columns = ()
    cut = [(number, cells) for number, _, cells in rows if cells]
    for number, text, cells in rows:
        if not cells or len(cells) != len(cut[0][1]):
            due = len(cut[0][1]) if cut else 0
            what = f"The line has {len(cells or ())} cells, the first of the table {due}: '{text[:60]}'."
            say("ingest.row-unfit", what, EXPORT_AGAIN, line=number)
            return
    shown = header_columns([cells[0][0] for _, cells in cut], columns)
    if shown is None:
        found = ", ".join(cells[0][0] for _, cells in cut)
        what = f"The lines of the table differ: found {found[:200]}, due: {', '.join(one.header for one in columns)}."
        say("ingest.header-differs", what, OTHER_LAYOUT, line=section.rows[0][0])
        return
    section.columns = shown
    lines = [number for number, _ in cut]
    section.turned = [([cells[nth] for _, cells in cut], lines) for nth in range(1, len(cut[0][1]))]


def _beside(section: Section, element: str, wavelength: str) -> Section:
    """The run of one element where each has columns of its own: those of the others are ignored."""
    columns = tuple(
        replace(column, means="ignored") if column.element not in ("", element) else column
        for column in section.columns
    )
    facts = {**section.facts, "element": Fact(element, section.line, 1)}
    if wavelength:
        facts["wavelength_nm"] = Fact(wavelength, section.line, 1, of_layout=True)
    return replace(section, columns=columns, facts=facts)


def _by_rows(section: Section, plan: Plan) -> list[Section]:
    """Rows parted by what their cells say of element and wavelength. A row that cannot be cut stays with the first."""
    places = [index for index, column in enumerate(section.columns) if column.means in ("element", "wavelength_nm")]
    carried = [index for index in places if section.columns[index].carried]
    parts: dict[tuple[str, ...], Section] = {}
    above: tuple[str, ...] = ()
    for number, text in section.rows:
        cells = split_line(text, plan.layout.file, section.columns)
        if cells is None or len(cells) != len(section.columns):
            key = above or tuple("" for _ in places)
            cells = [("", 1)] * len(section.columns)
        elif above and carried == places and not any(cells[index][0] for index in places):
            key = above
        else:
            key = tuple(cells[index][0] for index in places)
        if key not in parts:
            facts = dict(section.facts)
            for index in places:
                facts[section.columns[index].means] = Fact(cells[index][0], number, cells[index][1])
            parts[key] = replace(section, line=number, facts=facts, rows=[])
        parts[key].rows.append((number, text))
        above = key
    return list(parts.values()) or [section]


def first_moment(section: Section, plan: Plan) -> tuple[str, str]:
    """Day and time of day of the first row that says them, as ISO text; empty where no column does."""
    places: dict[str, int] = {column.means: index for index, column in enumerate(section.columns)}
    if not places.keys() & {"day", "day_time", "taken_at"}:
        return "", ""
    for cells in _rows(section, plan):
        day, clock = _moment(cells, places, plan)
        if day or clock:
            return day, clock
    return "", ""


def _rows(section: Section, plan: Plan) -> Iterator[list[Cell]]:
    yield from (cells for cells, _ in section.turned)
    for _, text in () if section.turned else section.rows:
        cells = split_line(text, plan.layout.file, section.columns)
        if cells is not None and len(cells) == len(section.columns):
            yield cells


def _moment(cells: list[Cell], places: dict[str, int], plan: Plan) -> tuple[str, str]:
    form = plan.layout.file
    if "day_time" in places:
        return read_day_time(cells[places["day_time"]][0], form.date_form, form.time_form) or ("", "")
    day = read_date(cells[places["day"]][0], form.date_form) if "day" in places else ""
    clock = read_time(cells[places["taken_at"]][0], form.time_form) if "taken_at" in places else ""
    return day or "", clock or ""
