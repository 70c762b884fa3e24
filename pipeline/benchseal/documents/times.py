"""Dates and times of a file or sheet by a declared form, never by trial."""

from __future__ import annotations

import re
from datetime import date, time
from functools import lru_cache

# English, whatever the machine's language: a form must not read one file in two ways.
MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_DATE_SIGNS = {"YYYY": r"(?P<year>[0-9]{4})", "YY": r"(?P<short>[0-9]{2})", "MMM": r"(?P<named>[A-Za-z]{3})",
               "MM": r"(?P<month>[0-9]{1,2})", "DD": r"(?P<day>[0-9]{1,2})"}  # fmt: skip
_TIME_SIGNS = {"HH": r"(?P<hour>[0-9]{1,2})", "mm": r"(?P<minute>[0-9]{2})", "ss": r"(?P<second>[0-9]{2})",
               "hh": r"(?P<twelfth>[0-9]{1,2})", "AP": r"(?P<half>[AaPp])\.?[Mm]\.?",
               "f": r"(?P<fraction>[0-9]{1,6})"}  # fmt: skip


def read_date(text: str, form: str) -> str | None:
    """``YYYY-MM-DD``, or None when ``text`` is no date in this form."""
    found = _pattern(form, "date").fullmatch(text)
    return None if found is None else _date(found.groupdict())


def read_day_time(text: str, date_form: str, time_form: str) -> tuple[str, str] | None:
    """``YYYY-MM-DD`` and ``HH:MM:SS`` of a date and a time with blanks or a ``T`` between them, or None.

    Where every sign of both has its full width (``YYYYMMDD``, ``HHmmss``) they may also stand joined.
    """
    found = _both(date_form, time_form).fullmatch(text)
    if found is None:
        return None
    day, clock = _date(found.groupdict()), _time(found.groupdict())
    return None if day is None or clock is None else (day, clock)


def _date(parts: dict[str, str]) -> str | None:
    year = int(parts["year"]) if parts.get("year") else 2000 + int(parts["short"])
    named = parts.get("named", "").lower()
    if named and named not in MONTHS:
        return None
    month = MONTHS.index(named) + 1 if named else int(parts["month"])
    try:
        return date(year, month, int(parts["day"])).isoformat()
    except ValueError:
        return None


@lru_cache(maxsize=4096)
def read_time(text: str, form: str) -> str | None:
    """``HH:MM:SS``, or None when ``text`` is no time of day in this form. Parts of a second are left out."""
    found = _pattern(form, "time").fullmatch(text)
    return None if found is None else _time(found.groupdict())


def _time(parts: dict[str, str]) -> str | None:
    hour = int(parts["hour"]) if parts.get("hour") else int(parts["twelfth"])
    if parts.get("half"):
        if not 1 <= hour <= 12:
            return None
        hour = hour % 12 + (12 if parts["half"] in "Pp" else 0)
    try:
        return time(hour, int(parts["minute"]), int(parts.get("second") or 0)).isoformat()
    except ValueError:
        return None


def form_fault(form: str, of: str) -> str:
    """Why ``form`` cannot serve as a form of a ``date`` or ``time``; empty when it can."""
    signs = _DATE_SIGNS if of == "date" else _TIME_SIGNS
    runs = re.findall("[A-Za-z]+", form)
    unknown = sorted({run for run in runs if not _parts(run, signs)})
    if unknown:
        return f"'{form}' holds {', '.join(unknown)}; known: {', '.join(signs)}"
    listed = [part for run in runs for part in _parts(run, signs)]
    names = set(listed)
    lacking = ({"MM", "DD"} if of == "date" else {"HH", "mm"}) - names
    if "MMM" in names or {"hh", "AP"} <= names:
        lacking = lacking - {"MM", "HH"}
    if of == "date" and not names & {"YYYY", "YY"}:
        lacking = lacking | {"YYYY"}
    if lacking:
        return f"'{form}' lacks {', '.join(sorted(lacking))}"
    twice = ({"YYYY", "YY"}, {"MM", "MMM"}, {"HH", "hh"}, {"HH", "AP"})
    if "f" in names and not re.search("ss[^A-Za-z0-9]?f$", form):
        return f"'{form}' has f elsewhere than last and behind ss"
    if len(listed) > len(names) or any(pair <= names for pair in twice):
        return f"'{form}' says something twice"
    return ""


def _parts(run: str, signs: dict[str, str]) -> list[str]:
    """The signs of letters that stand together, such as YYYY, MM and DD of ``YYYYMMDD``; none where one is unknown."""
    parts = re.findall("|".join(signs), run)
    return parts if "".join(parts) == run else []


@lru_cache(maxsize=64)
def _pattern(form: str, of: str) -> re.Pattern[str]:
    return re.compile(_signs(form, of))


@lru_cache(maxsize=64)
def _both(date_form: str, time_form: str) -> re.Pattern[str]:
    joined = "?" if _is_compact(date_form) and _is_compact(time_form) else ""
    return re.compile(f"{_signs(date_form, 'date')}(?: +|T){joined}{_signs(time_form, 'time')}")


def _is_compact(form: str) -> bool:
    """Whether signs of a form stand together without a gap, so that each has its full width."""
    return form.isalpha()


def _signs(form: str, of: str) -> str:
    signs = _DATE_SIGNS if of == "date" else _TIME_SIGNS
    return "".join(_of_run(part, signs) or re.escape(part) for part in re.split("([A-Za-z]+)", form))


def _of_run(run: str, signs: dict[str, str]) -> str:
    """The pattern of letters that stand together.

    Where nothing parts two of them each has its full width: 1112026 would else be two days.
    """
    parts = _parts(run, signs)
    found = "".join(signs[part] for part in parts)
    return found.replace("{1,2}", "{2}") if len(parts) > 1 else found
