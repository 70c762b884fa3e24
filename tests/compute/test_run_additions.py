"""Portions evaluated by their own standard additions in a run: the line, every way to have no value, the budget."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from math import isclose, sqrt
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.compute.making import (
    BRACKETS,
    Shot,
    bench_of,
    pair,
    pb_method,
    portion_of,
    readings_of,
    requirement_of,
    rule,
    run_of,
    samples,
    standards,
)

from benchseal.compute.calc import answer
from benchseal.compute.run_work import work_run, work_runs
from benchseal.records.preparation import Addition, DilutionStep
from benchseal.records.results import BelowLimit, NotReportable, Quantified, RunWork

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.records.method import Method
    from benchseal.records.preparation import Portion
    from benchseal.records.results import WorkedResult

ADDED = ("0", "2.5", "5", "7.5")
OPEN = requirement_of(upper="", decimals=-1)


def by_additions(**plan: Any) -> Method:  # noqa: ANN401  fields of a record by name
    """The furnace line with additions allowed, signals zeroed on the blank, no offset."""
    usual = {"additions": "allowed", "additions_source": "test", **plan}
    return pb_method(signal_is="absorbance_zeroed_on_blank", calibration=replace(pb_method().calibration, **usual))


def tubes(label: str, added: Sequence[str] = ADDED) -> dict[str, tuple[Addition, ...]]:
    """The portion's own tube and one for each addition, called a, b, c."""
    names = (label, *(f"{label}{sign}" for sign in "abcdefgh"))
    return {"Pb": tuple(Addition(name, one) for name, one in zip(names, added, strict=False))}


def series(label: str, holds: float, slope: float = 0.00293, **changes: Any) -> tuple[Shot, ...]:  # noqa: ANN401
    """The four tubes of a portion whose matrix gives ``slope``, a little off their line; kept in order of addition."""
    off = (0.00004, -0.00003, -0.00005, 0.00004)
    rows = zip(tubes(label)["Pb"], off, strict=True)
    return tuple(
        Shot("sample", tube.label, portion=label, signals=_around(slope * (holds + float(tube.added)) + by), **changes)
        for tube, by in rows
    )


def _around(signal: float) -> tuple[str, ...]:
    return tuple(f"{signal + by:.7f}" for by in (-0.00006, 0.00001, 0.00005))


def zeroed() -> tuple[Shot, ...]:
    """Standards without the offset of ``pb_signal``."""
    off = (0.0, 0.02, -0.02, 0.03, -0.04, 0.05, -0.03)
    return tuple(
        replace(shot, signals=_around(0.00293 * (float(shot.nominal) + by)))
        for shot, by in zip(standards(), off, strict=True)
    )


def around(*shots: Shot) -> tuple[Shot, ...]:
    """Shots between the calibration and two pairs of checks that read right."""
    good = (replace(pair()[0], signals=_around(0.0293)), replace(pair()[1], signals=_around(0.0001)))
    return (*zeroed(), *good, *shots, *good)


def worked(shots: Sequence[Shot], portions: Sequence[Portion], method: Method | None = None, **of: Any) -> RunWork:  # noqa: ANN401
    found = work_run(run_of(shots, method or by_additions()), bench_of(portions, of.get("asked", (OPEN,))))
    assert isinstance(found, RunWork), found
    return found


def only(work: RunWork) -> WorkedResult:
    (result,) = work.results
    return result


ONE = portion_of("W", additions=tubes("W"))


def why(result: WorkedResult) -> tuple[str, str]:
    assert isinstance(result.outcome, NotReportable), result.outcome
    return result.outcome.code, result.outcome.why


# ------------------------------------------------------------------ a value


