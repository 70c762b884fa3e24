"""The calibration of a run: its weights, its form, what it is judged by and what is said about it."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from statistics import mean, stdev
from typing import TYPE_CHECKING, Any

import pytest
from scipy import stats
from tests.compute.asking import ask
from tests.compute.curves import (
    SPREAD,
    bench,
    bent,
    growing,
    method_with,
    points_of,
    rule,
    same,
    shots_of,
    straight,
    told,
    whole,
    worked,
)
from tests.compute.making import pair, pb_method, run_of, samples, standards

from benchseal.compute.run_work import work_run, work_runs
from benchseal.problems import Problem
from benchseal.records.results import RunWork
from benchseal.records.shape import record_bytes

if TYPE_CHECKING:
    from benchseal.records.method import Method


# ------------------------------------------------------------------ weights


@pytest.mark.parametrize("fit_on", ["readings", "means"])
def test_a_variance_function_weighs_the_zero_standard_too(fit_on: str) -> None:
    method = method_with(
        weighting="variance_function", variance_s0="0.00004", variance_k="0.00002", variance_source="own", fit_on=fit_on
    )
    shots = shots_of(method, straight, growing)
    work = worked(whole(method, shots))
    x, y = points_of(shots)
    if fit_on == "means":
        x, y = x[::5], [mean(y[place : place + 5]) for place in range(0, len(y), 5)]
    weights = [1 / (0.00004**2 + (0.00002 * one) ** 2) for one in x]
    expected = ask("calibration", model="line", weighting="given", x=x, y=y, weights=weights)
    assert work.calibration.weighting == "variance_function"
    assert (work.calibration.n, work.calibration.df) == (len(x), len(x) - 2)
    assert same(work.calibration.coefficients, expected["coefficients"])
    for found, row in zip(work.calibration.covariance, expected["covariance"], strict=True):
        assert same(found, row)
    assert work.usable


def test_a_variance_function_sets_the_noise_of_a_sample_by_its_place() -> None:
    """Of two readings with equal scatter in the curve, the one at the top is known less well."""
    method = method_with(
        weighting="variance_function", variance_s0="0.00004", variance_k="0.00002", variance_source="own"
    )
    calibration = shots_of(method, straight, growing)
    work = worked(whole(method, calibration, *samples("A", 2.0), *samples("B", 18.0)))
    b1, s = float(work.calibration.coefficients[1]), float(work.calibration.residual_sd)
    for result, c in zip(work.results, (2.0, 18.0), strict=True):
        noise = next(one for one in result.contributions if one.name == "reading noise")
        at = (0.00004**2 + (0.00002 * c) ** 2) ** 0.5
        assert float(noise.u) / 0.05 == pytest.approx(s * at / 3**0.5 / b1, rel=1e-3)  # 0.05 from ug/L to ug/g


def test_scatter_of_levels_weighs_their_means() -> None:
    method = method_with(weighting="1/s2", fit_on="means")
    shots = shots_of(method, lambda c: straight(c) + 2e-5 * (c % 2), growing)
    work = worked(whole(method, shots))
    x, y = points_of(shots)
    expected = ask("calibration", model="line", weighting="1/s2", x=x, y=y)
    assert (work.calibration.n, work.calibration.df) == (7, 5)
    assert same(work.calibration.coefficients, expected["coefficients"])
    assert same(work.calibration.standard_errors, expected["standard_errors"])
    assert told(work, "lack_of_fit").statistic == ""


def test_a_sample_between_levels_has_the_scatter_between_theirs() -> None:
    method = method_with(weighting="1/s2", fit_on="means")
    shots = shots_of(method, lambda c: straight(c) + 2e-5 * (c % 2), growing)
    work = worked(whole(method, shots, *samples("A", 12.5)))
    x, y = points_of(shots)
    portion = work.results[0].portions[0]
    sample = {"y": portion.mean_signal, "readings": 3}
    expected = ask("calibration", model="line", weighting="1/s2", x=x, y=y, samples=[sample])
    found = expected["samples"]
    assert same([portion.solution_value, portion.u_solution], [found[0]["x"], found[0]["u"]])
    s = {float(shot.nominal): stdev(float(text) for text in shot.signals or ()) for shot in shots}
    x0 = float(portion.solution_value)
    between = s[10.0] + (s[15.0] - s[10.0]) * (x0 - 10) / 5
    noise = next(one for one in work.results[0].contributions if one.name == "reading noise")
    reading = float(work.calibration.residual_sd) * between / 3**0.5 / float(work.calibration.coefficients[1])
    assert float(noise.u) / 0.05 == pytest.approx(reading, rel=1e-9)


@pytest.mark.parametrize(
    ("own", "words"),
    [
        pytest.param(("0.0162",) * 5, "do not scatter", id="equal readings"),
        pytest.param(("0.0162",), "a single reading", id="one reading"),
    ],
)
def test_a_level_without_scatter_is_named_and_never_weighs_infinitely(own: tuple[str, ...], words: str) -> None:
    method = method_with(weighting="1/s2", fit_on="means")
    shots = [
        replace(shot, signals=own) if shot.nominal == "5" else shot for shot in shots_of(method, straight, growing)
    ]
    found = work_run(whole(method, shots), bench())
    assert isinstance(found, tuple)
    (problem,) = found
    assert isinstance(problem, Problem)
    assert problem.code == "compute.calibration-impossible"
    assert words in problem.what
    assert "(concentration 5)" in problem.what


# ------------------------------------------------------------------ through zero


@pytest.mark.parametrize(
    ("shift", "verdict"),
    [pytest.param(0.00003, "pass", id="no intercept"), pytest.param(0.002, "fail", id="an intercept")],
)
def test_a_line_through_zero_stands_only_without_an_intercept(shift: float, verdict: str) -> None:
    method = method_with(model="line_through_zero", at_lowest_percent="100", largest_error_percent="100")
    shots = shots_of(method, lambda c: shift + 0.00293 * c, lambda _: 0.0002)
    work = worked(whole(method, shots, *samples("A", 5.0)))
    found = rule(work, "through_zero")
    assert found is not None
    x, y = points_of(shots)
    line = stats.linregress(x, y)
    half = float(stats.t.ppf(0.975, len(x) - 2)) * line.intercept_stderr
    assert same([found.found, found.high], [line.intercept, half])
    assert Decimal(found.low) == -Decimal(found.high)
    assert found.verdict == verdict == ("pass" if abs(line.intercept) <= half else "fail")
    assert work.usable == (verdict == "pass")
    if verdict == "fail":
        assert "meets concentration zero at 0.00" in found.why
        assert "calibration failed" in work.findings[0]
        assert work.results[0].outcome.kind == "not_reportable"


def test_a_line_with_intercept_is_not_asked_about_it() -> None:
    assert rule(worked(whole(pb_method(), standards())), "through_zero") is None


def test_a_line_through_zero_beside_no_free_line_fails() -> None:
    method = method_with(
        ("10",), model="line_through_zero", smallest_levels=1, largest_error_percent="100", at_lowest_percent="100"
    )
    work = worked(whole(method, shots_of(method, straight, growing)))
    found = rule(work, "through_zero")
    assert found is not None
    assert (found.verdict, found.found) == ("fail", "")
    assert "cannot be judged" in found.why


# ------------------------------------------------------------------ the form of the curve


def chosen(method: Method, signal: Any) -> RunWork:  # noqa: ANN401  a function of a concentration
    return worked(whole(method, shots_of(method, signal, lambda _: SPREAD), *samples("A", 5.0)))


def test_a_bent_calibration_takes_a_quadratic_where_the_method_allows_it() -> None:
    work = chosen(method_with(quadratic_allowed=True), bent)
    found = work.calibration
    assert (found.model, len(found.coefficients), found.df) == ("quadratic", 3, 35 - 3)
    assert found.chosen_because.startswith("a quadratic is allowed, fits significantly better than the line, has 7")
    same_as = chosen(method_with(model="quadratic"), bent)
    assert replace(found, chosen_because="") == same_as.calibration
    assert work.results == same_as.results
    kept = chosen(method_with(), bent).calibration
    assert (kept.model, kept.chosen_because) == ("line", "")


@pytest.mark.parametrize(
    ("levels", "signal", "words"),
    [
        pytest.param(None, straight, "it does not fit significantly better", id="a straight one"),
        pytest.param(("0", "5", "10", "15", "20"), bent, "there are fewer than 6 levels", id="five levels"),
        pytest.param(
            None, lambda c: 0.0015 + 0.00293 * c - 0.00009 * c * c, "it does not rise over the whole range", id="falls"
        ),
        pytest.param(
            ("1", "10", "20", "30", "40", "50", "60", "70"),
            lambda c: (
                dict(
                    zip((1, 10, 20, 30, 40, 50, 60, 70), (42, 208.5, 412, 604.5, 796, 986.5, 1168, 1347.5), strict=True)
                )[int(c)]
                / 1e4
            ),
            "the back-calculated errors do not get smaller",
            id="worse errors at the lowest",
        ),
    ],
)
def test_the_line_is_kept_for_a_reason_in_words(levels: tuple[str, ...] | None, signal: Any, words: str) -> None:  # noqa: ANN401
    work = chosen(method_with(levels, quadratic_allowed=True), signal)
    assert work.calibration.model == "line"
    assert work.calibration.chosen_because.startswith("a quadratic is allowed, but ")
    assert words in work.calibration.chosen_because


def test_no_sample_has_a_say_in_the_form_of_the_curve() -> None:
    """The same calibration beside other samples, and beside none, is the same record."""
    method = method_with(quadratic_allowed=True)
    shots = shots_of(method, bent, lambda _: SPREAD)
    each = [(), samples("A", 0.4), samples("A", 14.0), samples("AB", 40.0)]
    found = {record_bytes(worked(run_of((*shots, *pair(), *own), method)).calibration) for own in each}
    assert len(found) == 1


def test_too_few_points_for_a_quadratic_keep_the_line() -> None:
    method = method_with(("0", "10", "20"), quadratic_allowed=True, fit_on="means", smallest_levels=3)
    assert "not enough points" in chosen(method, straight).calibration.chosen_because


# ------------------------------------------------------------------ relative standard error


@pytest.mark.parametrize(("limit", "verdict"), [("", None), ("5", "pass"), ("0.5", "fail")])
def test_relative_standard_error(limit: str, verdict: str | None) -> None:
    work = worked(whole(method_with(largest_rse_percent=limit), standards()))
    found = rule(work, "rse")
    assert (found and found.verdict) == verdict
    if found is not None:
        assert found.found == work.calibration.rse_percent
        assert (found.low, found.high, found.unit) == ("", limit, "%")
    if verdict == "fail":
        assert found is not None
        assert f"limit at most {limit} %" in found.why
        assert not work.usable


def test_a_relative_standard_error_that_is_not_defined_does_not_pass() -> None:
    method = method_with(("0", "10", "20"), fit_on="means", smallest_levels=3, largest_rse_percent="99")
    found = rule(chosen(method, straight), "rse")
    assert found is not None
    assert (found.verdict, found.found) == ("fail", "")
    assert "not defined: levels above zero are 2, and 3 points above zero are needed" in found.why


# ------------------------------------------------------------------ company


def test_no_curve_loads_what_is_slow_to_load() -> None:
    """Critical values stand in every run; scipy would take a third of the time of a command."""
    script = (
        "import sys; sys.path[:0] = sys.argv[1:]\n"
        "from tests.compute.making import bench_of, pb_method, run_of, standards, pair\n"
        "from dataclasses import replace\n"
        "from benchseal.compute.run_work import work_run\n"
        "for model, noise in (('line', 1.0), ('line', 60.0), ('quadratic', 1.0), ('line_through_zero', 1.0)):\n"
        "    plan = replace(pb_method().calibration, model=model, quadratic_allowed=model == 'line')\n"
        "    shots = [replace(one, scatter=0.01 * noise, holds=one.holds ** (1 / noise)) for one in standards()]\n"
        "    work = work_run(run_of((*shots, *pair()), pb_method(calibration=plan)), bench_of([]))\n"
        "    print(work.calibration.model, 'scipy' in sys.modules)\n"
    )
    root = Path(__file__).parents[2]
    done = subprocess.run(  # noqa: S603  this interpreter, our own text
        [sys.executable, "-c", script, str(root), str(root / "pipeline")], capture_output=True, text=True, check=True
    )
    assert done.stdout.split() == [
        word for model in ("line", "line", "quadratic", "line_through_zero") for word in (model, "False")
    ]


def test_curves_of_every_kind_beside_each_other_are_those_alone() -> None:
    function: dict[str, object] = {
        "weighting": "variance_function",
        "variance_s0": "0.00004",
        "variance_k": "0.00002",
        "variance_source": "own",
    }
    plans: list[dict[str, object]] = [
        {},
        {"quadratic_allowed": True},
        {"quadratic_allowed": True, "fit_on": "means"},
        function,
        {**function, "variance_k": "0.00005", "quadratic_allowed": True},
        {"weighting": "1/s2", "fit_on": "means"},
        {"weighting": "1/s2", "fit_on": "means", "quadratic_allowed": True},
        {"weighting": "1/s2"},
        {"model": "line_through_zero"},
    ]
    many: list[tuple[str, ...] | None] = [
        None,
        ("0", "2", "4", "6", "8", "10", "20"),
        ("1", "5", "9", "12", "15", "20"),
    ]
    methods = [method_with(levels, **plan) for plan in plans for levels in many]
    runs = [
        whole(method, shots_of(method, signal, growing), *samples("AB", 4.0))
        for method in methods
        for signal in (straight, bent)
    ]
    alone = [record_bytes(worked(run)) for run in runs]
    together = work_runs(runs, bench())
    turned = work_runs(runs[::-1], bench())
    assert [record_bytes(one) for one in together] == alone
    assert [record_bytes(one) for one in turned[::-1]] == alone
    models = [one.calibration.model for one in together if isinstance(one, RunWork)]
    assert {"line", "quadratic", "line_through_zero"} == set(models)
