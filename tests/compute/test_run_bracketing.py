"""Portions read between two standards in a run: the value, every way to have none, the budget.

The rule is common practice, no source: what is checked from outside is its arithmetic, by numpy and by simulation.
"""

from __future__ import annotations

from dataclasses import replace
from math import isclose, sqrt
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.compute.bracketing import (
    LEVELS,
    OFFSET,
    OPEN,
    SLOPE,
    W,
    around,
    between,
    group,
    only,
    run_shots,
    sample,
    signal,
    standard,
    why,
    worked,
)
from tests.compute.making import BRACKETS, Shot, bench_of, pair, portion_of, readings_of, rule, run_of, standards

from benchseal.compute.calc import answer
from benchseal.compute.reread import Beside, reread
from benchseal.compute.reread_with import new_run
from benchseal.compute.run_budget_bracketing import sharing
from benchseal.compute.run_work import work_run, work_runs
from benchseal.records.method import DriftPlan
from benchseal.records.preparation import DilutionStep
from benchseal.records.results import BelowLimit, Quantified, RunWork

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.records.method import Method
    from benchseal.records.results import WorkedPortion, WorkedResult

FIRST = 10  # position of the first shot after calibration and checks
TWO = replace(OPEN, portions=2)
BLANK = portion_of("MB", "", kind="method_blank", mass_g="")


def row(work: RunWork) -> WorkedPortion:
    return only(work).portions[0]


def mean(texts: Sequence[str]) -> float:
    return float(np.mean(np.array([float(text) for text in texts])))


# ------------------------------------------------------------------ a value


def test_the_value_is_that_of_calc() -> None:
    shots = (*group(), sample("W", 9.4), *group(0.97))
    found = row(worked(shots))
    (bracket,) = found.bracket
    ends: Any = {
        side: {"x": one.concentration, "y": one.mean_signal, "u_y": one.u_signal}
        for side, one in (("low", bracket.low), ("high", bracket.high))
    }
    asked = {"kind": "bracketing", **ends, "samples": [{"y": found.mean_signal, "u_y": bracket.u_sample}]}
    told: Any = answer(asked)
    assert isclose(float(found.solution_value), told["samples"][0]["x"], rel_tol=1e-10)
    assert isclose(float(found.u_solution), told["samples"][0]["u"], rel_tol=1e-10)
    assert (bracket.low.label, bracket.high.label) == ("BS8", "BS10")
    assert (bracket.low.positions, bracket.high.positions) == ((10, 14), (11, 15))


def by_numpy(shots: Sequence[Shot], at: int, low: Sequence[int], high: Sequence[int]) -> dict[str, float]:
    """A portion between two standards, straight from the readings; positions of shots from 0 on."""
    read = {place: np.array([float(text) for text in readings_of(shot)]) for place, shot in enumerate(shots)}
    standards_read = [read[place] for place, shot in enumerate(shots) if shot.kind == "bracket_standard"]
    variance = sum(((own - own.mean()) ** 2).sum() for own in standards_read) / sum(
        len(own) - 1 for own in standards_read
    )
    x = [float(shots[low[0]].nominal), float(shots[high[0]].nominal)]

    def between_them(own: dict[int, Any]) -> float:
        ends = [np.mean([own[place].mean() for place in places]) for places in (low, high)]
        return float(np.interp(own[at].mean(), ends, x))

    step, squares = 1e-6, 0.0  # the sensitivity to each solution's mean by moving it both ways
    for place in (at, *low, *high):
        up, down = ({**read, place: read[place] + sign * step} for sign in (1, -1))
        each = (between_them(up) - between_them(down)) / (2 * step)
        squares += each**2 * variance / len(read[place])
    return {"x": between_them(read), "u": sqrt(squares), "s": sqrt(variance)}


