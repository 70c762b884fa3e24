"""The English of a certificate: dates, numbers as printed, and the plain words for codes of the record.

Numbers of record are only shortened here, never calculated with.
"""

from __future__ import annotations

from datetime import UTC, date, datetime
from decimal import Decimal
from typing import TYPE_CHECKING, Final
from zoneinfo import ZoneInfo

from benchseal.records.quantities import plain, round_to_significant, unit_shown

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.certificate.view import Verdict as Kind
    from benchseal.records.method import Technique
    from benchseal.records.quantities import PlainDecimal
    from benchseal.records.results import Verdict
    from benchseal.records.specification import BoundRule, DecisionRule

WORDING: Final = 3  # changes when a word or form of the printed page may; evidence says which it was printed by
DASH: Final = "\N{EN DASH}"  # where a cell has nothing to say
MINUS: Final = "\N{MINUS SIGN}"

# Not from the locale: a certificate reads the same on every machine.
_MONTHS = (
    *("January", "February", "March", "April", "May", "June"),
    *("July", "August", "September", "October", "November", "December"),
)
_COUNTS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")
_SIGNIFICANT_MOST: Final = 12

TECHNIQUES: Final[dict[Technique, str]] = {
    "flame": "flame",
    "furnace": "graphite furnace",
    "cold_vapour": "cold vapour",
    "hydride": "hydride",
}
MODELS: Final[dict[str, str]] = {
    "line": "line",
    "line_through_zero": "line through zero",
    "quadratic": "parabola",
}
MODELS_IN_SENTENCES: Final[dict[str, str]] = {
    "line": "a straight line",
    "line_through_zero": "a straight line through zero",
    "quadratic": "a parabola",
}
WEIGHTINGS: Final[dict[str, str]] = {
    "none": "unweighted",
    "1/x": "weights 1/x",
    "1/x2": "weights 1/x²",
    "1/s2": "weights 1/s²",
    "variance_function": "weights by a variance function",
}
ROLES: Final[dict[str, str]] = {"approver": "quality approver"}

RULES: Final[dict[DecisionRule, str]] = {
    "simple": "simple",
    "guarded": "guarded",
    "guarded_5": "guarded, 5 %",
    "nonbinary": "four verdicts",
    "pharma": "rounded",
    "beyond_doubt": "beyond doubt",
}
RULE_SENTENCES: Final[dict[DecisionRule, str]] = {
    "simple": (
        "simple acceptance: the unrounded result is compared with the limit; "
        "the uncertainty is stated but does not move the limit"
    ),
    "guarded": (
        "guarded acceptance: a result complies when it keeps at least its expanded uncertainty U away from the limit"
    ),
    "guarded_5": (
        "guarded acceptance: a result complies when it keeps at least 1.645 standard uncertainties away from "
        "the limit, which keeps the risk of a wrong acceptance at or below 5 %"
    ),
    "nonbinary": (
        "guard bands of U on both sides of the limit: a result within one complies, or does not comply, conditionally"
    ),
    "pharma": (
        "the result is rounded once to the places of the limit as written and then compared with it; "
        "the uncertainty is stated but does not move the limit"
    ),
    "beyond_doubt": ("a result does not comply only when it exceeds the limit by more than its expanded uncertainty U"),
}
BOUNDS: Final[dict[BoundRule, str]] = {
    "lower_bound": "lower bound",
    "medium_bound": "medium bound",
    "upper_bound": "upper bound",
}
BOUND_SENTENCES: Final[dict[BoundRule, str]] = {
    "lower_bound": "values below the quantification limit counted as zero",
    "medium_bound": "values below the quantification limit counted as half of it",
    "upper_bound": "values below the quantification limit counted as that limit in full",
}
VERDICTS: Final[dict[Verdict, tuple[str, Kind]]] = {
    "pass": ("complies", "complies"),
    "fail": ("does not comply", "fails"),
    "conditional pass": ("complies conditionally", "open"),
    "conditional fail": ("does not comply, conditionally", "fails"),
    "none": ("no statement", "open"),
}
NOT_JUDGED: Final[tuple[str, Kind]] = ("not judged", "open")


def day(moment: date) -> str:
    """``19 January 2026``."""
    return f"{moment.day} {_MONTHS[moment.month - 1]} {moment.year}"


def day_of(text: str) -> str:
    """A date ``YYYY-MM-DD`` as ``19 January 2026``; empty stays empty. Raises ValueError for anything else."""
    return day(date.fromisoformat(text)) if text else ""


