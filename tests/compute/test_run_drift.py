"""Signals corrected for drift in a run: the value, every way to have none, what is corrected and what is not.

The rule is common practice, no source: what is checked from outside is its arithmetic, by ``calc``, which has its own,
and in ``test_run_drift_budget.py`` by numpy and by simulation.
"""

from __future__ import annotations

from dataclasses import replace
from math import isclose
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.compute.drifting import (
    NEW,
    OPEN,
    TWO,
    State,
    W,
    around,
    check,
    drifting,
    only,
    pair,
    row,
    sample,
    shots_of,
    timed,
    why,
    worked,
    zero,
)
from tests.compute.making import BRACKETS, Shot, bench_of, pb_method, portion_of, readings_of, rule, run_of, standards

from benchseal.compute.calc import answer
from benchseal.compute.reread import ACTIONS, Beside, reread
from benchseal.compute.run_work import work_run, work_runs
from benchseal.records.results import BelowLimit, Quantified, RunWork

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.records.method import Method
    from benchseal.records.run import Run

END = State(0.94, 0.0006)  # the sensitivity fell by 6 %, the zero rose
BLANK = portion_of("MB", "", kind="method_blank", mass_g="")


def at(share: float, end: State = END) -> State:
    """The instrument on its even way from new to ``end``."""
    return State(1 + (end.gain - 1) * share, end.zero * share)


def mean(texts: Sequence[str]) -> float:
    return float(np.mean(np.array([float(text) for text in texts])))


# ------------------------------------------------------------------ a value


def test_the_corrected_signal_is_that_of_calc_brought_back_to_the_first_pair() -> None:
    shots = (*pair(), sample("W", 8.0, at(0.5)), *pair(END))
    (step,) = row(worked(shots)).drift
    read = [mean(readings_of(shot)) for shot in shots]
    asked: Any = {
        "kind": "drift",
        "check_standard": [[8.5, read[0]], [11.5, read[3]]],
        "check_blank": [[8.5, read[1]], [11.5, read[4]]],
        "samples": [[10, read[2]]],
    }
    told: Any = answer(asked)
    assert isclose(float(step.corrected), read[1] + told["samples"][0]["corrected"], rel_tol=1e-11)
    assert isclose(float(step.factor), told["samples"][0]["factor"], rel_tol=1e-11)
    assert isclose(float(step.blank), told["samples"][0]["blank"], rel_tol=1e-11)
    assert (step.first, step.before, step.after) == ((8, 9), (8, 9), (11, 12))
    assert (step.along, step.at) == ("position", "0.500000000000")


def test_what_drifted_evenly_reads_as_if_it_had_not() -> None:
    """A sample half way between the pairs, by the state of half way; its reading as read is kept."""
    even = (*pair(), sample("W", 8.0, at(0.5)), *pair(END))
    found = row(worked(even))
    assert isclose(float(found.mean_signal), at(0.5).signal(8.0), rel_tol=1e-9)
    assert isclose(float(found.drift[0].corrected), NEW.signal(8.0), rel_tol=1e-9)
    assert isclose(float(found.solution_value), 8.0, rel_tol=0.005)
    without = row(worked(even, method=drifting("")))
    assert float(without.solution_value) < 7.9
    assert without.drift == ()


@given(st.floats(0.93, 1.07), st.floats(-0.0005, 0.0005), st.floats(0.5, 18.0))
@settings(max_examples=40, deadline=None)
def test_what_is_even_is_taken_out_whole(gain: float, added: float, holds: float) -> None:
    """A - B is SLOPE c gain(t) and S is 10 SLOPE gain(t), so A' is exactly what was read when new."""
    end = State(gain, added)
    shots = (*pair(), sample("W", holds, at(0.5, end)), *pair(end))
    found = row(worked(shots))
    assert isclose(float(found.drift[0].corrected), NEW.signal(holds), rel_tol=1e-8)


def test_without_drift_nothing_changes_but_the_uncertainty() -> None:
    shots = (*pair(), sample("W", 8.0), *pair())
    found, plain = worked(shots), worked(shots, method=drifting(""))
    assert row(found).drift[0].factor == "1.00000000000"
    assert row(found).solution_value == row(plain).solution_value
    assert float(row(found).u_solution) > float(row(plain).u_solution)


