"""Runs on the curve of an earlier run: same curve, the factor, every way to fail, an independent recomputation."""

from __future__ import annotations

from dataclasses import replace
from math import isclose, sqrt
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.compute.making import BRACKETS, Shot, bench_of, portion_of, requirement_of, rule, run_of, samples
from tests.compute.storing import SLOPE, around, checks, curve_of, later, opening, shot, stored_method, zeroed

from benchseal.compute.calc import answer
from benchseal.compute.run_work import work_run, work_runs
from benchseal.records.preparation import DilutionStep
from benchseal.records.results import CheckVerdict, NotReportable, Quantified, RunWork
from benchseal.records.shape import record_bytes

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.records.known import Bench
    from benchseal.records.results import WorkedResult
    from benchseal.records.run import Run

OPEN = requirement_of(upper="", decimals=-1)
TWO = replace(OPEN, portions=2)
STEPS = {"Pb": (DilutionStep("5", "100"),)}
BENCH = bench_of([portion_of("V"), portion_of("W")], [TWO])
GAIN = 0.95


def tray(gain: float = GAIN, holds: Sequence[float] = (5.0, 12.0)) -> tuple[Shot, ...]:
    """Two portions of one sample."""
    return tuple(shot("sample", label, amount, gain, portion=label) for label, amount in zip("VW", holds, strict=True))


def usual(gain: float = GAIN, **options: Any) -> tuple[Run, Run]:  # noqa: ANN401
    """The run that made the curve, and the one that uses it. options: bend of the curve, else of the method's plan."""
    bend = options.pop("bend", 0.0)
    method = stored_method(**options)
    first = run_of((*zeroed(bend=bend), *checks(1.0, 10.0), *tray(1.0), *checks(1.0, 10.0)), method)
    return first, later((*opening(gain), *tray(gain), *checks(gain)), curve_of(first), method)


def worked(run: Run, bench: Bench = BENCH) -> RunWork:
    found = work_run(run, bench)
    assert isinstance(found, RunWork), found
    return found


def only(work: RunWork) -> WorkedResult:
    (result,) = work.results
    return result


def verdict(work: RunWork, name: str) -> CheckVerdict:
    (found,) = [one for one in work.checks if one.rule == f"calibration.{name}"]
    return found


# ------------------------------------------------------------------ the same curve


PLANS = [
    pytest.param({}, id="line on readings"),
    pytest.param({"fit_on": "means"}, id="line on means"),
    pytest.param({"weighting": "variance_function", "variance_s0": "0.0001", "variance_k": "0.00003"}, id="variance"),
    pytest.param({"model": "line_through_zero"}, id="through zero"),
    pytest.param({"model": "quadratic", "bend": 0.00002}, id="quadratic"),
    pytest.param({"quadratic_allowed": True, "bend": 0.00002}, id="quadratic chosen"),
]


@pytest.mark.parametrize("options", PLANS)
def test_the_curve_is_that_of_its_own_run_to_the_last_digit(options: dict[str, Any]) -> None:
    first, second = usual(**options)
    there, here = worked(first).calibration, worked(second).calibration
    assert here.stored
    assert replace(here, stored=()) == there
    assert [level.position for level in here.levels] == list(range(1, 8)), "positions of the earlier run"


@pytest.mark.parametrize("options", PLANS)
def test_it_is_judged_as_in_its_own_run_and_names_no_position_of_this_one(options: dict[str, Any]) -> None:
    first, second = usual(**options)
    there, here = ([one for one in worked(run).checks if one.check == "calibration"] for run in (first, second))
    assert [replace(one, positions=()) for one in there] == here[: len(there)]
    assert [one.rule for one in here[len(there) :]] == ["calibration.factor", "calibration.confirmed"]
    assert [one.positions for one in here[len(there) :]] == [(1, 2), (3, 4)]
    assert all(one.verdict == "pass" for one in here), here


# ------------------------------------------------------------------ the factor


