"""Limits of single portions: a mean within its limit hides none outside of one (FDA guidance on OOS, IV.C.1)."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.compute.making import Shot, portion_of, requirement_of
from tests.compute.test_run_results import quantified, refused, result, results

from benchseal.compute.calc import answer
from benchseal.compute.conformity import Limits, judge
from benchseal.compute.run_outcome import Judged
from benchseal.compute.run_singles import Single, single_verdict, singles_limit, with_singles
from benchseal.records.results import BelowLimit

# A portion that reads c ug/L holds c/20 ug/g here: 6.2 -> 0.31, 12.4 -> 0.62 (worked by hand: 50 mL, 1 g).
ASKED = requirement_of(portions=3, portion_upper="0.60")


def holds(*contents: float) -> list[float]:
    """Readings that give these contents in ug/g."""
    return [20.0 * one for one in contents]


@pytest.mark.clause("OOS IV.C.1")
@pytest.mark.parametrize(
    ("contents", "verdict", "singles"),
    [
        pytest.param((0.45, 0.48, 0.52), "pass", ["pass"] * 3, id="above the mean's limit, within its own"),
        pytest.param((0.30, 0.40, 0.62), "fail", ["pass", "pass", "fail"], id="hidden by the mean"),
        pytest.param((0.52, 0.53, 0.54), "fail", ["pass"] * 3, id="the mean outside, every portion within"),
        pytest.param((0.62, 0.70, 0.80), "fail", ["fail"] * 3, id="all outside"),
    ],
)
def test_each_portion_is_held_against_its_own_limit(
    contents: tuple[float, ...], verdict: str, singles: list[str]
) -> None:
    one = result(holds(*contents), ASKED)
    assert float(quantified(one).value) == pytest.approx(sum(contents) / 3, abs=2e-3)
    assert one.verdict == verdict
    assert [row.verdict for row in one.portions] == singles


@pytest.mark.refuses("OOS IV.C.1")
def test_the_portion_outside_is_named_and_asks_for_a_comment() -> None:
    one = result(holds(0.30, 0.40, 0.62), ASKED)
    assert "Portion C (0.62" in one.comment_required
    assert "lies outside the limit of single portions, at most 0.60 µg/g." in one.comment_required
    assert one.exceedance_means == "investigate"


@pytest.mark.clause("OOS IV.C.2")
def test_what_a_test_of_outliers_flags_stays_in_the_mean() -> None:
    contents = (0.300, 0.301, 0.302, 0.303, 0.450)
    one = result(holds(*contents), requirement_of(portions=5))
    values = [float(row.value) for row in one.portions]
    flagged = answer({"kind": "outlier", "test": "grubbs", "values": values})
    assert isinstance(flagged, dict)
    assert (flagged["flagged"], flagged["index"]) == (True, 4)
    assert [row.why for row in one.portions] == [""] * 5
    assert float(quantified(one).value) == pytest.approx(sum(values) / 5, rel=1e-11)


def test_without_a_limit_of_single_portions_nothing_is_judged_or_written() -> None:
    one = result(holds(0.30, 0.40, 0.62), requirement_of(portions=3))
    assert (one.verdict, [row.verdict for row in one.portions]) == ("pass", [""] * 3)


@pytest.mark.refuses("OOS IV.C.1")
def test_a_portion_without_a_value_leaves_the_result_without_a_statement() -> None:
    """NEG: a portion read over range, or not read at all, is not passed over in silence."""
    shots = [Shot("sample", label, 6.0, label) for label in "AB"]
    portions = [portion_of(label) for label in "ABC"]
    asked = requirement_of(portions=2, portion_upper="0.60")
    for last in ([], [Shot("sample", "C", 400.0, "C")]):
        one = results([*shots, *last], portions, [asked])[0]
        assert [bool(row.value) for row in one.portions] == [True, True, False]
        assert one.verdict == "none"
        assert "Of portion C it cannot be said" in one.comment_required
    plain = results(shots, portions, [requirement_of(portions=2)])[0]
    assert plain.verdict == "pass"


def test_a_portion_entered_as_not_determined_was_never_measured() -> None:
    shots = [Shot("sample", label, 6.0, label) for label in "AB"]
    portions = [portion_of("A"), portion_of("B"), portion_of("C", not_determined="spilled")]
    one = results(shots, portions, [requirement_of(portions=2, portion_upper="0.60")])[0]
    assert one.verdict == "pass"


def test_too_few_portions_give_no_result_whatever_they_read() -> None:
    one = results([Shot("sample", "A", 12.4, "A")], [portion_of("A"), portion_of("B")], [replace(ASKED, portions=2)])[0]
    assert refused(one).code == "portion.not-measured"
    assert one.verdict == "none"


@pytest.mark.parametrize(
    ("upper", "verdict"),
    [pytest.param("0.60", "pass", id="the limit above"), pytest.param("0.02", "none", id="below it")],
)
def test_portions_below_their_quantification_limit_are_judged_by_it(upper: str, verdict: str) -> None:
    asked = requirement_of(portions=2, upper="0.01" if upper == "0.02" else "0.50", portion_upper=upper)
    one = result([0.05, 0.05], asked)
    assert isinstance(one.outcome, BelowLimit)
    assert [row.verdict for row in one.portions] == [verdict] * 2
    assert one.verdict == verdict


@pytest.mark.parametrize(
    ("rule", "value", "verdict"),
    [
        pytest.param("simple", "0.60", "pass", id="the limit itself"),
        pytest.param("simple", "0.600000000001", "fail", id="unrounded"),
        pytest.param("pharma", "0.6049", "pass", id="rounded to the places of its own limit"),
        pytest.param("pharma", "0.605", "fail", id="a half goes up"),
        pytest.param("guarded", "0.30", "none", id="a rule that needs an uncertainty says nothing"),
    ],
)
def test_by_the_rule_of_the_line(rule: str, value: str, verdict: str) -> None:
    assert single_verdict(requirement_of(portions=2, portion_upper="0.60", rule=rule), value, "") == verdict


def test_a_lower_limit_of_single_portions() -> None:
    asked = requirement_of(portions=2, lower="0.40", upper="", portion_lower="0.30")
    assert singles_limit(asked) == "at least 0.30 µg/g"
    assert [single_verdict(asked, value, "0.01") for value in ("0.30", "0.29", "0.005", "")] == [
        "pass",
        "fail",
        "none",
        "",
    ]


contents = st.decimals(min_value=0, max_value=2, places=4, allow_nan=False)


@pytest.mark.refuses("OOS IV.C.1")
@given(values=st.lists(contents, min_size=2, max_size=7), upper=contents, wider=contents)
def test_never_better_than_the_worst_portion_and_never_better_than_the_mean(
    values: list[Decimal], upper: Decimal, wider: Decimal
) -> None:
    """NEG: whatever the portions are, none outside its limit passes with the mean, and no portion mends the mean."""
    asked = requirement_of(portions=len(values), upper=str(upper), portion_upper=str(upper + wider))
    mean = judge("simple", sum(values, Decimal(0)) / len(values), Limits(upper=str(upper)))
    assert not isinstance(mean, str)
    singles = [Single(f"P{place}", str(value), "0") for place, value in enumerate(values)]
    found = with_singles(Judged(verdict=mean.verdict), asked, singles).verdict
    assert found == ("fail" if mean.verdict == "fail" or max(values) > upper + wider else "pass")
