"""The table of an ordinary section, column by column: the same columns as ``table.Table``, or nothing.

It only says yes. Wherever anything is unusual (a blank, a sign outside ASCII, a fault
of any kind) it gives None and the exact reader says what there is; a test holds the two equal on whatever they both
read. Whole columns are looked at by one expression or comparison each, which is why it is quick.
"""

from __future__ import annotations

import re
from datetime import date, timedelta
from functools import lru_cache
from itertools import chain, compress, count, pairwise, repeat, starmap
from operator import gt, ne, or_, sub
from typing import TYPE_CHECKING, TypeAlias, TypeVar, cast

from benchseal.documents.damaged import looks_damaged
from benchseal.ingest.clocks import doubled
from benchseal.ingest.numbers import LONGEST_NUMBER, dilutes
from benchseal.ingest.regular_fixed import fixed_rows
from benchseal.ingest.table import LONGEST_LABEL
from benchseal.records.run import MeanColumns, ReadingColumns, SolutionColumns, SolutionKind

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.ingest.plan import Plan
    from benchseal.ingest.regular_fixed import FixedRows
    from benchseal.ingest.walk import Section
    from benchseal.records.layout import FileForm, TableForm

Tables: TypeAlias = "tuple[SolutionColumns, ReadingColumns, MeanColumns]"
Texts: TypeAlias = "Sequence[str]"
T = TypeVar("T")

# 01622 may be 0.1622 without its mark: the reader that looks at each cell says so.
_NUMBERS = re.compile(r"(?:-?(?!0+[1-9])[0-9]++(?:\.[0-9]++)?+\n)*+")
_NUMBERS_OR_BLANK = re.compile(r"(?:(?:-?(?!0+[1-9])[0-9]++(?:\.[0-9]++)?+)?+\n)*+")
_NEGATIVE_ZERO = re.compile(r"-[0.]+\n")
_CLOCK_FORM = re.compile(r"HH([^A-Za-z0-9])mm\1ss")
_KNOWN = {"position", "label", "kind", "nominal", "dilution", "replicate", "signal", "mean", "background", "taken_at"}
_SEPARATORS = (",", ";", "\t", "|", "")
_NEEDED = {"position", "label", "signal"}
_IDENTITY = ("position", "label", "kind", "nominal", "dilution")
_MOST_EACH = 100  # readings of each solution looked at together
_MOST_CODES = 1000  # of one layout; files with more are left to the exact reader
_HALF_A_DAY_H = 12
_LAST_DAY = "9999-12-31"
_NOT_ALONE = frozenset({"signal", "ignored"})


def regular_table(plan: Plan, section: Section, started_at: str) -> Tables | None:
    """Solutions, readings and means of a section whose every row is ordinary; else None. started_at: as ``Table``."""
    names = _names(plan, section)
    if not names:
        return None
    if not plan.layout.file.separator:
        fixed = fixed_rows(plan, section)
        return None if fixed is None else _Columns(plan, names, fixed.columns, fixed.lines, fixed).read(started_at)
    columns = _columns(plan.layout.file, section, len(names))
    if columns is None:
        return None
    return _Columns(plan, names, columns, [number for number, _ in section.rows]).read(started_at)


def _names(plan: Plan, section: Section) -> tuple[str, ...]:
    """What each column of a section means; none where its layout is not of the ordinary kind."""
    names = tuple(column.means for column in section.columns)
    form = plan.layout.file
    once = [name for name in names if name not in _NOT_ALONE]
    ordinary = form.separator in _SEPARATORS and not form.thousands_mark and section.rows
    if (
        not ordinary
        or _is_other(plan.layout.table)
        or len(once) != len(set(once))
        or not _NEEDED <= set(names) <= _KNOWN | {"ignored"}
    ):
        return ()
    if not form.separator:  # of fixed places
        return names if names.count("signal") == 1 and "mean" not in names else ()
    return () if plan.mean_rows or any(column.carried for column in section.columns) else names


def _is_other(table: TableForm) -> bool:
    """A table of another kind than one row of headers, then a row for each reading, of one element."""
    by_reading = table.header_row and not table.transposed and table.each_row == "reading"
    return not by_reading or any(column.element for column in table.columns)