def test_intercept_and_blank_are_taken_off_once() -> None:
    """A solution that holds nothing gives nothing, though its signal is not zero and the curve has an intercept."""
    shots = (*pair(), sample("W", 0.0, at(0.5)), *pair(END))
    assert abs(float(row(worked(shots)).solution_value)) < 0.02


def test_of_three_pairs_the_nearest_two_and_the_first() -> None:
    shots = (
        *pair(), sample("V", 8.0, at(0.25)), *pair(at(0.5)), sample("W", 8.0, at(0.75)), *pair(END),
    )  # fmt: skip
    v, w = only(worked(shots, [portion_of("V"), W], asked=[TWO])).portions
    assert [(one.drift[0].first, one.drift[0].before, one.drift[0].after) for one in (v, w)] == [
        ((8, 9), (8, 9), (11, 12)),
        ((8, 9), (11, 12), (14, 15)),
    ]
    for one in (v, w):
        assert isclose(float(one.drift[0].corrected), NEW.signal(8.0), rel_tol=1e-9)


def test_by_time_where_every_reading_has_one() -> None:
    """Three solutions as far apart by position, but the sample was read long after the first pair."""
    shots = shots_of(*pair(), sample("W", 8.0, at(0.75)), *pair(END))
    run = timed(run_of(shots, drifting()), [*(20 * place for place in range(7)), 900, 930, 1635, 1860, 1890])
    work = work_run(run, bench_of([W], [OPEN]))
    assert isinstance(work, RunWork)
    (step,) = row(work).drift
    assert (step.along, step.at) == ("time", "0.750000000000")  # (1645 - 925)/(1885 - 925)
    assert isclose(float(step.corrected), NEW.signal(8.0), rel_tol=1e-9)


@pytest.mark.parametrize(
    "seconds",
    [
        pytest.param([900, 930, None, 1860, 1890], id="the sample has none"),
        pytest.param([900, None, 1635, 1860, 1890], id="a check has none"),
        pytest.param([900, 930, 2635, 1860, 1890], id="the sample after the pair after it"),
        pytest.param([900, 930, 600, 1860, 1890], id="the sample before the pair before it"),
        pytest.param([900, 930, 925, 900, 930], id="both pairs at one time"),
    ],
)
def test_by_position_where_times_are_lacking_or_do_not_rise(seconds: list[int | None]) -> None:
    shots = shots_of(*pair(), sample("W", 8.0, at(0.5)), *pair(END))
    work = work_run(timed(run_of(shots, drifting()), [*(20 * n for n in range(7)), *seconds]), bench_of([W], [OPEN]))
    assert isinstance(work, RunWork)
    assert (row(work).drift[0].along, row(work).drift[0].at) == ("position", "0.500000000000")


def test_by_position_where_the_clock_changed_in_the_run() -> None:
    """Local times an hour apart may be no hour apart."""
    shots = shots_of(*pair(), sample("W", 8.0, at(0.5)), *pair(END))
    run = timed(run_of(shots, drifting()), [*(20 * place for place in range(7)), 900, 930, 1635, 1860, 1890])
    work = work_run(replace(run, clock_changed=True), bench_of([W], [OPEN]))
    assert isinstance(work, RunWork)
    assert (row(work).drift[0].along, row(work).drift[0].at) == ("position", "0.500000000000")


def test_text_that_is_no_time_is_none() -> None:
    shots = shots_of(*pair(), sample("W", 8.0, at(0.5)), *pair(END))
    run = run_of(shots, drifting())
    wrong = replace(run.document.readings, taken_at=("2026-13-40T25:61:61",) * len(run.document.readings.signal))
    work = work_run(replace(run, document=replace(run.document, readings=wrong)), bench_of([W], [OPEN]))
    assert isinstance(work, RunWork)
    assert row(work).drift[0].along == "position"


def test_a_pair_is_the_mean_of_its_solutions() -> None:
    """Two standards and a blank on either side of a rinse: each solution counts once."""
    two = Shot("check_standard", "CS", signals=around(0.0310, 0.0001, 4))
    rinse = Shot("rinse", "R", signals=around(NEW.signal(0.0)))
    shots = (check(), two, rinse, zero(), sample("W", 8.0), *pair())
    (step,) = row(worked(shots)).drift
    assert step.before == (8, 9, 11)
    span = (NEW.signal(10.0) + 0.0310) / 2 - NEW.signal(0.0)
    assert isclose(float(step.first_span), span, rel_tol=1e-9)


