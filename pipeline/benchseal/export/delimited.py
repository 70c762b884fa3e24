"""A file of rows with a separator between the cells. Quoting: RFC 4180, 2.5 to 2.7."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Final

from benchseal.export.cells import codec_of, form_of, shown, written
from benchseal.export.own_lines import LINE_ENDS, framed
from benchseal.export.plain_rows import plain_rows

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.export.arranged import Arranged
    from benchseal.export.columns import Way, Worded
    from benchseal.records.profile import Column, Profile
    from benchseal.records.released import Delivery

SUFFIX: Final = "csv"


def worded(column: Column, profile: Profile) -> Worded:
    """From the text of a field to its cell in the file."""
    alone = len(profile.columns) == 1
    if not column.field:
        return lambda _: written(column.fixed, profile.file, alone=alone)
    return lambda text: written(shown(text, column, profile), profile.file, alone=alone)


def as_is(column: Column, profile: Profile) -> bool:
    """Whether a plain cell stands in the file as its field has it."""
    if profile.file.quote == "always" or len(profile.columns) == 1:
        return False
    return form_of(column) != "number" or profile.file.decimal_mark == "."


def made(rows: Arranged, columns: Sequence[Sequence[str]], profile: Profile, delivery: Delivery) -> bytes:
    """The file, of cells that ``worded`` gave."""
    end, separator = LINE_ENDS[profile.file.line_end], profile.file.separator
    table = end.join(map(separator.join, zip(*columns, strict=True))) + end if rows.rows else ""
    return _file(rows, table.encode(codec_of(profile.file)), profile, delivery)


def made_plainly(rows: Arranged, profile: Profile, delivery: Delivery, way: Way) -> bytes | None:
    """The same file where every cell is plain; else None."""
    if profile.one_row_per != "result":
        return None
    table = plain_rows(rows.rows, profile, delivery, way, LINE_ENDS[profile.file.line_end])
    if table is None:
        return None
    codec = codec_of(profile.file)
    return _file(rows, table if _keeps_ascii(codec) else table.decode("ascii").encode(codec), profile, delivery)


@cache
def _keeps_ascii(codec: str) -> bool:
    """Whether ASCII is the same bytes in it: then nothing is copied."""
    every = bytes(range(128))
    return every.decode("ascii").encode(codec) == every


def _file(rows: Arranged, table: bytes, profile: Profile, delivery: Delivery) -> bytes:
    end, separator = LINE_ENDS[profile.file.line_end], profile.file.separator
    header = separator.join(written(column.title, profile.file) for column in profile.columns) + end
    return framed(rows, profile, delivery, header, table)
