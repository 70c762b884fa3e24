"""Decision rules: worked cases A, B and C of the decision-rule table, and the traps of decimal comparison."""

from __future__ import annotations

from decimal import Decimal
from typing import cast, get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchseal.compute.conformity import (
    DecisionRule,
    Judgement,
    Limits,
    RoundTo,
    judge,
    judge_below,
    probability_of_conformity,
)

A = Limits(upper="0.500")
B = Limits(upper="105.0", lower="95.0")


def verdict(rule: DecisionRule, value: str, limits: Limits, u: str | None = None, **more: str) -> str:
    found = judge(
        rule,
        Decimal(value),
        limits,
        u=None if u is None else Decimal(u),
        round_to=cast("RoundTo", more.get("round_to", "decimals")),
    )
    return found.verdict if isinstance(found, Judgement) else found


# Worked case A: TU 0.500, U 0.040 (k 2): the printed table. p by the normal model, computed.
@pytest.mark.parametrize(
    ("y", "simple", "guarded", "guarded_5", "nonbinary", "p"),
    [
        ("0.440", "pass", "pass", "pass", "pass", 0.9987),
        ("0.460", "pass", "pass", "pass", "pass", 0.9772),
        ("0.461", "pass", "fail", "pass", "conditional pass", 0.9744),
        ("0.499", "pass", "fail", "fail", "conditional pass", 0.5199),
        ("0.500", "pass", "fail", "fail", "conditional pass", 0.5000),
        ("0.501", "fail", "fail", "fail", "conditional fail", 0.4801),
        ("0.540", "fail", "fail", "fail", "conditional fail", 0.0228),
        ("0.541", "fail", "fail", "fail", "fail", 0.0202),
    ],
)
def test_case_a(  # noqa: PLR0917  the columns of the table
    y: str, simple: str, guarded: str, guarded_5: str, nonbinary: str, p: float
) -> None:
    assert verdict("simple", y, A) == simple
    assert verdict("guarded", y, A, "0.020") == guarded
    assert verdict("guarded_5", y, A, "0.020") == guarded_5
    assert verdict("nonbinary", y, A, "0.020") == nonbinary
    assert round(probability_of_conformity(Decimal(y), Decimal("0.020"), A), 4) == p


def test_acceptance_limits_of_case_a() -> None:
    for rule, limit in (("guarded", "0.460"), ("guarded_5", "0.4671"), ("beyond_doubt", "0.540")):
        found = judge(cast("DecisionRule", rule), Decimal("0.4"), A, u=Decimal("0.020"))
        assert isinstance(found, Judgement)
        assert (found.acceptance_upper, found.acceptance_lower) == (Decimal(limit), None)


@pytest.mark.parametrize(
    ("y", "simple", "guarded", "p"),
    [
        ("95.0", "pass", "fail", 0.5000),
        ("96.1", "pass", "fail", 0.9666),
        ("96.2", "pass", "pass", 0.9772),
        ("103.8", "pass", "pass", 0.9772),
        ("103.9", "pass", "fail", 0.9666),
        ("105.0", "pass", "fail", 0.5000),
    ],
)
def test_case_b(y: str, simple: str, guarded: str, p: float) -> None:
    assert verdict("simple", y, B) == simple
    assert verdict("guarded", y, B, "0.6") == guarded
    assert round(probability_of_conformity(Decimal(y), Decimal("0.6"), B), 4) == p


@pytest.mark.parametrize("rule", ["guarded", "guarded_5", "nonbinary"])
def test_case_b_with_nothing_left_between_the_guards(rule: DecisionRule) -> None:
    assert verdict(rule, "100", B, "3.5") == "unusable_specification"
    assert verdict("guarded", "100", B, "2.5") == "unusable_specification"  # TU - TL = 2w: not more
    assert verdict("guarded", "100", B, "2.4999") == "pass"
    assert verdict("beyond_doubt", "100", B, "30") == "pass"


