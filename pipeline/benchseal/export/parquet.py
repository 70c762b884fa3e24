"""A Parquet file: typed columns, exact decimals, times in UTC; the profile's version and digest in its metadata.

Text is ``string``; whole counters and versions ``int64``; every other number ``decimal128(38, 18)``, exact or refused;
days ``date32``; times ``timestamp[us, UTC]`` (every time of the record is UTC). An empty cell is null. What the
certificate printed, with its trailing zeros, is ``value_text``.
"""

from __future__ import annotations

from io import BytesIO
from typing import TYPE_CHECKING, Any, Final

from benchseal.export.cells import CannotWrite, form_of, require_encodable, shown
from benchseal.records.released import DAYS, WHOLE_NUMBERS

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.export.arranged import Arranged
    from benchseal.export.columns import Worded
    from benchseal.records.profile import Column, Profile
    from benchseal.records.released import Delivery

SUFFIX: Final = "parquet"

_PRECISION, _SCALE = 38, 18  # 38 figures are what 128 bits hold


def worded(column: Column, profile: Profile) -> Worded:
    """From the text of a field to the text its typed cell is made of; empty for null."""
    if not column.field:
        return lambda _: _checked(column.fixed, profile)
    if form_of(column) == "number":
        return lambda text: _fitting(shown(text, column, profile), column)
    if form_of(column) == "date":
        return lambda text: _timed(shown(text, column, profile), column)
    return lambda text: _checked(shown(text, column, profile), profile)


def as_is(column: Column, profile: Profile) -> bool:
    """Whether a plain cell stands in the file as its field has it."""
    del profile
    return form_of(column) == "text" or column.field not in WHOLE_NUMBERS


def made(rows: Arranged, columns: Sequence[Sequence[str]], profile: Profile, delivery: Delivery) -> bytes:
    """The file, of cells that ``worded`` gave."""
    import pyarrow as pa  # noqa: PLC0415  slow to import, for this kind of file only
    import pyarrow.parquet  # noqa: PLC0415

    del rows
    arrays = [_array(cells, column) for cells, column in zip(columns, profile.columns, strict=True)]
    fields = [
        pa.field(column.title, array.type, metadata={"field": column.field} | ({"of": column.of} if column.of else {}))
        for column, array in zip(profile.columns, arrays, strict=True)
    ]
    said = {
        "delivery_id": delivery.delivery_id,
        "produced_at": delivery.produced_at,
        "profile": delivery.profile.id,
        "profile_version": str(delivery.profile.version),
        "profile_sha256": delivery.profile.digest,
    }
    out = BytesIO()
    table = pa.Table.from_arrays(arrays, schema=pa.schema(fields, metadata=said))
    pyarrow.parquet.write_table(table, out, compression="snappy")
    return out.getvalue()


def _array(cells: Sequence[str], column: Column) -> Any:  # noqa: ANN401  pyarrow is untyped
    import pyarrow as pa  # noqa: PLC0415

    texts = pa.array([cell or None for cell in cells], pa.string())
    form = form_of(column)
    if form == "number":
        return texts.cast(pa.int64() if column.field in WHOLE_NUMBERS else pa.decimal128(_PRECISION, _SCALE))
    if form == "date":
        return texts.cast(pa.date32() if column.field in DAYS else pa.timestamp("us", "UTC"))
    return texts


def _fitting(cell: str, column: Column) -> str:
    whole, _, places = cell.removeprefix("-").partition(".")
    if column.field in WHOLE_NUMBERS and places:
        raise CannotWrite("export.not-a-number", f"should be a whole number and is {cell!r}.", "Write it as text.")
    if len(places.rstrip("0")) > _SCALE or len(whole.lstrip("0")) > _PRECISION - _SCALE:
        raise CannotWrite(
            "export.number-too-long",
            f"has more figures than decimal128({_PRECISION}, {_SCALE}) holds: {cell}; nothing is rounded.",
            f"Write {column.field} as text.",
        )
    return f"{cell[: cell.index('.')]}.{places[:_SCALE]}" if len(places) > _SCALE else cell  # only zeros go


def _timed(cell: str, column: Column) -> str:
    if cell and ("T" in cell) == (column.field in DAYS):
        due = "a day" if column.field in DAYS else "a time"
        raise CannotWrite("export.date-unreadable", f"should be {due} and is {cell!r}.", "Write this field as text.")
    return cell


def _checked(cell: str, profile: Profile) -> str:
    require_encodable(cell, profile.file)
    return cell
