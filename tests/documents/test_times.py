"""Dates, times and patterns by a declared form."""

from __future__ import annotations

from datetime import date, time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchseal.documents.patterns import compiled
from benchseal.documents.times import form_fault, read_date, read_day_time, read_time


@pytest.mark.parametrize(
    ("text", "form", "found"),
    [
        ("2026-03-02", "YYYY-MM-DD", "2026-03-02"),
        ("02.03.26", "DD.MM.YY", "2026-03-02"),
        ("3/2/2026", "MM/DD/YYYY", "2026-03-02"),
        ("2026-02-29", "YYYY-MM-DD", None),
        ("0000-01-01", "YYYY-MM-DD", None),
        ("2026-13-01", "YYYY-MM-DD", None),
        ("2026-03-02 ", "YYYY-MM-DD", None),
        ("02-03-2026", "YYYY-MM-DD", None),
        ("02 Mar 2026", "DD MMM YYYY", "2026-03-02"),
        ("02 Mrz 2026", "DD MMM YYYY", None),
        ("٢٠٢٦-03-02", "YYYY-MM-DD", None),
        ("20261111", "YYYYMMDD", "2026-11-11"),
        ("11112026", "DDMMYYYY", "2026-11-11"),
        ("261101", "YYMMDD", "2026-11-01"),
        ("01NOV2026", "DDMMMYYYY", "2026-11-01"),
        ("1-11.2026", "DD-MM.YYYY", "2026-11-01"),
        ("1112026", "DDMMYYYY", None),  # the first or the eleventh: neither
        ("2026111", "YYYYMMDD", None),
        ("1NOV2026", "DDMMMYYYY", None),
        ("20261131", "YYYYMMDD", None),
        ("2026-1101", "YYYY-MMDD", "2026-11-01"),
        ("2026-111", "YYYY-MMDD", None),
    ],
)
def test_dates(text: str, form: str, found: str | None) -> None:
    assert read_date(text, form) == found


@pytest.mark.parametrize(
    ("text", "form", "found"),
    [
        ("09:14:05", "HH:mm:ss", "09:14:05"),
        ("9.14", "HH.mm", "09:14:00"),
        ("12:00:05 am", "hh:mm:ss AP", "00:00:05"),
        ("12:30 P.M.", "hh:mm AP", "12:30:00"),
        ("13:30 PM", "hh:mm AP", None),
        ("24:00:00", "HH:mm:ss", None),
        ("09:60:00", "HH:mm:ss", None),
        ("09x14x05", "HH:mm:ss", None),
        ("09:14:05 PM", "HH:mm:ss", None),
        ("091405", "HHmmss", "09:14:05"),
        ("0914", "HHmm", "09:14:00"),
        ("91405", "HHmmss", None),
        ("241405", "HHmmss", None),
        ("091405PM", "hhmmssAP", "21:14:05"),
        ("09:14:05.9", "HH:mm:ss.f", "09:14:05"),
        ("09:14:59,999", "HH:mm:ss,f", "09:14:59"),
        ("091405123456", "HHmmssf", "09:14:05"),
        ("09:14:05", "HH:mm:ss.f", None),
        ("09:14:05.", "HH:mm:ss.f", None),
        ("09:14:05.1234567", "HH:mm:ss.f", None),
        ("09:14:05.9", "HH:mm:ss", None),
        ("09:14:05Z", "HH:mm:ss", None),
    ],
)
def test_times(text: str, form: str, found: str | None) -> None:
    assert read_time(text, form) == found


