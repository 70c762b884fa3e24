"""Guesses about the tables of a file: where they stand, how their lines are cut, what their columns hold."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, cast

from benchseal.documents.signs import unfit_in_text
from benchseal.ingest.cells import split_line
from benchseal.ingest.guess_columns import counts_readings, counts_solutions, is_mean_word
from benchseal.ingest.guess_text import date_pattern, time_pattern
from benchseal.ingest.numbers import plain_number
from benchseal.ingest.trade_words import MEAN, MISSING, OVER, SPREAD, UNITS, bare, column_means, element_of
from benchseal.records.layout import Column, ColumnMeans, FileForm

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

RULE = re.compile("[-=_*+.|~ \t\f\u2500-\u257f]+")  # the last are drawn lines
_DECIMAL = re.compile(r"[0-9][.,][0-9]")
_MOST_CLOSING = 3  # lines below a table that close it
_CLOCK = re.compile(r"\d{1,2}:\d{2}(:\d{2})?( ?[AaPp]\.?[Mm]\.?)?")
_DAY_TIME = re.compile(r"\d{1,4}[-./]\d{1,2}[-./]\d{1,4}(?:T| +)\d{1,2}:\d{2}(:\d{2})?( ?[AaPp]\.?[Mm]\.?)?")


@dataclass(frozen=True, slots=True)
class Block:
    """One table: line numbers from 0 of its header, its row of units (or -1), its rows."""

    header: int
    units: int
    rows: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Cut:
    """A way to cut the lines, with the tables it finds.

    columns: bare, with places, only where there is no separator. turned: each line of the table is a header followed by
    one cell for each solution; the header's line is then one of its rows.
    """

    form: FileForm
    blocks: tuple[Block, ...]
    columns: tuple[Column, ...]
    turned: bool = False

    def cells(self, line: str) -> list[str]:
        """Texts of one line; none where it cannot be cut so."""
        return [text for text, _ in split_line(line, self.form, self.columns) or []]


def best_cut(lines: list[str], form: FileForm) -> Cut | None:
    """The way to cut the lines that finds the most cells of numbers in tables under a header; None where none does."""
    best: tuple[float, Cut] | None = None
    for separator in ("\t", ";", "|", "│", ",", "two blanks", "blanks", ""):
        for mark in (".", ","):
            if mark == separator:
                continue
            quote = '"' if separator in set("\t;|│,") and any('"' in line for line in lines) else ""
            tried = replace(form, separator=separator, decimal_mark=cast("object", mark), quote=quote)  # type: ignore[arg-type]
            cut = _cut(lines, tried)
            worth = 0.0 if cut is None else _worth(lines, cut)
            if cut is not None and worth > 0 and (best is None or worth > best[0] + 1e-9):
                best = worth, cut
    turned = turned_cut(lines, form)
    if best is None or turned is None:
        return turned if best is None else best[1]
    return turned if _known(titles_of(lines, turned)) > _known(titles_of(lines, best[1])) else best[1]


def _known(titles: Sequence[str]) -> int:
    return sum(bool(column_means(title)[0] or element_of(title)[0]) for title in titles)


def turned_cut(lines: list[str], form: FileForm) -> Cut | None:
    """The lines of the first turned table: known headers at their beginning, the first of them names solutions."""
    for separator in ("\t", ";", "|", ",", "two blanks"):
        for mark in (".", ","):
            if mark == separator:
                continue
            cut = Cut(replace(form, separator=separator, decimal_mark=cast("object", mark)), (), (), turned=True)  # type: ignore[arg-type]
            rows = _turned_rows(lines, cut)
            if rows:
                return replace(cut, blocks=(Block(rows[0], -1, rows),))
    return None


def _turned_rows(lines: list[str], cut: Cut) -> tuple[int, ...]:
    for at, line in enumerate(lines):
        cells = cut.cells(line)
        if len(cells) < 3 or column_means(cells[0])[0] not in {"label", "position"}:
            continue
        end = at
        while end < len(lines) and len(cut.cells(lines[end])) == len(cells):
            end += 1
        below = [cut.cells(lines[n]) for n in range(at + 1, end)]
        means = [column_means(one[0])[0] for one in below]
        numbers = [one for one, mean in zip(below, means, strict=True) if mean in {"signal", "concentration", "mean"}]
        if numbers and all(is_number(cell, cut.form.decimal_mark) for one in numbers for cell in one[1:2]):
            return tuple(range(at, end))
    return ()


def titles_of(lines: list[str], cut: Cut) -> list[str]:
    """The headers of the table."""
    if cut.turned:
        return [cut.cells(lines[row])[0] for row in cut.blocks[0].rows]
    return cut.cells(lines[cut.blocks[0].header])


def _cut(lines: list[str], form: FileForm) -> Cut | None:
    ways = _places(lines, form) if not form.separator else iter(((),))
    cuts = (_with_blocks(lines, Cut(form, (), columns)) for columns in dict.fromkeys(ways))
    return max((cut for cut in cuts if cut.blocks), key=lambda cut: _worth(lines, cut), default=None)


def _with_blocks(lines: list[str], cut: Cut) -> Cut:
    return replace(cut, blocks=tuple(_blocks(lines, cut)))


def _worth(lines: list[str], cut: Cut) -> float:
    known = _known(cut.cells(lines[cut.blocks[0].header]))
    total = 0.0
    for block in cut.blocks:
        for row in block.rows:
            cells = cut.cells(lines[row])
            total += sum(is_number(cell, cut.form.decimal_mark) for cell in cells) / len(cells)
    return total * (1 + known)


def is_number(text: str, mark: str) -> bool:
    """Whether a cell is a number with this decimal mark."""
    return plain_number(text, cast("object", mark), "") is not None  # type: ignore[arg-type]


def _is_header(cells: list[str], mark: str) -> bool:
    words = [cell for cell in cells if cell]
    numbers = [cell for cell in words if is_number(cell, mark)]
    if numbers:  # readings beside each other may be headed by their numbers alone
        return numbers == _counted(len(numbers)) and _known([one for one in words if one not in numbers]) >= 3
    return len(words) >= 2 and _known(words) >= 2 and not _says_element(words)


def _counted(count: int) -> list[str]:
    return [str(nth) for nth in range(1, count + 1)]


def _says_element(words: Sequence[str]) -> bool:
    """Whether a line is a key and an element, such as ``Element;Pb``: both words are known, and no header."""
    return len(words) == 2 and column_means(words[0])[0] == "element" and bool(element_of(words[1])[0])


def _blocks(lines: list[str], cut: Cut) -> list[Block]:
    """The tables under the header that has the most numbers below it; one line of a head may look like a header."""
    found: dict[tuple[str, ...], list[Block]] = {}
    at = 0
    while at < len(lines):
        cells = cut.cells(lines[at])
        if not _is_header(cells, cut.form.decimal_mark):
            at += 1
            continue
        block, at = _block(lines, cut, at, cells)
        if block.rows:
            found.setdefault(tuple(cells), []).append(block)
    return max(found.values(), key=lambda blocks: _worth(lines, replace(cut, blocks=tuple(blocks))), default=[])


def _block(lines: list[str], cut: Cut, header: int, titles: list[str]) -> tuple[Block, int]:
    rows: list[int] = []
    units, at = -1, header + 1
    while at < len(lines):
        cells = cut.cells(lines[at].lstrip("\f"))
        if not lines[at].strip() or (RULE.fullmatch(lines[at]) and not any(map(str.isalnum, lines[at]))):
            at += 1
            continue
        fits = len(cells) == len(titles)
        if fits and not rows and units < 0 and is_units(cells):
            units = at
        elif fits and any(is_number(cell, cut.form.decimal_mark) for cell in cells) and cells != titles:
            rows.append(at)
        else:
            break
        at += 1
    return Block(header, units, tuple(rows)), at


def is_units(cells: Sequence[str]) -> bool:
    """Whether these cells are a row of units."""
    return any(cells) and all(UNITS.fullmatch(cell) for cell in cells) and any(any(map(str.isalpha, c)) for c in cells)


def _places(lines: list[str], form: FileForm) -> Iterator[tuple[Column, ...]]:
    """Fixed places from the blanks all lines of a table share, below each line of known headers.

    A line that closes the table may stand below its rows: its words blur the places, and it has no decimals.
    """
    loose = replace(form, separator="two blanks")
    tight = replace(form, separator="blanks")
    for at, line in enumerate(lines):
        if not any(
            _is_header([t for t, _ in split_line(line, one, ()) or []], form.decimal_mark) for one in (loose, tight)
        ):
            continue
        rows: list[str] = []
        for below in lines[at + 1 :]:
            if not below.strip() and rows:
                break
            if RULE.fullmatch(below) or not below.strip():
                continue
            units = not rows and is_units([text for text, _ in split_line(below, tight, ()) or []])
            if not units and not any(map(str.isdigit, below)):
                break
            if not any(is_mean_word(text) for text, _ in split_line(below, tight, ()) or []):  # it may stand anywhere
                rows.append(below)
        ways = [_shared([line, *rows])] if len(rows) > 1 else []
        for _ in range(_MOST_CLOSING):
            if len(rows) < 3 or _DECIMAL.search(rows.pop()):
                break
            ways.append(_shared([line, *rows]))
        yield from (columns for columns in ways if len(columns) > 1)


def _shared(table: list[str]) -> tuple[Column, ...]:
    width = max(map(len, table))
    taken = [any(at < len(line) and line[at] != " " for line in table) for at in range(width)]
    spans: list[tuple[int, int]] = []
    at = 0
    while at < width:
        end = at
        while end < width and taken[end]:
            end += 1
        if end > at and spans and not table[0][at:end].strip():
            spans[-1] = (spans[-1][0], end)  # nothing is written above it: it belongs to the column before
        elif end > at:
            spans.append((at, end))
        at = end + 1
    return tuple(_roomy(spans, nth, table[1:]) for nth in range(len(spans)))


def _roomy(spans: list[tuple[int, int]], nth: int, rows: list[str]) -> Column:
    """One column with the blanks around it that longer cells may take.

    Words grow to the right, where one blank to the neighbour stays free. Numbers grow to the left: the blanks before
    them are their own unless words stand before them.
    """
    starts, ends = spans[nth]
    if nth + 1 < len(spans) and _holds_words(rows, spans[nth]):
        ends = max(ends, spans[nth + 1][0] - 1)
    if nth and not _holds_words(rows, spans[nth]) and not _holds_words(rows, spans[nth - 1]):
        starts = min(starts, spans[nth - 1][1])
    return Column("", "ignored", starts=starts + 1, ends=ends)


def _holds_words(rows: list[str], span: tuple[int, int]) -> bool:
    return any(any(map(str.isalpha, row[span[0] : span[1]])) and any(map(str.isdigit, row)) for row in rows)


def cells_of(lines: list[str], cut: Cut, nth: int) -> list[str]:
    """The cells of one column in all rows."""
    if cut.turned:
        return cut.cells(lines[cut.blocks[0].rows[nth]])[1:]
    return [cut.cells(lines[row].lstrip("\f"))[nth] for block in cut.blocks for row in block.rows]


def word_cells(lines: list[str], cut: Cut, nth: int) -> dict[str, str]:
    """Words in a column of numbers: which look like over range, which like missing. A damaged cell is no word."""
    found: dict[str, str] = {}
    for text in cells_of(lines, cut, nth):
        if text and not is_number(text, cut.form.decimal_mark) and not unfit_in_text(text):
            found[text] = "missing" if text.lower() in MISSING else "over_range"
    return found


def known_word(text: str) -> bool:
    """Whether a word is in the lists of words that stand for a number."""
    return text.lower() in OVER | MISSING


def mean_word(cells: list[str]) -> str:
    """The word by which a column tells rows of means; empty where it tells none."""
    return next((cell for cell in cells if bare(cell) in MEAN), "")


def spread_words(cells: list[str]) -> list[str]:
    """Words by which a column tells rows of standard deviations."""
    return sorted({cell for cell in cells if cell and (bare(cell) in SPREAD or cell.lower() in SPREAD)})


def by_content(cells: list[str], mark: str) -> tuple[ColumnMeans, str] | None:
    """What a column without a known header holds, by its cells, and why."""
    filled = [cell for cell in cells if cell]
    if not filled:
        return None
    tests: tuple[tuple[bool, ColumnMeans, str], ...] = (
        (counts_solutions(filled), "position", "its cells count from 1"),
        (counts_readings(filled), "replicate", "its cells count from 1 with each solution"),
        (all(map(_CLOCK.fullmatch, filled)), "taken_at", "its cells are times of day"),
        (all(map(_DAY_TIME.fullmatch, filled)), "day_time", "its cells are days with times"),
        (all(element_of(cell)[0] == cell for cell in filled), "element", "its cells are symbols of elements"),
        (not any(is_number(cell, mark) for cell in filled), "label", "its cells are words"),
    )
    return next(((means, why) for holds, means, why in tests if holds), None)


def are_moments(cells: Sequence[str], form: FileForm) -> bool:
    """Whether cells are days with times, in the forms of the file or another one that is known."""
    filled = [cell for cell in cells if cell]
    moment = re.compile(rf"{date_pattern(form.date_form)}(?:T| +){time_pattern(form.time_form)}")
    return bool(filled) and all(moment.fullmatch(cell) or _DAY_TIME.fullmatch(cell) for cell in filled)


def contradicts(means: ColumnMeans, cells: Sequence[str], mark: str) -> bool:
    """Whether no cell can be what a header says: a number, a moment, which has figures, a day, which is no time."""
    filled = [cell for cell in cells if cell]
    if means in {"nominal", "dilution", "replicate", "reading_number", "background", "mean"}:
        return bool(filled) and not any(is_number(cell, mark) for cell in filled)
    if means in {"day", "day_time"} and filled and all(map(_CLOCK.fullmatch, filled)):
        return True  # times of day, without a day
    return means in {"day", "taken_at", "day_time"} and not all(any(map(str.isdigit, cell)) for cell in filled)