def test_a_check_standard_alone_is_a_bracket_and_no_pair() -> None:
    shots = (*pair(), sample("V", 8.0, at(0.25)), check(at(0.5)), sample("W", 8.0, at(0.75)), *pair(END))
    method = drifting(checks=(BRACKETS[0], replace(BRACKETS[1], every=20)))
    v, w = only(worked(shots, [portion_of("V"), W], method, [TWO])).portions
    assert v.drift[0].after == w.drift[0].after == (13, 14)


def test_a_diluted_check_is_in_no_pair() -> None:
    far = replace(check(), dilution="2", signals=around(NEW.signal(5.0)))
    found = row(worked((*pair(), sample("W", 8.0), *pair(), far)))
    assert found.drift[0].after == (11, 12)


def test_pairs_begin_after_the_calibration() -> None:
    early = standards()
    shots = (*early[:6], *pair(State(1.05)), early[6], *pair(), sample("W", 8.0, at(0.5)), *pair(END))
    work = work_run(run_of(shots, drifting()), bench_of([W], [OPEN]))
    assert isinstance(work, RunWork)
    assert row(work).drift[0].first == (10, 11)


# ------------------------------------------------------------------ what is corrected and what is not


def test_what_is_presented_is_corrected_and_other_solutions_are_not() -> None:
    """Control and spike by the state of the moment; second source, lowest level, rinse as read, in whatever state."""
    control = portion_of("LC", "", kind="control_sample", mass_g="", added_ug={"Pb": "0.25"})  # 10 ug/L in 25 mL
    spiked = portion_of("X", kind="spiked_sample", spike_of="W", added_ug={"Pb": "0.0625"})  # 2.5 ug/L
    rules = (
        *BRACKETS, rule("second_source", low="93.5", high="94.5"), rule("lowest_level", low="70", high="130"),
        rule("control_sample", low="99", high="101"), rule("spike", low="97", high="103"),
        rule("return_to_zero", limit_in="solution", low="", high="0.5"),
    )  # fmt: skip
    old = State(0.94)
    shots = (
        *pair(), *(sample(label, holds, at((1.5 + nth) / 4, old), kind=kind) for nth, (label, holds, kind) in enumerate(
            (("LC", 10.0, "control_sample"), ("W", 8.0, "sample"), ("X", 10.5, "spiked_sample"))
        )),
        *pair(old), Shot("second_source", "SB", signals=around(old.signal(10.0))),
        Shot("lowest_level", "LL", signals=around(old.signal(1.0))), Shot("rinse", "R", signals=around(0.0015)),
    )  # fmt: skip
    work = worked(shots, [W, control, spiked], drifting("10", checks=rules))
    verdicts = {one.check: one.verdict for one in work.checks if one.check not in {"calibration", "replicates"}}
    assert set(verdicts.values()) == {"pass"}, [(one.check, one.found) for one in work.checks if one.verdict != "pass"]
    plain = worked(shots, [W, control, spiked], drifting("", checks=rules))
    assert {one.check for one in plain.checks if one.verdict == "fail"} == {"control_sample", "spike"}
    same = ("second_source", "lowest_level", "return_to_zero", "check_standard", "check_blank")
    assert [one for one in work.checks if one.check in same] == [one for one in plain.checks if one.check in same]


def test_the_method_blank_is_corrected_like_the_samples() -> None:
    """Pairs at 8.5 and 12.5, blank and sample at 10 and 11: 3/8 and 5/8 of the way."""
    method = drifting(blank_subtraction="undiluted")
    blank = sample("MB", 0.5, at(3 / 8), kind="method_blank")
    found = row(worked((*pair(), blank, sample("W", 8.0, at(5 / 8)), *pair(END)), [W, BLANK], method))
    assert isclose(float(found.blank_value), 0.5, abs_tol=0.01)


def test_checks_are_judged_as_read() -> None:
    """The pair at the end lost 6 %: corrected it would find 100 %."""
    work = worked((*pair(), sample("W", 8.0, at(0.5)), *pair(END)))
    found = [float(one.found) for one in work.checks if one.check == "check_standard"]
    assert isclose(found[0], 100, abs_tol=0.5)
    assert isclose(found[1], 100 * (END.signal(10) - 0.0015) / 0.0293, abs_tol=0.5)


def test_scatter_is_judged_on_readings_as_read() -> None:
    rough = replace(sample("W", 8.0, at(0.5)), signals=("0.020", "0.025", "0.030"))
    assert why(only(worked((*pair(), rough, *pair(END)))))[0] == "reading.scatter"