def days(first: str, last: str) -> str:
    """``12 to 15 January 2026``: two dates ``YYYY-MM-DD`` without saying anything twice. Raises ValueError."""
    start, end = date.fromisoformat(first), date.fromisoformat(last)
    if start == end:
        return day(start)
    if start.year != end.year:
        return f"{day(start)} to {day(end)}"
    if start.month != end.month:
        return f"{start.day} {_MONTHS[start.month - 1]} to {day(end)}"
    return f"{start.day} to {day(end)}"


def local(at: str, zone: str) -> datetime:
    """A UTC time of the record in the laboratory's zone. Raises ValueError or ZoneInfoNotFoundError."""
    return datetime.fromisoformat(at).astimezone(ZoneInfo(zone))


def signed_at(at: str, zone: str) -> str:
    """``2026-01-16 09:12:41 +01:00 (Europe/Berlin)``; in UTC where this machine does not know the zone."""
    try:
        moment = local(at, zone)
    except (KeyError, OSError):
        return f"{datetime.fromisoformat(at).astimezone(UTC):%Y-%m-%d %H:%M:%S} +00:00 ({zone} is not known here)"
    offset = moment.isoformat(timespec="seconds")[-6:]
    return f"{moment:%Y-%m-%d %H:%M:%S} {offset} ({zone})"


def counted(count: int) -> str:
    """A count in words up to twelve."""
    return _COUNTS[count] if count < len(_COUNTS) else str(count)


def listed(words: Sequence[str]) -> str:
    """``a``, ``a and b``, ``a, b and c``."""
    return " and ".join(part for part in (", ".join(words[:-1]), *words[-1:]) if part)


def capital(text: str) -> str:
    """The first letter as a capital."""
    return text[:1].upper() + text[1:]


def printed(text: str) -> str:
    """A number of record in print: a true minus, and a space after ``<``."""
    if text.startswith("<"):
        return f"< {printed(text[1:].strip())}"
    return f"{MINUS}{text[1:]}" if text.startswith("-") else text


def short(text: PlainDecimal, digits: int) -> str:
    """A number of record with at most ``digits`` significant digits, without trailing zeros."""
    value = round_to_significant(Decimal(text), digits, "half_up")
    return printed(_without_zeros(plain(value)))


def _without_zeros(text: str) -> str:
    return text.rstrip("0").rstrip(".") if "." in text else text


def short_against(text: PlainDecimal, *limits: PlainDecimal, digits: int = 3) -> str:
    """As ``short``, with as many digits as it takes to stand on the same side of each limit as the number itself."""
    value = Decimal(text)
    bounds = [Decimal(limit) for limit in limits if limit]
    for enough in range(digits, _SIGNIFICANT_MOST):
        cut = round_to_significant(value, enough, "half_up")
        if all((cut > bound) == (value > bound) and (cut < bound) == (value < bound) for bound in bounds):
            return short(text, enough)
    return printed(text)


def interval(low: PlainDecimal, high: PlainDecimal, unit: str) -> str:
    """``90 to 110 %``, ``±0.5 µg/L``, ``≤ 20 %``, ``≥ 0.990``; a dash where both sides are open."""
    tail = f" {unit_shown(unit)}" if unit else ""
    if high and (not low or low == "0"):
        return f"≤ {printed(high)}{tail}"
    if low and high:
        both = f"±{high}" if low == f"-{high}" else f"{printed(low)} to {printed(high)}"
        return f"{both}{tail}"
    return f"≥ {printed(low)}{tail}" if low else DASH


def limit(lower: PlainDecimal, upper: PlainDecimal, unit: str) -> str:
    """A limit in the words of a specification: ``not more than 0.50``, ``90.0 to 110.0 % of claim``.

    unit: said where it says more than that of the result beside it, else empty.
    """
    tail = f" {unit}" if unit else ""
    if lower and upper:
        return f"{printed(lower)} to {printed(upper)}{tail}"
    if upper:
        return f"not more than {printed(upper)}{tail}"
    return f"not less than {printed(lower)}{tail}" if lower else DASH


def basis(name: str) -> str:
    """On which mass a value is given, as a row says it: ``as received``, ``on dry basis``."""
    return "on dry basis" if name == "dry" else name


def signal_unit(unit: str) -> str:
    """``A.s`` and ``A s`` are shown as ``A·s``."""
    return unit.replace(".", "·").replace(" ", "·")
