"""Files cut at their tables, and the lines around tables known again from file to file.

What stands around the tables of one instrument's files is the same line for line, but for a few lines: when the run
began, how many readings there are. A file whose other lines are those of a file that was read line by line has the
same facts. Anything else is read line by line too, once, or left.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from operator import itemgetter
from typing import TYPE_CHECKING, NamedTuple

from benchseal.documents.times import read_date, read_time
from benchseal.ingest.facts import run_facts
from benchseal.ingest.lines import of_another_encoding, text_lines
from benchseal.ingest.walk import Walk

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from benchseal.documents.patterns import Pattern
    from benchseal.ingest.plan import LinePattern, Plan
    from benchseal.ingest.walk import Fact, Facts, Section
    from benchseal.records.layout import Column
    from benchseal.records.run import RunFacts

MOST_HEADS = 64  # kept of one layout; the oldest goes
LONGEST_OPEN_LINE = 200
_OPEN_FACTS = frozenset({"started_date", "started_time", "count_readings", "count_solutions"})
_COUNTS = ("count_readings", "count_solutions")
_IN_HEAD = -1
_NOTHING: dict[str, str] = {}


class Cut(NamedTuple):
    """A file without the rows of its tables, in pieces, and those rows: one piece more than tables."""

    pieces: list[bytes]
    tables: list[bytes]


@dataclass(frozen=True, slots=True)
class OpenLine:
    """A line that differs from file to file.

    index: among the lines without rows, from 0. before: patterns that are asked first and must not match. same: what
    other groups than the open facts hold in every file. section: whose facts it gives, ``_IN_HEAD`` for the file's.
    """

    index: int
    pattern: Pattern
    before: tuple[Pattern, ...]
    same: dict[str, str]
    section: int


@dataclass(frozen=True, slots=True)
class HeadSection:
    """What the lines around one table say. line: of the section, rows of the file not counted; first: its first row."""

    facts: RunFacts
    columns: tuple[Column, ...]
    headers: tuple[str, ...]
    fixed: dict[str, str]
    line: int
    first: int


@dataclass(frozen=True, slots=True)
class Head:
    """The lines around the tables of files that agree in all lines but the open ones."""

    count: int
    pick: Callable[[list[bytes]], tuple[bytes, ...]]
    texts: tuple[bytes, ...]
    opened: tuple[OpenLine, ...]
    sections: tuple[HeadSection, ...]


class SectionRead(NamedTuple):
    """One table of a file with its facts. line, first: of the section and of its first row, in the file; rows: its."""

    head: HeadSection
    started_at: str
    counts: dict[str, str]
    line: int
    first: int
    rows: int


class Heads:
    """Cuts files of one layout and reads what stands around their tables."""

    def __init__(self, plan: Plan) -> None:
        """For layouts ``many.is_regular`` says yes to."""
        self._plan, table = plan, plan.layout.table
        form = plan.layout.file
        self._codec = "ascii" if form.encoding == "ascii" else form.encoding
        self._opens = f"\n{table.columns[0].header}{form.separator}".encode(self._codec)
        self._stops = [f"\n{text}".encode(self._codec) for text in plan.not_rows]
        self._known: list[Head] = []

    def cut(self, data: bytes) -> Cut | None:
        """The file at its tables; None where a table has no end, or there is none. data: with plain line ends."""
        pieces, tables, at = [], [], 0
        while (header := data.find(self._opens, at)) >= 0:
            end = data.find(b"\n", header + 1)
            if self._plan.layout.table.units_row:
                end = data.find(b"\n", end + 1)
            stops = [place for stop in self._stops if (place := data.find(stop, end)) >= 0]
            if end < 0 or not stops or min(stops) == end:
                return None
            pieces.append(data[at : end + 1])
            tables.append(data[end + 1 : min(stops) + 1])
            at = min(stops) + 1
        pieces.append(data[at:])
        return Cut(pieces, tables) if tables else None

    def read(self, cut: Cut) -> list[SectionRead] | None:
        """What stands around each table; None where anything does that the line-by-line reader should judge."""
        lines = b"".join(cut.pieces).split(b"\n")
        for head in self._known:
            if head.count == len(lines) and head.pick(lines) == head.texts:
                return self._open(head, lines, cut)
        learned = self._learned(cut)
        if learned is None:
            return None
        self._known = [learned, *self._known[: MOST_HEADS - 1]]
        return self._open(learned, lines, cut)

    def _open(self, head: Head, lines: list[bytes], cut: Cut) -> list[SectionRead] | None:
        """The lines that differ from file to file, and what follows from them."""
        if len(head.sections) != len(cut.tables):
            return None
        own: dict[int, dict[str, str]] = {}
        for line in head.opened:
            found = self._matched(line, lines[line.index])
            if found is None:
                return None
            own.setdefault(line.section, {}).update(found)
        read, more = [], 0
        for nth, (section, table) in enumerate(zip(head.sections, cut.tables, strict=True)):
            said = section.fixed | own.get(_IN_HEAD, _NOTHING) | own.get(nth, _NOTHING)
            day = read_date(said["started_date"], self._plan.layout.file.date_form)
            clock = read_time(said["started_time"], self._plan.layout.file.time_form)
            if day is None or clock is None:
                return None
            counts = {name: said[name] for name in _COUNTS if name in section.fixed}
            rows = table.count(b"\n")
            read.append(SectionRead(section, f"{day}T{clock}", counts, section.line + more, section.first + more, rows))
            more += rows
        return read

    def _matched(self, line: OpenLine, data: bytes) -> dict[str, str] | None:
        """Texts of the groups where the line is of the rule it was of before; None where that is not sure."""
        if len(data) > LONGEST_OPEN_LINE or not data.isascii():
            return None
        text = data.decode()
        found = line.pattern.fullmatch(text) if text.isprintable() and not text.isspace() else None
        if found is None or any(pattern.fullmatch(text) is not None for pattern in line.before):
            return None
        groups = {name: group.strip() for name, group in found.groupdict().items() if group is not None}
        same = {name: group for name, group in groups.items() if name not in _OPEN_FACTS}
        return groups if same == line.same else None

    def _learned(self, cut: Cut) -> Head | None:
        """Read line by line, each table as its first row alone; None where there is any problem."""
        parts = []
        for piece, table in zip(cut.pieces, (*cut.tables, b"\n"), strict=True):
            parts += [piece, table[: table.index(b"\n") + 1]]
        data, encoding = b"".join(parts[:-1]), self._plan.layout.file.encoding  # rows that are left out are ASCII
        lines = text_lines(data, encoding, "file")
        if isinstance(lines, tuple) or of_another_encoding(data, encoding, "file"):
            return None
        walk = Walk(self._plan, "file")
        walk.read(lines)
        said = walk.facts.get("count_sections")
        sections = str(len(walk.sections))
        if walk.problems or len(cut.tables) != len(walk.sections) or (said is not None and said.text != sections):
            return None
        rows = [line for section in walk.sections for line, _ in section.rows]
        due = _row_lines(cut)
        facts = [run_facts(self._plan, section, walk) for section in walk.sections]
        if rows != due or walk.problems or not all(one.started_at for one in facts):
            return None
        opened = tuple(_open_lines(self._plan, walk, lines, due))
        whole = b"".join(cut.pieces).split(b"\n")
        closed = [index for index in range(len(whole)) if index not in {line.index for line in opened}]
        read = _sections(walk, facts, due)
        if len(closed) < 2 or not all({"started_date", "started_time"} <= one.fixed.keys() for one in read):
            return None
        pick = itemgetter(*closed)
        return Head(len(whole), pick, pick(whole), opened, read)


def _row_lines(cut: Cut) -> list[int]:
    """The line each first row stands in where every table is one row, from 1."""
    found, before = [], 0
    for piece in cut.pieces[:-1]:
        before += piece.count(b"\n") + 1
        found.append(before)
    return found


def _sections(walk: Walk, facts: list[RunFacts], rows: list[int]) -> tuple[HeadSection, ...]:
    """Line numbers without the rows before them."""
    return tuple(
        HeadSection(
            facts=replace(said, started_at="", line=0),
            columns=section.columns,
            headers=tuple(column.header for column in section.columns),
            fixed=_fixed(walk.facts, section),
            line=section.line - sum(row < section.line for row in rows),
            first=rows[nth] - nth,
        )
        for nth, (section, said) in enumerate(zip(walk.sections, facts, strict=True))
    )


def _fixed(of_file: Facts, section: Section) -> dict[str, str]:
    """When it began, by whichever line says it; its counts as its own lines say them."""
    began = {name: fact.text for name, fact in of_file.items() if name.startswith("started_")}
    return began | {name: fact.text for name, fact in section.facts.items() if name in _OPEN_FACTS}


def _open_lines(plan: Plan, walk: Walk, lines: list[str], rows: list[int]) -> Iterator[OpenLine]:
    """Lines of head, section or section end that give a fact which differs from file to file."""
    for number, role in walk.roles.items():
        rules, text = _rules(plan, role), lines[number - 1]
        found = [(nth, match) for nth, rule in enumerate(rules) if (match := rule.fullmatch(text)) is not None]
        if not found or not text.isascii():
            continue
        nth, match = found[0]
        groups = {name: group.strip() for name, group in match.groupdict().items() if group is not None}
        section = _IN_HEAD if role == "head" else sum(one.line <= number for one in walk.sections) - 1
        opens = _OPEN_FACTS.intersection(groups)
        if opens and all(_says_alone(walk, section, name, number) for name in opens):
            same = {name: group for name, group in groups.items() if name not in opens}
            index = number - 1 - sum(row < number for row in rows)
            yield OpenLine(index, rules[nth], _rivals(rules[nth], rules[:nth]), same, section)


def _rivals(pattern: Pattern, before: tuple[Pattern, ...]) -> tuple[Pattern, ...]:
    """Those of the patterns asked before that can match a line ``pattern`` matches, as far as beginnings say."""
    own = pattern.prefix
    return tuple(one for one in before if own.startswith(one.prefix) or one.prefix.startswith(own))


def _rules(plan: Plan, role: str) -> tuple[Pattern, ...]:
    of: dict[str, tuple[LinePattern, ...]] = {"head": plan.head, "section line": plan.section_lines}
    if role == "section end" and plan.ends is not None:
        return (plan.ends,)
    return tuple(rule.pattern for rule in of.get(role, ()))


def _says_alone(walk: Walk, section: int, name: str, number: int) -> bool:
    """Whether no other line gives this fact, so that none can contradict."""
    elsewhere: list[Fact | None] = [walk.facts.get(name)] if section >= 0 else []
    elsewhere += [one.facts.get(name) for one in walk.sections] if section == _IN_HEAD else []
    own = walk.facts.get(name) if section == _IN_HEAD else walk.sections[section].facts.get(name)
    return own is not None and own.line == number and not any(elsewhere)
