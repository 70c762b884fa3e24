"""Guesses about the table of a draft: its columns, rows of means, kinds of solutions, words among numbers."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from typing import TYPE_CHECKING, cast

from benchseal.ingest.draft_signals import SignalGuesses
from benchseal.ingest.guess_columns import (
    carried_columns,
    counts_readings,
    have_means,
    holds_codes,
    holds_factors,
    holds_given,
    is_mean_word,
    kind_by_name,
    kinds_of_codes,
    rows_read,
    rows_told,
    with_doubt,
)
from benchseal.ingest.guess_rows import counter_with_words, last_are_means, told_by_numbers
from benchseal.ingest.guess_table import (
    Cut,
    are_moments,
    by_content,
    cells_of,
    contradicts,
    is_number,
    known_word,
    mean_word,
    spread_words,
    titles_of,
    word_cells,
)
from benchseal.ingest.guess_text import exactly
from benchseal.ingest.trade_words import KINDS, column_means, element_of, word_means
from benchseal.records.layout import (
    Column,
    ColumnMeans,
    EachRow,
    FileForm,
    KindRule,
    MeanRow,
    PageForm,
    SignalWord,
    TableForm,
    Word,
)

if TYPE_CHECKING:
    from benchseal.records.run import SolutionKind

_ONE = {"position", "label", "kind", "nominal", "dilution", "replicate", "taken_at", "day", "day_time", "element",
        "wavelength_nm", "reading_number", "mean", "background"}  # fmt: skip
_OF_SOLUTION = {"position", "label", "kind", "nominal", "dilution"}


class TableGuesses(SignalGuesses):
    """What is guessed of one file so far; here what its tables say. remarks and open as in ``draft.Draft``."""

    def __init__(self, lines: list[str], cut: Cut | None, form: FileForm, identifier: str) -> None:
        self.lines, self.cut, self.id = lines, cut, identifier
        self.form = form if cut is None else cut.form
        self.remarks: dict[str, tuple[bool, str]] = {}
        self.open: list[str] = []
        self.words: list[Word] = []
        self.given: set[str] = set()
        self.keyed: frozenset[str] = frozenset()
        self.pages: tuple[PageForm, ...] = ()
        self.unsaid: list[int] = []  # numbers of lines above tables that are not understood
        self.left: dict[str, int] = {}  # patterns of lines below tables that are taken for nothing, with a line of each
        self.same: dict[int, tuple[int, ...]] = {}  # lines of the first section, with those alike of each
        self.cells: list[list[str]] = []  # of each column in rows of readings
        self.first = 0  # how many of them stand in the first table
        self.unknown: dict[int, bool] = {}  # columns whose header no list knows
        self.are_readings = False

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
        self._last_rows(columns, self.cut.form.decimal_mark)
        means, drops = self._mean_rows(self.cut, columns)
        units = self.cut.blocks[0].units >= 0
        table = TableForm(
            columns, units_row=units, mean_rows=means, transposed=self.cut.turned,
            each_row=self._each_row(self.cut, columns, means), signals_are_readings=self.are_readings,
        )  # fmt: skip
        return table, self._kinds(self.cut, columns), self._signal_words(self.cut, columns, means), drops

    def _columns(self, cut: Cut) -> tuple[Column, ...]:
        titles = titles_of(self.lines, cut)
        rows = rows_read(self.lines, cut)
        self.cells = [[cells[nth] for cells in rows] for nth in range(len(titles))]
        self.first = len(rows_read(self.lines, replace(cut, blocks=cut.blocks[:1])))
        units = cut.cells(self.lines[cut.blocks[0].units]) if cut.blocks[0].units >= 0 else [""] * len(titles)
        beside = [element_of(title) for title in titles]
        several = sum(bool(element) for element, _ in beside) > 1
        meant = self._by_headers(titles, [bool(element) for element, _ in beside])
        self._by_cells(meant, cut.form.decimal_mark)
        self._beside_names(meant, cut.form.decimal_mark)
        self._beside_means(meant, cut.form.decimal_mark)
        self._one_signal(meant, titles, several=several, mark=cut.form.decimal_mark)
        self._one_name(meant, cut)
        self._left_ignored(meant, titles, cut.form.decimal_mark)
        carried = {nth for nth in self._carried(cut) if meant[nth] in _OF_SOLUTION}
        for nth in carried:
            why = f"{self.remarks[f'table.columns.{nth}'][1]}; rows that leave it blank take it from the row above"
            self.note(f"table.columns.{nth}", sure=False, why=why)
        columns = [
            Column(
                title,
                cast("ColumnMeans", means),
                unit,
                *self._place(cut, nth),
                carried=nth in carried,
            )
            for nth, (title, means, unit) in enumerate(zip(titles, meant, units, strict=True))
        ]
        if several:
            columns = [
                replace(one, element=beside[nth][0], wavelength_nm=beside[nth][1]) if one.means == "signal" else one
                for nth, one in enumerate(columns)
            ]
        return tuple(columns)

    def _last_rows(self, columns: tuple[Column, ...], mark: str) -> None:
        """Ask where the last row of each solution has the mean of those above it, and no word says so."""
        places = {column.means: nth for nth, column in enumerate(columns)}
        by = next((places[name] for name in ("position", "label") if name in places), None)
        if by is None or sum(column.means == "signal" for column in columns) != 1:
            return
        last = last_are_means(self.cells[by], self.cells[places["signal"]], mark)
        if last:
            why = f"{last} solutions end with a row that has the mean of the rows above it: is it a reading?"
            self.note(f"table.columns.{places['signal']}", sure=False, why=why)
            self.open.append("The last row of each solution may be a mean: set the export to name it, or leave it out.")

    def _left_ignored(self, meant: list[str], titles: list[str], mark: str) -> None:
        """Say which columns of numbers are not read: an extra dilution among them would make results wrong."""
        numbers = [
            title
            for nth, title in enumerate(titles)
            if self.unknown[nth] and meant[nth] == "ignored" and any(is_number(cell, mark) for cell in self.cells[nth])
        ]
        if numbers:
            names = ", ".join(f"'{title}'" for title in numbers)
            self.open.append(f"Columns that hold numbers are ignored: {names}. Is one an extra dilution, a background?")

    def _carried(self, cut: Cut) -> set[int]:
        if cut.turned:
            return set()
        return set(carried_columns([cells for cells, is_mean in rows_told(self.lines, cut) if not is_mean]))

    def _by_headers(self, titles: list[str], are_elements: list[bool]) -> list[str]:
        """What each column means by its header alone; ``ignored`` where no list knows it."""
        meant: list[str] = []
        for nth, title in enumerate(titles):
            means, why = self._by_header(nth, title, is_element=are_elements[nth])
            if means in _ONE and means in meant:
                means, why = "", f"another column means {means}"
            self.note(f"table.columns.{nth}", sure=why.startswith("its header"), why=why)
            meant.append(means or "ignored")
            self.unknown[nth] = not means
        return meant

    def _by_cells(self, meant: list[str], mark: str) -> None:
        """Columns no header told, by what their cells are."""
        for nth in (nth for nth in range(len(meant)) if self.unknown[nth]):
            content = by_content(self.cells[nth][: self.first], mark)
            if content is not None and content[0] not in meant:
                self._take(meant, nth, *content)

    def _beside_names(self, meant: list[str], mark: str) -> None:
        """Columns no header told, by what their cells are beside the names: codes of kinds, concentrations given."""
        if "label" not in meant:
            return
        names = self.cells[meant.index("label")]
        for nth in (nth for nth in range(len(meant)) if self.unknown[nth] and "kind" not in meant):
            if holds_codes(self.cells[nth], names):
                self._take(meant, nth, "kind", "its cells are few words that go with the names")
        codes = self.cells[meant.index("kind")] if "kind" in meant else names
        of_code = kinds_of_codes(codes, names) if "kind" in meant else {}
        kinds = [(of_code[code][0] if code in of_code else kind_by_name(code)) or "sample" for code in codes]
        for nth in (nth for nth in range(len(meant)) if self.unknown[nth] or meant[nth] == "concentration"):
            given = holds_given(self.cells[nth], names, kinds, lambda cell: is_number(cell, mark))
            if given and "nominal" not in meant:
                self._take(meant, nth, "nominal", "only standards have numbers in it, each one its own")
        for nth in (nth for nth in range(len(meant)) if self.unknown[nth] and "dilution" not in meant):
            if holds_factors(self.cells[nth], names, kinds):
                self._take(meant, nth, "dilution", "whole numbers, 1 for all but samples")

    def _beside_means(self, meant: list[str], mark: str) -> None:
        """Columns no header told that stand next to a column of means and have those means."""
        mean = meant.index("mean") if "mean" in meant and "signal" not in meant else 0
        at = mean
        while at and meant[at - 1] == "ignored" and not self.unknown[at - 1]:
            at -= 1  # spreads may stand between readings and their mean
        before = at
        while before and self.unknown[before - 1] and self._holds_numbers(before - 1, mark):
            before -= 1
        for first in range(before, at - 1):
            if have_means(self.cells[first:at], self.cells[mean], mark):
                for nth in range(first, at):
                    self._take(meant, nth, "signal", f"with those beside it, it has the means under column {mean + 1}")
                return

    def _holds_numbers(self, nth: int, mark: str) -> bool:
        """Whether at least half the cells of a column are numbers; words stand where nothing could be read."""
        return 2 * sum(is_number(cell, mark) for cell in self.cells[nth]) >= len(self.cells[nth])

    def _place(self, cut: Cut, nth: int) -> tuple[int, int]:
        return (cut.columns[nth].starts, cut.columns[nth].ends) if not cut.form.separator else (0, 0)

    def _by_header(self, nth: int, title: str, *, is_element: bool) -> tuple[str, str]:
        if is_element:
            return "signal", "its header names an element"
        means, _ = column_means(title)
        cells = [cell for cell in self.cells[nth] if cell]
        if means == "position" and not all(map(str.isdigit, cells)):
            why = f"the header '{title}' is in the list of words for position, its cells are no whole numbers"
            names = 3 * len(set(cells)) >= len(cells)
            return ("label", f"{why}: are they the names?") if names else ("", why)
        if means in {"taken_at", "day"} and are_moments(cells, self.form):
            means = "day_time"
        if contradicts(cast("ColumnMeans", means), cells, self.form.decimal_mark):
            return "", f"its header '{title}' is in the list of words for {means}, its cells are none"
        if means == "position" and counts_readings(self.cells[nth][: self.first]):
            return "replicate", "its cells count from 1 with each solution"
        if means:
            return means, f"its header '{title}' is in the list of words for {means}"
        means = word_means(title)
        return means, f"a word of its header '{title}' says {means}" if means else f"no list knows the header '{title}'"

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
        rows = [] if cut.turned else [cells for cells, is_mean in rows_told(self.lines, cut) if is_mean]
        for nth, column in enumerate(columns if rows else ()):
            if column.means not in {"label", "replicate", "position", "kind"}:
                continue
            cells = [each[nth] for each in rows]
            for word in spread_words(cells):
                drops.append(self._row_pattern(cut, nth, word))
                self.note(
                    f"drop_lines.{len(drops) - 1}", sure=False, why=f"rows of '{word}': a spread the instrument printed"
                )
            word = mean_word(cells)
            if word:
                self.note(
                    "table.mean_rows", sure=True, why=f"rows with '{word}' under '{column.header}': kept for comparison"
                )
                return (MeanRow(column.header, word),), drops
        return self._uncounted(cut, columns, drops), drops

    def _uncounted(self, cut: Cut, columns: tuple[Column, ...], drops: list[str]) -> tuple[MeanRow, ...]:
        """Rows no list tells in which the count of readings stands still: by their numbers means, spreads, or asked."""
        told = [] if cut.turned else rows_told(self.lines, cut)
        counter = counter_with_words([cells for cells, _ in told])
        signals = [nth for nth, column in enumerate(columns) if column.means == "signal"]
        if counter is None or columns[counter.column].means != "replicate" or len(signals) != 1:
            return ()
        means: list[MeanRow] = []
        header = columns[counter.column].header
        for word in counter.words:
            before, numbers = _of_word(told, counter.column, word, signals[0])
            what = told_by_numbers(before, numbers, cut.form.decimal_mark) if word else ""
            rows = f"rows with '{word}' under '{header}'"
            if what == "mean" and not means:
                means.append(MeanRow(header, word))
                why = f"{rows} have the means of the readings above them: kept for comparison"
                self.note("table.mean_rows", sure=False, why=why)
            elif what:
                drops.append(self._row_pattern(cut, counter.column, word))
                why = f"{rows} have what is calculated from the readings above them"
                self.note(f"drop_lines.{len(drops) - 1}", sure=False, why=why)
            elif numbers:
                self.open.append(f"R{rows[1:]} are no readings by its count, and nothing tells what they are: say so.")
                why = f"counts the readings of each solution; {rows} are none: name them in mean_rows or drop_lines"
                self.note(f"table.columns.{counter.column}", sure=False, why=why)
        return tuple(means)

    def _row_pattern(self, cut: Cut, nth: int, word: str) -> str:
        """Rows with this word in this column; by the words before it where no separator tells columns."""
        mark = exactly(cut.form.separator)
        if len(cut.form.separator) == 1 and not cut.form.quote:
            return rf"(?:[^{mark}]*{mark}){{{nth}}}\s*{exactly(word)}\s*(?:{mark}.*)?"
        row = next(r for b in cut.blocks for r in b.rows if cut.cells(self.lines[r].lstrip("\f"))[nth] == word)
        before = self.lines[row].partition(word)[0]
        edges = r"\b" * word[:1].isalpha(), r"\b" * word[-1:].isalpha()
        return (r".*" if before.strip() else r"\s*") + edges[0] + exactly(word) + edges[1] + r".*"

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

    def _kinds(self, cut: Cut, columns: tuple[Column, ...]) -> tuple[KindRule, ...]:
        places = {column.means: nth for nth, column in enumerate(columns)}
        if "kind" in places:
            codes = self.cells[places["kind"]]
            given = self.cells[places["nominal"]] if "nominal" in places else ()
            found = kinds_of_codes(codes, self.cells[places["label"]] if "label" in places else codes, given)
            known = {code: guess for code, guess in found.items() if guess[0]}
            rules = [KindRule(cast("SolutionKind", kind), code=exactly(code)) for code, (kind, _) in known.items()]
            for nth, (_, why) in enumerate(known.values()):
                self.note(f"kinds.{nth}", sure=False, why=why)
            if unknown := ", ".join(code for code in found if code not in known):
                self.open.append(
                    f"Nothing tells which kinds of solution these codes are: {unknown}. Add them to kinds."
                )
            return tuple(rules) or (KindRule("sample", label=".*"),)
        names = cells_of(self.lines, cut, places["label"]) if "label" in places else []
        used = [(kind, pattern) for kind, pattern in KINDS if any(_kind(name) == kind for name in names)]
        rules = [KindRule(cast("SolutionKind", kind), label=pattern) for kind, pattern in used]
        for nth, (kind, _) in enumerate(used):
            like = ", ".join(list(dict.fromkeys(name for name in names if _kind(name) == kind))[:4])
            self.note(f"kinds.{nth}", sure=False, why=with_doubt(f"by names as: {like}", kind))
        self.note(f"kinds.{len(rules)}", sure=False, why="every other name")
        return (*rules, KindRule("sample", label=".*"))

    def _signal_words(
        self, cut: Cut, columns: tuple[Column, ...], means: tuple[MeanRow, ...]
    ) -> tuple[SignalWord, ...]:
        found: dict[str, str] = {}
        for nth, column in enumerate(columns):
            of_cells = word_cells(self.lines, cut, nth) if column.means in {"signal", "mean", "nominal"} else {}
            found |= {text: to for text, to in of_cells.items() if column.means != "nominal" or to == "missing"}
        told = {row.text for row in means}
        words = [(text, to) for text, to in found.items() if text not in told and len(text) <= 64]
        for nth, (text, _to) in enumerate(words):
            self.note(
                f"signal_words.{nth}",
                sure=False,
                why=f"'{text}' stands where a number was expected" + ("" if known_word(text) else "; no list knows it"),
            )
        return tuple(SignalWord(text, cast("object", to)) for text, to in words)  # type: ignore[arg-type]


def _kind(name: str) -> str:
    return kind_by_name(name) or "sample"


def _of_word(
    told: list[tuple[list[str], bool]], counter: int, word: str, signal: int
) -> tuple[list[list[str]], list[str]]:
    """Of each row with this word that no list tells: the signals of the readings before it, and its own number."""
    before: list[list[str]] = []
    numbers: list[str] = []
    readings: list[str] = []
    for cells, is_other in told:
        if not is_other:
            readings = [*([] if cells[counter].strip("0") == "1" else readings), cells[signal]]
        elif cells[counter] == word and not any(map(is_mean_word, cells)):
            before.append(readings)
            numbers.append(cells[signal])
    return before, numbers
