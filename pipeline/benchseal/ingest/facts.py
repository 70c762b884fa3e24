"""The facts of a run from the lines of head and section, words turned into the terms of records."""

from __future__ import annotations

import re
import unicodedata
from typing import TYPE_CHECKING, cast, get_args

from benchseal.documents.times import read_date, read_time
from benchseal.ingest.forms import unlike_date, unlike_time
from benchseal.ingest.numbers import plain_number, remedy_of_mark, why_unreadable
from benchseal.ingest.parting import first_moment
from benchseal.ingest.walk import EXPORT_AGAIN, OTHER_LAYOUT, Fact, Facts, Section, Walk
from benchseal.records.method import Flame, SignalForm, SignalIs, Technique
from benchseal.records.run import RunFacts
from benchseal.records.unit_spellings import unit_meant, unit_of

if TYPE_CHECKING:
    from benchseal.ingest.plan import Plan

LONGEST_FACT = 200
_CLOSED = {
    "technique": get_args(Technique),
    "signal_is": get_args(SignalIs),
    "flame": get_args(Flame),
    "signal_form": get_args(SignalForm),
}
_ELEMENT = re.compile("[A-Z][a-z]?")
_ONE_UNIT = (
    "Set the instrument to the unit the method reads in; or, where both words mean one unit, or a word is none, let "
    "`words` of the layout say what each means for signal_unit."
)


def run_facts(plan: Plan, section: Section, walk: Walk) -> RunFacts:
    """Facts of one section; problems go to ``walk.say``. Stated facts serve where the file is silent."""
    facts = {**_stated(plan, section), **walk.facts, **section.facts}
    reader = _FactReader(plan, facts, section.line, walk)
    signal_unit = reader.text("signal_unit", needed=True)
    _compare_units(plan, section, signal_unit, walk)
    return RunFacts(
        element=reader.element(),
        wavelength_nm=reader.number("wavelength_nm"),
        technique=cast("Technique", reader.worded("technique")),
        instrument_serial=reader.text("instrument_serial", needed=True),
        operator=reader.text("operator"),
        method_name=reader.text("method_name"),
        started_at=reader.started_at(section),
        signal_is=cast("SignalIs", reader.worded("signal_is")),
        signal_unit=signal_unit,
        background_correction=reader.text("background_correction"),
        line=section.line,
        slit_nm=reader.number("slit_nm", needed=False),
        flame=cast("Flame", reader.worded("flame", needed=False)),
        signal_form=cast("SignalForm", reader.worded("signal_form", needed=False)),
        injection_ul=reader.number("injection_ul", needed=False),
    )


def _compare_units(plan: Plan, section: Section, signal_unit: str, walk: Walk) -> None:
    """The unit of every column of signals or their means is that of the run; nothing is converted."""
    words, (line, cells) = plan.words.get("signal_unit", {}), section.units
    for nth, column in enumerate(section.columns):
        unit = unit_of(column, words) if column.means in {"signal", "mean"} and signal_unit else ""
        if not unit or unit.casefold() in {signal_unit.casefold(), unit_meant(signal_unit).casefold()}:
            continue
        what = f"Column '{column.header}' is in {column.unit or unit}, and the run's signal_unit is {signal_unit}."
        place = cells[nth][1] if nth < len(cells) else 0
        walk.say("ingest.signal-unit-contradicts", what, _ONE_UNIT, line=line or section.line, column=place)


def _stated(plan: Plan, section: Section) -> Facts:
    return {name: Fact(value, section.line, 1, of_layout=True) for name, value in plan.stated.items()}


