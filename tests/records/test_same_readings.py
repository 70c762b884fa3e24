"""What counts as the same readings: figures, whatever their point and zeros, in pairs of neighbours."""

from __future__ import annotations

import random

import pytest

from benchseal.records.same_readings import Shared, figures_of, pairs_of, shared_of

SERIES = [f"0.{number}" for number in range(1011, 1062)]  # 51 readings, each pair once


def shared(one: list[str], other: list[str]) -> Shared:
    return shared_of(pairs_of(figures_of(one)), pairs_of(figures_of(other)))


@pytest.mark.parametrize(
    ("signal", "figures"),
    [
        ("0.243", ("243",)),
        ("0.2430", ("243",)),
        ("243.0", ("243",)),
        ("-0.243", ("243",)),
        ("0.2034", ("2034",)),
        ("0.024", ()),
        ("0.000", ()),
        ("100.0", ()),
        ("", ()),
    ],
)
def test_figures_of_a_reading(signal: str, figures: tuple[str, ...]) -> None:
    assert figures_of([signal]) == figures


@pytest.mark.parametrize(
    ("count", "same"), [pytest.param(9, False, id="nine readings"), pytest.param(10, True, id="ten readings")]
)
def test_short_runs_tell_nothing(count: int, *, same: bool) -> None:
    found = shared(SERIES[:count], SERIES[:count])
    assert (found.is_same, found.is_most) == (same, same)


def test_zeros_and_words_between_break_nothing() -> None:
    between = [text for signal in SERIES for text in (signal, "0.000", "")]
    assert shared(SERIES, between) == Shared(50, 50)


def test_readings_in_other_units_are_the_same() -> None:
    assert shared(SERIES, [f"{float(signal) * 1000:.2f}" for signal in SERIES]).is_same


@pytest.mark.parametrize(
    ("changed", "same", "most"),
    [
        pytest.param(1, True, True, id="one reading"),
        pytest.param(4, True, True, id="four in a row"),
        pytest.param(5, False, True, id="five in a row"),
        pytest.param(23, False, True, id="23 in a row"),
        pytest.param(24, False, False, id="24 in a row"),
    ],
)
def test_readings_changed_in_the_middle(changed: int, *, same: bool, most: bool) -> None:
    other = [*SERIES[:20], *(f"0.{2000 + nth}1" for nth in range(changed)), *SERIES[20 + changed :]]
    found = shared(SERIES, other)
    assert (found.is_same, found.is_most) == (same, most)


def test_a_part_of_a_longer_run_is_the_same() -> None:
    assert shared(SERIES, SERIES[20:35]).is_same


def test_good_runs_of_one_day_tell_nothing() -> None:
    """Two thousand runs of the same solutions, three decimals, a spread of one in the last place: none is like another.

    The chance of a pair is worked out by drawing: the draws are fixed, so this is a test and no lottery.
    """
    draws = random.Random(7)  # noqa: S311  no secret
    levels = [0.101, 0.202, 0.405, 0.607, 0.405, 0.243, 0.247, 0.251, 0.244, 0.404, 0.313, 0.317, 0.322, 0.403]
    runs = [
        pairs_of(figures_of(f"{draws.gauss(level, 0.001):.3f}" for level in levels for _ in range(3)))
        for _ in range(2000)
    ]
    assert not any(shared_of(runs[0], other).is_most for other in runs[1:])
