"""Sums of results by a stated bound: nothing stands for a "<" result without its rule."""

from __future__ import annotations

from fractions import Fraction
from math import sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchseal.compute.sums import Addend, BoundRule, Sum, sum_of
from benchseal.records.results import BelowLimit, NotReportable, Quantified

RULES: tuple[BoundRule, ...] = ("lower_bound", "medium_bound", "upper_bound")
TEXTS = st.decimals(0, 1000, places=4).map(str)


def measured(name: str, value: str, u: str, unit: str = "ug/g") -> Addend:
    return Addend(name, Quantified("quantified", value, u, "", "2", value, u), unit)


def less_than(name: str, limit: str, unit: str = "ug/g") -> Addend:
    return Addend(name, BelowLimit("below_limit", limit, "0.001", f"<{limit}"), unit)


def added(addends: list[Addend], rule: BoundRule, unit: str = "ug/g") -> Sum:
    found = sum_of(addends, rule, unit)
    assert isinstance(found, Sum), found
    return found


PARTS = [measured("Pb", "0.30", "0.03"), measured("Cd", "0.10", "0.04"), less_than("Hg", "0.06")]


@pytest.mark.parametrize(
    ("rule", "value", "u"),
    [
        pytest.param("lower_bound", "0.40", 0.05, id="zero for the one below"),
        pytest.param("medium_bound", "0.43", sqrt(0.05**2 + 0.06**2 / 12), id="half its limit, anywhere below it"),
        pytest.param("upper_bound", "0.46", 0.05, id="its limit"),
    ],
)
def test_each_bound(rule: BoundRule, value: str, u: float) -> None:
    """By hand: 0.30 + 0.10 with u 0.03 and 0.04 in quadrature, 0.05."""
    found = added(PARTS, rule)
    assert Fraction(found.value) == Fraction(value)
    assert float(found.u) == pytest.approx(u, rel=1e-11)
    assert (found.rule, found.below, found.all_below, found.unit) == (rule, ("Hg",), False, "ug/g")


def test_units_are_brought_together_exactly() -> None:
    found = added([measured("Pb", "300", "30", "ug/kg"), measured("Cd", "0.10", "0.04", "mg/kg")], "lower_bound")
    assert Fraction(found.value) == Fraction("0.4")
    assert float(found.u) == pytest.approx(0.05, rel=1e-11)


def test_a_part_without_a_value_takes_the_sum() -> None:
    lost = Addend("As", NotReportable("not_reportable", "run.check", "spilled"), "ug/g")
    found = sum_of([*PARTS, lost], "upper_bound", "ug/g")
    assert found == NotReportable("not_reportable", "sum.part-missing", "a part has no value (As: spilled)")


def test_a_sum_of_limits_alone_says_so() -> None:
    parts = [less_than("Pb", "0.02"), less_than("Cd", "0.04")]
    assert added(parts, "lower_bound").all_below
    lower = added(parts, "lower_bound")
    assert float(lower.value) == float(lower.u) == 0
    assert Fraction(added(parts, "upper_bound").value) == Fraction("0.06")


def test_no_parts_and_parts_of_another_kind_are_faults_of_the_caller() -> None:
    with pytest.raises(ValueError, match="needs parts"):
        sum_of([], "lower_bound", "ug/g")
    with pytest.raises(ValueError, match="cannot be turned"):
        sum_of(PARTS, "lower_bound", "mg/L")


@given(st.lists(st.tuples(TEXTS, TEXTS), max_size=6), st.lists(TEXTS, max_size=6), st.randoms(use_true_random=False))
def test_bounds_keep_their_order_and_the_order_of_parts_is_nothing(
    values: list[tuple[str, str]], limits: list[str], order: object
) -> None:
    parts = [measured(f"q{place}", *pair) for place, pair in enumerate(values)]
    parts += [less_than(f"b{place}", limit) for place, limit in enumerate(limits)]
    if not parts:
        return
    lower, medium, upper = (Fraction(added(parts, rule).value) for rule in RULES)
    # Each is rounded to twelve digits once.
    assert lower <= medium <= upper
    assert float(lower + upper) == pytest.approx(float(2 * medium), rel=1e-11)
    shuffled = list(parts)
    order.shuffle(shuffled)  # type: ignore[attr-defined]
    for rule in RULES:
        one, other = added(parts, rule), added(shuffled, rule)
        assert (one.value, one.u) == (other.value, other.u)
