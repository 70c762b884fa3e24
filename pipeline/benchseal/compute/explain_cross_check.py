"""What a Monte Carlo cross-check says of a worked result, in words and as values."""

from __future__ import annotations

from math import inf
from typing import TYPE_CHECKING, Final

from benchseal.compute.explain_layout import STEP, counted, heading, prose, table
from benchseal.compute.explain_portion import QUANTITIES
from benchseal.compute.monte_carlo import MOST_DRAWS
from benchseal.compute.run_numbers import record_text, shown
from benchseal.records.elements import element_name
from benchseal.records.quantities import unit_shown

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from benchseal.compute.cross_check import CrossCheck, NoCheck
    from benchseal.records.results import Contribution, WorkedResult

_IN: Final = STEP + STEP
_DIGITS: Final = 6
NO_CHECK: Final[dict[NoCheck, str]] = {
    "below_limit": "it is reported as below its limit: no value is reported that could be drawn around",
    "no_value": "it has no value",
    "no_uncertainty": "its uncertainty is zero: there is nothing to draw",
    "validated": "its uncertainty was found by validation as a whole: no input of it is known to be drawn",
    "corrected_twice": "signals corrected for drift on a stored curve: no model of both is made here",
    "blank_by_additions": "its method blank was not read on the curve: no model of that is made here",
    "no_portions": "no portion counts in it",
    "draws_without_value": (
        "more than one draw in a thousand has no value, the drawn curve not rising or a divisor not above zero: such a"
        " result is not fit for use"
    ),
    "no_finite_value": "a drawn value leaves the range of numbers",
}
# Every line of a budget: how what stands behind it is drawn. Names as ``run_budget.py`` gives them.
_OF_THE_FIT: Final = "a t distribution with the degrees of freedom of the curve; coefficients and readings together"
_STATED: Final = "normal"
_OF_THEIR_SCATTER: Final = "a t distribution with the degrees of freedom of their scatter"
DRAWN_AS: Final[dict[str, str]] = {
    "reading noise": _OF_THE_FIT,
    "calibration curve": _OF_THE_FIT,
    "method blank, reading noise": _OF_THE_FIT,
    "one-standard correction": _OF_THE_FIT,
    "additions line": "a t distribution for each line",
    "between two standards": _OF_THEIR_SCATTER,
    "drift correction, check standards": _OF_THEIR_SCATTER,
    "drift correction, check blanks": _OF_THEIR_SCATTER,
    "method blanks, scatter": _OF_THEIR_SCATTER,
    "standard lot": _STATED,
    "standard lot and its dilution": "the lot normal, glassware as below",
    "glassware": "tolerances triangular, filling normal, temperature rectangular",
    "dilution": _STATED,
    "volume": _STATED,
    "area": _STATED,
    "weighing": "repeatability normal, linearity rectangular at both ends",
    "moisture": _STATED,
    "mean unit mass": _STATED,
    "recovery": "normal, and divided by",
}


def cross_check_lines(result: WorkedResult, found: CrossCheck | NoCheck) -> Iterator[str]:
    """The section of one result, for people."""
    substance = f", given as {result.expressed_as}" if result.expressed_as else ""
    quantity = f"{QUANTITIES[result.quantity]} in {unit_shown(result.unit)}, {result.basis}{substance}"
    yield from heading(f"Monte Carlo cross-check (JCGM 101, from memory): {element_name(result.element)}, {quantity}")
    yield from prose("a look at the result: no part of the record, stored nowhere; what is reported stays as it is")
    if isinstance(found, str):
        yield from prose(f"not drawn: {NO_CHECK[found]}")
        return
    drawn = found.drawn
    yield from prose(f"{drawn.draws} trials from seed {found.seed}, each through the whole model; drawn were")
    yield from table([(f"{name}:", words) for words, name in _by_words(result.contributions)], _IN)
    if drawn.without_value:
        yield from prose(f"{counted(drawn.without_value, 'trial')} had no value and stand aside", _IN)
    yield from table([*_rows(found)], _IN)
    yield from prose(f"twice the standard error of the drawn ends: {_twice_error(found)}", _IN)
    yield from _verdict(found)
    low, high = (_text(one) for one in found.reported)
    words = f"within the reported value ± U, {low} to {high}, lie {found.covered_percent:.2f} % of the trials"
    yield from prose(words)


