"""Words, numbers and dates of a certificate in the form its evidence names.

Numbers of record are only shortened and put into the form here, never calculated with. A form is whole in the evidence
(``records.printed_form``): no table of a locale has to be had again to read a page years later.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from decimal import Decimal
from typing import TYPE_CHECKING, Final
from zoneinfo import ZoneInfo

from benchseal.certificate.words_de import DE
from benchseal.certificate.words_en import EN
from benchseal.records.printed_form import USUAL_FORM
from benchseal.records.quantities import plain, round_to_significant, unit_shown

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from benchseal.records.printed_form import Language, PrintedForm
    from benchseal.records.quantities import PlainDecimal

DASH: Final = "\N{EN DASH}"  # where a cell has nothing to say
MINUS: Final = "\N{MINUS SIGN}"
CATALOGUES: Final[dict[Language, dict[str, str]]] = {"en": EN, "de": DE}

_SIGNIFICANT_MOST: Final = 12
_IN_WORDS: Final = 12  # counts up to it
_PATTERN: Final = re.compile(r"d+|M+|y+|.")
_DAY_MONTH_YEAR: Final = re.compile(r"(?P<day>d\S*) MMMM y")
_NUMBER: Final = re.compile(r"(?P<whole>[0-9]+)(?:\.(?P<part>[0-9]+))?")


@dataclass(frozen=True, slots=True)
class Words:
    """One form with its catalogue: what everything that makes a page asks for its words."""

    form: PrintedForm

    @classmethod
    def in_language(cls, language: Language) -> Words:
        """The words of a language with the usual signs, for texts that hold no number."""
        return cls(replace(USUAL_FORM, language=language))

    @property
    def _texts(self) -> Mapping[str, str]:
        return CATALOGUES[self.form.language]

    def say(self, key: str, /, **values: object) -> str:
        """The sentence of a key with its places filled. Raises KeyError for a key or a place that is not there."""
        return self._texts[key].format_map(values)

    def template(self, key: str) -> str:
        """The sentence of a key with its places open."""
        return self._texts[key]

    def word(self, family: str, code: str, /, **values: object) -> str:
        """The words for a code of the record; the code itself where the catalogue has none."""
        found = self._texts.get(f"{family}/{code}")
        return code if found is None else found.format_map(values)

    def element(self, symbol: str) -> str:
        """``lead`` for ``Pb``; the symbol itself where it is not listed."""
        return self.word("element", symbol)

    def substance(self, symbol: str) -> str:
        """The element as a row begins with it: ``Lead``."""
        return capital(self.element(symbol))

    def unit(self, unit: str) -> str:
        """The reader's form of a unit code."""
        return "/".join(self.say("unit/day") if part == "day" else part for part in unit_shown(unit).split("/"))

    def number(self, text: PlainDecimal) -> str:
        """A number of record in print: its decimal sign, its groups of three, a true minus, a space after ``<``."""
        if text.startswith("<"):
            return f"< {self.number(text[1:].strip())}"
        if text.startswith("-"):
            return f"{MINUS}{self.number(text[1:])}"
        found = _NUMBER.fullmatch(text)
        if found is None:
            return text
        part = found["part"]
        return self._grouped(found["whole"]) + (f"{self.form.decimal}{part}" if part else "")

    def _grouped(self, whole: str) -> str:
        if not self.form.group:
            return whole
        first = len(whole) % 3
        parts = [whole[:first]] if first else []
        parts += [whole[at : at + 3] for at in range(first, len(whole), 3)]
        return self.form.group.join(parts)

    def short(self, text: PlainDecimal, digits: int) -> str:
        """A number of record with at most ``digits`` significant digits, without trailing zeros."""
        value = round_to_significant(Decimal(text), digits, "half_up")
        return self.number(_without_zeros(plain(value)))

    def short_against(self, text: PlainDecimal, *limits: PlainDecimal, digits: int = 3) -> str:
        """As ``short``, with as many digits as it takes to stand on the same side of each limit as the number."""
        value = Decimal(text)
        bounds = [Decimal(limit) for limit in limits if limit]
        for enough in range(digits, _SIGNIFICANT_MOST):
            cut = round_to_significant(value, enough, "half_up")
            if all((cut > bound) == (value > bound) and (cut < bound) == (value < bound) for bound in bounds):
                return self.short(text, enough)
        return self.number(text)

    def interval(self, low: PlainDecimal, high: PlainDecimal, unit: str) -> str:
        """``90 to 110 %``, ``±0.5 µg/L``, ``≤ 20 %``, ``≥ 0.990``; a dash where both sides are open."""
        tail = f" {self.unit(unit)}" if unit else ""
        if high and (not low or low == "0"):
            return f"≤ {self.number(high)}{tail}"
        if low and high:
            between = self.say("limit/between", lower=self.number(low), upper=self.number(high))
            return f"±{self.number(high)}{tail}" if low == f"-{high}" else f"{between}{tail}"
        return f"≥ {self.number(low)}{tail}" if low else DASH

    def limit(self, lower: PlainDecimal, upper: PlainDecimal, unit: str) -> str:
        """A limit in the words of a specification: ``not more than 0.50``, ``90.0 to 110.0 % of claim``.

        unit: said where it says more than that of the result beside it, else empty.
        """
        if lower and upper:
            said = self.say("limit/between", lower=self.number(lower), upper=self.number(upper))
        elif upper:
            said = self.say("limit/upper", upper=self.number(upper))
        else:
            said = self.say("limit/lower", lower=self.number(lower)) if lower else DASH
        return f"{said} {unit}" if unit and said != DASH else said

    def day(self, moment: date) -> str:
        """``19 January 2026``, by the pattern of the form."""
        return self._dated(moment, self.form.date)

    def _dated(self, moment: date, pattern: str) -> str:
        parts = {
            "d": str(moment.day),
            "dd": f"{moment.day:02d}",
            "MM": f"{moment.month:02d}",
            "MMMM": self.word("month", str(moment.month)),
            "y": str(moment.year),
        }
        return "".join(parts.get(sign, sign) for sign in _PATTERN.findall(pattern))

    def day_of(self, text: str) -> str:
        """A date ``YYYY-MM-DD`` in the form; empty stays empty. Raises ValueError for anything else."""
        return self.day(date.fromisoformat(text)) if text else ""

    def days(self, first: str, last: str) -> str:
        """``12 to 15 January 2026``: two dates ``YYYY-MM-DD`` without saying anything twice. Raises ValueError."""
        start, end = date.fromisoformat(first), date.fromisoformat(last)
        if start == end:
            return self.day(start)
        return self.say("date/days", first=self._dated(start, self._shortened(start, end)), last=self.day(end))

    def _shortened(self, start: date, end: date) -> str:
        """The pattern of a first day without the month and year that the last one says."""
        found = _DAY_MONTH_YEAR.fullmatch(self.form.date)
        if found is None or start.year != end.year:
            return self.form.date
        return found["day"] if start.month == end.month else f"{found['day']} MMMM"

    def signed_at(self, at: str, zone: str) -> str:
        """``2026-01-16 09:12:41 +01:00 (Europe/Berlin)``; in UTC where this machine does not know the zone."""
        try:
            moment = local(at, zone)
        except (KeyError, OSError):
            unknown = self.say("signed/zone_unknown", zone=zone)
            return f"{datetime.fromisoformat(at).astimezone(UTC):%Y-%m-%d %H:%M:%S} +00:00 ({unknown})"
        offset = moment.isoformat(timespec="seconds")[-6:]
        return f"{moment:%Y-%m-%d %H:%M:%S} {offset} ({zone})"

    def counted(self, count: int) -> str:
        """A count in words up to twelve."""
        return self.word("count", str(count)) if count <= _IN_WORDS else str(count)

    def listed(self, words: Sequence[str]) -> str:
        """``a``, ``a and b``, ``a, b and c``."""
        first = self.say("list/comma").join(words[:-1])
        return self.say("list/and").join(part for part in (first, *words[-1:]) if part)


def local(at: str, zone: str) -> datetime:
    """A UTC time of the record in the laboratory's zone. Raises ValueError or ZoneInfoNotFoundError."""
    return datetime.fromisoformat(at).astimezone(ZoneInfo(zone))


def capital(text: str) -> str:
    """The first letter as a capital."""
    return text[:1].upper() + text[1:]


def signal_unit(unit: str) -> str:
    """``A.s`` and ``A s`` are shown as ``A·s``."""
    return unit.replace(".", "·").replace(" ", "·")


def _without_zeros(text: str) -> str:
    return text.rstrip("0").rstrip(".") if "." in text else text


ENGLISH: Final = Words(USUAL_FORM)