@pytest.mark.parametrize(
    ("upper", "lower", "y", "rounded", "outcome"),
    [
        ("0.50", None, "0.5049", "0.50", "pass"),
        ("0.50", None, "0.505", "0.51", "fail"),
        ("0.5", None, "0.5499", "0.5", "pass"),
        ("0.50", None, "0.5499", "0.55", "fail"),
        ("0.5", None, "0.55", "0.6", "fail"),
        ("10", None, "10.4", "10", "pass"),
        ("10", None, "10.5", "11", "fail"),
        (None, "98.0", "97.95", "98.0", "pass"),
        (None, "98.0", "97.949", "97.9", "fail"),
        ("0.50", None, "0.5046", "0.50", "pass"),
        ("2.67", None, "2.675", "2.68", "fail"),
    ],
)
def test_case_c(upper: str | None, lower: str | None, y: str, rounded: str, outcome: str) -> None:
    found = judge("pharma", Decimal(y), Limits(upper, lower))
    assert isinstance(found, Judgement)
    assert (found.verdict, found.rounded) == (outcome, rounded)


def test_significant_figures_of_the_limit() -> None:
    """98.28568 against 100.0 to 102.0: 98.3 to the decimals, 98.29 to the significant figures."""
    limits = Limits("102.0", "100.0")
    for round_to, rounded in (("decimals", "98.3"), ("significant", "98.29")):
        found = judge("pharma", Decimal("98.28568"), limits, round_to=cast("RoundTo", round_to))
        assert isinstance(found, Judgement)
        assert (found.rounded, found.verdict) == (rounded, "fail")


def test_sums_that_binary_floats_get_wrong() -> None:
    assert verdict("simple", str(Decimal("0.1") + Decimal("0.2")), Limits(upper="0.3")) == "pass"
    assert verdict("guarded", "0.28", Limits(upper="0.30"), "0.01") == "pass"
    assert 0.1 + 0.2 > 0.3  # in floats


@pytest.mark.parametrize(
    ("value", "limits", "outcome"),
    [
        ("0.5", Limits(upper="0.5", upper_included=False), "fail"),
        ("0.4999", Limits(upper="0.5", upper_included=False), "pass"),
        ("0.5", Limits(lower="0.5", lower_included=False), "fail"),
        ("0.5", Limits(upper="0.5", lower="0.5"), "pass"),
    ],
)
def test_less_than_does_not_include_the_limit(value: str, limits: Limits, outcome: str) -> None:
    assert verdict("simple", value, limits) == outcome


@pytest.mark.parametrize(
    ("value", "outcome"), [("0.539", "pass"), ("0.540", "pass"), ("0.5401", "fail"), ("0.501", "pass")]
)
def test_beyond_doubt_fails_only_above_limit_and_uncertainty(value: str, outcome: str) -> None:
    assert verdict("beyond_doubt", value, A, "0.020") == outcome


@pytest.mark.parametrize("rule", ["guarded", "guarded_5", "nonbinary", "beyond_doubt"])
def test_rules_with_a_guard_need_u(rule: DecisionRule) -> None:
    assert verdict(rule, "0.4", A) == "u_missing"
    found = judge_below(rule, Decimal("0.1"), A)
    assert rule == "beyond_doubt" or found == "u_missing"


@pytest.mark.parametrize(
    ("rule", "limit", "outcome"),
    [
        ("simple", "0.500", "pass"),
        ("simple", "0.501", "limit_above_upper"),
        ("pharma", "0.500", "pass"),
        ("guarded", "0.460", "pass"),
        ("guarded", "0.461", "limit_above_upper"),
        ("beyond_doubt", "0.500", "pass"),
        ("beyond_doubt", "0.501", "limit_above_upper"),
    ],
)
def test_below_a_reporting_limit(rule: DecisionRule, limit: str, outcome: str) -> None:
    found = judge_below(rule, Decimal(limit), A, u=Decimal("0.020"))
    assert (found.verdict if isinstance(found, Judgement) else found) == outcome
    assert judge_below(rule, Decimal("0.1"), B, u=Decimal("0.1")) == "limit_above_lower"