def _by_words(contributions: Sequence[Contribution]) -> Iterator[tuple[str, str]]:
    """Distribution and names of what is drawn so, in the order of the budget."""
    found: dict[str, list[str]] = {}
    for one in contributions:
        found.setdefault(DRAWN_AS[one.name], []).append(one.name)
    yield from ((words, "; ".join(names)) for words, names in found.items())


def _rows(found: CrossCheck) -> Iterator[tuple[str, ...]]:
    drawn = found.drawn
    yield "", "value", "u", "95 % interval", ""
    interval = "none below one degree of freedom" if found.interval is None else _ends(found.interval)
    df = "no end of degrees of freedom" if found.df == inf else f"{int(found.df)} degrees of freedom"
    k = "" if found.k is None else f"k {_text(found.k, 4)}, {df}"
    yield "law of propagation", _text(found.value), _text(found.u), interval, k
    mean, sd = (_text(one) if found.moments else "none" for one in (drawn.mean, drawn.sd))
    yield "trials", mean, sd, _ends(drawn.symmetric), "as much below as above"
    yield "", "", "", _ends(drawn.shortest), "the shortest of all"


def _verdict(found: CrossCheck) -> Iterator[str]:
    if found.compared is None:
        yield from prose("Verdict: none, since the law of propagation gives no interval to compare")
        return
    delta, apart = _text(found.compared.delta), max(found.compared.apart)
    share = 100.0 * apart / found.u
    differ = f"the ends differ by {' and '.join(_text(one) for one in found.compared.apart)}"
    tolerance = f"tolerance {delta}, half of the last of two digits of u"
    yield from prose(f"{differ}; {tolerance}", _IN)
    if found.compared.validated is None:
        words = f"open: the trials know their ends less well than the tolerance asks. {_more(found.more_draws)}"
    elif found.compared.validated:
        words = "within the tolerance: the interval of the law of propagation stands"
    else:
        words = f"beyond the tolerance, the ends by up to {share:.1f} % of u apart: the law of propagation is not exact"
        words += " here. Where that matters, the drawn interval is the better one"
    yield from prose(f"Verdict: {words}")


def _more(draws: int | None) -> str:
    if draws is None or draws > MOST_DRAWS:
        return f"Not even {MOST_DRAWS} trials would do; the largest difference seen says how near they are"
    return f"About {draws} trials would do"


def _twice_error(found: CrossCheck) -> str:
    return " and ".join(_text(2 * one, 2) for one in found.drawn.u_ends)


def _ends(interval: tuple[float, float]) -> str:
    return f"{_text(interval[0])} to {_text(interval[1])}"


def _text(value: float, digits: int = _DIGITS) -> str:
    return shown(record_text(value), digits)


def cross_check_values(result: WorkedResult, found: CrossCheck | NoCheck) -> dict[str, object]:
    """The same for programs."""
    known: dict[str, object] = {"result_id": result.result_id, "unit": result.unit, "recorded": False}
    if isinstance(found, str):
        return {**known, "not_drawn": found, "why": NO_CHECK[found]}
    drawn, beside = found.drawn, found.compared
    return {
        **known,
        "seed": found.seed,
        "trials": drawn.draws,
        "trials_without_value": drawn.without_value,
        "value": found.value,
        "u": found.u,
        "df": "infinite" if found.df == inf else int(found.df),
        "k": found.k,
        "interval": found.interval,
        "drawn_mean": drawn.mean if found.moments else None,
        "drawn_u": drawn.sd if found.moments else None,
        "interval_symmetric": drawn.symmetric,
        "interval_shortest": drawn.shortest,
        "standard_error_ends": drawn.u_ends,
        "delta": None if beside is None else beside.delta,
        "difference_ends": None if beside is None else beside.apart,
        "validated": None if beside is None else beside.validated,
        "trials_wanted": found.more_draws,
        "percent_within_reported": found.covered_percent,
    }