def test_a_whole_run_worked_out_again_by_numpy() -> None:
    """Readings with scatter and drift, a blank from the curve, a dilution, content, budget."""
    chance = np.random.default_rng(7)
    holds = {"V": 8.9, "W": 9.6}
    steps: Any = {"Pb": (DilutionStep("5", "50"),)}
    portions = [*(portion_of(label, dilutions=steps) for label in holds), replace(BLANK, dilutions={})]

    def rough(shot: Shot) -> Shot:
        texts = tuple(f"{float(text) + chance.normal(0.0, 0.00008):.6f}" for text in readings_of(shot))
        return replace(shot, signals=texts)

    blank = Shot("method_blank", "MB", portion="MB", signals=around(signal(0.8)))
    shots = [rough(one) for one in run_shots(
        blank, *group(), sample("V", 8.9), sample("W", 9.6, 0.99), *group(0.97)
    )]  # fmt: skip
    method = replace(between(), blank_subtraction="undiluted", checks=())
    run, bench = run_of(shots, method), bench_of(portions, (TWO,))
    work = work_run(run, bench)
    assert isinstance(work, RunWork)
    result = only(work)

    pairs = {"V": (13, (10, 15), (11, 16)), "W": (14, (10, 15), (11, 16))}  # the blank stands at 9
    again = {label: by_numpy(shots, *places) for label, places in pairs.items()}
    for one in result.portions:
        assert isclose(float(one.solution_value), again[one.portion]["x"], rel_tol=1e-11)
        assert isclose(float(one.u_solution), again[one.portion]["u"], rel_tol=1e-6)
        assert isclose(float(one.bracket[0].sd), again[one.portion]["s"], rel_tol=1e-9)
        assert one.bracket[0].df == 12
    points = [(float(shot.nominal), float(text)) for shot in shots[:7] for text in readings_of(shot)]
    (b1, b0), cov = np.polyfit([x for x, _ in points], [y for _, y in points], 1, cov=True)
    blank_c = (mean(readings_of(shots[9])) - b0) / b1
    contents = [(again[label]["x"] * 10 - blank_c) * 25 / 0.5 / 1000 for label in holds]
    assert isinstance(result.outcome, Quantified)
    value = float(np.mean(contents))
    assert isclose(float(result.outcome.value), value, rel_tol=1e-11)
    budget = {one.name: float(one.u) for one in result.contributions}
    assert set(budget) == {
        *("between two standards", "method blank, reading noise", "calibration curve"),
        *("standard lot", "volume", "dilution", "weighing", "recovery"),
    }
    lever = 10 * 25 / 0.5 / 1000 / 2
    own = sum((lever * float(one.bracket[0].u_from_sample)) ** 2 for one in result.portions)
    common = sum(lever * float(one.bracket[0].u_from_standards) for one in result.portions) ** 2
    assert isclose(budget["between two standards"], sqrt(own + common), rel_tol=1e-10)
    g = np.array([blank_c, 1.0]) / b1
    assert isclose(budget["calibration curve"], 25 / 0.5 / 1000 * sqrt(float(g @ cov @ g)), rel_tol=1e-9)
    u, curve_group = (
        float(result.outcome.u),
        budget["calibration curve"] ** 2 + budget["method blank, reading noise"] ** 2,
    )
    df = u**4 / (curve_group**2 / 19 + budget["between two standards"] ** 4 / 12)
    assert int(result.outcome.df) == int(df)


def test_u_is_what_repetition_shows() -> None:
    """400 runs of normal readings: the scatter of the value is its u, within what 400 runs can tell (4 % one sd)."""
    chance, noise, found, stated = np.random.default_rng(11), 0.0001, [], []

    def noisy(shot: Shot) -> Shot:
        if shot.kind not in {"bracket_standard", "sample"}:
            return shot
        texts = tuple(
            f"{signal(9.4 if shot.portion else float(shot.nominal)) + chance.normal(0, noise):.9f}" for _ in "abc"
        )
        return replace(shot, signals=texts)

    shots = run_shots(*group(), sample("W", 9.4), *group())
    runs = [run_of([noisy(one) for one in shots], between()) for _ in range(400)]
    for work in work_runs(runs, bench_of([W], (OPEN,))):
        assert isinstance(work, RunWork)
        found.append(float(row(work).solution_value))
        stated.append(float(row(work).u_solution) ** 2)
    assert isclose(float(np.mean(found)), 9.4, abs_tol=0.01)
    assert isclose(float(np.std(found, ddof=1)), sqrt(float(np.mean(stated))), rel_tol=0.12)


@settings(max_examples=40)
@given(st.floats(8.2, 11.8), st.floats(0.8, 1.2), st.floats(0.9, 1.1))
def test_what_drifts_evenly_cancels_half_way(holds: float, gain: float, drift: float) -> None:
    """Sensitivity changes in a straight line from group to group; the sample stands in the middle."""
    shots = (*group(gain), sample("W", holds, gain * (1 + drift) / 2), *group(gain * drift))
    result = only(worked(shots, method=between(bracketing_window_percent="50")))
    if isinstance(result.outcome, Quantified):  # beyond the standards of the curve there is none
        assert isclose(float(result.portions[0].solution_value), holds, rel_tol=1e-5)  # readings have seven places
    else:
        assert result.outcome.kind == "not_reportable"
        assert why(result)[0] in {"reading.over-range", "bracketing.open"}


def test_the_nearest_two_of_several_are_taken() -> None:
    for holds, labels in ((9.0, ("BS8", "BS10")), (11.0, ("BS10", "BS12"))):
        (bracket,) = row(worked((*group(), sample("W", holds), *group()))).bracket
        assert (bracket.low.label, bracket.high.label) == labels