@pytest.mark.parametrize("fit_on", ["readings", "means"])
def test_the_value_is_that_of_calc(fit_on: str) -> None:
    method = by_additions(fit_on=fit_on)
    shots = series("W", 4.0, slope=0.0024)
    portion = only(worked(around(*shots), [ONE], method)).portions[0]
    if fit_on == "readings":
        points = [
            (float(one), float(text)) for one, shot in zip(ADDED, shots, strict=True) for text in shot.signals or ()
        ]
    else:
        points = [
            (float(one), float(tube.mean_signal)) for one, tube in zip(ADDED, portion.series[0].tubes, strict=True)
        ]
    request = {"kind": "standard_addition", "added": [x for x, _ in points], "y": [y for _, y in points]}
    found: Any = answer(request)
    assert isclose(float(portion.solution_value), found["x"], rel_tol=1e-11)
    assert isclose(float(portion.u_solution), found["u"], rel_tol=1e-9)
    assert (portion.series[0].n, portion.series[0].df) == (len(points), found["df"]) == (len(points), len(points) - 2)
    assert isclose(float(portion.solution_value), 4.0, rel_tol=0.02)


def test_the_curve_cannot_see_what_the_matrix_takes_and_the_additions_can() -> None:
    shots = series("W", 4.0, slope=0.0020)
    added = only(worked(around(*shots), [ONE]))
    external = only(worked(around(shots[0]), [replace(ONE, additions={})]))
    assert isinstance(added.outcome, Quantified)
    assert isinstance(external.outcome, Quantified)
    assert isclose(float(added.outcome.value), 4.0 * 0.05, rel_tol=0.03)
    assert float(external.outcome.value) < 0.75 * 4.0 * 0.05


def test_tubes_may_be_read_in_any_order() -> None:
    shots = series("W", 4.0)
    first = only(worked(around(*shots), [ONE]))
    later = only(worked(around(*(shots[nth] for nth in (2, 0, 3, 1))), [ONE]))
    assert first.outcome == later.outcome
    assert [tube.position for tube in later.portions[0].series[0].tubes] == [11, 13, 10, 12]
    assert (later.portions[0].position, later.portions[0].positions) == (11, (10, 11, 12, 13))


def test_a_run_with_additions_alone_and_in_company_gives_the_same() -> None:
    shots = around(*series("W", 4.0))
    run, other = run_of(shots, by_additions()), run_of(around(*series("W", 6.0)), by_additions())
    bench = bench_of([ONE], (OPEN,))
    assert work_runs((other, run, other), bench)[1] == work_run(run, bench)


@settings(max_examples=30)
@given(st.integers(-8, 8), st.floats(1.2, 6.0), st.floats(0.0015, 0.004))
def test_signals_times_a_power_of_two_change_no_value(power: int, holds: float, slope: float) -> None:
    """Every float of curve and line is then scaled exactly, so value, uncertainty and ratio keep their digits."""
    shots = around(*series("W", holds, slope))
    times = Decimal(2) ** power
    scaled = [
        replace(shot, signals=tuple(f"{Decimal(text) * times:f}" for text in readings_of(shot))) for shot in shots
    ]
    one, other = (only(worked(of, [ONE])) for of in (shots, scaled))
    assert one.outcome == other.outcome
    assert one.portions[0].series[0].slope_ratio == other.portions[0].series[0].slope_ratio
    assert one.portions[0].u_solution == other.portions[0].u_solution


@settings(max_examples=30)
@given(st.sampled_from([2, 5, 20, 100]), st.floats(1.2, 6.0))
def test_a_dilution_multiplies_value_and_uncertainty(factor: int, holds: float) -> None:
    """Made up to ``factor`` times as much before the tubes were filled: everything but the ware scales with it."""
    method = by_additions()
    method = replace(method, uncertainty=replace(method.uncertainty, dilution_step_percent="0"))
    shots = around(*series("W", holds))
    plain = only(worked(shots, [ONE], method)).outcome
    steps: dict[str, tuple[DilutionStep, ...]] = {"Pb": (DilutionStep("1", str(factor)),)}
    more = only(worked(shots, [replace(ONE, dilutions=steps)], method)).outcome
    assert isinstance(plain, Quantified)
    assert isinstance(more, Quantified)
    assert isclose(float(more.value), factor * float(plain.value), rel_tol=1e-11)
    assert isclose(float(more.u), factor * float(plain.u), rel_tol=1e-10)


def test_below_the_lowest_level_is_less_than() -> None:
    outcome = only(worked(around(*series("W", 0.2)), [ONE])).outcome
    assert isinstance(outcome, BelowLimit)
    assert Decimal(outcome.limit) == Decimal("0.05")


