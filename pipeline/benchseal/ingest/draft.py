"""A first layout for a file nobody has described, with what is sure and what somebody has to look at.

A draft is no layout in force: it is written for a person who knows the instrument. Every guess carries its reason.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from operator import itemgetter
from typing import TYPE_CHECKING, cast

from benchseal.ingest.count_words import coarseness
from benchseal.ingest.draft_counts import with_counts
from benchseal.ingest.draft_table import TableGuesses
from benchseal.ingest.guess_lines import LineGuess, guess_line, keyed_facts
from benchseal.ingest.guess_pages import TAKEN, Pages, guess_pages
from benchseal.ingest.guess_sections import is_like, over_sections, shape_of
from benchseal.ingest.guess_table import (
    RULE,
    Cut,
    best_cut,
    titles_of,
)
from benchseal.ingest.guess_text import (
    alike,
    as_encoding,
    exactly,
    guess_encoding,
    guess_forms,
    guess_printer_codes,
    loosely,
)
from benchseal.ingest.lines import text_lines
from benchseal.ingest.looks import other_kind, packed
from benchseal.ingest.trade_words import SECONDS, column_means, unit_in
from benchseal.records.layout import (
    FileForm,
    Layout,
    LineRule,
    SectionForm,
    Stated,
    TableForm,
    Word,
)

if TYPE_CHECKING:
    from collections.abc import Iterable

    from benchseal.problems import Problem

MARKS = r"[\s\-=_*+.|~─-╿]+"  # lines of signs that draw a rule
# A comma may cut the cells of numbers with a point: 1,Pb-S0,0.0007,10
_DECIMAL = re.compile(r"(?<![\w.,:/-])[0-9]+,[0-9]+(?![\w.,:/-])|(?<![\w.:/-])[0-9]+\.[0-9]+(?![\w.:/-])")
_FEWEST_ROWS = 3
_MOST_NAMED = 6  # lines
_STATED = ("technique", "instrument_serial", "signal_is", "signal_unit", "element", "wavelength_nm")


@dataclass(slots=True)
class Draft:
    """A draft. remarks: key of the layout (``file.encoding``, ``head.0``) to (sure, why). open: what nobody said."""

    layout: Layout
    remarks: dict[str, tuple[bool, str]] = field(default_factory=dict)
    open: list[str] = field(default_factory=list)


def proposed(data: bytes, source: str, identifier: str) -> Draft | tuple[Problem, ...]:
    """A draft for these bytes; problems only where they are no text that can be read line by line."""
    if refused := packed(data, source) or other_kind(data, source):
        return (refused,)
    encoding = guess_encoding(data)
    codes = guess_printer_codes(data, encoding.value)
    lines = text_lines(data, as_encoding(encoding.value), source, codes)
    if isinstance(lines, tuple):
        return lines
    days, clocks = guess_forms(lines)
    bare = bool(lines[-1].strip())
    form = FileForm(as_encoding(encoding.value), ",", ".", days.value, clocks.value, "", "", codes, bare)
    pages, whole = guess_pages(lines, form), lines
    lines = pages.lines if pages else lines
    maker = _Maker(lines, best_cut(lines, form), form, identifier)
    maker.take_pages(pages)
    maker.note("file.encoding", sure=encoding.sure, why=encoding.why)
    maker.note("file.date_form", sure=days.sure, why=days.why)
    maker.note("file.time_form", sure=clocks.sure, why=clocks.why)
    if codes:
        maker.note("file.printer_codes", sure=False, why="taken for codes to a printer that carry nothing")
    if bare:
        maker.note("file.ends_bare", sure=False, why="the last line has no line end; was the file whole?")
    return with_counts(maker.draft(), whole)


class _Maker(TableGuesses):
    """Puts the guesses about one file together."""

    def draft(self) -> Draft:
        """Everything guessed, in the order the guesses need each other."""
        table, kinds, signal_words, drops = self.table()
        self.keyed = keyed_facts(self._outside(), self.form)
        head, section, last, more = self._lines_outside()
        drops = list(dict.fromkeys(drops + more))
        for nth, pattern in enumerate(drops):
            if pattern in self.left:
                why = f"line {self.left[pattern] + 1} stands below a table: no reading may be among such lines"
                self.note(f"drop_lines.{nth}", sure=False, why=why)
        stated = self._stated(table)
        layout = Layout(
            kind="layout", id=self.id, title=f"Draft from a file: {self.id}",
            recognised_by=self._recognised(head), file=self.form, head=head, section=section, table=table,
            kinds=kinds, last_line=last, stated=stated,
            words=tuple(dict.fromkeys(self.words)), signal_words=signal_words, drop_lines=tuple(drops),
            pages=self.pages,
        )  # fmt: skip
        return Draft(layout, self.remarks, self.open)

    # Lines outside the table

    def _outside(self) -> list[str]:
        cut = self.cut
        if cut is None:
            return self.lines
        return [self.lines[n].lstrip("\f") for nth in range(len(cut.blocks)) for n in self._above(cut, nth)]

    def _lines_outside(self) -> tuple[tuple[LineRule, ...], SectionForm, str, list[str]]:
        if self.cut is None:
            head, drops = self._rules(self._without_rows(), "head", set())
            return head, SectionForm("", ""), "", drops
        blocks = self.cut.blocks
        if len(blocks) > 1:
            return self._sections(self.cut)
        head, drops = self._rules(range(blocks[0].header), "head", self.given)
        drops += self._inside()
        below = self._below(blocks[0].rows[-1])
        drops += self._left_out(below[:-1])
        last = loosely(self.lines[below[-1]].rstrip()) + r"\s*" if below else ""
        if not last and (drawn := _drawn_end(self.lines)):
            last, marks = drawn
            drops = [pattern for pattern in drops if pattern != MARKS] + marks
        if last:
            self.note("last_line", sure=False, why="the last line of the file; does every file end so?")
        else:
            self.note(
                "last_line",
                sure=False,
                why="nothing stands below the table: a file cut between two rows cannot be told",
            )
        return head, SectionForm("", ""), last, drops

    def _without_rows(self) -> list[int]:
        """Lines that are none of a table nobody found: three or more alike, each with a number that has decimals."""
        like: dict[tuple[str, int], list[int]] = {}
        for nth, line in enumerate(self.lines):
            if _DECIMAL.search(line):
                like.setdefault((re.sub(r"[\w\s.,'+-]", "", line), len(line.split())), []).append(nth)
        rows = sorted(nth for numbers in like.values() if len(numbers) >= _FEWEST_ROWS for nth in numbers)
        if rows:
            what = f"Lines {rows[0] + 1} to {rows[-1] + 1} look like rows of readings, and no line of known headers "
            self.open.append(f"{what}stands above them: no line of the draft explains them. Write columns for them.")
        return [nth for nth in range(len(self.lines)) if nth not in set(rows)]

    def _left_out(self, numbers: Iterable[int]) -> list[str]:
        """Patterns of lines below a table that are taken for nothing, each with a remark.

        A line that holds a number with a decimal mark is none of them: it is listed as one nothing explains.
        """
        plain = (n for n in numbers if not _DECIMAL.search(self.lines[n]))
        patterns = {loosely(self.lines[n].rstrip()) + r"\s*": n for n in plain}
        self.left |= patterns
        return list(patterns)

    def _below(self, row: int) -> list[int]:
        return [
            n for n in range(row + 1, len(self.lines)) if self.lines[n].strip() and not RULE.fullmatch(self.lines[n])
        ]

    def _inside(self) -> list[str]:
        return [MARKS] if any(map(_draws, self.lines)) else []

    def _sections(self, cut: Cut) -> tuple[tuple[LineRule, ...], SectionForm, str, list[str]]:
        """Several tables: the lines above each that are alike belong to it; the first of them begins it."""
        between = [self._above(cut, nth) for nth in range(len(cut.blocks))]
        like = [[loosely(shape_of(self.lines[n])) for n in part] for part in between]
        depth = 0
        while all(len(part) > depth and part[-1 - depth] == like[0][-1 - depth] for part in like):
            depth += 1
        drops = self._inside()
        head_lines = between[0][: len(between[0]) - depth]
        own = list(zip(*(part[len(part) - depth :] for part in between), strict=True))
        head, more = self._rules(head_lines, "head", self.given)
        begins = ""
        lines: tuple[LineRule, ...] = ()
        if own:
            guess = self._guess(own[0][0], self.given, own[0])
            self.given |= set(guess.facts)
            self.words += [*guess.words, *self._words_of(own[0][1:], guess)]
            begins = guess.pattern
            self.note(
                "section.begins",
                sure=guess.sure and bool(guess.facts),
                why=f"a line like '{self.lines[own[0][0]].strip()[:40]}' stands above each table",
            )
            self.same |= {each[0]: each for each in own}
            lines, again = self._rules([each[0] for each in own[1:]], "section.lines", self.given)
            more += again
        below = self._below(cut.blocks[-1].rows[-1])
        gaps = [part[: len(part) - depth] for part in between[1:]]
        closing = self._closing(gaps, below)
        ends = alike([self.lines[n].strip() for n in closing]) if closing else ""
        if closing:
            self.note("section.ends", sure=False, why="a line like it stands below each table")
        more += self._left_out(n for part in gaps for n in part if n not in closing)
        below = [n for n in below if n not in closing]
        more += self._left_out(below[:-1])
        last = loosely(self.lines[below[-1]].rstrip()) + r"\s*" if below else ""
        self.note("last_line", sure=False, why="the last line of the file" if last else "no line closes the file")
        return head, SectionForm(begins, ends, lines), last, drops + more

    def _closing(self, gaps: list[list[int]], below: list[int]) -> list[int]:
        """The lines that end each table: of those that stand once below each the finest count, else the last."""
        found: list[tuple[int, list[int]]] = []
        for n in reversed(gaps[0]):
            like = [[m for m in gap if is_like(self.lines[m], self.lines[n])] for gap in gaps]
            also = [m for m in below if is_like(self.lines[m], self.lines[n])][:1]
            if also and all(len(each) == 1 for each in like):
                found.append((coarseness(loosely(self.lines[n])), [m for each in like for m in each] + also))
        return min(found, key=itemgetter(0))[1] if found else []

    def _guess(self, n: int, given: set[str], same: tuple[int, ...] = ()) -> LineGuess:
        guess = guess_line(n + 1, self.lines[n].lstrip("\f"), self.form, given, self.keyed)
        return over_sections([self.lines[one] for one in same], guess, given) if same else guess

    def _words_of(self, others: tuple[int, ...], first: LineGuess) -> list[Word]:
        given = self.given - set(first.facts)
        return [word for n in others for word in self._guess(n, given).words if word.fact in first.facts]

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
            guess = self._guess(n, given, self.same.get(n, ()))
            if not guess.facts and len(_DECIMAL.findall(line)) > 1:
                continue  # perhaps readings: it is listed as a line nothing explains
            given |= set(guess.facts)
            self.given |= set(guess.facts)
            self.words += [*guess.words, *self._words_of(self.same.get(n, ())[1:], guess)]
            if any(rule.line == guess.pattern for rule in rules) or len(guess.pattern) > 500:
                continue
            self.note(f"{key}.{len(rules)}", sure=guess.sure, why=f"line {n + 1}: {guess.why}")
            self.unsaid += [] if guess.facts else [n + 1]
            rules.append(LineRule(guess.pattern, needed=bool(guess.facts)))
        marks = any(_draws(self.lines[n]) for n in cast("list[int]", numbers))
        return tuple(rules), [MARKS] if marks else []

    # The rest

    def _recognised(self, head: tuple[LineRule, ...]) -> tuple[str, ...]:
        plain = [rule.line for rule in head if "(?P<" not in rule.line]
        plain = [pattern for pattern in plain if not pattern.endswith(".*")][:1] or plain[:1]
        title = []
        if self.cut is not None and self.cut.turned:
            mark = exactly(self.cut.form.separator) if len(self.cut.form.separator) == 1 else ""
            title = [rf"\s*{exactly(name)}\s*{mark}.*" for name in titles_of(self.lines, self.cut)[:3] if name]
        elif self.cut is not None and self.cut.blocks[0].header < 40:
            title = [r"\s*" + exactly(self.lines[self.cut.blocks[0].header].strip()) + r"\s*"]
        found = tuple(pattern for pattern in plain + title if len(pattern) <= 500)
        self.note("recognised_by", sure=False, why="lines every file of this shape should have, and no other shape")
        return found or (".+",)

    def take_pages(self, pages: Pages | None) -> None:
        """The pages of the file, and what their headings say."""
        if pages is None:
            return
        self.pages = (pages.form,)
        self.given |= pages.facts
        self.words += pages.words
        why = "the lines all pages begin with" if pages.form.heading else "say which lines open a page"
        self.note("pages", sure=False, why=f"a form feed stands in the file; {why}")

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
            stated.append(Stated(fact, value, "?" if value == "?" else ""))
        for fact in ("started_date", "started_time"):
            if fact not in given:
                self.open.append(f"No line or column that is understood gives {fact}: set the export to write it.")
        if "operator" not in given:
            what = (
                "No line that is understood gives operator: only who brings a run in is then kept from reviewing it. "
            )
            self.open.append(f"{what}Set the export to write it.")
        if "background_correction" not in given:
            what = "No line that is understood gives background_correction, which methods name: set the export to "
            self.open.append(f"{what}write it, or state it.")
        return tuple(stated)

    def _missing(self, fact: str, table: TableForm) -> tuple[str, str]:
        signal = next((column for column in table.columns if column.means == "signal"), None)
        header = "" if signal is None else signal.header
        says = {word.means for word in self.words if word.fact == "signal_is"}
        is_conc = column_means(header)[0] == "concentration" and "absorbance" not in says
        if fact == "signal_is":
            return ("instrument_concentration" if is_conc else "absorbance"), f"by the header '{header}'"
        if fact == "signal_unit":
            unit = (signal.unit.strip("[]()") if signal else "") or unit_in(header)
            several = sum(column.means == "signal" for column in table.columns) > 1
            if unit and not (unit == "1" and several):  # A(1), A(2): counted
                return _unit(unit), "by the header or the row of units"
            seconds = any(word in header.lower() for word in ("area", "fläche", "integr"))
            return ("A.s" if seconds else "?" if is_conc else "A"), "no unit of the signal was found"
        why = "no line that is understood says it: put it here, and who says so, and how it is known"
        lines = ", ".join(map(str, self.unsaid[:_MOST_NAMED])) + ", …" * (len(self.unsaid) > _MOST_NAMED)
        many = "s" * (len(self.unsaid) > 1)
        return "?", f"{why}; look first at line{many} {lines}, not understood" if lines else why


def _draws(line: str) -> bool:
    """Whether a line is drawn of signs and says nothing."""
    return bool(line.strip()) and line != TAKEN and RULE.fullmatch(line) is not None


def _drawn_end(lines: list[str]) -> tuple[str, list[str]] | None:
    """Where a file ends with a drawn line of signs no other has: the pattern of that line, and those of the others."""
    drawn = [line.strip() for line in lines if _draws(line)]
    last = next((line.strip() for line in reversed(lines) if line.strip()), "")
    others = [line for line in drawn if line != last]
    if not drawn or drawn[-1] != last or drawn.count(last) > 1 or any(set(line) == set(last) for line in others):
        return None
    return _runs(last), list(dict.fromkeys(map(_runs, others)))


def _runs(line: str) -> str:
    """A pattern for a drawn line; its parts may be of any length."""
    parts = (exactly(found[1]) + "+" * (len(found[0]) > 1) for found in re.finditer(r"(.)\1*", line))
    return r"\s*" + "".join(parts).replace(" ++", " +") + r"\s*"


def _unit(text: str) -> str:
    """Absorbance in seconds as records write it; another unit as it stands."""
    return "A.s" if re.fullmatch(SECONDS, text) else text
