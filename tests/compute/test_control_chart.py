"""Run rules of control charts: each broken by the shortest pattern that breaks it, and not by one value less.

The rules are those of the Western Electric handbook (1956) and of Nelson (1984), both from memory.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchseal.compute.control_chart import Limits, base_limits, breaks

from .asking import ask

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.compute.control_chart import RuleSet

SETS: list[RuleSet] = ["western_electric", "nelson"]
STANDARD = Limits(Fraction(0), Fraction(1), 0)
UP_DOWN = [0.5, -0.5] * 7
NOT_IN_A_ROW = [0.9, -0.2, 0.8, -0.9, 0.1]  # breaks nothing


def found(values: Sequence[float | str], sets: Sequence[RuleSet] = SETS) -> dict[str, list[tuple[int, int]]]:
    """Stretches by rule, mean 0 and s 1."""
    exact = [Fraction(value) for value in values]
    stretches: dict[str, list[tuple[int, int]]] = {}
    for one in breaks(exact, STANDARD, sets):
        stretches.setdefault(f"{one.rules} {one.rule}", []).append((one.first, one.last))
    return stretches


# Rule, a pattern that breaks it, the stretch, and the nearest pattern that does not.
CASES: list[tuple[str, Sequence[float | str], tuple[int, int], Sequence[float | str]]] = [
    ("western_electric 1", [0.1, "3.0001"], (1, 1), [0.1, 3]),
    ("western_electric 1", ["-3.0001"], (0, 0), [-3]),
    ("western_electric 2", [2.1, 0, 2.1], (0, 2), [2.1, 0, -2.1]),
    ("western_electric 2", [2.1, 2.1], (0, 1), [2.1, 0, 0, 2.1]),
    ("western_electric 2", [0, -2.1, -2.1], (1, 2), [0, -2, -2]),
    ("western_electric 3", [1.1, 1.1, 0, 1.1, 1.1], (0, 4), [1.1, 1.1, -0.5, 0, 1.1, 1.1]),
    ("western_electric 3", [-1.1, -1.1, -1.1, -1.1], (0, 3), [-1.1, 1.1, -1.1, 1.1, -1.1]),
    ("western_electric 3", [0.5, 1.1, 1.1, 1.1, 1.1], (1, 4), [1.1, 1, 1, 1.1, 1.1]),
    ("western_electric 4", [0.3] * 8, (0, 7), [0.3] * 7 + [-0.3]),
    ("western_electric 4", [-0.3] * 9, (0, 8), [-0.3] * 4 + [0] + [-0.3] * 4),
    ("nelson 1", [0, 0, -4], (2, 2), [0, 0, -3]),
    ("nelson 2", [0.3] * 9, (0, 8), [0.3] * 8),
    ("nelson 3", [-0.5, -0.3, -0.1, 0.1, 0.3, 0.5], (0, 5), [-0.5, -0.3, -0.1, 0.1, 0.3, 0.3]),
    ("nelson 3", [0.5, 0.3, 0.1, -0.1, -0.3, -0.5], (0, 5), [0.5, 0.3, 0.1, -0.1, -0.3]),
    ("nelson 4", UP_DOWN, (0, 13), UP_DOWN[:13]),
    ("nelson 4", UP_DOWN, (0, 13), [*UP_DOWN[:6], -0.5, *UP_DOWN[7:]]),
    ("nelson 5", [2.5, -0.1, 2.1], (0, 2), [2.5, -0.1, 2]),
    ("nelson 6", [1.1, -1.1, 1.1, 1.1, 1.1], (0, 4), [1.1, -1.1, -0.5, 1.1, 1.1]),
    ("nelson 7", [0.9, -1] * 7 + [0.2], (0, 14), [0.9, -1] * 7 + ["1.0001"]),
    ("nelson 8", [1.1, -1.1] * 4, (0, 7), [1.1, -1.1, 1.1, -1, 1.1, -1.1, 1.1, -1.1]),
]


@pytest.mark.parametrize(("rule", "broken", "stretch", "kept"), CASES)
def test_each_rule_at_its_edge(
    rule: str, broken: Sequence[float | str], stretch: tuple[int, int], kept: Sequence[float | str]
) -> None:
    assert found(broken)[rule] == [stretch]
    assert rule not in found(kept)


def test_every_rule_has_a_case() -> None:
    rules = {f"western_electric {n}" for n in range(1, 5)} | {f"nelson {n}" for n in range(1, 9)}
    assert {rule for rule, *_ in CASES} == rules


def test_values_beyond_three_s_are_named_one_by_one_and_long_runs_once() -> None:
    assert found([4, 4, 0, -4], ["western_electric"])["western_electric 1"] == [(0, 0), (1, 1), (3, 3)]
    two = [0.3] * 10 + [-0.3] + [0.3] * 8
    assert found(two, ["western_electric"])["western_electric 4"] == [(0, 9), (11, 18)]


def test_nothing_is_found_where_nothing_is() -> None:
    assert found(NOT_IN_A_ROW * 2) == {}
    assert found([]) == {}


@given(st.lists(st.integers(-40, 40), max_size=30))
def test_turned_upside_down_the_same_stretches_are_found(tenths: list[int]) -> None:
    values = [f"{value / 10}" for value in tenths]
    assert found(values) == found([f"{-value / 10}" for value in tenths])


@given(st.lists(st.integers(-40, 40), max_size=25), st.lists(st.integers(-40, 40), max_size=5))
def test_later_values_take_no_break_back(tenths: list[int], later: list[int]) -> None:
    """A chart grows: what was broken stays broken, though its stretch may grow."""
    before = found([f"{value / 10}" for value in tenths])
    after = found([f"{value / 10}" for value in (*tenths, *later)])
    for rule, stretches in before.items():
        assert len(after[rule]) >= len(stretches)
        assert all(
            one[:1] == other[:1] and one[1] <= other[1] for one, other in zip(stretches, after[rule], strict=False)
        )


def test_a_base_is_frozen() -> None:
    """Later values, however wild, move no limit."""
    base = [Fraction(value) for value in (1, 2, 3, 4, 5, 1, 2, 3, 4, 5)]
    first, later = base_limits(base, 10), base_limits([*base, Fraction(1000)], 10)
    assert first == later
    assert isinstance(first, Limits)
    assert first.mean == 3
    assert abs(float(first.s) ** 2 - 20 / 9) < 1e-15


def test_exact_decimals_are_not_beyond_their_own_limit() -> None:
    """In binary 0.1 + 3 x 0.1 is not 0.4: a value on the limit must not be beyond it."""
    chart = ask("control_chart", values=["0.4", "-0.2", "0.400001"], mean="0.1", sd="0.1")["charts"][0]
    assert [one["first_index"] for one in chart["breaks"] if one["rule"] == "western_electric 1"] == [2]
    assert chart["base_n"] == 0


def test_each_lot_has_its_own_chart_and_its_places() -> None:
    values: list[Any] = [0, 10, 0.2, 10.2, 4, 18]
    found_ = ask("control_chart", values=values, lots=["a", "b"] * 3, mean=0, sd=1, rules="both")
    assert [chart["lot"] for chart in found_["charts"]] == ["a", "b"]
    assert [chart["n"] for chart in found_["charts"]] == [3, 3]
    first, second = (
        [(one["rule"], one["first_index"]) for one in chart["breaks"] if one["rule"].endswith(" 1")]
        for chart in found_["charts"]
    )
    assert first == [("western_electric 1", 4), ("nelson 1", 4)]
    assert second == [(f"{name} 1", place) for name in SETS for place in (1, 3, 5)]


def test_a_short_base_is_said_and_a_long_one_is_not() -> None:
    values = [1, 2, 3, 4] * 6
    short, long = (ask("control_chart", values=values, base_first=n)["charts"][0] for n in (19, 20))
    assert "19 values" in short["caution"]
    assert "caution" not in long
    assert all(one["in_base"] == (one["first_index"] < 19) for one in short["breaks"])
