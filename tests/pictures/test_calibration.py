from __future__ import annotations

import math
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchseal.pictures.calibration import (
    BandPoint,
    CalibrationData,
    CalibrationPicture,
    Standard,
    calibration_picture,
)

LINE = CalibrationData(
    subject="lead, 283.3 nm",
    model="a straight line",
    x_quantity="concentration",
    x_unit="µg/L",
    y_quantity="integrated absorbance",
    y_unit="s",
    standards=(Standard(0, 0.0), Standard(10, 0.0305), Standard(15, 0.2, "bubble seen"), Standard(20, 0.06)),
    coefficients=(0.0, 0.003),
)


def parabola(b2: float = -0.035) -> CalibrationData:
    levels = (0.0, 0.5, 1.0, 2.0)
    return CalibrationData(
        subject="zinc, 213.9 nm",
        model="a parabola",
        x_quantity="concentration",
        x_unit="mg/L",
        y_quantity="absorbance",
        y_unit="",
        standards=tuple(Standard(c, 0.001 + 0.36 * c + b2 * c * c + 0.001 * (-1) ** i) for i, c in enumerate(levels)),
        coefficients=(0.001, 0.36, b2),
    )


def drawn(data: CalibrationData) -> CalibrationPicture:
    return calibration_picture(data, 155.0, 120.0)


def numbers(path: str) -> list[float]:
    return [float(number) for number in re.findall(r"-?[0-9.]+", path)]


def place_of_signal(picture: CalibrationPicture, signal: float) -> float:
    """By the two outermost y ticks, so that the test does not share the picture's own scale."""
    low, high = picture.y_ticks[0], picture.y_ticks[-1]
    share = (signal - float(low.label)) / (float(high.label) - float(low.label))
    return low.at + share * (high.at - low.at)


def test_points_stand_where_the_axes_say() -> None:
    picture = drawn(LINE)
    x0, x1 = picture.x_ticks[0], picture.x_ticks[-1]
    for mark, standard in zip(picture.marks, LINE.standards, strict=True):
        share = (standard.x - float(x0.label)) / (float(x1.label) - float(x0.label))
        assert mark.x == pytest.approx(x0.at + share * (x1.at - x0.at), abs=0.02)
        assert mark.y == pytest.approx(place_of_signal(picture, standard.y), abs=0.02)


def test_a_parabola_is_drawn_exactly() -> None:
    data = parabola()
    picture = drawn(data)
    x0, y0, cx, cy, x2, y2 = numbers(picture.curve)
    assert "Q" in picture.curve
    for t in (0.0, 0.25, 0.5, 0.75, 1.0):
        at_x = (1 - t) ** 2 * x0 + 2 * t * (1 - t) * cx + t * t * x2
        at_y = (1 - t) ** 2 * y0 + 2 * t * (1 - t) * cy + t * t * y2
        assert at_x == pytest.approx(x0 + t * (x2 - x0), abs=0.02)
        assert at_y == pytest.approx(place_of_signal(picture, data.fitted(2.0 * t)), abs=0.05)


def test_a_line_has_two_ends() -> None:
    assert drawn(LINE).curve.count("L") == 1
    assert len(numbers(drawn(LINE).curve)) == 4


def test_an_excluded_standard_keeps_its_reason_and_does_not_stretch_the_residuals() -> None:
    picture = drawn(LINE)
    assert [mark.reason for mark in picture.marks] == ["", "", "bubble seen", ""]
    assert all(not mark.reason for mark in picture.residual_marks), "its residual is far off the panel"
    assert len(picture.residual_marks) == 3


def test_residuals_have_the_sign_of_observed_minus_fitted() -> None:
    picture = drawn(LINE)
    above = next(mark for mark in picture.residual_marks if mark.x == picture.marks[1].x)
    assert above.y < picture.residual_zero, "y grows downwards on paper"


def test_both_panels_share_the_x_axis() -> None:
    picture = drawn(LINE)
    assert (picture.upper.left, picture.upper.right) == (picture.lower.left, picture.lower.right)
    assert picture.upper.bottom < picture.lower.top


def test_titles_name_quantity_unit_and_power() -> None:
    picture = drawn(LINE)
    assert picture.x_title == "concentration, µg/L"
    assert picture.y_title == "integrated absorbance, s"
    assert picture.residual_title == "residual, 10⁻³ s"


def test_the_sentence_says_it_all() -> None:
    assert drawn(LINE).sentence == (
        "Calibration of lead, 283.3 nm, a straight line: 3 standards from 0 to 20 µg/L, integrated absorbance from "
        "0 to 0.06; largest residual 0.0005 at 10 µg/L; left out: 15 µg/L: bubble seen."
    )
    assert drawn(parabola()).sentence.endswith("no standard left out.")


def test_a_band_encloses_the_curve() -> None:
    band = tuple(BandPoint(x, 0.003 * x - 0.004, 0.003 * x + 0.004) for x in (0.0, 10.0, 20.0))
    data = CalibrationData(
        subject="x",
        model="m",
        x_quantity="c",
        x_unit="u",
        y_quantity="a",
        y_unit="",
        standards=(Standard(0, 0.0), Standard(20, 0.06)),
        coefficients=(0.0, 0.003),
        band=band,
    )
    path = numbers(drawn(data).band)
    assert len(path) == 12
    upper, lower = path[1:6:2], path[7:12:2]
    assert all(high < low for high, low in zip(upper, reversed(lower), strict=True))
    assert drawn(LINE).band == ""


def test_a_perfect_fit_still_has_a_residual_axis() -> None:
    data = CalibrationData("s", "m", "c", "u", "a", "", (Standard(0, 0.0), Standard(1, 1.0)), (0.0, 1.0))
    picture = drawn(data)
    assert [mark.y for mark in picture.residual_marks] == [picture.residual_zero] * 2


@given(
    st.lists(st.floats(min_value=0, max_value=1e3), min_size=3, max_size=9, unique=True),
    st.floats(min_value=1e-4, max_value=10),
    st.floats(min_value=-1e-4, max_value=1e-4),
)
def test_everything_stays_on_its_panel(levels: list[float], slope: float, bend: float) -> None:
    standards = tuple(Standard(c, slope * c + bend * c * c) for c in levels)
    data = CalibrationData("s", "m", "c", "u", "a", "", standards, (0.0, slope, bend))
    picture = drawn(data)
    for mark in picture.marks:
        assert picture.upper.left <= mark.x <= picture.upper.right
        assert picture.upper.top <= mark.y <= picture.upper.bottom
    for mark in picture.residual_marks:
        assert picture.lower.top <= mark.y <= picture.lower.bottom


@pytest.mark.parametrize(
    ("standards", "coefficients"),
    [
        pytest.param((Standard(0, 0), Standard(1, math.nan)), (0.0, 1.0), id="a signal is not a number"),
        pytest.param((Standard(0, 0), Standard(1, 1)), (0.0, math.inf), id="a coefficient is infinite"),
        pytest.param((Standard(1, 0), Standard(1, 1)), (0.0, 1.0), id="one level only"),
        pytest.param((Standard(0, 0), Standard(1, 1, "lost")), (0.0, 1.0), id="one level left"),
        pytest.param((Standard(0, 0), Standard(1, 1)), (1.0,), id="neither line nor parabola"),
    ],
)
def test_refused_data(standards: tuple[Standard, ...], coefficients: tuple[float, ...]) -> None:
    with pytest.raises(ValueError, match="picture needs"):
        CalibrationData("s", "m", "c", "u", "a", "", standards, coefficients)
