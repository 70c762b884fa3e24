"""Statistics about one run's curve as records: for people, and never a verdict by themselves."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal, TypeAlias

import numpy as np

from benchseal.compute.arrays import column
from benchseal.compute.judge_curve import Ratio, homogeneity, lack_of_fit, levels_of
from benchseal.compute.run_numbers import record_text
from benchseal.compute.sign_runs import SignRuns, sign_runs
from benchseal.records.results import Diagnostic

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from benchseal.compute.fit import Fit

_Name: TypeAlias = Literal["mandel", "lack_of_fit", "homogeneity", "sign_runs"]

_ISO_8466_1, _ISO_11095 = "ISO 8466-1 (from memory)", "ISO 11095 (from memory)"
_WALD_WOLFOWITZ = "Wald and Wolfowitz, Ann. Math. Statist. 11 (1940) 147 (from memory), exact by counting"
_SOURCES: Mapping[_Name, str] = {
    "mandel": _ISO_8466_1,
    "lack_of_fit": _ISO_11095,
    "homogeneity": _ISO_8466_1,
    "sign_runs": _WALD_WOLFOWITZ,
}
_NO_SCATTER = "the points do not scatter about the curve"


def diagnostics_of(
    of: Fit, run: int, better: Ratio | None, readings: Sequence[tuple[float, float]]
) -> tuple[Diagnostic, ...]:
    """Mandel, lack of fit, homogeneity of variance and sign runs of column ``run``, in this order, all four.

    better: ``mandel`` of the whole fit, None where it does not apply. readings: (x, y) of every calibration reading,
    whether the fit is on readings or on means.
    """
    return (
        _mandel(of, run, better),
        _lack_of_fit(of, run),
        _homogeneity(readings),
        _sign_runs(of, run),
    )


def _mandel(of: Fit, run: int, better: Ratio | None) -> Diagnostic:
    if of.model == "line_through_zero":
        return _undefined("mandel", "it compares a line with a quadratic, and this line goes through zero")
    if better is None:
        return _undefined("mandel", "fewer than 4 points")
    if len(set(of.x[:, run].tolist())) < 3:
        return _undefined("mandel", "fewer than 3 different concentrations")
    if np.isnan(better.statistic[run]):
        return _undefined("mandel", "a quadratic leaves no scatter")
    beyond = bool(better.exceeded[run])
    words = f"a quadratic {'fits' if beyond else 'does not fit'} significantly better than a line (99 %)"
    return _ratio("mandel", better, run, words)


def _lack_of_fit(of: Fit, run: int) -> Diagnostic:
    if of.weighting == "1/s2":
        return _undefined("lack_of_fit", "the weights come from the scatter of the same readings")
    test = lack_of_fit(of.one(run), levels_of(of.x[:, run].tolist()))
    if test is None:
        return _undefined("lack_of_fit", "it needs levels of several points, and more levels than coefficients")
    if np.isnan(test.statistic[0]):
        return _undefined("lack_of_fit", "the readings of no level scatter")
    beyond = bool(test.exceeded[0])
    words = f"the levels lie {'further' if beyond else 'no further'} from the curve than their readings explain (95 %)"
    return _ratio("lack_of_fit", test, 0, words)


def _homogeneity(readings: Sequence[tuple[float, float]]) -> Diagnostic:
    levels: dict[float, list[float]] = {}
    for x, y in readings:
        levels.setdefault(x, []).append(y)
    low, high = levels[min(levels)], levels[max(levels)]
    if len(levels) < 2 or min(len(low), len(high)) < 2:
        return _undefined("homogeneity", "it needs two levels of several readings")
    test = homogeneity(column(low), column(high))
    if np.isnan(test.statistic[0]):
        return _undefined("homogeneity", "the readings of the lowest or the highest level do not scatter")
    beyond = bool(test.exceeded[0])
    words = f"the readings of lowest and highest level scatter {'differently' if beyond else 'alike'} (99 %)"
    return _ratio("homogeneity", test, 0, words)


def _sign_runs(of: Fit, run: int) -> Diagnostic:
    if not of.scatters[run]:
        return _undefined("sign_runs", _NO_SCATTER)
    x, residuals = of.x[:, run].tolist(), of.residuals[:, run].tolist()
    levels = sorted(levels_of(x), key=lambda level: x[level[0]])
    test = sign_runs([_total([residuals[place] for place in level]) for level in levels])
    if test.few is None:
        return _undefined("sign_runs", f"{_signs(test)}: too few for any number of runs to be beyond chance (5 %)")
    limit = test.many if test.many is not None and test.runs >= test.many else test.few
    many = "" if test.many is None else f", or {test.many} or more"
    words = f"{test.runs} runs of equal sign, {_signs(test)}; beyond chance (5 %): {test.few} or fewer{many}"
    return Diagnostic("sign_runs", str(test.runs), str(limit), 0, 0, test.exceeded, words, _SOURCES["sign_runs"])


def _signs(test: SignRuns) -> str:
    return f"{test.above} levels above the curve and {test.below} below"


def _total(values: Sequence[float]) -> float:
    """Sum from first to last, one addition at a time."""
    total = 0.0
    for value in values:
        total = total + value
    return total


def _ratio(name: _Name, test: Ratio, run: int, words: str) -> Diagnostic:
    return Diagnostic(
        name=name,
        statistic=record_text(float(test.statistic[run])),
        critical=record_text(test.critical),
        df1=test.df1,
        df2=test.df2,
        exceeded=bool(test.exceeded[run]),
        why=words,
        source=_SOURCES[name],
    )


def _undefined(name: _Name, why: str) -> Diagnostic:
    return Diagnostic(name, "", "", 0, 0, False, f"not defined: {why}", _SOURCES[name])
