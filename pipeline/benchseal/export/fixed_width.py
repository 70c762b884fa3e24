"""A file of rows whose cells each have their own width and stand side by side, without a separator."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from benchseal.export.cells import CannotWrite, codec_of, form_of, require_encodable, shown
from benchseal.export.own_lines import LINE_ENDS, framed
from benchseal.records.quantities import is_plain_decimal

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.export.arranged import Arranged
    from benchseal.export.columns import Worded
    from benchseal.records.profile import Column, Profile
    from benchseal.records.released import Delivery

SUFFIX: Final = "txt"


def worded(column: Column, profile: Profile) -> Worded:
    """From the text of a field to its cell in the file, as wide as the column."""
    if not column.field:
        return lambda _: placed(column.fixed, column, profile)
    return lambda text: placed(shown(text, column, profile), column, profile)


def placed(cell: str, column: Column, profile: Profile) -> str:
    """``cell`` filled up to the width of its column. Raises CannotWrite for what would not come back the same.

    Zeros fill numbers alone: before the text for an empty field they would make a number of it (``.`` to ``000.``).
    """
    require_encodable(cell, profile.file)
    if len(cell) > column.width:
        raise CannotWrite(
            "export.too-long",
            f"has {len(cell)} characters, the column is {column.width} wide: {cell!r}.",
            "Agree on a wider column, or shorten the text where it is entered.",
        )
    if any(sign in cell for sign in "\r\n\t"):
        raise CannotWrite(
            "export.line-break",
            f"holds a line break or tab, which fixed widths cannot carry: {cell!r}.",
            "Correct the text where it was entered, or use a delimited file.",
        )
    if cell != cell.strip():
        raise CannotWrite(
            "export.blank-at-end",
            f"begins or ends with a blank, which cannot be told from the filling: {cell!r}.",
            "Correct the text where it was entered, or use a delimited file.",
        )
    is_number = form_of(column) == "number"
    if column.pad == "zero" and is_plain_decimal(cell.replace(profile.file.decimal_mark, ".")):
        sign = "-" if cell.startswith("-") else ""
        return sign + cell.removeprefix("-").rjust(column.width - len(sign), "0")
    return (
        cell.rjust(column.width)
        if (column.align or ("right" if is_number else "left")) == "right"
        else cell.ljust(column.width)
    )


def as_is(column: Column, profile: Profile) -> bool:
    """Whether a plain cell stands in the file as its field has it."""
    del column, profile
    return False


def made(rows: Arranged, columns: Sequence[Sequence[str]], profile: Profile, delivery: Delivery) -> bytes:
    """The file, of cells that ``worded`` gave."""
    end = LINE_ENDS[profile.file.line_end]
    table = end.join(map("".join, zip(*columns, strict=True))) + end if rows.rows else ""
    header = "".join(column.title.ljust(column.width) for column in profile.columns) + end
    return framed(rows, profile, delivery, header, table.encode(codec_of(profile.file)))
