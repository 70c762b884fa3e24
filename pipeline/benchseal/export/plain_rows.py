"""The rows of a plain profile, written as they are and looked at together. It only ever says yes.

Rows are joined first; then one automaton, linear in the text, says whether every cell of every row is so plain that it
stands in the file as its field has it. Whatever is not plain goes the long way, column by column (``columns.py``); a
test holds both ways equal.
"""

from __future__ import annotations

from operator import attrgetter
from typing import TYPE_CHECKING, Final

import re2

from benchseal.export.cells import CannotWrite, form_of
from benchseal.export.columns import delivery_field, may_mislead
from benchseal.export.plain_columns import NUMBER, TEXT
from benchseal.records.released import DELIVERY_FIELDS

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from benchseal.export.columns import Way
    from benchseal.records.profile import Column, Profile
    from benchseal.records.released import Delivery, ReleasedRow

_AT_ONCE: Final = 4096  # rows: few enough that their text stays in the processor's own memory
# A date or a moment of the record, but no 29th of February.
_DAY: Final = (
    "[12][0-9]{3}-(?:(?:0[1-9]|1[0-2])-(?:0[1-9]|1[0-9]|2[0-8])|(?:0[13-9]|1[0-2])-(?:29|30)|(?:0[13578]|1[02])-31)"
)
_CLOCK: Final = r"T(?:[01][0-9]|2[0-3]):[0-5][0-9]:[0-5][0-9](?:\.[0-9]{3})?(?:Z|[+-](?:0[0-9]|1[0-4]):[0-5][0-9])"
_FORMS: Final = {"text": TEXT, "number": NUMBER, "date": f"{_DAY}(?:{_CLOCK})?"}


def plain_rows(rows: Sequence[ReleasedRow], profile: Profile, delivery: Delivery, way: Way, end: str) -> bytes | None:
    """Every row with its line end, in ASCII; None where a cell would have to be looked at by itself.

    rows: each a row of the file. profile: of a delimited file, sound (``check_profile``). end: of a line.
    """
    columns = profile.columns
    taken = [column for column in columns if _is_of_result(column)]
    if not rows or not taken or any(column.field == "row_no" for column in columns):
        return None
    if not all(_may_be_plain(column, way) for column in taken) or any(may_mislead(rows, column) for column in taken):
        return None
    cells, forms = [], []
    for column in columns:
        if _is_of_result(column):
            cells.append("%s")
            forms.append(_form(column))
            continue
        try:
            text = _in_every_row(column, delivery, way)
        except CannotWrite:
            return None
        cells.append(text.replace("%", "%%"))
        forms.append(re2.escape(text))
    form = re2.compile(f"(?:{re2.escape(profile.file.separator).join(forms)}{end})+".encode())
    together = _together(profile.file.separator, cells, end)
    fields = attrgetter(*(column.field for column in taken))
    limits = [(attrgetter(column.field), column.max_length) for column in taken if column.max_length]
    parts = []
    for first in range(0, len(rows), _AT_ONCE):
        some = rows[first : first + _AT_ONCE]
        part = together(map(fields, some))
        one_each = part.isascii() and part.count("\n") == len(some)  # a cell with a line end could be rows of its own
        if not one_each or form.fullmatch(checked := part.encode()) is None:
            return None
        if any(max(map(len, map(cell, some))) > most for cell, most in limits):
            return None
        parts.append(checked)
    return b"".join(parts)


def _together(separator: str, cells: Sequence[str], end: str) -> Callable[[Iterable[tuple[str, ...]]], str]:
    """From the fields of some rows to their text. cells: ``%s`` for a field, else what stands in every row."""
    one_row = separator.join(cells) + end
    if len(cells) > 1 and set(cells) == {"%s"}:  # nearly twice as fast
        return lambda rows: end.join(map(separator.join, rows)) + end
    return lambda rows: "".join(map(one_row.__mod__, rows))


def _is_of_result(column: Column) -> bool:
    return bool(column.field) and column.field not in DELIVERY_FIELDS


def _may_be_plain(column: Column, way: Way) -> bool:
    """Whether a plain cell of the column stands in the file as its field has it."""
    return form_of(column) in _FORMS and not column.map and not column.date_form and way.as_is(column)


def _in_every_row(column: Column, delivery: Delivery, way: Way) -> str:
    """The cell of a column that is the same in every row. Raises CannotWrite."""
    return way.worded(column)(delivery_field(column.field, delivery) if column.field else "")


def _form(column: Column) -> str:
    return f"(?:{_FORMS[form_of(column)]})" + ("?" if column.when_missing == "empty" else "")