@pytest.mark.parametrize("gain", [0.85, 0.95, 1.0, 1.15])
def test_the_factor_is_that_of_calc(gain: float) -> None:
    work = worked(usual(gain)[1])
    use, portions = work.calibration, only(work).portions
    stored = use.stored[0]
    request = {
        "kind": "one_standard",
        "coefficients": [float(text) for text in use.coefficients],
        "range_low": 0,
        "range_high": 20,
        "standard": {"x": 15, "y": float(stored.signal)},
        "blank_y": float(stored.blank_signal),
        "samples": [{"y": float(one.mean_signal)} for one in portions],
    }
    found: Any = answer(request)
    for one, told in zip(portions, found["samples"], strict=True):
        assert isclose(float(one.solution_value), told["x"], rel_tol=1e-10), told
    assert isclose(float(stored.nominal_signal), found["nominal"], rel_tol=1e-11)
    assert isclose(float(stored.factor), found["factor"], rel_tol=1e-11)
    assert isclose(float(stored.factor), 1 / gain, rel_tol=0.01)
    assert (stored.position, stored.blank_position, stored.nominal) == (2, 1, "15")


def test_the_value_is_what_the_solutions_hold_though_sensitivity_and_zero_moved() -> None:
    portions = only(worked(usual(0.85)[1])).portions
    found = [float(one.solution_value) for one in portions]
    assert all(isclose(one, holds, rel_tol=0.01) for one, holds in zip(found, (5.0, 12.0), strict=True)), found


def test_the_printed_concentration_counts_where_the_label_is_no_standard_of_the_method() -> None:
    first, _ = usual()
    own = (opening()[0], shot("correction_standard", "QC-A", 12.0, GAIN, nominal="12"), *checks(GAIN))
    work = worked(later((*own, *tray(), *checks(GAIN)), curve_of(first), first.method))
    assert work.calibration.stored[0].nominal == "12"
    assert isclose(float(work.calibration.stored[0].factor), 1 / GAIN, rel_tol=0.01)


# ------------------------------------------------------------------ a whole run by numpy alone


def by_hand(first: Run, second: Run, readings_fitted: bool) -> tuple[float, float, float]:
    """Value and u of the mean of both portions, and u of the correction: least squares, and derivatives by steps."""
    texts = [[float(one) for one in own] for own in _readings(second)]
    levels = [float(text) for text in ("0", "1", "2.5", "5", "10", "15", "20")]
    standards = [[float(one) for one in own] for own in _readings(first)[:7]]
    if readings_fitted:
        x = np.array([level for level, own in zip(levels, standards, strict=True) for _ in own])
        y = np.array([one for own in standards for one in own])
    else:
        x, y = np.array(levels), np.array([np.mean(own) for own in standards])
    design = np.stack([np.ones_like(x), x], axis=1)
    b, *_ = np.linalg.lstsq(design, y, rcond=None)
    s = sqrt(float(np.sum((y - design @ b) ** 2)) / (len(x) - 2))
    covariance = s * s * np.linalg.inv(design.T @ design)
    u_mean = s / sqrt(3) if readings_fitted else s
    inputs = np.array([b[0], b[1], *(np.mean(texts[place]) for place in (0, 1, 4, 5))])

    def mean(of: np.ndarray) -> float:
        b0, b1, blank, standard, *two = of
        factor = (b0 + b1 * 15) / (standard - blank)
        conc = [((one - blank) * factor - b0) / b1 for one in two]
        return float(np.mean([one * 20 * 25 / 0.5 / 1000 for one in conc]))

    variance = np.zeros((6, 6))
    variance[:2, :2] = covariance
    for place in range(2, 6):
        variance[place, place] = u_mean**2
    slopes = np.array(
        [(mean(inputs + step) - mean(inputs - step)) / (2 * abs(step).max()) for step in np.diag(np.full(6, 1e-7))]
    )
    of_readings = slopes[2:4] * u_mean
    return mean(inputs), sqrt(float(slopes @ variance @ slopes)), sqrt(float(of_readings @ of_readings))


def _readings(run: Run) -> list[tuple[str, ...]]:
    columns = run.document.solutions
    return [
        run.document.readings.signal[first : first + count]
        for first, count in zip(columns.first_reading, columns.reading_count, strict=True)
    ]


