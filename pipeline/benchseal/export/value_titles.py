"""What the title of a value, an uncertainty or a limit may not say, since its rows say it differently, or never.

Common practice, no source. The words are lists (``senses``, ``title_words``); beside them stand what a figure says: a
power of ten, and the coverage factor (k of JCGM 100:2008, 6.2.1).
"""

from __future__ import annotations

import re
import unicodedata
from decimal import Decimal
from typing import TYPE_CHECKING, Final

from benchseal.export.record_words import VALUES, WITH_UNIT
from benchseal.export.title_words import senses_in, without_units

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.records.profile import Column, Profile

_OF_A_VALUE: Final = WITH_UNIT | {"qualifier", "verdict", "reported_kind"}
_POWER: Final = re.compile(
    r"(?<!\d)(?:[x\u00d7*\u00b7/\u00f7]|\bmal|\btimes)\s*10+(?!\d|\s*(?:[kmu]?g|m?l)\b)|\b10\s*(?:\^\s*[-+\u2212]?|[-\u2212]\s*)\d"
    r"|\be[-+\u2212]\d+\b|\b\de\d+\b",
    re.IGNORECASE,
)
_FACTOR: Final = re.compile(r"\bk\s*([=:]?)\s*(\d+(?:[.,]\d+)?)\b", re.IGNORECASE)
_USUAL_FACTOR: Final = 2


def value_titled(column: Column, profile: Profile) -> Iterator[tuple[str, str, str]]:
    """Code, what, remedy of each thing the title of a column says that its rows do not."""
    if column.field in _OF_A_VALUE and column.form != "flag" and (said := never_said(column.title)):
        what = f"its title says {said}, and released results stand in it as they were released."
        yield "title-misleads", what, "Leave it out of the title."
    if column.field not in WITH_UNIT:
        return
    title = without_units(column.title)
    for field, of_every in _said_of_rows(column, profile):
        told = [sense for sense in senses_in(field, title, is_short=True) if "total" not in sense.words]
        if told:
            what = f"its title is read as {told[0].says}, and rows of every {of_every} stand in it."
            yield "title-misleads", what, f"Leave it out of the title, and add a column with field {field}."
    if column.field == "expanded_uncertainty":
        yield from _factor_titled(column, profile)


def never_said(title: str) -> str:
    """What a title says that is true of no released value; empty for nothing."""
    power = _POWER.search(without_units(title))
    if power:
        return repr(power[0].strip())
    return next((f"that it is {sense.says}" for sense in senses_in("value", title)), "")


def _said_of_rows(column: Column, profile: Profile) -> Iterator[tuple[str, str]]:
    """Fields of which a title may name no word, and what of rows they are; a fraction is its method's."""
    yield "basis", "basis"
    if len(profile.choose.methods) != 1:
        yield "fraction", "fraction"
    if " " in column.of and column.field in VALUES:
        yield "sum_bound", "bound"


def _factor_titled(column: Column, profile: Profile) -> Iterator[tuple[str, str, str]]:
    said = _FACTOR.search(unicodedata.normalize("NFKC", column.title))
    if said is None or (not said[1] and "K" in column.of.split()):  # K of potassium
        return
    shown = any(one.field == "coverage_factor" and one.of == column.of for one in profile.columns)
    if Decimal(said[2].replace(",", ".")) == _USUAL_FACTOR and shown:
        return
    what = f"its title says {said[0]!r}, and each row has the coverage factor of its method."
    yield "title-misleads", what, "Leave it out of the title, and add a column with field coverage_factor."
