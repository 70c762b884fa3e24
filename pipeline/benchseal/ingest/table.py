"""The table of one section to columns: solutions, readings and printed means, each with its line."""

from __future__ import annotations

import unicodedata
from collections.abc import Callable
from datetime import date, timedelta
from typing import TYPE_CHECKING, cast

from benchseal.documents.damaged import looks_damaged
from benchseal.documents.rules_layout_table import signals_of_one
from benchseal.documents.times import read_date, read_day_time, read_time
from benchseal.ingest.aligned import strays
from benchseal.ingest.cells import BLANKS, Cell, split_line, touching
from benchseal.ingest.clocks import CHECK_CLOCK, NOT_TWICE, PUT_BACK, by_an_hour, doubled, tells_seconds, without_clock
from benchseal.ingest.collected import Means, Readings, Solutions, as_records
from benchseal.ingest.forms import unlike_moment, unlike_time
from benchseal.ingest.hints import DECLARE_MARKS, MORE_ROOM, WORDS_FOR_NOTHING, lost_mark, stray, touch, two_readings
from benchseal.ingest.numbers import LARGEST_DILUTION, bare_count, dilutes, plain_number, remedy_of_mark, why_unreadable
from benchseal.ingest.walk import EXPORT_AGAIN, Section

if TYPE_CHECKING:
    from benchseal.ingest.plan import Plan
    from benchseal.records.run import MeanColumns, ReadingColumns, SolutionColumns, SolutionKind

LONGEST_LABEL = 64
LONGEST_READING_NUMBER = 12
_IDENTITY = ("position", "label", "kind", "nominal", "dilution")

Say = Callable[..., None]
# Beside a problem only, so no such document is stored: what is shown of it must not claim a kind.
NO_KIND = cast("SolutionKind", "")


