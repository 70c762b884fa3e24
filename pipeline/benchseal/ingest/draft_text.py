"""A draft as YAML for people: each guess stands under a remark that says whether it is sure, and why."""

from __future__ import annotations

import json
import re
from typing import TYPE_CHECKING

from benchseal.problems import Problem

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from benchseal.ingest.accounting import SeenLine
    from benchseal.ingest.draft import Draft
    from benchseal.records.layout import Column, Stated

PLEASE_CHECK = "# please check: "
_MOST_SHOWN = 40
_PLAIN = re.compile(r"[A-Za-z][A-Za-z0-9_ -]*[A-Za-z0-9]")
_NEVER_PLAIN = {"true", "false", "null", "yes", "no", "on", "off", "y", "n"}


def unchecked(data: bytes, source: str) -> tuple[Problem, ...]:
    """A problem for each remark of a draft that nobody has taken away: what it asks about was not looked at, it seems.

    data: of a layout that reads, so text in UTF-8.
    """
    lines = enumerate(data.decode("utf-8-sig").splitlines(), start=1)
    remedy = "Look at it beside the file, put it right where it is wrong, then take the remark away."
    return tuple(
        Problem("layout.unchecked", f"{source}, line {number}", f"A draft asks: {_shown(line.strip(' #'))}.", remedy)
        for number, line in lines
        if line.strip().startswith(PLEASE_CHECK)
    )


def draft_yaml(draft: Draft, source: str, unread: Sequence[SeenLine]) -> str:
    """The draft. unread: lines of the file no line of the draft explains; they are listed at the end."""
    return "\n".join(_lines(draft, source, unread)) + "\n"


def _lines(draft: Draft, source: str, unread: Sequence[SeenLine]) -> Iterator[str]:
    layout, form = draft.layout, draft.layout.file
    yield f"# A draft made from {_shown(source)}. Nobody has approved it. Look at every 'please check'."
    yield from (f"# open: {_shown(what)}" for what in draft.open)
    yield "kind: layout"
    yield f"id: {layout.id}"
    yield f"title: {_quoted(layout.title)}"
    yield from _remark(draft, "recognised_by", "")
    yield f"recognised_by: [{', '.join(map(_quoted, layout.recognised_by))}]"
    yield "file:"
    for name in ("encoding", "separator", "decimal_mark", "date_form", "time_form"):
        yield from _remark(draft, f"file.{name}", "  ")
        yield f"  {name}: {_quoted(getattr(form, name))}"
    if form.quote:
        yield f"  quote: {_quoted(form.quote)}"
    if form.printer_codes:
        yield from _remark(draft, "file.printer_codes", "  ")
        yield f"  printer_codes: [{', '.join(map(_quoted, form.printer_codes))}]"
    if form.ends_bare:
        yield from _remark(draft, "file.ends_bare", "  ")
        yield "  ends_bare: true"
    yield from _rules(draft, "head", "", [(rule.line, rule.needed) for rule in layout.head])
    yield "section:"
    yield from _remark(draft, "section.begins", "  ")
    yield f"  begins: {_quoted(layout.section.begins)}"
    yield from _rules(draft, "section.lines", "  ", [(rule.line, rule.needed) for rule in layout.section.lines])
    yield from _remark(draft, "section.ends", "  ")
    yield f"  ends: {_quoted(layout.section.ends)}"
    yield from _table(draft)
    yield from _items(draft, "kinds", [_pairs(k) for k in _kinds(draft)])
    yield from _remark(draft, "last_line", "")
    yield f"last_line: {_quoted(layout.last_line)}"
    yield from _items(draft, "stated", [_pairs(_stated(one)) for one in layout.stated])
    words = [_pairs([("fact", one.fact), ("text", one.text), ("means", one.means)]) for one in layout.words]
    yield from _items(draft, "words", words)
    signals = [_pairs([("text", one.text), ("means", one.means)]) for one in layout.signal_words]
    yield from _items(draft, "signal_words", signals)
    yield from _items(draft, "drop_lines", [_quoted(one) for one in layout.drop_lines])
    if layout.pages:
        yield from _remark(draft, "pages", "")
        yield "pages:"
        for page in layout.pages:
            heading = ", ".join(map(_quoted, page.heading))
            yield f"  - {{heading: [{heading}], repeats_header: {str(page.repeats_header).lower()}}}"
    if unread:
        yield f"# Lines of the file nothing above explains: {len(unread)}."
        yield from (f"#   {line.number}: {_shown(line.text)}" for line in unread[:_MOST_SHOWN])
        if len(unread) > _MOST_SHOWN:
            yield f"#   and {len(unread) - _MOST_SHOWN} more"