@pytest.mark.parametrize("level", LEVELS)
def test_a_sample_that_reads_as_a_standard_holds_what_it_holds(level: float) -> None:
    shots = (*group(), sample("W", level), *group())
    found = row(worked(shots, method=between(bracketing_window_percent="25")))
    assert float(found.solution_value) == level


def test_of_two_pairs_around_a_reading_the_closer_one_is_taken() -> None:
    levels = (8, 12, 13)
    (bracket,) = row(worked((*group(levels=levels), sample("W", 12), *group(levels=levels)))).bracket
    assert (bracket.low.label, bracket.high.label) == ("BS12", "BS13")


def test_the_order_within_a_group_is_free() -> None:
    shots = group()
    first = row(worked((*shots, sample("W", 9.4), *shots)))
    other = row(worked((*shots[::-1], sample("W", 9.4), shots[1], shots[2], shots[0])))
    assert (first.solution_value, first.u_solution) == (other.solution_value, other.u_solution)


def test_a_standard_read_twice_in_a_group_counts_once() -> None:
    """The mean of its solutions is that of the group; both groups weigh alike."""
    twice = (*group(1.0), standard(8, 1.02), standard(10, 1.02))
    found = row(worked((*twice, sample("W", 9.0), *group(0.98))))
    low = found.bracket[0].low
    assert low.positions == (10, 13, 16)
    expected = (signal(8, 1.01) + signal(8, 0.98)) / 2
    assert isclose(float(low.mean_signal), expected, rel_tol=1e-6)
    assert isclose(float(low.u_signal), float(found.bracket[0].sd) * sqrt(1 / 16 / 3 * 2 + 1 / 4 / 3), rel_tol=1e-10)


def test_solutions_with_more_readings_are_known_better() -> None:
    more = replace(sample("W", 9.0), signals=around(signal(9.0), count=5))
    (bracket,) = row(worked((*group(), more, *group()))).bracket
    assert isclose(float(bracket.u_sample), float(bracket.sd) / sqrt(5), rel_tol=1e-11)


def test_checks_and_rinses_split_no_group() -> None:
    low, mid, high = group()
    rinse = Shot("rinse", "R", signals=around(signal(0)))
    found = row(worked((low, rinse, mid, *pair(), high, sample("W", 9.0), *group())))
    assert found.bracket[0].low.positions == (10, 17)


def test_a_presented_solution_splits_a_group() -> None:
    """W is read against what stands directly before it; BS8, one sample further away, is not among it."""
    low, mid, high = group()
    shots = (low, sample("V", 9.0), mid, high, sample("W", 9.0), *group())
    code, words = why(worked(shots, [portion_of("V", "S-00002"), W]).results[1])
    assert code == "bracketing.outside"
    assert "(10 to 12 µg/L)" in words


def test_a_standard_of_the_method_may_stand_around_samples() -> None:
    """It holds what the method says of its label, whether the file prints it or not."""
    for nominal in ("", "10"):
        shots = (standard(8), standard(10, label="S4", nominal=nominal))
        found = row(worked((*shots, sample("W", 9.0), *shots)))
        assert (found.bracket[0].high.label, found.bracket[0].high.concentration) == ("S4", "10")


def test_blanks_are_read_from_the_curve_and_taken_off() -> None:
    blank = Shot("method_blank", "MB", portion="MB", signals=around(signal(0.5)))
    shots = (blank, *group(), sample("W", 9.0), *group())
    without = only(worked(shots, [W, BLANK]))
    less = only(worked(shots, [W, BLANK], replace(between(), blank_subtraction="undiluted")))
    assert isclose(float(less.portions[0].blank_value), 0.5, rel_tol=0.1)
    apart = float(without.portions[0].value) - float(less.portions[0].value)
    assert isclose(apart, float(less.portions[0].blank_value) * 0.05, rel_tol=1e-9)
    assert [one.name for one in less.contributions][:3] == [
        "between two standards", "method blank, reading noise", "calibration curve",
    ]  # fmt: skip


