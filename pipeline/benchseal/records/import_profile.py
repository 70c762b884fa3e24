"""An import profile: what another system's file of orders holds, as a controlled document.

The other direction of an export profile, in the same words. It arranges text, it calculates nothing. Every word is
explained in ``docs/manual/orders.md``.
"""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from typing import Literal

from benchseal.records.encodings import Encoding
from benchseal.records.shape import LEFT_OUT_WHEN_EMPTY


@dataclass(frozen=True, slots=True)
class ImportFile:
    """How the file is written.

    separator: of a delimited file. quote: whether cells may be quoted as RFC 4180 says; under ``never`` a quotation
    mark is a sign like others. header_line: None for a file that cannot have one. Empty, or None, for a word not given.
    """

    kind: Literal["delimited", "fixed_width", "json_lines"]
    encoding: Literal[Encoding, ""] = dataclasses.field(default="", metadata=LEFT_OUT_WHEN_EMPTY)
    separator: Literal[",", ";", "\t", "|", ""] = dataclasses.field(default="", metadata=LEFT_OUT_WHEN_EMPTY)
    quote: Literal["needed", "never", ""] = dataclasses.field(default="", metadata=LEFT_OUT_WHEN_EMPTY)
    header_line: bool | None = dataclasses.field(default=None, metadata=LEFT_OUT_WHEN_EMPTY)


@dataclass(frozen=True, slots=True)
class ImportColumn:
    """One column of the file, in its order, or a column of the register the file does not have.

    title: its heading, or key; needed where the file names its columns. field: the column of the sample register it
    goes to; empty with ``ignored``. fixed: the text of every row, for a field that no column of the file holds; empty
    for one that may stay empty; None for a column of the file. form: ``date`` reads ``date_form`` (``YYYY``, ``YY``,
    ``MMM``, ``MM``, ``DD`` with anything between). map: the sender's text to ours. missing_text: stands for an empty
    cell when ``when_missing`` is ``text``. width: of a file of fixed widths, in characters.
    """

    title: str = ""
    field: str = ""
    fixed: str | None = dataclasses.field(default=None, metadata=LEFT_OUT_WHEN_EMPTY)
    ignored: bool = dataclasses.field(default=False, metadata=LEFT_OUT_WHEN_EMPTY)
    form: Literal["text", "date"] = "text"
    date_form: str = ""
    map: dict[str, str] = dataclasses.field(default_factory=dict)
    when_unmapped: Literal["refuse", "keep"] = "refuse"
    when_missing: Literal["empty", "refuse", "text"] = "empty"
    missing_text: str = ""
    width: int = dataclasses.field(default=0, metadata=LEFT_OUT_WHEN_EMPTY)

    @property
    def in_file(self) -> bool:
        """Whether the file has this column."""
        return self.fixed is None


@dataclass(frozen=True, slots=True)
class ImportProfile:
    """The whole profile.

    opening_lines, closing_lines: lines before and after the table, text with counters in braces: ``{row_count}`` and
    ``{sha256_of_rows}`` are compared, ``{any}`` stands for whatever is there.
    """

    kind: Literal["import_profile"]
    id: str
    title: str
    file: ImportFile
    columns: tuple[ImportColumn, ...]
    opening_lines: tuple[str, ...] = ()
    closing_lines: tuple[str, ...] = ()
