"""Weighted least squares of calibrations: many runs of equal point count at once, bit for bit as alone.

Householder QR of sqrt(W) X in a fixed order of operations (Golub and Van Loan, Matrix Computations, section 5.2,
from memory). x, y and W are first scaled by powers of two near their largest value, which loses no bit.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import inf
from typing import Literal, TypeAlias

import numpy as np

from benchseal.compute import weights as weighing
from benchseal.compute.arrays import Array, Mask, binary_exponent, scaled, sum_points
from benchseal.compute.weights import LevelScatter, VarianceFunction, WeightRule, weights_of

Model: TypeAlias = Literal["line", "line_through_zero", "quadratic"]
Weighting: TypeAlias = weighing.Weighting
Variance: TypeAlias = Literal["estimated", "known"]
Fault: TypeAlias = Literal[
    "too_few_points",
    "not_finite",
    "x_negative",
    "weight_at_zero",
    "level_readings_few",
    "level_without_scatter",
    "weight_not_positive",
    "x_not_spread",
    "undetermined",
]

_Checks: TypeAlias = tuple[tuple[Fault, Mask], ...]

ROUNDING = 2.0**-46  # of the largest y: what the arithmetic of a fit may leave of nothing
_RULES: dict[Weighting, type] = {"variance_function": VarianceFunction, "1/s2": LevelScatter}
POWERS: dict[Model, tuple[int, ...]] = {"line": (0, 1), "line_through_zero": (1,), "quadratic": (0, 1, 2)}


@dataclass(frozen=True, slots=True, eq=False)
class Fit:
    """Calibrations of ``runs`` runs of ``points`` points each; terms in rising powers of x.

    x, y, weights, residuals: (points, runs). coefficients, standard_errors: (terms, runs).
    covariance: (terms, terms, runs). residual_sd, r_squared, x_low, x_high: (runs,).
    faults: one per run; where it is not None, that run's computed columns are NaN and must not be read.
    r_squared is NaN where all y of a run are equal. residual_sd is sqrt(sum w r^2 / df), weights as given.
    rule: what the weighting needs to know beside x; also gives the weights of samples.
    variance "estimated": V = s^2 (X'WX)^-1. "known": weights are 1/u^2 with u known, V = (X'WX)^-1
    (ISO/TS 28037, seen in secondary sources); then ``t_df`` is infinite.
    """

    model: Model
    weighting: Weighting
    variance: Variance
    powers: tuple[int, ...]
    x: Array
    y: Array
    weights: Array
    coefficients: Array
    covariance: Array
    residuals: Array
    residual_sd: Array
    r_squared: Array
    faults: tuple[Fault | None, ...]
    rule: WeightRule | None = None

    @property
    def n(self) -> int:
        """Number of fitted points of each run."""
        return int(self.x.shape[0])

    @property
    def df(self) -> int:
        """Degrees of freedom, points less coefficients."""
        return self.n - len(self.powers)

    @property
    def t_df(self) -> float:
        """Degrees of freedom for coverage factors."""
        return inf if self.variance == "known" else float(self.df)

    @property
    def standard_errors(self) -> Array:
        """Square roots of the diagonal of the covariance, (terms, runs)."""
        return np.stack([np.sqrt(self.covariance[j, j]) for j in range(len(self.powers))])

    @property
    def unit_variance(self) -> Array:
        """Variance of one reading of weight 1, (runs,): s^2, or 1 when the weights are known."""
        return np.ones_like(self.residual_sd) if self.variance == "known" else self.residual_sd * self.residual_sd

    @property
    def x_low(self) -> Array:
        """Lowest standard, (runs,)."""
        lowest: Array = np.min(self.x, axis=0)
        return lowest

    @property
    def x_high(self) -> Array:
        """Highest standard, (runs,)."""
        highest: Array = np.max(self.x, axis=0)
        return highest

    @property
    def scatters(self) -> Mask:
        """Whether residuals exceed what rounding alone leaves, (runs,); without, s measures nothing."""
        noise = ROUNDING * np.max(np.abs(self.y), axis=0)
        with np.errstate(invalid="ignore"):
            found: Mask = np.any(np.abs(self.residuals) > noise, axis=0)
        return found

    @property
    def good(self) -> Mask:
        """Which runs have a fit, (runs,)."""
        return np.array([fault is None for fault in self.faults], dtype=np.bool_)

    def one(self, run: int) -> Fit:
        """The fit of one run by itself; its weighting is then "given", as nothing beside the weights is kept."""
        of = slice(run, run + 1)
        return replace(
            self,
            weighting="given",
            rule=None,
            x=self.x[:, of],
            y=self.y[:, of],
            weights=self.weights[:, of],
            coefficients=self.coefficients[:, of],
            covariance=self.covariance[:, :, of],
            residuals=self.residuals[:, of],
            residual_sd=self.residual_sd[of],
            r_squared=self.r_squared[of],
            faults=self.faults[of],
        )


@dataclass(frozen=True, slots=True, eq=False)
class Solution:
    """Least squares as solved: coefficients (terms, runs), inverse of X'WX (terms, terms, runs), determined (runs,)."""

    coefficients: Array
    inverse: Array
    determined: Mask


