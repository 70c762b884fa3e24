"""Dilution plans against every possible one, and the rules a plan must keep."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise, product
from math import sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchseal.compute.dilution_plan import Plan, Step, Wanted, Ware, by_factor, dilution_plans, into_range

from .asking import ask

ONE = Fraction(1)
PIPETTES = [Ware(Fraction(v), Fraction(t)) for v, t in (("1", "0.008"), ("2", "0.01"), ("5", "0.015"), ("10", "0.02"))]
FLASKS = [Ware(Fraction(v), Fraction(t)) for v, t in (("25", "0.04"), ("50", "0.06"), ("100", "0.1"))]
volumes = st.sampled_from([Fraction(v) for v in ("0.5", "1", "2", "3", "5", "10", "15", "20", "25", "50", "100")])
wares = st.lists(
    st.builds(Ware, volumes, st.sampled_from([Fraction(0), Fraction("0.01"), Fraction("0.1")])), max_size=4
)


def plans(wanted: Wanted, most_steps: int = 2) -> tuple[Plan, ...]:
    found = dilution_plans(wanted, PIPETTES, FLASKS, most_steps)
    assert not isinstance(found, str)
    return found


def test_one_step_comes_before_two_and_the_nearer_before_the_farther() -> None:
    found = plans(by_factor(Fraction(20), ONE))
    assert found[0].steps == (Step(PIPETTES[2], FLASKS[2]),)
    assert [int(plan.factor) for plan in found[:3]] == [20, 25, 25]
    ranks = [(len(plan.steps), abs(plan.lands_at - 1)) for plan in found]
    assert ranks == sorted(ranks)


def test_of_equal_factors_the_better_known_comes_first() -> None:
    first, second, third = plans(by_factor(Fraction(25), ONE), most_steps=1)[:3]
    assert first.factor == second.factor == Fraction(25)
    assert first.u_relative < second.u_relative
    assert third.factor != first.factor


def test_uncertainty_of_a_plan_by_hand() -> None:
    """Squares of tolerance/(sqrt 6 volume); the same flask twice counts twice over, two pipettes in squares."""
    one, two, hundred = PIPETTES[0], PIPETTES[1], FLASKS[2]
    found = next(
        p for p in plans(by_factor(Fraction(5000), ONE)) if p.steps == (Step(one, hundred), Step(two, hundred))
    )
    by_hand = sqrt((0.008 / 1) ** 2 + (0.01 / 2) ** 2 + (2 * 0.1 / 100) ** 2) / sqrt(6)
    assert abs(found.u_relative - by_hand) < 1e-15
    assert found.factor == Fraction(5000)
    assert found.lands_at == ONE


def test_the_stronger_step_comes_first_unless_its_flask_cannot_hold_the_second_aliquot() -> None:
    ten, twenty = Ware(Fraction(1), Fraction(0)), Ware(Fraction(20), Fraction(0))
    flasks = [Ware(Fraction(10), Fraction(0)), Ware(Fraction(100), Fraction(0))]
    small_first = dilution_plans(by_factor(Fraction(50), ONE), [ten, twenty], flasks)
    assert not isinstance(small_first, str)
    chosen = [[(int(step.pipette.volume_ml), int(step.flask.volume_ml)) for step in plan.steps] for plan in small_first]
    assert [(20, 100), (1, 10)] in chosen  # 20 mL cannot be taken from a flask of 10 mL
    assert [(1, 10), (20, 100)] not in chosen


def test_ware_given_twice_or_in_another_order_changes_nothing() -> None:
    wanted = into_range(Fraction(370), Fraction("0.2"), Fraction(2), ONE)
    assert dilution_plans(wanted, PIPETTES[::-1] * 2, FLASKS[::-1] * 2) == dilution_plans(wanted, PIPETTES, FLASKS)


@given(wares, wares, st.integers(2, 4000), st.sampled_from(["0", "0.2", "1"]))
def test_every_possible_plan_is_found_and_no_other(
    pipettes: list[Ware], flasks: list[Ware], tenths: int, low: str
) -> None:
    """Against all chains of steps, tried one by one."""
    wanted = into_range(Fraction(tenths, 10), Fraction(low), Fraction(2), ONE)
    found = dilution_plans(wanted, pipettes, flasks)
    steps = [(p, f) for p in set(pipettes) for f in set(flasks) if p.volume_ml >= 1 and f.volume_ml > p.volume_ml]
    reach = (Fraction(2) - Fraction(low)) / 4
    possible = {
        frozenset({chain, chain[::-1]})
        for n in (1, 2)
        for chain in product(steps, repeat=n)
        if all(after[0].volume_ml <= before[1].volume_ml for before, after in pairwise(chain))
        and abs(wanted.estimate / _factor(chain) - wanted.middle) <= reach
    }
    if wanted.estimate <= 2:
        assert found == "nothing_to_dilute"
    elif isinstance(found, str):
        assert found == "no_dilution_plan"
        assert possible == set()
    else:
        chains = [tuple((step.pipette, step.flask) for step in plan.steps) for plan in found]
        assert {frozenset({chain, chain[::-1]}) for chain in chains} == possible
        assert len(chains) == len(possible)
        assert all(plan.factor == _factor(chain) for plan, chain in zip(found, chains, strict=True))


def _factor(chain: tuple[tuple[Ware, Ware], ...]) -> Fraction:
    factor = Fraction(1)
    for pipette, flask in chain:
        factor *= flask.volume_ml / pipette.volume_ml
    return factor


@pytest.mark.parametrize(("factor", "exact"), [(7, "20/3"), (10, "10")])
def test_a_factor_is_exact_as_text(factor: int, exact: str) -> None:
    pipettes = [{"volume_ml": 15, "tolerance_ml": 0.03}, {"volume_ml": 10, "tolerance_ml": 0.02}]
    found = ask("dilution_plan", factor=factor, pipettes=pipettes, flasks=[{"volume_ml": 100, "tolerance_ml": 0.1}])
    assert found["plans"][0]["factor_exact"] == exact
    assert "lands_at" not in found["plans"][0]


# ------------------------------------------------------------------ ends, order, and ware that cannot be used


def ware(*volumes_ml: str) -> list[Ware]:
    return [Ware(Fraction(one), Fraction("0.01")) for one in volumes_ml]


def factors(wanted: Wanted, pipettes: list[Ware], flasks: list[Ware]) -> list[list[Fraction]]:
    found = dilution_plans(wanted, pipettes, flasks)
    return [] if isinstance(found, str) else [[step.factor for step in plan.steps] for plan in found]


def test_a_dilution_may_land_on_either_end_of_the_middle_half_and_not_beyond() -> None:
    """From 20 into 0 to 2: the middle half goes from 0.5 to 1.5, which 40 and 40/3 reach exactly."""
    wanted = by_factor(Fraction(20), ONE)
    assert factors(wanted, ware("2.5"), ware("100")) == [[40]]
    assert factors(wanted, ware("7.5"), ware("100")) == [[Fraction(40, 3)]]
    assert factors(wanted, ware("2.49"), ware("100")) == factors(wanted, ware("7.51"), ware("100")) == []


@pytest.mark.parametrize("second_ml", ["25", "75"])
def test_two_steps_may_land_on_either_end_too(second_ml: str) -> None:
    """10 x 4 and 10 x 4/3."""
    found = factors(by_factor(Fraction(20), ONE), ware("10", second_ml), ware("100"))
    assert [10, 100 / Fraction(second_ml)] in found
    wide = into_range(Fraction(20), Fraction(0), Fraction("1.99999"), ONE)
    assert ([10, 4] in factors(wide, ware("10", "25"), ware("100"))) is True
    assert ([10, Fraction(4, 3)] in factors(wide, ware("10", "75"), ware("100"))) is False


def test_the_stronger_of_two_steps_is_made_first_wherever_its_flask_holds_the_next_aliquot() -> None:
    found = [plan.steps for plan in plans(by_factor(Fraction(2500), ONE)) if len(plan.steps) == 2]
    assert (Step(PIPETTES[0], FLASKS[2]), Step(PIPETTES[0], FLASKS[0])) in found
    for first, second in found:
        assert first.factor >= second.factor or second.flask.volume_ml < first.pipette.volume_ml


@pytest.mark.parametrize("pipette_ml", ["25", "50"])
def test_a_flask_no_larger_than_the_aliquot_dilutes_nothing(pipette_ml: str) -> None:
    """1 mL to 25 mL lands in the range; an aliquot of 25 or 50 mL in that flask is no step."""
    assert factors(by_factor(Fraction("12.5"), ONE), ware("1", pipette_ml), ware("25")) == [[25]]


def test_a_factor_is_wanted_from_just_above_one_on() -> None:
    assert factors(by_factor(Fraction(3, 2), ONE), ware("10"), ware("15"))[0] == [Fraction(3, 2)]
    assert dilution_plans(by_factor(ONE, ONE), ware("10"), ware("15")) == "nothing_to_dilute"
    assert factors(by_factor(Fraction(1001, 1000), ONE), ware("10"), ware("15")) == [[Fraction(3, 2)]]


def test_of_plans_equally_near_and_good_the_one_with_less_volume_comes_first() -> None:
    """Ware without tolerance: nearness is equal, so is the uncertainty; flasks of 25 before those of 50."""
    exact = [Ware(Fraction(volume), Fraction(0)) for volume in ("2", "1", "50", "25")]
    found = dilution_plans(by_factor(Fraction(25), ONE), exact[:2], exact[2:], most_steps=1)
    assert not isinstance(found, str)
    flasks = [plan.steps[0].flask.volume_ml for plan in found if plan.factor == 25]
    assert flasks == [25, 50]


def test_a_pipette_of_the_least_volume_may_be_used_and_no_smaller_one() -> None:
    wanted = by_factor(Fraction(20), Fraction(5))
    assert factors(wanted, ware("5"), ware("100")) == [[20]]
    assert factors(wanted, ware("4.99"), ware("100")) == []


def test_a_whole_flask_may_be_the_next_aliquot() -> None:
    assert [10, 5] in factors(by_factor(Fraction(50), ONE), ware("1", "10"), ware("10", "50"))


def test_one_step_is_all_there_is_where_one_is_asked_for() -> None:
    assert {len(plan.steps) for plan in plans(by_factor(Fraction(20), ONE), most_steps=1)} == {1}
    assert {len(plan.steps) for plan in plans(by_factor(Fraction(20), ONE))} == {1, 2}


def test_no_smaller_pipette_than_one_millilitre_is_used_unless_that_is_asked_for() -> None:
    """Common practice, no source: below it a drop left in the tip counts too much."""
    usual = Wanted(Fraction(20), Fraction(0), Fraction(2), ONE)
    assert factors(usual, ware("1"), ware("20")) == [[20]]
    assert factors(usual, ware("0.99"), ware("20")) == []
