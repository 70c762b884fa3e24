"""Every formula a worked calculation prints gives its printed value; ``test_explain_reader`` says how near."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.compute.making import (
    ALL_RULES,
    BRACKETS,
    Shot,
    bench_of,
    pair,
    pb_method,
    portion_of,
    requirement_of,
    run_of,
    samples,
    standards,
)
from tests.compute.test_explain_reader import Reader, texts_of

from benchseal.compute.explain import explain
from benchseal.compute.explain_around import Around
from benchseal.compute.run_work import work_run
from benchseal.desk.reading import load
from benchseal.records.preparation import DilutionStep
from benchseal.records.results import BelowLimit, NotReportable, Quantified, RunWork
from benchseal.records.run import Run
from benchseal.records.shape import plain_of
from benchseal.records.specification import Specification

if TYPE_CHECKING:
    from collections import Counter
    from collections.abc import Iterator, Sequence

    from tests.conftest import Stage

    from benchseal.records.method import Method
    from benchseal.records.preparation import Portion
    from benchseal.records.specification import Requirement


def around_of(
    shots: Sequence[Shot], method: Method | None, portions: Sequence[Portion], asked: Sequence[Requirement]
) -> Around:
    """Sample S-00001 in an invented run."""
    bench = bench_of(portions, asked)
    run = run_of(shots, method)
    work = work_run(run, bench)
    assert isinstance(work, RunWork), work
    return Around("R-00001", run, work, bench.specifications["lozenge"][1], "S-00001", "L-S-00001")


def usual(
    asked: Requirement | Sequence[Requirement],
    method: Method | None = None,
    holds: float = 5.0,
    **prepared: Any,  # noqa: ANN401  fields of a record by name
) -> Around:
    """Two portions, 20 times diluted, and a blank, between two pairs of checks."""
    requirements = (asked,) if not isinstance(asked, tuple | list) else tuple(asked)
    fields = {"dilutions": {"Pb": (DilutionStep("5", "100"),)}, **prepared}
    blank_steps = fields["dilutions"] if method and method.blank_subtraction == "same_dilution" else {}
    portions = [portion_of(label, **fields) for label in "AB"]
    blank = portion_of("MB", "", kind="method_blank", mass_g="", dilutions=blank_steps)
    shots = (*standards(), *pair(), Shot("method_blank", "MB", 0.1, "MB"), *samples("AB", holds), *pair())
    return around_of(shots, method, [*portions, blank], requirements)


def read(of: Around, lines: Sequence[str] | None = None) -> Counter[str]:
    """Work out what is printed of ``of``, or ``lines`` instead."""
    free = list(texts_of([plain_of(of.work), plain_of(of.run.method), plain_of(of.specification)]))
    return Reader(of.work.calibration, free).read(explain(of) if lines is None else lines)


def plan(**changes: Any) -> Method:  # noqa: ANN401  fields of a record by name
    return pb_method(calibration=replace(pb_method().calibration, **changes))


def budget(**changes: Any) -> Method:  # noqa: ANN401  fields of a record by name
    return pb_method(uncertainty=replace(pb_method().uncertainty, **changes))


TWO_STEPS = {"dilutions": {"Pb": (DilutionStep("5", "100"), DilutionStep("3", "50"))}}
PER_UNIT: dict[str, Any] = {"unit_mass_g": "2.494", "u_unit_mass_g": "0.002"}
GLASS = {"area_dm2": "2.5", "mass_g": ""}
CONTENT = requirement_of(portions=2, upper="5.5", decimals=-1)
CASES = [
    pytest.param(CONTENT, None, {}, id="line"),
    pytest.param(CONTENT, plan(model="quadratic"), {}, id="quadratic"),
    pytest.param(CONTENT, plan(model="quadratic", fit_on="means"), {}, id="quadratic on means"),
    pytest.param(CONTENT, pb_method(blank_subtraction="undiluted"), {}, id="blank undiluted"),
    pytest.param(CONTENT, pb_method(blank_subtraction="same_dilution"), {}, id="blank diluted alike"),
    pytest.param(CONTENT, None, TWO_STEPS, id="two dilution steps"),
    pytest.param(CONTENT, None, {"dilutions": {}}, id="no dilution"),
    pytest.param(replace(CONTENT, unit="ng/g", upper="5500"), None, {}, id="content in another unit"),
    pytest.param(replace(CONTENT, unit="%", upper="0.1"), None, {}, id="content in percent"),
    pytest.param(replace(CONTENT, quantity="amount_per_unit", unit="mg"), None, PER_UNIT, id="per unit"),
    pytest.param(
        replace(CONTENT, quantity="percent_of_claim", unit="%", claim_mg="0.0125", upper="110"),
        None,
        PER_UNIT,
        id="percent of claim",
    ),
    pytest.param(replace(CONTENT, quantity="release_per_area", unit="mg/dm2"), None, GLASS, id="release per area"),
    pytest.param(replace(CONTENT, quantity="concentration", unit="ug/L", upper="200"), None, {}, id="concentration"),
    pytest.param(replace(CONTENT, rule="guarded", lower="0.1"), None, {}, id="guarded on both sides"),
    pytest.param(replace(CONTENT, rule="guarded_5"), None, {}, id="guarded at 5 percent"),
    pytest.param(replace(CONTENT, rule="nonbinary"), None, {}, id="four verdicts"),
    pytest.param(replace(CONTENT, rule="beyond_doubt", upper="4"), None, {}, id="beyond doubt"),
    pytest.param(replace(CONTENT, rule="pharma", rounding="half_even", decimals=1), None, {}, id="half even"),
    pytest.param(replace(CONTENT, upper=""), None, {}, id="no limit"),
    pytest.param(replace(CONTENT, basis="dry"), None, {"moisture_percent": "7.31"}, id="dry"),
    pytest.param(replace(CONTENT, expressed_as="Pb(NO3)2", upper="9"), None, {}, id="given as a substance"),
    pytest.param(
        replace(CONTENT, expressed_as="PbO", basis="dry"),
        None,
        {"moisture_percent": "7.31", "u_moisture_percent": "0.4"},
        id="a substance on dry basis",
    ),
    pytest.param(CONTENT, budget(s0="0.02", s1_percent="3"), {}, id="uncertainty found by validation"),
    pytest.param(
        replace(CONTENT, pde_ug_per_day="5", daily_dose_g="10.0", upper="0.50", route="oral"),
        None,
        {},
        id="limit from a daily exposure",
    ),
]


@pytest.mark.parametrize(("asked", "method", "prepared"), CASES)
def test_every_formula_gives_its_value(asked: Requirement, method: Method | None, prepared: dict[str, Any]) -> None:
    of = usual(asked, method, **prepared)
    assert isinstance(of.results[0].outcome, Quantified)
    found = read(of)
    assert (found["A"], found["c"], found["quantification limit"]) == (3, 2, 2)  # A: the curve and two portions
    assert found["Mean of portions"] == found["u"] == found["k"] == found["U"] == 1
    assert found["dilution"] == (2 if of.portions[0].steps else 0)
    assert found["acceptance limit, upper"] == (asked.rule not in {"simple", "pharma"})
    assert found["upper limit"] == bool(asked.pde_ug_per_day)
    validated = bool(of.method.uncertainty.s0)
    assert found["effective degrees of freedom"] == (not validated)
    assert found["validated uncertainty"] == validated
    assert found["Detection limit of that portion, shown and used for no verdict"] == 1


@pytest.mark.parametrize("weighting", ["1/x", "1/x2", "variance_function", "1/s2"])
@pytest.mark.parametrize("model", ["line", "quadratic"])
def test_every_formula_of_a_weighted_curve_gives_its_value(weighting: str, model: str) -> None:
    known = {"variance_s0": "0.0002", "variance_k": "0.00006"} if weighting == "variance_function" else {}
    levels = tuple(one for one in pb_method().standards if one.concentration != "0")
    method = replace(plan(weighting=weighting, model=model, **known), standards=levels)
    portions = [portion_of(label) for label in "AB"]
    of = around_of((*standards()[1:], *pair(), *samples("AB"), *pair()), method, portions, [CONTENT])
    assert read(of)["c"] == 2
    text = "\n".join(explain(of))
    words = {
        "1/x": "points weigh 1/c;",
        "1/x2": "points weigh 1/c²;",
        "1/s2": "points weigh 1/s², s the standard deviation of the readings of their standard;",
        "variance_function": "points weigh 1/(s0² + (k c)²), s0 0.0002 A s, k 0.00006 A s per µg/L;",
    }
    assert words[weighting] in re.sub(r"\s+", " ", text)


@pytest.mark.parametrize("subtraction", ["none", "undiluted"])
def test_every_formula_below_the_limit_gives_its_value(subtraction: str) -> None:
    of = usual(CONTENT, pb_method(blank_subtraction=subtraction), holds=0.2)
    assert isinstance(of.results[0].outcome, BelowLimit)
    found = read(of)
    assert (found["content"], found["Mean of portions"], found["u"], found["rounded"]) == (2, 1, 0, 1)


def test_every_formula_of_a_validated_uncertainty_below_the_limit_gives_its_value() -> None:
    found = read(usual(CONTENT, budget(s0="0.02", s1_percent="3"), holds=0.2))
    assert found["validated uncertainty"] == 1


def test_several_blanks_and_portions_diluted_at_the_instrument() -> None:
    portions = [
        *(portion_of(label, dilutions={"Pb": (DilutionStep("5", "100"),)}) for label in "ABC"),
        *(portion_of(label, "", kind="method_blank", mass_g="") for label in ("M1", "M2")),
    ]
    shots = (
        *(*standards(), *pair(), Shot("method_blank", "M1", 0.3, "M1"), Shot("method_blank", "M2", 0.5, "M2")),
        *(Shot("sample", label, 7.0, portion=label, dilution="2.5") for label in "ABC"),
        *pair(),
    )
    of = around_of(shots, pb_method(blank_subtraction="undiluted"), portions, [replace(CONTENT, portions=3)])
    text = "\n".join(explain(of))
    assert "100 mL / 5 mL x 2.5 (at the instrument)" in text
    assert "mean of 2 solutions, read undiluted" in text
    assert "effective degrees of freedom" in text
    found = read(of)
    assert (found["content"], found["Mean of portions"], found["effective degrees of freedom"]) == (3, 1, 0)


def test_one_portion_diluted_at_the_instrument_alone() -> None:
    portions, shots = [portion_of("A")], (*standards(), *pair(), Shot("sample", "A", 7.0, "A", dilution="3"), *pair())
    of = around_of(shots, None, portions, [replace(CONTENT, portions=1)])
    assert "    dilution 3, at the instrument" in explain(of)
    found = read(of)
    assert (found["content"], found["Mean of portions"], found["u"]) == (1, 0, 1)


def test_a_line_through_zero() -> None:
    levels = [
        replace(one, signals=tuple(f"{0.00293 * float(one.nominal) + off:.6f}" for off in (-0.00004, 0.00001, 0.00003)))
        for one in standards()
    ]
    own = [Shot("sample", "A", portion="A", signals=("0.0150", "0.0153", "0.0151"))]
    of = around_of([*levels, *own], replace(plan(model="line_through_zero"), checks=()), [portion_of("A")], [CONTENT])
    text = "\n".join(explain(of))
    assert "  A = b1 c\n" in text
    assert "    c = A / b1\n" in text
    assert read(of)["c"] == 1


def test_a_quadratic_that_falls_before_its_first_standard() -> None:
    """b1 below zero: the other form of the same root is printed, since the first would cancel."""
    curve = {"20": 0.1, "22": 0.127, "25": 0.18, "30": 0.30, "35": 0.46, "40": 0.66}
    levels = tuple(replace(pb_method().standards[1], label=f"S{at}", concentration=at) for at in curve)
    method = replace(plan(model="quadratic", largest_error_percent="90", at_lowest_percent="90"), standards=levels)
    shots = [
        Shot("standard", f"S{at}", nominal=at, signals=(f"{signal:.4f}", f"{signal + 0.001:.4f}", f"{signal:.4f}"))
        for at, signal in curve.items()
    ]
    own = [Shot("sample", "A", portion="A", signals=("0.2501", "0.2513", "0.2507"))]
    of = around_of([*shots, *own], replace(method, checks=()), [portion_of("A")], [CONTENT])
    assert of.work.calibration.coefficients[1].startswith("-")
    text = "\n".join(explain(of))
    assert "c = (√(b1² - 4 b2 (b0 - A)) - b1) / (2 b2)" in text
    assert read(of)["c"] == 1


def test_several_results_of_one_sample_share_what_they_share() -> None:
    asked = (CONTENT, replace(CONTENT, quantity="amount_per_unit", unit="mg"), replace(CONTENT, expressed_as="PbO"))
    of = usual(asked, **PER_UNIT)
    found = read(of)
    assert (found["c"], found["content"], found["amount per unit"], found["u"]) == (2, 4, 2, 3)
    lines = explain(of)
    assert [line for line in lines if line.startswith("Result")] == [
        "Result: lead, content in µg/g, as received",
        "Result: lead, amount per unit in mg, as received",
        "Result: lead, content in µg/g, as received, given as PbO",
    ]
    assert [lines.count(one) for one in ("Calibration", "Readings", "Checks around these readings")] == [1, 1, 1]


# ------------------------------------------------------------------ the demo


def told(stage: Stage) -> Iterator[Around]:
    """Every sample of every run of the demo."""
    with stage.site.store.reading() as view:
        lots = {row["sample"]: row["lot"] for row in view.rows("sample")}
        for row in view.rows("run"):
            work, run = load(view, RunWork, row["work"]), load(view, Run, row["bound"])
            for sample in dict.fromkeys(one.sample for one in work.results):
                digest = next(one.specification.digest for one in work.results if one.sample == sample)
                yield Around(row["run"], run, work, load(view, Specification, digest), sample, lots[sample])


def test_every_formula_of_the_demo_gives_its_value(stage: Stage) -> None:
    results, kinds, found = 0, set(), 0
    for of in told(stage):
        results += len(of.results)
        kinds |= {type(one.outcome) for one in of.results}
        followed = read(of)
        assert followed["c"] == sum(1 for one in of.portions if one.solution_value)
        assert followed["Mean of portions"] == sum(not isinstance(one.outcome, NotReportable) for one in of.results)
        found += followed["worked out"]
    assert results >= 40
    assert kinds == {Quantified, BelowLimit, NotReportable}
    assert found > 1000


# ------------------------------------------------------------------ whatever was presented

SIGNALS = st.one_of(  # three readings that agree, mostly: others leave no value to be told
    st.tuples(st.floats(0.0016, 0.065), st.floats(-0.03, 0.03), st.floats(-0.03, 0.03)).map(
        lambda of: tuple(f"{of[0] * (1 + off):.5f}" for off in (0.0, of[1], of[2]))
    ),
    st.lists(
        st.one_of(st.floats(-0.004, 0.08).map(lambda value: f"{value:.5f}"), st.sampled_from(["over", "none", "0"])),
        min_size=2,
        max_size=4,
    ).map(tuple),
)
PORTIONS = (
    portion_of("A", moisture_percent="7.31", **PER_UNIT),
    portion_of("B", kind="duplicate", dilutions={"Pb": (DilutionStep("3", "100"),)}, **PER_UNIT),
    portion_of("MB", "", kind="method_blank", mass_g=""),
)
SHOTS = st.lists(
    st.one_of(
        st.builds(
            lambda label, signals, dilution: Shot(
                "method_blank" if label == "MB" else "sample", label, portion=label, signals=signals, dilution=dilution
            ),
            st.sampled_from(["A", "A", "B", "B", "MB"]),
            SIGNALS,
            st.sampled_from(["1", "1", "2", "2.5", "7"]),
        ),
        st.sampled_from(pair()),
    ),
    min_size=1,
    max_size=9,
)
ASKED = st.builds(
    lambda quantity, rule, decimals, portions, basis: requirement_of(
        quantity=quantity[0],
        unit=quantity[1],
        claim_mg="0.001" if quantity[0] == "percent_of_claim" else "",
        rule=rule,
        decimals=decimals,
        portions=portions,
        basis=basis if quantity[0] == "content" else "as received",
        lower="0.01",
        upper="1.50",
    ),
    st.sampled_from(
        [
            ("content", "ug/g"),
            ("content", "ng/g"),
            ("amount_per_unit", "mg"),
            ("percent_of_claim", "%"),
            ("concentration", "mg/L"),
        ]
    ),
    st.sampled_from(["simple", "guarded", "guarded_5", "nonbinary", "pharma", "beyond_doubt"]),
    st.sampled_from([-1, 0, 3]),
    st.sampled_from([1, 2]),
    st.sampled_from(["as received", "dry"]),
)
METHODS = st.builds(
    lambda model, fit_on, subtraction, rules: replace(
        plan(model=model, fit_on=fit_on), blank_subtraction=subtraction, checks=rules
    ),
    st.sampled_from(["line", "line_through_zero", "quadratic"]),
    st.sampled_from(["readings", "means"]),
    st.sampled_from(["none", "undiluted", "same_dilution"]),
    st.sampled_from([(), (), BRACKETS, BRACKETS, ALL_RULES]),  # of all rules most are missing: no value
)


@settings(max_examples=100, deadline=None)
@given(SHOTS, METHODS, ASKED)
def test_whatever_was_presented_every_formula_gives_its_value(
    shots: list[Shot], method: Method, asked: Requirement
) -> None:
    blank = Shot("method_blank", "MB", 0.1, "MB")
    of = around_of((*standards(), *pair(), blank, *shots, *pair()), method, PORTIONS, [asked])
    if of.results:
        read(of)
