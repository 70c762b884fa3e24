"""A day or a time of day that is not in the layout's form: what to say, and what helps where it is in another form."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from benchseal.documents.times import read_date, read_time
from benchseal.ingest.walk import EXPORT_AGAIN

if TYPE_CHECKING:
    from collections.abc import Sequence

# Forms that instruments write; a text may be of several.
_DATES: Final = tuple(
    form.replace("-", mark)
    for form in (
        "YYYY-MM-DD", "DD-MM-YYYY", "MM-DD-YYYY", "DD-MM-YY", "MM-DD-YY", "YY-MM-DD", "DD-MMM-YYYY", "DD-MMM-YY"
    )
    for mark in ".-/ "
)  # fmt: skip
_TIMES: Final = ("HH:mm:ss", "HH.mm.ss", "HH:mm", "HH.mm", "hh:mm:ss AP", "hh:mm AP")


def unlike_date(text: str, form: str) -> tuple[str, str]:
    """What to say of a text that is no date in this form, and the remedy."""
    return f"'{text[:20]}' is no date in the form {form}.", _date_remedy(text, form) or EXPORT_AGAIN


def unlike_time(text: str, form: str) -> tuple[str, str]:
    """The same of a time of day."""
    return f"'{text[:20]}' is no time of day in the form {form}.", _time_remedy(text, form) or EXPORT_AGAIN


def unlike_moment(text: str, date_form: str, time_form: str) -> tuple[str, str]:
    """The same of a day with its time, or of a day alone where time_form is empty."""
    if not time_form:
        return f"'{text[:40]}' is not in the form {date_form}.", _date_remedy(text, date_form) or EXPORT_AGAIN
    what = f"'{text[:40]}' is not in the form {date_form} {time_form}."
    day, _, clock = text.replace("T", " ").partition(" ")
    remedies = filter(None, (_date_remedy(day, date_form), _time_remedy(clock.strip(), time_form)))
    return what, " ".join(remedies) or EXPORT_AGAIN


def _date_remedy(text: str, form: str) -> str:
    if read_date(text, form):
        return ""
    return _remedy("date_form", form, [one for one in _DATES if read_date(text, one)])


def _time_remedy(text: str, form: str) -> str:
    if read_time(text, form):
        return ""
    return _remedy("time_form", form, [one for one in _TIMES if read_time(text, one)])


def _remedy(key: str, form: str, found: Sequence[str]) -> str:
    if not found:
        return ""
    forms = " or ".join(f"'{one}'" for one in found) + (", whichever it means" if len(found) > 1 else "")
    return (
        f"Where the instrument writes it so, have a new version of the layout approved with {key} {forms}; "
        f"where it usually writes {form}, export again."
    )
