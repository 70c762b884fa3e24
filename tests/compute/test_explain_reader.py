"""A reader with a calculator: takes a printed calculation, works every formula out again, and believes nothing.

Tolerance. A number of record has 12 significant digits, so each one in a formula stands for anything within half a
unit of its last digit; raw readings, masses, volumes and limits are exact as written. The calculation itself is binary
float64, so each operation may move its result by a few units of 2^-53. The reader carries both through the formula as
an interval (60 digits) and asks that the printed value lies in it to within half a unit of its own 12th digit. What
the record computes in decimal (means of portions, acceptance limits, U, dilutions) is asked for exactly.
"""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass, field
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_EVEN, ROUND_HALF_UP, Context, Decimal, localcontext
from typing import TYPE_CHECKING, Any

import pytest

from benchseal.compute.explain_budget import BAR, LONGEST_BAR
from benchseal.compute.explain_layout import WIDTH
from benchseal.records.quantities import known_units, unit_shown

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from benchseal.records.results import Calibration

FLOAT64 = Decimal(2) ** -50  # eight units of 2^-53
DIGITS_OF_RECORD = 12
ALMOST_WHOLE = Decimal("1e-9")  # so near below a whole number, degrees of freedom are not cut (``budget.py``)
UNITS = sorted({*map(unit_shown, known_units()), "mL", "dm²", "A", "A.s", "A s"}, key=len, reverse=True)
UNIT = "|".join(map(re.escape, UNITS))
# Words a formula with letters may hold; what is bound to a number is worked out as well.
WORDS = (
    "A", "c", "u", "k", "b0", "b1", "b2", "dilution", "blank", "volume", "mass", "unit mass", "claim", "surface",
    "moisture", "limit", "daily exposure", "daily dose", "reading noise", "calibration curve",
    "method blank, reading noise", "a0", "a1", "s", "n", "mean A", "mean added", "Sxx", "An", "As", "Ab", "F",
    "one-standard correction", "c1", "c2", "A1", "A2", "u1", "u2", "uA", "between two standards",
    "f", "B", "S", "r", "Ac", *(f"{letter}{number}" for letter in "BS" for number in range(1, 10)),
)  # fmt: skip
EXACT = re.compile(r"Mean of \d+ portions|acceptance limit, (lower|upper)|U|upper limit|dilution")
RAW = {"A"}  # made from readings, which are exact however many digits they have
ROUNDED = re.compile(r"^(\S+) rounded once, (a half goes up|a half goes to the even|always up)\b.*: (\S+)$")
SHARE = re.compile(rf"^ {{4}}(\S.*?) +(\d+(?:\.\d+)?) +(<?\d+\.\d) %(?:  ({BAR}+))?$")


class NotUnderstoodError(AssertionError):
    """A line with a sign of equality that the reader cannot work out."""


class WrongError(AssertionError):
    """A printed value that its printed formula does not give."""


@dataclass(frozen=True)
class Span:
    """Everything a number may be."""

    low: Decimal
    high: Decimal
    exact: bool = False

    def wider(self, by: Decimal) -> Span:
        return self if self.exact else Span(self.low - by, self.high + by)

    def __add__(self, other: Span) -> Span:
        size = max(map(abs, (self.low, self.high, other.low, other.high)))
        return Span(self.low + other.low, self.high + other.high, self.exact and other.exact).wider(size * FLOAT64)

    def __neg__(self) -> Span:
        return Span(-self.high, -self.low, self.exact)

    def __mul__(self, other: Span) -> Span:
        ends = [one * two for one in (self.low, self.high) for two in (other.low, other.high)]
        return Span(min(ends), max(ends), self.exact and other.exact).wider(max(map(abs, ends)) * FLOAT64)

    def __truediv__(self, other: Span) -> Span:
        assert other.low > 0 or other.high < 0, "a division by what may be zero"
        ends = [one / two for one in (self.low, self.high) for two in (other.low, other.high)]
        return Span(min(ends), max(ends), self.exact and other.exact).wider(max(map(abs, ends)) * FLOAT64)

    def root(self) -> Span:
        """Square root; below zero is what rounding may have left of zero."""
        assert self.high >= 0, "the root of a number below zero"
        low, high = max(self.low, Decimal(0)).sqrt(), self.high.sqrt()
        return Span(low, high, self.exact).wider(high * FLOAT64)


