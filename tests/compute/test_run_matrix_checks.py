"""Checks on a sample's solution: spiked after preparation, spikes against each other, diluted again, its acid."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.compute.making import (
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

from benchseal.compute.run_matrix_checks import diluted_before
from benchseal.compute.run_work import work_run
from benchseal.records.method import CheckRule, Conditions
from benchseal.records.preparation import DilutionStep
from benchseal.records.results import CheckVerdict, NotReportable, RunWork

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.records.preparation import Portion
    from benchseal.records.specification import Requirement

# 1 ug/L is 0.025 ug in 25 mL. A is of sample 1, B of sample 2. Of the digest of A 10 mL were spiked and made up to
# 10.1 mL: 1 ug/L there is 0.0101 ug.
SPIKED = portion_of(
    "A+",
    kind="post_spiked_sample",
    spike_of="A",
    volume_ml="10.0",
    mass_g="",
    added_ug={"Pb": "0.05"},
    dilutions={"Pb": (DilutionStep("10", "10.1"),)},
)
PORTIONS = (
    portion_of("A", acid_percent="5.0"),
    portion_of("A2", kind="duplicate", acid_percent="5.0"),
    SPIKED,
    portion_of("AS", kind="spiked_sample", spike_of="A", added_ug={"Pb": "0.125"}),
    portion_of("AT", kind="spiked_sample", spike_of="A", added_ug={"Pb": "0.125"}),
    portion_of("AU", kind="spiked_sample", spike_of="A", added_ug={"Pb": "0.125"}),
    portion_of("B", "S-00002", acid_percent="5.0"),
    portion_of("MB", "", kind="method_blank", mass_g=""),
)
KINDS = {one.portion: one.kind for one in PORTIONS}
IN_A_SPIKED = (5.0 * 10 + 0.05 * 1000) / 10.1  # ug/L: its own share and the addition


def shot(label: str, holds: float, **changes: object) -> Shot:
    return replace(Shot(KINDS[label], label, holds, portion=label), **changes)  # type: ignore[arg-type]


def work_of(
    shots: Sequence[Shot],
    *rules: CheckRule,
    portions: Sequence[Portion] = PORTIONS,
    asked: Sequence[Requirement] | None = None,
    **method: object,
) -> RunWork:
    own = pb_method(**{"checks": (*BRACKETS, *rules), **method})
    work = work_run(run_of((*standards(), *pair(), *shots, *pair()), own), bench_of(portions, asked))
    assert isinstance(work, RunWork), work
    return work


def verdicts(work: RunWork, check: str) -> list[CheckVerdict]:
    return [one for one in work.checks if one.check == check]


def standing(work: RunWork) -> str:
    return "".join(one.sample[-1] for one in work.results if one.outcome.kind == "quantified")


def code_of(work: RunWork, sample: str) -> str:
    outcome = next(one.outcome for one in work.results if one.sample == sample)
    return outcome.code if isinstance(outcome, NotReportable) else ""


def changed(label: str, **change: object) -> tuple[Portion, ...]:
    return tuple(replace(one, **change) if one.portion == label else one for one in PORTIONS)  # type: ignore[arg-type]


# Spike after preparation: positions 8 and 9 are the opening pair.

POST = rule("post_spike", low="80", high="120")


def test_what_was_added_after_preparation_is_found() -> None:
    """EPA 7000B, 9.8.1: 80 to 120 %."""
    work = work_of([shot("A", 5.0), shot("A+", IN_A_SPIKED), shot("B", 3.0)], POST)
    (found,) = verdicts(work, "post_spike")
    assert (found.verdict, found.positions, found.expected, found.unit) == ("pass", (10, 11), "0.05", "%")
    assert found.made_on_sample
    assert abs(float(found.found) - 100) < 1
    assert work.usable
    assert standing(work) == "12"


# Steps of the spiked row and of its unspiked portion: 10 mL were spiked and made up to 10.1 mL.
STEPS = {
    "the digest": ("10/10.1", ""),
    "the diluted digest": ("5/100 10/100 10/10.1", "5/100 10/100"),
    "the digest, diluted afterwards": ("10/10.1 5/100", ""),
    "the digest, diluted afterwards by the same volume": ("10/10.1 10/100", ""),
    "a solution diluted by the same volume": ("10/100 10/10.1", "10/100"),
}


def steps_of(text: str) -> tuple[DilutionStep, ...]:
    return tuple(DilutionStep(*step.split("/")) for step in text.split())


@pytest.mark.parametrize(("spiked", "native"), STEPS.values(), ids=STEPS)
def test_the_addition_is_made_to_the_solution_the_steps_lead_to(spiked: str, native: str) -> None:
    portions = tuple(
        replace(one, dilutions={"Pb": steps_of({"A": native, "A+": spiked}[one.portion])})
        if one.portion in {"A", "A+"}
        else one
        for one in PORTIONS
    )
    every = steps_of(spiked)
    after = every[every.index(DilutionStep("10", "10.1")) + 1 :]
    factor = 1.0
    for step in after:
        factor *= float(step.final_ml) / float(step.aliquot_ml)
    asked = [requirement_of(upper="")]
    digest = 5.0 if not after else 15.0 * factor
    added = "0.05" if not after else str(0.05 * factor)
    portions = tuple(replace(one, added_ug={"Pb": added}) if one.portion == "A+" else one for one in portions)
    read_native = 5.0 if not after else 15.0
    read_spiked = (10 * digest + float(added) * 1000) / 10.1 / factor
    shots = [shot("A", read_native, dilution=f"{factor:g}"), shot("A+", read_spiked)]
    work = work_of(shots, POST, portions=portions, asked=asked)
    (found,) = verdicts(work, "post_spike")
    assert found.verdict == "pass", found.why
    assert abs(float(found.found) - 100) < 1.5


def test_two_steps_that_take_the_same_volume_alike_do_not_say_where_the_addition_was_made() -> None:
    portions = changed("A+", dilutions={"Pb": steps_of("10/100 10/100")})
    (found,) = verdicts(work_of([shot("A", 5.0), shot("A+", 5.0)], POST, portions=portions), "post_spike")
    assert found.verdict == "not_evaluated"
    assert "at which the addition was made" in found.why


@pytest.mark.parametrize("subtraction", ["none", "undiluted", "same_dilution"])
def test_the_blank_is_in_both_and_taken_off_neither(subtraction: str) -> None:
    """The spiked solution is diluted otherwise than the blank; that does not matter to the difference."""
    shots = [shot("MB", 0.5), shot("A", 5.0), shot("A+", IN_A_SPIKED)]
    (found,) = verdicts(work_of(shots, POST, blank_subtraction=subtraction), "post_spike")
    assert found.verdict == "pass"
    assert abs(float(found.found) - 100) < 1


def test_dilutions_of_either_solution_count() -> None:
    portions = changed("A", dilutions={"Pb": (DilutionStep("5", "50"),)})
    shots = [shot("A", 0.5 * 4, dilution="1"), shot("A+", (20 * 10 + 50) / 10.1 / 2, dilution="2")]
    (found,) = verdicts(work_of(shots, POST, portions=portions), "post_spike")
    assert abs(float(found.found) - 100) < 2


@given(st.floats(0.5, 8.0), st.floats(0.02, 0.09), st.floats(0.3, 1.7))
def test_the_percentage_is_what_was_put_there(native: float, added: float, recovered: float) -> None:
    """Whatever the sample and the addition: a part of the addition is found as that part."""
    portions = changed("A+", added_ug={"Pb": f"{added:.6f}"})
    holds = (native * 10 + added * 1000 * recovered) / 10.1
    shots = [shot("A", native, scatter=0.0), shot("A+", holds, scatter=0.0)]
    (found,) = verdicts(work_of(shots, POST, portions=portions), "post_spike")
    if found.verdict == "not_evaluated":
        assert native * 0.01 > 3.9 * added or holds > 19.9
    else:
        assert abs(float(found.found) / 100 - recovered) < 0.03


@pytest.mark.parametrize(("part", "word"), [(0.7, "limit 80 to 120 %"), (1.3, "at positions 10 and 11 read")])
def test_a_spike_that_is_not_found_leaves_no_certificate_where_it_is_required(part: float, word: str) -> None:
    holds = (5.0 * 10 + 50 * part) / 10.1
    shots = [shot("A", 5.0), shot("A+", holds), shot("B", 3.0)]
    work = work_of(shots, POST)
    assert verdicts(work, "post_spike")[0].verdict == "fail"
    assert not work.usable
    assert word in work.findings[0]
    assert standing(work) == "12", "values stay on record"
    kept = work_of(shots, replace(POST, required=False))
    assert kept.usable
    assert word in kept.findings[0]


@pytest.mark.parametrize(
    ("shots", "portions", "words"),
    [
        pytest.param(
            [shot("A", 5.0), shot("A+", IN_A_SPIKED)],
            changed("A+", added_ug={}),
            "what was added",
            id="no amount",
        ),
        pytest.param(
            [shot("A", 5.0), shot("A+", IN_A_SPIKED)],
            changed("A+", added_ug={"Pb": "0"}),
            "what was added",
            id="amount of zero",
        ),
        pytest.param(
            [shot("A", 5.0), shot("A+", IN_A_SPIKED)],
            changed("A+", spike_of="Z"),
            "what was added",
            id="spike of nothing",
        ),
        pytest.param([shot("A+", IN_A_SPIKED)], PORTIONS, "unspiked portion: not measured", id="unspiked not read"),
        pytest.param(
            [shot("A", 25.0), shot("A+", IN_A_SPIKED)], PORTIONS, "unspiked portion", id="unspiked over range"
        ),
        pytest.param([shot("A", 5.0), shot("A+", 25.0)], PORTIONS, "above the highest", id="spiked over range"),
        pytest.param(
            [shot("A", 19.0), shot("A+", 19.0)],
            changed("A+", added_ug={"Pb": "0.01"}),
            "more than 4 times",
            id="swamped",
        ),
        pytest.param(
            [shot("A", 5.0), shot("A+", IN_A_SPIKED)],
            changed("A+", volume_ml="0"),
            "volume entered is 0",
            id="volume of zero",
        ),
    ],
)
def test_a_spike_after_preparation_that_cannot_be_judged(
    shots: Sequence[Shot], portions: Sequence[Portion], words: str
) -> None:
    work = work_of(shots, POST, portions=portions)
    (found,) = verdicts(work, "post_spike")
    assert found.verdict == "not_evaluated"
    assert words in found.why
    assert work.usable, "what could not be judged is not a failure of a sample's spike"


def test_a_required_spike_that_was_not_read_leaves_no_certificate() -> None:
    work = work_of(samples("A"), POST)
    assert not work.usable
    assert work.findings == ("Sample spiked after preparation was not read in this run",)


def test_a_post_spiked_solution_gives_no_result_and_is_presented() -> None:
    every = replace(BRACKETS[0], every=2), replace(BRACKETS[1], every=2)
    shots = (*standards(), *pair(), shot("A", 5.0), shot("A+", IN_A_SPIKED), shot("B", 3.0), *pair())
    work = work_run(run_of(shots, pb_method(checks=every)), bench_of(PORTIONS))
    assert isinstance(work, RunWork)
    assert [row.code for row in work.voided] == ["bracket.too-long"]
    assert {row.portion for result in work.results for row in result.portions} == {"A", "A2", "B"}


# Spikes against each other.

SPIKES = rule("spikes_agree", low="0", high="20")


def test_two_spiked_portions_agree() -> None:
    """EPA 7000B, 9.7: 20 % RPD of the two contents."""
    work = work_of([shot("A", 5.0), shot("AS", 9.5, scatter=0.0), shot("AT", 10.5, scatter=0.0)], SPIKES)
    (found,) = verdicts(work, "spikes_agree")
    assert (found.verdict, found.positions, found.low, found.high) == ("pass", (11, 12), "0", "20")
    assert found.made_on_sample
    assert abs(float(found.found) - 10) < 0.1


def test_of_three_the_two_ends_count() -> None:
    shots = [shot(label, holds, scatter=0.0) for label, holds in (("AS", 9.0), ("AT", 10.0), ("AU", 11.0))]
    (found,) = verdicts(work_of(shots, SPIKES), "spikes_agree")
    assert abs(float(found.found) - 20) < 0.5


def test_spikes_that_do_not_agree_leave_no_certificate_where_it_is_required() -> None:
    shots = [shot("A", 5.0), shot("AS", 8.0), shot("AT", 10.5), shot("B", 3.0)]
    work = work_of(shots, SPIKES)
    assert verdicts(work, "spikes_agree")[0].verdict == "fail"
    assert not work.usable
    assert "Agreement of spiked portions at positions 11 and 12 read" in work.findings[0]
    assert standing(work) == "12"
    kept = work_of(shots, replace(SPIKES, required=False))
    assert kept.usable
    assert kept.findings == work.findings


def test_one_spike_is_none_that_could_agree() -> None:
    work = work_of([shot("A", 5.0), shot("AS", 9.9)], SPIKES)
    assert verdicts(work, "spikes_agree")[0].positions == ()
    assert not work.usable
    assert work.findings == ("Agreement of spiked portions was not read in this run",)


def test_spikes_of_two_samples_are_not_compared() -> None:
    portions = (*changed("AT", sample="S-00002", spike_of="B"),)
    work = work_of([shot("AS", 5.0), shot("AT", 15.0)], SPIKES, portions=portions)
    assert verdicts(work, "spikes_agree")[0].verdict == "not_evaluated"


@pytest.mark.parametrize(
    ("shots", "portions", "words"),
    [
        pytest.param(
            [shot("AS", 9.9), shot("AT", 12.0)],
            changed("AT", added_ug={"Pb": "0.25"}),
            "not the same amount",
            id="other amounts",
        ),
        pytest.param(
            [shot("AS", 9.9), shot("AT", 12.0)], changed("AT", added_ug={}), "not the same amount", id="one without"
        ),
        pytest.param([shot("AS", 9.9), shot("AT", 25.0)], PORTIONS, "1 of 2 portions", id="one over range"),
    ],
)
def test_spikes_that_cannot_be_compared(shots: Sequence[Shot], portions: Sequence[Portion], words: str) -> None:
    (found,) = verdicts(work_of(shots, SPIKES, portions=portions), "spikes_agree")
    assert found.verdict == "not_evaluated"
    assert words in found.why


# Dilution test: the lowest level is 1 ug/L, so the diluted reading counts from 10 ug/L.

DILUTED = rule("dilution_test", low="90", high="110")


def twice(first: float, second: float, dilution: str = "5", **changes: object) -> list[Shot]:
    """A read as it is and diluted; ``second`` is what the diluted solution holds."""
    return [shot("A", first), shot("A", second, dilution=dilution, **changes)]


def method_to(highest: str = "100") -> dict[str, object]:
    """The method with one more standard, so that a diluted reading can be large enough."""
    return {
        "standards": (*pb_method().standards, replace(pb_method().standards[-1], label="S7", concentration=highest))
    }


def diluted_work(shots: Sequence[Shot], *rules: CheckRule) -> RunWork:
    top = Shot("standard", "S7", 100.0, nominal="100")
    own = pb_method(checks=(*BRACKETS, *rules), **method_to())
    run = run_of((*standards(), top, *pair(), *shots, *pair()), own)
    work = work_run(run, bench_of(PORTIONS, [requirement_of(upper="")]))
    assert isinstance(work, RunWork), work
    return work


def test_a_diluted_solution_gives_what_the_undiluted_gave() -> None:
    """EPA 7000B, 9.8.2: 1:5, within 10 %."""
    work = diluted_work([*twice(80.0, 16.0), shot("B", 3.0)], DILUTED)
    (found,) = verdicts(work, "dilution_test")
    assert (found.verdict, found.positions, found.low, found.high, found.unit) == ("pass", (11, 12), "90", "110", "%")
    assert found.expected == "", "what the sample holds stays in the laboratory"
    assert found.made_on_sample
    assert abs(float(found.found) - 100) < 1
    assert standing(work) == "12"


def test_the_second_reading_stays_unused_for_the_result() -> None:
    work = diluted_work(twice(80.0, 17.0), DILUTED)
    used, further = work.results[0].portions[:2]
    assert (used.extra_dilution, used.why) == ("1", "")
    assert further.why == "not used: the reading at position 11 counts"
    assert abs(float(verdicts(work, "dilution_test")[0].found) - 106.25) < 1


@pytest.mark.parametrize(
    ("second", "words"),
    [
        pytest.param(18.5, "limit 90 to 110 %", id="the undiluted was suppressed"),
        pytest.param(13.5, "Dilution test at positions 11 and 12 read", id="the undiluted was enhanced"),
    ],
)
def test_two_readings_that_contradict_leave_the_sample_no_value(second: float, words: str) -> None:
    shots = [*twice(80.0, second), shot("B", 3.0)]
    work = diluted_work(shots, DILUTED)
    assert verdicts(work, "dilution_test")[0].verdict == "fail"
    assert work.usable
    assert standing(work) == "2"
    assert code_of(work, "S-00001") == "dilution.disagrees"
    assert words in work.findings[0]
    kept = diluted_work(shots, replace(DILUTED, required=False))
    assert standing(kept) == "12"
    assert words in kept.findings[0]


def test_each_further_dilution_is_a_test() -> None:
    shots = [shot("A", 90.0), shot("A", 45.0, dilution="2"), shot("A", 18.0, dilution="5")]
    work = diluted_work(shots, DILUTED)
    assert [one.positions for one in verdicts(work, "dilution_test")] == [(11, 12), (11, 13)]


def test_the_order_of_reading_does_not_matter() -> None:
    shots = [shot("A", 16.0, dilution="5"), shot("A", 80.0)]
    (found,) = verdicts(diluted_work(shots, DILUTED), "dilution_test")
    assert (found.positions, found.verdict) == ((11, 12), "pass")
    assert abs(float(found.found) - 100) < 1


@pytest.mark.parametrize(
    ("shots", "words", "code"),
    [
        pytest.param(twice(45.0, 9.0), "below 10 times the lowest level", "", id="too little is left"),
        pytest.param(
            twice(80.0, 150.0),
            "the diluted reading: above the highest",
            "reading.contradicted",
            id="diluted over range",
        ),
        pytest.param(
            twice(80.0, 16.0, signals=("none",) * 3), "the diluted reading: 3 of 3 readings", "", id="diluted not read"
        ),
        pytest.param(twice(-0.9, 16.0), "nothing above zero", "reading.contradicted", id="undiluted below zero"),
        pytest.param(twice(-3.0, 16.0), "further below zero", "", id="undiluted far below zero"),
    ],
)
def test_a_dilution_test_that_cannot_be_judged_costs_nothing(shots: Sequence[Shot], words: str, code: str) -> None:
    """Readings that contradict each other cost the value by themselves, whatever the test says."""
    work = diluted_work([*shots, shot("B", 3.0)], DILUTED)
    (found,) = verdicts(work, "dilution_test")
    assert found.verdict == "not_evaluated"
    assert words in found.why
    assert work.usable
    assert code_of(work, "S-00001") == code


def test_a_void_reading_is_no_test() -> None:
    """The bracket of the diluted reading fails: it is not judged, and says so."""
    top = Shot("standard", "S7", 100.0, nominal="100")
    shots = (
        *standards(),
        top,
        *pair(),
        shot("A", 80.0),
        *pair(),
        shot("A", 25.0, dilution="5"),
        *pair(8.0),
    )
    work = work_run(
        run_of(shots, pb_method(checks=(*BRACKETS, DILUTED), **method_to())),
        bench_of(PORTIONS, [requirement_of(upper="")]),
    )
    assert isinstance(work, RunWork)
    (found,) = verdicts(work, "dilution_test")
    assert found.verdict == "not_evaluated"
    assert "Check standard" in found.why


@pytest.mark.parametrize(
    "shots",
    [
        pytest.param([shot("A", 80.0), shot("B", 3.0)], id="read once"),
        pytest.param(twice(150.0, 30.0), id="diluted because the first was over range"),
    ],
)
def test_without_two_readings_a_required_test_was_not_made(shots: Sequence[Shot]) -> None:
    work = diluted_work(shots, DILUTED)
    assert verdicts(work, "dilution_test")[0].positions == ()
    assert not work.usable
    assert work.findings == ("Dilution test was not read in this run",)
    assert diluted_work(shots, replace(DILUTED, required=False)).usable


def test_a_test_whose_first_reading_is_void_was_read_and_says_why() -> None:
    """The bracket of the undiluted reading fails: the diluted one counts, and the test is not "not read"."""
    top = Shot("standard", "S7", 100.0, nominal="100")
    shots = (*standards(), top, *pair(8.0), shot("A", 80.0), *pair(), shot("A", 16.0, dilution="5"), *pair())
    work = work_run(
        run_of(shots, pb_method(checks=(*BRACKETS, DILUTED), **method_to())),
        bench_of(PORTIONS, [requirement_of(upper="")]),
    )
    assert isinstance(work, RunWork)
    (found,) = verdicts(work, "dilution_test")
    assert (found.verdict, found.positions) == ("not_evaluated", (11, 14))
    assert "the less diluted reading: Check standard" in found.why
    assert not any("was not read" in words for words in work.findings)


# Acid.

ACID = rule("acid_match", low="80", high="120", expected="5.0")


def test_the_acid_of_each_portion_is_judged() -> None:
    work = work_of(samples(["A", "B"]), ACID)
    found = verdicts(work, "acid_match")
    assert [(one.positions, one.verdict, one.found, one.expected) for one in found] == [
        ((10,), "pass", "100.000000000", "5.0"),
        ((11,), "pass", "100.000000000", "5.0"),
    ]
    assert all(one.made_on_sample for one in found)
    assert standing(work) == "12"


def test_the_percent_of_the_conditions_is_expected_where_the_rule_says_none() -> None:
    own = replace(ACID, expected="")
    conditions = Conditions(acid="nitric acid", acid_percent="2.0")
    (first, _) = verdicts(work_of(samples(["A", "B"]), own, conditions=conditions), "acid_match")
    assert (first.expected, first.found, first.verdict) == ("2.0", "250.000000000", "fail")
    assert verdicts(work_of(samples(["A"]), own), "acid_match")[0].verdict == "not_evaluated"
    assert verdicts(work_of(samples(["A"]), ACID, conditions=conditions), "acid_match")[0].expected == "5.0"


@pytest.mark.parametrize("acid", ["2.0", "6.5"])
def test_another_acid_leaves_the_sample_no_value_where_it_is_required(acid: str) -> None:
    portions = changed("A", acid_percent=acid)
    work = work_of(samples(["A", "B"]), ACID, portions=portions)
    assert code_of(work, "S-00001") == "acid.differs"
    assert standing(work) == "2"
    assert work.usable
    assert "Acid content at position 10 read" in work.findings[0]
    kept = work_of(samples(["A", "B"]), replace(ACID, required=False), portions=portions)
    assert standing(kept) == "12"
    assert kept.findings == work.findings


def test_an_acid_nobody_entered_is_judged_only_where_it_is_required() -> None:
    portions = changed("A", acid_percent="")
    work = work_of(samples(["A", "B"]), ACID, portions=portions)
    assert [one.verdict for one in verdicts(work, "acid_match")] == ["not_evaluated", "pass"]
    assert code_of(work, "S-00001") == "acid.differs"
    assert "does not say how much acid" in work.findings[0]
    kept = work_of(samples(["A", "B"]), replace(ACID, required=False), portions=portions)
    assert [one.positions for one in verdicts(kept, "acid_match")] == [(11,)]
    assert standing(kept) == "12"
    assert kept.findings == ()


def test_where_no_portion_has_an_acid_the_check_says_so() -> None:
    portions = tuple(replace(one, acid_percent="") for one in PORTIONS)
    work = work_of(samples(["A", "B"]), replace(ACID, required=False), portions=portions)
    (found,) = verdicts(work, "acid_match")
    assert (found.verdict, found.positions) == ("not_evaluated", ())
    assert found.why == "Acid content was entered for no portion read in this run"
    assert work.usable


def test_limits_of_the_acid_include_their_ends() -> None:
    for acid, passed in (("4.0", True), ("3.999", False), ("6.0", True), ("6.001", False)):
        (found,) = verdicts(work_of(samples(["A"]), ACID, portions=changed("A", acid_percent=acid)), "acid_match")
        assert (found.verdict == "pass") == passed, acid


def test_of_two_failing_checks_the_first_rule_names_the_loss() -> None:
    portions = changed("A", acid_percent="2.0")
    agree = rule("portions_agree", low="", high="20")
    shots = [shot("A", 5.0), shot("A2", 8.0)]
    for rules, code in (((ACID, agree), "acid.differs"), ((agree, ACID), "portions.disagree")):
        work = work_of(shots, *rules, portions=portions, asked=[requirement_of(portions=2)])
        assert code_of(work, "S-00001") == code


def test_what_is_printed_of_a_check_on_a_sample_holds_no_content() -> None:
    """Another customer's certificate carries these verdicts: no expected or found value in a unit of content."""
    shots = [shot("A", 5.0), shot("A+", IN_A_SPIKED), shot("AS", 9.9), shot("AT", 10.1)]
    work = work_of(shots, POST, SPIKES, ACID)
    made = [one for one in work.checks if one.made_on_sample]
    assert {one.check for one in made} == {"post_spike", "spikes_agree", "acid_match"}
    assert {one.unit for one in made} == {"%"}
    assert not any(label in one.why for one in made for label in KINDS)
    assert all(Decimal(one.expected) in {Decimal("0.05"), Decimal("5.0")} for one in made if one.expected)


