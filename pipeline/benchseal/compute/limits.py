"""Detection and quantification limits. Four different things; name the one used."""

from __future__ import annotations

from dataclasses import dataclass
from math import floor, sqrt
from typing import TYPE_CHECKING, Literal, TypeAlias

import numpy as np

from benchseal.compute.arrays import column, square, sum_points
from benchseal.compute.invert import rises
from benchseal.compute.quantiles import t_noncentrality, t_quantile, two_sided_t
from benchseal.compute.statistics import pooled_sd, statistics

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.compute.fit import Fit

NoLimit: TypeAlias = Literal[
    "too_few", "no_spread", "not_fitted", "not_rising", "slope_not_significant", "no_quantification"
]
MDL_LEAST_SPIKED = MDL_LEAST_BLANKS = 7
_MANY_BLANKS = 100


@dataclass(frozen=True, slots=True)
class MethodDetectionLimit:
    """mdl is the greater of the two; mdl_blank is None without blanks, and when no blank gave a number.

    Where the blanks are too few to give a limit, neither mdl_blank nor mdl is one, and mdl_spiked stands alone.
    """

    mdl: float | Literal["too_few"]
    mdl_spiked: float
    mdl_blank: float | Literal["too_few"] | None
    t: float
    df: int


def method_detection_limit(
    spiked: Sequence[float], blanks: Sequence[float | None] = ()
) -> MethodDetectionLimit | NoLimit:
    """EPA MDL, 40 CFR 136 appendix B revision 2 (secondary; the rules for blanks from memory).

    spiked: at least 7 results through the whole method. blanks: results of method blanks, None for "ND"; the procedure
    asks for at least 7 of them too, which is not demanded here: a single number alone gives no limit.
    """
    if len(spiked) < MDL_LEAST_SPIKED:
        return "too_few"
    sd = float(statistics(column(spiked)).sd[0])
    if min(spiked) == max(spiked):
        return "no_spread"
    df = len(spiked) - 1
    t = t_quantile(0.99, df)
    blank = _mdl_blank(blanks)
    if blank == "too_few":
        return MethodDetectionLimit("too_few", t * sd, "too_few", t, df)
    return MethodDetectionLimit(max(t * sd, blank or 0.0), t * sd, blank, t, df)


def _mdl_blank(blanks: Sequence[float | None]) -> float | Literal["too_few"] | None:
    numbers = sorted(value for value in blanks if value is not None)
    if not numbers:
        return None
    if len(numbers) < len(blanks):
        if len(blanks) <= _MANY_BLANKS:
            return numbers[-1]
        rank = floor(len(blanks) * 0.99 + 0.5) - (len(blanks) - len(numbers))  # blanks without a number rank lowest
        return numbers[rank - 1] if rank >= 1 else None
    if len(numbers) < 2:
        return "too_few"
    found = statistics(column(numbers))
    return max(0.0, float(found.mean[0])) + t_quantile(0.99, len(numbers) - 1) * float(found.sd[0])


@dataclass(frozen=True, slots=True)
class PooledDetectionLimit:
    """Limit from the scatter of several groups."""

    mdl: float
    s_pooled: float
    df: int
    t: float


def pooled_detection_limit(variances: Sequence[float], sizes: Sequence[int]) -> PooledDetectionLimit | NoLimit:
    """t(0.99) times the pooled sd of groups with these variances and sizes, each of 2 or more; equal lengths."""
    if len(sizes) < 1 or min(sizes) < 2:
        return "too_few"
    s, df = pooled_sd(np.sqrt(column(variances)), column([float(n) for n in sizes]))
    if float(s[0]) == 0:
        return "no_spread"
    t = t_quantile(0.99, float(df[0]))
    return PooledDetectionLimit(t * float(s[0]), float(s[0]), int(df[0]), t)


@dataclass(frozen=True, slots=True)
class LineLimits:
    """From a calibration line: decision, detection (x_C + t(1-beta) term, and by the noncentral t), quantification."""

    decision: float
    detection: float
    detection_noncentral: float
    quantification: float | NoLimit


def line_limits(line: Fit, alpha: float, beta: float, m: int = 1, k: float = 3.0) -> LineLimits | NoLimit:
    """Limits of one unweighted line (one run) near zero, m readings of a sample. DIN 32645; ISO 11843-2 (from memory).

    1/k is the relative uncertainty asked at the quantification limit. x_Q solves
    x = k (s/b1) t(1 - alpha/2) sqrt(1/m + 1/n + (x - xbar)^2/Sxx), here in closed form.
    """
    if line.model != "line" or line.weighting != "none":
        raise AssertionError("these limits belong to an unweighted line with intercept")
    if line.faults[0] is not None:
        return "not_fitted"
    s, b1 = float(line.residual_sd[0]), float(line.coefficients[1, 0])
    if not rises(line)[0]:
        return "not_rising"
    if not line.scatters[0]:
        return "no_spread"
    if square(two_sided_t(0.95, line.df) * float(line.standard_errors[1, 0]) / b1) >= 1:
        return "slope_not_significant"
    middle = float(sum_points(line.x)[0]) / line.n
    away = line.x - middle
    sxx = float(sum_points(away * away)[0])
    noise, reach = s / b1, 1 / m + 1 / line.n
    root = sqrt(reach + middle * middle / sxx)
    t_alpha, t_beta = t_quantile(1 - alpha, line.df), t_quantile(1 - beta, line.df)
    shift = t_noncentrality(t_alpha, line.df, beta)
    quantification = _quantified(k * noise * t_quantile(1 - alpha / 2, line.df), reach, middle, sxx)
    return LineLimits(noise * t_alpha * root, noise * (t_alpha + t_beta) * root, noise * shift * root, quantification)


def _quantified(scale: float, reach: float, middle: float, sxx: float) -> float | NoLimit:
    """Positive root of x^2 = scale^2 (reach + (x - middle)^2/sxx)."""
    share = scale * scale / sxx
    if share >= 1:
        return "no_quantification"
    constant = scale * scale * (reach + middle * middle / sxx)
    return (-share * middle + sqrt(square(share * middle) + (1 - share) * constant)) / (1 - share)


def blank_limits(s_blank: float, slope: float, factor: float = 3.0) -> float | NoLimit:
    """Limit factor s_blank/slope: 3 for detection, 10 for quantification (IUPAC, from memory); s_blank = 0 is none."""
    if slope <= 0:
        return "not_rising"
    return factor * s_blank / slope if s_blank > 0 else "no_spread"


def scaled_limit(limit: float, dilution: float, volume_ml: float = 1.0, mass_g: float = 1.0) -> float:
    """A limit of the solution read, carried to the sample as its results are: limit x dilution x volume/mass."""
    return limit * dilution * volume_ml / mass_g
