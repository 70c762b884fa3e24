"""Dates of the record, written as a receiver wants them. Nothing is assumed: no zone, no midnight, no century."""

from __future__ import annotations

import re
from datetime import datetime
from functools import cache
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

# ISO 8601 as records hold it: a date, or a date and time of day with its offset.
_RECORDED = re.compile(
    r"(?P<date>\d{4}-\d\d-\d\d)(?P<time>T\d\d:\d\d:\d\d(\.\d{3})?(?P<offset>Z|[+-]\d\d:\d\d))?", re.ASCII
)
_TOKEN = re.compile("YYYY|YY|MM|DD|HH|mm|ss|fff|ZZ")
_OF_DAY = {"HH", "mm", "ss", "fff", "ZZ"}
_WITHIN = {"mm": "HH", "ss": "mm", "fff": "ss"}
_BETWEEN = re.compile("(?<=DD)T(?=HH)")  # ISO 8601 writes a letter between date and time of day
# What may stand between two parts; a figure or a plus there would be read as part of a date, number or formula.
_SEPARATORS = {
    "date": re.compile(r"|[._/-]|[.,]? "),
    "time": re.compile(r"|[.,:_-]| "),
    "date and time": re.compile(r"[T:._-]|,? | - "),
    "before the offset": re.compile(r"| "),
    "after the offset": re.compile(r",? "),
}
_ORDERS = (("year", "MM", "DD"), ("DD", "MM", "year"), ("MM", "DD", "year"))
PARTS = "YYYY, YY, MM (month), DD, HH, mm (minute), ss, fff, ZZ"


def tokens(date_form: str) -> tuple[str, ...]:
    """The tokens of a date form in order."""
    return tuple(_TOKEN.findall(date_form))


def shows_time_of_day(date_form: str) -> bool:
    """Whether a date form writes more than the date."""
    return not _OF_DAY.isdisjoint(tokens(date_form))


def form_fault(date_form: str) -> str:
    """Why a date form would write something else than it seems to; empty where it is sound.

    The usual slips: ``MM`` for the minute, ``dd``, ``hh``, ``MMM``, a letter too many.
    """
    parts = tokens(date_form)
    rest = _TOKEN.sub(" ", _BETWEEN.sub(" ", date_form))
    letters = "".join(sign for sign in rest if sign.isalpha())
    kinds = ["year" if part in {"YYYY", "YY"} else part for part in parts]
    twice = next((part for part, kind in zip(parts, kinds, strict=True) if kinds.count(kind) > 1), "")
    if letters:
        return f"has letters that are no part of a date: {letters}"
    if not parts:
        return "holds no part of a date"
    if twice:
        return f"has a part twice: {twice}"
    if alone := next((part for part in parts if _WITHIN.get(part, part) not in parts), ""):
        return f"has {alone} without {_WITHIN[alone]}"
    if {"HH", "MM"} <= {*parts} and "DD" not in parts:
        return "has the month (MM) beside the hour, and no day"
    return _order_fault(tuple(kinds)) or _separator_fault(date_form, parts)


def _separator_fault(date_form: str, parts: tuple[str, ...]) -> str:
    """Which text before, between or behind the parts is none that dates are written with; empty where none is."""
    first, *between, last = _TOKEN.split(date_form)
    if first:
        return f"begins with {first!r}, and not with a part"
    if last not in {"", "."}:
        return f"ends with {last!r}, and not with a part or a point"
    is_solid = not any(text for text, part in zip(between, parts[1:], strict=True) if part != "ZZ")
    for text, one, other in zip(between, parts[:-1], parts[1:], strict=True):
        if (is_solid and not text and one != "ZZ") or _SEPARATORS[_place(one, other)].fullmatch(text):
            continue
        return f"has {text!r} between {one} and {other}"
    return ""


def _place(one: str, other: str) -> str:
    if "ZZ" in {one, other}:
        return "before the offset" if other == "ZZ" else "after the offset"
    if (one in _OF_DAY) != (other in _OF_DAY):
        return "date and time"
    return "time" if one in _OF_DAY else "date"


def _order_fault(kinds: tuple[str, ...]) -> str:
    """Why nobody would read the parts in the order they stand in; empty where somebody does."""
    date = [kind for kind in kinds if kind not in _OF_DAY]
    time = [kind for kind in kinds if kind in _OF_DAY]
    places = [nth for nth, kind in enumerate(kinds) if kind in _OF_DAY]
    if time != [kind for kind in ("HH", "mm", "ss", "fff", "ZZ") if kind in time]:
        return "has the parts of the time of day in another order than hour, minute, second, offset"
    if places and places != list(range(places[0], places[0] + len(places))):
        return "has parts of the date between those of the time of day"
    if len(date) == len(_ORDERS[0]) and tuple(date) not in _ORDERS:
        return "has year, month and day in an order nobody reads"
    return ""


def is_zone(name: str) -> bool:
    """Whether the zone data know ``name``."""
    try:
        ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        return False
    return True


def date_shown(recorded: str, date_form: str, zone: str) -> str:
    """``recorded`` in ``date_form`` and ``zone``; an empty form keeps the recorded text.

    A date without time of day belongs to no zone and stays that date. Raises ValueError for text that is no ISO 8601
    date of the record, and for a form that asks for a time of day the record does not hold.
    """
    found = _RECORDED.fullmatch(recorded)
    if found is None:
        raise ValueError("is not a date, nor a time with its offset")
    moment = datetime.fromisoformat(recorded)
    if not date_form:
        return recorded
    if found["time"]:
        moment = _in_zone(moment, zone)
    elif shows_time_of_day(date_form):
        raise ValueError("has no time of day, and none is invented")
    return _TOKEN.sub(lambda token: _part(moment, token[0]), date_form)


@cache
def _zone(name: str) -> ZoneInfo:
    return ZoneInfo(name)


def _in_zone(moment: datetime, zone: str) -> datetime:
    """``moment`` by the clock of ``zone``. Raises ValueError where that clock cannot be written with an offset."""
    try:
        local = moment.astimezone(_zone(zone))
    except OverflowError:
        raise ValueError("lies outside the calendar in this zone") from None
    offset = local.utcoffset()
    if offset is None or offset.seconds % 60:
        raise ValueError("has an offset of broken minutes in this zone, which ZZ cannot show")
    return local


def _part(moment: datetime, token: str) -> str:
    match token:
        case "YYYY":
            return f"{moment.year:04d}"
        case "YY":
            return f"{moment.year % 100:02d}"
        case "fff":
            return f"{moment.microsecond // 1000:03d}"
        case "ZZ":
            return moment.isoformat()[-6:]
        case _:
            attribute = {"MM": "month", "DD": "day", "HH": "hour", "mm": "minute", "ss": "second"}[token]
            return f"{getattr(moment, attribute):02d}"
