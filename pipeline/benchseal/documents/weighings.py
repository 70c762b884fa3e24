"""The print of a balance to masses in grams by portion, by a balance layout: every line accounted for, or a problem."""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import Decimal
from typing import TYPE_CHECKING

from benchseal.documents.grid import LARGEST_SHEET, unfit_signs
from benchseal.documents.patterns import compiled
from benchseal.documents.weighed_units import NUMBERS, PLACES, goes_on, unit_said
from benchseal.problems import Problem
from benchseal.records.encodings import CODECS, misread
from benchseal.records.quantities import is_plain_decimal, plain

if TYPE_CHECKING:
    from benchseal.records.balance_layout import BalanceLayout
    from benchseal.records.layout import LineRule

_AGAIN = "Weigh again, or print again at the balance; do not edit the print."
_SIGNS = (
    "Print again at the balance as plain text, one line below the other, without codes for a printer or page breaks."
)
_OTHER = "If the balance prints another form now, the layout needs a new version."
_PLAIN = "Masses are plain numbers in kg, g or mg, each with its portion."
_LONGEST_LINE = 500
_OTHER_MARK = str.maketrans(",.", ".,")


@dataclass(slots=True)
class _Weighing:
    """One weighing as read. rules: which of its lines came. facts: text by name. units: what its line says of each."""

    where: str
    rules: set[int] = field(default_factory=set)
    facts: dict[str, str] = field(default_factory=dict)
    units: dict[str, str] = field(default_factory=dict)


def read_weighings(data: bytes, source: str, layout: BalanceLayout) -> dict[str, str] | tuple[Problem, ...]:
    """Label to mass in grams as plain decimal text, every figure kept; or every problem with its line."""
    read = _read(data, source, layout)
    return read.masses() if isinstance(read, _Reader) else read


def weighing_times(data: bytes, source: str, layout: BalanceLayout) -> dict[str, str]:
    """Label to ``weighed_at`` as printed, of a print ``read_weighings`` reads; nothing of a weighing without."""
    read = _read(data, source, layout)
    return read.times() if isinstance(read, _Reader) else {}


def _read(data: bytes, source: str, layout: BalanceLayout) -> _Reader | tuple[Problem, ...]:
    """The print taken line by line; or why it is no text of the layout's."""
    if len(data) > LARGEST_SHEET:
        what = f"The print has {len(data)} bytes; at most {LARGEST_SHEET} are read."
        return (Problem("balance.too-large", source, what, "Split it."),)
    codec = {"utf-8": "utf-8-sig", "utf-16": "utf-16"}.get(layout.encoding, CODECS[layout.encoding])
    if found := misread(data, layout.encoding, codec):
        return (Problem("balance.unreadable", source, found[1], _OTHER),)
    try:
        text = data.decode(codec)
    except UnicodeDecodeError as fault:
        what = f"Byte {fault.start + 1} is not {layout.encoding} text."
        return (Problem("balance.unreadable", source, what, _OTHER),)
    if unfit := tuple(unfit_signs(text, source, _SIGNS)):
        return unfit
    reader = _Reader(layout, source)
    for number, line in enumerate(text.replace("\r\n", "\n").replace("\r", "\n").split("\n"), start=1):
        reader.take(line, f"{source}, line {number}")
    return reader


