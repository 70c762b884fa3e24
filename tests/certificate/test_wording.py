"""The words of a certificate: dates, counts, numbers as printed, limits."""

from __future__ import annotations

from decimal import Decimal
from typing import get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchseal.certificate import wording
from benchseal.compute.run_numbers import shown_against
from benchseal.records.method import Technique
from benchseal.records.results import Verdict
from benchseal.records.specification import DecisionRule


@pytest.mark.parametrize(
    ("first", "last", "words"),
    [
        pytest.param("2026-01-12", "2026-01-12", "12 January 2026", id="one day"),
        pytest.param("2026-01-12", "2026-01-15", "12 to 15 January 2026", id="one month"),
        pytest.param("2026-01-30", "2026-02-02", "30 January to 2 February 2026", id="two months"),
        pytest.param("2025-12-30", "2026-01-02", "30 December 2025 to 2 January 2026", id="two years"),
    ],
)
def test_days(first: str, last: str, words: str) -> None:
    assert wording.days(first, last) == words


def test_times_are_the_laboratorys() -> None:
    assert (
        wording.signed_at("2026-01-16T08:12:41.000Z", "Europe/Berlin") == "2026-01-16 09:12:41 +01:00 (Europe/Berlin)"
    )
    assert (
        wording.signed_at("2026-07-16T08:12:41.000Z", "Europe/Berlin") == "2026-07-16 10:12:41 +02:00 (Europe/Berlin)"
    )
    assert wording.signed_at("2026-07-16T08:12:41.000Z", "Nowhere/Land") == (
        "2026-07-16 08:12:41 +00:00 (Nowhere/Land is not known here)"
    )


def test_the_day_of_issue_is_the_laboratorys_day() -> None:
    assert wording.day(wording.local("2026-01-15T23:30:00.000Z", "Europe/Berlin")) == "16 January 2026"


@pytest.mark.parametrize(
    ("text", "printed"),
    [("0.067", "0.067"), ("<0.050", "< 0.050"), ("-0.12", "\N{MINUS SIGN}0.12"), ("0.50", "0.50")],
)
def test_numbers_keep_their_figures(text: str, printed: str) -> None:
    assert wording.printed(text) == printed


@pytest.mark.parametrize(
    ("low", "high", "words"),
    [
        ("90", "110", "90 to 110 %"),
        ("0", "10", "≤ 10 %"),
        ("-0.5", "0.5", "±0.5 %"),
        ("", "20", "≤ 20 %"),
        ("75", "", "≥ 75 %"),
        ("", "", "\N{EN DASH}"),
        ("-30", "20", "\N{MINUS SIGN}30 to 20 %"),
    ],
)
def test_intervals(low: str, high: str, words: str) -> None:
    assert wording.interval(low, high, "%") == words


@pytest.mark.parametrize(
    ("lower", "upper", "unit", "words"),
    [
        ("", "0.50", "", "not more than 0.50"),
        ("90.0", "110.0", "% of claim", "90.0 to 110.0 % of claim"),
        ("5", "", "mg", "not less than 5 mg"),
        ("", "", "mg", "\N{EN DASH}"),
    ],
)
def test_limits_are_said_as_written(lower: str, upper: str, unit: str, words: str) -> None:
    assert wording.limit(lower, upper, unit) == words


@pytest.mark.parametrize(
    ("items", "words"), [([], ""), (["a"], "a"), (["a", "b"], "a and b"), (["a", "b", "c"], "a, b and c")]
)
def test_lists(items: list[str], words: str) -> None:
    assert wording.listed(items) == words


@given(
    st.decimals(min_value="-1000", max_value="1000", places=6),
    st.decimals(min_value="-1000", max_value="1000", places=2),
)
def test_a_shortened_number_stays_on_its_side_of_the_limit(value: Decimal, limit: Decimal) -> None:
    text = wording.short_against(f"{value:f}", f"{limit:f}").replace("\N{MINUS SIGN}", "-")
    shown = Decimal(text)
    assert (shown > limit, shown < limit) == (value > limit, value < limit)


@given(st.decimals(min_value="-1000", max_value="1000", places=6), st.integers(80, 120))
def test_the_certificate_shortens_as_the_calculation_does(value: Decimal, limit: int) -> None:
    """Two rooms that may not know each other shorten numbers; here they are held together."""
    mine = wording.short_against(f"{value:f}", str(limit), digits=4).replace("\N{MINUS SIGN}", "-")
    assert mine == shown_against(f"{value:f}", str(limit))


def test_every_code_has_words() -> None:
    assert wording.TECHNIQUES.keys() == set(get_args(Technique))
    assert wording.RULES.keys() == set(get_args(DecisionRule))
    assert wording.VERDICTS.keys() == set(get_args(Verdict))
