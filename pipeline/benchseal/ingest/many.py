"""Many files of one layout at once: what is ordinary of them as blocks of columns, and which files are not.

It only says yes. What a block holds of a file is what ``reader.read_file`` reads of it; a file that is left must be
asked of ``read_file``, which says what there is. Only layouts of an ordinary kind can be read so (``is_regular``).
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from benchseal.ingest.lines import LARGEST_FILE
from benchseal.ingest.looks import packed
from benchseal.ingest.many_heads import Heads
from benchseal.ingest.many_rows import RowForm
from benchseal.ingest.plan import plan_of
from benchseal.records.block import BlockRun, RunBlock
from benchseal.records.canonical import digest

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.ingest.many_heads import SectionRead
    from benchseal.ingest.many_rows import Rows
    from benchseal.ingest.plan import Plan
    from benchseal.records.block import Array
    from benchseal.records.canonical import Digest
    from benchseal.records.layout import Layout
    from benchseal.records.run import DocumentRef

_MEANS = {
    "position",
    "label",
    "kind",
    "nominal",
    "dilution",
    "replicate",
    "signal",
    "background",
    "taken_at",
    "ignored",
}
_WIDE_MEANS = (_MEANS | {"mean"}) - {"replicate"}
_WHOLE_COUNTS = re.compile(r"\(\?P<count_(?:readings|solutions)>")  # in head or last line: of all tables together
_ONCE = frozenset({"signal", "ignored"})
_LARGEST = LARGEST_FILE // 8  # so that no file can have more lines than are read


class ReadMany(NamedTuple):
    """Blocks of the files that are ordinary, each file wholly in them; indexes of those left to ``read_file``."""

    blocks: tuple[RunBlock, ...]
    left: tuple[int, ...]


class _Piece(NamedTuple):
    file: int
    section: int
    read: SectionRead
    table: bytes


def is_regular(layout: Layout) -> bool:
    """Whether files of a layout can be read many at once at all."""
    form, table, plan = layout.file, layout.table, plan_of(layout)
    means = [column.means for column in table.columns]
    wide = means.count("signal") > 1
    once = [name for name in means if name not in _ONCE]
    return (
        form.separator in {",", ";", "\t", "|"}
        and not form.encoding.startswith("utf-16")
        and not (form.thousands_mark or form.printer_codes or layout.pages or layout.drop_lines or table.mean_rows)
        and (table.header_row and not table.transposed and table.each_row == "reading")
        and not any(column.element or column.carried for column in table.columns)
        and (means[0] == "position" and table.columns[0].needed and {"label", "signal"} <= set(means))
        and set(means) <= (_WIDE_MEANS if wide else _MEANS)
        and len(once) == len(set(once))
        and ("taken_at" not in means or form.time_form == "HH:mm:ss")
        and form.decimal_mark != form.separator
        and bool(plan.not_rows)
        and not any(text[0].isdigit() for text in plan.not_rows)
        and not any(_WHOLE_COUNTS.search(line) for line in (layout.last_line, *(rule.line for rule in layout.head)))
    )


def read_many(files: Sequence[bytes], layout: Layout, ref: DocumentRef) -> ReadMany:
    """Every ordinary file of ``files`` in blocks. Raises ValueError for a layout that is not regular."""
    if not is_regular(layout):
        raise ValueError(f"files of layout {layout.id} cannot be read many at once")
    plan = plan_of(layout)
    cutter = _Cutter(plan)
    groups: dict[tuple[str, ...], list[_Piece]] = {}
    left: set[int] = set()
    for index, data in enumerate(files):
        pieces = cutter.pieces(index, data)
        if not pieces:
            left.add(index)
        for piece in pieces:
            groups.setdefault(piece.read.head.headers, []).append(piece)
    found = [(pieces, cutter.rows(pieces)) for pieces in groups.values()]
    for pieces, rows in found:
        fine = rows.sure & _counted(pieces, rows)
        left.update(piece.file for piece, sure in zip(pieces, fine, strict=True) if not sure)
    names = [digest(data) for data in files]
    blocks = (_block(pieces, rows, left, names, (layout, ref)) for pieces, rows in found)
    return ReadMany(tuple(block for block in blocks if block.runs), tuple(sorted(left)))


class _Cutter:
    """Files to the pieces of each, where all that stands around its tables and every row's form is ordinary."""

    def __init__(self, plan: Plan) -> None:
        self._plan, self._heads = plan, Heads(plan)
        self._forms: dict[tuple[str, ...], RowForm] = {}

    def form(self, piece: _Piece) -> RowForm:
        """The form of the rows of a piece."""
        head = piece.read.head
        if head.headers not in self._forms:
            self._forms[head.headers] = RowForm(self._plan, head.columns)
        return self._forms[head.headers]

    def rows(self, pieces: list[_Piece]) -> Rows:
        """The columns of pieces with the same columns."""
        counts, began = [one.read.rows for one in pieces], [one.read.started_at for one in pieces]
        return self.form(pieces[0]).read([one.table for one in pieces], counts, began)

    def pieces(self, index: int, data: bytes) -> list[_Piece]:
        """The tables of a file; none where it is to be left."""
        if len(data) > _LARGEST or packed(data, ""):
            return []
        plain = data.replace(b"\r\n", b"\n") if b"\r" in data else data
        cut = None if b"\r" in plain else self._heads.cut(plain)
        read = self._heads.read(cut) if cut is not None else None
        if cut is None or read is None:
            return []
        pieces = [_Piece(index, nth, one, table) for nth, (one, table) in enumerate(zip(read, cut.tables, strict=True))]
        return pieces if all(self.form(piece).fits(piece.table) for piece in pieces) else []


def _counted(pieces: list[_Piece], rows: Rows) -> Array:
    """Whether each run holds as many solutions and readings as its file says."""
    counts = {"count_solutions": np.diff(rows.solutions), "count_readings": np.diff(rows.rows) * rows.signals}
    fine = np.ones(len(pieces), dtype=bool)
    for nth, piece in enumerate(pieces):
        for name, text in piece.read.counts.items():
            if text.lstrip("0") != str(counts[name][nth]):
                fine[nth] = False
    return fine


def _block(
    pieces: list[_Piece], rows: Rows, left: set[int], names: list[Digest], by: tuple[Layout, DocumentRef]
) -> RunBlock:
    layout, ref = by
    kept = [nth for nth, piece in enumerate(pieces) if piece.file not in left]
    return RunBlock(
        layout=ref,
        runs=tuple(_run(pieces[nth], rows, nth, names) for nth in kept),
        rows=_spans(rows.rows, kept),
        solutions=_spans(rows.solutions, kept),
        alike=rows.alike,
        distinct=rows.distinct,
        table=rows.table,
        first_lines=np.array([pieces[nth].read.first for nth in kept], dtype=np.int64),
        decimal_mark=layout.file.decimal_mark,
    )


def _run(piece: _Piece, rows: Rows, nth: int, names: list[Digest]) -> BlockRun:
    read, name = piece.read, names[piece.file]
    ended = rows.ended(nth, read.started_at)
    return BlockRun(piece.file, piece.section, name, read.head.facts, read.started_at, ended, read.line)


def _spans(ends: Array, kept: list[int]) -> Array:
    return np.column_stack((ends[:-1], ends[1:]))[kept]