def test_range_is_judged_on_the_corrected_signal() -> None:
    """The sensitivity rose: 19.7 reads above the highest standard, and is brought back into range."""
    up, down = State(1.08), State(0.92)
    assert at(0.5, up).signal(19.7) > NEW.signal(20.2)
    assert isinstance(only(worked((*pair(), sample("W", 19.7, at(0.5, up)), *pair(up)))).outcome, Quantified)
    assert at(0.5, down).signal(20.5) < NEW.signal(19.9)
    found = only(worked((*pair(), sample("W", 20.5, at(0.5, down)), *pair(down))))
    assert why(found)[0] == "reading.over-range"


def test_a_value_below_the_limit() -> None:
    assert isinstance(only(worked((*pair(), sample("W", 0.5, at(0.5)), *pair(END)))).outcome, BelowLimit)


# ------------------------------------------------------------------ no value

WIDE = tuple(replace(one, low="70" if one.low else "", high="130" if one.low else "2") for one in BRACKETS)
FAR = State(0.88)
LOST: dict[str, tuple[tuple[Shot, ...], dict[str, Any], str, str]] = {
    "no pair before": (
        (sample("W", 8.0), *pair()), {}, "drift.open",
        "no check standard with a check blank was read before it since the calibration",
    ),
    "no pair after": (
        (*pair(), sample("W", 8.0), check()), {"checks": (BRACKETS[0], replace(BRACKETS[1], at_end=False))},
        "drift.open", "was read after it",
    ),
    "none at all": (
        (sample("W", 8.0),), {"checks": tuple(replace(one, at_end=False, required=False) for one in BRACKETS)},
        "drift.open", "was read before or after it",
    ),
    "after it too far": (
        (*pair(), sample("W", 8.0), *pair(FAR)), {"checks": WIDE}, "drift.too-large",
        "the net check standard at positions 11, 12 has drifted from the first one by -12 %; limit -10 to 10 %",
    ),
    "before it too far": (
        (*pair(), sample("V", 8.0), *pair(State(1.12)), sample("W", 8.0), *pair()), {"checks": WIDE},
        "drift.too-large", "at positions 11, 12 has drifted from the first one by 12 %",
    ),
    "the first pair reads upside down, and fails": (
        (replace(check(), signals=around(0.001)), zero(), sample("W", 8.0), *pair()), {"checks": WIDE},
        "bracket.failed", "Check standard",
    ),
    "as much as its blank, and judged by nothing": (
        (replace(check(), signals=around(0.0015)), replace(zero(), signals=around(0.0015)), sample("W", 8.0), *pair()),
        {"checks": tuple(replace(one, low="-50" if one.low else "") for one in WIDE)},
        "drift.no-span", "the check standard at positions 8, 9 reads no more than its check blank",
    ),
}  # fmt: skip


@pytest.mark.parametrize("defect", LOST)
def test_no_value(defect: str) -> None:
    shots, fields, code, words = LOST[defect]
    work = worked(shots, [W, portion_of("V", "S-00002")], drifting(**fields))
    told = why(next(one for one in work.results if one.sample == "S-00001"))
    assert told[0] == code, told
    assert words in told[1] or any(words in finding for finding in work.findings), told
    assert code in ACTIONS


def test_the_limit_itself_is_allowed() -> None:
    """10 % of 0.0293 exactly."""
    edge = replace(check(), signals=("0.02787",) * 3)  # 0.0015 + 0.9 x 0.0293
    shots = (*pair(), sample("W", 8.0), edge, zero())
    assert isinstance(only(worked(shots, method=drifting("10", checks=WIDE))).outcome, Quantified)
    assert why(only(worked(shots, method=drifting("9.999999", checks=WIDE))))[0] == "drift.too-large"


def test_only_what_stands_beside_a_pair_too_far_is_lost() -> None:
    shots = (
        *pair(), sample("V", 8.0), *pair(), sample("W", 8.0), *pair(FAR), sample("X", 8.0), *pair(FAR),
    )  # fmt: skip
    portions = [portion_of(label, f"S-0000{nth}") for nth, label in enumerate("VWX", start=1)]
    kinds = [one.outcome.kind for one in worked(shots, portions, drifting(checks=WIDE)).results]
    assert kinds == ["quantified", "not_reportable", "not_reportable"]


