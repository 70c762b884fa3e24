"""A first layout for a file nobody has described, with what is sure and what somebody has to look at.

A draft is no layout in force: it is written for a person who knows the instrument. Every guess carries its reason.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, cast

from benchseal.ingest.draft_table import TableGuesses
from benchseal.ingest.guess_lines import LineGuess, exactly, guess_line, loosely
from benchseal.ingest.guess_table import (
    RULE,
    Cut,
    best_cut,
    titles_of,
)
from benchseal.ingest.guess_text import as_encoding, guess_encoding, guess_forms, guess_printer_codes
from benchseal.ingest.lines import text_lines
from benchseal.ingest.trade_words import UNITS, column_means
from benchseal.records.layout import (
    FileForm,
    Layout,
    LineRule,
    PageForm,
    SectionForm,
    Stated,
    TableForm,
    Word,
)

if TYPE_CHECKING:
    from benchseal.problems import Problem

_STATED = ("technique", "instrument_serial", "signal_is", "signal_unit", "element", "wavelength_nm")


@dataclass(slots=True)
class Draft:
    """A draft. remarks: key of the layout (``file.encoding``, ``head.0``) to (sure, why). open: what nobody said."""

    layout: Layout
    remarks: dict[str, tuple[bool, str]] = field(default_factory=dict)
    open: list[str] = field(default_factory=list)


def proposed(data: bytes, source: str, identifier: str) -> Draft | tuple[Problem, ...]:
    """A draft for these bytes; problems only where they are no text that can be read line by line."""
    encoding = guess_encoding(data)
    codes = guess_printer_codes(data, encoding.value)
    lines = text_lines(data, as_encoding(encoding.value), source, codes)
    if isinstance(lines, tuple):
        return lines
    days, clocks = guess_forms(lines)
    bare = bool(lines[-1].strip())
    form = FileForm(as_encoding(encoding.value), ",", ".", days.value, clocks.value, "", "", codes, bare)
    maker = _Maker(lines, best_cut(lines, form), form, identifier)
    maker.note("file.encoding", sure=encoding.sure, why=encoding.why)
    maker.note("file.date_form", sure=days.sure, why=days.why)
    maker.note("file.time_form", sure=clocks.sure, why=clocks.why)
    if codes:
        maker.note("file.printer_codes", sure=False, why="taken for codes to a printer that carry nothing")
    if bare:
        maker.note("file.ends_bare", sure=False, why="the last line has no line end; was the file whole?")
    return maker.draft()


class _Maker(TableGuesses):
    """Puts the guesses about one file together."""

    def draft(self) -> Draft:
        """Everything guessed, in the order the guesses need each other."""
        table, kinds, signal_words, drops = self.table()
        head, section, last, more = self._lines_outside()
        drops += more
        stated = self._stated(table)
        layout = Layout(
            kind="layout", id=self.id, title=f"Draft from a file: {self.id}",
            recognised_by=self._recognised(head), file=self.form, head=head, section=section, table=table,
            kinds=kinds, last_line=last, stated=stated,
            words=tuple(dict.fromkeys(self.words)), signal_words=signal_words, drop_lines=tuple(dict.fromkeys(drops)),
            pages=self._pages(),
        )  # fmt: skip
        return Draft(layout, self.remarks, self.open)

    # Lines outside the table

    def _lines_outside(self) -> tuple[tuple[LineRule, ...], SectionForm, str, list[str]]:
        if self.cut is None:
            head, drops = self._rules(range(len(self.lines)), "head", set())
            return head, SectionForm("", ""), "", drops
        blocks = self.cut.blocks
        if len(blocks) > 1:
            return self._sections(self.cut)
        head, drops = self._rules(range(blocks[0].header), "head", self.given)
        drops += self._inside()
        below = self._below(blocks[0].rows[-1])
        for nth in below[:-1]:
            drops.append(loosely(self.lines[nth].rstrip()) + r"\s*")
        last = loosely(self.lines[below[-1]].rstrip()) + r"\s*" if below else ""
        if last:
            self.note("last_line", sure=False, why="the last line of the file; does every file end so?")
        else:
            self.note(
                "last_line",
                sure=False,
                why="nothing stands below the table: a file cut between two rows cannot be told",
            )
        return head, SectionForm("", ""), last, drops

    def _below(self, row: int) -> list[int]:
        return [
            n for n in range(row + 1, len(self.lines)) if self.lines[n].strip() and not RULE.fullmatch(self.lines[n])
        ]

    def _inside(self) -> list[str]:
        marks = [line for line in self.lines if line.strip() and RULE.fullmatch(line)]
        return [r"[\s\-=_*+.|~]+"] if marks else []

    def _sections(self, cut: Cut) -> tuple[tuple[LineRule, ...], SectionForm, str, list[str]]:
        """Several tables: the lines above each that are alike belong to it; the first of them begins it."""
        between = [self._above(cut, nth) for nth in range(len(cut.blocks))]
        like = [[loosely(_shape(self.lines[n])) for n in part] for part in between]
        depth = 0
        while all(len(part) > depth and part[-1 - depth] == like[0][-1 - depth] for part in like):
            depth += 1
        drops = self._inside()
        head_lines = between[0][: len(between[0]) - depth]
        own = between[0][len(between[0]) - depth :]
        head, more = self._rules(head_lines, "head", self.given)
        begins = ""
        lines: tuple[LineRule, ...] = ()
        if own:
            guess = guess_line(own[0] + 1, self.lines[own[0]], self.form, self.given)
            self.given |= set(guess.facts)
            self.words += self._words_of(between, depth, guess)
            begins = guess.pattern
            self.note(
                "section.begins",
                sure=bool(guess.facts),
                why=f"a line like '{self.lines[own[0]].strip()[:40]}' stands above each table",
            )
            lines, again = self._rules(own[1:], "section.lines", self.given)
            more += again
        extra = [n for part in between[1:] for n in part[: len(part) - depth]]
        ends = ""
        if extra and len({loosely(_shape(self.lines[n])) for n in extra}) == 1:
            ends = loosely(self.lines[extra[0]].rstrip()) + r"\s*"
            self.note("section.ends", sure=False, why="a line like it stands below each table")
        else:
            more += [loosely(self.lines[n].rstrip()) + r"\s*" for n in extra]
        below = [
            n
            for n in self._below(cut.blocks[-1].rows[-1])
            if not (ends and loosely(_shape(self.lines[n])) == loosely(_shape(self.lines[extra[0]])))
        ]
        more += [loosely(self.lines[n].rstrip()) + r"\s*" for n in below[:-1]]
        last = loosely(self.lines[below[-1]].rstrip()) + r"\s*" if below else ""
        self.note("last_line", sure=False, why="the last line of the file" if last else "no line closes the file")
        return head, SectionForm(begins, ends, lines), last, drops + more

    def _words_of(self, between: list[list[int]], depth: int, first: LineGuess) -> list[Word]:
        words = list(first.words)
        for part in between[1:]:
            words += guess_line(0, self.lines[part[len(part) - depth]], self.form, self.given - set(first.facts)).words
        return words

    def _above(self, cut: Cut, nth: int) -> list[int]:
        begins = cut.blocks[nth - 1].rows[-1] + 1 if nth else 0
        return [
            n
            for n in range(begins, cut.blocks[nth].header)
            if self.lines[n].strip() and not RULE.fullmatch(self.lines[n])
        ]

    def _rules(self, numbers: object, key: str, given: set[str]) -> tuple[tuple[LineRule, ...], list[str]]:
        rules: list[LineRule] = []
        for n in cast("list[int]", numbers):
            line = self.lines[n]
            if not line.strip() or RULE.fullmatch(line):
                continue
            guess = guess_line(n + 1, line.lstrip("\f"), self.form, given)
            given |= set(guess.facts)
            self.given |= set(guess.facts)
            self.words += guess.words
            if any(rule.line == guess.pattern for rule in rules) or len(guess.pattern) > 500:
                continue
            self.note(f"{key}.{len(rules)}", sure=guess.sure, why=f"line {n + 1}: {guess.why}")
            rules.append(LineRule(guess.pattern, needed=bool(guess.facts)))
        marks = any(RULE.fullmatch(self.lines[n]) and self.lines[n].strip() for n in cast("list[int]", numbers))
        return tuple(rules), [r"[\s\-=_*+.|~]+"] if marks else []

    # The rest

    def _recognised(self, head: tuple[LineRule, ...]) -> tuple[str, ...]:
        plain = [rule.line for rule in head if "(?P<" not in rule.line and not rule.line.endswith(".*")][:1]
        title = []
        if self.cut is not None and self.cut.blocks[0].header < 40:
            header = self.lines[self.cut.blocks[0].header].strip()
            names = titles_of(self.lines, self.cut)[:1] if self.cut.turned else []
            title = [exactly(names[0]) + ".*" if names else r"\s*" + exactly(header) + r"\s*"]
        found = tuple(pattern for pattern in plain + title if len(pattern) <= 500)
        self.note("recognised_by", sure=False, why="lines every file of this shape should have, and no other shape")
        return found or (".+",)

    def _pages(self) -> tuple[PageForm, ...]:
        if not any("\f" in line for line in self.lines):
            return ()
        self.note("pages", sure=False, why="a form feed stands in the file; say which lines open a page")
        return (PageForm((), repeats_header=False),)

    def _stated(self, table: TableForm) -> tuple[Stated, ...]:
        given = set(self.given)
        for column in table.columns:
            if column.element:
                given |= {"element"} | ({"wavelength_nm"} if column.wavelength_nm else set())
            if column.means in {"element", "wavelength_nm"}:
                given.add(column.means)
            given |= {
                "day_time": {"started_date", "started_time"},
                "day": {"started_date"},
                "taken_at": {"started_time"},
            }.get(column.means, set())
        stated: list[Stated] = []
        for fact in (fact for fact in _STATED if fact not in given):
            value, why = self._missing(fact, table)
            self.note(f"stated.{len(stated)}", sure=False, why=why)
            stated.append(Stated(fact, value))
        for fact in ("started_date", "started_time"):
            if fact not in given:
                self.open.append(f"No line or column gives {fact}: set the export to write it.")
        return tuple(stated)

    def _missing(self, fact: str, table: TableForm) -> tuple[str, str]:
        signal = next((column for column in table.columns if column.means == "signal"), None)
        header = "" if signal is None else signal.header
        is_conc = column_means(header)[0] == "concentration"
        if fact == "signal_is":
            return ("instrument_concentration" if is_conc else "absorbance"), f"by the header '{header}'"
        if fact == "signal_unit":
            inner = header.partition("[")[2].rstrip("]") or header.partition("(")[2].rstrip(")")
            unit = (signal.unit.strip("[]()") if signal else "") or (inner if inner and UNITS.fullmatch(inner) else "")
            if unit:
                return unit, "by the header or the row of units"
            seconds = any(word in header.lower() for word in ("area", "fläche", "integr"))
            return ("A s" if seconds else "?" if is_conc else "A"), "no unit stands in the file"
        return "?", "the file does not say it: put it here, and keep a record of who said so and why"


def _shape(line: str) -> str:
    """A line without what may differ from table to table: words of one or two letters, names of metals, numbers."""
    head, sign, _ = line.strip().partition(":")
    return head + sign if sign else " ".join(word for word in line.split() if not word[:1].isdigit() and len(word) > 2)
