"""The stated part of a budget: glassware, balance, standards, and an uncertainty found by validation."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from math import sqrt
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.compute.making import Shot, bench_of, pair, pb_method, portion_of, requirement_of, run_of, standards

from benchseal.compute.run_ware import u_of_standard_steps
from benchseal.compute.run_work import work_run
from benchseal.records.method import Glassware, UncertaintyPlan
from benchseal.records.preparation import DilutionStep
from benchseal.records.results import BelowLimit, Quantified, RunWork, WorkedResult

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.records.preparation import Portion
    from benchseal.records.specification import Requirement

TEN = Glassware("P-10", "pipette", "10", "0.02", "0.01")
FIVE = Glassware("P-5", "pipette", "5", "0.015", "0.006")
HUNDRED = Glassware("F-100", "flask", "100", "0.1", "0.02")
FIFTY = Glassware("F-50", "flask", "50", "0.06", "0.015")
TWENTY_FIVE = Glassware("F-25", "flask", "25", "0.04", "0.01")
PIECES = (TEN, FIVE, HUNDRED, FIFTY, TWENTY_FIVE)
KELVIN = "4"
PLAN = UncertaintyPlan("0.0005", "0.3", "0.5", "0", "2", "test")
WARE = replace(PLAN, glassware=PIECES, temperature_half_range_k=KELVIN)
TENFOLD = DilutionStep("10", "100")


def by_hand(piece: Glassware) -> float:
    """Relative: tolerance/sqrt(6), filling, and 2.1e-4 per kelvin of the volume over sqrt(3), in quadrature."""
    volume = float(piece.nominal_ml)
    parts = (float(piece.tolerance_ml) / sqrt(6), float(piece.s_fill_ml), volume * 4 * 2.1e-4 / sqrt(3))
    return sqrt(sum(part * part for part in parts)) / volume


def result(
    plan: UncertaintyPlan,
    portions: Sequence[Portion],
    holds: float = 5.0,
    requirement: Requirement | None = None,
    **method: Any,  # noqa: ANN401  fields of a record
) -> WorkedResult:
    shots = [Shot("sample", one.portion, holds, one.portion) for one in portions]
    run = run_of((*standards(), *pair(), *shots, *pair()), pb_method(uncertainty=plan, **method))
    asked = requirement or requirement_of(decimals=-1, upper="", portions=len(portions))
    work = work_run(run, bench_of(portions, [asked]))
    assert isinstance(work, RunWork), work
    return work.results[0]


def one(plan: UncertaintyPlan, *steps: DilutionStep, **prepared: Any) -> WorkedResult:  # noqa: ANN401
    return result(plan, [portion_of("A", dilutions={"Pb": steps}, **prepared)])


def value_of(found: WorkedResult) -> float:
    assert isinstance(found.outcome, Quantified), found.outcome
    return float(found.outcome.value)


def relative(found: WorkedResult, name: str) -> float:
    """u of one line over the value; 0 where the line is not there."""
    lines = [float(term.u) for term in found.contributions if term.name == name]
    assert len(lines) < 2
    return (lines[0] if lines else 0.0) / value_of(found)


def names(found: WorkedResult) -> list[str]:
    return [term.name for term in found.contributions]


def test_a_listed_flask_takes_the_place_of_the_percentage() -> None:
    found = one(WARE)  # 25.0 mL: the listed flask is of "25", equal as a number
    assert relative(found, "glassware") == pytest.approx(by_hand(TWENTY_FIVE), rel=1e-9)
    assert "volume" not in names(found)
    other = one(WARE, volume_ml="20.0")
    assert "glassware" not in names(other)
    assert relative(other, "volume") == pytest.approx(0.003, rel=1e-9)


def test_a_step_needs_both_its_pieces() -> None:
    found = one(WARE, DilutionStep("10.00", "100.0"), volume_ml="20.0")
    assert relative(found, "glassware") == pytest.approx(sqrt(by_hand(TEN) ** 2 + by_hand(HUNDRED) ** 2), rel=1e-9)
    assert "dilution" not in names(found)
    for step in (DilutionStep("10", "200"), DilutionStep("4", "100"), DilutionStep("100", "500")):
        loose = one(WARE, step, volume_ml="20.0")
        assert "glassware" not in names(loose)
        assert relative(loose, "dilution") == pytest.approx(0.005, rel=1e-9)


def test_one_step_of_pieces_and_one_of_percent() -> None:
    found = one(WARE, TENFOLD, DilutionStep("4", "100"), volume_ml="20.0")
    assert relative(found, "dilution") == pytest.approx(0.005, rel=1e-9)
    assert relative(found, "glassware") == pytest.approx(sqrt(by_hand(TEN) ** 2 + by_hand(HUNDRED) ** 2), rel=1e-9)


def test_a_piece_used_twice_deviates_twice_the_same_way() -> None:
    """Two steps with the same pipette and flask: 2 r each, not r sqrt(2); a volume made up in it adds a third."""
    twice = one(WARE, TENFOLD, TENFOLD, volume_ml="20.0")
    assert relative(twice, "glassware") == pytest.approx(2 * sqrt(by_hand(TEN) ** 2 + by_hand(HUNDRED) ** 2), rel=1e-9)
    thrice = one(WARE, TENFOLD, TENFOLD, volume_ml="100")
    expected = sqrt((2 * by_hand(TEN)) ** 2 + (3 * by_hand(HUNDRED)) ** 2)
    assert relative(thrice, "glassware") == pytest.approx(expected, rel=1e-9)


def test_pieces_common_to_portions_are_not_averaged_away() -> None:
    steps = {"Pb": (TENFOLD,)}
    four = result(WARE, [portion_of(label, dilutions=steps, volume_ml="50") for label in "ABCD"])
    single = one(WARE, TENFOLD, volume_ml="50")
    assert relative(four, "glassware") == pytest.approx(relative(single, "glassware"), rel=1e-9)
    assert relative(four, "reading noise") == pytest.approx(relative(single, "reading noise") / 2, rel=1e-3)


def test_portions_in_different_pieces_share_only_what_they_share() -> None:
    """Half of the mean by the 10 mL pipette, half by the 5 mL one, all in the 100 mL flask."""
    portions = [
        portion_of("A", dilutions={"Pb": (TENFOLD,)}, volume_ml="20.0"),
        portion_of("B", dilutions={"Pb": (DilutionStep("5", "100"),)}, volume_ml="20.0"),
    ]
    shots = [Shot("sample", "A", 10.0, "A"), Shot("sample", "B", 5.0, "B")]  # the same content
    run = run_of((*standards(), *pair(), *shots, *pair()), pb_method(uncertainty=WARE))
    work = work_run(run, bench_of(portions, [requirement_of(decimals=-1, upper="", portions=2)]))
    assert isinstance(work, RunWork)
    found = work.results[0]
    first, second = (float(row.value) / 2 / value_of(found) for row in found.portions)
    expected = sqrt((first * by_hand(TEN)) ** 2 + (second * by_hand(FIVE)) ** 2 + by_hand(HUNDRED) ** 2)
    assert relative(found, "glassware") == pytest.approx(expected, rel=1e-9)


def test_a_concentration_knows_no_volume_and_a_dilution_at_the_instrument_no_piece() -> None:
    asked = requirement_of(quantity="concentration", unit="mg/L", decimals=-1, upper="")
    portion = portion_of("A", volume_ml="25")
    run = run_of((*standards(), *pair(), Shot("sample", "A", 5.0, "A", "10"), *pair()), pb_method(uncertainty=WARE))
    work = work_run(run, bench_of([portion], [asked]))
    assert isinstance(work, RunWork)
    found = work.results[0]
    assert "glassware" not in names(found)
    assert "volume" not in names(found)
    assert relative(found, "dilution") == pytest.approx(0.005, rel=1e-9)


def test_dilution_of_pieces_acts_on_the_gross_value_where_an_undiluted_blank_is_taken_off() -> None:
    portions = [portion_of("A", dilutions={"Pb": (TENFOLD,)}, volume_ml="20.0")]
    blank = portion_of("MB", "", kind="method_blank", mass_g="", volume_ml="20.0")
    shots = (Shot("method_blank", "MB", 10.0, "MB"), Shot("sample", "A", 5.0, "A"))
    run = run_of((*standards(), *pair(), *shots, *pair()), pb_method(uncertainty=WARE, blank_subtraction="undiluted"))
    work = work_run(run, bench_of([*portions, blank], [requirement_of(decimals=-1, upper="")]))
    assert isinstance(work, RunWork)
    found = work.results[0]
    row = found.portions[0]
    gross = float(row.solution_value) * 10
    step = sqrt(by_hand(TEN) ** 2 + by_hand(HUNDRED) ** 2)
    assert relative(found, "glassware") == pytest.approx(step * gross / (gross - float(row.blank_value)), rel=1e-9)


def test_the_linearity_of_the_balance_counts_twice_and_for_all_portions() -> None:
    """u_m^2 = 0.0005^2 + 2 (0.001/sqrt3)^2; over 0.5 g. Of four portions only the repeatability is averaged."""
    plan = replace(PLAN, balance_linearity_g="0.001")
    linearity, repeatability = sqrt(2) * 0.001 / sqrt(3) / 0.5, 0.0005 / 0.5
    assert relative(one(plan), "weighing") == pytest.approx(sqrt(linearity**2 + repeatability**2), rel=1e-9)
    four = result(plan, [portion_of(label) for label in "ABCD"])
    assert relative(four, "weighing") == pytest.approx(sqrt(linearity**2 + repeatability**2 / 4), rel=1e-9)
    assert relative(one(replace(PLAN, balance_linearity_g="0")), "weighing") == pytest.approx(repeatability, rel=1e-9)


def test_dilutions_of_the_standards_stand_with_their_lot() -> None:
    """0.5 percent of the lot, 10/100 by listed pieces, 4/100 by 0.5 percent: one line, common to all."""
    steps = (TENFOLD, DilutionStep("4", "100"))
    found = one(replace(WARE, standard_steps=steps))
    expected = sqrt(0.005**2 + by_hand(TEN) ** 2 + by_hand(HUNDRED) ** 2 + 0.005**2)
    assert relative(found, "standard lot and its dilution") == pytest.approx(expected, rel=1e-9)
    assert "standard lot" not in names(found)
    assert relative(one(WARE), "standard lot") == pytest.approx(0.005, rel=1e-9)


def test_a_piece_used_in_two_steps_of_the_standards_adds_up() -> None:
    plan = replace(WARE, standard_steps=(TENFOLD, TENFOLD))
    assert u_of_standard_steps(plan) == pytest.approx(2 * sqrt(by_hand(TEN) ** 2 + by_hand(HUNDRED) ** 2), rel=1e-12)
    assert u_of_standard_steps(PLAN) == 0


VALIDATED = replace(PLAN, s0="0.2", s1_percent="3")


def test_a_validated_uncertainty_takes_the_place_of_the_budget() -> None:
    """s0 0.2 ug/L x 20 x 25 mL/0.5 g is 0.2 ug/g; s1 is 3 percent of the value."""
    found = one(VALIDATED, DilutionStep("5", "100"))
    assert isinstance(found.outcome, Quantified)
    assert names(found) == ["validated uncertainty"]
    assert (found.outcome.df, found.contributions[0].share_percent) == ("", "100.000000000")
    expected = sqrt((0.2 * 20 * 25 / 0.5 / 1000) ** 2 + (0.03 * value_of(found)) ** 2)
    assert float(found.outcome.u) == pytest.approx(expected, rel=1e-9)
    assert float(found.contributions[0].u) == pytest.approx(expected, rel=1e-9)


def test_the_mean_of_portions_has_the_validated_uncertainty_of_one() -> None:
    """Nobody says which part of it the portions share, so none of it is divided by the root of their number."""
    single, four = one(VALIDATED), result(VALIDATED, [portion_of(label) for label in "ABCD"])
    assert relative(four, "validated uncertainty") == pytest.approx(relative(single, "validated uncertainty"), rel=1e-9)


def test_a_validated_constant_part_moves_as_the_quantification_limit_does() -> None:
    constant = replace(PLAN, s0="0.2", s1_percent="0")
    asked = requirement_of(basis="dry", expressed_as="PbO", unit="ug/kg", decimals=-1, upper="")
    portion = portion_of("A", dilutions={"Pb": (TENFOLD,)}, moisture_percent="20", u_moisture_percent="1")
    found = result(constant, [portion], requirement=asked)
    assert isinstance(found.outcome, Quantified)
    assert float(found.outcome.u) == pytest.approx(0.2 * float(found.quantification_limit), rel=1e-9)  # the level is 1


def test_below_the_limit_the_validated_uncertainty_is_that_at_the_limit() -> None:
    limit, u = 0.05, sqrt((0.2 * 0.05) ** 2 + (0.03 * 0.05) ** 2)
    for upper, verdict in (("0.08", "pass"), ("0.07", "none")):  # 0.07 - 2 u lies below the limit of 0.05
        asked = requirement_of(decimals=-1, upper=upper, rule="guarded")
        found = result(VALIDATED, [portion_of("A")], 0.4, asked)
        assert isinstance(found.outcome, BelowLimit)
        assert float(found.outcome.limit) == limit
        assert float(found.contributions[0].u) == pytest.approx(u, rel=1e-9)
        assert found.verdict == verdict
        if found.acceptance_upper:
            assert float(found.acceptance_upper) == pytest.approx(0.08 - 2 * u, rel=1e-9)


@settings(max_examples=40, deadline=None)
@given(
    st.lists(st.sampled_from([TENFOLD, DilutionStep("5", "50"), DilutionStep("4", "40")]), max_size=3),
    st.integers(1, 4),
    st.booleans(),
    st.floats(1.5, 19.0),
)
def test_shares_make_the_whole_and_ware_never_falls_below_independent_pieces(
    steps: list[DilutionStep],
    count: int,
    linear: bool,
    holds: float,
) -> None:
    plan = replace(WARE, balance_linearity_g="0.0002" if linear else "", standard_steps=tuple(steps))
    portions = [portion_of(label, dilutions={"Pb": tuple(steps)}, volume_ml="100") for label in "ABCD"[:count]]
    found = result(plan, portions, holds)
    shares = [Decimal(term.share_percent) for term in found.contributions]
    assert abs(sum(shares, Decimal(-100))) < Decimal("1e-8")
    assert isinstance(found.outcome, Quantified)
    total = sqrt(sum(float(term.u) ** 2 for term in found.contributions))
    assert float(found.outcome.u) == pytest.approx(total, rel=1e-10)
    pieces = [HUNDRED]
    for step in steps:
        pieces += {"10": [TEN, HUNDRED], "5": [FIVE, FIFTY]}.get(step.aliquot_ml, [])
    least = sqrt(sum(by_hand(piece) ** 2 for piece in pieces))
    assert relative(found, "glassware") >= least * (1 - 1e-9)


@settings(max_examples=30, deadline=None)
@given(st.floats(0.001, 0.5), st.floats(1.1, 3.0))
def test_a_wider_tolerance_is_a_larger_uncertainty(tolerance: float, wider: float) -> None:
    plans = [
        replace(WARE, glassware=(replace(HUNDRED, tolerance_ml=f"{size:.6f}"),))
        for size in (tolerance, tolerance * wider)
    ]
    less, more = (one(plan, volume_ml="100").outcome for plan in plans)
    assert isinstance(less, Quantified)
    assert isinstance(more, Quantified)
    assert Decimal(less.u) < Decimal(more.u)


def test_without_a_range_of_temperature_only_tolerance_and_filling_count() -> None:
    """Of one dilution 10 in 100 mL by hand: tolerances over sqrt(6) and fillings, relative, in quadrature."""
    plan = replace(WARE, temperature_half_range_k="", standard_steps=(TENFOLD,))
    parts = [float(one) for one in ("0.02", "0.1")], [0.01, 0.02], [10.0, 100.0]
    due = sqrt(sum((tolerance**2 / 6 + s**2) / volume**2 for tolerance, s, volume in zip(*parts, strict=True)))
    assert abs(u_of_standard_steps(plan) / due - 1) < 1e-12
