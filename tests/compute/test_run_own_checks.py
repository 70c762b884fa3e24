"""Checks of the laboratory's own: lowest level, rinses, sensitivity, scores of a reference material, background."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from math import log10, sqrt
from typing import TYPE_CHECKING

import pytest
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

from benchseal.compute.characteristic import ONE_PERCENT
from benchseal.compute.run_work import work_run
from benchseal.records.method import CalibrationPlan, CheckRule, Conditions, Standard
from benchseal.records.results import CheckVerdict, NotReportable, Quantified, RunWork

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.records.method import Method
    from benchseal.records.preparation import Portion
    from benchseal.records.run import Run

PORTIONS = (
    portion_of("A", "S-00001"),
    portion_of("B", "S-00002"),
    portion_of(
        "RM", "", kind="reference_material", expected_ug_per_g={"Pb": "0.40"}, u_expected_ug_per_g={"Pb": "0.01"}
    ),
)


def work_of(
    shots: Sequence[Shot],
    *rules: CheckRule,
    method: Method | None = None,
    portions: Sequence[Portion] = PORTIONS,
) -> RunWork:
    """A run of standards, a pair, ``shots``, a pair, judged by brackets and ``rules``."""
    own = replace(method or pb_method(), checks=(*BRACKETS, *rules))
    work = work_run(run_of((*standards(), *pair(), *shots, *pair()), own), bench_of(portions))
    assert isinstance(work, RunWork), work
    return work


def verdicts(work: RunWork, check: str) -> list[CheckVerdict]:
    return [one for one in work.checks if one.check == check]


def standing(work: RunWork) -> str:
    return "".join(one.sample[-1] for one in work.results if one.outcome.kind == "quantified")


# The lowest level: positions 8 and 9 are the opening pair, 10 the standard at the lowest level.

LOWEST = rule("lowest_level", low="70", high="130")


def lowest(holds: float = 1.0, **changes: object) -> Shot:
    return replace(Shot("lowest_level", "LL", holds), **changes)  # type: ignore[arg-type]


@pytest.mark.parametrize(("holds", "percent"), [(1.0, 100), (0.75, 75), (1.25, 125)])
def test_a_standard_at_the_lowest_level_is_recovered(holds: float, percent: float) -> None:
    """EPA 7000B, 10.2.3.1: within 30 %."""
    (found,) = verdicts(work_of([lowest(holds), *samples("AB")], LOWEST), "lowest_level")
    assert (found.verdict, found.positions, found.expected, found.unit) == ("pass", (10,), "1", "%")
    assert not found.made_on_sample
    assert abs(float(found.found) - percent) < 3


def test_a_rule_may_expect_less_than_the_lowest_level() -> None:
    method = replace(pb_method(), lowest_level="2.5")
    (found,) = verdicts(work_of([lowest(1.0)], replace(LOWEST, expected="1.0"), method=method), "lowest_level")
    assert (found.verdict, found.expected) == ("pass", "1.0")
    (missed,) = verdicts(work_of([lowest(1.0)], LOWEST, method=method), "lowest_level")
    assert (missed.verdict, missed.expected) == ("fail", "2.5")


@pytest.mark.parametrize(
    ("shots", "words"),
    [
        pytest.param([lowest(0.6)], "Lowest-level standard at position 10 read", id="too low"),
        pytest.param([lowest(1.4)], "limit 70 to 130 %", id="too high"),
        pytest.param([], "Lowest-level standard was not read in this run", id="missing"),
        pytest.param([lowest(signals=("none",) * 3)], "readings are missing", id="not evaluated"),
        pytest.param([lowest(1.0), lowest(0.6)], "at position 11 read", id="one of two"),
    ],
)
def test_what_the_lowest_level_does_not_pass_fails_the_run_only_where_it_is_required(
    shots: Sequence[Shot], words: str
) -> None:
    work = work_of([*shots, *samples("AB")], LOWEST)
    assert not work.usable
    assert words in " ".join(work.findings)
    assert standing(work) == ""
    assert {row.code for row in work.voided} == {"run.check"}
    kept = work_of([*shots, *samples("AB")], replace(LOWEST, required=False))
    assert kept.usable
    assert standing(kept) == "12"
    failed = any(one.verdict == "fail" for one in verdicts(kept, "lowest_level"))
    assert (words in " ".join(kept.findings)) == failed, "what failed is seen, what was not read is not missed"


def test_a_lowest_level_standard_is_not_presented() -> None:
    """It neither counts for "every ten" nor is it void where a bracket fails."""
    work = work_of([lowest(), *samples("AB")], LOWEST)
    assert [row.position for row in work.voided] == []
    spoiled = run_of(
        (*standards(), *pair(), lowest(), *samples("AB"), *pair(8.0)), pb_method(checks=(*BRACKETS, LOWEST))
    )
    worked = work_run(spoiled, bench_of(PORTIONS))
    assert isinstance(worked, RunWork)
    assert [row.position for row in worked.voided] == [11, 12]


# Rinses.

RINSE = rule("return_to_zero", limit_in="solution", low="0", high="0.5", required=False)


def rinse(holds: float = 0.05, **changes: object) -> Shot:
    return replace(Shot("rinse", "R", holds), **changes)  # type: ignore[arg-type]


def test_a_rinse_that_returns_to_zero_costs_nothing() -> None:
    work = work_of([*samples("A"), rinse(), *samples("B")], RINSE)
    (found,) = verdicts(work, "return_to_zero")
    assert (found.verdict, found.positions, found.expected, found.low, found.high) == (
        "pass",
        (11,),
        "0",
        "-0.5",
        "0.5",
    )
    assert found.unit == "ug/L"
    assert standing(work) == "12"
    assert work.findings == ()


@pytest.mark.parametrize(
    ("shot", "words"),
    [
        pytest.param(rinse(0.8), "not excluded: Return to zero after position 10 read 0.79", id="something is left"),
        pytest.param(rinse(-0.8), "limit -0.5 to 0.5 µg/L", id="below zero, the zero has moved"),
        pytest.param(rinse(signals=("over",)), "over range", id="so much is left that there is no number"),
        pytest.param(rinse(signals=("none", "none")), "2 of 2 readings are missing", id="not read"),
        pytest.param(rinse(25.0), "above the highest standard", id="above the standards"),
    ],
)
def test_what_follows_a_rinse_that_does_not_is_void(shot: Shot, words: str) -> None:
    work = work_of([*samples("A"), shot, *samples("B")], RINSE)
    assert [(row.position, row.code) for row in work.voided] == [(12, "carry-over.failed")]
    assert words in work.voided[0].why
    assert work.findings == (f"{work.voided[0].why} (position 12 void)",)
    assert work.usable
    lost = work.results[1].outcome
    assert isinstance(lost, NotReportable)
    assert lost.code == "carry-over.failed"
    assert standing(work) == "1"


@pytest.mark.parametrize(
    ("shots", "void"),
    [
        pytest.param([rinse(0.8), rinse(), *samples("AB")], [], id="a second rinse cleans"),
        pytest.param([rinse(0.8), rinse(0.7), *samples("AB")], [12], id="two that do not"),
        pytest.param([rinse(0.8), lowest(), *samples("AB")], [], id="a standard shows by itself"),
        pytest.param([*samples("AB"), rinse(0.8)], [], id="nothing is read after it"),
        pytest.param([rinse(0.8), *samples("AB")], [11], id="only the one directly after it"),
    ],
)
def test_only_the_presented_solution_directly_after_it(shots: Sequence[Shot], void: list[int]) -> None:
    work = work_of(shots, RINSE, replace(LOWEST, required=False))
    assert [row.position for row in work.voided] == void


def test_one_reading_of_a_rinse_is_enough() -> None:
    (found,) = verdicts(work_of([rinse(signals=("0.0016",)), *samples("A")], RINSE), "return_to_zero")
    assert found.verdict == "pass"


def test_a_rinse_is_demanded_only_by_a_required_rule() -> None:
    assert work_of(samples("AB"), RINSE).usable
    work = work_of(samples("AB"), replace(RINSE, required=True))
    assert not work.usable
    assert "Return to zero was not read in this run" in work.findings
    failed = work_of([rinse(0.8), *samples("AB")], replace(RINSE, required=True))
    assert failed.usable, "a rinse that fails voids what follows it, not the run"


def test_without_a_rule_rinses_are_not_judged() -> None:
    assert standing(work_of([rinse(9.0), *samples("AB")])) == "12"


# Sensitivity. The invented furnace line has a slope of 0.00293 per ug/L; 20 uL are injected.

FURNACE = replace(pb_method(), conditions=Conditions(injection_ul="20"))
MASS_PG = 0.0044 * 20 / 0.00293


def sensitive(expected: str, **changes: object) -> CheckRule:
    return rule("sensitivity", low="80", high="120", expected=expected, **changes)


def test_one_percent_absorbed_is_what_the_definition_rounds() -> None:
    assert float(ONE_PERCENT) == round(-log10(0.99), 4)


def test_the_characteristic_mass_is_judged_against_the_usual_one() -> None:
    """m0 = 0.0044 V/b1 in pg: 30.0 pg here, the figure of the trade for lead (from memory)."""
    (found,) = verdicts(work_of(samples("A"), sensitive("30"), method=FURNACE), "sensitivity")
    assert (found.verdict, found.positions, found.unit, found.expected) == ("pass", (1, 2, 3, 4, 5, 6, 7), "%", "30")
    assert not found.made_on_sample
    assert abs(float(found.found) - 100 * MASS_PG / 30) < 1


def test_the_percentage_is_exact_from_the_slope_of_record() -> None:
    work = work_of(samples("A"), sensitive("30"), method=FURNACE)
    slope = Fraction(Decimal(work.calibration.coefficients[1]))
    due = 100 * Fraction(44, 10000) * 20 / slope / 30
    assert abs(Fraction(Decimal(verdicts(work, "sensitivity")[0].found)) / due - 1) < Fraction(1, 10**11)


@pytest.mark.parametrize(("unit", "expected"), [("ug/L", "1.5"), ("mg/L", "1.5"), ("ng/mL", "1.5")])
def test_outside_the_furnace_a_concentration_in_the_solution_unit(unit: str, expected: str) -> None:
    method = pb_method(technique="flame", solution_unit=unit)
    (found,) = verdicts(work_of(samples("A"), sensitive(expected), method=method), "sensitivity")
    assert abs(float(found.found) - 100 * 0.0044 / 0.00293 / 1.5) < 1


@pytest.mark.parametrize(("unit", "factor"), [("ug/L", 1), ("mg/L", 1000), ("ng/mL", 1)])
def test_the_mass_is_in_picograms_whatever_the_solution_unit(unit: str, factor: float) -> None:
    method = replace(FURNACE, solution_unit=unit)
    (found,) = verdicts(work_of(samples("A"), sensitive(str(30 * factor)), method=method), "sensitivity")
    assert abs(float(found.found) - 100 * MASS_PG / 30) < 1


@pytest.mark.parametrize("model", ["line_through_zero", "quadratic"])
def test_the_slope_is_that_at_zero_whatever_the_model(model: str) -> None:
    """A parabola that falls off by a third at the top has the same slope at zero as the line through it."""
    bend = 0.0 if model == "line_through_zero" else -0.00005
    levels = ("1", "2.5", "5", "10", "15", "20")
    plan = CalibrationPlan(model, "none", "readings", 6, "15", "30", "0.990", "test")  # type: ignore[arg-type]
    method = replace(
        FURNACE, calibration=plan, standards=tuple(Standard(f"S{place}", level) for place, level in enumerate(levels))
    )
    shots = [
        Shot("standard", f"S{place}", signals=(f"{0.00293 * float(level) + bend * float(level) ** 2:.9f}",) * 3)
        for place, level in enumerate(levels)
    ]
    own = replace(method, checks=(sensitive("30"),))
    work = work_run(run_of((*shots, *samples("A")), own), bench_of(PORTIONS))
    assert isinstance(work, RunWork)
    assert abs(float(verdicts(work, "sensitivity")[0].found) - 100 * MASS_PG / 30) < 0.01


@pytest.mark.parametrize(
    ("expected", "words"),
    [
        pytest.param("20", "characteristic mass, 30.", id="far less sensitive than usual"),
        pytest.param("40", "limit 80 to 120 %", id="more sensitive than usual"),
    ],
)
def test_another_sensitivity_than_usual_fails_the_run_where_it_is_required(expected: str, words: str) -> None:
    work = work_of(samples("AB"), sensitive(expected), method=FURNACE)
    assert verdicts(work, "sensitivity")[0].verdict == "fail"
    assert not work.usable
    assert words in work.findings[0]
    assert standing(work) == ""
    kept = work_of(samples("AB"), sensitive(expected, required=False), method=FURNACE)
    assert kept.usable
    assert standing(kept) == "12"
    assert words in kept.findings[0]


@pytest.mark.parametrize(
    ("method", "expected", "words"),
    [
        pytest.param(FURNACE, "", "does not say what is usual", id="nothing usual"),
        pytest.param(FURNACE, "0", "does not say what is usual", id="zero usual"),
        pytest.param(pb_method(), "30", "how much is injected", id="furnace without a volume"),
    ],
)
def test_a_sensitivity_that_cannot_be_judged_is_not_a_pass(method: Method, expected: str, words: str) -> None:
    work = work_of(samples("AB"), sensitive(expected), method=method)
    (found,) = verdicts(work, "sensitivity")
    assert found.verdict == "not_evaluated"
    assert words in found.why
    assert not work.usable


def test_a_curve_that_does_not_rise_at_zero_has_no_sensitivity() -> None:
    shots = [Shot("standard", f"S{i}", signals=(f"0.{90 - i:03}",) * 3) for i in range(7)]
    own = replace(FURNACE, checks=(sensitive("30"),))
    work = work_run(run_of((*shots, *samples("A")), own), bench_of(PORTIONS))
    assert isinstance(work, RunWork)
    assert "does not rise at zero" in verdicts(work, "sensitivity")[0].why


# Scores of a reference material: it holds 0.40 ug/g with u 0.01; 8 ug/L are 0.40 ug/g.


def scored(limit_in: str, high: str, **changes: object) -> CheckRule:
    return rule("reference_material", limit_in=limit_in, low="0", high=high, **changes)


def reference(holds: float) -> Shot:
    return Shot("reference_material", "RM", holds, "RM")


def as_sample(holds: float) -> Quantified:
    """The same portion as a sample of its own: its value and uncertainty as a result."""
    portions = [portion_of("A", "S-00001")]
    shots = (*standards(), *pair(), Shot("sample", "A", holds, "A"), *pair())
    work = work_run(run_of(shots), bench_of(portions, [requirement_of(upper="")]))
    assert isinstance(work, RunWork)
    outcome = work.results[0].outcome
    assert isinstance(outcome, Quantified)
    return outcome


@pytest.mark.parametrize(("limit_in", "high", "k"), [("zeta", "2", 1), ("e_n", "1", 2)])
@pytest.mark.parametrize("holds", [8.0, 8.4, 7.6])
def test_a_score_rests_on_the_uncertainty_a_result_of_that_portion_would_have(
    limit_in: str, high: str, k: int, holds: float
) -> None:
    (found,) = verdicts(work_of([reference(holds)], scored(limit_in, high)), "reference_material")
    assert (found.expected, found.unit, found.low, found.high) == ("0.40", "", f"-{high}", high)
    assert not found.made_on_sample
    result = as_sample(holds)
    value, u = float(result.value), float(result.u)
    due = (value - 0.40) / (k * sqrt(u * u + 0.01 * 0.01))
    assert abs(float(found.found) - due) < 1e-9
    assert found.verdict == "pass"


@pytest.mark.parametrize(
    ("limit_in", "high", "holds", "words"),
    [
        pytest.param("zeta", "2", 11.0, "Reference material at position 10 has zeta 4.", id="zeta too high"),
        pytest.param("zeta", "2", 5.0, "limit -2 to 2", id="zeta too low"),
        pytest.param("e_n", "1", 11.0, "has E_n 2.", id="E_n too high"),
        pytest.param("e_n", "1", 5.0, "limit -1 to 1", id="E_n too low"),
    ],
)
def test_a_score_too_large_fails_the_run_where_it_is_required(
    limit_in: str, high: str, holds: float, words: str
) -> None:
    work = work_of([reference(holds), *samples("AB")], scored(limit_in, high))
    assert verdicts(work, "reference_material")[0].verdict == "fail"
    assert words in work.findings[0]
    assert standing(work) == ""
    assert standing(work_of([reference(holds), *samples("AB")], scored(limit_in, high, required=False))) == "12"


def rm(**changes: object) -> tuple[Portion, ...]:
    return (*PORTIONS[:2], replace(PORTIONS[2], **changes))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("portions", "holds", "words"),
    [
        pytest.param(rm(u_expected_ug_per_g={}), 8.0, "how sure its value is", id="certificate without uncertainty"),
        pytest.param(rm(expected_ug_per_g={}), 8.0, "what it holds", id="no certified value"),
        pytest.param(rm(mass_g="0"), 8.0, "mass entered is 0", id="mass of zero"),
        pytest.param(PORTIONS, 25.0, "above the highest", id="over range"),
    ],
)
def test_a_score_that_cannot_be_given_says_why(portions: Sequence[Portion], holds: float, words: str) -> None:
    (found,) = verdicts(work_of([reference(holds)], scored("zeta", "2"), portions=portions), "reference_material")
    assert found.verdict == "not_evaluated"
    assert words in found.why


@pytest.mark.parametrize(("limit_in", "high"), [("percent", "110"), ("zeta", "0.5")])
def test_a_reference_material_with_a_moisture_is_judged_dry(limit_in: str, high: str) -> None:
    """Certified values are of the dry mass: 6.4 ug/L in a portion with 20 % water are 0.40 ug/g of it."""
    wet = rm(moisture_percent="20.0", u_moisture_percent="0.1")
    own = rule("reference_material", limit_in=limit_in, low="90" if limit_in == "percent" else "0", high=high)
    (found,) = verdicts(work_of([reference(6.4)], own, portions=wet), "reference_material")
    assert found.verdict == "pass", found.why
    (plain,) = verdicts(work_of([reference(6.4)], own), "reference_material")
    assert plain.verdict == "fail"


# Background.

LIMITED = replace(pb_method(), conditions=Conditions(largest_background="1.0", background_source="test"))


def with_background(shots: Sequence[Shot], usual: str = "0.2") -> list[Shot]:
    return [shot if shot.background else replace(shot, background=usual) for shot in shots]


def background_work(shots: Sequence[Shot], method: Method = LIMITED) -> RunWork:
    every = with_background((*standards(), *pair(), *shots, *pair()))
    work = work_run(run_of(every, replace(method, checks=BRACKETS)), bench_of(PORTIONS))
    assert isinstance(work, RunWork), work
    return work


def one_background(run: Run, position: int, replicate: int, text: str) -> Run:
    """``run`` with the background of one reading otherwise."""
    row = run.document.solutions.first_reading[position - 1] + replicate - 1
    found = list(run.document.readings.background)
    found[row] = text
    readings = replace(run.document.readings, background=tuple(found))
    return replace(run, document=replace(run.document, readings=readings))


@pytest.mark.parametrize("background", ["0.2", "1.0", "1.00", "-0.05"])
def test_background_up_to_the_limit_is_taken(background: str) -> None:
    work = background_work([Shot("sample", "A", 5.0, "A", background=background), *samples("B")])
    assert standing(work) == "12"
    assert work.findings == ()


def test_a_reading_above_it_costs_the_solution_its_value() -> None:
    """EPA 200.9, 9.4.1."""
    work = background_work([Shot("sample", "A", 5.0, "A", background="1.001"), *samples("B")])
    assert [(row.position, row.code) for row in work.voided] == [(10, "reading.background")]
    assert work.voided[0].why.startswith("background absorbance 1.001; limit at most 1.0")
    lost = work.results[0].outcome
    assert isinstance(lost, NotReportable)
    assert lost.code == "reading.background"
    assert "dilute or change the programme" in lost.why
    assert standing(work) == "2"


@pytest.mark.parametrize("replicate", [1, 2, 3])
@pytest.mark.parametrize(("text", "words"), [("1.2", "1.2; limit at most 1.0"), ("", "1 of 3 readings come without")])
def test_one_reading_is_enough(replicate: int, text: str, words: str) -> None:
    """Too much background in one firing, or none given: the mean rests on it either way."""
    shots = with_background((*standards(), *pair(), *samples("AB"), *pair()))
    run = one_background(run_of(shots, replace(LIMITED, checks=BRACKETS)), 10, replicate, text)
    work = work_run(run, bench_of(PORTIONS))
    assert isinstance(work, RunWork)
    assert [(row.position, row.code) for row in work.voided] == [(10, "reading.background")]
    assert words in work.voided[0].why


def test_a_diluted_second_reading_takes_its_place() -> None:
    work = background_work(
        [
            Shot("sample", "A", 10.0, "A", background="1.4"),
            Shot("sample", "A", 5.0, "A", dilution="2", background="0.7"),
        ]
    )
    assert standing(work) == "1"
    assert [row.position for row in work.voided] == [10]


def test_a_standard_with_too_much_background_fails_the_calibration() -> None:
    shots = [replace(one, background="1.4" if one.label == "S4" else "0.2") for one in standards()]
    every = (*shots, *with_background((*pair(), *samples("AB"), *pair())))
    work = work_run(run_of(every, replace(LIMITED, checks=BRACKETS)), bench_of(PORTIONS))
    assert isinstance(work, RunWork)
    assert not work.usable
    assert "standard S4 at position 5: background absorbance 1.4" in work.findings[0]


def test_a_check_standard_with_too_much_background_does_not_pass() -> None:
    shots = with_background((*standards(), *pair(), *samples("AB")))
    closing = [replace(one, background="1.4") for one in pair()]
    work = work_run(run_of((*shots, *closing), replace(LIMITED, checks=BRACKETS)), bench_of(PORTIONS))
    assert isinstance(work, RunWork)
    assert {row.code for row in work.voided} == {"bracket.failed"}


def test_where_the_method_sets_no_limit_background_is_not_judged() -> None:
    work = background_work([Shot("sample", "A", 5.0, "A", background="2.5"), *samples("B")], pb_method())
    assert standing(work) == "12"


def test_no_number_is_said_before_its_background() -> None:
    """Over range is named first: what is missing comes before what cannot be trusted."""
    shot = Shot("sample", "A", portion="A", signals=("0.03", "over", "0.03"), background="1.4")
    assert background_work([shot]).voided[0].code == "reading.over-range"
