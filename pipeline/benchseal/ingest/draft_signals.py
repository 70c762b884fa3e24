"""Guesses about the columns of signals of a draft: which kind is read, and what stands in where none is headed so."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.ingest.guess_columns import differ_too, have_means
from benchseal.ingest.guess_table import is_number
from benchseal.ingest.trade_words import column_means, element_of
from benchseal.records.signal_headers import AREAS, HEIGHTS, between_signals, count_readings_of_one, kind_of_signal

if TYPE_CHECKING:
    from benchseal.records.layout import FileForm

_WHO = {"position", "label"}
_OF_READING = {"replicate", "background", "reading_number"}
# Of several kinds of signals beside each other the first is taken (common practice, no source).
_ORDER = ("area", "corrected", "absorbance", "signal", "height", "", "uncorrected", "concentration", "mean",
          "background", "spread")  # fmt: skip


class SignalGuesses:
    """What is guessed of columns so far. cells: of each column in rows of readings; unknown: no list has its header."""

    form: FileForm
    remarks: dict[str, tuple[bool, str]]
    open: list[str]
    cells: list[list[str]]
    unknown: dict[int, bool]
    are_readings: bool  # numbers show that signals are readings of one solution, and their headers do not

    def note(self, key: str, *, sure: bool, why: str) -> None:
        """A remark for one key of the layout."""
        self.remarks[key] = (sure, why)

    def _take(self, meant: list[str], nth: int, means: str, why: str) -> None:
        meant[nth] = means
        self.unknown[nth] = False
        self.note(f"table.columns.{nth}", sure=False, why=why)

    def _one_signal(self, meant: list[str], titles: list[str], *, several: bool, mark: str) -> None:
        """Absorbance before concentration; of areas and heights beside each other the areas."""
        self._beside_another(meant, titles)
        if not several:
            self._areas(meant, titles)
        self._one_kind(meant, titles)
        self._alike(meant, titles)
        self._apart(meant, titles)
        self._concentrations(meant, mark)
        if meant.count("signal") == 0:
            self.open.append("No column of signals was found: say which one means signal.")
        if meant.count("signal") > 1 and not several:
            for nth in (nth for nth, means in enumerate(meant) if means in _OF_READING):
                meant[nth] = "ignored"
                self.note(f"table.columns.{nth}", sure=False, why="readings stand beside each other, so it is of none")

    def _beside_another(self, meant: list[str], titles: list[str]) -> None:
        """No signal of a table that stands to the right of another one: its solutions are others in the same row."""
        known = [column_means(title)[0] for title in titles]
        first = meant.index("signal") if "signal" in meant else len(meant)
        again = (nth for nth in range(first + 1, len(known)) if known[nth] in _WHO and known[nth] in known[:first])
        begins = next(again, len(known))
        right = [nth for nth in range(begins, len(meant)) if meant[nth] == "signal"]
        for nth in right:
            meant[nth] = "ignored"
            why = f"'{titles[begins]}' to its left names solutions anew: another table stands beside the first"
            self.note(f"table.columns.{nth}", sure=False, why=why)
        if right:
            what = f"From column {begins + 1} ('{titles[begins]}') on another table stands beside the first, and no "
            self.open.append(f"{what}layout reads two side by side: set the export to write one below the other.")

    def _areas(self, meant: list[str], titles: list[str]) -> None:
        mark = self.form.decimal_mark
        may = [
            nth
            for nth, means in enumerate(meant)
            if means == "signal"
            or (self.unknown[nth] and all(is_number(cell, mark) for cell in self.cells[nth] if cell))
        ]
        area = [nth for nth in may if any(word in titles[nth].lower() for word in AREAS)]
        height = [nth for nth in may if any(word in titles[nth].lower() for word in HEIGHTS)]
        both = [", ".join(f"'{titles[nth]}'" for nth in each) for each in (area, height)]
        for nth in (*area, *height) if area and height else ():
            meant[nth] = "signal" if nth in area else "ignored"
            self.unknown[nth] = False
            why = (
                f"area ({both[0]}) and height ({both[1]}) stand beside each other; the area is taken, since it depends "
                "less on the shape of the peak (common practice, no source): swap the two if the method reads heights"
            )
            self.note(f"table.columns.{nth}", sure=False, why=why)

    def _one_kind(self, meant: list[str], titles: list[str]) -> None:
        """Columns whose headers name different kinds of signals are no readings of one solution: one kind is taken."""
        elements = [element_of(title)[0] for title in titles]
        for element in dict.fromkeys(elements):
            named = {
                nth: kind_of_signal(titles[nth])
                for nth, means in enumerate(meant)
                if means == "signal" and elements[nth] == element
            }
            kinds = sorted(set(named.values()) - {""}, key=_ORDER.index)
            if len(kinds) < 2:
                continue
            both = ", ".join(f"'{titles[nth]}' ({kind or 'kind not named'})" for nth, kind in named.items())
            for nth, kind in named.items():
                taken = kind == kinds[0]
                meant[nth] = "signal" if taken else "ignored"
                self.unknown[nth] = False
                why = f"{both} stand beside each other and are no readings of one kind; "
                why += f"{kinds[0]} is taken: swap them if the method reads another"
                self.note(f"table.columns.{nth}", sure=False, why=why)

    def _alike(self, meant: list[str], titles: list[str]) -> None:
        """Columns whose headers do not show that they are readings of one kind: one is taken, with those like it."""
        elements = [element_of(title)[0] for title in titles]
        for element in dict.fromkeys(elements):
            own = [nth for nth, means in enumerate(meant) if means == "signal" and elements[nth] == element]
            if count_readings_of_one([titles[nth] for nth in own]):
                continue
            names = ", ".join(f"'{titles[nth]}'" for nth in own)
            mean = meant.index("mean") if "mean" in meant else -1
            columns = [self.cells[nth] for nth in own]
            if mean >= 0 and have_means(columns, self.cells[mean], self.form.decimal_mark):
                self.are_readings = True
                why = f"{names} have the means under column {mean + 1}, which their headers do not show"
                self.note("table.signals_are_readings", sure=False, why=why)
                continue
            kept = [min(own, key=lambda nth: _ORDER.index(kind_of_signal(titles[nth])))]
            for nth in own:
                if nth > kept[-1] and count_readings_of_one([titles[one] for one in (*kept, nth)]):
                    kept.append(nth)
            taken = ", ".join(f"'{titles[nth]}'" for nth in kept)
            for nth in own:
                meant[nth] = "signal" if nth in kept else "ignored"
                self.unknown[nth] = False
                why = f"nothing shows that {names} are readings of one kind; {taken} is taken: look which is read"
                self.note(f"table.columns.{nth}", sure=False, why=why)

    def _apart(self, meant: list[str], titles: list[str]) -> None:
        """Signals with columns between them that may name another solution: perhaps two tables side by side."""
        if self.are_readings:
            return
        columns = [(title, means, element_of(title)[0]) for title, means in zip(titles, meant, strict=True)]
        apart = between_signals(columns)
        for behind in dict.fromkeys(nth for nth, _ in apart):
            names = ", ".join(f"'{header}'" for nth, header in apart if nth == behind)
            why = f"{names} between it and the signal before it may tell of another solution: are both of the same one?"
            self.note(f"table.columns.{behind}", sure=False, why=why)
            self.open.append(f"Two tables may stand side by side: column {behind + 1}, {why}")

    def _concentrations(self, meant: list[str], mark: str) -> None:
        if "signal" not in meant:
            self._only_numbers(meant, mark)
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

    def _only_numbers(self, meant: list[str], mark: str) -> None:
        """The one column no header told that holds numbers with a decimal mark, other ones in each row."""
        told = {nth for nth, means in enumerate(meant) if means in {"concentration", "mean"}}
        found = [
            nth
            for nth, cells in enumerate(self.cells)
            if self.unknown[nth]
            and all(is_number(cell, mark) and mark in cell for cell in cells)
            and 2 * len(set(cells)) > len(cells)
        ]
        if len(found) == 1 and not told:
            why = "the only column no header tells that holds numbers with decimals, differing from row to row"
            self._take(meant, found[0], "signal", why + differ_too(self.cells, found[0], mark))