def fit(  # noqa: PLR0913  what a calibration is made of
    x: Array,
    y: Array,
    model: Model,
    weighting: Weighting = "none",
    *,
    weights: Array | None = None,
    rule: WeightRule | None = None,
    variance: Variance = "estimated",
) -> Fit:
    """Fit each column of ``y`` on the same column of ``x``; both (points, runs), float64, not modified.

    ``weights``, same shape, belongs to weighting "given" and to no other; ``rule`` to "variance_function" and "1/s2".
    Concentrations are taken as exact. Input that cannot be fitted gives a fault for its run, never an exception.
    """
    if x.shape != y.shape or x.ndim != 2 or (weighting == "given") != (weights is not None):
        raise AssertionError("x and y are (points, runs); weights go with weighting 'given'")
    if not isinstance(rule, _RULES.get(weighting, type(None))):
        raise AssertionError("a variance function, or the scatter of levels, goes with the weighting of its name")  # noqa: TRY004  our bug
    powers = POWERS[model]
    with np.errstate(all="ignore"):
        w = weights_of(weighting, rule, weights, x)
        faults = _input_faults(x, y, w, powers, _weighing_faults(x, weighting, rule))
        bad = np.array([fault is not None for fault in faults], dtype=np.bool_)
        safe_x, safe_y, safe_w = _stand_in(x, bad), _stand_in(y, bad), np.where(bad, 1.0, w)
        enough = x.shape[0] > len(powers)
        result = _fitted(safe_x, safe_y, safe_w, powers, variance) if enough else _unfitted(x, powers)
    covariance, coefficients, residuals, sd, r2, determined = result
    faults = tuple(fault or (None if ok else "undetermined") for fault, ok in zip(faults, determined, strict=True))
    gone = np.array([fault is not None for fault in faults], dtype=np.bool_)
    for array in (covariance, coefficients, residuals, sd, r2):
        array[..., gone] = np.nan
    return Fit(model, weighting, variance, powers, x, y, w, coefficients, covariance, residuals, sd, r2, faults, rule)


def solve(x: Array, y: Array, weights: Array, powers: tuple[int, ...]) -> Solution:
    """Least squares for any rising ``powers``; x, y, weights (points, runs), weights > 0, points >= terms.

    A run is not determined when a column of sqrt(W) X depends, to rounding, on those before it.
    """
    root_w = np.sqrt(weights)
    design = _powers_of(x, powers)
    work = [root_w * one for one in design]
    norms = [np.sqrt(sum_points(one * one)) for one in work]
    work.append(root_w * y)
    diagonal = _triangle(work, len(powers))
    smallest = len(x) * np.finfo(np.float64).eps
    determined = np.ones(x.shape[1], dtype=np.bool_)
    for size, norm in zip(diagonal, norms, strict=True):
        determined &= np.abs(size) > smallest * norm
    safe = [np.where(determined, one, 1.0) for one in diagonal]
    return Solution(_coefficients(work, safe), _inverse(work, safe), determined)


