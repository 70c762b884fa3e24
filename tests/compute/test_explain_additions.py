"""A worked calculation by standard additions: every formula gives its value, and what is wrong is seen."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any, Literal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.compute.making import Shot, portion_of
from tests.compute.test_explain_formulas import around_of, read
from tests.compute.test_explain_reader import WrongError
from tests.compute.test_run_additions import OPEN, around, by_additions, series, tubes

from benchseal.compute.explain import explain
from benchseal.records.preparation import DilutionStep
from benchseal.records.results import BelowLimit, NotReportable, Quantified

if TYPE_CHECKING:
    from benchseal.compute.explain_around import Around
    from benchseal.records.method import Method

LINE = ("mean added", "mean A", "Sxx", "a1", "a0", "s", "slope of the additions over that of the curve", "c", "u(c)")
TWO = replace(OPEN, portions=2)
STEPS = {"Pb": (DilutionStep("5", "100"),)}


def two(method: Method, holds: float = 4.0, slope: float = 0.0024, **fields: Any) -> Around:  # noqa: ANN401
    """Two portions by additions, and a blank from the curve."""
    portions = [portion_of(label, additions=tubes(label), **fields) for label in "VW"]
    blank = portion_of("MB", "", kind="method_blank", mass_g="")
    shots = (
        Shot("method_blank", "MB", portion="MB", signals=("0.0003", "0.0004", "0.0003")),
        *(shot for label in "VW" for shot in series(label, holds, slope)),
    )
    return around_of(around(*shots), method, [*portions, blank], [TWO])


@pytest.mark.parametrize("fit_on", ["readings", "means"])
@pytest.mark.parametrize("subtraction", ["none", "undiluted"])
def test_every_formula_gives_its_value(fit_on: str, subtraction: Literal["none", "undiluted"]) -> None:
    limits = {"additions_smallest_r": "0.995", "additions_largest_slope_percent": "30"}
    method = replace(by_additions(fit_on=fit_on, **limits), blank_subtraction=subtraction)
    of = two(method, dilutions=STEPS)
    assert isinstance(of.results[0].outcome, Quantified)
    found = read(of)
    assert {name: found[name] for name in LINE} == dict.fromkeys(LINE, 2)
    assert found["A"] == 9  # the curve and eight tubes
    assert found["additions line"] == found["effective degrees of freedom"] == found["u"] == 1
    text = "\n".join(explain(of))
    assert "limit at least 0.995" in text
    assert "limit 1 ± 30 %; more than 10 % from 1" in text
    assert "source of the rules of additions: test" in text


def test_a_portion_from_the_curve_beside_one_with_its_line() -> None:
    shots = (Shot("sample", "V", portion="V", signals=("0.0117", "0.0116", "0.0118")), *series("W", 4.0))
    of = around_of(around(*shots), by_additions(), [portion_of("V"), portion_of("W", additions=tubes("W"))], [TWO])
    found = read(of)
    assert (found["c"], found["u(c)"], found["effective degrees of freedom"]) == (2, 1, 1)
    assert "readings and curve are one group with the 19" in " ".join("\n".join(explain(of)).split())


def test_below_the_limit() -> None:
    of = two(by_additions(), holds=0.2)
    assert isinstance(of.results[0].outcome, BelowLimit)
    found = read(of)
    assert (found["additions line"], found["u"]) == (1, 0)


def test_a_value_below_zero_keeps_its_sign() -> None:
    of = two(by_additions(), holds=-0.3)
    assert of.portions[0].solution_value.startswith("-")
    assert read(of)["c"] == 2


def test_a_series_without_a_line_shows_its_tubes() -> None:
    shots = around(*(shot for label in "VW" for shot in series(label, 4.0)[:3]))
    of = around_of(shots, by_additions(), [portion_of(label, additions=tubes(label)) for label in "VW"], [TWO])
    assert isinstance(of.results[0].outcome, NotReportable)
    text = "\n".join(explain(of))
    assert "Tube Wb, position 15" in text
    assert "of its additions Wc was not read" in text
    assert read(of)["a1"] == 0


def test_checks_stand_around_every_tube() -> None:
    text = "\n".join(explain(two(by_additions())))
    assert "position 8, before 11 to 18" in text
    assert "position 19, after 11 to 18" in text


@settings(max_examples=25)
@given(st.floats(0.5, 6.0), st.floats(0.0012, 0.0037), st.sampled_from(["readings", "means"]))
def test_whatever_was_read(holds: float, slope: float, fit_on: str) -> None:
    read(two(by_additions(fit_on=fit_on), holds, slope))


@pytest.mark.parametrize("name", ["mean added", "mean A", "Sxx", "a1", "a0", "s", "c", "u(c)"])
def test_a_wrong_number_is_seen(name: str) -> None:
    """The last digits but two of the printed value, changed."""
    of = two(by_additions(fit_on="means"))
    lines = list(explain(of))
    start = next(place for place, line in enumerate(lines) if line.strip().startswith(f"{name} = "))
    place = max(at for at in range(start, start + 8) if lines[at].strip().startswith("= ") and _same(lines, start, at))
    value = lines[place].strip().removeprefix("= ").split()[0]
    digit = value[-4]
    lines[place] = lines[place].replace(value, f"{value[:-4]}{(int(digit) + 1) % 10}{value[-3:]}")
    with pytest.raises(WrongError):
        read(of, lines)


def _same(lines: list[str], start: int, at: int) -> bool:
    """Whether the line at ``at`` still belongs to the formula that begins at ``start``."""
    column = lines[start].index(" = ") + 1
    between = lines[start + 1 : at + 1]
    return all(len(line) - len(line.lstrip()) >= column for line in between)
