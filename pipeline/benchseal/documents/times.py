"""Dates and times of a file or sheet by a declared form, never by trial."""

from __future__ import annotations

import re
from datetime import date, time
from functools import lru_cache

_DATE_SIGNS = {"YYYY": r"(?P<year>[0-9]{4})", "YY": r"(?P<short>[0-9]{2})",
               "MM": r"(?P<month>[0-9]{1,2})", "DD": r"(?P<day>[0-9]{1,2})"}  # fmt: skip
_TIME_SIGNS = {"HH": r"(?P<hour>[0-9]{1,2})", "mm": r"(?P<minute>[0-9]{2})", "ss": r"(?P<second>[0-9]{2})"}


def read_date(text: str, form: str) -> str | None:
    """``YYYY-MM-DD``, or None when ``text`` is no date in this form."""
    found = _pattern(form, "date").fullmatch(text)
    if found is None:
        return None
    parts = found.groupdict()
    year = int(parts["year"]) if parts.get("year") else 2000 + int(parts["short"])
    try:
        return date(year, int(parts["month"]), int(parts["day"])).isoformat()
    except ValueError:
        return None


@lru_cache(maxsize=4096)
def read_time(text: str, form: str) -> str | None:
    """``HH:MM:SS``, or None when ``text`` is no time of day in this form."""
    found = _pattern(form, "time").fullmatch(text)
    if found is None:
        return None
    parts = found.groupdict()
    try:
        return time(int(parts["hour"]), int(parts["minute"]), int(parts.get("second") or 0)).isoformat()
    except ValueError:
        return None


def form_fault(form: str, of: str) -> str:
    """Why ``form`` cannot serve as a form of a ``date`` or ``time``; empty when it can."""
    names = set(re.findall("[A-Za-z]+", form))
    signs = _DATE_SIGNS if of == "date" else _TIME_SIGNS
    if names - set(signs):
        return f"'{form}' holds {', '.join(sorted(names - set(signs)))}; known: {', '.join(signs)}"
    lacking = ({"MM", "DD"} if of == "date" else {"HH", "mm"}) - names
    if of == "date" and not names & {"YYYY", "YY"}:
        lacking = lacking | {"YYYY"}
    if lacking:
        return f"'{form}' lacks {', '.join(sorted(lacking))}"
    if sum(len(name) for name in names) != len(re.sub("[^A-Za-z]", "", form)) or {"YYYY", "YY"} <= names:
        return f"'{form}' says something twice"
    return ""


@lru_cache(maxsize=64)
def _pattern(form: str, of: str) -> re.Pattern[str]:
    signs = _DATE_SIGNS if of == "date" else _TIME_SIGNS
    parts = re.split("([A-Za-z]+)", form)
    return re.compile("".join(signs.get(part, re.escape(part)) for part in parts))