# ------------------------------------------------------------------ no value


@pytest.mark.parametrize(
    ("lacking", "named"), [(0, "W was"), (2, "Wb was"), (3, "Wc was")], ids=["unspiked", "in between", "highest"]
)
def test_a_tube_not_read_costs_the_portion(lacking: int, named: str) -> None:
    shots = [shot for nth, shot in enumerate(series("W", 4.0)) if nth != lacking]
    work = worked(around(*shots), [ONE])
    code, words = why(only(work))
    assert code == "additions.incomplete"
    assert named in words
    assert work.usable
    assert work.voided[0].code == code


def test_the_unspiked_tube_alone_is_no_series() -> None:
    assert why(only(worked(around(series("W", 4.0)[0]), [ONE])))[0] == "additions.incomplete"


def test_a_method_without_additions_reads_the_unspiked_tube_from_its_curve() -> None:
    result = only(worked(around(series("W", 4.0)[0]), [ONE], by_additions(additions="", additions_source="")))
    assert isinstance(result.outcome, Quantified)
    assert result.portions[0].series == ()


@pytest.mark.parametrize("nth", range(4))
def test_a_tube_that_gives_no_value_costs_the_series(nth: int) -> None:
    shots = list(series("W", 4.0))
    shots[nth] = replace(shots[nth], signals=("0.01", "0.02", "0.03"))
    code, words = why(only(worked(around(*shots), [ONE])))
    assert code == "reading.scatter"
    assert f"tube {shots[nth].label} with {ADDED[nth]} µg/L added" in words


def test_a_tube_above_the_highest_standard_costs_the_series() -> None:
    code, words = why(only(worked(around(*series("W", 13.0)), [ONE])))
    assert code == "reading.over-range"
    assert "tube Wc" in words


@pytest.mark.parametrize("nth", range(4))
def test_a_failed_bracket_around_any_tube_voids_the_series(nth: int) -> None:
    """The check after the nth tube fails; the bracket takes it and its neighbours, and so the portion."""
    shots, good = series("W", 4.0), around()[7:9]
    bad = (replace(good[0], signals=_around(0.05)), good[1])
    order = (*zeroed(), *good, *shots[:nth], *good, shots[nth], *bad, *good, *shots[nth + 1 :], *good)
    code, words = why(only(worked(order, [ONE])))
    assert code == "bracket.failed"
    assert "Check standard" in words


def test_a_failed_calibration_voids_the_series() -> None:
    method = by_additions(smallest_r_squared="0.9999999")
    assert why(only(worked(around(*series("W", 4.0)), [ONE], method)))[0] == "run.calibration"


def test_signals_that_do_not_rise_give_no_line() -> None:
    flat = [replace(shot, signals=_around(0.012 - 0.0004 * nth)) for nth, shot in enumerate(series("W", 4.0))]
    code, words = why(only(worked(around(*flat), [ONE])))
    assert code == "additions.no-line"
    assert "does not rise" in words


def test_a_slope_lost_in_scatter_gives_no_line() -> None:
    wild = (0.012, 0.0118, 0.0123, 0.0119)
    shots = [replace(shot, signals=_around(one)) for shot, one in zip(series("W", 4.0), wild, strict=True)]
    code, words = why(only(worked(around(*shots), [ONE], by_additions(fit_on="means"))))
    assert code == "additions.no-line"
    assert "lost in their scatter" in words


def test_r_is_held_against_the_method() -> None:
    off = (0.0, 0.0022, -0.0022, 0.0)
    shots = [
        replace(shot, signals=_around(0.00293 * (4.0 + float(one)) + by))
        for shot, one, by in zip(series("W", 4.0), ADDED, off, strict=True)
    ]
    assert isinstance(only(worked(around(*shots), [ONE])).outcome, Quantified)
    code, words = why(only(worked(around(*shots), [ONE], by_additions(additions_smallest_r="0.995"))))
    assert code == "additions.scatter"
    assert "limit at least 0.995" in words


