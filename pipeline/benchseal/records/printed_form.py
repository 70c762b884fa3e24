"""The form a certificate is printed in, whole: the language, the signs of its numbers, the pattern of its dates.

``USUAL_FORM`` is the one every certificate had before customers could ask for another; evidence leaves it out.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Final, Literal, TypeAlias, TypeVar

from benchseal.records.shape import LEFT_OUT_WHEN_EMPTY

T = TypeVar("T")
Language: TypeAlias = Literal["en", "de"]
DecimalSign: TypeAlias = Literal[".", ","]
GroupSign: TypeAlias = Literal["", "\u202f", ".", ",", "’"]  # noqa: RUF001  the sign that is printed
DatePattern: TypeAlias = Literal["d MMMM y", "d. MMMM y", "MMMM d, y", "dd.MM.y", "y-MM-dd"]


@dataclass(frozen=True, slots=True)
class PrintedForm:
    """decimal, group: signs of numbers; group is empty where figures are not grouped (U+202F is a narrow space).

    date: pattern of days, with the letters of Unicode's date field symbols (UTS 35, part 4): d, dd, MM, MMMM, y. order:
    symbols of the elements whose results stand first, in this order; the others follow in the specification's.
    """

    language: Language
    decimal: DecimalSign
    group: GroupSign
    date: DatePattern
    order: tuple[str, ...] = field(default=(), metadata=LEFT_OUT_WHEN_EMPTY)


USUAL_FORM: Final = PrintedForm("en", ".", "", "d MMMM y")
# The pattern of days on papers that no customer's form is for.
USUAL_DATES: Final[dict[Language, DatePattern]] = {"en": "d MMMM y", "de": "d. MMMM y"}


def in_order(items: Sequence[T], element_of: Callable[[T], str], order: Sequence[str]) -> list[T]:
    """Items of the elements named first, in that order, then the others; each group as it stood."""
    places = {symbol: place for place, symbol in enumerate(order)}
    return sorted(items, key=lambda one: places.get(element_of(one), len(places)))