def _triangle(work: list[Array], terms: int) -> list[Array]:
    """Householder reflections in place over all columns of ``work``; gives the diagonal of R, terms times (runs,)."""
    diagonal: list[Array] = []
    for k in range(terms):
        v = work[k][k:].copy()
        size = np.sqrt(sum_points(v * v))
        pivot = -np.copysign(size, v[0])
        v[0] = v[0] - pivot
        squared = sum_points(v * v)
        divisor = np.where(squared == 0, 1.0, squared)
        for j in range(k + 1, len(work)):
            factor = 2.0 * sum_points(v * work[j][k:]) / divisor
            work[j][k:] = work[j][k:] - factor * v
        diagonal.append(pivot)
    return diagonal


def _coefficients(work: list[Array], diagonal: list[Array]) -> Array:
    """Back substitution of R b = Q'y, (terms, runs)."""
    terms = len(diagonal)
    found: list[Array] = [np.zeros(0)] * terms
    for i in reversed(range(terms)):
        rest = work[terms][i]
        for j in range(i + 1, terms):
            rest = rest - work[j][i] * found[j]
        found[i] = rest / diagonal[i]
    return np.stack(found)


def _inverse(work: list[Array], diagonal: list[Array]) -> Array:
    """(X'WX)^-1 = R^-1 R^-T, (terms, terms, runs)."""
    terms, runs = len(diagonal), diagonal[0].shape[0]
    r_inverse = np.zeros((terms, terms, runs))
    for k in range(terms):
        r_inverse[k, k] = 1.0 / diagonal[k]
        for i in reversed(range(k)):
            rest = np.zeros(runs)
            for j in range(i + 1, k + 1):
                rest = rest - work[j][i] * r_inverse[j, k]
            r_inverse[i, k] = rest / diagonal[i]
    inverse = np.zeros((terms, terms, runs))
    for i in range(terms):
        for j in range(i, terms):
            inverse[i, j] = sum_points(r_inverse[i, j:] * r_inverse[j, j:])
            inverse[j, i] = inverse[i, j]
    return inverse


def curve(coefficients: Array, powers: tuple[int, ...], x: Array) -> Array:
    """Fitted y at ``x`` (points, runs), by Horner's rule in falling powers; coefficients (terms, runs)."""
    value = np.zeros_like(x)
    terms = list(zip(powers, coefficients, strict=True))
    for power in range(powers[-1], -1, -1):
        value = value * x
        for own, coefficient in terms:
            if own == power:
                value = value + coefficient
    return value


def slope(coefficients: Array, powers: tuple[int, ...], x: Array) -> Array:
    """Tangent of a line or quadratic at ``x`` (points, runs)."""
    value = np.zeros_like(x)
    for power, coefficient in zip(powers, coefficients, strict=True):
        if power == 1:
            value = value + coefficient
        elif power == 2:
            value = value + 2.0 * coefficient * x
    return value


def _powers_of(x: Array, powers: tuple[int, ...]) -> list[Array]:
    ladder = [np.ones_like(x)]
    for _ in range(powers[-1]):
        ladder.append(ladder[-1] * x)
    return [ladder[power] for power in powers]


def _input_faults(x: Array, y: Array, w: Array, powers: tuple[int, ...], weighed: _Checks) -> tuple[Fault | None, ...]:
    """What keeps each run from being fitted; the first that applies. weighed: what the weighting's rule forbids."""
    finite = np.all(np.isfinite(x) & np.isfinite(y), axis=0)
    checks: _Checks = (
        ("too_few_points", np.full(x.shape[1], x.shape[0] <= len(powers))),
        ("not_finite", ~finite),
        *weighed,
        ("weight_not_positive", ~np.all((w > 0) & np.isfinite(w), axis=0)),
        ("x_not_spread", _distinct(x, powers) < len(powers)),
    )
    return tuple(next((name for name, hit in checks if hit[run]), None) for run in range(x.shape[1]))