def test_control_and_spike_are_read_between_standards_too() -> None:
    """The day's sensitivity is 8 % below that of the curve: read from it, both would be found that much too low."""
    control = portion_of("LC", "", kind="control_sample", mass_g="", added_ug={"Pb": "0.25"})  # 10 ug/L in 25 mL
    spiked = portion_of("X", kind="spiked_sample", spike_of="W", added_ug={"Pb": "0.0625"})  # 2.5 ug/L
    method = replace(
        between(), checks=(rule("control_sample", low="98", high="102"), rule("spike", low="97", high="103"))
    )
    own = (
        sample("LC", 10.0, 0.92, kind="control_sample"), sample("W", 8.5, 0.92),
        sample("X", 11.0, 0.92, kind="spiked_sample"),
    )  # fmt: skip
    work = worked((*group(0.92), *own, *group(0.92)), [W, control, spiked], method)
    verdicts = {one.check: one.verdict for one in work.checks if one.check in {"control_sample", "spike"}}
    assert verdicts == {"control_sample": "pass", "spike": "pass"}
    assert work.usable
    assert isinstance(only(work).outcome, Quantified)


def test_between_standards_below_the_lowest_level_is_less_than() -> None:
    levels = (0.4, 0.6)
    shots = (*group(levels=levels), sample("W", 0.5), *group(levels=levels))
    outcome = only(worked(shots, method=between(bracketing_window_percent="25"))).outcome
    assert isinstance(outcome, BelowLimit)
    assert float(outcome.limit) == 0.05


def test_a_run_alone_and_in_company_gives_the_same() -> None:
    def run(holds: float, gain: float) -> Any:  # noqa: ANN401
        return run_of(run_shots(*group(gain), sample("W", holds), *group()), between())

    first, second = run(9.0, 1.01), run(11.0, 0.97)
    plain = run_of(
        run_shots(sample("W", 9.0)), replace(between(), calibration=replace(between().calibration, bracketing=""))
    )
    bench = bench_of([W], (OPEN,))
    together = work_runs((second, plain, first, second), bench)
    assert together == tuple(work_run(one, bench) for one in (second, plain, first, second))


def test_with_other_customers_hidden_nothing_changes() -> None:
    theirs = [sample(label, 10.5) for label in ("T1", "T2")]
    shots = (*group(), theirs[0], sample("W", 9.0, 0.99), theirs[1], *group(0.98))
    portions = [W, *(portion_of(label, "S-00002") for label in ("T1", "T2"))]
    full, part = worked(shots, portions), worked(shots, portions, hidden=(13, 15))
    assert part.results == tuple(one for one in full.results if one.sample == "S-00001")


# ------------------------------------------------------------------ no value

LOST = {
    "no group before": ((sample("W", 9.0), *group()), {}, "bracketing.open", "was read before it; read it again"),
    "no group after": ((*group(), sample("W", 9.0)), {}, "bracketing.open", "was read after it"),
    "no concentration in both": (
        (standard(8), standard(12), sample("W", 9.0), standard(10)), {}, "bracketing.open",
        "both before it (positions 10, 11) and after it (position 13)",
    ),
    "too few in both": (
        (*group(), sample("W", 9.0), standard(8)), {}, "bracketing.outside", "the only standard before and after it",
    ),
    "above them": ((*group(), sample("W", 12.5), *group()), {}, "bracketing.outside", "(8 to 12 µg/L); dilute"),
    "below them": ((*group(), sample("W", 7.9), *group()), {}, "bracketing.outside", "(8 to 12 µg/L)"),
    "standards too far": (
        (*group(levels=(6, 12)), sample("W", 9.0), *group(levels=(6, 12))), {}, "bracketing.wide",
        "%; limit at most 20 %, away from it (9",
    ),
    "one standard too far": (
        (*group(levels=(8, 12)), sample("W", 9.9), *group(levels=(8, 12))), {}, "bracketing.wide",
        "BS12, 12 µg/L, lies 21.21 %; limit at most 20 %",
    ),
    "a standard that changed": (
        (*group(), sample("W", 9.0), *group(0.96)), {"bracketing_change_percent": "4"}, "bracketing.changed",
        "a change of 4.085 %; limit at most 4 %; find the cause",
    ),
    "standards that do not rise": (
        (*(standard(8, 1.3), *group()[1:]), sample("W", 9.0), standard(8, 1.3), *group()[1:]), {},
        "bracketing.not-rising", "BS8, 8 µg/L, reads 0.03197 A s, and BS10, 10 µg/L, reads 0.0308 A s",
    ),
    "a value above the curve": (
        (*group(0.85, (19, 22)), sample("W", 20.5, 0.85), *group(0.85, (19, 22))), {}, "reading.over-range",
        "20.5 µg/L, above the highest standard (20 µg/L); dilute",
    ),
    "readings that scatter": (
        (*group(), replace(sample("W", 9.0), signals=("0.02", "0.03", "0.04")), *group()), {}, "reading.scatter",
        "read again",
    ),
    "a reading over range": (
        (*group(), replace(sample("W", 9.0), signals=("over", "0.03", "0.03")), *group()), {}, "reading.over-range",
        "no number",
    ),
}  # fmt: skip