@pytest.mark.parametrize("fit_on", ["readings", "means"])
@pytest.mark.parametrize("gain", [0.85, 1.1])
def test_a_whole_run_recomputed_by_numpy(fit_on: str, gain: float) -> None:
    """Value, uncertainty of readings, curve and correction together, by a program that shares nothing with this one."""
    first, second = usual(gain, fit_on=fit_on)
    bare = replace(
        first.method,
        uncertainty=replace(
            first.method.uncertainty, mass_g="0", volume_percent="0", dilution_step_percent="0", recovery_percent="0"
        ),
    )
    portions = [portion_of(label, dilutions=STEPS) for label in "VW"]
    lots = {name: replace(lot, u_percent="0") for name, lot in BENCH.lots.items()}
    result = only(worked(replace(second, method=bare), bench_of(portions, [TWO], lots)))
    value, u, u_correction = by_hand(first, second, fit_on == "readings")
    assert isinstance(result.outcome, Quantified)
    found = {one.name: float(one.u) for one in result.contributions}
    assert isclose(float(result.outcome.value), value, rel_tol=1e-10)
    assert set(found) == {"reading noise", "calibration curve", "one-standard correction"}
    assert isclose(found["one-standard correction"], u_correction, rel_tol=1e-5)
    # The sample's readings are taken as noisy as on the day of the curve, in absorbance as read.
    assert isclose(float(result.outcome.u), u, rel_tol=1e-5)
    assert int(result.outcome.df) == (19 if fit_on == "readings" else 5), "all of it is of the curve's one s"


def test_at_the_correction_standard_the_curve_falls_out() -> None:
    first, _ = usual()
    second = later((*opening(), *tray(GAIN, (15.0, 15.0)), *checks(GAIN)), curve_of(first), first.method)
    found = {one.name: float(one.u) for one in only(worked(second)).contributions}
    assert found.get("calibration curve", 0.0) < 1e-3 * found["one-standard correction"]


@pytest.mark.parametrize("fit_on", ["readings", "means"])
def test_u_of_the_factor_is_that_of_the_readings_of_both(fit_on: str) -> None:
    work = worked(usual(fit_on=fit_on)[1])
    use, s = work.calibration.stored[0], float(work.calibration.residual_sd)
    u = s / sqrt(3) if fit_on == "readings" else s
    net = float(use.signal) - float(use.blank_signal)
    assert isclose(float(use.u_factor), float(use.factor) * u * sqrt(2) / net, rel_tol=1e-9)


def test_a_blank_taken_off_is_corrected_alike() -> None:
    first, _ = usual()
    method = replace(first.method, blank_subtraction="undiluted", checks=(*BRACKETS, rule("method_blank")))
    blank = shot("method_blank", "MB", 0.3, GAIN, portion="MB")
    bench = bench_of([portion_of("V"), portion_of("W"), portion_of("MB", "", kind="method_blank", mass_g="")], [TWO])
    with_blank = only(worked(later((*opening(), blank, *tray(), *checks(GAIN)), curve_of(first), method), bench))
    without = only(worked(usual()[1]))
    assert isinstance(with_blank.outcome, Quantified)
    assert isinstance(without.outcome, Quantified)
    assert isclose(float(without.outcome.value) - float(with_blank.outcome.value), 0.3 * 0.05, rel_tol=0.05)
    assert "one-standard correction" in {one.name for one in with_blank.contributions}


def test_validated_uncertainty_takes_the_place_of_the_correction_too() -> None:
    first, second = usual()
    plan = replace(first.method.uncertainty, s0="0.02", s1_percent="3")
    result = only(worked(replace(second, method=replace(first.method, uncertainty=plan))))
    assert [one.name for one in result.contributions] == ["validated uncertainty"]


# ------------------------------------------------------------------ what fails


@pytest.mark.parametrize(("gain", "word"), [(0.70, "1.42"), (1.40, "0.71")])
def test_a_factor_outside_its_window_fails_the_run(gain: float, word: str) -> None:
    work = worked(usual(gain)[1])
    found = verdict(work, "factor")
    assert (found.verdict, found.low, found.high, found.source) == ("fail", "0.8", "1.2", "test")
    assert word in found.why
    assert "calibrate again" in found.why
    assert not work.usable
    outcome = only(work).outcome
    assert isinstance(outcome, NotReportable)
    assert outcome.code == "run.calibration"
    assert {row.code for row in work.voided} == {"run.calibration"}


@pytest.mark.parametrize("factor", ["0.8", "1.2"])
def test_the_ends_of_the_window_are_inside(factor: str) -> None:
    first, second = usual()
    found = worked(second).calibration.stored[0].factor
    ends = {"smallest_factor": found} if factor == "0.8" else {"smallest_factor": "0.5", "largest_factor": found}
    method = replace(first.method, stored_curve=replace(first.method.stored_curve, **ends))
    assert verdict(worked(replace(second, method=method)), "factor").verdict == "pass"


