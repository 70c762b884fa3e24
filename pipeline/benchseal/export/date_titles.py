"""What the title of a date says of how it is written: the order of its parts, and the zone of its time.

Letters for day, month and year in English, German, French, Spanish and Italian, and abbreviations of zones with their
hours from UTC: common practice, no source. They only ever refuse more.
"""

from __future__ import annotations

import re
import unicodedata
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Final
from zoneinfo import ZoneInfo

from benchseal.export.cells import form_of
from benchseal.export.dates import is_zone, tokens
from benchseal.records.released import DATE_FIELDS, DAYS

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.records.profile import Column

_RECORDED: Final = "YYYY-MM-DD"  # as it stands without date_form: ISO 8601
_PART: Final = "yyyy|jjjj|aaaa|yy|jj|aa|mm|dd|tt|gg"
_SPELLED: Final = re.compile(rf"(?<![^\W\d_])(?:{_PART})(?:[./ _-]{{0,2}}(?:{_PART}))++(?![^\W\d_])")
_TIME: Final = re.compile(r"t?hh[:._ ]?mm(?:[:._ ]?ss)?")  # whose minutes would be a month
_DAYS: Final = frozenset({"dd", "tt", "gg"})
HOURS: Final[dict[str, tuple[float, ...]]] = {
    "utc": (0,), "gmt": (0,), "zulu": (0,), "bst": (1,), "cet": (1,), "mez": (1,), "cest": (2,), "mesz": (2,),
    "eet": (2,), "oez": (2,), "eest": (3,), "oesz": (3,), "msk": (3,), "jst": (9,),
    "edt": (-4,), "est": (-5,), "cdt": (-5,), "cst": (-6, 8), "mdt": (-6,), "mst": (-7,), "pdt": (-7,), "pst": (-8,),
}  # fmt: skip
_ALL_YEAR: Final = frozenset({"utc", "gmt", "zulu"})
_OFFSET: Final = re.compile(r"\b(?:utc|gmt)\s*([+\u2212-])\s*([01]?[0-9])(?::?([0-5][0-9]))?(?![0-9])")
_ZONE: Final = re.compile(r"[A-Z][A-Za-z]+(?:/[A-Z][A-Za-z_-]+)+")
_SUMMER_AND_WINTER: Final = (datetime(2026, 1, 15, tzinfo=UTC), datetime(2026, 7, 15, tzinfo=UTC))


def date_titled(column: Column) -> Iterator[tuple[str, str, str]]:
    """Code, what, remedy where a title spells another date than the column writes, or another zone."""
    if column.field not in DATE_FIELDS or column.form == "flag" or not is_zone(column.zone):
        return
    title = unicodedata.normalize("NFKC", column.title)
    form = (column.date_form if form_of(column) == "date" else "") or _RECORDED
    written = [_kind(part) for part in tokens(form) if part in {"YYYY", "YY", "MM", "DD"}]
    for spelled in _SPELLED.findall(_TIME.sub(" ", title.casefold())):
        if _parts(spelled) != written:
            what = f"its title says {spelled!r}, and the date is written {form}."
            yield "title-misleads", what, "Let the title say what date_form says, or leave it out."
            return
    if column.field not in DAYS and (said := _other_zone(title, column.zone)):
        what = f"its title says {said!r}, and its time is that of {column.zone}."
        yield "title-misleads", what, "Let the title say what zone says, or leave it out."


def _kind(part: str) -> str:
    return {"YYYY": "year", "YY": "short year", "MM": "month", "DD": "day"}[part]


def _parts(spelled: str) -> list[str]:
    """``jj`` is a day in French, beside ``aaaa``, and a year in German."""
    found = re.findall(_PART, spelled)
    days = _DAYS | ({"jj"} if {"aaaa", "aa"} & {*found} else set())
    return [
        "day" if part in days else "month" if part == "mm" else "year" if len(part) == len("yyyy") else "short year"
        for part in found
    ]


def _other_zone(title: str, zone: str) -> str:
    """What a title says of a zone that ``zone`` is not; empty where it says none, or its own."""
    own = _offsets(zone)
    for name in map(str, _ZONE.findall(title)):
        if is_zone(name) and _offsets(name) != own:
            return name
    if said := _OFFSET.search(title.casefold()):
        away = timedelta(hours=int(said[2]), minutes=int(said[3] or 0)) * (1 if said[1] == "+" else -1)
        return "" if own == {away} else str(said[0]).upper()
    for word in map(str, re.findall(r"[^\W\d_]+", title)):
        hours = HOURS.get(word.casefold(), ())
        meant = {timedelta(hours=one) for one in hours}
        is_always = word.casefold() in _ALL_YEAR
        if hours and (is_always or word.isupper()) and not (own <= meant if is_always else own & meant):
            return word
    return ""


def _offsets(zone: str) -> set[timedelta | None]:
    return {moment.astimezone(ZoneInfo(zone)).utcoffset() for moment in _SUMMER_AND_WINTER}
