"""The walk through a file: every line is a page heading, a head line, part of a section, dropped, or a problem."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal, TypeAlias

from benchseal.ingest.cells import Cell, split_line
from benchseal.ingest.clocks import own_begin
from benchseal.ingest.hints import header_words
from benchseal.ingest.pages import PAGES_AGAIN, Pages
from benchseal.ingest.plan import LinePattern, Plan, header_columns, opens_table, rows_until
from benchseal.problems import Problem

if TYPE_CHECKING:
    from benchseal.documents.patterns import Match, Pattern
    from benchseal.records.layout import Column

MOST_KEPT = 10_000  # problems of one file; no person reads more
_COUNTS_OF_ROWS = frozenset({"count_solutions", "count_readings"})
EXPORT_AGAIN = "Export the file at the instrument again; do not edit the stored copy."
OTHER_LAYOUT = "If the instrument writes another form now, the layout needs a new version."


@dataclass(slots=True)
class Fact:
    """A fact as the file writes it."""

    text: str
    line: int
    column: int
    of_layout: bool = False  # stated there, so no text of the file


Facts: TypeAlias = dict[str, Fact]
# What a line was taken for. A row is a row of the table, whatever it holds; a line without a place is a problem.
Role: TypeAlias = Literal[
    "blank",
    "dropped",
    "page heading",
    "header again",
    "head",
    "section",
    "section line",
    "header",
    "units",
    "row",
    "section end",
    "last line",
    "no place",
]


@dataclass(slots=True)
class Section:
    """What the walk found of one section.

    columns: empty while its header has not come. turned: for a transposed table, the rows it stands for: in each the
    cells of one solution, and the lines they stand in. units: line and cells of the row of units.
    """

    line: int
    facts: Facts
    columns: tuple[Column, ...] = ()
    header_seen: bool = False
    rows: list[tuple[int, str]] = field(default_factory=list)
    ended_at: int = 0
    turned: list[tuple[list[Cell], list[int]]] = field(default_factory=list)
    units: tuple[int, list[Cell]] = (0, [])


class Walk:
    """Reads lines in order; afterwards ``sections``, ``facts``, ``roles`` and ``problems`` hold what it found."""

    def __init__(self, plan: Plan, source: str) -> None:
        """Start before the first line."""
        self.plan = plan
        self.source = source
        self.facts: Facts = {}
        self.sections: list[Section] = []
        self.problems: list[Problem] = []
        self.roles: dict[int, Role] = {}
        self._state = self._in_head
        self._seen: set[str] = set()
        self._headings: list[Pattern] = list(plan.headings)
        self._repeat: list[str] = []
        self._pages = Pages()
        self._number = 0
        self._bare = False

    def read(self, lines: list[str]) -> None:
        """Take every line, then close the file."""
        after = 0  # rows taken at once are behind it
        for number, line in enumerate(lines, 1):
            if number <= after:
                continue
            self._number = number
            self._take(line)
            after = self._rows_ahead(lines, number)
        self._number = len(lines)
        self._bare = bool(lines and lines[-1].strip())
        self._close()

    def _rows_ahead(self, lines: list[str], number: int) -> int:
        """Take the lines after ``number`` that can be nothing but rows; the number of the last one taken."""
        if self._state != self._in_table or self._headings or self._repeat or not self.plan.not_rows:
            return number
        last = rows_until(lines, number, self.plan.not_rows)
        self.sections[-1].rows += zip(range(number + 1, last + 1), lines[number:last], strict=True)
        self.roles |= dict.fromkeys(range(number + 1, last + 1), "row")
        return last

    def say(self, code: str, what: str, remedy: str, *, column: int = 0, line: int = 0) -> None:
        """Note a problem at the present line, or another."""
        if len(self.problems) >= MOST_KEPT:
            return
        place = f"{self.source}, line {line or self._number}" + (f", column {column}" if column else "")
        self.problems.append(Problem(code, place, what, remedy))

    # Page breaks

    def _take(self, line: str) -> None:
        if "\f" in line:
            line = self._turn_page(line)
        if self.plan.headings and not self.plan.form_feed and self._opens_page(line):
            self._begin_page()
        if not line or line.isspace():
            self._is("blank")
        elif self._headings:
            self._take_heading(line)
        elif self._repeat:
            self._take_repeated_header(line)
        elif self._drops(line):
            self._is("dropped")
        else:
            self._state(line)

    def _drops(self, line: str) -> bool:
        return any(drop.fullmatch(line) for drop in self.plan.drops)

    def _is(self, role: Role) -> None:
        self.roles[self._number] = role

    def _turn_page(self, line: str) -> str:
        rest = line.lstrip("\f")
        if "\f" in rest or len(line) - len(rest) > 1 or not self.plan.form_feed:
            self.say("ingest.page-break", "A page break stands where the layout has none.", EXPORT_AGAIN)
            return rest.replace("\f", " ")
        self._begin_page()
        return rest

    def _opens_page(self, line: str) -> bool:
        return bool(self.plan.headings) and not self._headings and self.plan.headings[0].fullmatch(line) is not None

    def _begin_page(self) -> None:
        self._headings = list(self.plan.headings)
        section = self.sections[-1] if self.sections else None
        if self.plan.repeats_header and self._state == self._in_table and section and section.columns:
            self._repeat = ["header", "units"] if self.plan.layout.table.units_row else ["header"]

    def _take_heading(self, line: str) -> None:
        pattern = self._headings[0]
        found = pattern.fullmatch(line)
        if found is None and self._drops(line):
            self._is("dropped")
            return
        self._headings.pop(0)
        if found is None:
            self.say(
                "ingest.page-heading", f"The page does not begin as the layout says: '{_short(line)}'.", EXPORT_AGAIN
            )
            self._headings.clear()
            return
        self._is("page heading")
        self._note(pattern, found, self.facts, except_for=("page",))
        if page := found.groupdict().get("page"):
            self._pages.take(page, self._number, pattern.column(found, "page"))

    def _take_repeated_header(self, line: str) -> None:
        """Header, then units; dropped lines may stand around them. A line that cannot be a row leaves them due."""
        if self._drops(line):
            self._is("dropped")
            return
        self._is("header again")
        due, columns = self._repeat[0], self.sections[-1].columns
        if self._columns_of(line) == columns if due == "header" else self._units_fit(line, columns):
            self._repeat.pop(0)
            return
        what = f"Below the page heading the table's {due} is due; found '{_short(line)}'."
        self.say("ingest.page-heading", what, EXPORT_AGAIN)
        if len(self._cells(line) or ()) == len(columns):
            self._repeat.clear()

    # Head, sections, end

    def _in_head(self, line: str) -> None:
        if self._matches_rule(line, self.plan.head, self.facts):
            self._is("head")
        elif not self._begins_section(line):
            self._unread(line)

    def _begins_section(self, line: str) -> bool:
        if self.plan.begins is not None:
            found = self.plan.begins.fullmatch(line)
            if found is None:
                return False
            self._open_section()
            self._is("section")
            self._note(self.plan.begins, found, self.sections[-1].facts)
            return True
        if not self._opens_table(line):
            return False
        self._open_section()
        self._in_section(line)
        return True

    def _open_section(self) -> None:
        if not self.sections:
            self._require(self.plan.head, "head")
        self.sections.append(Section(self._number, {}))
        self._seen = set()
        self._state = self._in_section

    def _in_section(self, line: str) -> None:
        section = self.sections[-1]
        if section.header_seen:
            self._units_then_table(line, section)
        elif self._matches_rule(line, self.plan.section_lines, section.facts):
            self._is("section line")
        elif self._opens_table(line):
            self._open_table(line, section)
        elif not self._closes_early(line):
            self._unread(line)

    def _opens_table(self, line: str) -> bool:
        return opens_table(self._cells(line) or [], self.plan.layout.table)

    def _open_table(self, line: str, section: Section) -> None:
        self._require(self.plan.section_lines, "section")
        table = self.plan.layout.table
        if table.header_row and not table.transposed:
            self._take_header(line, section)
            return
        section.header_seen = True
        section.columns = table.columns
        self._state = self._in_table
        self._in_table(line)

    def _take_header(self, line: str, section: Section) -> None:
        self._is("header")
        section.header_seen = True
        columns = self._columns_of(line)
        if columns is None:
            what = header_words(self._cells(line), self.plan.layout.table.columns)
            self.say("ingest.header-differs", what, OTHER_LAYOUT)
        section.columns = columns or ()
        if not self.plan.layout.table.units_row:
            self._state = self._in_table

    def _units_then_table(self, line: str, section: Section) -> None:
        self._is("units")
        if section.columns and not self._units_fit(line, section.columns):
            due = ", ".join(f"{column.header}: {column.unit}" for column in section.columns if column.unit)
            what = f"The row of units differs: found '{_short(line)}', due: {due}."
            self.say("ingest.units-differ", what, OTHER_LAYOUT)
        section.units = (self._number, split_line(line, self.plan.layout.file, section.columns) or [])
        self._state = self._in_table

    def _in_table(self, line: str) -> None:
        section = self.sections[-1]
        found = self.plan.ends.fullmatch(line) if self.plan.ends is not None else None
        if found is not None and self.plan.ends is not None:
            self._is("section end")
            self._note(self.plan.ends, found, section.facts)
            section.ended_at = self._number
            self._state = self._between
        elif not self._closes_early(line):
            self._is("row")
            section.rows.append((self._number, line))

    def _closes_early(self, line: str) -> bool:
        """Whether another section begins, or the file ends, inside a section that no line of its own has ended."""
        last = self._last(line)
        begins = self.plan.begins.fullmatch(line) if self.plan.begins is not None else None
        if last is None and begins is None:
            return False
        section = self.sections[-1]
        if self.plan.ends is None and section.header_seen:
            section.ended_at = self._number - 1
        else:
            self._cut_off(section)
        if last is None:
            self._begins_section(line)
        elif section.ended_at:
            self._take_last(last)
        else:
            self._is("last line")
            self._state = self._closed
        return True

    def _last(self, line: str) -> Match | None:
        return None if self.plan.last_line is None else self.plan.last_line.fullmatch(line)

    def _take_last(self, found: Match) -> None:
        self._is("last line")
        if self.plan.last_line is not None:
            self._note(self.plan.last_line, found, self.facts)
        self._state = self._closed

    def _between(self, line: str) -> None:
        found = self._last(line)
        if found is not None:
            self._take_last(found)
        elif self.plan.begins is None or not self._begins_section(line):
            self._unread(line)

    def _closed(self, line: str) -> None:
        self._unread(line)

    def _close(self) -> None:
        if self._state == self._in_head:
            self._require(self.plan.head, "head")
            what = "No section begins in this file: it holds no readings the layout knows."
            self.say(
                "ingest.section-missing", what, "Check that the layout is the right one, or export the file again."
            )
        elif self._state in (self._in_section, self._in_table):
            self._close_open_section(self.sections[-1])
        elif self._state == self._between and self.plan.last_line is not None:
            self.say("ingest.cut-off", "The line that closes the file is missing: the file is cut off.", EXPORT_AGAIN)
        pages = self.facts.get("pages")
        if fault := self._pages.fault(pages.text.strip() if pages else ""):
            what, line, column = fault
            self.say("ingest.page-missing", what, PAGES_AGAIN, column=column, line=line or (pages.line if pages else 0))

    def _close_open_section(self, section: Section) -> None:
        """Where no line closes section or file, only a last row without its line end shows that the file is cut."""
        if self._state != self._in_table or self.plan.ends is not None or self.plan.last_line is not None:
            self._cut_off(section)
        elif self._bare and not self.plan.layout.file.ends_bare:
            what = "The last line has no line end: the file is cut off, or still being written."
            self.say("ingest.cut-off", what, EXPORT_AGAIN)
        else:
            section.ended_at = self._number

    def _cut_off(self, section: Section) -> None:
        what = f"The section begun at line {section.line} is cut off: its end line does not come."
        self.say("ingest.cut-off", what, EXPORT_AGAIN)

    # Lines

    def _matches_rule(self, line: str, rules: tuple[LinePattern, ...], facts: Facts) -> bool:
        for rule in rules:
            found = rule.pattern.fullmatch(line)
            if found is None:
                continue
            if rule.text in self._seen:
                self.say("ingest.line-repeated", f"This line comes twice: '{_short(line)}'.", EXPORT_AGAIN)
            self._seen.add(rule.text)
            self._note(rule.pattern, found, facts)
            return True
        return False

    def _require(self, rules: tuple[LinePattern, ...], of: str) -> None:
        for rule in rules:
            if rule.needed and rule.text not in self._seen:
                self.say("ingest.line-missing", f"The {of} lacks the line '{rule.text}'.", OTHER_LAYOUT)

    def _note(self, pattern: Pattern, found: Match, facts: Facts, except_for: tuple[str, ...] = ()) -> None:
        for name, text in found.groupdict().items():
            if text is None or name in except_for:
                continue
            # a section's own count is another than that of the whole file; each is held against what was read
            before = facts.get(name) or (None if name in _COUNTS_OF_ROWS else self.facts.get(name))
            if before is not None and before.text.strip() != text.strip():
                what = f"{name} is '{_short(text)}' here and '{_short(before.text)}' at line {before.line}."
                remedy = EXPORT_AGAIN + own_begin(name)
                self.say("ingest.fact-contradicts", what, remedy, column=pattern.column(found, name))
            facts.setdefault(name, Fact(text.strip(), self._number, pattern.column(found, name)))

    def _unread(self, line: str) -> None:
        self._is("no place")
        self.say("ingest.line-unread", f"The layout has no place for this line: '{_short(line)}'.", OTHER_LAYOUT)

    def _cells(self, line: str) -> list[str] | None:
        cells = split_line(line, self.plan.layout.file, self.plan.layout.table.columns)
        return None if cells is None else [text for text, _ in cells]

    def _columns_of(self, line: str) -> tuple[Column, ...] | None:
        cells = self._cells(line)
        return None if cells is None else header_columns(cells, self.plan.layout.table.columns)

    def _units_fit(self, line: str, columns: tuple[Column, ...]) -> bool:
        return self._cells(line) == [column.unit for column in columns]


def _short(text: str) -> str:
    """At most sixty signs of a line, for a message."""
    return text if len(text) <= 60 else f"{text[:57]}..."
