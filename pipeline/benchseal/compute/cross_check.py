"""A reported result beside its own model drawn again (JCGM 101, section 8, from memory).

A look at a result, never a part of it: the record holds what the law of propagation gave, and keeps it whatever the
draws say. Whoever asks for the draws names the seed, so that anybody can have the same ones again.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, inf, isfinite
from typing import TYPE_CHECKING, Literal, TypeAlias

import numpy as np

from benchseal.compute.monte_carlo import (
    LEAST_DRAWS,
    MOST_DRAWS,
    USUAL_DRAWS,
    Comparison,
    Drawn,
    NoDraws,
    compared,
    described,
    drawn_values,
)
from benchseal.compute.quantiles import two_sided_t
from benchseal.compute.redraw_result import NotCovered, Redraw
from benchseal.compute.run_results import shares_of
from benchseal.problems import Problem
from benchseal.records.results import BelowLimit, NotReportable

if TYPE_CHECKING:
    from benchseal.compute.run_work import Worked
    from benchseal.records.results import Quantified, WorkedResult
    from benchseal.records.specification import Requirement

LARGEST_SEED = 2**32 - 1
USUAL_SEED = 1
NoCheck: TypeAlias = NotCovered | NoDraws | Literal["below_limit", "no_value", "no_uncertainty"]


@dataclass(frozen=True, slots=True)
class Asked:
    """How many draws, from which seed."""

    draws: int
    seed: int


@dataclass(frozen=True, slots=True)
class CrossCheck:
    """What the draws say of one result; floats in its unit.

    k, interval: of the law of propagation at 95 %, None below one degree of freedom; then compared is None too.
    moments: whether mean and standard deviation exist, fewest degrees of freedom allowing. reported: value and U as
    the record has them, with the share of draws within. more_draws: how many would settle it, None where it is settled.
    """

    seed: int
    value: float
    u: float
    df: float
    k: float | None
    interval: tuple[float, float] | None
    drawn: Drawn
    moments: bool
    compared: Comparison | None
    reported: tuple[float, float]
    covered_percent: float
    more_draws: int | None


def asked_draws(trials: str | None, seed: str | None) -> Asked | tuple[Problem, ...]:
    """Draws and seed out of what was typed, the usual ones where a text is empty; or every Problem of it.

    trials: None where no draws were asked for; a seed alone is a Problem then.
    """
    if trials is None:
        what = "a seed was given and no trials were asked for."
        return (Problem("monte-carlo.seed-alone", "--seed", what, "Add --monte-carlo, or leave out the seed."),)
    number, start = _whole(trials, USUAL_DRAWS), _whole(seed, USUAL_SEED)
    problems: list[Problem] = []
    if number is None or not LEAST_DRAWS <= number <= MOST_DRAWS:
        what = f"{_quoted(trials)} is no number of trials; due is a whole number from {LEAST_DRAWS} to {MOST_DRAWS}."
        problems.append(Problem("monte-carlo.trials", "--monte-carlo", what, f"{USUAL_DRAWS} are usual."))
    if start is None or not 0 <= start <= LARGEST_SEED:
        what = f"{_quoted(seed)} is no seed; due is a whole number from 0 to {LARGEST_SEED}."
        problems.append(Problem("monte-carlo.seed", "--seed", what, "Write such a number; note it beside the answer."))
    if number is None or start is None or problems:
        return tuple(problems)
    return Asked(number, start)


def _whole(text: str | None, usual: int) -> int | None:
    if not text:
        return usual
    return int(text) if text.isascii() and text.isdecimal() and len(text) <= 10 else None


def _quoted(text: str | None) -> str:
    return ascii(text if text is None or len(text) <= 40 else f"{text[:37]}...")


def cross_check(worked: Worked, requirement: Requirement, result: WorkedResult, asked: Asked) -> CrossCheck | NoCheck:
    """Drawn values of one result of the run, beside what the record says of it.

    worked: the calculation that gave ``result``, made again. requirement: the line of the specification it serves.
    """
    outcome = result.outcome
    if isinstance(outcome, NotReportable):
        return "no_value"
    if isinstance(outcome, BelowLimit):
        return "below_limit"
    model = Redraw(worked, requirement, shares_of(worked.chosen, result.sample, requirement))
    fault = model.not_covered
    if fault is not None:
        return fault
    if float(outcome.u) == 0:
        return "no_uncertainty"
    values = drawn_values(model.values, asked.draws, asked.seed)
    if isinstance(values, str):
        return values
    reach = float(outcome.k) * float(outcome.u)
    reported = float(outcome.value) - reach, float(outcome.value) + reach
    first, last = np.searchsorted(values, reported[0], "left"), np.searchsorted(values, reported[1], "right")
    drawn = described(values, asked.draws - len(values))
    return _beside(outcome, drawn, (asked.seed, model.least_df), reported, 100.0 * float(last - first) / len(values))


def _beside(
    outcome: Quantified, drawn: Drawn, of: tuple[int, float], reported: tuple[float, float], covered_percent: float
) -> CrossCheck:
    """of: seed and fewest degrees of freedom."""
    value, u, df = float(outcome.value), float(outcome.u), float(outcome.df or inf)
    k = two_sided_t(0.95, df) if df >= 1 else None
    interval = None if k is None else (value - k * u, value + k * u)
    comparison = None if interval is None else compared(drawn, interval, u)
    return CrossCheck(
        seed=of[0],
        value=value,
        u=u,
        df=df,
        k=k,
        interval=interval,
        drawn=drawn,
        moments=of[1] > 2,
        compared=comparison,
        reported=reported,
        covered_percent=covered_percent,
        more_draws=_more(drawn, comparison),
    )


def _more(drawn: Drawn, found: Comparison | None) -> int | None:
    """Draws at which twice the standard error of the ends comes down to delta; it falls with their square root."""
    if found is None or found.validated is not None or not isfinite(found.delta):
        return None
    return ceil(drawn.draws * (2 * max(drawn.u_ends) / found.delta) ** 2)