@pytest.mark.parametrize(
    ("text", "forms", "found"),
    [
        ("20261120093000", ("YYYYMMDD", "HHmmss"), ("2026-11-20", "09:30:00")),
        ("20261120T093000", ("YYYYMMDD", "HHmmss"), ("2026-11-20", "09:30:00")),
        ("20261120  093000", ("YYYYMMDD", "HHmmss"), ("2026-11-20", "09:30:00")),
        ("2611200930", ("YYMMDD", "HHmm"), ("2026-11-20", "09:30:00")),
        ("20NOV2026093000", ("DDMMMYYYY", "HHmmss"), ("2026-11-20", "09:30:00")),
        ("2026112093000", ("YYYYMMDD", "HHmmss"), None),
        ("20261120240000", ("YYYYMMDD", "HHmmss"), None),
        ("2026112009:30:00", ("YYYYMMDD", "HH:mm:ss"), None),
        ("2026-11-20093000", ("YYYY-MM-DD", "HHmmss"), None),
        ("2026-11-20T09:30:00.25", ("YYYY-MM-DD", "HH:mm:ss.f"), ("2026-11-20", "09:30:00")),
    ],
)
def test_day_and_time_in_one_text(text: str, forms: tuple[str, str], found: tuple[str, str] | None) -> None:
    """Joined only where every sign of both forms has its full width."""
    assert read_day_time(text, *forms) == found


@given(
    st.dates(date(2000, 1, 1), date(2099, 12, 31)),
    st.sampled_from(["YYYY-MM-DD", "DD.MM.YY", "MM/DD/YYYY", "YYMMDD", "YYYYMMDD", "DDMMYYYY"]),
)
def test_what_a_form_writes_it_reads(day: date, form: str) -> None:
    text = form.replace("YYYY", f"{day.year}").replace("YY", f"{day.year % 100:02d}")
    text = text.replace("MM", f"{day.month:02d}").replace("DD", f"{day.day:02d}")
    assert not form_fault(form, "date")
    assert read_date(text, form) == day.isoformat()


@given(st.times().map(lambda moment: moment.replace(microsecond=0, tzinfo=None)))
def test_every_second_of_a_day(moment: time) -> None:
    assert read_time(f"{moment:%H.%M.%S}", "HH.mm.ss") == moment.isoformat()


@pytest.mark.parametrize(
    "form",
    [
        "YYYY-MM",
        "DD.MM",
        "YYYY-MM-DD-MM",
        "YYYY-YY-MM-DD",
        "YYYY-MM-DD T",
        "yyyy-mm-dd",
        "",
        "YYYYMM",
        "YYYYMMDDD",
        "YYYYMMDDHH",
        "YYYYMMDDMM",
    ],
)
def test_forms_that_cannot_serve(form: str) -> None:
    assert form_fault(form, "date")


@pytest.mark.parametrize(
    ("pattern", "line", "fits"),
    [
        ("Element,(?P<element>[A-Z][a-z]?)", "Element,Pb", True),
        ("Element,(?P<element>[A-Z][a-z]?)", "Element,Pb ", False),
        ("ab*", "a", True),
        ("ab?c", "ac", True),
        ("ab{2}", "abb", True),
        ("ab{0}", "a", True),
        ("abc|x", "x", True),
        ("abc", "abcd", False),
        ("", "", True),
        (r"a\.b", "a.b", True),
        ("(?i)abc", "ABC", True),
    ],
)
def test_patterns_match_whole_lines(pattern: str, line: str, fits: bool) -> None:
    assert (compiled(pattern).fullmatch(line) is not None) == fits


def test_columns_are_counted_in_signs() -> None:
    pattern = compiled("µ°;(?P<element>[A-Z][a-z]?)")
    found = pattern.fullmatch("µ°;Pb")
    assert found is not None
    assert pattern.column(found, "element") == 4


@pytest.mark.parametrize("pattern", ["(", "(?<=a)b", r"(a)\1", "a{2000}", "x" * 501, "(?P<a>b)(?P<a>c)", "*"])
def test_patterns_that_are_none(pattern: str) -> None:
    with pytest.raises(ValueError):  # noqa: PT011  the words are re2's own
        compiled(pattern)


def test_a_bad_pattern_cannot_hang() -> None:
    """Classic exponential pattern of backtracking engines; re2 is linear, so this ends at once."""
    assert compiled("(a+)+b").fullmatch("a" * 4000) is None