def _kinds(draft: Draft) -> Iterator[list[tuple[str, str]]]:
    for rule in draft.layout.kinds:
        asked = [(name, text) for name, text in (("code", rule.code), ("label", rule.label)) if text]
        yield [("means", rule.means), *asked]


def _table(draft: Draft) -> Iterator[str]:
    table = draft.layout.table
    yield "table:"
    if table.units_row:
        yield "  units_row: true"
    if table.transposed:
        yield f"  {PLEASE_CHECK}headers stand at the beginning of lines"
        yield "  transposed: true"
    if table.each_row != "reading":
        yield from _remark(draft, "table.each_row", "  ")
        yield f"  each_row: {table.each_row}"
    if table.signals_are_readings:
        yield from _remark(draft, "table.signals_are_readings", "  ")
        yield "  signals_are_readings: true"
    if table.mean_rows:
        yield from _remark(draft, "table.mean_rows", "  ")
        yield "  mean_rows:"
        yield from (f"    - {_pairs([('header', row.header), ('text', row.text)])}" for row in table.mean_rows)
    yield from _remark(draft, "table.columns", "  ")
    yield "  columns:"
    for nth, column in enumerate(table.columns):
        yield from _remark(draft, f"table.columns.{nth}", "    ")
        yield f"    - {_pairs(_column(column))}"


def _column(column: Column) -> list[tuple[str, str]]:
    pairs = [("header", column.header), ("means", column.means)]
    more = [("unit", column.unit), ("element", column.element), ("wavelength_nm", column.wavelength_nm)]
    places = [("starts", column.starts), ("ends", column.ends)] if column.ends else []
    placed = [(name, f"={place}") for name, place in places] + [("carried", "=true")] * column.carried
    return pairs + [pair for pair in more if pair[1]] + placed


def _stated(one: Stated) -> list[tuple[str, str]]:
    reason = [("because", one.because)] if one.because else []
    return [("fact", one.fact), ("value", one.value), *reason]


def _rules(draft: Draft, key: str, indent: str, rules: list[tuple[str, bool]]) -> Iterator[str]:
    name = key.rpartition(".")[2]
    if not rules:
        yield f"{indent}{name}: []"
        return
    yield f"{indent}{name}:"
    for nth, (line, needed) in enumerate(rules):
        yield from _remark(draft, f"{key}.{nth}", indent + "  ")
        yield f"{indent}  - {{line: {_quoted(line)}{'' if needed else ', needed: false'}}}"


def _items(draft: Draft, key: str, items: list[str]) -> Iterator[str]:
    if items:
        yield f"{key}:"
    for nth, item in enumerate(items):
        yield from _remark(draft, f"{key}.{nth}", "  ")
        yield f"  - {item}"


def _remark(draft: Draft, key: str, indent: str) -> Iterator[str]:
    if key in draft.remarks:
        sure, why = draft.remarks[key]
        yield f"{indent}{'# sure: ' if sure else PLEASE_CHECK}{_shown(why)}"


def _pairs(pairs: Sequence[tuple[str, str]]) -> str:
    texts = [f"{name}: {text[1:] if name in {'starts', 'ends', 'carried'} else _quoted(text)}" for name, text in pairs]
    return "{" + ", ".join(texts) + "}"


def _quoted(text: str) -> str:
    """A word bare, patterns in single quotes, what holds a control sign as JSON, which YAML reads the same."""
    if _PLAIN.fullmatch(text) and text.lower() not in _NEVER_PLAIN:
        return text
    return "'" + text.replace("'", "''") + "'" if text.isprintable() else json.dumps(text)


def _shown(text: str) -> str:
    shown = "".join(sign if sign.isprintable() else "·" for sign in text)
    return shown if len(shown) <= 160 else f"{shown[:159]}…"