@pytest.mark.parametrize("case", LOST)
def test_there_is_no_value(case: str) -> None:
    shots, plan, code, part = LOST[case]
    work = worked(shots, method=between(**plan))
    found, words = why(only(work))
    assert (found, part in words) == (code, True), words
    assert work.usable
    assert work.voided[-1].code == code
    lost = row(work)
    assert (lost.solution_value, lost.u_solution, lost.value, lost.bracket) == ("", "", "", ())
    assert lost.signals
    assert only(work).contributions == ()


@pytest.mark.parametrize(("high", "taken"), [("12.0", True), ("12.001", False)])
def test_the_window_holds_both_ends(high: str, taken: bool) -> None:
    """12 is 20 % above 10; readings without scatter, so that the sample is 10 exactly."""

    def flat(shot: Shot, signal_: str) -> Shot:
        return replace(shot, signals=(signal_,) * 3)

    side = (flat(standard(8), "0.08"), flat(standard(float(high), nominal=high), "0.12" if taken else "0.12001"))
    shots = (*side, flat(sample("W", 10), "0.10"), *side)
    method = replace(between(), checks=())
    calibration = tuple(flat(one, f"{0.01 * float(one.nominal):.4f}") for one in standards())
    work = work_run(run_of((*calibration, *shots), method), bench_of([W], (OPEN,)))
    assert isinstance(work, RunWork)
    assert (only(work).outcome.kind == "quantified") is taken
    if not taken:
        assert why(only(work))[0] == "bracketing.wide"


@pytest.mark.parametrize(
    ("gain", "limit", "zeroed", "taken"),
    [(0.962, "4", False, True), (0.960, "4", False, False), (0.95, "5", False, False), (0.95, "5", True, True)],
)
def test_a_change_is_one_of_net_signals(gain: float, limit: str, zeroed: bool, taken: bool) -> None:
    """In percent of their mean; signals zeroed on the blank are taken as they are."""
    method = between(bracketing_change_percent=limit)
    if zeroed:
        method = replace(method, signal_is="absorbance_zeroed_on_blank")
    shots = (*group(), sample("W", 9.0), *group(gain))
    outcome = only(worked(shots, method=method)).outcome
    assert (outcome.kind == "quantified") is taken


def test_a_standard_that_reads_below_zero_has_changed() -> None:
    levels = (0.1, 0.11)
    low = [replace(one, signals=around(0.0011 + 0.0001 * nth, 0.00001)) for nth, one in enumerate(group(levels=levels))]
    shots = (*low, replace(sample("W", 0.1), signals=around(0.00115, 0.00001)), *low)
    code, words = why(only(worked(shots, method=between(bracketing_change_percent="5"))))
    assert code == "bracketing.changed"
    assert "which is not above zero" in words


@pytest.mark.parametrize(
    ("signals", "part"),
    [
        (("0.02", "0.03", "0.04"), "the readings scatter by"),
        (("over", "0.02", "0.02"), "over range"),
        (("0.0249", "0.0250"), "2 of 3 readings were taken"),
        (("0.2", "0.2", "0.2"), "above the highest standard"),
        (("none", "none", "none"), "missing"),
    ],
)
def test_a_standard_without_a_value_is_not_used_and_said(signals: tuple[str, ...], part: str) -> None:
    """The other two still stand around what lies between them; what lies below has lost its lower one."""
    spoilt = (replace(standard(8), signals=signals), *group()[1:])
    shots = (*spoilt, sample("V", 11.0), sample("W", 9.0), *group())
    work = worked(shots, [portion_of("V", "S-00002"), W])
    by_sample = {one.sample: one for one in work.results}
    assert isinstance(by_sample["S-00002"].outcome, Quantified)
    assert why(by_sample["S-00001"])[0] == "bracketing.outside"
    (said,) = [one for one in work.findings if one.startswith("bracket standard BS8 at position 10 is not used: ")]
    assert part in said
    assert work.usable


def test_a_further_group_takes_no_lost_ones_place() -> None:
    spoilt = tuple(replace(one, signals=("0.02", "0.03", "0.04")) for one in group())
    shots = (*group(), sample("V", 9.0), *spoilt, sample("W", 9.0), *group())
    work = worked(shots, [portion_of("V", "S-00002"), W])
    for result in work.results:
        code, words = why(result)
        assert code == "bracketing.open"
        assert "BS8 at position 14: the readings scatter" in words