def test_a_less_diluted_reading_just_above_zero_is_compared_with() -> None:
    """0.5 ug/L beside 16 ug/L at 1:5: 16000 %, which says how little the first one is worth."""
    (found,) = verdicts(diluted_work([*twice(0.5, 16.0), shot("B", 3.0)], DILUTED), "dilution_test")
    assert found.verdict == "fail"
    assert abs(float(found.found) / 16000 - 1) < 0.05


def test_a_less_diluted_reading_of_nothing_at_all_gives_nothing_to_compare_with() -> None:
    """A signal of zero on a line through zero."""
    plan = replace(pb_method().calibration, model="line_through_zero")
    method = pb_method(calibration=plan, signal_is="absorbance_zeroed_on_blank", checks=(DILUTED,), lowest_level="0.01")
    levels = [
        replace(one, signals=tuple(f"{0.00293 * float(one.nominal) + off:.6f}" for off in (-0.00004, 0.00001, 0.00003)))
        for one in standards()
    ]
    shots = [shot("A", 0.0, signals=("0.0000",) * 3), shot("A", 16.0, dilution="5", signals=("0.0293",) * 3)]
    work = work_run(run_of((*levels, *shots), method), bench_of(PORTIONS, [requirement_of(upper="")]))
    assert isinstance(work, RunWork), work
    (found,) = verdicts(work, "dilution_test")
    assert found.verdict == "not_evaluated"
    assert "the less diluted reading gives nothing above zero" in found.why


def test_a_step_that_takes_another_volume_is_not_the_one_of_the_addition() -> None:
    """10 mL were spiked: the first step takes them, though the second dilutes less."""
    assert diluted_before(steps_of("10/100 20/21"), "10.0") == 1
    assert diluted_before(steps_of("20/100 10/100"), "10") == 5
    assert diluted_before(steps_of("20/100 5/50"), "10") == 1
    assert diluted_before(steps_of("20/100 5/50"), "") == 1
    assert diluted_before(steps_of("10/100 10/100"), "10") is None
