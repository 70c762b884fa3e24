"""An export profile: which flat file a receiving system wants, as a controlled document.

A profile arranges released results, it never changes them: no calculation, no rounding, a closed list of forms.
Every word is explained in ``docs/manual/exports.md``.
"""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from typing import Literal, TypeAlias

from benchseal.records.encodings import Encoding
from benchseal.records.shape import LEFT_OUT_WHEN_EMPTY
from benchseal.records.specification import Quantity

Form: TypeAlias = Literal["by_field", "text", "number", "date", "flag"]
OneRowPer: TypeAlias = Literal["result", "certificate", "sample"]
Beside: TypeAlias = Literal["signature", "csvw", "table_schema", "certificates"]
FileKind: TypeAlias = Literal["delimited", "fixed_width", "hl7_v2", "json_lines", "parquet"]


@dataclass(frozen=True, slots=True)
class FileForm:
    """How the file is written; which words a kind of file has is said by ``export/file_kinds.py``.

    bom: a byte order mark before UTF-8 (UTF-16 is little endian and always has one). quote: ``needed`` quotes a cell
    only where RFC 4180 asks for it; under ``never`` such a cell is refused. Empty, or None, for a word not given.
    """

    encoding: Literal[Encoding, ""] = dataclasses.field(default="", metadata=LEFT_OUT_WHEN_EMPTY)
    separator: Literal[",", ";", "\t", "|", ""] = dataclasses.field(default="", metadata=LEFT_OUT_WHEN_EMPTY)
    quote: Literal["needed", "always", "never", ""] = dataclasses.field(default="", metadata=LEFT_OUT_WHEN_EMPTY)
    line_end: Literal["crlf", "lf", ""] = dataclasses.field(default="", metadata=LEFT_OUT_WHEN_EMPTY)
    decimal_mark: Literal[".", ",", ""] = dataclasses.field(default="", metadata=LEFT_OUT_WHEN_EMPTY)
    header_line: bool | None = dataclasses.field(default=None, metadata=LEFT_OUT_WHEN_EMPTY)
    bom: bool = False
    kind: FileKind = dataclasses.field(default="delimited", metadata=LEFT_OUT_WHEN_EMPTY)


@dataclass(frozen=True, slots=True)
class Column:
    """One column: a canonical field, or, where ``field`` is empty, the same ``fixed`` text in every row.

    of: of which element, or symbols of a sum separated by blanks, where a row is a certificate or a sample; empty for
    what belongs to all of it. form: ``by_field`` writes numbers as numbers, dates as dates, text as text; ``flag``
    writes ``yes`` where the field is, or has among its codes, one of the texts ``holds``, else ``no``. unit: the one
    unit allowed here, for files that have no unit column. date_form, zone: empty date_form keeps the record's own ISO
    8601 text. map: code to the receiver's code. missing_text: written for an empty field when ``when_missing`` is
    ``text``. max_length: in characters, 0 for no limit; a longer cell is refused, never cut. width, align, pad: of a
    file of fixed widths, in characters; without ``align`` numbers stand at the right, everything else at the left.
    """

    title: str
    field: str = ""
    fixed: str = ""
    form: Form = "by_field"
    of: str = dataclasses.field(default="", metadata=LEFT_OUT_WHEN_EMPTY)
    holds: tuple[str, ...] = dataclasses.field(default=(), metadata=LEFT_OUT_WHEN_EMPTY)
    yes: str = dataclasses.field(default="", metadata=LEFT_OUT_WHEN_EMPTY)
    no: str = dataclasses.field(default="", metadata=LEFT_OUT_WHEN_EMPTY)
    unit: str = ""
    date_form: str = ""
    zone: str = "UTC"
    map: dict[str, str] = dataclasses.field(default_factory=dict)
    when_unmapped: Literal["refuse", "keep"] = "refuse"
    when_missing: Literal["empty", "refuse", "text"] = "empty"
    missing_text: str = ""
    max_length: int = 0
    width: int = dataclasses.field(default=0, metadata=LEFT_OUT_WHEN_EMPTY)
    align: Literal["left", "right", ""] = dataclasses.field(default="", metadata=LEFT_OUT_WHEN_EMPTY)
    pad: Literal["blank", "zero", ""] = dataclasses.field(default="", metadata=LEFT_OUT_WHEN_EMPTY)


