from __future__ import annotations

import math
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchseal.pictures.axes import (
    Scale,
    balanced_ticks,
    on_paper,
    padded,
    plain_label,
    power_for,
    power_words,
    round_values,
    step_for,
    ticks,
)
from benchseal.pictures.frame import x_axis

MINUS = "\N{MINUS SIGN}"
NUMBERS = st.floats(min_value=-1e6, max_value=1e6, allow_nan=False)
SPANS = st.tuples(NUMBERS, st.floats(min_value=1e-6, max_value=1e6)).map(lambda p: (p[0], p[0] + p[1]))
# Data of one picture never sit on an offset a million times their spread; there floats could not tell ticks apart.
REAL_SPANS = SPANS.filter(lambda span: (span[1] - span[0]) > 1e-6 * max(abs(span[0]), abs(span[1])))


@given(REAL_SPANS, st.integers(min_value=1, max_value=12))
def test_ticks_are_round_inside_and_not_too_many(span: tuple[float, float], at_most: int) -> None:
    step = step_for(*span, at_most)
    values = round_values(*span, at_most)
    assert step.normalize().as_tuple().digits in ((1,), (2,), (5,))
    assert len(values) <= at_most + 1
    room = 1e-6 * float(step)
    assert all(span[0] - room <= float(value) <= span[1] + room for value in values)
    assert all(value % step == 0 for value in values)
    assert list(values) == sorted(set(values))


@given(REAL_SPANS, st.integers(min_value=2, max_value=12))
def test_a_smaller_round_step_would_give_too_many(span: tuple[float, float], at_most: int) -> None:
    step = step_for(*span, at_most)
    digit = step.normalize().as_tuple().digits[0]
    smaller = float(step) * {1: 0.5, 2: 0.5, 5: 0.4}[digit]
    assert smaller * at_most < (span[1] - span[0]) * (1 + 1e-9)


@pytest.mark.parametrize(
    ("low", "high", "labels"),
    [
        pytest.param(-0.08, 2.08, ["0", "0.5", "1.0", "1.5", "2.0"], id="trailing zeros keep the column"),
        pytest.param(-0.02, 0.52, ["0", "0.1", "0.2", "0.3", "0.4", "0.5"], id="tenths"),
        pytest.param(-0.8, 20.8, ["0", "5", "10", "15", "20"], id="whole numbers"),
        pytest.param(-12.0, 12.0, [f"{MINUS}10", f"{MINUS}5", "0", "5", "10"], id="a true minus sign"),
        pytest.param(0.0, 2500.0, ["0", "500", "1000", "1500", "2000", "2500"], id="no exponent"),
    ],
)
def test_labels(low: float, high: float, labels: list[str]) -> None:
    assert [tick.label for tick in ticks(Scale(low, high, 0, 100), 6)] == labels


def test_a_tick_stands_where_its_label_says() -> None:
    scale = Scale(-0.08, 2.08, 24.0, 150.0)
    for tick in ticks(scale, 6):
        assert tick.at == scale(float(tick.label))


@given(st.floats(min_value=1e-9, max_value=1e9))
def test_residual_ticks_are_three_and_balanced(reach: float) -> None:
    marks, power = balanced_ticks(Scale(-reach, reach, 100.0, 0.0))
    low, middle, high = (Decimal(mark.label.replace(MINUS, "-")).scaleb(power) for mark in marks)
    assert middle == 0
    assert low == -high
    assert 0.4 * reach < float(high) <= reach * (1 + 1e-9)


@pytest.mark.parametrize(
    ("span", "power", "words"),
    [
        pytest.param((-0.0005, 0.0005), -3, "10⁻³", id="tenths of thousandths"),
        pytest.param((-2e-6, 2e-6), -6, "10⁻⁶", id="millionths"),
        pytest.param((0.0, 0.3), 0, "", id="two decimals need no power"),
        pytest.param((0.0, 5e5), 0, "", id="large numbers are written out"),
        pytest.param((100.793, 100.805), 0, "", id="close together and large: 100.795, not 100795"),
        pytest.param((0.0985, 0.0995), -3, "10⁻³", id="close together: 98.5"),
    ],
)
def test_powers_keep_labels_short(span: tuple[float, float], power: int, words: str) -> None:
    assert power_for(*span, 4) == power
    assert power_words(power) == words


@pytest.mark.parametrize("bounds", [(1.0, 1.0), (2.0, 1.0), (math.nan, 1.0), (0.0, math.inf)])
def test_a_scale_needs_a_finite_span(bounds: tuple[float, float]) -> None:
    with pytest.raises(ValueError, match="finite low < high"):
        Scale(*bounds, 0, 1)


@given(NUMBERS, NUMBERS)
def test_padding_always_leaves_a_span(a: float, b: float) -> None:
    low, high = padded(min(a, b), max(a, b))
    assert low <= min(a, b)
    assert high >= max(a, b)
    assert low < high


def test_no_minus_zero_on_paper() -> None:
    assert str(on_paper(-0.0001)) == "0.0"
    assert plain_label(Decimal("-0.0")) == "0"


@pytest.mark.parametrize(("first", "last"), [(1, 1), (1, 2), (1, 6), (27, 29)])
def test_few_places_have_a_tick_each(first: int, last: int) -> None:
    axis = x_axis(Scale(first - 0.6, last + 0.6, 0.0, 400.0), 8, whole=True)
    assert [tick.label for tick in axis.ticks] == [str(place) for place in range(first, last + 1)]