def test_a_failed_bracket_stays_failed() -> None:
    """9 % down is within what may be corrected, but the check standard fails its own 95 to 105 %."""
    tight = (replace(BRACKETS[0], low="95", high="105"), BRACKETS[1])
    down = State(0.91)
    work = worked((*pair(), sample("W", 8.0, at(0.5, down)), *pair(down)), method=drifting(checks=tight))
    assert why(only(work))[0] == "bracket.failed"
    assert [one.code for one in work.voided] == ["bracket.failed"]


def test_a_bracket_that_failed_comes_before_drift_too_far() -> None:
    work = worked((*pair(), sample("W", 8.0, FAR), *pair(FAR)))
    assert why(only(work))[0] == "bracket.failed"


def test_nothing_is_brought_back_to_a_first_pair_that_failed() -> None:
    """The first check standard was read 15 % low and failed; the later ones pass. W stands between good brackets."""
    blunder = replace(check(), signals=around(0.85 * NEW.signal(10.0)))
    shots = (blunder, zero(), sample("V", 8.0), *pair(), sample("W", 8.0), *pair())
    portions = [portion_of("V", "S-00002"), W]
    work = worked(shots, portions, drifting("30"))
    codes = [why(one)[0] for one in work.results]
    assert codes == ["bracket.failed", "drift.check-failed"]
    assert any("corrected for drift by a check that failed: Check standard" in one for one in work.findings)
    assert isinstance(worked(shots, portions, drifting("")).results[1].outcome, Quantified)


def test_a_pair_further_off_that_failed_corrects_nothing() -> None:
    """After W stands a check standard alone, which passes; the pair by which W is corrected fails later on."""
    bad = State(0.85)
    shots = (*pair(), sample("W", 8.0), check(), sample("V", 8.0, bad), *pair(bad))
    method = drifting("20", checks=(BRACKETS[0], replace(BRACKETS[1], every=20)))
    work = worked(shots, [W, portion_of("V", "S-00002")], method)
    assert [why(one)[0] for one in work.results] == ["drift.check-failed", "bracket.failed"]
    assert "corrected for drift by a check that failed" in work.results[0].portions[0].why
    assert "drift.check-failed" in ACTIONS


def test_a_reading_lost_by_itself_says_so_first() -> None:
    gone = replace(sample("W", 8.0), signals=("0.02", "missing", "0.02"))
    assert why(only(worked((gone, *pair()))))[0] == "reading.missing"


def test_what_to_do_is_told() -> None:
    run = run_of(shots_of(*pair(), sample("W", 8.0), *pair(FAR)), drifting(checks=WIDE))
    work = work_run(run, bench_of([W], [OPEN]))
    assert isinstance(work, RunWork)
    (again,) = reread(run, work, Beside({("T-1", "W"): W}, {work.results[0].result_id: 1}, {}, {})).open
    assert (again.action, again.code, again.over) == ("read_again", "drift.too-large", False)


def test_the_list_for_the_bench_sees_corrected_signals() -> None:
    """As read the solution lies below the highest standard, corrected above it: over range, and how far."""
    down = State(0.92)
    run = run_of(shots_of(*pair(), sample("W", 20.5, at(0.5, down)), *pair(down)), drifting())
    work = work_run(run, bench_of([W], [OPEN]))
    assert isinstance(work, RunWork)
    (again,) = reread(run, work, Beside({("T-1", "W"): W}, {work.results[0].result_id: 1}, {}, {})).open
    assert (again.action, again.over) == ("dilute", True)


# ------------------------------------------------------------------ not to be calculated


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"calibration": replace(pb_method().calibration, additions="allowed")}, "standard additions take"),
        ({"replicates": replace(pb_method().replicates, count=1)}, "asks for one reading"),
        ({"checks": BRACKETS[:1]}, "has no check blank that brackets"),
        ({"checks": BRACKETS[1:]}, "has no check standard that brackets"),
        ({"checks": (*BRACKETS, rule("check_standard", id="high", expected="15"))}, "several concentrations"),
    ],
)
def test_a_method_that_cannot_be_corrected(changes: dict[str, Any], words: str) -> None:
    found = work_run(run_of(shots_of(*pair(), sample("W", 8.0), *pair()), drifting(**changes)), bench_of([W], [OPEN]))
    assert isinstance(found, tuple)
    assert any(one.code == "compute.drift" and words in one.what for one in found), found


