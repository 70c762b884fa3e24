"""Pure functions of numbers: whatever finite numbers come, a number, a word of refusal, or NaN where they promise it.

Numbers go as far as a record can: zero, or 1e-60 to 1e60 in size (plain decimal text has 64 characters). Beyond that
squares leave the range of floats. Warnings are errors here, so an overflow on the way is found as well.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from decimal import Decimal
from fractions import Fraction
from math import inf, isfinite, isnan
from typing import Any, TypeAlias

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchseal.compute import budget, limits, outliers, quantiles, rounding, run_numbers, statistics
from benchseal.compute.arrays import Array, binary_exponent, column, scaled, sum_points
from benchseal.compute.conformity import Judgement, Limits, judge, judge_below, probability_of_conformity
from benchseal.compute.content import Portion, content
from benchseal.compute.drift import Addition, Drift, drift, standard_addition
from benchseal.compute.fit import Fit, Model, Variance, Weighting, curve, fit
from benchseal.compute.interval import interval
from benchseal.compute.invert import Status, curve_covariance, invert, rises, root_at
from benchseal.compute.judge_curve import (
    back_calculated_percent_error,
    homogeneity,
    lack_of_fit,
    levels_of,
    mandel,
    relative_standard_error,
    rse_percent,
)
from benchseal.compute.recovery import recovery_percent, relative_percent_difference
from benchseal.compute.run_words import Against
from benchseal.compute.weights import VarianceFunction, WeightRule, level_scatter, scatter_rule, weight_at
from benchseal.records.quantities import is_plain_decimal, plain

EXAMPLES = [pytest.param(500, id="500"), pytest.param(20_000, id="20000", marks=pytest.mark.long)]
Check: TypeAlias = Callable[..., None]
CHECKS: dict[str, tuple[tuple[st.SearchStrategy[Any], ...], Check]] = {}


def tried(*of: st.SearchStrategy[Any]) -> Callable[[Check], Check]:
    """Put a check and what it is tried on into the table."""

    def put(check: Check) -> Check:
        CHECKS[check.__name__] = (of, check)
        return check

    return put


# Numbers: few that often meet, both ends, steps of one unit in the last place, and any size between.
FEW = (0.0, -0.0, 1.0, 2.0, 3.0, 0.1, 1 + 2**-52, 1 - 2**-53, 7.0, 1e16, 1e16 + 2, -1.0, -0.1, 0.3, 0.29999999999999993)
ENDS = (1e-60, 1e60, -1e60, -1e-60, 9.999999999999999e59, 1e-15, 1e15, 1e-30, 1e30)
SIZES = tuple(float(f"{digits}e{power}") for power in range(-60, 60, 6) for digits in (1, 27, -9.99))
CENTS = tuple(cents / 100 for cents in range(-60, 300, 7))
POOL = (*FEW * 4, *ENDS * 2, *SIZES, *CENTS)
SIZE = tuple(abs(one) for one in POOL)
ABOVE_ZERO = tuple(one for one in SIZE if one)
LEVELS = tuple(cents / 100 for cents in range(7, 500, 11))
numbers, not_negative, positive = st.sampled_from(POOL), st.sampled_from(SIZE), st.sampled_from(ABOVE_ZERO)
probabilities = st.sampled_from((0.95, 0.99, 0.5, 0.05, 0.01, 1e-6, 1 - 1e-6, 1e-12, 1 - 1e-12))
risks = st.sampled_from((0.01, 0.05, 0.1, 0.5, 1e-4, 0.9))
COUNTS = (1, 2, 3, 4, 7, 30, 1000, 1_000_000)
counts = st.sampled_from(COUNTS)
models: st.SearchStrategy[Model] = st.sampled_from(("line", "line_through_zero", "quadratic"))
weightings: st.SearchStrategy[Weighting] = st.sampled_from(
    ("none", "1/x", "1/x2", "1/s2", "variance_function", "given")
)
variances: st.SearchStrategy[Variance] = st.sampled_from(("estimated", "known"))
# Text of a record: digits kept, zeros at the end, long tails.
TEXTS = (
    *("0", "0.50", "-0.050", "10", "100.00", f"0.{'0' * 40}1", "1" + "0" * 40, "0.30", "0.295", "0.3000001") * 5,
    *(f"{one / 10_000:.4f}" for one in range(-5000, 20_000, 371)),
    *(run_numbers.record_text(one) for one in POOL),
)
texts = st.sampled_from(TEXTS)
not_negative_texts = st.sampled_from(tuple(text.lstrip("-") for text in TEXTS))


def rows(least: int, most: int, *pools: Sequence[Any]) -> st.SearchStrategy[list[Any]]:
    """Lists of tuples, one number of each pool. Drawn as bytes, each the place of a number: quick, and shrinks well."""
    width = len(pools)

    def read(drawn: bytes) -> list[Any]:
        picked = [pools[place % width][one * len(pools[place % width]) // 256] for place, one in enumerate(drawn)]
        return [tuple(picked[start : start + width]) for start in range(0, len(picked) - width + 1, width)]

    return st.binary(min_size=least * width, max_size=most * width).map(read)


def some(least: int, most: int, pool: Sequence[Any] = POOL) -> st.SearchStrategy[list[Any]]:
    """Lists of numbers of a pool."""
    return rows(least, most, pool).map(lambda of: [one for (one,) in of])


def require_numbers(*of: float | Array) -> None:
    assert all(bool(np.all(np.isfinite(one))) for one in of), of


def require_no_infinity(*of: float | Array) -> None:
    """NaN stands for what is not defined; an infinity stands for nothing."""
    assert not any(bool(np.any(np.isinf(one))) for one in of), of


# statistics


# One unit in the last place apart, so that whatever loses digits shows it.
NEIGHBOURS = (1.0, 1 + 2**-52, 1 - 2**-53, 1 + 2**-51)


@tried(some(1, 9), some(1, 9, NEIGHBOURS), st.sampled_from((1.0, 1e15, 1e-30, 1e60)))
def _statistics(values: list[float], close: list[float], size: float) -> None:
    _describes(values)
    _describes([one * size for one in close])


def _describes(values: list[float]) -> None:
    found, size = statistics.statistics(column(values)), max(map(abs, values))
    mean, sd = float(found.mean[0]), float(found.sd[0])
    assert min(values) - 1e-12 * size <= mean <= max(values) + 1e-12 * size
    if len(values) == 1:
        assert isnan(sd)
        return
    assert 0 <= sd <= 2 * size
    assert (sd == 0) == (min(values) == max(values))
    relative = float(statistics.rsd_percent(found)[0])
    assert isnan(relative) if mean == 0 else relative >= 0
    require_no_infinity(relative)
    lag = float(statistics.lag1_autocorrelation(column(values))[0])
    assert isnan(lag) if sd == 0 else abs(lag) <= 1 + 1e-9


@tried(rows(1, 6, SIZE, COUNTS), rows(1, 6, POOL, POOL))
def _pooled(groups: list[tuple[float, int]], pairs: list[tuple[float, float]]) -> None:
    sds = column([sd for sd, _ in groups])
    s, df = statistics.pooled_sd(sds, column([float(max(n, 2)) for _, n in groups]))
    assert df[0] >= 1
    assert float(np.min(sds)) * (1 - 1e-12) <= s[0] <= float(np.max(sds)) * (1 + 1e-12)
    limit = limits.pooled_detection_limit([sd * sd for sd, _ in groups], [n for _, n in groups])
    if isinstance(limit, limits.PooledDetectionLimit):
        require_numbers(limit.mdl, limit.s_pooled, limit.t)
        assert limit.mdl > 0
    duplicates = statistics.sd_of_duplicates(*(column([pair[side] for pair in pairs]) for side in (0, 1)))
    require_numbers(duplicates)
    assert (duplicates[0] == 0) == all(one == other for one, other in pairs)


@tried(some(0, 9), some(1, 5))
def _sums(values: list[float], others: list[float]) -> None:
    require_numbers(sum_points(column(values)))
    exponent = binary_exponent(column(others))
    small = scaled(column(others), -exponent)
    assert float(np.max(np.abs(small))) < 1
    assert scaled(small, exponent)[:, 0].tolist() == others


# outliers and limits


@tried(some(0, 12), st.sampled_from((0.1, 0.05, 0.01, 0.02, 1e-9)), st.sampled_from((1, 2)))
def _outliers(values: list[float], alpha: float, sides: outliers.Sides) -> None:
    for found in (outliers.grubbs(values, alpha, sides), outliers.dixon(values, alpha, sides)):
        if not isinstance(found, outliers.OutlierTest):
            continue
        require_numbers(found.statistic, found.critical)
        assert min(values) < max(values)
        assert 0 <= found.index < len(values)
        assert found.statistic >= 0


@tried(some(0, 10), some(0, 8, (None, *POOL)))
def _method_detection_limit(spiked: list[float], blanks: list[float | None]) -> None:
    found = limits.method_detection_limit(spiked, blanks)
    if isinstance(found, limits.MethodDetectionLimit):
        require_numbers(found.mdl_spiked, found.t)
        assert found.mdl_spiked > 0
        if found.mdl == "too_few" or found.mdl_blank == "too_few":
            assert found.mdl == found.mdl_blank
            assert len(blanks) == 1
        else:
            require_numbers(found.mdl, found.mdl_blank or 0.0)
            assert found.mdl >= found.mdl_spiked
    else:
        assert len(spiked) < 7 or len(set(spiked)) == 1


points = rows(0, 9, POOL, POOL)


@tried(points, st.tuples(risks, risks), counts, positive)
def _limits_and_addition_of_a_line(
    of: list[tuple[float, float]], alpha_beta: tuple[float, float], m: int, k: float
) -> None:
    line = fit(column([x for x, _ in of]), column([y for _, y in of]), "line")
    found = limits.line_limits(line, *alpha_beta, m, k)
    if isinstance(found, limits.LineLimits):
        require_numbers(found.decision, found.detection, found.detection_noncentral)
        assert isinstance(found.quantification, str) or found.quantification >= 0
        require_numbers(0.0 if isinstance(found.quantification, str) else found.quantification)
    added = standard_addition(line, alpha_beta[0])
    if isinstance(added, Addition):
        require_numbers(added.x, added.u, added.half_width)
        assert added.u >= 0


# curves

# All x of one size, all y of another: what the numbers of one curve can do to its coefficients and their squares.
of_one_size = st.builds(
    lambda of, scales: [(x * scales[0], y * scales[1], w) for x, y, w in of],
    rows(3, 9, LEVELS, LEVELS, ABOVE_ZERO),
    st.sampled_from(((1e-58, 1e57), (1e-58, 1e57), (1e30, 1e-30), (1e-30, 1e-30), (1e57, 1e57), (1.0, 1.0))),
)


@tried(
    st.one_of(rows(0, 9, POOL, POOL, ABOVE_ZERO), of_one_size), models, weightings, variances, some(0, 4), probabilities
)
def _curve_and_back(  # noqa: PLR0917  one of each
    of: list[tuple[float, float, float]],
    model: Model,
    weighting: Weighting,
    variance: Variance,
    y0: list[float],
    confidence: float,
) -> None:
    x, y, w = (column([one[place] for one in of]) for place in range(3))
    rule = rule_of(weighting, of)
    found = fit(x, y, model, weighting, weights=w if weighting == "given" else None, rule=rule, variance=variance)
    if found.faults[0] is None:
        require_numbers(found.coefficients, found.covariance, found.residuals, found.residual_sd, found.standard_errors)
        require_no_infinity(found.r_squared, found.unit_variance)
        require_numbers(curve(found.coefficients, found.powers, x))
        again, met = root_at(found, y)
        require_numbers(again[met])
        _judged(found)
        within = 1e60 * float(np.max(np.abs(y)))  # a reading so far above its standards has no uncertainty to speak of
        _read_back(found, column([*(one for one in y0 if abs(one) <= within), *y[:2, 0].tolist()]), confidence)
    else:
        assert bool(np.all(np.isnan(found.coefficients)))
        assert not bool(rises(found)[0])


def rule_of(weighting: Weighting, of: list[tuple[float, float, float]]) -> WeightRule | None:
    """A variance function of the first weights, or the scatter of the levels, each reading a point."""
    if weighting == "variance_function":
        s0, k = (np.array([min(max(one[2], 1e-20), 1e20)]) for one in [*of, (0.0, 0.0, 1.0), (0.0, 0.0, 1.0)][:2])
        return VarianceFunction(s0, k)
    levels = level_scatter([(x, y) for x, y, _ in of])
    return scatter_rule([levels], np.ones((len(of), 1))) if weighting == "1/s2" else None


def _judged(found: Fit) -> None:
    require_no_infinity(back_calculated_percent_error(found), rse_percent(found))
    levels = levels_of(found.x[:, 0].tolist())
    assert sorted(place for level in levels for place in level) == list(range(found.n))
    for test in (
        lack_of_fit(found, levels),
        mandel(found) if found.model != "line_through_zero" and found.n >= 4 else None,
    ):
        if test is not None:
            assert test.critical > 0
            assert isnan(test.statistic[0]) or test.statistic[0] >= 0


def _read_back(found: Fit, y0: Array, confidence: float) -> None:
    ones = np.ones_like(y0)
    back = invert(found, y0, ones, weight=ones, confidence=confidence)
    known = back.status <= Status.OVER_RANGE
    for one in (back.x, back.u, back.u_reading, back.u_curve, back.slope):
        require_numbers(one[known])
        assert bool(np.all(np.isnan(one[~known])))
    require_numbers(back.gradient[:, known[:, 0]])
    assert bool(np.all(back.g[known] < 1))
    require_no_infinity(curve_covariance(found, back, 0))
    between = interval(found, back)
    assert not bool(np.any(between.found & ~known))
    ends = between.low[between.found], between.high[between.found]
    require_numbers(*ends)
    assert bool(np.all((ends[0] <= back.x[between.found]) & (back.x[between.found] <= ends[1])))


@tried(some(2, 5), some(2, 5), some(1, 6), st.integers(1, 3))
def _spreads(low: list[float], high: list[float], errors: list[float], terms: int) -> None:
    test = homogeneity(column(low), column(high))
    assert isnan(test.statistic[0]) or test.statistic[0] >= 1 - 1e-12
    counted = column(errors) != 0
    require_no_infinity(relative_standard_error(column(errors), counted, terms))
    above_zero = np.abs(column(errors))[counted].reshape(-1, 1)
    require_numbers(weight_at("1/x", None, above_zero), weight_at("1/x2", None, above_zero))


# additions and drift


# Positions count solutions or minutes. A check standard that reads as its blank but for rounding is none of these.
PLACES = (0.0, 1.0, 2.0, 3.0, 9.0, 10.0, 10.5, -1.0, 1e6, 1e-3, 4.0, 5.0)
BLANKS, STANDARDS = (0.0, 0.001, 0.002, 0.01, 1e-6, -0.5), (0.1, 0.2, 0.19, 1.0, 5.0, -1.0)
pairs = rows(2, 2, PLACES, BLANKS, PLACES, STANDARDS).map(
    lambda two: tuple(sorted(one[:2] for one in two) + [one[2:] for one in two])
)


@tried(pairs, rows(0, 5, PLACES, POOL))
def _drift(checks: tuple[tuple[float, float], ...], samples: list[tuple[float, float]]) -> None:
    blank, standard = (checks[0], checks[1]), (checks[2], checks[3])
    at, read = (np.array([one[side] for one in samples], dtype=np.float64) for side in (0, 1))
    found = drift(blank, standard, at, read)
    if isinstance(found, Drift):
        require_numbers(found.drift_percent)
        for one in (found.blank, found.net, found.factor, found.corrected):
            require_numbers(one[found.bracketed])
            assert bool(np.all(np.isnan(one[~found.bracketed])))


# uncertainty

# What is multiplied four times or put to the fourth power: numbers of requests, 1e-30 to 1e30.
ORDINARY = tuple(one for one in POOL if one == 0 or 1e-30 <= abs(one) <= 1e30)
ORDINARY_ABOVE_ZERO = tuple(abs(one) for one in ORDINARY if one)


@tried(rows(0, 8, tuple(map(abs, ORDINARY)), (inf, inf, *range(1, 31), 1000, 10_000)), probabilities)
def _combined(terms: list[tuple[float, float]], confidence: float) -> None:
    contributions = column([u for u, _ in terms])
    found = budget.combine(contributions, column([df for _, df in terms]), confidence)
    u, largest = float(found.u[0]), max((one for one, _ in terms), default=0.0)
    assert largest * (1 - 1e-12) <= u <= largest * (len(terms) ** 0.5 + 1e-9)
    least = min((df for one, df in terms if one), default=inf)
    assert found.df[0] >= np.floor(least)
    assert found.k[0] >= 0
    assert found.expanded[0] >= 0
    shares = found.shares_percent[:, 0]
    assert bool(np.all(np.isnan(shares))) if u == 0 else abs(float(np.sum(shares)) - 100) < 1e-9
    assert found.k[0] == budget.coverage_factors(found.df, confidence)[0]


@tried(some(4, 4, SIZE), numbers, positive)
def _ware_and_simple_limits(ware: list[float], slope: float, factor: float) -> None:
    volume, tolerance, s, kelvin = ware
    glass = budget.triangular(tolerance)
    assert glass <= budget.rectangular(tolerance)
    require_numbers(budget.u_of_resolution(tolerance))
    if isfinite(volume * kelvin):
        found = budget.u_of_volume(volume, tolerance, s, kelvin)
        require_numbers(found)
        assert found >= max(glass, s) * (1 - 1e-12)
    assert budget.u_of_balance_difference(tolerance, s) >= s * (1 - 1e-12)
    found_limit = limits.blank_limits(s, slope, factor)
    assert isinstance(found_limit, str) or found_limit > 0
    require_numbers(0.0 if isinstance(found_limit, str) else found_limit)
    require_numbers(limits.scaled_limit(s, factor, volume, abs(slope) or 1.0))


@tried(
    some(2, 2, ORDINARY),
    some(3, 3, ORDINARY_ABOVE_ZERO),
    st.sampled_from((0.0, 0.1, 0.5, 1 - 2**-53)),
    some(6, 6, ORDINARY_ABOVE_ZERO),
    st.sampled_from(("undiluted", "same_dilution")),
)
def _content(read: list[float], ware: list[float], moisture: float, u: list[float], blank_was: Any) -> None:  # noqa: ANN401
    def row(values: list[float]) -> Portion:
        return Portion(*(np.array([one]) for one in values))

    found = content(row([*read, *ware, moisture]), blank_was, row(u))
    require_numbers(found.mg_per_kg, found.contributions, found.u_mg_per_kg)
    assert found.u_mg_per_kg[0] >= float(np.max(found.contributions)) * (1 - 1e-12)


# quantiles


@tried(
    probabilities,
    st.sampled_from((inf, *range(1, 31), 1000, 10**6)),
    st.sampled_from((1, 2, 5, 30)),
    not_negative,
    st.tuples(st.floats(-10, 10), st.integers(3, 10_000)),
)
def _quantiles(probability: float, df: float, df1: int, statistic: float, more: tuple[float, int]) -> None:
    shift, n = more
    t = quantiles.t_quantile(probability, df)
    require_numbers(t, quantiles.normal_quantile(probability))
    assert (t > 0) == (probability > 0.5)
    assert quantiles.two_sided_t(probability, df) >= 0
    assert 0 <= quantiles.normal_below(-statistic) <= 0.5 <= quantiles.normal_below(statistic) <= 1
    df2 = int(min(df, 300))
    f = quantiles.f_quantile(min(max(probability, 1e-6), 1 - 1e-6), df1, df2)
    require_numbers(f)
    assert f > 0
    assert 0 <= quantiles.f_tail(statistic, df1, df2) <= 1
    assert 0 < outliers.grubbs_critical(n, 1e-6 * df1, 2) <= (n - 1) / n**0.5
    require_numbers(quantiles.t_noncentrality(shift, float(df1), min(max(probability, 0.01), 0.99)))


# values of record


@tried(numbers, texts, texts, texts)
def _records(value: float, one: str, other: str, third: str) -> None:
    written = run_numbers.record_text(value)
    assert is_plain_decimal(written)
    assert abs(Fraction(written) - Fraction(value)) <= abs(Fraction(value)) / 10**11 + Fraction(1, 10**50)
    for text in (run_numbers.mean_text([one, other, third]), run_numbers.decimal_text(Decimal(one))):
        assert is_plain_decimal(text)
    assert is_plain_decimal(run_numbers.exact_text(run_numbers.fraction_of(one) / 7))
    assert Decimal(run_numbers.shown(one)) == 0 or run_numbers.shown(one)
    low, high = sorted((other, third), key=Decimal)
    against = Against(one, low, high, "ug/g")
    assert against.inside == (Decimal(against.low) <= Decimal(one) <= Decimal(against.high))
    assert against.words.isprintable()


@tried(texts, texts, texts)
def _recovered(found: str, added: str, native: str) -> None:
    percent = recovery_percent(Decimal(found), Decimal(added), Decimal(native))
    assert (percent is None) == (Decimal(added) == 0)
    apart = relative_percent_difference(Decimal(found), Decimal(added))
    assert (apart is None) == (Decimal(found) + Decimal(added) <= 0)
    for one in (percent, apart):
        assert one is None or abs(one) >= Decimal("1e48") or is_plain_decimal(run_numbers.decimal_text(one))


@tried(
    texts,
    not_negative_texts,
    st.sampled_from(("half_up", "half_even")),
    st.integers(-60, 60),
    st.integers(1, 60),
)
def _rounded(value: str, u: str, mode: Any, decimals: int, significant: int) -> None:  # noqa: ANN401
    number, expanded = Decimal(value), Decimal(u)
    for how in ({"decimals": decimals}, {"significant": significant}):
        try:
            text = rounding.rounded_text(number, mode, **how)
        except ValueError:
            continue
        assert Decimal(text).is_finite()
    for places in (None, decimals):
        try:
            found = rounding.reported(number, expanded, mode, decimals=places)
        except ValueError:
            continue
        assert Decimal(found.expanded_text) >= expanded
    if expanded:
        assert rounding.places_of_uncertainty(expanded) + expanded.adjusted() in {0, 1}


@tried(
    st.sampled_from(("simple", "guarded", "guarded_5", "nonbinary", "pharma", "beyond_doubt")),
    texts,
    st.one_of(st.none(), texts),
    texts,
    not_negative_texts.map(Decimal),
    st.sampled_from(("decimals", "significant")),
)
def _judged_by_rule(  # noqa: PLR0917  one of each
    rule: Any,  # noqa: ANN401
    value: str,
    lower: str | None,
    upper: str,
    u: Decimal,
    round_to: Any,  # noqa: ANN401
) -> None:
    if lower is not None and Decimal(lower) > Decimal(upper):
        lower, upper = upper, lower
    of = Limits(upper=upper, lower=lower)
    try:
        found = judge(rule, Decimal(value), of, u=u, round_to=round_to)
    except ValueError:
        assert rule == "pharma"
        return
    for one in (found, judge_below(rule, abs(Decimal(value)), of, u=u)):
        if isinstance(one, Judgement):
            assert all(is_finite(bound) for bound in (one.acceptance_lower, one.acceptance_upper))
    if u:
        assert 0 <= probability_of_conformity(Decimal(value), u, of) <= 1
    if rule == "guarded" and isinstance(found, Judgement) and found.verdict == "pass":
        assert judge("simple", Decimal(value), of) == Judgement("pass", *acceptance(of))


def acceptance(of: Limits) -> tuple[Decimal | None, Decimal | None]:
    return (None if of.upper is None else Decimal(of.upper), None if of.lower is None else Decimal(of.lower))


def is_finite(bound: Decimal | None) -> bool:
    return bound is None or (bound.is_finite() and bool(plain(bound)))


@pytest.mark.parametrize("examples", EXAMPLES)
@pytest.mark.parametrize("name", list(CHECKS))
def test_any_numbers(name: str, examples: int) -> None:
    of, check = CHECKS[name]

    @settings(deadline=None, max_examples=examples, database=None)
    @given(st.tuples(*of))
    def each(drawn: tuple[Any, ...]) -> None:
        check(*drawn)

    each()