class _Reader:
    """Takes line after line; afterwards the weighings and every problem."""

    def __init__(self, layout: BalanceLayout, source: str) -> None:
        self._layout, self._source = layout, source
        self._problems: list[Problem] = []
        self._weighings: list[_Weighing] = []
        self._head = _Weighing(source)
        self._serials: dict[str, str] = {}

    def take(self, line: str, where: str) -> None:
        """One line."""
        layout = self._layout
        if not line.strip():
            return
        if len(line) > _LONGEST_LINE:
            self._say("balance.line-unread", where, f"The line has {len(line)} signs.", _OTHER)
        elif any(compiled(pattern).fullmatch(line) for pattern in layout.unstable_lines):
            self._say("balance.unstable", where, f"The balance had not settled: '{line.strip()[:60]}'.", _AGAIN)
        elif compiled(layout.weighing[0].line).fullmatch(line):
            self._weighings.append(_Weighing(where))
            self._fits(line, layout.weighing[:1], self._weighings[-1], where)
        elif not self._of_a_part(line, where) and not any(
            compiled(pattern).fullmatch(line) for pattern in layout.drop_lines
        ):
            what, remedy = f"The layout has no place for '{line.strip()[:60]}'.", _OTHER
            mark = layout.decimal_mark
            if self._known(line.translate(_OTHER_MARK)):
                what = f"{what} With decimal mark '{mark}' it would have one."
                remedy = f"Set the balance to write '{mark}', or have a layout approved for prints as this one."
            self._say("balance.line-unread", where, what, remedy)

    def masses(self) -> dict[str, str] | tuple[Problem, ...]:
        """What every weighing gives; or every problem."""
        if not self._weighings:
            self._say("balance.weighing-missing", self._source, "The print holds no weighing the layout knows.", _OTHER)
        self._lacking(self._head, self._layout.head)
        found: dict[str, str] = {}
        for weighing in self._weighings:
            self._lacking(weighing, self._layout.weighing)
            label, mass = weighing.facts.get("portion", ""), self._mass(weighing)
            if label in found:
                what = f"{label} is weighed twice."
                self._say("balance.twice", weighing.where, what, "Keep the weighing that counts, as one print.")
            found[label] = mass
        self._compare_serials()
        return tuple(self._problems) or found

    def times(self) -> dict[str, str]:
        """When each portion was weighed, where the print says it; the head says it of all."""
        every = self._head.facts.get("weighed_at", "")
        each = ((one.facts.get("portion", ""), one.facts.get("weighed_at", every)) for one in self._weighings)
        return {label: text for label, text in each if text}

    def _say(self, code: str, where: str, what: str, remedy: str) -> None:
        self._problems.append(Problem(code, where, what, remedy))

    def _known(self, line: str) -> bool:
        """Whether a line of weighings is written so."""
        return any(compiled(rule.line).fullmatch(line) for rule in (*self._layout.weighing, *self._layout.head))

    def _of_a_part(self, line: str, where: str) -> bool:
        """Whether a line is one of the weighing that is open, or of the head before the first."""
        if self._weighings:
            return self._fits(line, self._layout.weighing, self._weighings[-1], where)
        return self._fits(line, self._layout.head, self._head, where)

    def _fits(self, line: str, rules: tuple[LineRule, ...], part: _Weighing, where: str) -> bool:
        for nth, rule in enumerate(rules):
            match = compiled(rule.line).fullmatch(line)
            if match is None:
                continue
            if nth in part.rules:
                self._say("balance.line-repeated", where, f"This line comes twice: '{line.strip()[:60]}'.", _AGAIN)
            part.rules.add(nth)
            given = {name: text.strip() for name, text in match.groupdict().items() if text is not None}
            part.facts |= given
            numbers = [name for name in NUMBERS if name in given]
            part.units |= {name: unit_said(line, rule, match, name) for name in numbers}
            for more in (goes_on(line, rule, match, name, self._layout.decimal_mark) for name in numbers):
                if more:
                    what = f"The pattern '{rule.line[:60]}' takes a part of the number '{more}' only."
                    self._say("balance.row", where, what, _OTHER)
            if "serial" in given:
                self._serials.setdefault(given["serial"], where)
            return True
        return False

    def _lacking(self, part: _Weighing, rules: tuple[LineRule, ...]) -> None:
        for nth, rule in enumerate(rules):
            if rule.needed and nth not in part.rules:
                self._say("balance.line-missing", part.where, f"The line '{rule.line}' is missing.", _AGAIN)

    def _mass(self, weighing: _Weighing) -> str:
        """The mass in grams. What was printed beside it must give the same."""
        facts, where = weighing.facts, weighing.where
        if "mass" not in facts:
            return ""  # told as a line that is missing
        if not facts.get("portion"):
            self._say("balance.row", where, "The weighing names no portion.", _PLAIN)
            return ""
        grams = {name: self._grams(name, weighing) for name in NUMBERS if name in facts}
        odd = [said for said in grams.values() if isinstance(said, str)]
        if odd:
            self._say("balance.row", where, odd[0], _PLAIN)
            return ""
        gross, tare, mass = (grams.get(name) for name in ("gross", "tare", "mass"))
        if isinstance(gross, Decimal) and isinstance(tare, Decimal) and gross - tare != mass:
            what = f"Gross {gross} g less tare {tare} g is not {mass} g."
            self._say("balance.sum-differs", where, what, _AGAIN)
        if not isinstance(mass, Decimal) or mass <= 0:
            self._say("balance.row", where, f"A mass of {mass} g is none.", _AGAIN)
            return ""
        return plain(mass)

    def _grams(self, name: str, weighing: _Weighing) -> Decimal | str:
        """A number of the weighing in grams, in the unit its own line says; or why there is none."""
        text, number = weighing.facts[name], self._number(weighing.facts[name])
        of_mass = weighing.facts.get("unit") or self._layout.unit
        stated = of_mass if name == "mass" else weighing.facts.get(f"{name}_unit") or self._layout.unit
        behind = weighing.units[name]
        if number is None:
            return f"The {name} '{text[:30]}' cannot be read."
        if stated and behind and stated != behind:
            return f"The {name} is in {behind[:20]} by its line, in {stated[:20]} by the layout."
        unit = stated or behind or of_mass
        return number.scaleb(PLACES[unit]) if unit in PLACES else f"The unit '{unit[:20]}' of {name} cannot be read."

    def _number(self, text: str) -> Decimal | None:
        mark = self._layout.decimal_mark
        pointed = text.replace(" ", "")
        if mark == "," and "." in pointed:
            return None
        pointed = pointed.replace(mark, ".").removeprefix("+")
        return Decimal(pointed) if is_plain_decimal(pointed) else None

    def _compare_serials(self) -> None:
        due = self._layout.serial
        for serial, where in self._serials.items():
            if due and serial != due:
                what = f"The print is of balance {serial[:40]}; the layout is for {due}."
                self._say("balance.serial-differs", where, what, "Use the layout of this balance.")
        if due and not self._serials and not self._problems:
            what = f"The print does not say that it is of balance {due}."
            self._say("balance.serial-differs", self._source, what, _OTHER)
        if not due and len(self._serials) > 1:
            what = f"The print is of several balances: {', '.join(self._serials)[:80]}."
            self._say("balance.serial-differs", self._source, what, "Give each balance's print by itself.")