@dataclass(frozen=True, slots=True)
class Choose:
    """Whose results go: identifiers of customers and methods; empty where the profile has no such list."""

    customers: tuple[str, ...] = ()
    methods: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class SendTo:
    """Where deliveries go by themselves; which words a kind has is said by ``export/places.py``.

    secret: the name under which the machine keeps a password, key or token; never the secret itself. host_key: of an
    SFTP server, ``SHA256:…``. access_key: the public half of an S3 key. marker: name of a file that must be in a
    folder, so that an empty mount point is not taken for the share. read_back: whether what was put to an SFTP or HTTP
    server is read again under its name before it counts as there.
    """

    kind: Literal["folder", "sftp", "http", "s3"]
    folder: str = dataclasses.field(default="", metadata=LEFT_OUT_WHEN_EMPTY)
    host: str = dataclasses.field(default="", metadata=LEFT_OUT_WHEN_EMPTY)
    port: int = dataclasses.field(default=0, metadata=LEFT_OUT_WHEN_EMPTY)
    user: str = dataclasses.field(default="", metadata=LEFT_OUT_WHEN_EMPTY)
    host_key: str = dataclasses.field(default="", metadata=LEFT_OUT_WHEN_EMPTY)
    url: str = dataclasses.field(default="", metadata=LEFT_OUT_WHEN_EMPTY)
    endpoint: str = dataclasses.field(default="", metadata=LEFT_OUT_WHEN_EMPTY)
    region: str = dataclasses.field(default="", metadata=LEFT_OUT_WHEN_EMPTY)
    bucket: str = dataclasses.field(default="", metadata=LEFT_OUT_WHEN_EMPTY)
    access_key: str = dataclasses.field(default="", metadata=LEFT_OUT_WHEN_EMPTY)
    secret: str = dataclasses.field(default="", metadata=LEFT_OUT_WHEN_EMPTY)
    marker: str = dataclasses.field(default="", metadata=LEFT_OUT_WHEN_EMPTY)
    read_back: bool = dataclasses.field(default=True, metadata=LEFT_OUT_WHEN_EMPTY)


@dataclass(frozen=True, slots=True)
class Acknowledge:
    """within_hours: how long the receiver may take to say whether a delivery was taken."""

    within_hours: int


@dataclass(frozen=True, slots=True)
class Hl7Code:
    """The receiver's code for results of one kind: code, name and coding system (``LN``, ``L``), and what it is for.

    element: symbol, or symbols of a sum separated by blanks. unit: UCUM code. product: as registered; empty for every
    product, which a code of LOINC (``LN``) cannot be for. expressed_as, sum_bound: as in a released row; empty for the
    element itself, and for no sum.
    """

    code: str
    name: str
    system: str
    element: str
    quantity: Quantity
    unit: str
    product: str = ""
    fraction: str = "total"
    basis: Literal["as received", "dry"] = "as received"
    expressed_as: str = ""
    sum_bound: Literal["lower_bound", "medium_bound", "upper_bound", ""] = ""


@dataclass(frozen=True, slots=True)
class Hl7Panel:
    """What the receiver calls the whole service: code, name, coding system."""

    code: str
    name: str
    system: str


@dataclass(frozen=True, slots=True)
class Hl7:
    """Who sends to whom, whether in earnest (``P``) or in training (``T``), and the receiver's codes."""

    sending_application: str
    sending_facility: str
    receiving_application: str
    receiving_facility: str
    processing: Literal["P", "T"]
    panel: Hl7Panel
    codes: tuple[Hl7Code, ...]


@dataclass(frozen=True, slots=True)
class Profile:
    """The whole profile.

    one_row_per: what a row of the file is: a result, everything a certificate puts out, or everything of a sample.
    risky_text: what happens to text a spreadsheet would run as a formula. opening_lines, closing_lines: lines before
    and after the table, with counters in braces. done_file: an empty ``.done`` file ends each delivery. beside: what
    else is put down with the data, besides the manifest that always is. acknowledge: None where no answer is expected.
    send_to: None for the site's own outbox. hl7: of a file of kind ``hl7_v2``, in place of columns.
    """

    kind: Literal["profile"]
    id: str
    title: str
    file: FileForm
    risky_text: Literal["refuse", "prefix", "keep"]
    columns: tuple[Column, ...] = dataclasses.field(default=(), metadata=LEFT_OUT_WHEN_EMPTY)
    choose: Choose = dataclasses.field(default_factory=Choose)
    opening_lines: tuple[str, ...] = ()
    closing_lines: tuple[str, ...] = ()
    done_file: bool = False
    acknowledge: Acknowledge | None = dataclasses.field(default=None, metadata=LEFT_OUT_WHEN_EMPTY)
    send_to: SendTo | None = dataclasses.field(default=None, metadata=LEFT_OUT_WHEN_EMPTY)
    beside: tuple[Beside, ...] = dataclasses.field(default=(), metadata=LEFT_OUT_WHEN_EMPTY)
    hl7: Hl7 | None = dataclasses.field(default=None, metadata=LEFT_OUT_WHEN_EMPTY)
    one_row_per: OneRowPer = dataclasses.field(default="result", metadata=LEFT_OUT_WHEN_EMPTY)