def test_a_correction_standard_that_scatters_fails_the_run() -> None:
    first, _ = usual()
    wild = replace(opening()[1], signals=("0.030", "0.042", "0.054"))
    work = worked(later((opening()[0], wild, *checks(GAIN), *tray(), *checks(GAIN)), curve_of(first), first.method))
    assert "S5 at position 2: the readings scatter" in verdict(work, "factor").why
    assert not work.usable


UNCONFIRMED = {
    "no check at all": ((), "Check standard was not read between"),
    "no check blank": (checks(GAIN)[:1], "Check blank was not read between"),
    "a check standard that fails": (checks(GAIN, standard=12.0), "Check standard"),
    "a check blank that fails": (checks(GAIN, blank=2.0), "Check blank"),
    "a second pair that fails": ((*checks(GAIN), *checks(GAIN, standard=7.0)), "Check standard"),
}


@pytest.mark.parametrize("case", UNCONFIRMED)
def test_a_correction_is_followed_by_passing_checks(case: str) -> None:
    between, words = UNCONFIRMED[case]
    first, _ = usual()
    work = worked(later((*opening()[:2], *between, *tray(), *checks(GAIN)), curve_of(first), first.method))
    found = verdict(work, "confirmed")
    assert found.verdict == "fail"
    assert words in found.why
    assert not work.usable
    assert isinstance(only(work).outcome, NotReportable)


def test_a_check_before_the_correction_confirms_nothing_and_gives_no_value() -> None:
    first, _ = usual()
    work = worked(later((*checks(GAIN), *opening()[:2], *tray(), *checks(GAIN)), curve_of(first), first.method))
    assert verdict(work, "confirmed").verdict == "fail"
    early = [one for one in work.checks if one.rule == "check-standard" and one.positions == (1,)]
    assert [one.verdict for one in early] == ["not_evaluated"]
    assert "presented before the correction standard" in early[0].why


def test_a_failed_bracket_later_stays_failed() -> None:
    """The correction never rescues what a failed check voids."""
    first, _ = usual()
    work = worked(later((*opening(), *tray(), *checks(GAIN, standard=12.5)), curve_of(first), first.method))
    assert {row.code for row in work.voided} == {"bracket.failed"}
    assert isinstance(only(work).outcome, NotReportable)


def test_a_stored_curve_that_is_not_good_fails_here_as_there() -> None:
    first, _ = usual()
    bent = tuple(replace(one, signals=around(0.01)) if one.label == "S4" else one for one in first_shots())
    bad = run_of(bent, first.method)
    work = worked(later((*opening(), *tray(), *checks(GAIN)), curve_of(bad), first.method))
    why = [one.why for one in work.checks if one.check == "calibration" and one.verdict == "fail" and not one.positions]
    assert why
    assert all(text.startswith("curve of R-00003: ") for text in why)
    assert not work.usable


def first_shots() -> tuple[Shot, ...]:
    return (*zeroed(), *checks(1.0), *checks(1.0))


def test_a_correction_standard_in_the_lower_half_is_said() -> None:
    first, _ = usual()
    low = (opening()[0], shot("correction_standard", "S3", 5.0, GAIN), *checks(GAIN))
    work = worked(later((*low, *tray(), *checks(GAIN)), curve_of(first), first.method))
    assert any("lower half of the stored standards" in text for text in work.findings)
    assert work.usable
    assert not any("lower half" in text for text in worked(usual()[1]).findings)


def test_standards_without_scatter_are_said_of_the_curve_and_not_of_this_runs_positions() -> None:
    flat = tuple(replace(one, signals=(one.signals or ("",))[1:2] * 3) for one in zeroed())
    first = run_of((*flat, *checks(1.0), *tray(1.0), *checks(1.0)), stored_method())
    scattered, still = usual()[1], later((*opening(), *tray(), *checks(GAIN)), curve_of(first), first.method)
    assert not any("without any scatter" in text for text in worked(scattered).findings)
    assert any("without any scatter" in text for text in worked(still).findings)


def test_sensitivity_is_that_of_today() -> None:
    method = replace(stored_method(), checks=(*BRACKETS, rule("sensitivity", expected="30.0", low="50", high="200")))
    method = replace(method, conditions=replace(method.conditions, injection_ul="20"))
    first = run_of((*zeroed(), *checks(1.0), *tray(1.0), *checks(1.0)), method)
    second = later((*opening(0.85), *tray(0.85), *checks(0.85)), curve_of(first), method)
    there, here = (next(one for one in worked(run).checks if one.check == "sensitivity") for run in (first, second))
    assert here.positions == (1, 2)
    assert isclose(float(here.found) / float(there.found), 1 / 0.85, rel_tol=0.01)


