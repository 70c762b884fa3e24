"""Whatever was presented, the calculation ends in a record or in problems, and never in a value it may not give."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from tests.compute.making import (
    ALL_RULES,
    BRACKETS,
    Shot,
    bench_of,
    pb_method,
    portion_of,
    readings_of,
    requirement_of,
    run_of,
    samples,
    standards,
)

from benchseal.compute.run_work import work_run, work_runs
from benchseal.problems import Problem
from benchseal.records.method import Standard, UncertaintyPlan
from benchseal.records.preparation import DilutionStep
from benchseal.records.quantities import plain
from benchseal.records.results import BelowLimit, Quantified, RunWork
from benchseal.records.shape import read_record, record_bytes

if TYPE_CHECKING:
    from benchseal.records.method import CalibrationPlan, CheckRule, Method
    from benchseal.records.preparation import Portion
    from benchseal.records.specification import Requirement

NOT_PLAIN = re.compile(rb'"[+-]?(?:[0-9.]+E[+-]?[0-9]+|nan|inf|infinity)"', re.IGNORECASE)
PORTIONS = (
    portion_of("A"),
    portion_of("B", kind="duplicate", dilutions={"Pb": (DilutionStep("3", "100"),)}),
    portion_of("C", "S-00002", mass_g="0"),
    portion_of("D", "S-00003", unit_mass_g="2.494", u_unit_mass_g="0.002"),
    portion_of("SP", kind="spiked_sample", spike_of="A", added_ug={"Pb": "0.125"}),
    portion_of("MB", "", kind="method_blank", mass_g=""),
    portion_of("LC", "", kind="control_sample", mass_g="", added_ug={"Pb": "0.25"}),
    portion_of("RM", "", kind="reference_material", expected_ug_per_g={"Pb": "0.40"}),
)
KINDS = {one.portion: one.kind for one in PORTIONS}
ASKED = (
    requirement_of(rule="guarded", lower="0.1"),
    requirement_of(quantity="percent_of_claim", unit="%", claim_mg="0.001", rule="pharma", lower="90.0", upper="110.0"),
    requirement_of(quantity="concentration", unit="mg/L", decimals=-1, portions=2, rule="nonbinary"),
)
SIGNALS = st.one_of(
    st.floats(-0.01, 0.08).map(lambda value: f"{value:.6f}"),
    st.sampled_from(["over", "none", "0", "-0.0", "100", "0.000001", "-5"]),
)
READINGS = st.lists(SIGNALS, min_size=1, max_size=4).map(tuple)
PREPARED = st.builds(
    lambda label, signals, dilution: Shot(KINDS[label], label, portion=label, signals=signals, dilution=dilution),
    st.sampled_from(sorted(KINDS)),
    READINGS,
    st.sampled_from(["1", "1", "2", "10", "2.5"]),
)
CHECKS = st.builds(
    lambda kind, signals: Shot(kind, kind, signals=signals),
    st.sampled_from(["check_standard", "check_blank", "second_source", "rinse"]),
    st.one_of(READINGS, st.just(("0.0308", "0.0309", "0.0307")), st.just(("0.0016", "0.0014", "0.0015"))),
)
CALIBRATIONS = st.one_of(
    st.just(standards()),
    st.lists(READINGS, min_size=7, max_size=7).map(
        lambda every: tuple(Shot("standard", f"S{place}", signals=own) for place, own in enumerate(every))
    ),
)
PLANS = st.builds(
    lambda model, fit_on, weighting, allowed: replace(
        pb_method().calibration,
        model=model,
        fit_on=fit_on,
        weighting=weighting,
        quadratic_allowed=allowed,
        largest_rse_percent="20",
        variance_s0="0.0004",
        variance_k="0.00003",
    ),
    st.sampled_from(["line", "line_through_zero", "quadratic"]),
    st.sampled_from(["readings", "means"]),
    st.sampled_from(["none", "1/s2", "variance_function"]),
    st.booleans(),
)


@settings(max_examples=100, deadline=None)
@given(
    CALIBRATIONS,
    st.lists(st.one_of(PREPARED, CHECKS), max_size=14),
    PLANS,
    st.sampled_from(["none", "undiluted", "same_dilution"]),
    st.sampled_from([(), BRACKETS, ALL_RULES]),
)
def test_anything_ends_in_a_record_or_in_problems(
    calibration: tuple[Shot, ...],
    shots: list[Shot],
    plan: CalibrationPlan,
    subtraction: str,
    rules: tuple[CheckRule, ...],
) -> None:
    method = pb_method(calibration=plan, blank_subtraction=subtraction, checks=rules)
    work = work_run(run_of((*calibration, *shots), method), bench_of(PORTIONS, ASKED))
    if not isinstance(work, RunWork):
        assert work
        assert all(isinstance(problem, Problem) for problem in work)
        return
    require_sound(work)


def require_sound(work: RunWork) -> None:
    """What holds of each record of a calculation; no number in it has an exponent, or is none."""
    written = record_bytes(work)
    assert read_record(RunWork, written) == work
    assert not NOT_PLAIN.findall(written)
    void = {row.position for row in work.voided}
    for result in work.results:
        used = [portion for portion in result.portions if not portion.why]
        assert not {portion.position for portion in used} & void
        assert all(bool(portion.value) == (not portion.why) for portion in result.portions)
        for portion in used:
            assert Decimal(portion.solution_value) <= Decimal(work.calibration.highest) * (1 + Decimal("1e-11"))
        if isinstance(result.outcome, Quantified | BelowLimit):
            assert used
        if isinstance(result.outcome, Quantified):
            assert Decimal(result.outcome.u) > 0
            assert Decimal(result.outcome.expanded_text) >= Decimal(result.outcome.u) * 2
        if result.outcome.kind == "not_reportable":
            assert result.verdict == "none"
    if any(one.check == "calibration" and one.verdict != "pass" for one in work.checks):
        assert not work.usable
        assert all(result.outcome.kind == "not_reportable" for result in work.results)


@dataclass(frozen=True)
class Sizes:
    """Powers of ten by which the numbers of a run are moved, each by its own."""

    signal: int
    level: int
    mass: int
    volume: int
    dilution: int
    limit: int
    stated: int

    @classmethod
    def drawn(cls) -> st.SearchStrategy[Sizes]:
        """Values stay below 1e47 and limits above 1e-6 of their unit; equal and ordinary sizes come often."""
        return st.builds(
            cls,
            signal=st.sampled_from((0, -40, -6, 6, 50)),
            level=st.sampled_from((0, -12, -3, 3, 12)),
            mass=st.sampled_from((0, -50, -3, 3, 50)),
            volume=st.sampled_from((0, -20, 3, 40)),
            dilution=st.sampled_from((0, 3, 30)),
            limit=st.sampled_from((0, -50, -9, 3, 50)),
            stated=st.sampled_from((0, -40, 2, 50)),
        )


def moved(text: str, power: int) -> str:
    """Plain decimal text times a power of ten; what is no number stays."""
    return text if not text or text.isalpha() else plain(Decimal(text).scaleb(power))


def moved_shot(shot: Shot, sizes: Sizes) -> Shot:
    signals = tuple(moved(text, sizes.signal) for text in readings_of(shot))
    dilution = moved(shot.dilution, sizes.dilution) if shot.dilution != "1" else "1"
    return replace(shot, signals=signals, nominal=moved(shot.nominal, sizes.level), dilution=dilution)


DEFAULT_PLAN = pb_method().calibration


def moved_method(sizes: Sizes, **changes: Any) -> Method:  # noqa: ANN401  as ``pb_method``
    """The furnace method with standards, check solutions and stated uncertainties of these sizes."""
    usual = pb_method(**changes)
    level, stated = sizes.level, sizes.stated
    checks = tuple(
        replace(
            one,
            expected=moved(one.expected, level),
            low=moved(one.low, level) if one.limit_in == "solution" else one.low,
            high=moved(one.high, level) if one.limit_in == "solution" else one.high,
        )
        for one in usual.checks
    )
    return replace(
        usual,
        standards=tuple(Standard(one.label, moved(one.concentration, level)) for one in usual.standards),
        lowest_level=moved(usual.lowest_level, level),
        detection_level=moved(usual.detection_level, level),
        replicates=replace(usual.replicates, judged_from=moved(usual.replicates.judged_from, level)),
        uncertainty=UncertaintyPlan(
            moved("0.0005", stated), moved("0.3", stated), moved("0.5", stated), moved("6", stated), "2", "test"
        ),
        checks=checks,
    )


def moved_portion(portion: Portion, sizes: Sizes) -> Portion:
    return replace(
        portion,
        mass_g=moved(portion.mass_g, sizes.mass),
        volume_ml=moved(portion.volume_ml, sizes.volume),
        added_ug={element: moved(text, sizes.volume) for element, text in portion.added_ug.items()},
    )


def moved_requirement(asked: Requirement, sizes: Sizes, decimals: int) -> Requirement:
    return replace(
        asked, lower=moved(asked.lower, sizes.limit), upper=moved(asked.upper, sizes.limit), decimals=decimals
    )


@pytest.mark.parametrize(
    "examples", [pytest.param(150, id="150"), pytest.param(20_000, id="20000", marks=pytest.mark.long)]
)
def test_numbers_of_any_size_end_in_a_record_or_in_problems(examples: int) -> None:
    """Standards, readings, masses, volumes, dilutions, limits and stated uncertainties, each of its own size."""
    results: set[str] = set()

    @settings(max_examples=examples, deadline=None, database=None)
    @given(
        Sizes.drawn(),
        st.one_of(st.just(standards()), CALIBRATIONS),
        st.lists(st.one_of(PREPARED, CHECKS), max_size=8),
        PLANS,
        st.sampled_from([(), (), BRACKETS, ALL_RULES]),
        st.sampled_from(["none", "undiluted"]),
        st.integers(-1, 12),
    )
    @example(Sizes(0, 12, -50, 0, 0, 0, 50), standards(), [], DEFAULT_PLAN, (), "none", 0)  # a square above any float
    def each(  # noqa: PLR0917  one of each
        sizes: Sizes,
        calibration: tuple[Shot, ...],
        shots: list[Shot],
        plan: CalibrationPlan,
        rules: tuple[CheckRule, ...],
        subtraction: str,
        decimals: int,
    ) -> None:
        method = moved_method(sizes, calibration=plan, checks=rules, blank_subtraction=subtraction)
        presented = [moved_shot(shot, sizes) for shot in (*calibration, *samples(["A"]), *samples(["D"], 0.0), *shots)]
        known = bench_of(
            [moved_portion(one, sizes) for one in PORTIONS], [moved_requirement(one, sizes, decimals) for one in ASKED]
        )
        work = work_run(run_of(presented, method), known)
        if isinstance(work, RunWork):
            require_sound(work)
            results.update(result.outcome.kind for result in work.results)
        else:
            assert work
            assert all(isinstance(problem, Problem) for problem in work)

    each()
    assert results == {"quantified", "below_limit", "not_reportable"}


def test_no_runs_give_nothing() -> None:
    assert work_runs((), bench_of(PORTIONS)) == ()


@settings(max_examples=60, deadline=None)
@given(st.lists(st.one_of(PREPARED, CHECKS), max_size=14), st.sampled_from([(), BRACKETS, ALL_RULES]))
def test_what_others_presented_changes_nothing_but_by_its_place(
    shots: list[Shot], rules: tuple[CheckRule, ...]
) -> None:
    """For each sample: the run with all other samples hidden gives the same results for it."""
    method, known = pb_method(checks=rules, blank_subtraction="undiluted"), bench_of(PORTIONS, ASKED)
    whole = (*standards(), *shots)
    full = work_run(run_of(whole, method), known)
    assert isinstance(full, RunWork)
    owner = {one.portion: one.sample for one in PORTIONS}
    for sample in sorted({result.sample for result in full.results}):
        others = [place for place, shot in enumerate(whole, 1) if owner.get(shot.portion, "") not in {"", sample}]
        part = work_run(run_of(whole, method, others), known)
        assert isinstance(part, RunWork)
        assert part.results == tuple(result for result in full.results if result.sample == sample)
        assert part.calibration == full.calibration
        own = [check for check in full.checks if not check.made_on_sample]
        assert [check for check in part.checks if not check.made_on_sample] == own
