"""One field to one cell: missing, mapped, formed, checked, quoted. A cell that cannot be written says why.

Numbers are text all the way and only ever change their decimal mark. Quoting: RFC 4180, 2.5 to 2.7.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from benchseal.export.dates import date_shown
from benchseal.records.encodings import CODECS
from benchseal.records.quantities import is_plain_decimal
from benchseal.records.released import DATE_FIELDS, NUMBER_FIELDS

if TYPE_CHECKING:
    from benchseal.records.profile import Column, FileForm, Profile

# OWASP ASVS 5.0.0, 1.2.10: = + - @, tab and NUL at the start of a cell; carriage return, line feed, the full-width
# and small forms, and blanks or invisible characters in front of them are our additions.
_RISKY = re.compile("[\\s\u200b\u2060\ufeff]*[=+\\-@\uff1d\uff0b\uff0d\uff20\ufe66\ufe62\ufe63\ufe6b]|[\\t\\r\\n\\0]")
# C0 without tab and line breaks, C1, and the byte order mark, which readers drop at the start of a file.
_CONTROL = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ufeff]")
_PREFIX = "'"


@dataclass(frozen=True, slots=True)
class Fault:
    """Why a cell cannot be written; ``what`` continues "the cell ..."."""

    code: str
    what: str
    remedy: str


class CannotWrite(Exception):  # noqa: N818  a detour within this module and the next, never out of the room
    """Carries a Fault from where it is seen to where the row is known."""

    def __init__(self, code: str, what: str, remedy: str) -> None:
        super().__init__(what)
        self.fault = Fault(code, what, remedy)


def codec_of(file: FileForm) -> str:
    """Python's name of the file's encoding; kinds of file that have no such word are UTF-8."""
    return CODECS[file.encoding or "utf-8"]


def form_of(column: Column) -> str:
    """``text``, ``number``, ``date`` or ``flag``: the column's own word, or what its field is."""
    if column.form != "by_field":
        return column.form
    if column.field in NUMBER_FIELDS:
        return "number"
    return "date" if column.field in DATE_FIELDS else "text"


def is_risky(text: str) -> bool:
    """Whether a spreadsheet might run ``text``; a plain number such as -0.02 is none, wherever it stands."""
    return _RISKY.match(text) is not None and not is_plain_decimal(text)


def shown(text: str, column: Column, profile: Profile) -> str:
    """What the receiver reads in ``column`` for a field that holds ``text``. Raises CannotWrite."""
    cell = _formed(text, column, profile) if text else _missing(column)
    require_no_control(cell)
    if column.max_length and len(cell) > column.max_length:
        raise CannotWrite(
            "export.too-long",
            f"has {len(cell)} characters, the receiver takes {column.max_length}: {cell!r}.",
            "Agree on a longer column, or shorten the text where it is entered.",
        )
    return cell


def require_no_control(text: str) -> None:
    """Raises CannotWrite for a control character other than tab and line breaks."""
    if _CONTROL.search(text):
        raise CannotWrite(
            "export.control-character",
            f"holds a control character: {text!r}.",
            "Correct the text where it was entered.",
        )


def written(cell: str, file: FileForm, *, alone: bool = False) -> str:
    """``cell`` as it stands in the file: quoted, and certain to be encodable. alone: the row has no other cell.

    Raises CannotWrite.
    """
    require_encodable(cell, file)
    if file.quote == "always":
        return _quoted(cell)
    if not needs_quotes(cell, file) and (cell or not alone):
        return cell
    if file.quote == "never":
        raise CannotWrite(
            "export.needs-quotes",
            f"cannot stand without quotes: {cell!r}.",
            "Choose another separator, or quotes where needed, with the receiver.",
        )
    return _quoted(cell)


def needs_quotes(cell: str, file: FileForm) -> bool:
    """Whether RFC 4180 asks for quotes; blanks at the ends are quoted too, since some readers strip them."""
    return cell != cell.strip() or any(sign in cell for sign in (file.separator, '"', "\r", "\n"))


def require_encodable(text: str, file: FileForm) -> None:
    """Raises CannotWrite for text that the file's encoding cannot carry; never a question mark in its place."""
    try:
        text.encode(codec_of(file))
    except UnicodeEncodeError as fault:
        letter = text[fault.start]
        raise CannotWrite(
            "export.not-in-encoding",
            f"holds {letter!r} (U+{ord(letter):04X}), which {file.encoding or 'utf-8'} does not have: {text!r}.",
            "Map the text to one the receiver has, or agree on another encoding.",
        ) from None


def _quoted(cell: str) -> str:
    return '"' + cell.replace('"', '""') + '"'


def _missing(column: Column) -> str:
    if column.when_missing == "refuse":
        raise CannotWrite(
            "export.missing", f"needs {column.field}, which is empty.", "Complete the record, or change when_missing."
        )
    return column.missing_text if column.when_missing == "text" else ""


def _formed(text: str, column: Column, profile: Profile) -> str:
    form = form_of(column)
    if form == "number":
        return _number(text, profile.file)
    if form == "date":
        return _date(text, column)
    if form == "flag":
        return column.yes if {text, *text.split()} & {*column.holds} else column.no
    return _harmless(_mapped(text, column) if column.map else text, profile)


def _number(text: str, file: FileForm) -> str:
    if not is_plain_decimal(text):
        raise CannotWrite("export.not-a-number", f"should be a number and is {text!r}.", "Write this field as text.")
    return text.replace(".", file.decimal_mark or ".")


def _date(text: str, column: Column) -> str:
    try:
        return date_shown(text, column.date_form, column.zone)
    except ValueError as fault:
        raise CannotWrite(
            "export.date-unreadable", f"{text!r} {fault}.", "Change the column's date_form, or correct the record."
        ) from None


def _mapped(text: str, column: Column) -> str:
    if text in column.map:
        return column.map[text]
    if column.when_unmapped == "keep":
        return text
    raise CannotWrite(
        "export.unmapped",
        f"holds {text!r}, which the map does not name.",
        "Agree on a code with the receiver and add it to the map.",
    )


def _harmless(text: str, profile: Profile) -> str:
    if profile.risky_text == "keep" or not is_risky(text):
        return text
    if profile.risky_text == "prefix":
        return _PREFIX + text
    raise CannotWrite(
        "export.risky-text",
        f"begins like a formula: {text!r}.",
        "Correct the text where it was entered, or let the profile prefix it if only people read the file.",
    )
