"""The deeper checks on anything: a record or problems, no false pass, nothing of other customers but its place."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from hypothesis import given, settings
from hypothesis import strategies as st
from tests.compute.making import (
    BRACKETS,
    Shot,
    bench_of,
    pb_method,
    portion_of,
    requirement_of,
    rule,
    run_of,
    standards,
)
from tests.compute.test_run_anything import READINGS

from benchseal.compute.run_checks import ON_SAMPLES
from benchseal.compute.run_work import work_run
from benchseal.problems import Problem
from benchseal.records.method import CheckRule, Conditions, Method
from benchseal.records.preparation import DilutionStep
from benchseal.records.results import RunWork
from benchseal.records.shape import read_record, record_bytes

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.records.preparation import Portion

ACID = st.sampled_from(["", "0", "4.0", "5", "7.5"])
REFERENCE: dict[str, Any] = {"expected_ug_per_g": {"Pb": "0.40"}, "u_expected_ug_per_g": {"Pb": "0.02"}}
ADDED: dict[str, Any] = {"added_ug": {"Pb": "0.125"}}
PORTIONS = (
    portion_of("A"),
    portion_of("B", kind="duplicate", dilutions={"Pb": (DilutionStep("3", "100"),)}),
    portion_of("C", "S-00002"),
    portion_of("SP", kind="spiked_sample", spike_of="A", **ADDED),
    portion_of("SQ", kind="spiked_sample", spike_of="A", **ADDED),
    portion_of("SR", "S-00002", kind="spiked_sample", spike_of="C", **ADDED),
    portion_of("SS", "S-00002", kind="spiked_sample", spike_of="C", **ADDED),
    portion_of("PA", kind="post_spiked_sample", spike_of="A", volume_ml="10", mass_g="", **ADDED),
    portion_of("PC", "S-00002", kind="post_spiked_sample", spike_of="C", volume_ml="0", mass_g="", **ADDED),
    portion_of("MB", "", kind="method_blank", mass_g=""),
    portion_of("RM", "", kind="reference_material", **REFERENCE),
    portion_of("RW", "", kind="reference_material", moisture_percent="5", u_moisture_percent="0.1", **REFERENCE),
)
KINDS = {one.portion: one.kind for one in PORTIONS}
PREPARED = st.builds(
    lambda label, signals, dilution, background: Shot(
        KINDS[label], label, portion=label, signals=signals, dilution=dilution, background=background
    ),
    st.sampled_from(sorted(KINDS)),
    READINGS,
    st.sampled_from(["1", "1", "2", "5"]),
    st.sampled_from(["0.1", "0.1", "0.1", "1.0", "1.2", "", "-0.1"]),
)
CHECKS = st.builds(
    lambda kind, signals: Shot(kind, kind, signals=signals, background="0.1"),
    st.sampled_from(["check_standard", "check_blank", "rinse", "rinse", "lowest_level"]),
    st.one_of(READINGS, st.just(("0.0308", "0.0309", "0.0307")), st.just(("0.0016", "0.0014", "0.0015"))),
)
SHOTS = st.lists(st.one_of(PREPARED, CHECKS), max_size=14)
DEEPER = (
    replace(BRACKETS[0], id="first", when="first", low="95", high="105", every=0, at_end=False),
    replace(BRACKETS[0], id="later", when="later"),
    rule("lowest_level", low="70", high="130"),
    rule("return_to_zero", limit_in="solution", low="-0.5", high="0.5"),
    rule("sensitivity", low="80", high="120", expected="30"),
    rule("reference_material", limit_in="zeta", low="-2", high="2"),
    rule("reference_material", id="e-n", limit_in="e_n", low="-1", high="1"),
    rule("portions_agree", low="0", high="20"),
    rule("spikes_agree", low="0", high="20"),
    rule("post_spike", low="80", high="120"),
    rule("dilution_test", low="90", high="110"),
    rule("acid_match", low="80", high="120"),
)
RULES = st.lists(st.sampled_from(DEEPER), max_size=8, unique_by=lambda one: one.id).flatmap(
    lambda rules: st.lists(st.booleans(), min_size=len(rules), max_size=len(rules)).map(
        lambda required: tuple(replace(one, required=need) for one, need in zip(rules, required, strict=True))
    )
)


def method_of(rules: Sequence[CheckRule], limit: str) -> Method:
    conditions = Conditions(
        injection_ul="20", acid="nitric acid", acid_percent="5", largest_background=limit, background_source="test"
    )
    return pb_method(checks=tuple(rules), conditions=conditions)


def read_all(shots: Sequence[Shot]) -> tuple[Shot, ...]:
    return (*(replace(one, background="0.1") for one in standards()), *shots)


def with_acid(acids: Sequence[str]) -> list[Portion]:
    return [replace(one, acid_percent=acid) for one, acid in zip(PORTIONS, acids, strict=True)]


ACIDS = st.lists(ACID, min_size=len(PORTIONS), max_size=len(PORTIONS))
ASKED = (requirement_of(rule="guarded"), requirement_of(quantity="concentration", unit="mg/L", portions=2))


@settings(max_examples=150, deadline=None)
@given(SHOTS, RULES, ACIDS, st.sampled_from(["", "1.0"]))
def test_anything_ends_in_a_record_or_in_problems(
    shots: list[Shot], rules: tuple[CheckRule, ...], acids: list[str], limit: str
) -> None:
    work = work_run(run_of(read_all(shots), method_of(rules, limit)), bench_of(with_acid(acids), ASKED))
    if not isinstance(work, RunWork):
        assert all(isinstance(problem, Problem) for problem in work)
        return
    assert read_record(RunWork, record_bytes(work)) == work
    for one in work.checks:
        assert (one.verdict == "fail") <= bool(one.why)
        if one.verdict != "not_evaluated" and one.found:
            inside = (not one.low or Decimal(one.found) >= Decimal(one.low)) and (
                not one.high or Decimal(one.found) <= Decimal(one.high)
            )
            assert inside == (one.verdict == "pass")
        assert one.made_on_sample == (one.check in ON_SAMPLES or (one.check == "replicates" and one.made_on_sample))
    _nothing_outlives(work, rules)


def _nothing_outlives(work: RunWork, rules: Sequence[CheckRule]) -> None:
    """What a required rule says must not stand has no value; what is not required takes nothing."""
    required = {rule.id for rule in rules if rule.required}
    own = [one for one in work.checks if one.rule in required and not one.made_on_sample]
    for one in own:
        if one.check in {"lowest_level", "sensitivity", "reference_material"} and one.verdict == "fail":
            assert not work.usable
            assert all(result.outcome.kind == "not_reportable" for result in work.results)
    void = {row.position for row in work.voided if row.code == "carry-over.failed"}
    used = {row.position for result in work.results for row in result.portions if not row.why}
    assert not void & used
    for one in work.checks:
        if one.rule in required and one.check in {"dilution_test", "acid_match"} and one.verdict == "fail":
            lost = [result for result in work.results if {row.position for row in result.portions} & set(one.positions)]
            assert lost == [] or all(result.outcome.kind == "not_reportable" for result in lost)


@settings(max_examples=100, deadline=None)
@given(SHOTS, RULES, ACIDS)
def test_what_others_presented_changes_nothing_but_by_its_place(
    shots: list[Shot], rules: tuple[CheckRule, ...], acids: list[str]
) -> None:
    """For each sample: with all others hidden its results are the same, and so are the checks that can be remade."""
    method, portions = method_of(rules, "1.0"), with_acid(acids)
    known, whole = bench_of(portions, ASKED), read_all(shots)
    full = work_run(run_of(whole, method), known)
    assert isinstance(full, RunWork)
    owner = {one.portion: one.sample for one in PORTIONS}
    for sample in ("S-00001", "S-00002"):
        others = [place for place, shot in enumerate(whole, 1) if owner.get(shot.portion, "") not in {"", sample}]
        alone = work_run(run_of(whole, method, others), known)
        assert isinstance(alone, RunWork)
        assert alone.results == tuple(result for result in full.results if result.sample == sample)
        seen = [
            one
            for one in full.checks
            if not one.made_on_sample or (one.positions and not set(one.positions) & set(others))
        ]
        assert [one for one in alone.checks if not one.made_on_sample or one.positions] == seen
        assert [row for row in alone.voided if row.code == "carry-over.failed"] == [
            row for row in full.voided if row.code == "carry-over.failed"
        ]