@pytest.mark.parametrize("limit", ["0", "100", "250"])
def test_a_limit_that_limits_nothing(limit: str) -> None:
    found = work_run(run_of(shots_of(*pair(), sample("W", 8.0), *pair()), drifting(limit)), bench_of([W], [OPEN]))
    assert isinstance(found, tuple)
    assert f"up to {limit} % of drift" in found[0].what


# ------------------------------------------------------------------ the run


def test_one_sentence_says_so() -> None:
    work = worked((*pair(), sample("W", 8.0, at(0.5)), *pair(END)))
    (words,) = [one for one in work.findings if "corrected for drift" in one]
    assert words == (
        "presented signals were corrected for drift between check pairs, by position; the largest correction, "
        "0.0245368 to 0.02494 A s, is at position 10"
    )
    assert not any("drift" in one for one in worked((*pair(), sample("W", 8.0), *pair()), method=drifting("")).findings)


def _runs() -> list[Run]:
    def run(holds: float, end: State, method: Method) -> Run:
        return run_of(shots_of(*pair(), sample("W", holds, at(0.5, end)), *pair(end)), method)

    second = run(8.0, State(0.97), drifting())
    return [
        run(8.0, END, drifting()),
        run(8.0, END, drifting("")),
        timed(second, [30 * n for n in range(len(second.document.solutions.kind))]),
        run(3.0, State(1.04, -0.0002), drifting()),
        run(8.0, FAR, drifting(checks=WIDE)),
        run(8.0, END, drifting(calibration=replace(pb_method().calibration, model="quadratic"))),
    ]


def test_a_run_alone_in_company_and_shuffled_gives_the_same() -> None:
    runs, bench = _runs(), bench_of([W], [OPEN])
    alone = [work_run(one, bench) for one in runs]
    assert list(work_runs(runs, bench)) == alone
    for seed in range(3):
        order = np.random.default_rng(seed).permutation(len(runs)).tolist()
        assert list(work_runs([runs[at] for at in order], bench)) == [alone[at] for at in order]


def test_with_other_customers_hidden_nothing_changes() -> None:
    theirs = [sample(label, 10.5, at(0.5)) for label in ("T1", "T2")]
    shots = (*pair(), theirs[0], sample("W", 8.0, at(0.5)), theirs[1], *pair(END))
    portions = [W, *(portion_of(label, "S-00002") for label in ("T1", "T2"))]
    full, part = worked(shots, portions), worked(shots, portions, hidden=(10, 12))
    assert part.results == tuple(one for one in full.results if one.sample == "S-00001")
    assert part.results[0].portions[0].drift


def test_hidden_solutions_part_groups_as_they_did() -> None:
    shots = (*pair(), sample("T1", 9.0), *pair(at(0.5)), sample("W", 8.0, at(0.75)), *pair(END))
    portions = [W, portion_of("T1", "S-00002")]
    full, part = worked(shots, portions), worked(shots, portions, hidden=(10,))
    assert part.results == tuple(one for one in full.results if one.sample == "S-00001")
    assert part.results[0].portions[0].drift[0].first == (8, 9)


def test_the_largest_correction_is_the_largest_whichever_way_it_goes() -> None:
    """The sensitivity rises: signals are brought down, that of W by three times as much as that of V."""
    shots = (*pair(), sample("V", 8.0, at(0.5, State(1.02))), *pair(State(1.02)),
             sample("W", 8.0, State(1.05)), *pair(State(1.08)))  # fmt: skip
    work = worked(shots, [portion_of("V", "S-00002"), W])
    (words,) = [one for one in work.findings if "corrected for drift" in one]
    assert words.endswith("is at position 13")


@pytest.mark.parametrize(
    ("sample_at", "share"), [(905, "0"), (1885, "1.00000000000"), (904, None), (1886, None)], ids=str
)
def test_a_sample_read_in_the_moment_of_a_pair_lies_there_by_time(sample_at: int, share: str | None) -> None:
    """Pairs at 895 and 915, mean 905, and at 1875 and 1895, mean 1885; readings 10 s apart, so 10 later in the mean."""
    seconds = [885, 905, sample_at - 10, 1865, 1885]
    shots = shots_of(*pair(), sample("W", 8.0, at(0.5)), *pair(END))
    work = work_run(timed(run_of(shots, drifting()), [*(20 * n for n in range(7)), *seconds]), bench_of([W], [OPEN]))
    assert isinstance(work, RunWork)
    (step,) = row(work).drift
    assert (step.along, step.at) == (("position", "0.500000000000") if share is None else ("time", share))