def half_unit(text: str) -> Decimal:
    """Half a unit of the 12th significant digit of a number that has them, else 0."""
    digits = text.lstrip("-").replace(".", "").lstrip("0")
    if len(digits) < DIGITS_OF_RECORD:
        return Decimal(0)
    return Decimal(5).scaleb(Decimal(text).adjusted() - DIGITS_OF_RECORD)


def number(text: str, mode: str) -> Span:
    """A printed number: ``exact``, ``raw`` (a float64 of what is written) or ``record``."""
    value = Decimal(text)
    if mode == "exact":
        return Span(value, value, exact=True)
    half = half_unit(text) if mode == "record" else Decimal(0)
    return Span(value - half, value + half).wider(abs(value) * FLOAT64)


def without_notes(text: str) -> str:
    """The formula without notes beside a factor: ``(µg/L to mg/L)``, ``(Zn to ZnO)``, ``(at the instrument)``."""
    text = text.replace(" (at the instrument)", "")
    while note := re.search(r" \(\S+ to ", text):
        depth, end = 0, note.start() + 1
        for end in range(note.start() + 1, len(text)):
            depth += {"(": 1, ")": -1}.get(text[end], 0)
            if depth == 0:
                break
        text = text[: note.start()] + text[end + 1 :]
    return text


@dataclass
class Formula:
    """One member of a chain, worked out by recursive descent: + - x / ( ) √ ² ⁴ and a product without a sign."""

    text: str
    mode: str
    known: dict[str, Span]
    unbound: list[str] = field(default_factory=list)
    place: int = 0

    def value(self) -> Span | None:
        """What it gives; nothing where a word in it has no number here."""
        found = self._sum()
        if self.text[self.place :].strip():
            raise NotUnderstoodError(f"{self.text!r} from {self.text[self.place :]!r} on")
        return None if self.unbound else found

    def _sum(self) -> Span:
        total = self._product()
        while sign := self._take("+", "-"):
            other = self._product()
            total = total + (other if sign == "+" else -other)
        return total

    def _product(self) -> Span:
        total = self._factor()
        while True:
            sign = self._take("x", "/")
            if not sign and not re.match(r"\s*[(√A-Za-z0-9]", self.text[self.place :]):
                return total
            other = self._factor()
            total = total / other if sign == "/" and not self.unbound else total * other

    def _factor(self) -> Span:
        if self._take("-"):
            return -self._factor()
        found = self._atom()
        while power := self._take("²", "⁴"):
            found = found * found if power == "²" else found * found * found * found
        return found

    def _atom(self) -> Span:
        if self._take("√"):
            inner = self._brackets()
            return inner if self.unbound else inner.root()
        if re.match(r"\s*\(", self.text[self.place :]):
            return self._brackets()
        if found := re.match(rf"\s*(\d+(?:\.\d+)?)(?: (?:{UNIT})(?![A-Za-z0-9/]))?", self.text[self.place :]):
            self.place += found.end()
            return number(found[1], self.mode)
        return self._word()

    def _brackets(self) -> Span:
        if not self._take("("):
            raise NotUnderstoodError(f"{self.text!r}: a bracket should open at {self.place}")
        inner = self._sum()
        if not self._take(")"):
            raise NotUnderstoodError(f"{self.text!r}: a bracket should close at {self.place}")
        return inner

    def _word(self) -> Span:
        rest = self.text[self.place :].lstrip()
        name = max(
            (word for word in WORDS if re.match(rf"{re.escape(word)}(?![A-Za-z0-9])", rest)), key=len, default=""
        )
        if not name and (substance := re.match(r"factor to \S+", rest)):
            name = substance[0]
        if not name:
            raise NotUnderstoodError(f"{self.text!r} from {rest!r} on")
        self.place = len(self.text) - len(rest) + len(name)
        if name not in self.known:
            self.unbound.append(name)
            return Span(Decimal(1), Decimal(1))
        return self.known[name]

    def _take(self, *signs: str) -> str:
        found = re.match(r"\s*([-+x/()²⁴√])", self.text[self.place :])
        if not found or found[1] not in signs or (found[1] == "x" and re.match(r"\s*x\w", self.text[self.place :])):
            return ""
        self.place += found.end()
        return found[1]