# ------------------------------------------------------------------ refusals


IMPOSSIBLE: dict[str, tuple[Sequence[Shot], str, str]] = {
    "standards of its own": ((*zeroed(), *opening()), "compute.correction-place", "standards of its own"),
    "no correction standard": ((opening()[0], *checks(GAIN)), "compute.correction-place", "0 correction standards"),
    "two correction standards": (
        (*opening()[:2], *opening()[1:]),
        "compute.correction-place",
        "2 correction standards",
    ),
    "no blank": (opening()[1:], "compute.correction-place", "0 calibration blanks"),
    "two blanks": ((opening()[0], *opening()), "compute.correction-place", "2 calibration blanks"),
    "a blank far off": (
        (opening()[0], *checks(GAIN), *opening()[1:]),
        "compute.correction-place",
        "not stand directly beside",
    ),
    "a sample before": ((*tray()[:1], *opening()), "compute.correction-place", "presented before"),
    "a standard of unknown content": (
        (opening()[0], shot("correction_standard", "QC-A", 12.0, GAIN), *checks(GAIN)),
        "compute.correction-place",
        "nothing says what",
    ),
    "a standard outside the range": (
        (opening()[0], shot("correction_standard", "QC-A", 25.0, GAIN, nominal="25"), *checks(GAIN)),
        "compute.correction-impossible",
        "outside the stored standards",
    ),
    "a standard that reads nothing": (
        (opening()[0], shot("correction_standard", "S5", 0.0, GAIN), *checks(GAIN)),
        "compute.correction-impossible",
        "no more than its blank",
    ),
    "a standard of nothing": (
        (opening()[0], shot("correction_standard", "QC-A", 1.0, GAIN, nominal="0"), *checks(GAIN)),
        "compute.correction-impossible",
        "no signal above zero",
    ),
    "a standard without a number": (
        (opening()[0], Shot("correction_standard", "S5", signals=("over", "over", "over")), *checks(GAIN)),
        "compute.correction-impossible",
        "has no reading",
    ),
}


@pytest.mark.parametrize("case", IMPOSSIBLE)
def test_what_cannot_be_corrected_is_a_problem(case: str) -> None:
    own, code, words = IMPOSSIBLE[case]
    method = stored_method(model="line_through_zero") if case == "a standard of nothing" else stored_method()
    first = run_of(first_shots(), method)
    found = work_run(later((*own, *tray()[1:], *checks(GAIN)), curve_of(first), method), BENCH)
    assert isinstance(found, tuple), case
    (problem,) = found
    assert (problem.code, bool(problem.remedy)) == (code, True)
    assert words in problem.what


@pytest.mark.parametrize(
    ("hours", "measured_at", "words"),
    [
        ("21.99", "2026-03-02T08:00:00Z", "allows 21.99 hours"),
        ("24", "2026-03-03T06:00:01Z", "may not be used"),
        ("", "2026-03-02T08:00:00Z", "allows none"),
    ],
)
def test_an_old_curve_a_later_one_and_one_that_is_not_allowed_are_problems(
    hours: str, measured_at: str, words: str
) -> None:
    first, second = usual()
    plan = replace(first.method.stored_curve, valid_hours=hours)
    curve = curve_of(first, measured_at=measured_at)
    found = work_run(replace(second, method=replace(first.method, stored_curve=plan), stored_curve=(curve,)), BENCH)
    assert isinstance(found, tuple)
    assert [one.code for one in found] == ["compute.curve-age"]
    assert words in found[0].what


@pytest.mark.parametrize("hours", ["22", "22.0"])
def test_a_curve_of_exactly_its_age_is_used(hours: str) -> None:
    first, second = usual()
    plan = replace(first.method.stored_curve, valid_hours=hours)
    assert worked(replace(second, method=replace(first.method, stored_curve=plan))).usable


def test_a_stored_curve_nothing_can_be_fitted_to_is_a_problem() -> None:
    first, second = usual()
    curve = replace(curve_of(first), solutions=curve_of(first).solutions[:1])
    found = work_run(replace(second, stored_curve=(curve,)), BENCH)
    assert isinstance(found, tuple)
    assert [one.code for one in found] == ["compute.calibration-impossible"]