def test_a_failed_bracket_of_checks_is_named_first() -> None:
    """Position 20 fails: the whole run of samples before it is void, between standards or not."""
    bad = (Shot("check_standard", "CS", 5.0), Shot("check_blank", "CB", 0.05))
    shots = (*standards(), *pair(), *group(), sample("W", 9.0), *group(), *bad)
    work = work_run(run_of(shots, between()), bench_of([W], (OPEN,)))
    assert isinstance(work, RunWork)
    assert why(only(work))[0] == "bracket.failed"
    shots = run_shots(*group(), sample("W", 9.0), *group())
    work = work_run(run_of(shots, between(smallest_r_squared="0.9999999")), bench_of([W], (OPEN,)))
    assert isinstance(work, RunWork)
    assert why(only(work))[0] == "run.calibration"


def test_standards_beside_a_failed_check_are_not_used() -> None:
    """W stands between two good checks; what was to stand above and below it stands before one that failed."""
    bad = (Shot("check_standard", "CS", 5.0), Shot("check_blank", "CB", 0.05))
    shots = (*group(), sample("W", 9.0), *pair(), *group(), *bad, sample("V", 9.0))
    work = worked(shots, [portion_of("V", "S-00002"), W])
    code, words = why(next(one for one in work.results if one.sample == "S-00001"))
    assert code == "bracketing.open"
    assert "BS8 at position 16: Check standard after position 13 read" in words
    assert sum(one.startswith("bracket standard") for one in work.findings) == 3
    good = worked(
        (*group(), sample("W", 9.0), *pair(), *group(), *pair(), sample("V", 9.0)), [W, portion_of("V", "S-00002")]
    )
    assert isinstance(good.results[0].outcome, Quantified)


def test_a_standard_directly_after_a_rinse_that_shows_memory_is_not_used() -> None:
    method = replace(between(), checks=(*BRACKETS, rule("return_to_zero", limit_in="solution", low="", high="0.5")))
    rinse = Shot("rinse", "R", signals=around(signal(2.0)))
    work = worked((rinse, *group(), sample("W", 9.0), *group()), method=method)
    assert why(only(work))[0] == "bracketing.outside"
    assert any("BS8 at position 11 is not used: memory of the solution before" in one for one in work.findings)


def test_a_diluted_reading_between_them_counts_and_is_no_dilution_test() -> None:
    method = replace(between(), checks=(*BRACKETS, rule("dilution_test", required=True)))
    shots = (*group(), sample("W", 18.0), replace(sample("W", 9.0), dilution="2"), *group())
    work = worked(shots, method=method)
    result = only(work)
    used = next(one for one in result.portions if not one.why)
    assert used.extra_dilution == "2"
    assert "is not evaluated" not in " ".join(work.findings)
    assert {one.verdict for one in work.checks if one.check == "dilution_test"} == {"not_evaluated"}
    assert "the less diluted reading" not in " ".join(one.why for one in work.checks)


# ------------------------------------------------------------------ what may not come here


def faults(shots: Sequence[Shot], method: Method) -> list[str]:
    found = work_run(run_of(run_shots(*shots), method), bench_of([W], (OPEN,)))
    assert isinstance(found, tuple)
    assert {one.code for one in found} == {"compute.bracketing"}
    assert {one.where.partition(", position ")[0] for one in found} == {"invented.txt, Pb"}
    assert {one.remedy for one in found} == {"Correct the entry at the instrument or the method."}
    return [one.what for one in found]


def test_what_no_file_may_bring_is_refused_again() -> None:
    good = (*group(), sample("W", 9.0), *group())
    plain = between(bracketing="")
    assert len(faults(good, plain)) == 6
    for shot, part in (
        (standard(8, nominal=""), "nobody gives a concentration"),
        (standard(0, label="S0"), "nobody gives a concentration above zero"),
        (standard(10, label="S4", nominal="11"), "is 11 in the file; the method says 10"),
        (standard(8, dilution="2"), "is diluted 2 times"),
    ):
        (what,) = faults((*good, shot), between())
        assert part in what
    zeroed = replace(between(additions="allowed", additions_source="test"), signal_is="absorbance_zeroed_on_blank")
    assert "standard additions would take the same place" in faults(good, zeroed)[0]
    assert "a correction for drift" in faults(good, replace(between(), drift=DriftPlan("10", "test")))[0]
    assert len(faults(good, between(bracketing_window_percent=""))) == 1
    assert len(faults(good, between(bracketing_window_percent="100"))) == 1
    one = replace(between(), replicates=replace(between().replicates, count=1))
    assert "asks for one reading" in faults(good, one)[0]


# ------------------------------------------------------------------ the budget


def names(result: WorkedResult) -> list[str]:
    return [one.name for one in result.contributions]


def carried(one: WorkedPortion, count: int = 1) -> tuple[float, float]:
    """What sample and standards put into a mean of ``count`` portions."""
    (bracket,) = one.bracket
    return float(bracket.u_from_sample) * 0.05 / count, float(bracket.u_from_standards) * 0.05 / count