class _FactReader:
    """Asks for one fact after the other."""

    def __init__(self, plan: Plan, facts: Facts, line: int, walk: Walk) -> None:
        self._plan, self._facts, self._line, self._walk = plan, facts, line, walk

    def text(self, name: str, *, needed: bool = False) -> str:
        """The fact's text, or what its word means; empty where the file is silent."""
        fact = self._facts.get(name)
        if fact is None or not fact.text:
            if needed:
                what = f"The file does not say the run's {name}."
                self._walk.say("ingest.fact-missing", what, OTHER_LAYOUT, line=self._line)
            return ""
        words = self._plan.words.get(name)
        if words is None or (name in self._plan.stated and fact.text == self._plan.stated[name]):
            if len(fact.text) > LONGEST_FACT:
                self._refuse("ingest.fact-unreadable", fact, f"{name} is longer than {LONGEST_FACT} signs.")
            return unicodedata.normalize("NFC", fact.text)
        if fact.text not in words:
            known = ", ".join(f"'{word}'" for word in words)
            what = f"{name} is '{fact.text[:40]}'; the layout knows {known}."
            self._refuse("ingest.word-unknown", fact, what, OTHER_LAYOUT)
        return words.get(fact.text, "")

    def worded(self, name: str, *, needed: bool = True) -> str:
        """A fact that must be one of the terms of records; where it is not needed, or nothing."""
        fact, text = self._facts.get(name), self.text(name, needed=needed)
        terms = _CLOSED[name]
        if text and text not in terms and fact is not None:
            known = ", ".join(filter(None, terms))
            self._refuse("ingest.word-unknown", fact, f"{name} is '{text[:40]}'; it must be one of {known}.")
        return text if text in terms else terms[0]

    def element(self) -> str:
        """The element's symbol, the same at the section's end where the file repeats it."""
        fact, symbol = self._facts.get("element"), self.text("element", needed=True)
        if fact is not None and symbol and not _ELEMENT.fullmatch(symbol):
            self._refuse("ingest.fact-unreadable", fact, f"'{symbol[:20]}' is no symbol of an element.")
        again = self._facts.get("element_again")
        if again is not None and symbol and again.text != symbol:
            what = f"The section of {symbol} ends with element {again.text[:20]}: lines are missing between."
            self._refuse("ingest.cut-off", again, what)
        return symbol

    def number(self, name: str, *, needed: bool = True) -> str:
        """A fact that is a number; empty where it is not needed and the file is silent."""
        fact, text = self._facts.get(name), self.text(name, needed=needed)
        form = self._plan.layout.file
        number = plain_number(text, form.decimal_mark, form.thousands_mark) if text else ""
        if text and fact is not None and fact.of_layout:  # written as in all documents, whatever the file's mark
            number = plain_number(text, ".") or plain_number(text, ",")
        if number is None and fact is not None:
            what = f"{name} '{text[:40]}' is not a number. {why_unreadable(text, form.decimal_mark)}".rstrip()
            self._refuse(
                "ingest.number-unreadable", fact, what, remedy_of_mark(text, form.decimal_mark) or EXPORT_AGAIN
            )
        return number or ""

    def started_at(self, section: Section) -> str:
        """Local start ``YYYY-MM-DDTHH:MM:SS``, by the first row where no line says it; empty where nothing does."""
        day, clock = self._facts.get("started_date"), self._facts.get("started_time")
        of_row = ("", "") if day is not None and clock is not None else first_moment(section, self._plan)
        date_text = of_row[0] if day is None else self._date(day)
        time_text = of_row[1] if clock is None else self._time(clock)
        if (day is None) != (clock is None) and not of_row[0 if day is None else 1]:
            lacking = "day" if day is None else "time"
            what = f"The file does not say the {lacking} the run began."
            self._walk.say("ingest.fact-missing", what, OTHER_LAYOUT, line=self._line)
        return f"{date_text}T{time_text}" if date_text and time_text else ""

    def _date(self, day: Fact) -> str:
        form = self._plan.layout.file.date_form
        text = read_date(day.text, form)
        if text is None:
            self._refuse("ingest.date-unreadable", day, *unlike_date(day.text, form))
        return text or ""

    def _time(self, clock: Fact) -> str:
        form = self._plan.layout.file.time_form
        text = read_time(clock.text, form)
        if text is None:
            self._refuse("ingest.time-unreadable", clock, *unlike_time(clock.text, form))
        return text or ""

    def _refuse(self, code: str, fact: Fact, what: str, remedy: str = EXPORT_AGAIN) -> None:
        self._walk.say(code, what, remedy, line=fact.line, column=fact.column)
