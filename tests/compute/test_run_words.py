"""Words of the run calculation: a number against its limits, on both sides of each, and the scatter of a curve."""

from __future__ import annotations

from dataclasses import replace
from typing import get_args

import pytest
from tests.compute.making import Shot, bench_of, pair, portion_of, requirement_of, run_of, standards

from benchseal.compute.run_words import CHECK_NAMES, Against, residual_words, slope_undetermined
from benchseal.compute.run_work import work_run
from benchseal.records.method import CheckKind
from benchseal.records.results import Calibration, RunWork


def curve() -> Calibration:
    work = work_run(
        run_of((*standards(), *pair(), Shot("sample", "A", 5.0, "A"), *pair())),
        bench_of([portion_of("A")], [requirement_of()]),
    )
    assert isinstance(work, RunWork)
    return work.calibration


@pytest.mark.parametrize(
    ("found", "low", "high", "inside"),
    [
        pytest.param("90", "90", "110", True, id="at the lower limit"),
        pytest.param("89.9999999999", "90", "110", False, id="a hair below it"),
        pytest.param("110", "90", "110", True, id="at the upper limit"),
        pytest.param("110.000000001", "90", "110", False, id="a hair above it"),
        pytest.param("-500", "", "110", True, id="no lower limit"),
        pytest.param("500", "90", "", True, id="no upper limit"),
        pytest.param("111", "", "110", False, id="no lower limit saves nothing above"),
        pytest.param("89", "90", "", False, id="no upper limit saves nothing below"),
        pytest.param("0", "", "", True, id="no limit at all"),
    ],
)
def test_a_number_against_its_limits(found: str, low: str, high: str, inside: bool) -> None:
    assert Against(found, low, high, "%").inside is inside


@pytest.mark.parametrize(
    ("against", "words"),
    [
        (Against("87.1", "90", "110", "%"), "87.1 %; limit 90 to 110 %"),
        (Against("0.61", "", "0.5", "ug/L"), "0.61 µg/L; limit at most 0.5 µg/L"),
        (Against("0.98", "0.99", "", ""), "0.98; limit at least 0.99"),
        (Against("110.00004", "90", "110", "%"), "110.00004 %; limit 90 to 110 %"),
        (Against("89.99996", "90", "110", "%"), "89.99996 %; limit 90 to 110 %"),
    ],
)
def test_words_show_both_sides_and_digits_enough_to_tell_them_apart(against: Against, words: str) -> None:
    assert against.words == words


def test_a_curve_without_residuals_defined_says_so() -> None:
    calibration = curve()
    assert residual_words(replace(calibration, residual_sd=""), "") == "residual sd not defined"
    weighted = replace(calibration, residual_sd="", weighting="1/x")
    assert residual_words(weighted, "", "scatter") == "weighted scatter not defined"


def test_scatter_is_none_up_to_a_million_millionth_of_the_largest_signal() -> None:
    """Levels of at most 0.5: what rounding may leave is 5e-13."""
    calibration = curve()
    levels = tuple(
        replace(one, mean_signal=signal) for one, signal in zip(calibration.levels, ("-0.5", "0.1"), strict=False)
    )
    still, moves = (
        replace(calibration, levels=levels, residual_sd=sd) for sd in ("0.0000000000005", "0.00000000000051")
    )
    assert residual_words(still, "x") == "residual sd 0, no scatter beyond rounding"
    assert residual_words(moves, "x") == "residual sd x A s"
    assert residual_words(replace(still, levels=()), "x") == "residual sd x A s"


@pytest.mark.parametrize(
    ("coefficients", "undetermined"),
    [
        pytest.param(("7", "0.00000000000005"), True, id="a line that rises by what rounding leaves"),
        pytest.param(("7", "0.000000000000051"), False, id="a hair more"),
        pytest.param(("0.00000000000005",), True, id="a line through zero that does not rise"),
        pytest.param(("0.01",), False, id="a line through zero"),
        pytest.param(("0", "-0.01", "0.1"), False, id="a fall is no lack of slope"),
        pytest.param(("1", ""), True, id="no slope on record"),
    ],
)
def test_a_slope_within_rounding_is_none(coefficients: tuple[str, ...], undetermined: bool) -> None:
    """Highest standard 10 and largest signal 0.5: a rise of 5e-13 over the range is rounding."""
    calibration = curve()
    levels = tuple(replace(one, mean_signal="0.5") for one in calibration.levels)
    assert (
        slope_undetermined(replace(calibration, coefficients=coefficients, highest="10", levels=levels)) is undetermined
    )


def test_every_kind_of_check_has_a_name_of_its_own() -> None:
    assert set(CHECK_NAMES) == set(get_args(CheckKind))
    assert len(set(CHECK_NAMES.values())) == len(CHECK_NAMES)
