"""What is said about the curve of a run: statistics that fail nothing by themselves, and why one is not defined."""

from __future__ import annotations

from dataclasses import replace
from statistics import stdev
from typing import Any

import pytest
from scipy import stats
from tests.compute.curves import (
    SPREAD,
    bent,
    growing,
    method_with,
    points_of,
    same,
    shots_of,
    straight,
    told,
    whole,
    worked,
)
from tests.compute.making import Shot, pb_method, standards

from benchseal.records.results import Quantified


def test_diagnostics_are_those_of_scipy_and_of_hand() -> None:
    method = pb_method()
    shots = shots_of(method, bent, growing)
    work = worked(whole(method, shots))
    assert [one.name for one in work.calibration.diagnostics] == ["mandel", "lack_of_fit", "homogeneity", "sign_runs"]
    assert all(one.source and one.why for one in work.calibration.diagnostics)
    x, y = points_of(shots)
    line = stats.linregress(x, y)
    lines = sum((one - line.intercept - line.slope * c) ** 2 for c, one in zip(x, y, strict=True))
    pure = sum((5 - 1) * stdev(y[place : place + 5]) ** 2 for place in range(0, 35, 5))
    lack = told(work, "lack_of_fit")
    assert (lack.df1, lack.df2, lack.exceeded) == (5, 28, True)
    assert same([lack.statistic], [((lines - pure) / 5) / (pure / 28)])
    assert same([lack.critical], [float(stats.f.ppf(0.95, 5, 28))])
    spread = told(work, "homogeneity")
    ratio = (stdev(y[-5:]) / stdev(y[:5])) ** 2
    assert same([spread.statistic, spread.critical], [ratio, float(stats.f.ppf(0.99, 4, 4))])
    assert (spread.df1, spread.df2, spread.exceeded) == (4, 4, True)
    assert told(work, "mandel").exceeded
    assert same([told(work, "mandel").critical], [float(stats.f.ppf(0.99, 1, 32))])


def test_signs_in_rising_concentration_whatever_the_order_read() -> None:
    levels = tuple(str(level) for level in range(0, 20, 2))
    method = method_with(levels, largest_error_percent="100", at_lowest_percent="100")
    shots = shots_of(method, bent, lambda _: SPREAD)
    for own in (shots, shots[::-1]):
        found = told(worked(whole(method, own)), "sign_runs")
        assert (found.statistic, found.critical, found.exceeded) == ("3", "2", False)
        assert found.why.startswith("3 runs of equal sign, 6 levels above the curve and 4 below")
    alternating = shots_of(method, lambda c: straight(c) + 0.0001 * (-1) ** int(c / 2), lambda _: SPREAD)
    found = told(worked(whole(method, alternating)), "sign_runs")
    assert (found.statistic, found.critical, found.exceeded) == ("10", "10", True)
    assert (found.df1, found.df2) == (0, 0)


@pytest.mark.parametrize(
    ("change", "name", "words"),
    [
        pytest.param({"model": "line_through_zero"}, "mandel", "goes through zero", id="through zero"),
        pytest.param({"fit_on": "means"}, "lack_of_fit", "levels of several points", id="means have no replicates"),
        pytest.param({}, "sign_runs", "too few", id="seven levels"),
    ],
)
def test_a_statistic_that_is_not_defined_says_why(change: dict[str, str], name: str, words: str) -> None:
    found = told(worked(whole(method_with(**change), standards())), name)
    assert (found.statistic, found.critical, found.df1, found.df2, found.exceeded) == ("", "", 0, 0, False)
    assert found.why.startswith("not defined: ")
    assert words in found.why


@pytest.mark.parametrize(
    ("signals", "name", "words"),
    [
        pytest.param(lambda c: (f"{straight(c):.9f}",) * 3, "homogeneity", "do not scatter", id="equal readings"),
        pytest.param(lambda c: (f"{straight(c):.9f}",) * 3, "lack_of_fit", "no level scatter", id="no pure error"),
        pytest.param(lambda c: (f"{straight(c):.9f}",), "homogeneity", "several readings", id="single readings"),
        pytest.param(lambda c: (f"{0.003 * c:.9f}",) * 3, "sign_runs", "do not scatter", id="on the curve"),
        pytest.param(lambda c: (f"{0.003 * c:.9f}",) * 3, "mandel", "leaves no scatter", id="a perfect line"),
    ],
)
def test_readings_that_leave_a_statistic_undefined(signals: Any, name: str, words: str) -> None:  # noqa: ANN401
    shots = tuple(
        Shot("standard", one.label, signals=signals(float(one.concentration)), nominal=one.concentration)
        for one in pb_method().standards
    )
    found = told(worked(whole(pb_method(), shots)), name)
    assert found.statistic == ""
    assert words in found.why


def test_a_statistic_fails_nothing_by_itself() -> None:
    method = replace(method_with(largest_error_percent="50", at_lowest_percent="100"), checks=())
    work = worked(whole(method, shots_of(method, bent, growing)))
    assert sum(one.exceeded for one in work.calibration.diagnostics) >= 3
    assert work.usable
    assert all(isinstance(one.outcome, Quantified) for one in work.results)


def test_words_say_on_which_side_of_its_critical_value_each_statistic_lies() -> None:
    """A bent curve with growing scatter is beyond everything; a straight one with even scatter beyond nothing."""
    said = {
        "mandel": ("a quadratic fits significantly", "a quadratic does not fit significantly"),
        "lack_of_fit": ("the levels lie further from", "the levels lie no further from"),
        "homogeneity": ("highest level scatter differently", "highest level scatter alike"),
    }
    method = pb_method()
    for place, shots in enumerate((shots_of(method, bent, growing), shots_of(method, straight, lambda _: SPREAD))):
        work = worked(whole(method, shots))
        for name, words in said.items():
            found = told(work, name)
            assert found.exceeded == (place == 0), name
            assert words[place] in found.why
