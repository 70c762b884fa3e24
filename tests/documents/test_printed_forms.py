"""What a locale prints: signs and patterns as Babel's tables (CLDR) have them, numbers and days as Babel writes them.

Babel 2.19 is the second opinion: what ``Words`` prints is compared with ``format_decimal`` and ``format_date``.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from typing import TYPE_CHECKING

import pytest
from babel.dates import format_date
from babel.numbers import format_decimal

from benchseal.certificate.language import Words
from benchseal.documents.printed_forms import Unprintable, printed_form
from benchseal.records.certificate_form import CertificateForm
from benchseal.records.printed_form import PrintedForm

if TYPE_CHECKING:
    from benchseal.records.certificate_form import Dates, Thousands
    from benchseal.records.printed_form import Language

GERMAN = CertificateForm("certificate_form", "f", "Form", "alder", "de", "de_DE", "none", "long")
NUMBERS = ("0", "0.067", "12.50", "999.9", "1000", "12345.678", "1234567.0", "-1234.5")


def form_of(language: Language, locale: str, thousands: Thousands = "none", dates: Dates = "long") -> PrintedForm:
    found = printed_form(replace(GERMAN, language=language, locale=locale, thousands=thousands, dates=dates))
    assert isinstance(found, PrintedForm), found
    return found


@pytest.mark.parametrize(
    ("language", "locale", "thousands", "dates", "due"),
    [
        ("de", "de_DE", "none", "long", (",", "", "d. MMMM y")),
        ("de", "de_DE", "locale", "numeric", (",", ".", "dd.MM.y")),
        ("de", "de_AT", "space", "iso", (",", "\u202f", "y-MM-dd")),
        ("de", "de_CH", "locale", "long", (".", "\N{RIGHT SINGLE QUOTATION MARK}", "d. MMMM y")),
        ("en", "en_GB", "locale", "long", (".", ",", "d MMMM y")),
        ("en", "en_US", "none", "long", (".", "", "MMMM d, y")),
        ("en", "de_DE", "none", "numeric", (",", "", "dd.MM.y")),
    ],
)
def test_signs_and_patterns_of_locales(
    language: Language, locale: str, thousands: Thousands, dates: Dates, due: tuple[str, str, str]
) -> None:
    found = form_of(language, locale, thousands, dates)
    assert (found.decimal, found.group, found.date) == due


@pytest.mark.parametrize(
    ("changes", "key"),
    [
        ({"locale": "xx_QQ"}, "locale"),
        ({"locale": "ar_EG"}, "dates"),
        ({"locale": "en_US", "dates": "numeric"}, "dates"),
        ({"locale": "en_GB", "dates": "numeric"}, "dates"),
        ({"locale": "en_GB"}, "dates"),
        ({"locale": "fr_FR", "language": "de"}, "dates"),
    ],
)
def test_what_can_be_mistaken_is_refused(changes: dict[str, str], key: str) -> None:
    found = printed_form(replace(GERMAN, **changes))  # type: ignore[arg-type]
    assert isinstance(found, Unprintable)
    assert found.key == key


@pytest.mark.parametrize(("language", "locale"), [("de", "de_DE"), ("de", "de_CH"), ("en", "en_GB"), ("en", "en_US")])
@pytest.mark.parametrize("text", NUMBERS)
def test_numbers_are_written_as_babel_writes_them(language: Language, locale: str, text: str) -> None:
    if locale == "de_CH" and text == "1234567.0":
        pytest.skip("Babel 2.19 takes two of its own apostrophes in a number for quotes and drops them")
    places = len(text.partition(".")[2])
    pattern = f"#,##0.{'0' * places}" if places else "#,##0"
    due = format_decimal(Decimal(text), format=pattern, locale=locale, numbering_system="latn")
    due = due.replace("-", "\N{MINUS SIGN}").replace("'", "\N{RIGHT SINGLE QUOTATION MARK}")
    assert Words(form_of(language, locale, "locale")).number(text) == due


@pytest.mark.parametrize(
    ("language", "locale", "dates", "style"),
    [
        ("de", "de_DE", "long", "long"),
        ("de", "de_AT", "numeric", "medium"),
        ("de", "de_CH", "long", "long"),
        ("en", "en_GB", "long", "long"),
        ("en", "en_US", "long", "long"),
    ],
)
def test_every_day_of_two_years_is_written_as_babel_writes_it(
    language: Language, locale: str, dates: Dates, style: str
) -> None:
    words = Words(form_of(language, locale, dates=dates))
    for nth in range(730):
        day = date(2026, 1, 1) + timedelta(days=nth)
        assert words.day(day) == format_date(day, format=style, locale=locale)
