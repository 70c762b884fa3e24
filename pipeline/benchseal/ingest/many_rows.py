"""The rows of many tables with the same columns, judged as one: which runs are ordinary, and their columns.

It only says yes, as ``regular`` does. Each table must first be, sign by sign, of the one form its columns give (one
automaton, linear in the bytes); then all tables together are cut into columns by pyarrow, and what a form cannot say
(positions that rise, readings that count, solutions that stay the same) is compared for all rows at once.
"""

from __future__ import annotations

import re
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any, NamedTuple, cast

import numpy as np
import pyarrow as pa
import re2
from pyarrow import csv

from benchseal.documents.damaged import looks_damaged
from benchseal.ingest.numbers import dilutes
from benchseal.ingest.table import LONGEST_LABEL
from benchseal.records.block import Alike

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.ingest.plan import Plan
    from benchseal.records.block import Array, Table
    from benchseal.records.layout import Column
    from benchseal.records.run import SolutionKind

_IDENTITY = ("label", "kind", "nominal", "dilution")
_HALF_A_DAY_S, _HOUR_S = 12 * 3600, 3600
_COUNT = "[1-9][0-9]{0,5}"
_CLOCK = "(?:[01][0-9]|2[0-3]):[0-5][0-9]:[0-5][0-9]"
_LONGEST_IGNORED = 200
_BLOCK_BYTES = 1 << 20
_LAST_DAY = "9999-12-01"  # so that no midnight leads past the last date there is
_ESCAPED = {",": ",", ";": ";", "\t": "\\t", "|": "\\|"}


class Rows(NamedTuple):
    """Tables as columns. sure: for each table whether all its rows are ordinary; of others nothing may be used.

    rows, solutions: the first of each table, and behind the last. signals: of each row. last: shape (tables, 2), days
    after the run's begin and seconds of the day of each last reading; no items where rows bear no time.
    """

    sure: Array
    rows: Array
    solutions: Array
    alike: Array
    distinct: tuple[Alike, ...]
    table: Table
    signals: int
    last: Array

    def ended(self, nth: int, started_at: str) -> str:
        """Local text of the last reading of a run; empty where rows bear no time."""
        if not len(self.last):
            return ""
        days, seconds = self.last[nth]
        hours, rest = divmod(int(seconds), _HOUR_S)
        return f"{_day_after(started_at[:10], int(days))}T{hours:02}:{rest // 60:02}:{rest % 60:02}"


class RowForm:
    """What every row of a table with these columns looks like."""

    def __init__(self, plan: Plan, columns: tuple[Column, ...]) -> None:
        """columns: of a section of a layout ``many.is_regular`` says yes to."""
        self._plan, form = plan, plan.layout.file
        self._separator, self._mark = form.separator, form.decimal_mark
        self._wide = sum(column.means == "signal" for column in plan.layout.table.columns) > 1
        self._names = _names(columns)
        self._signals = sum(column.means == "signal" for column in columns)
        signs = {
            column.means: _signs(column.means, form.separator, form.decimal_mark, form.quote) for column in columns
        }
        row = _ESCAPED[form.separator].join(signs[column.means] for column in columns)
        self._form = re2.compile(f"(?:{row}\n)+".encode())

    def fits(self, table: bytes) -> bool:
        """Whether every row of a table is of the form."""
        return self._form.fullmatch(table) is not None

    def read(self, tables: Sequence[bytes], counts: Sequence[int], began: Sequence[str]) -> Rows:
        """Columns of tables that fit, and which of them are ordinary.

        counts: rows of each. began: local begin of each run as ISO text.
        """
        cells = self._cells(tables)
        rows = np.concatenate(([0], np.cumsum(counts)))
        run_of_row = np.repeat(np.arange(len(tables)), counts)
        codes = {name: _codes(cells, name) for name in _IDENTITY if name in self._names}
        position = cells["position"].to_numpy()
        starts, bad = self._solutions(position, cells, codes, rows)
        sure = np.ones(len(tables), dtype=bool)
        sure[run_of_row[bad]] = False
        each = np.diff(np.append(starts, len(position)))
        alike, distinct = self._alike(codes, starts, each)
        lost = np.array([one is None for one in distinct])
        sure[run_of_row[starts[lost[alike]]]] = False
        last = np.empty((0, 2))
        if "taken_at" in self._names:
            seconds = cells["taken_at"].cast(pa.int32()).to_numpy()
            days, late = _days(seconds, rows, began)
            sure[run_of_row[late]] = False
            sure[run_of_row[self._twice(cells, seconds, codes["label"][0], rows)]] = False
            sure[[text >= _LAST_DAY for text in began]] = False
            last = np.column_stack((days, seconds))[rows[1:] - 1]
        solutions = np.searchsorted(starts, rows)
        kept = tuple(one or Alike("", "rinse", "", "1", 0) for one in distinct)
        return Rows(sure, rows, solutions, alike, kept, cells, self._signals, last)

    def _cells(self, tables: Sequence[bytes]) -> Table:
        """Every column that means something, as text, whole numbers or a time of day; repeated texts by number."""
        types = {name: _type(name) for name in self._names if not name.startswith("ignored")}
        found = csv.read_csv(
            pa.BufferReader(b"".join(tables)),
            read_options=csv.ReadOptions(use_threads=False, column_names=list(self._names), block_size=_BLOCK_BYTES),
            parse_options=csv.ParseOptions(delimiter=self._separator, quote_char=False),
            convert_options=csv.ConvertOptions(
                column_types=types, include_columns=list(types), strings_can_be_null=False, null_values=[]
            ),
        )
        return found.unify_dictionaries().combine_chunks()

    def _solutions(self, position: Array, cells: Table, codes: dict[str, Any], rows: Array) -> tuple[Array, Array]:
        """Rows a solution begins at, and rows that are not in order or of another solution than their place says."""
        count, first = len(position), rows[:-1]
        if self._wide:
            due = np.arange(1, count + 1) - np.repeat(first, np.diff(rows))
            return np.arange(count), np.flatnonzero(position != due)
        new = np.empty(count, dtype=bool)
        new[1:] = position[1:] != position[:-1]
        new[first] = True
        nth = np.cumsum(new)
        bad = position != nth - np.repeat(nth[first] - 1, np.diff(rows))
        starts = np.flatnonzero(new)
        if "replicate" in self._names:
            bad |= cells["replicate"].to_numpy() != np.arange(1, count + 1) - starts[nth - 1]
        for code, _ in codes.values():
            bad[1:] |= (code[1:] != code[:-1]) & ~new[1:]
        return starts, np.flatnonzero(bad)

    def _twice(self, cells: Table, seconds: Array, label: Array, rows: Array) -> Array:
        """Rows that may be the reading above again: same solution, same second, same signal."""
        if self._wide:
            return np.empty(0, dtype=np.int64)
        same = (seconds[1:] == seconds[:-1]) & (label[1:] == label[:-1])
        at = np.setdiff1d(np.flatnonzero(same) + 1, rows[:-1])
        signal = cells["signal"]
        return at[[signal[int(nth)] == signal[int(nth) - 1] for nth in at]] if len(at) else at

    def _alike(self, codes: dict[str, Any], starts: Array, each: Array) -> tuple[Array, list[Alike | None]]:
        """Of each solution what it is, and each of these once; None for one that is not ordinary."""
        key = each.astype(np.int64)
        for code, texts in codes.values():
            key = key * max(len(texts), 1) + code[starts]
        _, place, alike = np.unique(key, return_index=True, return_inverse=True)
        distinct = []
        for at in place:
            said = {name: texts[code[starts[at]]] for name, (code, texts) in codes.items()}
            distinct.append(self._one(said, self._signals if self._wide else int(each[at])))
        return alike, distinct

    def _one(self, said: dict[str, str], readings: int) -> Alike | None:
        label, dilution = said["label"], said.get("dilution", "1").replace(self._mark, ".")
        kind = self._plan.kind_of(said.get("kind", ""), label)
        if not kind or looks_damaged(label) or not dilutes(dilution):
            return None
        nominal = said.get("nominal", "").replace(self._mark, ".")
        return Alike(label, cast("SolutionKind", kind), nominal, dilution, readings)