def _columns(form: FileForm, section: Section, count: int) -> list[tuple[str, ...]] | None:
    """The cells of every row, by column; None where one has another count, or a quote.

    Blanks around a cell are judged where the column is read. A line end stands as a cell of its own between two rows,
    so one cut of the whole shows whether all have ``count``.
    """
    mark, whole = form.separator, "\n".join([text for _, text in section.rows])
    if not whole.isascii() or "\f" in whole or (form.quote and form.quote in whole):
        return None  # other control signs were refused with the lines
    cells, each = whole.replace("\n", f"{mark}\n{mark}").split(mark), count + 1
    ends = len(section.rows) - 1
    if len(cells) != each * ends + count or cells[count::each] != ["\n"] * ends:
        return None
    return [tuple(cells[place::each]) for place in range(count)]


class _Columns:
    """The columns of one section, each judged whole."""

    def __init__(
        self,
        plan: Plan,
        names: tuple[str, ...],
        columns: list[tuple[str, ...]],
        lines: list[int],
        fixed: FixedRows | None = None,
    ) -> None:
        self._plan, self._columns, self._form = plan, columns, plan.layout.file
        self._place = {name: index for index, name in enumerate(names) if name not in _NOT_ALONE}
        self._signals = [index for index, name in enumerate(names) if name == "signal"]
        self._wide = sum(column.means == "signal" for column in plan.layout.table.columns) > 1
        self._lines, self._fixed = lines, fixed

    def read(self, started_at: str) -> Tables | None:
        """Everything, or None from the first thing that is not ordinary on."""
        starts = self._starts()
        solutions = self._solutions(starts) if starts else None
        if solutions is None:
            return None
        readings = self._readings(started_at, solutions)
        means = self._means() if readings is not None else None
        return None if readings is None or means is None else (solutions, readings, means)

    def _column(self, name: str) -> tuple[str, ...] | None:
        index = self._place.get(name)
        return None if index is None else self._columns[index]

    # Solutions

    def _starts(self) -> list[int]:
        """Rows a solution begins at; none where positions or names are not in order."""
        count, position = len(self._lines), self._columns[self._place["position"]]
        if self._wide:
            return list(range(count)) if position == _counted(count) else []
        if each := self._same_number_each(position):
            return list(range(0, count, each))
        changed = list(map(ne, position[1:], position))
        starts = [0, *compress(range(1, count), changed)]
        who = list(zip(*(self._columns[self._place[name]] for name in _IDENTITY if name in self._place), strict=True))
        rising = tuple(position[row] for row in starts) == _counted(len(starts))
        one_each = list(map(ne, who[1:], who)) == changed
        return starts if rising and one_each and self._replicates(starts) else []

    def _same_number_each(self, position: tuple[str, ...]) -> int:
        """Readings of each solution where all have as many and stand in order; 0 where that is not sure."""
        each = position.count("1")
        solutions, odd = divmod(len(position), each or 1)
        if not each or odd or each > _MOST_EACH or position != _each_counted(solutions, each):
            return 0
        found = self._column("replicate")
        if found is not None and found != _counted(each) * solutions:
            return 0
        others = [self._columns[self._place[name]] for name in _IDENTITY[1:] if name in self._place]
        same = all(one[::each] == one[nth::each] for one in others for nth in range(1, each))
        return each if same else 0

    def _replicates(self, starts: list[int]) -> bool:
        """Whether the readings of every solution are numbered from 1; in order anyway where they bear no numbers."""
        found = self._column("replicate")
        counts = [later - first for first, later in pairwise([*starts, len(self._lines)])]
        return found is None or found == tuple(chain.from_iterable(map(_counted, counts)))

    def _solutions(self, starts: list[int]) -> SolutionColumns | None:
        label = self._at("label", starts, "")
        codes = self._at("kind", starts, "")
        kind = _kinds(self._plan, codes, label) if tuple(map(str.strip, codes)) == codes else None
        nominal = self._nominal(self._at("nominal", starts, ""))
        dilution = self._plain(self._at("dilution", starts, "1"))
        if kind is None or nominal is None or dilution is None:
            return None
        if not all(label) or max(map(len, label)) > LONGEST_LABEL or tuple(map(str.strip, label)) != label:
            return None
        if any("-" in text for text in set(nominal)) or not all(map(dilutes, set(dilution))):
            return None
        if any(map(looks_damaged, label)):
            return None
        each = len(self._signals)
        ends = [*starts[1:], len(self._lines)]
        if self._wide:
            first, counts = tuple(range(0, each * len(starts), each)), (each,) * len(starts)
        else:
            first, counts = tuple(starts), tuple(map(sub, ends, starts))
        position = tuple(range(1, len(starts) + 1))
        return SolutionColumns(position, label, kind, tuple(nominal), tuple(dilution), first, counts)

    def _at(self, name: str, rows: list[int], absent: str) -> tuple[str, ...]:
        column = self._column(name)
        if column is None:
            return (absent,) * len(rows)
        return column if len(rows) == len(column) else tuple([column[row] for row in rows])

    # Readings

    def _readings(self, started_at: str, solutions: SolutionColumns) -> ReadingColumns | None:
        times = self._wide_or_not(self._times(started_at))
        background = self._wide_or_not(self._background())
        as_read = _by_row([self._columns[index] for index in self._signals])
        flag = self._flags(as_read)
        signal = self._plain(as_read, words=True, blank=any(flag))
        if times is None or background is None or signal is None:
            return None
        if any(flag) and not (all(as_read) and all(map(or_, map(bool, signal), map(bool, flag)))):
            return None  # an empty cell, or a word that means nothing
        if not self._wide and any(times) and len(set(times)) < len(times):
            each = zip(solutions.label, solutions.reading_count, strict=True)
            if doubled(tuple(chain.from_iterable(starmap(repeat, each))), times, as_read):
                return None
        counted = map(_numbers, solutions.reading_count)
        return ReadingColumns(
            signal=tuple(signal),
            as_read=as_read,
            line=_by_row([self._lines] * len(self._signals)),
            column=_by_row(self._begin()),
            replicate=tuple(chain.from_iterable(counted)),
            taken_at=times,
            background=background,
            flag=flag,
        )

    def _flags(self, texts: Texts) -> tuple[str, ...]:
        """What the words among the signals mean."""
        words = self._plan.signal_words
        if words.keys().isdisjoint(texts):
            return ("",) * len(texts)
        return tuple([words.get(text, "") for text in texts])

    def _wide_or_not(self, column: tuple[str, ...] | None) -> tuple[str, ...] | None:
        """What stands once in a row, for each of its readings."""
        each = len(self._signals)
        return column if column is None or each == 1 else _by_row([column] * each)

    def _begin(self) -> list[list[int]]:
        """Of each signal column, the column of the line its cell begins at in each row."""
        if self._fixed is not None:
            return [self._fixed.begins]
        before, mark = self._signals[0], self._form.separator
        begins = [len(cells) + 2 for cells in map(mark.join, zip(*self._columns[:before], strict=True))]
        found = [begins or [1] * len(self._lines)]
        for index, later in pairwise(self._signals):
            width = [len(mark.join(cells)) + 1 for cells in zip(*self._columns[index:later], strict=True)]
            found.append([start + wide for start, wide in zip(found[-1], width, strict=True)])
        return found

    def _background(self) -> tuple[str, ...] | None:
        column = self._column("background")
        if column is None:
            return ("",) * len(self._lines)
        found = self._plain(column, blank=True, words=True)
        return None if found is None else tuple(found)

    def _times(self, started_at: str) -> tuple[str, ...] | None:
        day, _, clock = started_at.partition("T")
        column = self._column("taken_at")
        if column is None or not day:
            return ("",) * len(self._lines)
        form = _CLOCK_FORM.fullmatch(self._form.time_form)
        if form is None or not _clocks(form[1]).fullmatch("\n".join((*column, ""))):
            return None
        times = column if form[1] == ":" else tuple("\n".join(column).replace(form[1], ":").split("\n"))
        return _dated(times, day, clock)

    # Means and numbers

    def _means(self) -> MeanColumns | None:
        if self._fixed is not None:
            return self._fixed_means(self._fixed)
        column = self._column("mean")
        if column is None:
            return MeanColumns((), (), ())
        mean = self._plain(column, blank=True, words=True) if self._wide else None
        return None if mean is None else MeanColumns(tuple(range(len(mean))), tuple(mean), tuple(self._lines))

    def _fixed_means(self, fixed: FixedRows) -> MeanColumns | None:
        """Of rows of their own."""
        mean = self._plain(fixed.means, blank=True, words=True) if fixed.means else ()
        return None if mean is None else MeanColumns(fixed.mean_solutions, tuple(mean), fixed.mean_lines)

    def _nominal(self, texts: Texts) -> Texts | None:
        """Concentrations given, empty where a word means that there is none; None where another word stands."""
        words = self._plan.signal_words
        if not words.keys().isdisjoint(texts) and any(words.get(text, "missing") != "missing" for text in texts):
            return None
        return self._plain(texts, blank=True, words=True)

    def _plain(self, texts: Texts, *, blank: bool = False, words: bool = False) -> Texts | None:
        """Plain decimal texts of a column; None where one is anything else. words: those of the layout may be there."""
        if words and not self._plan.signal_words.keys().isdisjoint(texts):
            if not blank:
                return None
            texts = ["" if text in self._plan.signal_words else text for text in texts]
        if max(map(len, texts)) > LONGEST_NUMBER:
            return None
        whole = "\n".join((*texts, ""))
        if self._form.decimal_mark != ".":
            if "." in whole:
                return None
            whole = whole.replace(self._form.decimal_mark, ".")
        if (_NUMBERS_OR_BLANK if blank else _NUMBERS).fullmatch(whole) is None:
            return None
        if "-" in whole and _NEGATIVE_ZERO.search(whole):
            return None
        return texts if self._form.decimal_mark == "." else whole.split("\n")[:-1]


