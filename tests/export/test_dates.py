"""Dates of the record in a receiver's form and zone; nothing assumed, nothing invented."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchseal.export.dates import date_shown, is_zone, shows_time_of_day, tokens

# Europe/Berlin: offset +01:00; +02:00 from the last Sunday of March to the last of October, 01:00 UTC (Directive
# 2000/84/EC, from memory). The doubled hour is told apart by its offset.
DATES = {
    "as recorded": ("2026-03-04T14:02:11.123Z", "", "UTC", "2026-03-04T14:02:11.123Z"),
    "winter": ("2026-03-04T14:02:11Z", "DD.MM.YYYY HH:mm:ss ZZ", "Europe/Berlin", "04.03.2026 15:02:11 +01:00"),
    "summer": ("2026-07-04T14:02:11Z", "DD.MM.YYYY HH:mm:ss ZZ", "Europe/Berlin", "04.07.2026 16:02:11 +02:00"),
    "first of the doubled hour": ("2026-10-25T00:30:00Z", "HH:mm ZZ", "Europe/Berlin", "02:30 +02:00"),
    "second of the doubled hour": ("2026-10-25T01:30:00Z", "HH:mm ZZ", "Europe/Berlin", "02:30 +01:00"),
    "next day in the zone": ("2026-12-31T23:30:00Z", "DD/MM/YY", "Europe/Berlin", "01/01/27"),
    "thousandths": ("2026-03-04T14:02:11.007Z", "YYYYMMDDHHmmssfffZZ", "UTC", "20260304140211007+00:00"),
    "other offset read": ("2026-03-04T14:02:11+05:30", "HH:mmZZ", "UTC", "08:32+00:00"),
    "west of Greenwich": ("2026-01-01T00:00:00Z", "YYYY-MM-DD HH:mm ZZ", "America/St_Johns", "2025-12-31 20:30 -03:30"),
    "a date belongs to no zone": ("2026-03-04", "DD.MM.YYYY", "Pacific/Auckland", "04.03.2026"),
    "a date as recorded": ("2026-03-04", "", "UTC", "2026-03-04"),
}


@pytest.mark.parametrize(("recorded", "form", "zone", "expected"), DATES.values(), ids=DATES.keys())
def test_dates(recorded: str, form: str, zone: str, expected: str) -> None:
    assert date_shown(recorded, form, zone) == expected


@pytest.mark.parametrize(
    ("recorded", "form"),
    [
        pytest.param("2026-02-30", "", id="30 February"),
        pytest.param("2026-02-03T25:00:00Z", "", id="hour 25"),
        pytest.param("2026-02-03T10:00:00", "", id="no offset"),
        pytest.param("2026-02-03T10:00:00", "YYYY", id="no offset, and a form"),
        pytest.param("03.02.2026", "", id="other order"),
        pytest.param("2026-02-03 ", "", id="blank at the end"),
        pytest.param("2026-02-03\n", "", id="line end"),
        pytest.param("\u0662026-02-03", "", id="figures of another script"),
        pytest.param("2026-02-03", "DD.MM. HH:mm", id="time of day asked of a date"),
        pytest.param("2026-02-03", "DD ZZ", id="offset asked of a date"),
    ],
)
def test_refused(recorded: str, form: str) -> None:
    with pytest.raises(ValueError, match=r"."):
        date_shown(recorded, form, "UTC")


@pytest.mark.parametrize(
    ("recorded", "zone"),
    [
        pytest.param("9999-12-31T23:30:00Z", "Europe/Berlin", id="year 10000"),
        pytest.param("0001-01-01T00:00:00Z", "America/New_York", id="year 0"),
        pytest.param("1890-01-01T00:00:00Z", "Europe/Berlin", id="local mean time, +00:53:28"),
    ],
)
def test_clocks_that_cannot_be_written(recorded: str, zone: str) -> None:
    with pytest.raises(ValueError, match="in this zone"):
        date_shown(recorded, "YYYY-MM-DD HH:mm ZZ", zone)


@given(
    st.datetimes(datetime(1972, 6, 1), datetime(2100, 1, 1), timezones=st.just(UTC)),  # noqa: DTZ001  zone beside
    st.sampled_from(["UTC", "Europe/Berlin", "Asia/Kathmandu", "America/St_Johns", "Australia/Lord_Howe"]),
)
def test_a_shown_time_reads_back_to_the_same_moment(moment: datetime, zone: str) -> None:
    recorded = moment.isoformat(timespec="milliseconds").replace("+00:00", "Z")
    shown = date_shown(recorded, "YYYY-MM-DDTHH:mm:ss.fffZZ", zone)
    assert datetime.fromisoformat(shown) == datetime.fromisoformat(recorded)


def test_forms_and_zones() -> None:
    assert tokens("DD.MM.YYYY") == ("DD", "MM", "YYYY")
    assert shows_time_of_day("HH") and shows_time_of_day("ZZ")  # noqa: PT018  one claim
    assert not shows_time_of_day("DD.MM.YY")
    assert is_zone("Europe/Berlin")
    assert not any(is_zone(name) for name in ("", "Europe/Nowhere", "../etc/passwd", "/etc/localtime", "a\0b"))
