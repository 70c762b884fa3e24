"""A customer's form to what is printed: the signs and patterns of its locale, looked up once and then kept in evidence.

The tables are those of CLDR as Babel carries them. Only signs and patterns that cannot be mistaken are taken: a decimal
full stop or comma, days that begin with the year, that name the month, or that are written day.month.year.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, cast, get_args

from babel import Locale, UnknownLocaleError
from babel.numbers import get_decimal_symbol, get_group_symbol

from benchseal.records.printed_form import DatePattern, DecimalSign, GroupSign, PrintedForm

if TYPE_CHECKING:
    from benchseal.records.certificate_form import CertificateForm

_NARROW_SPACE: Final = "\u202f"
_ALIKE: Final = {"\xa0": _NARROW_SPACE, " ": _NARROW_SPACE, "'": "\N{RIGHT SINGLE QUOTATION MARK}"}
_ISO: Final = "y-MM-dd"
_STYLES: Final = {"long": "long", "numeric": "medium"}


@dataclass(frozen=True, slots=True)
class Unprintable:
    """Why a form cannot be printed, and which of its keys says so."""

    key: str
    why: str


def printed_form(form: CertificateForm) -> PrintedForm | Unprintable:
    """What a form prints, or why it cannot be."""
    try:
        locale = Locale.parse(form.locale)
    except (UnknownLocaleError, ValueError):
        return Unprintable("locale", f"{form.locale} is no locale that is known here.")
    decimal = str(get_decimal_symbol(locale, numbering_system="latn"))
    if decimal not in get_args(DecimalSign):
        return Unprintable("locale", f"the decimal sign of {form.locale} is {decimal!r}.")
    group = _group(form, locale)
    if group not in get_args(GroupSign) or group == decimal:
        return Unprintable("thousands", f"{form.locale} parts figures by {group!r}.")
    pattern = _ISO if form.dates == "iso" else str(locale.date_formats[_STYLES[form.dates]].pattern)
    if pattern not in get_args(DatePattern):
        return Unprintable("dates", f"{form.locale} writes {form.dates} dates as {pattern!r}, which can be mistaken.")
    if form.dates == "long" and locale.language != form.language:
        return Unprintable("dates", f"long dates of {form.locale} do not belong to a page in {form.language!r}.")
    return PrintedForm(
        form.language,
        cast("DecimalSign", decimal),
        cast("GroupSign", group),
        cast("DatePattern", pattern),
        form.order,
    )


def _group(form: CertificateForm, locale: Locale) -> str:
    if form.thousands == "none":
        return ""
    if form.thousands == "space":
        return _NARROW_SPACE
    found = str(get_group_symbol(locale, numbering_system="latn"))
    return _ALIKE.get(found, found)