def term(result: WorkedResult) -> float:
    return next(float(one.u) for one in result.contributions if one.name == "between two standards")


def test_the_standards_take_the_place_of_noise_and_curve() -> None:
    result = only(worked((*group(), sample("W", 9.0), *group())))
    assert names(result)[0] == "between two standards"
    assert not {"reading noise", "calibration curve"} & set(names(result))
    assert isclose(term(result), float(result.portions[0].u_solution) * 0.05, rel_tol=1e-11)
    assert isinstance(result.outcome, Quantified)
    assert int(result.outcome.df) == int(float(result.outcome.u) ** 4 / (term(result) ** 4 / 12))


def test_portions_that_share_their_standards_have_them_in_common() -> None:
    shots = (*group(), sample("V", 9.0), sample("W", 9.2), *group())
    result = only(worked(shots, [portion_of("V"), W], asked=(TWO,)))
    (a, b), (c, d) = (carried(one, 2) for one in result.portions)
    assert isclose(term(result), sqrt(a * a + c * c + (b + d) ** 2), rel_tol=1e-10)


def test_portions_between_other_groups_are_independent() -> None:
    """Four groups, none shared."""
    shots = (*group(), sample("V", 9.0), *group(), sample("T", 9.0), *group(), sample("W", 9.2), *group())
    result = worked(shots, [portion_of("V"), W, portion_of("T", "S-00002")], asked=(TWO,)).results[0]
    (a, b), (c, d) = (carried(one, 2) for one in result.portions)
    assert isclose(term(result), sqrt(a * a + c * c + b * b + d * d), rel_tol=1e-10)


def test_sharing_one_group_is_never_understated() -> None:
    """V and W share the group between them: the truth lies between independent and wholly common."""
    shots = (*group(), sample("V", 9.0), *group(), sample("W", 9.2), *group())
    result = only(worked(shots, [portion_of("V"), W], asked=(TWO,)))
    (a, b), (c, d) = (carried(one, 2) for one in result.portions)
    assert isclose(term(result), sqrt(a * a + c * c + (b + d) ** 2), rel_tol=1e-10)
    places = np.array([0.5, 0.5, 0.0]), np.array([0.0, 0.5, 0.5])  # weights of the three groups
    true = sqrt(a * a + c * c + float(np.sum((b * places[0] + d * places[1]) ** 2)) * 2)
    assert sqrt(a * a + b * b + c * c + d * d) < true < term(result)


@settings(max_examples=15)
@given(st.floats(8.4, 11.9), st.integers(2, 400))
def test_a_dilution_carries_value_and_uncertainty_alike(holds: float, factor: int) -> None:
    method = between()
    method = replace(method, uncertainty=replace(method.uncertainty, dilution_step_percent="0"))
    shots = (*group(), sample("W", holds), *group())
    plain = only(worked(shots, method=method)).outcome
    steps: dict[str, tuple[DilutionStep, ...]] = {"Pb": (DilutionStep("1", str(factor)),)}
    more = only(worked(shots, [replace(W, dilutions=steps)], method)).outcome
    assert isinstance(plain, Quantified)
    assert isinstance(more, Quantified)
    assert isclose(float(more.value), factor * float(plain.value), rel_tol=1e-10)
    assert isclose(float(more.u), factor * float(plain.u), rel_tol=1e-10)


def test_validated_uncertainty_replaces_it_too() -> None:
    method = between()
    method = replace(method, uncertainty=replace(method.uncertainty, s0="0.02", s1_percent="3"))
    assert names(only(worked((*group(), sample("W", 9.0), *group()), method=method))) == ["validated uncertainty"]


def test_the_curve_may_bend() -> None:
    """Standards lie on a curve that falls off; the chord between close ones gives what the quadratic gives."""

    def bent(holds: float) -> float:
        return OFFSET + SLOPE * holds * (1 - 0.012 * holds)

    curve = tuple(replace(one, signals=around(bent(float(one.nominal)))) for one in standards())
    side = tuple(replace(one, signals=around(bent(float(one.nominal)))) for one in group())
    shots = (*curve, *side, replace(sample("W", 9.0), signals=around(bent(9.0))), *side)
    method = replace(between(model="quadratic"), checks=())
    work = work_run(run_of(shots, method), bench_of([W], (OPEN,)))
    assert isinstance(work, RunWork)
    assert isclose(float(row(work).solution_value), 9.0, rel_tol=0.003)
    assert work.calibration.model == "quadratic"


# ------------------------------------------------------------------ what is to be read again


