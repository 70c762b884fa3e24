"""A layout made ready for reading: its patterns compiled, its columns found by what they mean."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from benchseal.documents.patterns import Pattern, compiled

if TYPE_CHECKING:
    from benchseal.records.layout import Column, Layout, TableForm


_MOST_AHEAD = 1024  # lines taken at once; more would make many short tables slow


@dataclass(frozen=True, slots=True)
class LinePattern:
    """A compiled ``LineRule``. text: the pattern as the layout writes it."""

    text: str
    pattern: Pattern
    needed: bool


@dataclass(frozen=True, slots=True)
class KindPattern:
    """A compiled ``KindRule``; None where the rule does not ask."""

    means: str
    code: Pattern | None
    label: Pattern | None


@dataclass(frozen=True, slots=True)
class Plan:
    """Everything of a layout the reader asks for line by line."""

    layout: Layout
    recognised: tuple[Pattern, ...]
    headings: tuple[Pattern, ...]
    repeats_header: bool
    form_feed: bool
    head: tuple[LinePattern, ...]
    begins: Pattern | None
    section_lines: tuple[LinePattern, ...]
    ends: Pattern | None
    last_line: Pattern | None
    drops: tuple[Pattern, ...]
    kinds: tuple[KindPattern, ...]
    words: dict[str, dict[str, str]]
    signal_words: dict[str, str]
    mean_rows: dict[str, str]
    stated: dict[str, str]
    codes: dict[str, str]  # codes seen so far and the kinds they mean, where the rules ask for codes alone
    not_rows: tuple[str, ...]  # a line of a table that begins with none of these is a row; empty where none are known

    def kind_of(self, code: str, label: str) -> str:
        """The kind the first rule that fits gives; empty when none fits."""
        for rule in self.kinds:
            fits_code = rule.code is None or rule.code.fullmatch(code) is not None
            if fits_code and (rule.label is None or rule.label.fullmatch(label) is not None):
                return rule.means
        return ""


@lru_cache(maxsize=64)
def plan_of(layout: Layout) -> Plan:
    """Compile a layout. Raises ValueError for a pattern that is none: ``documents`` refuses such a layout."""
    pages = layout.pages[:1]
    return Plan(
        layout=layout,
        recognised=tuple(compiled(pattern) for pattern in layout.recognised_by),
        headings=tuple(compiled(pattern) for page in pages for pattern in page.heading),
        repeats_header=any(page.repeats_header for page in pages),
        form_feed=any(page.form_feed for page in pages),
        head=tuple(LinePattern(rule.line, compiled(rule.line), rule.needed) for rule in layout.head),
        begins=_optional(layout.section.begins),
        section_lines=tuple(LinePattern(rule.line, compiled(rule.line), rule.needed) for rule in layout.section.lines),
        ends=_optional(layout.section.ends),
        last_line=_optional(layout.last_line),
        drops=tuple(compiled(pattern) for pattern in layout.drop_lines),
        kinds=tuple(KindPattern(rule.means, _optional(rule.code), _optional(rule.label)) for rule in layout.kinds),
        words=_words(layout),
        signal_words={word.text: word.means for word in layout.signal_words},
        mean_rows={row.header: row.text for row in layout.table.mean_rows},
        stated={fact.fact: fact.value for fact in layout.stated},
        codes={},
        not_rows=_not_rows(layout),
    )


def _not_rows(layout: Layout) -> tuple[str, ...]:
    """Literal beginnings of all lines that may end a table; none where one of them may begin with anything."""
    patterns = filter(None, (layout.section.ends, layout.last_line, layout.section.begins))
    ends = [compiled(pattern).prefix for pattern in patterns]
    by_heading = any(not page.form_feed for page in layout.pages)
    return () if layout.drop_lines or by_heading or not all(ends) else tuple(ends)


def rows_until(lines: list[str], number: int, not_rows: tuple[str, ...]) -> int:
    """Number of a line from ``number`` on, at most 1024 below it, up to which all are sure to be rows.

    Ends of tables are looked for in all lines as one text.
    """
    ahead = lines[number : number + _MOST_AHEAD]
    whole = "\n".join(("", *ahead))
    stops = [whole.find(f"\n{begins}") for begins in not_rows]
    end = min((at for at in stops if at >= 0), default=len(whole))
    rows = ahead[: whole.count("\n", 0, end)]
    if "" not in rows and not any(map(str.isspace, rows)) and "\f" not in whole:
        return number + len(rows)
    for at, line in enumerate(ahead, number):
        if line.startswith(not_rows) or not line or line.isspace() or "\f" in line:
            return at
    return number + len(ahead)


def _optional(pattern: str) -> Pattern | None:
    return compiled(pattern) if pattern else None


def _words(layout: Layout) -> dict[str, dict[str, str]]:
    words: dict[str, dict[str, str]] = {}
    for word in layout.words:
        words.setdefault(word.fact, {})[word.text] = word.means
    return words


def header_columns(headers: list[str], columns: tuple[Column, ...]) -> tuple[Column, ...] | None:
    """The columns a header row shows, in its order; None when it shows another row of names.

    Columns stand in the layout's order; those not needed may be absent; none may be unknown.
    """
    shown: list[Column] = []
    wanted = iter(headers)
    name = next(wanted, None)
    for column in columns:
        if name == column.header:
            shown.append(column)
            name = next(wanted, None)
        elif column.needed:
            return None
    return tuple(shown) if name is None else None


def opens_table(cells: list[str], table: TableForm) -> bool:
    """Whether a line can be the first of a table: its header, its first row, or the first line of a transposed one."""
    if table.transposed:
        return bool(cells) and cells[0] == table.columns[0].header
    if not table.header_row:
        return len(cells) == len(table.columns)
    return is_like_header(cells, table.columns)


def is_like_header(headers: list[str], columns: tuple[Column, ...]) -> bool:
    """Whether a row shares at least half of the layout's headers: a header row that has changed."""
    known = {column.header for column in columns}
    return 2 * len(known & set(headers)) >= len(known)