def _by_row(columns: Sequence[Sequence[T]]) -> tuple[T, ...]:
    """Several columns as one, row by row."""
    return tuple(columns[0]) if len(columns) == 1 else tuple(chain.from_iterable(zip(*columns, strict=True)))


@lru_cache(maxsize=512)
def _counted(count: int) -> tuple[str, ...]:
    """``1``, ``2`` and so on, as many."""
    return tuple(map(str, range(1, count + 1)))


@lru_cache(maxsize=64)
def _each_counted(solutions: int, each: int) -> tuple[str, ...]:
    """``1`` as often as ``each`` says, then ``2`` as often, and so on."""
    return tuple(chain.from_iterable(repeat(text, each) for text in _counted(solutions)))


@lru_cache(maxsize=64)
def _numbers(count: int) -> tuple[int, ...]:
    return tuple(range(1, count + 1))


@lru_cache(maxsize=8)
def _clocks(mark: str) -> re.Pattern[str]:
    sixty = f"{re.escape(mark)}[0-5][0-9]"
    return re.compile(rf"(?:(?:[01][0-9]|2[0-3]){sixty}{sixty}\n)*+")


def _dated(times: tuple[str, ...], day: str, clock: str) -> tuple[str, ...] | None:
    """Times of day with their day. One that goes back by half a day or more is of the next day, as in ``Table``."""
    back = list(compress(count(), map(gt, (clock, *times), times)))
    found: list[str] = []
    for first, end in pairwise([0, *back, len(times)]):
        found += _of_day(times[first:end], day)
        if end == len(times):
            break
        before = times[end - 1] if end else clock
        if int(before[:2]) - int(times[end][:2]) < _HALF_A_DAY_H or day >= _LAST_DAY:
            return None
        day = (date.fromisoformat(day) + timedelta(days=1)).isoformat()
    return tuple(found)


def _of_day(times: tuple[str, ...], day: str) -> list[str]:
    return f"{day}T{f'{chr(10)}{day}T'.join(times)}".split("\n") if times else []


def _kinds(plan: Plan, codes: tuple[str, ...], labels: tuple[str, ...]) -> tuple[SolutionKind, ...] | None:
    """The kind of each solution by the layout's rules; None where one has none. Equal codes are asked once."""
    if all(rule.label is None for rule in plan.kinds):
        for code in set(codes).difference(plan.codes):
            if len(plan.codes) < _MOST_CODES:
                plan.codes[code] = plan.kind_of(code, "")
        found = tuple([plan.codes.get(code, "") for code in codes])
    else:
        found = tuple(map(plan.kind_of, codes, labels))
    return cast("tuple[SolutionKind, ...]", found) if all(found) else None
