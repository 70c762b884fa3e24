"""Charts over runs: data of NIST, a law of Student, and the door whose run rules are held by published figures."""

from __future__ import annotations

import statistics
from fractions import Fraction
from math import sqrt

import numpy as np
from scipy.stats import t as student

from benchseal.compute.control_chart import WISHED_BASE
from benchseal.compute.history_chart import Value, chart_of, text_of

from .published import calc, dataset, digits


def day(n: int, found: str) -> Value:
    """One value a day; day n is the n-th."""
    at = f"2026-{1 + n // 28:02d}-{1 + n % 28:02d}T08:00:00Z"
    return Value(f"R-{n:05d}", 1, 0, 9, at, "L-1", found, "%", n)


def test_limits_of_the_light_of_michelson() -> None:
    """NIST StRD Michelso: centre and s of its first 20 values, by the standard library from the printed decimals."""
    texts = dataset("nist_strd_univariate", "Michelso")["y"]
    (stretch,) = chart_of([day(n, text) for n, text in enumerate(texts)], ("western_electric",), "x").stretches
    exact = [Fraction(text) for text in texts[:WISHED_BASE]]
    assert stretch.limits is not None
    assert (stretch.base, stretch.limits.base, stretch.n) == ("frozen", WISHED_BASE, 100)
    assert stretch.limits.mean == statistics.mean(exact)
    assert digits(float(stretch.limits.s), float(statistics.stdev(exact))) >= 14


def test_the_same_data_through_calc_break_the_same_rules() -> None:
    """The run rules of ``calc`` are held by Champ and Woodall (1987): the other door must find what it finds."""
    texts = dataset("nist_strd_univariate", "Michelso")["y"]
    (stretch,) = chart_of([day(n, text) for n, text in enumerate(texts)], ("western_electric", "nelson"), "x").stretches
    (chart,) = calc(kind="control_chart", values=texts, base_first=WISHED_BASE, rules="both")["charts"]
    assert stretch.limits is not None
    assert chart["breaks"]
    assert [(one.rule, one.words, one.first, one.last, one.in_base) for one in stretch.broken] == [
        tuple(one[key] for key in ("rule", "words", "first_index", "last_index", "in_base")) for one in chart["breaks"]
    ]
    assert [float(text_of(one)) for one in stretch.limits.at(3)] == [float(f"{one:.12g}") for one in chart["control"]]


def test_how_often_a_good_value_lies_beyond_limits_of_twenty() -> None:
    """The next normal value less the mean of 20, over s sqrt(1 + 1/20), follows t with 19 degrees of freedom.

    (The prediction interval of any textbook.) 4000 charts of 21 values, within 4 standard errors.
    """
    rng, charts, beyond = np.random.default_rng(20), 4000, 0
    for drawn in rng.normal(100, 2, (charts, WISHED_BASE + 1)):
        values = [day(n, f"{one:.6f}") for n, one in enumerate(drawn)]
        (stretch,) = chart_of(values, ("western_electric",), "x").stretches
        beyond += any(one.rule.endswith(" 1") and one.last == WISHED_BASE for one in stretch.broken)
    share = 2 * float(student.sf(3 / sqrt(1 + 1 / WISHED_BASE), WISHED_BASE - 1))
    assert abs(beyond / charts - share) < 4 * sqrt(share * (1 - share) / charts)
