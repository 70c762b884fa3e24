"""Each check judged: pass, fail, and why it could not be judged; and what each means for the run."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.compute.making import (
    ALL_RULES,
    BRACKETS,
    Shot,
    bench_of,
    pair,
    pb_method,
    portion_of,
    requirement_of,
    rule,
    run_of,
    samples,
    standards,
)

from benchseal.compute.run_work import work_run
from benchseal.records.preparation import DilutionStep
from benchseal.records.results import CheckVerdict, NotReportable, RunWork

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.records.method import CheckRule
    from benchseal.records.preparation import Portion

# 1 ug/L in the digest is 0.025 ug in a portion of 25 mL and 0.05 ug/g.
PORTIONS = (
    portion_of("A1"),
    portion_of("A2"),
    portion_of("AS", kind="spiked_sample", spike_of="A1", added_ug={"Pb": "0.125"}),
    portion_of("B1", "S-00002"),
    portion_of("MB", "", kind="method_blank", mass_g=""),
    portion_of("LC", "", kind="control_sample", mass_g="", added_ug={"Pb": "0.25"}),
    portion_of("RM", "", kind="reference_material", expected_ug_per_g={"Pb": "0.40"}),
)
GOOD = (
    Shot("method_blank", "MB", 0.1, "MB"),
    Shot("control_sample", "LC", 9.8, "LC"),
    Shot("reference_material", "RM", 8.2, "RM"),
    Shot("sample", "A1", 5.0, "A1"),
    Shot("sample", "A2", 5.2, "A2"),
    Shot("spiked_sample", "AS", 9.9, "AS"),
    Shot("sample", "B1", 3.0, "B1"),
)
OPENING = (*standards(), Shot("second_source", "SS", 10.0), *pair())


def work_of(
    shots: Sequence[Shot] = GOOD, rules: Sequence[CheckRule] = ALL_RULES, portions: Sequence[Portion] = PORTIONS
) -> RunWork:
    run = run_of((*OPENING, *shots, *pair()), pb_method(checks=tuple(rules)))
    work = work_run(run, bench_of(portions))
    assert isinstance(work, RunWork), work
    return work


def changed(label: str, **change: object) -> tuple[Shot, ...]:
    return tuple(replace(shot, **change) if shot.label == label else shot for shot in GOOD)  # type: ignore[arg-type]


def without(label: str) -> tuple[Shot, ...]:
    return tuple(shot for shot in GOOD if shot.label != label)


def prepared(label: str, **change: object) -> tuple[Portion, ...]:
    return tuple(replace(one, **change) if one.portion == label else one for one in PORTIONS)  # type: ignore[arg-type]


def verdict(work: RunWork, check: str) -> CheckVerdict:
    return next(one for one in work.checks if one.check == check)


def reported(work: RunWork) -> int:
    return sum(result.outcome.kind != "not_reportable" for result in work.results)


def test_every_kind_of_check_passes_with_its_numbers() -> None:
    work = work_of()
    assert work.usable, work.findings
    found = {one.check: (one.positions, one.expected, one.unit, one.made_on_sample) for one in work.checks}
    assert found["second_source"] == ((8,), "10", "%", False)
    assert found["method_blank"] == ((11,), "0", "ug/L", False)
    assert found["control_sample"] == ((12,), "0.25", "%", False)
    assert found["reference_material"] == ((13,), "0.40", "%", False)
    assert found["spike"] == ((14, 16), "0.125", "%", True)
    assert found["portions_agree"] == ((14, 15), "", "%", True)
    near = {"control_sample": 98.0, "reference_material": 102.5, "spike": 98.0, "portions_agree": 3.92}
    for check, percent in near.items():
        assert abs(float(verdict(work, check).found) - percent) < 0.3, check


@pytest.mark.parametrize(
    ("shots", "check", "words"),
    [
        pytest.param(changed("MB", holds=0.7), "method_blank", "Method blank at position 11 read", id="blank too high"),
        pytest.param(changed("MB", holds=-0.7), "method_blank", "limit -0.5 to 0.5 µg/L", id="blank too negative"),
        pytest.param(changed("LC", holds=7.0), "control_sample", "limit 80 to 120 %", id="control sample"),
        pytest.param(changed("RM", holds=10.5), "reference_material", "limit 80 to 120 %", id="reference material"),
    ],
)
def test_a_failed_check_of_the_laboratory_fails_the_run(shots: Sequence[Shot], check: str, words: str) -> None:
    work = work_of(shots)
    assert verdict(work, check).verdict == "fail"
    assert words in verdict(work, check).why
    assert not work.usable
    assert verdict(work, check).why in work.findings
    assert reported(work) == 0
    assert {row.code for row in work.voided} == {"run.check"}


@pytest.mark.parametrize("label", ["MB", "LC", "RM"])
def test_a_missing_required_check_fails_the_run(label: str) -> None:
    work = work_of(without(label))
    assert not work.usable
    assert "was not read in this run" in work.findings[0]
    assert reported(work) == 0


@pytest.mark.parametrize(
    "check", ["second_source", "method_blank", "control_sample", "reference_material", "check_standard", "spike"]
)
def test_a_check_that_is_not_required_may_be_missing(check: str) -> None:
    rules = [replace(one, required=False, at_end=False) for one in ALL_RULES if one.check == check]
    shots = [shot for shot in GOOD if shot.kind != {"spike": "spiked_sample"}.get(check, check)]
    run = run_of(
        (*(shot for shot in OPENING if shot.kind != check), *shots, *(shot for shot in pair() if shot.kind != check)),
        pb_method(checks=tuple(rules)),
    )
    work = work_run(run, bench_of(PORTIONS))
    assert isinstance(work, RunWork)
    assert verdict(work, check).verdict == "not_evaluated"
    assert work.usable
    assert reported(work) == 2


def test_a_check_that_is_not_required_may_fail() -> None:
    work = work_of(changed("LC", holds=7.0), [replace(one, required=False) for one in ALL_RULES])
    assert verdict(work, "control_sample").verdict == "fail"
    assert work.usable
    assert reported(work) == 2


@pytest.mark.parametrize("required", [True, False])
def test_a_failed_second_source_fails_the_run_in_any_case(required: bool) -> None:
    rules = [replace(one, required=required) for one in ALL_RULES]
    shots = [replace(shot, holds=11.5) if shot.kind == "second_source" else shot for shot in OPENING]
    work = work_run(run_of((*shots, *GOOD, *pair()), pb_method(checks=tuple(rules))), bench_of(PORTIONS))
    assert isinstance(work, RunWork)
    assert not work.usable
    assert reported(work) == 0
    assert work.findings[0].startswith("Second-source standard at position 8 read 11")


def test_a_missing_bracketing_check_fails_the_run() -> None:
    run = run_of((*standards(), *GOOD), pb_method(checks=BRACKETS))
    work = work_run(run, bench_of(PORTIONS))
    assert isinstance(work, RunWork)
    assert not work.usable
    assert reported(work) == 0


def test_a_failed_spike_fails_the_run_but_takes_no_result() -> None:
    work = work_of(changed("AS", holds=8.0))
    assert verdict(work, "spike").verdict == "fail"
    assert not work.usable
    assert reported(work) == 2


def test_a_missing_spike_fails_the_run() -> None:
    work = work_of(without("AS"))
    assert not work.usable
    assert work.findings == ("Spiked sample was not read in this run",)


def test_portions_that_disagree_cost_their_sample_its_result() -> None:
    work = work_of(changed("A2", holds=6.5))
    assert verdict(work, "portions_agree").verdict == "fail"
    assert work.usable
    first, second = (result.outcome for result in work.results)
    assert isinstance(first, NotReportable)
    assert first.code == "portions.disagree"
    assert "limit at most 20 %" in first.why
    assert second.kind == "quantified"


def test_near_the_limit_the_difference_itself_is_judged() -> None:
    apart = changed("A1", holds=2.0), changed("A1", holds=1.0)
    close = work_of(tuple(replace(shot, holds=2.6) if shot.label == "A2" else shot for shot in apart[0]))
    found = verdict(close, "portions_agree")
    assert (found.verdict, found.high) == ("pass", "100")
    assert abs(float(found.found) - 60) < 3
    far = work_of(tuple(replace(shot, holds=2.6) if shot.label == "A2" else shot for shot in apart[1]))
    assert verdict(far, "portions_agree").verdict == "fail"


@pytest.mark.parametrize(
    ("shots", "portions", "check", "words"),
    [
        pytest.param(
            changed("A1", holds=9.0),
            prepared("AS", added_ug={"Pb": "0.05"}),
            "spike",
            "more than 4 times",
            id="sample swamps the spike",
        ),
        pytest.param(changed("AS", holds=25.0), PORTIONS, "spike", "above the highest", id="spike over range"),
        pytest.param(changed("A1", holds=25.0), PORTIONS, "spike", "the unspiked portion", id="native over range"),
        pytest.param(GOOD, prepared("AS", added_ug={}), "spike", "does not say what was added", id="nothing added"),
        pytest.param(GOOD, prepared("AS", added_ug={"Pb": "0"}), "spike", "does not say", id="zero added"),
        pytest.param(GOOD, prepared("AS", spike_of="Z"), "spike", "does not say", id="spike of an unknown portion"),
        pytest.param(GOOD, prepared("LC", added_ug={}), "control_sample", "does not say", id="control says nothing"),
        pytest.param(
            GOOD, prepared("LC", added_ug={"Pb": "0"}), "control_sample", "nothing was added", id="control of 0"
        ),
        pytest.param(GOOD, prepared("RM", expected_ug_per_g={}), "reference_material", "does not say", id="reference"),
        pytest.param(GOOD, prepared("RM", mass_g="0"), "reference_material", "mass entered is 0", id="mass of zero"),
        pytest.param(changed("A2", holds=25.0), PORTIONS, "portions_agree", "1 of 2 portions", id="one portion left"),
        pytest.param(changed("MB", signals=("none",) * 3), PORTIONS, "method_blank", "missing", id="blank not read"),
    ],
)
def test_a_check_that_cannot_be_judged_says_why(
    shots: Sequence[Shot], portions: Sequence[Portion], check: str, words: str
) -> None:
    found = verdict(work_of(shots, ALL_RULES, portions), check)
    assert found.verdict == "not_evaluated"
    assert words in found.why


@pytest.mark.parametrize(
    ("own", "words"),
    [
        pytest.param(rule("method_blank", limit_in="percent"), "no expected value", id="blank in percent"),
        pytest.param(rule("control_sample", limit_in="solution"), "not in percent", id="recovery in solution units"),
        pytest.param(rule("second_source", expected=""), "no expected value", id="standard of unknown content"),
    ],
)
def test_a_rule_that_does_not_suit_its_check_is_not_evaluated(own: CheckRule, words: str) -> None:
    found = verdict(work_of(GOOD, [*BRACKETS, own]), own.check)
    assert found.verdict == "not_evaluated"
    assert words in found.why


def test_a_check_standard_may_be_judged_in_solution_units() -> None:
    own = rule("second_source", limit_in="solution", low="9.5", high="10.5")
    found = verdict(work_of(GOOD, [*BRACKETS, own]), "second_source")
    assert (found.verdict, found.unit) == ("pass", "ug/L")


def test_two_check_standards_are_judged_each_by_its_own_rule() -> None:
    low, high = rule("check_standard", id="low", expected="2"), rule("check_standard", id="high", expected="10")
    shots = (Shot("check_standard", "CL", 2.0, nominal="2"), Shot("check_standard", "CH", 10.0, nominal="10"))
    run = run_of((*standards(), *shots, *samples(["A1"])), pb_method(checks=(low, high)))
    work = work_run(run, bench_of(PORTIONS))
    assert isinstance(work, RunWork)
    assert [(one.rule, one.positions) for one in work.checks if one.check == "check_standard"] == [
        ("low", (8,)),
        ("high", (9,)),
    ]
    assert work.usable


def test_dilution_steps_count_in_a_recovery() -> None:
    diluted = {"dilutions": {"Pb": (DilutionStep("5", "50"),)}, "added_ug": {"Pb": "2.5"}}
    found = verdict(work_of(GOOD, ALL_RULES, prepared("LC", **diluted)), "control_sample")
    assert found.verdict == "pass"


def test_a_spike_on_another_mass_takes_its_own_share_of_the_sample() -> None:
    """Half the mass holds half of what the sample holds: 5 ug/L found of which 2.5 are its own."""
    portions = prepared("AS", mass_g="0.2500", added_ug={"Pb": "0.0625"})
    found = verdict(work_of(changed("AS", holds=5.0), ALL_RULES, portions), "spike")
    assert abs(float(found.found) - 100) < 1


def test_a_check_in_a_failed_bracket_is_not_evaluated() -> None:
    run = run_of((*OPENING, *GOOD, *pair(8.0)), pb_method(checks=ALL_RULES))
    work = work_run(run, bench_of(PORTIONS))
    assert isinstance(work, RunWork)
    assert verdict(work, "spike").verdict == "not_evaluated"
    assert not work.usable, "without a valid method blank, control sample or reference material nothing stands"


@given(st.decimals("0.1", "0.9", places=3))
def test_limits_include_their_ends(limit: Decimal) -> None:
    """Whatever a blank reads, a rule at exactly that number passes it and a smaller one does not."""
    first = verdict(work_of(changed("MB", holds=float(limit))), "method_blank")
    exact = replace(rule("method_blank"), high=first.found.lstrip("-"))
    assert verdict(work_of(changed("MB", holds=float(limit)), [*BRACKETS, exact]), "method_blank").verdict == "pass"
    less = replace(exact, high=str(Decimal(exact.high) - Decimal(1).scaleb(-12)))
    assert verdict(work_of(changed("MB", holds=float(limit)), [*BRACKETS, less]), "method_blank").verdict == "fail"


def test_portions_needs_two() -> None:
    work = work_of(without("A2"))
    found = verdict(work, "portions_agree")
    assert (found.verdict, found.positions) == ("not_evaluated", ())
    assert not work.usable
    assert requirement_of().portions == 1


def test_of_three_portions_the_ends_stand_over_the_mean_of_all() -> None:
    """By hand: 6.5 - 5.0 over (5.0 + 5.2 + 6.5)/3; over the mean of the ends it would be 26.1 %."""
    shots = [Shot("sample", label, holds, label, scatter=0.0) for label, holds in (("A", 5.0), ("B", 5.2), ("C", 6.5))]
    portions = [portion_of(label) for label in "ABC"]
    found = verdict(work_of(shots, [*BRACKETS, rule("portions_agree", low="", high="30")], portions), "portions_agree")
    assert found.verdict == "pass"
    assert abs(float(found.found) - 100 * 1.5 / (16.7 / 3)) < 0.1


@pytest.mark.parametrize(
    ("holds", "words"), [((25.0, 26.0), "0 of 2 portions give"), ((25.0, 5), "1 of 2 portions gives")]
)
def test_portions_that_give_no_value_are_counted(holds: tuple[float, float], words: str) -> None:
    shots = [Shot("sample", label, amount, label) for label, amount in zip("AB", holds, strict=True)]
    rules = [*BRACKETS, rule("portions_agree", low="", high="30")]
    found = verdict(work_of(shots, rules, [portion_of("A"), portion_of("B")]), "portions_agree")
    assert f"{words} a value (" in found.why
