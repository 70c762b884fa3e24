"""A worked calculation on a stored curve: every formula gives its value, and what is wrong is seen."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.compute.making import bench_of, portion_of, run_of
from tests.compute.storing import checks, curve_of, later, opening, shot, stored_method, zeroed
from tests.compute.test_explain_formulas import read
from tests.compute.test_explain_reader import WrongError
from tests.compute.test_run_stored import PLANS, STEPS, TWO, tray, usual

from benchseal.compute.explain import explain
from benchseal.compute.explain_around import Around
from benchseal.compute.run_work import work_run
from benchseal.records.results import BelowLimit, Quantified, RunWork

if TYPE_CHECKING:
    from benchseal.records.run import Run


def around(run: Run, **prepared: Any) -> Around:  # noqa: ANN401  fields of a record by name
    blank = portion_of("MB", "", kind="method_blank", mass_g="")
    bench = bench_of([*(portion_of(label, **prepared) for label in "VW"), blank], [TWO])
    work = work_run(run, bench)
    assert isinstance(work, RunWork), work
    return Around("R-00009", run, work, bench.specifications["lozenge"][1], "S-00001", "L-S-00001")


@pytest.mark.parametrize("options", PLANS)
def test_every_formula_gives_its_value(options: dict[str, Any]) -> None:
    of = around(usual(**options)[1], dilutions=STEPS)
    assert isinstance(of.results[0].outcome, Quantified)
    found = read(of)
    assert {name: found[name] for name in ("As", "Ab", "An", "F")} == dict.fromkeys(("As", "Ab", "An", "F"), 1)
    assert (found["A"], found["c"], found["u"], found["effective degrees of freedom"]) == (3, 2, 1, 1)


def test_it_says_whose_curve_it_is_and_what_the_letters_are() -> None:
    text = " ".join(" ".join(explain(around(usual()[1]))).split())
    assert "Curve of run R-00003, version 1, measured 2026-03-02 08:00:00 UTC" in text
    assert "position in R-00003" in text
    assert "Correction by one standard: S5, 15 µg/L, position 2; its blank S0, position 1" in text
    assert "lines 13 to 15 of invented.txt" in text
    assert "limit 0.8 to 1.2; its standard uncertainty 0." in text
    assert "source of the correction: test" in text
    assert "(A - Ab) F is what is read on the curve" in text
    assert "((A - Ab) F - b0) / b1" in text
    assert "factor of the correction" in text
    assert "checks after the correction" in text


def test_a_run_with_its_own_curve_says_nothing_of_it() -> None:
    text = " ".join(explain(around(usual()[0])))
    assert "correction" not in text
    assert "stored" not in text


def test_a_blank_below_zero_and_a_blank_taken_off() -> None:
    method = replace(stored_method(), blank_subtraction="undiluted")
    first = run_of((*zeroed(), *checks(1.0), *tray(1.0), *checks(1.0)), method)
    low = (replace(opening()[0], signals=("-0.0003100", "-0.0002900", "-0.0003050")), *opening()[1:])
    blank = shot("method_blank", "MB", 0.3, 0.95, portion="MB")
    of = around(later((*low, blank, *tray(), *checks(0.95)), curve_of(first), method))
    assert of.work.calibration.stored[0].blank_signal.startswith("-")
    found = read(of)
    assert (found["F"], found["c"], found["u"]) == (1, 2, 1)


def test_below_the_limit() -> None:
    first, _ = usual()
    of = around(later((*opening(), *tray(0.95, (0.4, 0.3)), *checks(0.95)), curve_of(first), first.method))
    assert isinstance(of.results[0].outcome, BelowLimit)
    assert read(of)["c"] == 2


@pytest.mark.parametrize("field", ["signal", "blank_signal", "nominal_signal", "factor"])
def test_a_changed_number_is_seen(field: str) -> None:
    of = around(usual()[1])
    use = of.work.calibration.stored[0]
    number = getattr(use, field)
    told = replace(use, **{field: number[:-3] + ("1" if number[-3] != "1" else "2") + number[-2:]})
    lie = replace(of, work=replace(of.work, calibration=replace(of.work.calibration, stored=(told,))))
    with pytest.raises(WrongError):
        read(lie)


@settings(max_examples=40, deadline=None)
@given(st.floats(0.82, 1.18), st.floats(0.2, 19.0))
def test_any_day_is_explained(gain: float, holds: float) -> None:
    first, _ = usual()
    day = (*opening(gain), *tray(gain, (holds, holds * 1.02)), *checks(gain))
    assert read(around(later(day, curve_of(first), first.method)))["F"] == 1


@pytest.mark.parametrize("gain", [0.7, 1.4])
def test_a_run_that_failed_by_its_factor_is_explained(gain: float) -> None:
    of = around(usual(gain)[1])
    assert read(of)["F"] == 1
    text = " ".join(" ".join(explain(of)).split())
    assert "factor of the correction found" in text
    assert "calibrate again" in text
