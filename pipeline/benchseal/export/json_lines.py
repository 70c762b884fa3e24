"""A file of one JSON object a line, keys in the order of the columns (RFC 8259; UTF-8, line feeds).

A number keeps every figure the certificate has (``0.0670``); an empty cell is ``null``.
"""

from __future__ import annotations

import json
import re
from typing import TYPE_CHECKING, Final

from benchseal.export.cells import CannotWrite, form_of, require_encodable, shown

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.export.arranged import Arranged
    from benchseal.export.columns import Worded
    from benchseal.records.profile import Column, Profile
    from benchseal.records.released import Delivery

SUFFIX: Final = "jsonl"

_NUMBER: Final = re.compile(r"-?(0|[1-9][0-9]*)(\.[0-9]+)?")  # RFC 8259, 6, without exponents, which records never have


def worded(column: Column, profile: Profile) -> Worded:
    """From the text of a field to ``"title":value``."""
    key = json.dumps(column.title, ensure_ascii=False) + ":"
    if not column.field:
        return lambda _: key + _text(column.fixed, profile)
    if form_of(column) != "number":
        return lambda text: key + _text(shown(text, column, profile), profile)
    return lambda text: (
        key + (_number(shown(text, column, profile)) if text else _text(shown("", column, profile), profile))
    )


def as_is(column: Column, profile: Profile) -> bool:
    """Whether a plain cell stands in the file as its field has it."""
    del column, profile
    return False


def made(rows: Arranged, columns: Sequence[Sequence[str]], profile: Profile, delivery: Delivery) -> bytes:
    """The file, of cells that ``worded`` gave."""
    del profile, delivery
    return ("{" + "}\n{".join(map(",".join, zip(*columns, strict=True))) + "}\n").encode() if rows.rows else b""


def _text(cell: str, profile: Profile) -> str:
    require_encodable(cell, profile.file)
    return json.dumps(cell, ensure_ascii=False) if cell else "null"


def _number(cell: str) -> str:
    if not _NUMBER.fullmatch(cell):
        raise CannotWrite("export.not-a-number", f"is no JSON number: {cell!r}.", "Write this field as text.")
    return cell