@given(
    st.sampled_from(get_args(DecisionRule)),
    st.integers(-3000, 3000),
    st.integers(-2000, 2000),
    st.integers(0, 400),
)
def test_mirrored_limits_give_mirrored_verdicts(rule: DecisionRule, y: int, limit: int, u: int) -> None:
    """Exact thousandths: a value under an upper limit is its negative over the negative limit."""
    value, at, spread = (Decimal(one).scaleb(-3) for one in (y, limit, u))
    above = judge(rule, value, Limits(upper=f"{at:.3f}"), u=spread)
    below = judge(rule, -value, Limits(lower=f"{-at:.3f}"), u=spread)
    assert isinstance(above, Judgement)
    assert isinstance(below, Judgement)
    assert above.verdict == below.verdict


@given(st.integers(-3000, 3000), st.integers(1, 400))
def test_stricter_rules_never_pass_what_simple_fails(y: int, u: int) -> None:
    value, spread = Decimal(y).scaleb(-3), Decimal(u).scaleb(-3)
    found = {rule: judge(rule, value, A, u=spread) for rule in get_args(DecisionRule)}
    passed = {rule: isinstance(one, Judgement) and one.verdict == "pass" for rule, one in found.items()}
    assert passed["guarded"] <= passed["guarded_5"] <= passed["simple"] <= passed["beyond_doubt"]
    assert passed["nonbinary"] == passed["guarded"]


def test_probability_far_in_a_tail_keeps_its_digits() -> None:
    p = probability_of_conformity(Decimal(80), Decimal(1), B)
    assert 0 < p < 1e-50


@pytest.mark.parametrize("rule", ["simple", "pharma", "beyond_doubt"])
def test_rules_without_a_guard_judge_less_than_without_any_uncertainty(rule: DecisionRule) -> None:
    for limit, outcome in (("0.500", "pass"), ("0.501", "limit_above_upper")):
        found = judge_below(rule, Decimal(limit), A)
        assert (found.verdict if isinstance(found, Judgement) else found) == outcome


def test_less_than_is_judged_with_the_guard_of_its_rule() -> None:
    """0.500 less 2 x 0.02, 3 x 0.02 and 1.645 x 0.02."""
    for rule, k, edge in (("guarded", "2", "0.460"), ("guarded", "3", "0.440"), ("guarded_5", "2", "0.4671")):
        at, over = (
            judge_below(cast("DecisionRule", rule), Decimal(edge) + by, A, u=Decimal("0.02"), k=Decimal(k))
            for by in (Decimal(0), Decimal("1e-9"))
        )
        assert isinstance(at, Judgement)
        assert (at.verdict, at.acceptance_upper, at.acceptance_lower, at.rounded) == ("pass", Decimal(edge), None, None)
        assert over == "limit_above_upper"


@pytest.mark.parametrize(
    ("limits", "value", "p"),
    [
        (Limits(upper="105.0"), "105", 0.5),
        (Limits(lower="95.0"), "95", 0.5),
        (Limits(upper="105.0"), "104", 0.8413447460685429),
        (Limits(lower="95.0"), "94", 0.15865525393145707),
        (Limits(upper="105.0", lower="95.0"), "100", 0.9999994266968563),
        (Limits(upper="96.0", lower="95.0"), "94", 0.15865525393145707 - 0.02275013194817921),
        (Limits(), "1", 1.0),
    ],
)
def test_probability_by_the_normal_table(limits: Limits, value: str, p: float) -> None:
    """u = 1; normal distribution to 16 digits (any table, and erf)."""
    assert probability_of_conformity(Decimal(value), Decimal(1), limits) == pytest.approx(p, rel=1e-12)
