"""Outlier tests. A flag removes nothing: exclusion needs a cause found and recorded by a person."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt
from typing import TYPE_CHECKING, Literal, TypeAlias

from benchseal.compute.arrays import column
from benchseal.compute.quantiles import t_quantile
from benchseal.compute.statistics import statistics

if TYPE_CHECKING:
    from collections.abc import Sequence

Sides: TypeAlias = Literal[1, 2]
End: TypeAlias = Literal["low", "high"]
Untested: TypeAlias = Literal["too_few", "too_many", "no_spread", "alpha_not_tabled"]

# Two-sided critical values of gap/range, n = 3 to 10: D. B. Rorabacher, Anal. Chem. 63 (1991) 139, as printed in
# Harvey, Analytical Chemistry 2.1, appendix 6.
DIXON_CRITICAL: dict[float, tuple[float, ...]] = {
    0.10: (0.941, 0.765, 0.642, 0.560, 0.507, 0.468, 0.437, 0.412),
    0.05: (0.970, 0.829, 0.710, 0.625, 0.568, 0.526, 0.493, 0.466),
    0.01: (0.994, 0.926, 0.821, 0.740, 0.680, 0.634, 0.598, 0.568),
}

_SMALL_TAIL = 1e-9


LEAST_TESTED = 3  # values of either test


@dataclass(frozen=True, slots=True)
class OutlierTest:
    """index: place of the value tested, counted from 0; the lower place, then the lower value, wins a tie.

    end: whether it is the lowest or the highest of the values.
    """

    statistic: float
    critical: float
    index: int
    end: End

    @property
    def flagged(self) -> bool:
        """Whether the statistic lies above the critical value."""
        return self.statistic > self.critical


def grubbs(
    values: Sequence[float], alpha: float = 0.05, sides: Sides = 2, end: End | None = None
) -> OutlierTest | Untested:
    """Grubbs' test of the value farthest from the mean, finite ``values``. NIST e-Handbook 1.3.5.17 (secondary).

    end: where it was fixed before the values were seen; one-sided alpha holds only then. An end chosen from the data is
    tested two-sided, as the critical values of ISO 5725-2 (from memory) are.
    At n = 3 the statistic cannot exceed 1.1547, so the test has almost no power; two outliers hide each other.
    """
    n = len(values)
    if n < LEAST_TESTED:
        return "too_few"
    found = statistics(column(values))
    mean, sd = float(found.mean[0]), float(found.sd[0])
    if sd == 0 or min(values) == max(values):
        return "no_spread"
    away = [value - mean if end == "high" else mean - value if end == "low" else abs(value - mean) for value in values]
    index = away.index(max(away))
    found_at: End = "high" if values[index] > mean else "low"
    return OutlierTest(max(away) / sd, grubbs_critical(n, alpha, sides), index, end or found_at)


def grubbs_critical(n: int, alpha: float, sides: Sides) -> float:
    """Critical value of Grubbs' statistic for n >= 3 values."""
    tail = alpha / (sides * n)  # a small one is asked for as such: 1 - tail would round to 1
    t = t_quantile(1 - tail, n - 2) if tail > _SMALL_TAIL else -t_quantile(tail, n - 2)
    return (n - 1) / sqrt(n) * sqrt(t * t / (n - 2 + t * t))


def dixon(
    values: Sequence[float], alpha: float = 0.05, sides: Sides = 2, end: End | None = None
) -> OutlierTest | Untested:
    """Dixon's Q10 = gap/range for 3 to 10 finite values; alpha 0.10, 0.05, 0.01 (two-sided) or half of these (one).

    end: as for ``grubbs``.
    """
    n = len(values)
    if not LEAST_TESTED <= n <= 10:
        return "too_few" if n < LEAST_TESTED else "too_many"
    table = next((row for at, row in DIXON_CRITICAL.items() if abs(at - alpha * (2 / sides)) < 1e-9), None)
    if table is None:
        return "alpha_not_tabled"
    order = sorted(range(n), key=lambda place: values[place])
    spread = values[order[-1]] - values[order[0]]
    if spread == 0:
        return "no_spread"
    gaps: dict[End, float] = {"low": values[order[1]] - values[order[0]], "high": values[order[-1]] - values[order[-2]]}
    if end is None:
        end = "low" if (gaps["low"], -order[0]) > (gaps["high"], -order[-1]) else "high"
    return OutlierTest(gaps[end] / spread, table[n - 3], order[0] if end == "low" else order[-1], end)