def test_a_falling_stored_curve_is_a_problem() -> None:
    method = stored_method()
    falling = run_of((*zeroed(slope=-SLOPE), *checks(1.0)), method)
    found = work_run(later((*opening(), *tray(), *checks(GAIN)), curve_of(falling), method), BENCH)
    assert isinstance(found, tuple)
    assert "does not rise" in found[0].what


# ------------------------------------------------------------------ company


def company() -> list[Run]:
    """Runs with and without a stored curve, of several shapes, one that cannot be corrected."""
    found: list[Run] = []
    for number, param in enumerate(PLANS):
        options: Any = param.values[0]
        found += usual(0.85 + 0.05 * number, **options)
    first = run_of(first_shots(), stored_method())
    found.append(later((*opening()[:1], *checks(GAIN), *tray(), *checks(GAIN)), curve_of(first), first.method))
    found.append(run_of((*zeroed(), *samples("VW"), *checks(1.0)), stored_method()))
    return found


def prints(works: Sequence[object]) -> list[object]:
    return [record_bytes(work) if isinstance(work, RunWork) else repr(work) for work in works]


RUNS = company()
ALONE = prints([work_run(run, BENCH) for run in RUNS])


def test_alone_and_batched_give_the_same_bytes() -> None:
    assert prints(work_runs(RUNS, BENCH)) == ALONE
    assert len(set(ALONE)) == len(RUNS)


@settings(max_examples=10, deadline=None)
@given(st.permutations(range(len(RUNS))), st.integers(1, 8))
def test_shuffled_and_cut_into_batches_give_the_same_bytes(order: list[int], size: int) -> None:
    found: dict[int, object] = {}
    for start in range(0, len(order), size):
        places = order[start : start + size]
        found.update(zip(places, prints(work_runs([RUNS[place] for place in places], BENCH)), strict=True))
    assert [found[place] for place in range(len(RUNS))] == ALONE


@settings(max_examples=40, deadline=None)
@given(st.floats(0.82, 1.18), st.floats(2.0, 19.0), st.floats(-0.001, 0.002))
def test_what_a_solution_holds_is_found_whatever_the_day(gain: float, holds: float, rest: float) -> None:
    """The zero and the sensitivity of the day fall out."""
    first, _ = usual()
    day = [
        replace(one, signals=around(rest + gain * SLOPE * amount))
        for one, amount in zip(
            (*opening(gain), *tray(gain), *checks(gain)), (0.0, 15.0, 10.0, 0.02, holds, holds, 10.0, 0.02), strict=True
        )
    ]
    portions = only(worked(later(day, curve_of(first), first.method))).portions
    for one in portions:
        assert isclose(float(one.solution_value), holds, rel_tol=0.01, abs_tol=0.03)


READINGS = st.lists(
    st.one_of(
        st.floats(-2.0, 5.0).map(lambda one: f"{one:.5f}"),
        st.sampled_from(["0", "0.00000", "over", "none", "0.0000000000000000000001", "99999999999999999999"]),
    ),
    min_size=3,
    max_size=3,
).map(tuple)


@settings(max_examples=150, deadline=None)
@given(st.lists(READINGS, min_size=8, max_size=8), st.sampled_from(PLANS))
def test_readings_of_any_kind_give_a_work_or_problems(readings: list[tuple[str, ...]], plan: Any) -> None:  # noqa: ANN401
    """Nothing else: no exception, no warning, no number that is none."""
    first, second = usual(**plan.values[0])
    day = [replace(one, signals=own) for one, own in zip((*opening(), *tray(), *checks(GAIN)), readings, strict=True)]
    found = work_run(later(day, second.stored_curve[0], first.method), BENCH)
    if isinstance(found, RunWork):
        text = record_bytes(found)
        assert b"nan" not in text.replace(b"mandel", b"")
        assert b'"inf"' not in text
    else:
        assert found
        assert all(one.what and one.remedy for one in found)


def test_checks_after_the_first_sample_confirm_nothing() -> None:
    """V is read right after the correction; the checks come before W."""
    first, _ = usual()
    correction, (one, other) = opening(GAIN)[:2], tray(GAIN)
    run = later((*correction, one, *checks(GAIN), other, *checks(GAIN)), curve_of(first), first.method)
    found = verdict(worked(run), "confirmed")
    missing = "{} was not read between the correction and the first solution presented"
    assert found.verdict == "fail"
    assert found.positions == ()
    assert found.why == f"the correction is not confirmed: {missing.format('Check standard')}; " + missing.format(
        "Check blank"
    )
