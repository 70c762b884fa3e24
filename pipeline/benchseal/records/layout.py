"""A reading layout: how one shape of instrument file is read, line by line, with nothing left over.

A file is: optional page headings, a head, one or several sections each with a table, a last line. Every pattern is
matched from the beginning to the end of a line by google-re2 (linear time). A named group of a pattern is a fact;
``FACTS`` lists the names. A line that no rule accounts for makes the file refused.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal, TypeAlias

from benchseal.records.run import SolutionKind
from benchseal.records.shape import LEFT_OUT_WHEN_EMPTY

# ``utf-16`` begins with its byte order mark; the two others are for files without one.
Encoding: TypeAlias = Literal[
    "utf-8",
    "utf-16",
    "utf-16-le",
    "utf-16-be",
    "windows-1252",
    "iso-8859-1",
    "iso-8859-15",
    "cp850",
    "cp437",
    "ascii",
]

ColumnMeans: TypeAlias = Literal[
    "position",
    "label",
    "kind",
    "nominal",
    "dilution",
    "replicate",
    "signal",
    "background",
    "taken_at",
    "day",
    "day_time",
    "element",
    "wavelength_nm",
    "reading_number",
    "mean",
    "ignored",
]

# What one row of a table with one signal column is: a reading, told by a column of positions or of replicates; a whole
# solution; or a reading of the solution above where that has the same name.
EachRow: TypeAlias = Literal["reading", "solution", "reading_of_name"]

# How far a counter of readings runs before it begins again at 1: never, with each file, with each section.
ReadingNumbers: TypeAlias = Literal["running", "each_file", "each_section"]

# Facts of a run a named group, or ``Layout.stated``, may give.
RUN_FACTS: frozenset[str] = frozenset(
    {
        "element",
        "wavelength_nm",
        "technique",
        "instrument_serial",
        "operator",
        "method_name",
        "started_date",
        "started_time",
        "signal_is",
        "signal_unit",
        "background_correction",
        "slit_nm",
        "flame",
        "signal_form",
        "injection_ul",
    }
)
# Facts the file states about itself; they are compared with what was read.
COUNT_FACTS: frozenset[str] = frozenset(
    {"count_solutions", "count_readings", "count_sections", "page", "pages", "element_again"}
)
FACTS: frozenset[str] = RUN_FACTS | COUNT_FACTS


@dataclass(frozen=True, slots=True)
class FileForm:
    """How the bytes become lines, cells, numbers and times.

    separator: ``,``, ``;``, a tab, ``|`` or the drawn line ``│`` between cells; ``blanks`` for any run of blanks, ``two
    blanks`` for runs of two or more; empty where columns stand at fixed places. thousands_mark: empty where the file
    has none. quote: ``"`` where cells may be quoted, else empty. date_form, time_form: of the signs ``documents.times``
    knows and others as they stand. printer_codes: byte sequences of a captured print, in hexadecimal, that carry
    nothing and are taken out. ends_bare: the last line may lack its line end.
    """

    encoding: Encoding
    separator: str
    decimal_mark: Literal[".", ","]
    date_form: str
    time_form: str
    thousands_mark: str = ""
    quote: str = ""
    printer_codes: tuple[str, ...] = field(default=(), metadata=LEFT_OUT_WHEN_EMPTY)
    ends_bare: bool = field(default=False, metadata=LEFT_OUT_WHEN_EMPTY)


@dataclass(frozen=True, slots=True)
class LineRule:
    """One line of a head or section: a pattern, its groups facts. needed: the line must be there, and only once."""

    line: str
    needed: bool = True


@dataclass(frozen=True, slots=True)
class PageForm:
    """Page breaks of a captured print.

    heading: patterns of the lines that open every page, in order; none where a form feed stands alone.
    repeats_header: whether a table that goes on shows its header (and units) again below the heading. A page after the
    first begins with a form feed; where form_feed is False, with a line that is like the first of the heading.
    """

    heading: tuple[str, ...]
    repeats_header: bool
    form_feed: bool = field(default=True, metadata=LEFT_OUT_WHEN_EMPTY)


@dataclass(frozen=True, slots=True)
class Column:
    """One column of the table, in file order. A second ``signal`` column is the second replicate.

    header: as the file writes it. unit: as the units row below the header writes it (``units_row``). starts, ends:
    first and last place of the column, from 1, both included, where there is no separator. carried: in a row whose
    carried cells are all blank they are those of the row above. needed: False where the file may leave the column out.
    element, wavelength_nm: where columns of several elements stand beside each other, whose this one is.
    """

    header: str
    means: ColumnMeans
    unit: str = ""
    starts: int = 0
    ends: int = 0
    carried: bool = False
    needed: bool = True
    element: str = field(default="", metadata=LEFT_OUT_WHEN_EMPTY)
    wavelength_nm: str = field(default="", metadata=LEFT_OUT_WHEN_EMPTY)


@dataclass(frozen=True, slots=True)
class MeanRow:
    """Which rows are means the instrument printed: those whose cell in the column ``header`` equals ``text``."""

    header: str
    text: str


@dataclass(frozen=True, slots=True)
class SectionForm:
    """One run in the file. begins: empty where the table's header begins it. lines: between begin and header.

    ends: empty where no line does; then the next section, the last line or the end of the file ends it.
    """

    begins: str
    ends: str
    lines: tuple[LineRule, ...] = ()


@dataclass(frozen=True, slots=True)
class TableForm:
    """The table of a section.

    header_row: False where rows begin without a line of headers. transposed: every line is a header followed by one
    cell for each solution. each_row: what a row with one signal is. signals_are_readings: signal columns are readings
    of one solution though their headers do not show it. no_dilution: what stands in a column of extra dilutions where
    nothing was diluted.
    """

    columns: tuple[Column, ...]
    units_row: bool = False
    mean_rows: tuple[MeanRow, ...] = ()
    header_row: bool = field(default=True, metadata=LEFT_OUT_WHEN_EMPTY)
    transposed: bool = field(default=False, metadata=LEFT_OUT_WHEN_EMPTY)
    each_row: EachRow = field(default="reading", metadata=LEFT_OUT_WHEN_EMPTY)
    signals_are_readings: bool = field(default=False, metadata=LEFT_OUT_WHEN_EMPTY)
    no_dilution: tuple[str, ...] = field(default=(), metadata=LEFT_OUT_WHEN_EMPTY)


@dataclass(frozen=True, slots=True)
class KindRule:
    """What a solution is: code matches its cell in the ``kind`` column, label its label; the first rule that fits."""

    means: SolutionKind
    code: str = ""
    label: str = ""


@dataclass(frozen=True, slots=True)
class Stated:
    """A fact the file never says, the same for every file of this shape. because: who says so, and how it is known."""

    fact: str
    value: str
    because: str = field(default="", metadata=LEFT_OUT_WHEN_EMPTY)


@dataclass(frozen=True, slots=True)
class Word:
    """A word of the file and what it means for one fact (``tube`` for ``technique`` means ``furnace``)."""

    fact: str
    text: str
    means: str


@dataclass(frozen=True, slots=True)
class SignalWord:
    """A word that stands where a number was expected; ``missing`` also where a concentration is given to standards."""

    text: str
    means: Literal["over_range", "missing"]


@dataclass(frozen=True, slots=True)
class Layout:
    """How one shape of instrument file is read.

    recognised_by: patterns that must each match one of the first forty lines; exactly one approved layout may fit.
    last_line: closes the file; empty where no line does. words: where a fact has words, the file must use one of them.
    drop_lines: patterns of lines that carry nothing. doubled_hour: which of the two hours a start time means that
    occurs twice when clocks go back; ``refuse`` where nobody knows. reading_numbers: of a ``reading_number`` column,
    how far it runs.
    """

    kind: Literal["layout"]
    id: str
    title: str
    recognised_by: tuple[str, ...]
    file: FileForm
    head: tuple[LineRule, ...]
    section: SectionForm
    table: TableForm
    kinds: tuple[KindRule, ...]
    last_line: str
    stated: tuple[Stated, ...] = ()
    words: tuple[Word, ...] = ()
    signal_words: tuple[SignalWord, ...] = ()
    drop_lines: tuple[str, ...] = ()
    pages: tuple[PageForm, ...] = ()
    doubled_hour: Literal["refuse", "first", "second"] = "refuse"
    reading_numbers: ReadingNumbers = "running"