def _names(columns: tuple[Column, ...]) -> tuple[str, ...]:
    """A name for each column: what it means, with a number where several mean the same."""
    found: list[str] = []
    for column in columns:
        nth = sum(name.split("_")[0] == column.means for name in found) + 1
        found.append(column.means if nth == 1 else f"{column.means}_{nth}")
    return tuple(found)


def _signs(means: str, separator: str, mark: str, quote: str) -> str:
    """What a cell looks like, without blanks around it; nothing that the exact reader would change or look at twice."""
    signs = [f"\\x{code:02x}" for code in range(0x20, 0x7F) if chr(code) not in {separator, quote}]
    sign, bare = f"[{''.join(signs)}]", f"[{''.join(signs[1:])}]"  # the first is a blank
    text = f"{bare}(?:{sign}{{0,{LONGEST_LABEL - 2}}}{bare})?"
    whole, part = "(?:0{1,40}|[1-9][0-9]{0,39})", f"(?:{re.escape(mark)}[0-9]{{1,20}})?"
    below = f"-(?:[1-9][0-9]{{0,39}}{part}|[0-9]{{1,40}}{re.escape(mark)}[0-9]{{0,10}}[1-9][0-9]{{0,10}})"
    number = f"(?:{whole}{part}|{below})"
    return {
        "position": _COUNT,
        "replicate": _COUNT,
        "label": text,
        "kind": f"(?:{text})?",
        "nominal": f"(?:{whole}{part})?",
        "dilution": f"{whole}{part}",
        "signal": number,
        "mean": f"(?:{number})?",
        "background": f"(?:{number})?",
        "taken_at": _CLOCK,
        "ignored": f"{sign}{{0,{_LONGEST_IGNORED}}}",
    }[means]


def _type(name: str) -> pa.DataType:
    if name in _IDENTITY:
        return pa.dictionary(pa.int32(), pa.string())
    return {"position": pa.int32(), "replicate": pa.int32(), "taken_at": pa.time32("s")}.get(name, pa.string())


def _codes(cells: Table, name: str) -> tuple[Array, list[str]]:
    """A column of repeated texts as numbers, and the text of each number."""
    column = cells[name].chunk(0)
    return column.indices.to_numpy(), column.dictionary.to_pylist()


def _days(seconds: Array, rows: Array, began: Sequence[str]) -> tuple[Array, Array]:
    """Midnights before each row, and rows whose time goes back without passing one."""
    first = rows[:-1]
    before = np.empty_like(seconds)
    before[1:] = seconds[:-1]
    before[first] = [int(text[11:13]) * 3600 + int(text[14:16]) * 60 + int(text[17:19]) for text in began]
    back = seconds < before
    if not back.any():
        return np.zeros(len(seconds), dtype=np.int32), np.flatnonzero(back)
    passed = np.cumsum(back)
    days = passed - np.repeat(passed[first] - back[first], np.diff(rows))
    return days, np.flatnonzero(back & (before // _HOUR_S - seconds // _HOUR_S < _HALF_A_DAY_S // _HOUR_S))


def _day_after(day: str, days: int) -> str:
    """A date some days later, ``YYYY-MM-DD``."""
    return (date.fromisoformat(day) + timedelta(days=days)).isoformat() if days else day