class Table:
    """Reads the rows of one section; a problem never stops it. say: ``Walk.say``. started_at: local text or empty."""

    def __init__(self, plan: Plan, section: Section, started_at: str, say: Say) -> None:
        """Find the columns by what they mean."""
        self._plan, self._section, self._say = plan, section, say
        self._form = plan.layout.file
        self._place = {column.means: index for index, column in enumerate(section.columns)}
        self._signals = [index for index, column in enumerate(section.columns) if column.means == "signal"]
        self._wide = signals_of_one(plan.layout.table.columns) > 1
        self._each_row = plan.layout.table.each_row
        self._carried = [index for index, column in enumerate(section.columns) if column.carried]
        self._identity = [self._place[name] for name in _IDENTITY if name in self._place]
        self._means_in = [
            (index, plan.mean_rows[column.header])
            for index, column in enumerate(section.columns)
            if column.header in plan.mean_rows
        ]
        self._solutions, self._readings, self._means = Solutions(), Readings(), Means()
        self._above: list[Cell] = []
        self._who: tuple[str, ...] = ()
        self._day, _, self._clock = started_at.partition("T")
        self._line = 0
        self._lines: list[int] = []
        self._odd_clock, self._may_go_back = False, plan.layout.doubled_hour != "refuse"
        self._clocks: list[str] = []  # of each reading, as the file writes it
        self._lost_rows = 0  # that did not fit, since the last solution began

    def read(self) -> tuple[SolutionColumns, ReadingColumns, MeanColumns]:
        """Every row of the section; problems went to ``say``."""
        if self._section.turned:
            self._read_turned()
        else:
            self._read_rows()
        self._close_solution()
        self._tell_clocks()
        self._tell_doubled()
        return as_records(self._solutions, self._readings, self._means)

    def _tell_clocks(self) -> None:
        if self._odd_clock:
            return  # told already: it left no time either
        readings = self._readings
        for nth in without_clock(self._solutions.first_reading, readings.taken_at, readings.flag):
            what = "The reading has no time of day; others of the table have one."
            self._say("ingest.time-missing", what, EXPORT_AGAIN, line=readings.line[nth])

    def _tell_doubled(self) -> None:
        if self._wide or self._odd_clock or not tells_seconds(self._form.time_form):
            return
        counts, readings = self._solutions.reading_count, self._readings
        labels = [label for label, count in zip(self._solutions.label, counts, strict=True) for _ in range(count)]
        for nth in doubled(labels, self._clocks, readings.as_read):
            before, line = readings.line[nth - 1 : nth + 1]
            which = f"'{labels[nth]}' at {readings.taken_at[nth][11:]}, {readings.as_read[nth]}"
            what = f"Lines {before} and {line} are one reading twice: {which}."
            self._say("ingest.reading-twice", what, NOT_TWICE, line=line)

    def _read_turned(self) -> None:
        for cells, lines in self._section.turned:
            self._line, self._lines = lines[0], lines
            self._take(cells)

    def _read_rows(self) -> None:
        if self._form.separator in BLANKS:
            self._compare_places()
        for number, text in self._section.rows:
            self._line = number
            cells = split_line(text, self._form, self._section.columns)
            if cells is None or len(cells) != len(self._section.columns):
                self._unfit(text, cells)
            elif nth := 0 if self._form.separator else touching(text, self._section.columns):
                self._touch(cells, nth)
            else:
                self._take(self._filled(cells))

    def _compare_places(self) -> None:
        """Where blanks alone part cells, those of a table printed in columns stand under their own headers."""
        columns, form = self._section.columns, self._form
        cut = [(number, split_line(text, form, columns) or []) for number, text in self._section.rows]
        for line, nth, other in strays([(number, cells) for number, cells in cut if len(cells) == len(columns)]):
            what = stray(columns[nth].header, columns[other].header)
            self._say("ingest.cells-stray", what, WORDS_FOR_NOTHING, line=line)

    def _unfit(self, text: str, cells: list[Cell] | None) -> None:
        due = len(self._section.columns)
        if cells is not None:
            what = f"The row has {len(cells)} cells, the header {due}: '{text[:60]}'."
        elif self._form.separator:
            what = f"A quote in this row does not close: '{text[:60]}'."
        else:
            what = f"Text stands between the columns, or behind the last: '{text[:60]}'."
        self._say("ingest.row-unfit", what, EXPORT_AGAIN, line=self._line)
        self._lost_rows += 1

    def _touch(self, cells: list[Cell], nth: int) -> None:
        """A row whose cells before and at ``nth`` have no blank between them is not read."""
        one, two = self._section.columns[nth - 1], self._section.columns[nth]
        what = touch((one.header, cells[nth - 1][0]), (two.header, cells[nth][0]))
        self._say("ingest.cells-touch", what, MORE_ROOM, line=self._line, column=two.starts)
        self._lost_rows += 1

    def _filled(self, cells: list[Cell]) -> list[Cell]:
        if self._carried and self._above and not any(cells[index][0] for index in self._carried):
            for index in self._carried:
                cells[index] = self._above[index]
        if self._carried:
            self._above = cells
        return cells

    def _take(self, cells: list[Cell]) -> None:
        for index, text in self._means_in:
            if cells[index][0] == text:
                self._take_mean_row(cells)
                return
        who = tuple(cells[index][0] for index in self._identity)
        if self._is_new(cells, who):
            self._open_solution(cells, who)
        elif who != self._who:
            what = f"This row belongs to position {self._solutions.position[-1]} but names another solution there."
            self._say("ingest.row-differs", what, EXPORT_AGAIN, line=self._line)
        if self._wide:
            self._take_wide(cells)
        else:
            self._take_reading(cells, self._signals[0])
        if "mean" in self._place:
            self._note_mean(cells, self._place["mean"])

    # Solutions

    def _is_new(self, cells: list[Cell], who: tuple[str, ...]) -> bool:
        if not self._who or self._wide or self._each_row == "solution":
            return True
        if "position" in self._place:
            return who[0] != self._who[0]
        if self._each_row == "reading_of_name":
            return who != self._who
        label = self._identity.index(self._place["label"])
        return who[label] != self._who[label] or bare_count(self._cell(cells, "replicate", "")) == "1"

    def _open_solution(self, cells: list[Cell], who: tuple[str, ...]) -> None:
        self._close_solution()
        self._who = who
        solutions = self._solutions
        solutions.position.append(self._position(cells))
        solutions.label.append(self._label(cells))
        solutions.kind.append(self._kind(cells))
        solutions.nominal.append(self._nominal(cells))
        solutions.dilution.append(self._dilution(cells))
        solutions.first_reading.append(len(self._readings.signal))

    def _close_solution(self) -> None:
        if self._solutions.first_reading:
            begun = self._solutions.first_reading[-1]
            self._solutions.reading_count.append(len(self._readings.signal) - begun)

    def _position(self, cells: list[Cell]) -> int:
        due = self._solutions.position[-1] + 1 if self._solutions.position else 1
        text = bare_count(self._cell(cells, "position", str(due)))
        lost, self._lost_rows = self._lost_rows, 0
        if text in {str(due + skipped) for skipped in range(lost + 1)}:
            return int(text)  # a row that does not fit is one problem, not a gap as well
        what = f"Position '{text[:20]}' stands where position {due} is due; a row is missing, or came twice."
        self._refuse("ingest.position-gap", cells, "position", what)
        stated = text.isascii() and text.isdigit() and len(text) < 7
        return int(text) if stated else due  # go on from there: one gap is one problem

    def _label(self, cells: list[Cell]) -> str:
        label = unicodedata.normalize("NFC", self._cell(cells, "label", ""))
        if not label:
            remedy = "Name the solution at the instrument and export again."
            self._refuse("ingest.label-missing", cells, "label", "The solution has no name.", remedy)
        elif len(label) > LONGEST_LABEL:
            what = f"The name is longer than {LONGEST_LABEL} signs."
            self._refuse("ingest.label-too-long", cells, "label", what)
        elif looks_damaged(label):
            what = f"The name '{label}' looks like what a spreadsheet makes of another name."
            remedy = "Export at the instrument as text, through no spreadsheet; or name the solution otherwise there."
            self._refuse("ingest.label-damaged", cells, "label", what, remedy)
        return label

    def _kind(self, cells: list[Cell]) -> SolutionKind:
        code, label = self._cell(cells, "kind", ""), self._cell(cells, "label", "")
        means = self._plan.kind_of(code, label)
        if means:
            return cast("SolutionKind", means)
        what = f"The layout does not say what kind of solution this is: code '{code[:30]}', name '{label[:30]}'."
        remedy = "Correct the code at the instrument, or add a kind to a new version of the layout."
        self._refuse("ingest.kind-unknown", cells, "kind", what, remedy)
        return NO_KIND

    def _nominal(self, cells: list[Cell]) -> str:
        if self._plan.signal_words.get(self._cell(cells, "nominal", "")) == "missing":
            return ""
        nominal = self._number(cells, "nominal", blank="")
        if nominal.startswith("-"):
            what = f"A concentration set to {nominal} is none: it is 0 or more."
            self._refuse("ingest.nominal-negative", cells, "nominal", what)
        return nominal.lstrip("-")

    def _dilution(self, cells: list[Cell]) -> str:
        none = "dilution" not in self._place or self._cell(cells, "dilution", "") in self._plan.layout.table.no_dilution
        factor = "1" if none else self._number(cells, "dilution", blank=None)
        what = f"An extra dilution of {factor} is none: the factor is from 1 to {LARGEST_DILUTION}."
        if factor and float(factor) > LARGEST_DILUTION:
            self._refuse("ingest.dilution-unlikely", cells, "dilution", what)
        elif factor and not dilutes(factor):
            self._refuse("ingest.dilution-below-one", cells, "dilution", what)
        return factor if factor and dilutes(factor) else "1"

    # Readings

    def _take_wide(self, cells: list[Cell]) -> None:
        last = max((nth for nth, index in enumerate(self._signals) if cells[index][0]), default=-1)
        if last < 0:
            self._refuse("ingest.reading-missing", cells, "signal", "The row holds no reading.")
        taken_at = self._taken_at(cells)  # of the row: of each of its readings
        for nth, index in enumerate(self._signals[: last + 1], 1):
            self._note_reading(cells, index, nth, taken_at)

    def _take_reading(self, cells: list[Cell], index: int) -> None:
        due = len(self._readings.signal) - self._solutions.first_reading[-1] + 1
        text = bare_count(self._cell(cells, "replicate", str(due)))
        if text != str(due):
            what = f"Reading '{text[:20]}' of this solution stands where reading {due} is due."
            self._refuse("ingest.reading-order", cells, "replicate", what)
        self._note_reading(cells, index, due, self._taken_at(cells))

    def _note_reading(self, cells: list[Cell], index: int, replicate: int, taken_at: str) -> None:
        text, column = cells[index]
        flag = self._plan.signal_words.get(text, "")
        readings = self._readings
        readings.signal.append("" if flag else self._plain(cells, index))
        readings.as_read.append(unicodedata.normalize("NFC", text))
        readings.line.append(self._line_of(index))
        readings.column.append(column)
        readings.replicate.append(replicate)
        readings.taken_at.append(taken_at)
        parts = self._cell(cells, "taken_at", self._cell(cells, "day_time", "")) if "f" in self._form.time_form else ""
        self._clocks.append(taken_at + parts if taken_at else "")
        readings.background.append(self._number(cells, "background", blank="", words=True))
        readings.flag.append(flag)
        if "reading_number" in self._place:
            readings.number.append(self._reading_number(cells))

    def _reading_number(self, cells: list[Cell]) -> str:
        """Without leading zeros, so that the same number is the same text in every file."""
        text = self._cell(cells, "reading_number", "")
        plain = plain_number(text, self._form.decimal_mark, self._form.thousands_mark) or ""
        number = plain.lstrip("0") or plain[-1:]
        if number.isdigit() and len(number) <= LONGEST_READING_NUMBER:
            return number
        what = f"'{text[:20]}' is no reading number: a whole number of at most {LONGEST_READING_NUMBER} figures is due."
        self._refuse("ingest.reading-number", cells, "reading_number", what)
        return ""

    def _taken_at(self, cells: list[Cell]) -> str:
        text = self._cell(cells, "day_time", "")
        if text:
            return self._dated(cells, "day_time", read_day_time(text, self._form.date_form, self._form.time_form))
        text = self._cell(cells, "taken_at", "")
        if not text or not (self._day or "day" in self._place):
            return ""
        clock = read_time(text, self._form.time_form)
        if clock is None:
            self._refuse("ingest.time-unreadable", cells, "taken_at", *unlike_time(text, self._form.time_form))
            return ""
        if "day" in self._place:
            day = read_date(self._cell(cells, "day", ""), self._form.date_form)
            return self._dated(cells, "day", (day, clock) if day else None)
        if clock < self._clock and not self._passes_midnight(clock):
            self._go_back(cells, "taken_at", f"{self._day}T{clock}", f"{clock} after {self._clock}")
        self._clock = clock
        return f"{self._day}T{clock}"

    def _dated(self, cells: list[Cell], means: str, moment: tuple[str, str] | None) -> str:
        """A reading that says its own day: it may not be before the one above, nor before the start of the run."""
        if moment is None:
            text = self._cell(cells, means, "")
            said = unlike_moment(text, self._form.date_form, self._form.time_form if means == "day_time" else "")
            self._refuse("ingest.date-unreadable", cells, means, *said)
            return ""
        if (self._day, self._clock) > moment:
            self._go_back(cells, means, "T".join(moment), f"{' '.join(moment)} after {self._day} {self._clock}")
        self._day, self._clock = moment
        return "T".join(moment)

    def _go_back(self, cells: list[Cell], means: str, moment: str, said: str) -> None:
        """Once a run, by an hour at most, where the layout knows of doubled hours; ``validate`` asks the zone."""
        small = by_an_hour(f"{self._day}T{self._clock}", moment)
        if small and self._may_go_back:
            self._may_go_back = False
            return
        remedy = PUT_BACK if small and self._plan.layout.doubled_hour == "refuse" else CHECK_CLOCK
        self._refuse("ingest.time-backwards", cells, means, f"The time goes back: {said}.", remedy)

    def _passes_midnight(self, clock: str) -> bool:
        """Half a day back or more is the next day (our rule, no source)."""
        if int(self._clock[:2]) - int(clock[:2]) < 12:
            return False
        try:
            self._day = (date.fromisoformat(self._day) + timedelta(days=1)).isoformat()
        except OverflowError:
            return False
        return True

    # Means

    def _take_mean_row(self, cells: list[Cell]) -> None:
        telling = {index for index, _ in self._means_in}
        who = ("" if index in telling else cells[index][0] for index in self._identity)
        if not self._who or any(text and text != above for text, above in zip(who, self._who, strict=True)):
            what = "This row of means does not follow the readings of its solution."
            self._say("ingest.mean-misplaced", what, EXPORT_AGAIN, line=self._line)
            return
        self._note_mean(cells, self._signals[0])

    def _note_mean(self, cells: list[Cell], index: int) -> None:
        text = cells[index][0]
        worded = not text or text in self._plan.signal_words
        self._means.solution.append(len(self._solutions.position) - 1)
        self._means.mean.append("" if worded else self._plain(cells, index))
        self._means.line.append(self._line_of(index))

    # Cells

    def _cell(self, cells: list[Cell], means: str, absent: str) -> str:
        index = self._place.get(means)  # type: ignore[call-overload]  # any text may be asked for
        return absent if index is None else cells[index][0]

    def _number(self, cells: list[Cell], means: str, *, blank: str | None, words: bool = False) -> str:
        index = self._place.get(means)  # type: ignore[call-overload]  # any text may be asked for
        if index is None:
            return ""
        text = cells[index][0]
        if (not text and blank is not None) or (words and text in self._plan.signal_words):
            return ""
        return self._plain(cells, index, zero_led=means == "dilution")

    def _plain(self, cells: list[Cell], index: int, *, zero_led: bool = False) -> str:
        """A cell as a number. zero_led: a whole number may begin with 0."""
        text, column = cells[index]
        lost = "" if zero_led else lost_mark(text, self._form.decimal_mark)
        number = None if lost else plain_number(text, self._form.decimal_mark, self._form.thousands_mark)
        if number is not None:
            return number
        if both := lost or two_readings(text, self._form.decimal_mark):
            what, remedy = f"'{text[:40]}' is not clear. {both}", EXPORT_AGAIN if lost else DECLARE_MARKS
            self._say("ingest.number-ambiguous", what, remedy, line=self._line_of(index), column=column)
            return ""
        what = f"'{text[:40]}' is not a number. {why_unreadable(text, self._form.decimal_mark)}".rstrip()
        remedy = remedy_of_mark(text, self._form.decimal_mark) or EXPORT_AGAIN
        self._say("ingest.number-unreadable", what, remedy, line=self._line_of(index), column=column)
        return ""

    def _refuse(self, code: str, cells: list[Cell], means: str, what: str, remedy: str = EXPORT_AGAIN) -> None:
        self._odd_clock |= means in {"taken_at", "day", "day_time"}
        index = self._place.get(means)  # type: ignore[call-overload]  # any text may be asked for
        if index is None:
            self._say(code, what, remedy, line=self._line)
        else:
            self._say(code, what, remedy, line=self._line_of(index), column=cells[index][1])

    def _line_of(self, index: int) -> int:
        """Of a cell: in a transposed table each stands in a line of its own."""
        return self._lines[index] if self._lines else self._line