@pytest.mark.parametrize(
    "case",
    [
        "no group before",
        "above them",
        "standards too far",
        "a standard that changed",
        "standards that do not rise",
    ],
)
def test_what_has_no_value_is_read_again_between_standards(case: str) -> None:
    shots, plan, code, _ = LOST[case]
    method = between(**plan)
    run, bench = run_of(run_shots(*shots), method), bench_of([W], (OPEN,))
    work = work_run(run, bench)
    assert isinstance(work, RunWork)
    found = reread(run, work, Beside(bench.portions, {only(work).result_id: 1}, {}, {}))
    assert [(one.action, one.code) for one in found.again] == [("read_again", code)]
    assert new_run(method, found.again, bench.portions).bracketing_window_percent == "20"


def test_a_new_run_of_another_method_needs_no_bracket_standards() -> None:
    method = between(bracketing="")
    run, bench = run_of(run_shots(replace(sample("W", 9.0), signals=("0.02", "0.03", "0.04"))), method), bench_of([W])
    work = work_run(run, bench)
    assert isinstance(work, RunWork)
    found = reread(run, work, Beside(bench.portions, {only(work).result_id: 1}, {}, {}))
    assert found.again
    assert new_run(method, found.again, bench.portions).bracketing_window_percent == ""


# ------------------------------------------------------------------ whatever was read

SIGNALS = st.one_of(
    st.floats(0.018, 0.045).map(lambda value: around(round(value, 6))),
    st.sampled_from([("over", "0.03", "0.03"), ("none", "none", "none"), ("0.02", "0.05", "0.01"), ("0", "0", "0")]),
)
SHOTS = st.lists(
    st.one_of(
        st.builds(lambda level, own: standard(level, signals=own), st.sampled_from(LEVELS), SIGNALS),
        st.builds(
            lambda label, own, dilution: Shot("sample", label, portion=label, signals=own, dilution=dilution),
            st.sampled_from(["V", "W"]), SIGNALS, st.sampled_from(["1", "2"]),
        ),
        st.sampled_from([*pair(), Shot("rinse", "R", signals=around(0.0016))]),
    ),
    max_size=14,
)  # fmt: skip


@settings(max_examples=120, deadline=None)
@given(SHOTS, st.sampled_from(["", "3"]), st.sampled_from(["20", "60"]))
def test_whatever_was_read_gives_a_value_between_two_standards_or_a_reason(
    shots: list[Shot], change: str, window: str
) -> None:
    work = worked(
        shots,
        [portion_of("V", "S-00002"), W],
        between(bracketing_change_percent=change, bracketing_window_percent=window),
    )
    for result in work.results:
        for one in result.portions:
            if one.why:
                assert one.bracket == ()
                continue
            (bracket,) = one.bracket
            x = float(one.solution_value)
            assert float(bracket.low.concentration) <= x <= float(bracket.high.concentration)
            assert float(bracket.low.mean_signal) <= float(one.mean_signal) <= float(bracket.high.mean_signal)
            for end in (bracket.low, bracket.high):
                assert abs(float(end.concentration) - x) <= float(window) / 100 * x * (1 + 1e-11)
                assert min(end.positions) < one.position < max(end.positions)


ABSURD = ("9" * 60, "0." + "0" * 58 + "1", "0", "-5", "0.0249", "0.03079", "0.030790001", "1" + "0" * 40)


@pytest.mark.parametrize("second", ABSURD)
@pytest.mark.parametrize("nominal", ["10", "9" * 60, "0." + "0" * 50 + "1"])
def test_absurd_sizes_are_outcomes_too(second: str, nominal: str) -> None:
    for first in ABSURD:
        for own in ABSURD:
            side = (standard(8, signals=(first,) * 3), standard(10, nominal=nominal, signals=(second, first, second)))
            shots = run_shots(*side, replace(sample("W", 9.0), signals=(own,) * 3), *side)
            found = work_run(run_of(shots, between(bracketing_change_percent="5")), bench_of([W], (OPEN,)))
            if isinstance(found, tuple):
                assert {one.code for one in found} == {"compute.number-size"}


def test_portions_that_share_standards_are_named_in_their_order() -> None:
    """The third shares with the first, the fourth with nobody."""
    work = worked((*group(), sample("W", 9.0), *group(), sample("V", 9.0), *group()), [W, portion_of("V", "S-00002")])
    (first, second) = (row.bracket[0] for result in work.results for row in result.portions)
    far = replace(first, low=replace(first.low, positions=(90,)), high=replace(first.high, positions=(91,)))
    alone = replace(first, low=replace(first.low, positions=(95,)), high=replace(first.high, positions=(96,)))
    assert set(first.low.positions) & set(second.low.positions)
    assert sharing([first, far, second, alone]) == [[0, 2], [1], [3]]
    assert sharing([]) == []
