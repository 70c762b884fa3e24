"""Sums of results by a stated bound: nothing stands for a "<" result without its rule.

Expected values are worked by hand beside each case; figures are invented. Rules of the bounds: see compute/sums.py.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from math import floor, sqrt
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchseal.compute.sums import Addend, is_part, worked_sum
from benchseal.records.ids import result_id
from benchseal.records.results import (
    BelowLimit,
    Contribution,
    NotReportable,
    Outcome,
    Quantified,
    WorkedResult,
)
from benchseal.records.run import DocumentRef
from benchseal.records.specification import BoundRule, SumRequirement

if TYPE_CHECKING:
    from random import Random

    from benchseal.records.sums import WorkedSum

RULES: tuple[BoundRule, ...] = ("lower_bound", "medium_bound", "upper_bound")
NAMES = ("Pb", "Cd", "Hg", "As", "Ni", "Zn", "Cu", "Mn", "Fe", "Al", "Sb", "Se")
TEXTS = st.decimals(0, 1000, places=4).map(str)
SPREADS = st.decimals("0.0001", 1000, places=4).map(str)
MANUAL = (Path(__file__).parents[2] / "docs" / "manual" / "calculations.md").read_text(encoding="utf-8")
REF = DocumentRef("lozenge", 3, "aa" * 32)


def result(element: str, outcome: Outcome, unit: str = "ug/g", u_at_limit: str = "", **changes: Any) -> WorkedResult:  # noqa: ANN401
    made = WorkedResult(
        result_id=result_id("L-1", "S-1", element, "total", "as received", "content"),
        sample="S-1",
        element=element,
        fraction="total",
        basis="as received",
        quantity="content",
        unit=unit,
        method=DocumentRef(f"{element.lower()}-furnace", 1, "bb" * 32),
        specification=REF,
        outcome=outcome,
        quantification_limit="0.05",
        detection_limit="",
        portions=(),
        contributions=(Contribution("calibration curve", u_at_limit, "100"),) if u_at_limit else (),
        lower="",
        upper="",
        rule="simple",
        verdict="none",
        acceptance_lower="",
        acceptance_upper="",
        probability="",
        comment_required="",
        exceedance_means="report",
        calculation_rules=1,
    )
    return replace(made, **changes)


def measured(element: str, value: str, u: str, unit: str = "ug/g", *, df: str = "", k: str = "2") -> Addend:
    return Addend(result(element, Quantified("quantified", value, u, df, k, value, u), unit), k)


def less_than(element: str, limit: str, u_at_limit: str = "0.004", unit: str = "ug/g", k: str = "2") -> Addend:
    return Addend(result(element, BelowLimit("below_limit", limit, "0.001", f"<{limit}"), unit, u_at_limit), k)


def asked(bound: BoundRule = "upper_bound", **changes: Any) -> SumRequirement:  # noqa: ANN401  fields by name
    usual = SumRequirement(
        id="metals",
        elements=("Pb", "Cd", "Hg"),
        quantity="content",
        unit="ug/g",
        bound=bound,
        upper="",
        rule="simple",
        rounding="half_up",
        decimals=2,
        exceedance_means="report",
        limit_source="invented",
    )
    return replace(usual, **changes)


def summed(addends: list[Addend], bound: BoundRule = "upper_bound", **changes: Any) -> WorkedSum:  # noqa: ANN401
    elements = changes.pop("elements", tuple(one.result.element for one in addends))
    return worked_sum("L-1", "S-1", asked(bound, elements=elements, **changes), REF, addends)


def number(one: WorkedSum) -> Fraction:
    """The value of record, or the limit where all lie below."""
    if isinstance(one.outcome, BelowLimit):
        return Fraction(one.outcome.limit)
    assert isinstance(one.outcome, Quantified), one.outcome
    return Fraction(one.outcome.value)


PARTS = [measured("Pb", "0.30", "0.03"), measured("Cd", "0.10", "0.04"), less_than("Hg", "0.06", "0.012")]


@pytest.mark.parametrize(
    ("bound", "value", "u", "text"),
    [
        pytest.param("lower_bound", "0.40", 0.05, "0.40", id="zero for the one below"),
        pytest.param("medium_bound", "0.43", sqrt(0.05**2 + 0.06**2 / 12), "0.43", id="half, anywhere below it"),
        pytest.param("upper_bound", "0.46", sqrt(0.05**2 + 0.012**2), "0.46", id="its limit, with u at the limit"),
    ],
)
def test_each_bound(bound: BoundRule, value: str, u: float, text: str) -> None:
    """By hand: 0.30 + 0.10 with u 0.03 and 0.04 in quadrature, 0.05."""
    found = summed(PARTS, bound)
    assert isinstance(found.outcome, Quantified)
    assert Fraction(found.outcome.value) == Fraction(value)
    assert float(found.outcome.u) == pytest.approx(u, rel=1e-11)
    assert found.outcome.value_text == text
    assert [part.is_below for part in found.parts] == [False, False, True]
    assert [part.result_id for part in found.parts] == [one.result.result_id for one in PARTS]
    assert (found.bound, found.none_quantified, found.fraction, found.lower) == (bound, False, "total", "")


def test_the_jcgm_example_of_independent_parts() -> None:
    """JCGM 100, H.1 (table from memory): terms of 25, 9.7, 2.9 and 16.6 nm combine to 32 nm with 16 degrees of freedom.

    Degrees of freedom as tabled there: 18, 25.6 truncated to 25, 50, 2. By the formula with these: 16.7, down to 16.
    """
    parts = [
        measured("Pb", "1", "25", df="18"),
        measured("Cd", "1", "9.7", df="25"),
        measured("Hg", "1", "2.9", df="50"),
        measured("As", "1", "16.6", df="2"),
    ]
    found = summed(parts).outcome
    assert isinstance(found, Quantified)
    assert round(float(found.u)) == 32
    assert found.df == "16"


@pytest.mark.parametrize(
    ("dfs", "due"),
    [
        pytest.param(("5", "5"), "10", id="equal u: the degrees add"),
        pytest.param(("5", ""), "20", id="one without end: (2 u2)2/(u4/5)"),
        pytest.param(("", ""), "", id="none has an end"),
    ],
)
def test_degrees_of_freedom_where_known(dfs: tuple[str, str], due: str) -> None:
    parts = [measured(name, "1", "0.333333333333", df=df) for name, df in zip(("Pb", "Cd"), dfs, strict=True)]
    found = summed(parts).outcome
    assert isinstance(found, Quantified)
    assert found.df == due


def test_the_greatest_coverage_factor_is_used() -> None:
    found = summed([measured("Pb", "0.30", "0.03"), measured("Cd", "0.10", "0.04", k="3")]).outcome
    assert isinstance(found, Quantified)
    assert (found.k, found.expanded_text) == ("3", "0.15")


def test_units_are_brought_together_exactly() -> None:
    parts = [measured("Pb", "300", "30", "ug/kg"), measured("Cd", "0.10", "0.04", "mg/kg")]
    found = summed(parts, "lower_bound")
    assert number(found) == Fraction("0.4")
    assert [(part.value, part.unit, part.counted) for part in found.parts] == [
        ("300", "ug/kg", "0.3"),
        ("0.10", "mg/kg", "0.1"),
    ]


def test_all_below_at_the_upper_bound_is_less_than_the_sum_of_limits() -> None:
    found = summed([less_than("Pb", "0.021"), less_than("Cd", "0.04")], upper="0.10")
    assert found.outcome == BelowLimit("below_limit", "0.0610000000000", "0.00200000000000", "<0.07")
    assert (found.verdict, found.none_quantified, found.probability) == ("pass", True, "")


def test_all_below_at_the_medium_bound_is_half_with_its_spread() -> None:
    """By hand: (0.02 + 0.04)/2 and sqrt((0.02^2 + 0.04^2)/12) = 0.01291; U 0.0259, up."""
    found = summed([less_than("Pb", "0.02"), less_than("Cd", "0.04")], "medium_bound", decimals=3).outcome
    assert isinstance(found, Quantified)
    assert (found.value_text, found.expanded_text, found.df) == ("0.030", "0.026", "")


# The table of docs/manual/calculations.md, "Sums of results": lead and cadmium, limit 0.50.
_EXAMPLE = (measured("Pb", "0.302", "0.012", df="38"), less_than("Cd", "0.050", "0.004"))
_ALL_BELOW = (less_than("Pb", "0.030", "0.003"), less_than("Cd", "0.050", "0.004"))


@pytest.mark.parametrize(
    ("parts", "bound", "texts", "u"),
    [
        pytest.param(_EXAMPLE, "lower_bound", ("0.302", "0.024"), "0.0120000000000", id="lower"),
        pytest.param(_EXAMPLE, "medium_bound", ("0.327", "0.038"), "0.0187705443004", id="medium"),
        pytest.param(_EXAMPLE, "upper_bound", ("0.352", "0.026"), "0.0126491106407", id="upper"),
        pytest.param(_ALL_BELOW, "lower_bound", ("0.000", ""), "0", id="all below, lower"),
        pytest.param(_ALL_BELOW, "medium_bound", ("0.040", "0.034"), "0.0168325082306", id="all below, medium"),
        pytest.param(_ALL_BELOW, "upper_bound", ("<0.080",), "", id="all below, upper"),
    ],
)
def test_the_worked_example_of_the_manual(
    parts: tuple[Addend, ...], bound: BoundRule, texts: tuple[str, ...], u: str
) -> None:
    found = summed([*parts], bound, upper="0.50", decimals=3)
    assert found.verdict == "pass"
    if isinstance(found.outcome, BelowLimit):
        assert (found.outcome.value_text,) == texts
        return
    assert isinstance(found.outcome, Quantified)
    assert (found.outcome.value_text, found.outcome.expanded_text) == texts
    assert found.outcome.u == u
    shown = f"{texts[0]} ± {texts[1]}" if texts[1] else texts[0]
    assert f"| {shown} |" in MANUAL


@pytest.mark.parametrize(("decimals", "text"), [(2, "0.00"), (-1, "0")])
def test_all_below_at_the_lower_bound_is_zero_without_an_uncertainty(decimals: int, text: str) -> None:
    found = summed([less_than("Pb", "0.02"), less_than("Cd", "0.04")], "lower_bound", upper="0.10", decimals=decimals)
    assert isinstance(found.outcome, Quantified)
    assert (found.outcome.value, found.outcome.u) == ("0", "0")
    assert (found.outcome.value_text, found.outcome.expanded_text) == (text, "")
    assert (found.verdict, found.acceptance_upper, found.probability) == ("pass", "0.10", "")


@pytest.mark.parametrize("rule", ["simple", "guarded", "guarded_5", "nonbinary", "pharma", "beyond_doubt"])
@pytest.mark.parametrize("bound", RULES)
def test_every_rule_judges_sums_of_every_kind(rule: Any, bound: BoundRule) -> None:  # noqa: ANN401  words of a Literal
    for parts in (PARTS, [less_than("Pb", "0.02"), less_than("Cd", "0.04")]):
        assert summed(parts, bound, rule=rule, upper="5.0").verdict == "pass"


@pytest.mark.parametrize(
    ("rule", "upper", "verdict", "acceptance"),
    [
        pytest.param("simple", "0.41", "pass", "0.41", id="below the limit"),
        pytest.param("simple", "0.40", "pass", "0.40", id="at the limit"),
        pytest.param("simple", "0.39", "fail", "0.39", id="above it"),
        pytest.param("guarded", "0.49", "fail", "0.390000000000", id="within U of it"),
        pytest.param("nonbinary", "0.49", "conditional pass", "0.390000000000", id="in the guard band"),
        pytest.param("beyond_doubt", "0.31", "pass", "0.410000000000", id="not beyond doubt"),
        pytest.param("beyond_doubt", "0.29", "fail", "0.390000000000", id="beyond doubt"),
        pytest.param("pharma", "0.4", "pass", "0.4", id="rounded to its places"),
    ],
)
def test_verdicts(rule: Any, upper: str, verdict: str, acceptance: str) -> None:  # noqa: ANN401  words of a Literal
    """0.40 with U = 0.10; guard bands by ILAC-G8."""
    found = summed(PARTS[:2], rule=rule, upper=upper)
    assert found.verdict == verdict
    assert Fraction(found.acceptance_upper) == Fraction(acceptance)


def test_limits_above_the_acceptance_limit_allow_no_statement() -> None:
    parts = [less_than("Pb", "0.03", "0.01"), less_than("Cd", "0.04", "0.01")]
    found = summed(parts, upper="0.06")
    assert (found.verdict, found.acceptance_upper) == ("none", "")
    assert found.comment_required.startswith("The quantification limits together lie above the acceptance limit")
    guarded = summed(parts, upper="0.09", rule="guarded")  # 0.09 - 2 sqrt(2) 0.01 = 0.0617 < 0.07
    assert guarded.verdict == "none"
    assert summed(parts, upper="0.10", rule="guarded").verdict == "pass"  # 0.0717


def test_a_failure_by_limits_alone_asks_for_a_comment() -> None:
    found = summed(PARTS, upper="0.45")
    assert found.verdict == "fail"
    assert found.comment_required.endswith(
        "Without the parts below their quantification limit the sum is 0.4, which does not exceed the limit 0.45."
    )
    assert "Without" not in summed(PARTS, upper="0.35").comment_required


def test_a_sum_without_a_limit_is_for_information() -> None:
    for bound in RULES:
        for parts in (PARTS, [less_than("Pb", "0.02"), less_than("Cd", "0.04")]):
            found = summed(parts, bound)
            assert (found.verdict, found.acceptance_upper, found.comment_required) == ("none", "", "")


@pytest.mark.parametrize(
    ("more", "elements", "code", "said"),
    [
        pytest.param(
            [Addend(result("As", NotReportable("not_reportable", "run.check", "spilled")), "2")],
            ("Pb", "As"),
            "sum.part-missing",
            "a part has no value (As: spilled)",
            id="a part without a value",
        ),
        pytest.param([], ("Pb", "As"), "sum.part-missing", "a part has no value (As: no result)", id="no part"),
        pytest.param(
            [measured("Pb", "0.3", "0.1")],
            ("Pb", "Cd"),
            "sum.part-missing",
            "a part has no value (Pb: 2 results)",
            id="two results of one part",
        ),
        pytest.param(
            [Addend(result("As", PARTS[0].result.outcome, fraction="dissolved"), "2")],
            ("Pb", "As"),
            "sum.fractions-differ",
            "its parts are of several fractions: total and dissolved",
            id="another fraction",
        ),
        pytest.param(
            [measured("As", "1" * 55, "0.1")],
            ("Pb", "As"),
            "sum.number-size",
            "a number of the sum has more digits than a record holds",
            id="a number no record can hold",
        ),
    ],
)
def test_what_leaves_a_sum_without_a_value(more: list[Addend], elements: tuple[str, ...], code: str, said: str) -> None:
    found = summed([*PARTS, *more], elements=elements, decimals=12, upper="0.5")
    assert found.outcome == NotReportable("not_reportable", code, said)
    assert (found.verdict, found.parts, found.elements) == ("none", (), elements)


def test_only_results_of_its_quantity_basis_and_the_element_itself_are_parts() -> None:
    plain = PARTS[0].result
    assert is_part(plain, asked())
    others = (
        replace(plain, basis="dry"),
        replace(plain, quantity="amount_per_unit"),
        replace(plain, expressed_as="PbO"),
        replace(plain, element="Zn"),
    )
    assert [is_part(other, asked()) for other in others] == [False] * 4
    dry = Addend(replace(plain, basis="dry"), "2")
    assert summed([dry, *PARTS], elements=("Pb", "Cd")).parts[0].result_id == plain.result_id


def test_the_identifier_is_that_of_the_sum_whatever_the_order() -> None:
    one, other = summed(PARTS, elements=("Pb", "Cd", "Hg")), summed(PARTS, elements=("Hg", "Pb", "Cd"))
    assert one.sum_id == other.sum_id
    assert len(one.sum_id) == 32
    others = {summed(PARTS, bound).sum_id for bound in RULES}
    others |= {summed(PARTS, id="other").sum_id, summed(PARTS[:2]).sum_id, PARTS[0].result.result_id}
    assert len(others) == 6


_PAIRS = st.lists(st.tuples(TEXTS, SPREADS), max_size=6)


def _parts(values: list[tuple[str, str]], limits: list[str], unit: str = "ug/g") -> list[Addend]:
    names = iter(NAMES)
    own = [measured(next(names), value, u, unit, df="7") for value, u in values]
    return own + [less_than(next(names), limit, unit=unit) for limit in limits]


@given(_PAIRS, st.lists(SPREADS, max_size=6), st.randoms(use_true_random=False))
def test_bounds_keep_their_order_and_the_order_of_parts_is_nothing(
    values: list[tuple[str, str]], limits: list[str], order: Random
) -> None:
    parts = _parts(values, limits)
    if not parts:
        return
    lower, medium, upper = (number(summed(parts, bound)) for bound in RULES)
    # Each is rounded to twelve digits once.
    assert lower <= medium <= upper
    assert float(lower + upper) == pytest.approx(float(2 * medium), rel=1e-11)
    shuffled = list(parts)
    order.shuffle(shuffled)
    for bound in RULES:
        one, other = (summed(each, bound, upper="800", rule="guarded") for each in (parts, shuffled))
        assert (one.outcome, one.verdict, one.probability) == (other.outcome, other.verdict, other.probability)


@given(_PAIRS, st.lists(SPREADS, max_size=6))
def test_another_unit_of_the_sum_changes_nothing_but_the_scale(
    values: list[tuple[str, str]], limits: list[str]
) -> None:
    parts = _parts(values, limits)
    if not parts:
        return
    for bound in RULES:
        one = summed(parts, bound, upper="0.5", rule="guarded")
        other = summed(parts, bound, unit="ng/g", upper="500", rule="guarded", decimals=0)
        assert number(other) == 1000 * number(one)
        assert other.verdict == one.verdict
        of_parts = summed(_parts(values, limits, "mg/kg"), bound, upper="0.5", rule="guarded")
        assert of_parts.outcome == one.outcome


@given(st.lists(st.tuples(SPREADS, st.integers(1, 200)), min_size=1, max_size=6))
def test_degrees_of_freedom_lie_between_the_least_and_all_together(pairs: list[tuple[str, int]]) -> None:
    """JCGM 100, G.4.1 note: nu_eff is at most the sum of the nu_i; and it is never below the least of them."""
    names = iter(NAMES)
    found = summed([measured(next(names), "1", u, df=str(df)) for u, df in pairs]).outcome
    assert isinstance(found, Quantified)
    dfs = [df for _, df in pairs]
    assert min(dfs) <= int(found.df) <= sum(dfs)
    squares = [Fraction(u) ** 2 for u, _ in pairs]
    exact = sum(squares) ** 2 / sum(square**2 / df for square, df in zip(squares, dfs, strict=True))
    assert int(found.df) == floor(exact * (1 + Fraction(1, 10**9)))


@pytest.mark.parametrize(
    ("decimals", "text"), [(-1, "<0.061"), (0, "<1"), (1, "<0.1"), (2, "<0.07"), (3, "<0.061"), (4, "<0.0610")]
)
def test_a_sum_of_limits_is_rounded_up_to_its_places_or_to_two_digits(decimals: int, text: str) -> None:
    found = summed([less_than("Pb", "0.021"), less_than("Cd", "0.04")], decimals=decimals).outcome
    assert isinstance(found, BelowLimit)
    assert found.value_text == text


def test_a_failure_by_limits_alone_far_from_the_limit_has_one_comment() -> None:
    """0.46 against 0.45 with U = 0.003: the limit is not near, and what was found is 0.4."""
    parts = [measured("Pb", "0.30", "0.001"), measured("Cd", "0.10", "0.001"), less_than("Hg", "0.06", "0.0001")]
    found = summed(parts, upper="0.45")
    assert found.verdict == "fail"
    assert found.comment_required == (
        "Without the parts below their quantification limit the sum is 0.4, which does not exceed the limit 0.45."
    )
