"""Guesses about the table of a draft: its columns, rows of means, kinds of solutions, words among numbers."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import pairwise
from typing import TYPE_CHECKING, cast

from benchseal.ingest.guess_lines import exactly
from benchseal.ingest.guess_table import (
    Cut,
    by_content,
    cells_of,
    is_number,
    known_word,
    mean_word,
    spread_words,
    titles_of,
    word_cells,
)
from benchseal.ingest.trade_words import CODES, KINDS, column_means, element_of
from benchseal.records.layout import (
    Column,
    EachRow,
    FileForm,
    KindRule,
    MeanRow,
    SignalWord,
    TableForm,
    Word,
)

if TYPE_CHECKING:
    from benchseal.records.run import SolutionKind

_ONE = {"position", "label", "kind", "nominal", "dilution", "replicate", "taken_at", "day", "day_time", "element",
        "wavelength_nm", "reading_number", "mean", "background"}  # fmt: skip
_OF_READING = {"replicate", "taken_at", "background", "day", "day_time", "reading_number"}


class TableGuesses:
    """What is guessed of one file so far; here what its tables say. remarks and open as in ``draft.Draft``."""

    def __init__(self, lines: list[str], cut: Cut | None, form: FileForm, identifier: str) -> None:
        self.lines, self.cut, self.id = lines, cut, identifier
        self.form = form if cut is None else cut.form
        self.remarks: dict[str, tuple[bool, str]] = {}
        self.open: list[str] = []
        self.words: list[Word] = []
        self.given: set[str] = set()

    def note(self, key: str, *, sure: bool, why: str) -> None:
        """A remark for one key of the layout."""
        self.remarks[key] = (sure, why)

    # The table

    def table(self) -> tuple[TableForm, tuple[KindRule, ...], tuple[SignalWord, ...], list[str]]:
        """Table, kinds, words among numbers, and patterns of lines in the table that carry nothing."""
        if self.cut is None:
            self.open.append("No table of readings was found: write columns, header first.")
            self.note("table.columns", sure=False, why="nothing in the file looks like a table under known headers")
            missing = (Column("name?", "label"), Column("signal?", "signal"))
            return TableForm(missing, each_row="solution"), (KindRule("sample", label=".*"),), (), []
        why = f"{len(self.cut.blocks)} tables with {sum(len(one.rows) for one in self.cut.blocks)} rows are cut so"
        self.note("file.separator", sure=True, why=why)
        marks = any(
            "." in cell or "," in cell for row in self.cut.blocks[0].rows for cell in self.cut.cells(self.lines[row])
        )
        self.note("file.decimal_mark", sure=marks, why="numbers of the table read so" if marks else "no number has one")
        columns = self._columns(self.cut)
        means, drops = self._mean_rows(self.cut, columns)
        units = self.cut.blocks[0].units >= 0
        table = TableForm(
            columns, units_row=units, mean_rows=means, transposed=self.cut.turned,
            each_row=self._each_row(self.cut, columns, means),
        )  # fmt: skip
        return table, self._kinds(self.cut, columns, means), self._signal_words(self.cut, columns, means), drops

    def _columns(self, cut: Cut) -> tuple[Column, ...]:
        titles = titles_of(self.lines, cut)
        units = cut.cells(self.lines[cut.blocks[0].units]) if cut.blocks[0].units >= 0 else [""] * len(titles)
        beside = [element_of(title) for title in titles]
        several = sum(bool(element) for element, _ in beside) > 1
        meant: list[str] = []
        for nth, title in enumerate(titles):
            means, why = self._means(cut, nth, title, is_element=bool(beside[nth][0]))
            if means in _ONE and means in meant:
                means, why = "ignored", f"another column means {means}"
            self.note(f"table.columns.{nth}", sure=why.startswith("its header"), why=why)
            meant.append(means)
        self._one_signal(meant, titles, several=several)
        self._one_name(meant, cut)
        columns = [
            Column(title, cast("object", means), unit, *self._place(cut, nth))  # type: ignore[arg-type]
            for nth, (title, means, unit) in enumerate(zip(titles, meant, units, strict=True))
        ]
        if several:
            columns = [
                replace(one, element=beside[nth][0], wavelength_nm=beside[nth][1]) if one.means == "signal" else one
                for nth, one in enumerate(columns)
            ]
        return tuple(columns)

    def _place(self, cut: Cut, nth: int) -> tuple[int, int]:
        return (cut.columns[nth].starts, cut.columns[nth].ends) if not cut.form.separator else (0, 0)

    def _means(self, cut: Cut, nth: int, title: str, *, is_element: bool) -> tuple[str, str]:
        if is_element:
            return "signal", "its header names an element"
        means, _ = column_means(title)
        cells = cells_of(self.lines, cut, nth)
        if means == "position" and not all(cell.isdigit() or not cell for cell in cells):
            means = "label"
        if means:
            return means, f"its header '{title}' is in the list of words for {means}"
        content = by_content(cells, cut.form.decimal_mark)
        if content is not None:
            return content
        return "ignored", f"no list knows the header '{title}'"

    def _one_signal(self, meant: list[str], titles: list[str], *, several: bool) -> None:
        """Absorbance before concentration; of areas and heights beside each other the areas."""
        if not several:
            self._areas(meant, titles)
        self._concentrations(meant)
        if meant.count("signal") == 0:
            self.open.append("No column of signals was found: say which one means signal.")
        if meant.count("signal") > 1 and not several:
            for nth in (nth for nth, means in enumerate(meant) if means in _OF_READING):
                meant[nth] = "ignored"
                self.note(f"table.columns.{nth}", sure=False, why="readings stand beside each other, so it is of none")

    def _areas(self, meant: list[str], titles: list[str]) -> None:
        signals = [nth for nth, means in enumerate(meant) if means == "signal"]
        area = [nth for nth in signals if any(word in titles[nth].lower() for word in ("area", "fläche", "integr"))]
        height = [nth for nth in signals if any(word in titles[nth].lower() for word in ("height", "höhe"))]
        for nth in (*area, *height) if area and height else ():
            meant[nth] = "signal" if nth in area else "ignored"
            why = "area and height stand beside each other: swap the two if the method reads heights"
            self.note(f"table.columns.{nth}", sure=False, why=why)

    def _concentrations(self, meant: list[str]) -> None:
        if "signal" not in meant:
            instead = next((name for name in ("concentration", "mean") if name in meant), "")
            if instead:
                at = meant.index(instead)
                meant[at] = "signal"
                self.note(f"table.columns.{at}", sure=False, why="taken as the signal: nothing is headed as one")
        for nth in (nth for nth, means in enumerate(meant) if means == "concentration"):
            meant[nth] = "ignored"
            why = "a concentration the instrument calculated; benchseal computes its own"
            self.note(f"table.columns.{nth}", sure=True, why=why)

    def _one_name(self, meant: list[str], cut: Cut) -> None:
        if "label" in meant:
            return
        other = [n for n, m in enumerate(meant) if m == "ignored" and len(set(cells_of(self.lines, cut, n))) > 1]
        words = [n for n in other if not all(is_number(c, cut.form.decimal_mark) for c in cells_of(self.lines, cut, n))]
        if "position" in meant or words:
            at = words[0] if words else meant.index("position")
            meant[at] = "label"
            self.note(f"table.columns.{at}", sure=False, why="taken as the name of the solution: no header says one")
        else:
            self.open.append("No column of names was found: say which one means label.")

    def _mean_rows(self, cut: Cut, columns: tuple[Column, ...]) -> tuple[tuple[MeanRow, ...], list[str]]:
        drops: list[str] = []
        for nth, column in enumerate(() if cut.turned else columns):
            if column.means not in {"label", "replicate", "position", "kind"}:
                continue
            cells = cells_of(self.lines, cut, nth)
            for word in spread_words(cells):
                row = next(r for b in cut.blocks for r in b.rows if cut.cells(self.lines[r].lstrip("\f"))[nth] == word)
                drops.append(_row_pattern(self.lines[row], word))
                self.note(
                    f"drop_lines.{len(drops) - 1}", sure=False, why=f"rows of '{word}': a spread the instrument printed"
                )
            word = mean_word(cells)
            if word:
                self.note(
                    "table.mean_rows", sure=True, why=f"rows with '{word}' under '{column.header}': kept for comparison"
                )
                return (MeanRow(column.header, word),), drops
        return (), drops

    def _each_row(self, cut: Cut, columns: tuple[Column, ...], means: tuple[MeanRow, ...]) -> EachRow:
        kinds = {column.means for column in columns}
        one = sum(column.means == "signal" for column in columns) == 1 or any(column.element for column in columns)
        if "replicate" in kinds or "position" in kinds or not one:
            return "reading"
        at = next((n for n, column in enumerate(columns) if column.means == "label"), None)
        if at is None:
            return "solution"
        told = {row.text for row in means}
        names = [name for name in cells_of(self.lines, cut, at) if name not in told]
        if any(one == two for one, two in pairwise(names)):
            self.note(
                "table.each_row",
                sure=False,
                why="the same name stands in rows below each other: readings of one solution",
            )
            return "reading_of_name"
        self.note("table.each_row", sure=not means, why="each row has another name")
        return "solution"

    def _kinds(self, cut: Cut, columns: tuple[Column, ...], means: tuple[MeanRow, ...]) -> tuple[KindRule, ...]:
        places = {column.means: nth for nth, column in enumerate(columns)}
        told = {row.text for row in means}
        if "kind" in places:
            codes = [c for c in dict.fromkeys(cells_of(self.lines, cut, places["kind"])) if c and c not in told]
            rules = [
                KindRule(cast("SolutionKind", CODES.get(code.lower(), _kind(code))), code=exactly(code))
                for code in codes
            ]
            for nth, rule in enumerate(rules):
                self.note(f"kinds.{nth}", sure=False, why=f"a guess from the code '{codes[nth]}': {rule.means}")
            return tuple(rules) or (KindRule("sample", label=".*"),)
        names = cells_of(self.lines, cut, places["label"]) if "label" in places else []
        used = [(kind, pattern) for kind, pattern in KINDS if any(_kind(name) == kind for name in names)]
        rules = [KindRule(cast("SolutionKind", kind), label=pattern) for kind, pattern in used]
        for nth, (kind, _) in enumerate(used):
            like = ", ".join(list(dict.fromkeys(name for name in names if _kind(name) == kind))[:4])
            self.note(f"kinds.{nth}", sure=False, why=f"by names as: {like}")
        self.note(f"kinds.{len(rules)}", sure=False, why="every other name")
        return (*rules, KindRule("sample", label=".*"))

    def _signal_words(
        self, cut: Cut, columns: tuple[Column, ...], means: tuple[MeanRow, ...]
    ) -> tuple[SignalWord, ...]:
        found: dict[str, str] = {}
        for nth, column in enumerate(columns):
            if column.means in {"signal", "mean"}:
                found |= word_cells(self.lines, cut, nth)
        told = {row.text for row in means}
        words = [(text, to) for text, to in found.items() if text not in told and len(text) <= 64]
        for nth, (text, _to) in enumerate(words):
            self.note(
                f"signal_words.{nth}",
                sure=False,
                why=f"'{text}' stands where a signal was expected" + ("" if known_word(text) else "; no list knows it"),
            )
        return tuple(SignalWord(text, cast("object", to)) for text, to in words)  # type: ignore[arg-type]


def _kind(name: str) -> str:
    return next((kind for kind, pattern in KINDS if re.fullmatch(pattern, name)), "sample")


def _row_pattern(line: str, word: str) -> str:
    before = line.partition(word)[0]
    return (
        (r".*" if before.strip() else r"\s*")
        + r"\b" * word[:1].isalpha()
        + exactly(word)
        + r"\b" * word[-1:].isalpha()
        + r".*"
    )