@pytest.mark.parametrize(("slope", "taken"), [(0.00293, True), (0.0025, True), (0.0022, False), (0.0037, False)])
def test_the_slope_is_held_against_the_curve_where_the_method_says_so(slope: float, taken: bool) -> None:
    shots = around(*series("W", 3.0, slope=slope))
    result = only(worked(shots, [ONE], by_additions(additions_largest_slope_percent="20")))
    assert isinstance(result.outcome, Quantified) is taken
    if not taken:
        assert why(result)[0] == "additions.slope"
        assert "limit 1 ± 20 %" in why(result)[1]
    assert isinstance(only(worked(shots, [ONE])).outcome, Quantified)


def test_a_value_beyond_the_highest_addition_is_none() -> None:
    code, words = why(only(worked(around(*series("W", 9.0)), [ONE])))
    assert code == "additions.beyond"
    assert "highest addition, 7.5 µg/L" in words
    assert isinstance(only(worked(around(*series("W", 7.0)), [ONE])).outcome, Quantified)


def test_a_slope_far_from_the_curve_is_said() -> None:
    far = worked(around(*series("W", 4.0, slope=0.0024)), [ONE])
    near = worked(around(*series("W", 4.0, slope=0.0029)), [ONE])
    assert any("the slope of the additions to W is 0.8" in one for one in far.findings)
    assert not any("slope" in one for one in near.findings)
    assert far.usable


# ------------------------------------------------------------------ what may not come here


def faults(shots: Sequence[Shot], portion: Portion, method: Method) -> list[str]:
    found = work_run(run_of(around(*shots), method), bench_of([portion], (OPEN,)))
    assert isinstance(found, tuple)
    assert {one.code for one in found} == {"compute.additions"}
    return [one.what for one in found]


def test_what_no_file_may_bring_is_refused_again() -> None:
    shots, method = series("W", 4.0), by_additions()
    assert "is none of the tubes" in faults((replace(shots[0], label="Wz"),), ONE, method)[0]
    assert len(faults(shots, ONE, by_additions(additions="", additions_source=""))) == 3
    assert "is diluted 2 times" in faults((replace(shots[0], dilution="2"),), ONE, method)[0]
    assert "was read before" in faults((*shots, shots[2]), ONE, method)[0]
    required = by_additions(additions="required")
    assert "requires" in faults((shots[0],), replace(ONE, additions={}), required)[0]


def test_a_required_series_is_asked_of_samples_only() -> None:
    blank = portion_of("MB", "", kind="method_blank", mass_g="")
    shots = around(Shot("method_blank", "MB", portion="MB", signals=_around(0.0002)), *series("W", 4.0))
    assert isinstance(only(worked(shots, [ONE, blank], by_additions(additions="required"))).outcome, Quantified)


# ------------------------------------------------------------------ the budget


def names(result: WorkedResult) -> list[str]:
    return [one.name for one in result.contributions]


def test_the_line_takes_the_place_of_noise_and_curve() -> None:
    result = only(worked(around(*series("W", 4.0)), [ONE]))
    assert names(result)[0] == "additions line"
    assert not {"reading noise", "calibration curve"} & set(names(result))
    own = float(result.portions[0].u_solution) * 25.0 / 0.5 / 1000
    assert isclose(float(result.contributions[0].u), own, rel_tol=1e-11)


def test_lines_of_portions_are_independent() -> None:
    portions = [portion_of(label, additions=tubes(label)) for label in ("V", "W")]
    result = only(worked(around(*series("V", 4.0), *series("W", 4.2)), portions, asked=(replace(OPEN, portions=2),)))
    each = [float(one.u_solution) * 0.05 / 2 for one in result.portions]
    assert isclose(float(result.contributions[0].u), sqrt(each[0] ** 2 + each[1] ** 2), rel_tol=1e-11)
    assert isinstance(result.outcome, Quantified)
    u, stated = float(result.outcome.u), sum(one**4 / 10 for one in each)
    assert int(result.outcome.df) == int(u**4 / stated)