def _weighing_faults(x: Array, weighting: Weighting, rule: WeightRule | None) -> _Checks:
    at_zero = np.any(x == 0, axis=0)
    if isinstance(rule, VarianceFunction):
        return (("weight_at_zero", at_zero & (rule.s0 == 0)),)
    if isinstance(rule, LevelScatter):
        single, still = np.any(np.isnan(rule.s), axis=0), np.any(rule.s == 0, axis=0)
        return (("level_readings_few", single), ("level_without_scatter", still))
    if weighting in ("1/x", "1/x2"):
        return (("x_negative", np.any(x < 0, axis=0)), ("weight_at_zero", at_zero))
    return ()


def _distinct(x: Array, powers: tuple[int, ...]) -> Array:
    """Number of different x of each run that carry the coefficients (zero carries none of a line through zero)."""
    ordered = np.sort(x, axis=0)
    steps = np.count_nonzero(ordered[1:] != ordered[:-1], axis=0) + min(1, x.shape[0])
    without_zero = np.any(x == 0, axis=0) if powers[0] else np.zeros(x.shape[1], dtype=np.bool_)
    counted: Array = (steps - without_zero).astype(np.float64)
    return counted


def _stand_in(values: Array, bad: Mask) -> Array:
    """``values`` with harmless numbers in the columns that will not be read."""
    ramp = np.arange(1.0, values.shape[0] + 1.0).reshape(-1, 1)
    return np.where(bad, ramp, values)


_Fitted: TypeAlias = tuple[Array, Array, Array, Array, Array, Mask]


def _unfitted(x: Array, powers: tuple[int, ...]) -> _Fitted:
    terms, runs = len(powers), x.shape[1]
    none = np.zeros(runs, dtype=np.bool_)
    return (
        np.zeros((terms, terms, runs)),
        np.zeros((terms, runs)),
        np.zeros(x.shape),
        np.zeros(runs),
        np.zeros(runs),
        none,
    )


def _fitted(x: Array, y: Array, w: Array, powers: tuple[int, ...], variance: Variance) -> _Fitted:
    """Scale by powers of two, solve, scale back: covariance, coefficients, residuals, sd, r squared, determined."""
    ex, ey, ew = binary_exponent(x), binary_exponent(y), binary_exponent(w)
    ew = ew + ew % 2  # even, so that its root is a power of two as well
    xs, ys, ws = scaled(x, -ex), scaled(y, -ey), scaled(w, -ew)
    found = solve(xs, ys, ws, powers)
    residuals = ys - curve(found.coefficients, powers, xs)
    square = sum_points(ws * residuals * residuals) / float(len(x) - len(powers))
    r2 = 1.0 - square * float(len(x) - len(powers)) / _spread(ys, ws, centred=powers[0] == 0)
    covariance = np.empty_like(found.inverse)
    for i, p in enumerate(powers):
        for j, q in enumerate(powers):
            if variance == "known":
                covariance[i, j] = scaled(found.inverse[i, j], -ew - (p + q) * ex)
            else:
                covariance[i, j] = scaled(square * found.inverse[i, j], 2 * ey - (p + q) * ex)
    coefficients = np.stack([scaled(b, ey - p * ex) for b, p in zip(found.coefficients, powers, strict=True)])
    sd = scaled(np.sqrt(square), ey + ew // 2)
    usable = np.all(np.isfinite(coefficients), axis=0) & np.all(np.isfinite(covariance), axis=(0, 1)) & np.isfinite(sd)
    return covariance, coefficients, scaled(residuals, ey), sd, r2, found.determined & usable


def _spread(y: Array, w: Array, *, centred: bool) -> Array:
    """Weighted sum of squares of y, about its mean when ``centred``; NaN where that is zero. Shape (runs,)."""
    middle = sum_points(w * y) / sum_points(w) if centred else np.zeros(y.shape[1])
    away = y - middle
    all_equal = np.all(y == y[0], axis=0) if centred else np.all(y == 0, axis=0)
    return np.where(all_equal, np.nan, sum_points(w * away * away))