@dataclass
class Reader:
    """Reads a printed calculation from top to bottom. free: texts of the record, which may hold anything."""

    calibration: Calibration
    free: Sequence[str]
    known: dict[str, Span] = field(default_factory=dict)
    followed: Counter[str] = field(default_factory=Counter)

    def read(self, lines: Sequence[str]) -> Counter[str]:
        """How often each formula was worked out. Raises for a line not understood, a wrong value, a line too wide."""
        with localcontext(Context(prec=60)):
            for name, members in self._chains(lines):
                self._work_out(re.sub(r":.*", "", name), members)
        return self.followed

    def _chains(self, lines: Sequence[str]) -> Iterator[tuple[str, list[str]]]:
        name, column = "", -1
        members: list[str] = []
        for line in (*lines, ""):
            assert len(line) <= WIDTH, f"{len(line)} signs: {line}"
            text, indent = line.strip(), len(line) - len(line.lstrip())
            if self._is_quoted(text):
                text = ""
            if text.startswith("= ") and (members or name):
                members.append(text.removeprefix("= "))
                column = indent
            elif members and indent > column >= 0 and re.match(r"[-+x/] ", text):
                members[-1] += f" {text}"
            else:
                if members:
                    yield name, members
                name, members, column = text, [], -1
                if " = " in text:
                    name, first = text.split(" = ", 1)
                    members, column = [first], line.index(" = ") + 1
                elif "=" in text:
                    raise NotUnderstoodError(line)
                self._notice(line)

    def _is_quoted(self, text: str) -> bool:
        """Whether a line with a sign of equality is words of the record, after a label at most."""
        tails = (text, *(text[found.end() :] for found in re.finditer(": ", text)))
        return "=" in text and any(
            tail and "=" not in text.removesuffix(tail) and tail in whole for tail in tails for whole in self.free
        )

    def _notice(self, line: str) -> None:
        """Numbers that tables give a name to, and roundings, which are checked."""
        if re.match(r"\s*Portion |\S", line):
            for gone in ("A", "c"):
                self.known.pop(gone, None)
        if found := re.match(r"  (b[012])  +(-?[\d.]+)  standard error", line):
            self.known[found[1]] = number(found[2], "record")
        if found := SHARE.match(line):
            self.known[found[1]] = number(found[2], "record")
            self._share(found)
        if found := ROUNDED.match(line.strip()):
            self._rounded(*found.groups())

    def _share(self, found: re.Match[str]) -> None:
        self.followed["bar"] += 1
        share = Decimal(found[3].lstrip("<"))
        if abs(len(found[4] or "") - share * LONGEST_BAR / 100) > Decimal("0.52"):
            raise WrongError(f"the bar of {found[0]}")

    def _rounded(self, value: str, how: str, printed: str) -> None:
        modes = {
            "a half goes up": ROUND_HALF_UP,
            "a half goes to the even": ROUND_HALF_EVEN,
            "always up": ROUND_CEILING,
        }
        if all(Decimal(value).quantize(unit, rounding=modes[how]) != Decimal(printed) for unit in places_of(printed)):
            raise WrongError(f"{value} rounded is not {printed}")
        self.followed["rounded"] += 1

    def _work_out(self, name: str, members: list[str]) -> None:
        self.followed[re.sub(r"\d+ portions", "portions", name)] += 1
        if name == "A" and " c" in members[-1]:
            self._curve(members)
            return
        value, note = re.fullmatch(rf"(-?\d+(?:\.\d+)?)(?: (?:{UNIT}))?(.*)", members[-1]).groups()  # type: ignore[union-attr]
        mode = "exact" if EXACT.fullmatch(name) else "raw" if name in RAW else "record"
        for member in members[:-1]:
            found = Formula(without_notes(member), mode, self.known if mode != "exact" else {}).value()
            if found is not None:
                self.followed["worked out"] += 1
                _compare(found, value, note, f"{name} = {member} = {members[-1]}")
        if not any(re.search(r"\d", member) for member in members[:-1]) and name != "k":
            raise NotUnderstoodError(f"{name}: no formula with numbers")
        self.known[name] = number(value, "record")

    def _curve(self, members: list[str]) -> None:
        """The curve's equation gives the signal of each level."""
        for level in self.calibration.levels:
            known = {**self.known, "c": number(level.concentration, "raw")}
            found = Formula(members[-1], "record", known).value()
            assert found is not None
            _compare(found, level.fitted_signal, "", f"A = {members[-1]} at {level.concentration}")
            self.followed["worked out"] += 1
        Formula(members[0], "record", {}).value()


