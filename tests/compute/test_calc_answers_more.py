"""Answers of ``calc`` to the last key: what a request names is used, and a refusal keeps what is still known."""

from __future__ import annotations

import pytest

from .asking import ask


def test_significant_digits_that_are_asked_for_are_kept() -> None:
    assert ask("rounding", value="0.0099951", significant=3)["text"] == "0.0100"


def test_a_line_whose_slope_is_noise_still_tells_its_degrees_of_freedom() -> None:
    found = ask("standard_addition", added=[0, 1, 2, 3, 4], y=[0.2, 0.9, 0.1, 0.8, 0.5])
    assert found["x"]["refused"]["code"] == "calc.slope-not-significant"
    assert found["df"] == 3


def test_a_chart_tells_its_standard_deviation() -> None:
    """Five times 3 and five times 5: mean 4, squares 10, s = sqrt(10/9)."""
    (chart,) = ask("control_chart", values=[3, 5] * 5, base_first=10)["charts"]
    assert chart["s"] == pytest.approx((10 / 9) ** 0.5, rel=1e-14)


def test_a_reading_a_bent_curve_never_reaches_names_no_estimate() -> None:
    """y = x - x^2/8 up to x = 3: the vertex is at 4, with y = 2."""
    found = ask(
        "one_standard",
        coefficients=[0, 1, "-0.125"],
        range_low=0,
        range_high=3,
        standard={"x": 2, "y": "1.5"},
        samples=[{"y": 5}],
    )
    (sample,) = found["samples"]
    assert sample["refused"]["code"] == "calc.no-root"
    assert "nan" not in str(sample).lower()
    assert "about" not in str(sample)
