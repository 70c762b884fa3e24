"""A worked calculation between two standards: every formula gives its value, and what is wrong is seen."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any, Literal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.compute.bracketing import OPEN, around, between, group, run_shots, sample, signal, standard
from tests.compute.making import Shot, portion_of
from tests.compute.test_explain_formulas import around_of, read
from tests.compute.test_explain_reader import WrongError

from benchseal.compute.explain import explain
from benchseal.records.preparation import DilutionStep
from benchseal.records.results import BelowLimit, Quantified

if TYPE_CHECKING:
    from benchseal.compute.explain_around import Around
    from benchseal.records.method import Method

OF_A_PORTION = ("A1", "A2", "c", "u1", "u2", "uA", "from the sample", "from the standards", "u(c)")
TWO = replace(OPEN, portions=2)
STEPS = {"Pb": (DilutionStep("5", "100"),)}


def two(method: Method, holds: float = 9.4, gain: float = 0.97, **fields: Any) -> Around:  # noqa: ANN401
    """Two portions between two groups, and a blank from the curve."""
    portions = [portion_of(label, **fields) for label in "VW"]
    blank = portion_of("MB", "", kind="method_blank", mass_g="")
    shots = (
        Shot("method_blank", "MB", portion="MB", signals=around(signal(0.1))),
        *group(),
        sample("V", holds),
        sample("W", holds * 1.05, (1 + gain) / 2),
        *group(gain),
    )
    return around_of(run_shots(*shots), method, [*portions, blank], [TWO])


def text_of(of: Around) -> str:
    return " ".join(" ".join(explain(of)).split())


@pytest.mark.parametrize("subtraction", ["none", "undiluted"])
def test_every_formula_gives_its_value(subtraction: Literal["none", "undiluted"]) -> None:
    of = two(replace(between(bracketing_change_percent="5"), blank_subtraction=subtraction), dilutions=STEPS)
    assert isinstance(of.results[0].outcome, Quantified)
    found = read(of)
    assert {name: found[name] for name in OF_A_PORTION} == dict.fromkeys(OF_A_PORTION, 2)
    assert (found["A"], found["mean reading"], found["s"]) == (3, 6, 1)  # A: the curve and two portions
    assert found["between two standards"] == found["u"] == found["effective degrees of freedom"] == 1
    text = text_of(of)
    assert "position 13, lines 46 to 48 of invented.txt: readings" in text
    assert "position 14, lines 49 to 51 of invented.txt, between two standards" in text
    assert "c1, the standard below: BS8, 8 µg/L, positions 11, 16" in text
    assert "at most 20 % of the value away from it; read before and after a sample it changes by at most 5 %" in text
    assert "source of the rules of bracketing: common practice, no source" in text
    assert "has those of the standards' readings" in text
    assert "standard uncertainty of c, from readings and curve" not in text


def test_several_standards_of_one_concentration_on_one_side() -> None:
    shots = (*group(), standard(8, 1.01), standard(10, 1.01), sample("V", 9.0), sample("W", 9.1), *group(0.99))
    of = around_of(run_shots(*shots), between(), [portion_of(label) for label in "VW"], [TWO])
    assert "/ 2 + 0.0" in text_of(of)
    assert "1/(16 x 3) + 1/(16 x 3) + 1/(4 x 3)" in text_of(of)
    assert read(of)["u1"] == 2


def test_portions_that_share_no_standard_add_in_squares() -> None:
    far = [portion_of("V"), portion_of("W"), portion_of("T", "S-00002")]
    shots = (*group(), sample("V", 9.0), *group(), sample("T", 9.0), *group(), sample("W", 9.2), *group())
    of = around_of(run_shots(*shots), between(), far, [TWO])
    assert read(of)["between two standards"] == 1


def test_a_standard_that_was_not_used_says_why() -> None:
    spoilt = (replace(standard(12), signals=("0.03", "0.04", "0.05")), standard(11.5))
    shots = (*group()[:2], *spoilt, sample("V", 9.0), sample("W", 9.0), *group())
    of = around_of(run_shots(*shots), between(), [portion_of(label) for label in "VW"], [TWO])
    text = text_of(of)
    assert "not used: the readings scatter by" in text
    assert "6 standards read, 12 degrees of freedom" in text
    assert read(of)["mean reading"] == 6


def test_a_reading_without_two_standards_shows_what_was_read() -> None:
    shots = (*group(), sample("V", 9.0), sample("W", 14.0), *group())
    of = around_of(run_shots(*shots), between(), [portion_of(label) for label in "VW"], [TWO])
    text = text_of(of)
    assert "no value: it reads 0.04252 A s, the standards before and after it 0.02494 to 0.03666 A s" in text
    found = read(of)
    assert (found["c"], found["A"], found["s"]) == (1, 3, 1)


def test_no_value_at_all() -> None:
    of = around_of(run_shots(sample("V", 9.0), *group()), between(), [portion_of("V")], [OPEN])
    found = read(of)
    assert (found["c"], found["s"], found["mean reading"]) == (0, 0, 3)


def test_below_the_limit() -> None:
    levels = (0.4, 0.6)
    shots = (*group(levels=levels), sample("V", 0.5), sample("W", 0.49), *group(levels=levels))
    method = between(bracketing_window_percent="30")
    of = around_of(run_shots(*shots), method, [portion_of(label) for label in "VW"], [TWO])
    assert isinstance(of.results[0].outcome, BelowLimit)
    assert read(of)["between two standards"] == 1


def test_other_methods_say_nothing_of_it() -> None:
    of = around_of(run_shots(sample("V", 9.0)), between(bracketing="", bracketing_source=""), [portion_of("V")], [OPEN])
    assert "standard below" not in text_of(of)
    assert "Standards read around" not in text_of(of)


@settings(max_examples=25, deadline=None)
@given(st.floats(8.5, 11.0), st.floats(0.94, 1.06))
def test_whatever_was_read(holds: float, gain: float) -> None:
    read(two(between(bracketing_window_percent="30"), holds, gain))


@pytest.mark.parametrize("name", ["mean reading", "s", *OF_A_PORTION, "between two standards"])
def test_a_wrong_number_is_seen(name: str) -> None:
    """A late digit of the printed value, changed."""
    of = two(between())
    lines = list(explain(of))
    start = next(at for at, line in enumerate(lines) if line.strip() == name or line.strip().startswith(f"{name} = "))
    last = start
    while lines[last + 1].strip().startswith(("= ", "+ ", "- ", "/ ", "x ")):
        last += 1
    value = lines[last].strip().removeprefix("= ").split()[0]
    changed = f"{value[:-4]}{(int(value[-4]) + 1) % 10}{value[-3:]}"
    lines[last] = lines[last].replace(value, changed)
    with pytest.raises(WrongError):
        read(of, lines)