def _compare(found: Span, printed: str, note: str, where: str) -> None:
    half = half_unit(printed)
    ranges = _whole(found, printed, note) if note else [(found.low - half, found.high + half)]
    if not any(low <= Decimal(printed) <= high for low, high in ranges):
        raise WrongError(f"{where}: {found.low:.16g} to {found.high:.16g}")


def places_of(printed: str) -> list[Decimal]:
    """The unit a number may have been rounded to: that of its last digit, or of a zero before the point."""
    places = Decimal(printed).as_tuple().exponent
    assert isinstance(places, int)
    zeros = len(printed) - len(printed.rstrip("0")) if "." not in printed else 0
    return [Decimal(1).scaleb(places + more) for more in range(zeros + 1)]


def _whole(found: Span, printed: str, note: str) -> list[tuple[Decimal, Decimal]]:
    """The interval rounded as the note says, to the places printed."""
    modes = {", rounded up": ROUND_CEILING, ", rounded down": ROUND_FLOOR, ", cut downwards": ROUND_FLOOR}
    if note not in modes:
        raise NotUnderstoodError(note)
    almost = 1 + ALMOST_WHOLE if note == ", cut downwards" else Decimal(1)
    ends = (found.low, found.high * almost)
    return [tuple(end.quantize(unit, rounding=modes[note]) for end in ends) for unit in places_of(printed)]  # type: ignore[misc]


def texts_of(plain: Any) -> Iterable[str]:  # noqa: ANN401  JSON of any shape
    """Every text inside plain data, its blanks as ``textwrap`` leaves them."""
    if isinstance(plain, str):
        yield " ".join(plain.split())
    elif isinstance(plain, dict):
        for one in plain.values():
            yield from texts_of(one)
    elif isinstance(plain, list | tuple):
        for one in plain:
            yield from texts_of(one)


# ------------------------------------------------------------------ the reader itself


def worked(text: str, mode: str = "record", **known: str) -> Span | None:
    with localcontext(Context(prec=60)):
        named = {name: number(value, mode) for name, value in known.items()}
        return Formula(without_notes(text), mode, named).value()


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("(1 + 2) / 3", "1"),
        ("2 x 3 mg/L x 4 mL / 6 g", "4"),
        ("8 µg/L / 2 x 1/1000 (µg/L to mg/L)", "0.004"),
        ("6 x 1.5 (Pb to Pb(NO3)2)", "9"),
        ("√((3 mg x 1 (mg to mg))² + 4²)", "5"),
        ("100 mL / 5 mL x 10 (at the instrument)", "200"),
        ("2⁴ / (4² / 4)", "4"),
        ("1 - (-2) x 3", "7"),
        ("10 % x 3 / (1 - 50.0/100)", "60"),
        ("-2 + 5 ng/g", "3"),
    ],
)
def test_the_reader_works_formulas_out(text: str, value: str) -> None:
    found = worked(text, "exact")
    assert found is not None
    assert found.low == Decimal(value)


def test_letters_are_worked_out_where_they_are_known() -> None:
    found = worked("2 (A - b0) / (b1 + √(b1² - 4 b2 (b0 - A)))", "raw", A="6", b0="0", b1="1", b2="1")
    assert found is not None
    assert found.low < Decimal(2) < found.high
    assert worked("c x dilution x volume / mass x factor to ZnO", c="1") is None


@pytest.mark.parametrize("text", ["2 x", "2 ppm x 3", "(2", "2 times 3", "c x colour", "2 ** 3", "3 | 4", "x 2"])
def test_the_reader_does_not_guess(text: str) -> None:
    with pytest.raises(NotUnderstoodError):
        worked(text, c="1")


def test_twelve_digits_stand_for_half_a_unit_and_fewer_for_themselves() -> None:
    assert half_unit("0.0250000000000") == Decimal("5E-14")
    assert half_unit("123.456789012") == Decimal("5E-10")
    assert half_unit("0.5018") == 0