def test_a_portion_on_the_curve_and_one_on_its_line_make_one_mean() -> None:
    portions = [portion_of("V"), ONE]
    shots = around(Shot("sample", "V", portion="V", signals=_around(0.00293 * 4.0)), *series("W", 4.0))
    result = only(worked(shots, portions, asked=(replace(OPEN, portions=2),)))
    assert names(result)[:3] == ["reading noise", "additions line", "calibration curve"]
    assert isinstance(result.outcome, Quantified)
    curve = sum(float(one.u) ** 2 for one in result.contributions if one.name in {"reading noise", "calibration curve"})
    line = float(result.contributions[1].u)
    expected = float(result.outcome.u) ** 4 / (curve**2 / 19 + line**4 / 10)
    assert int(result.outcome.df) == int(expected)


def test_a_blank_from_the_curve_comes_off_a_value_by_additions() -> None:
    blank = portion_of("MB", "", kind="method_blank", mass_g="")
    shots = around(Shot("method_blank", "MB", portion="MB", signals=_around(0.00293 * 0.5)), *series("W", 4.0))
    without = only(worked(shots, [ONE, blank]))
    less = only(worked(shots, [ONE, blank], replace(by_additions(), blank_subtraction="undiluted")))
    assert isinstance(without.outcome, Quantified)
    assert isinstance(less.outcome, Quantified)
    taken_off = float(less.portions[0].blank_value) * 0.05
    assert isclose(float(without.outcome.value) - float(less.outcome.value), taken_off, rel_tol=1e-9)
    assert {"method blank, reading noise", "calibration curve", "additions line"} <= set(names(less))
    assert isclose(float(less.portions[0].blank_value), 0.5, rel_tol=0.1)


def test_a_spike_is_recovered_between_series() -> None:
    spiked = portion_of(
        "X", kind="spiked_sample", spike_of="W", added_ug={"Pb": "0.05"}, additions=tubes("X")
    )  # 2 ug/L in 25 mL
    method = replace(by_additions(), checks=(*BRACKETS, rule("spike", low="75", high="125")))
    extra = tuple(replace(shot, kind="spiked_sample") for shot in series("X", 5.0, slope=0.0022))
    work = worked(around(*series("W", 3.0, slope=0.0022), *extra), [ONE, spiked], method)
    (check,) = [one for one in work.checks if one.check == "spike"]
    assert check.verdict == "pass"
    assert isclose(float(check.found), 100.0, rel_tol=0.05)
    assert only(work).portions[0].series


def test_validated_uncertainty_replaces_the_line_too() -> None:
    method = by_additions()
    method = replace(method, uncertainty=replace(method.uncertainty, s0="0.02", s1_percent="3"))
    assert names(only(worked(around(*series("W", 4.0)), [ONE], method))) == ["validated uncertainty"]


def test_other_portions_of_the_run_are_read_from_the_curve() -> None:
    shots = around(*series("W", 4.0), *samples(["V"]))
    both = worked(shots, [ONE, portion_of("V", "S-00002")])
    assert [bool(result.portions[0].series) for result in both.results] == [True, False]


# ------------------------------------------------------------------ the record of a series without a line


def test_a_series_that_lacks_a_tube_keeps_its_tubes_and_nothing_of_a_line() -> None:
    shots = series("W", 4.0)
    (found,) = only(worked(around(*shots[:3]), [ONE])).portions[0].series
    assert [(tube.label, tube.added) for tube in found.tubes] == [("W", "0"), ("Wa", "2.5"), ("Wb", "5")]
    assert (found.n, found.df) == (9, 0)
    of_line = (found.added_mean, found.signal_mean, found.sxx, found.intercept, found.slope, found.residual_sd)
    assert {*of_line, found.r, found.slope_ratio} == {""}


def test_a_slope_at_the_limit_itself_is_allowed() -> None:
    """The limit is the slope's own distance from 1, to the last digit; a millionth less is too little."""
    shots = around(*series("W", 4.0, slope=0.0026))
    ratio = Decimal(only(worked(shots, [ONE])).portions[0].series[0].slope_ratio)
    limit = abs(ratio - 1) * 100
    allowed = by_additions(additions_largest_slope_percent=f"{limit:f}")
    assert isinstance(only(worked(shots, [ONE], allowed)).outcome, Quantified)
    refused = by_additions(additions_largest_slope_percent=f"{limit - Decimal('0.000001'):f}")
    assert why(only(worked(shots, [ONE], refused)))[0] == "additions.slope"
