"""The uncertainty of one result: a mean of portions on one curve, with what is shared between them kept shared.

For r = mean of (c_j DF_j - blank) K_j (JCGM 100, 5.1 and 5.2). A portion evaluated by standard additions has its own
line, which takes the place of noise and curve; lines of different portions are independent. So do the readings of a
portion read between two standards (``run_budget_bracketing.py``). Where a stored curve is
corrected by one standard, the readings of that standard and its blank are common to all portions; where signals are
corrected for drift, those of the checks they are corrected by are. Otherwise
reading noise is the portions' own and adds in squares; the curve is one for all, so the sensitivities to its
coefficients are summed first and G' V G taken once; standards, volumetric ware, unit mass and recovery are taken as
common to all portions (the same lot, the same pieces of ware), which never understates; weighings are each their own,
but for the balance's linearity. An uncertainty found by validation takes the place of all of it.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf, sqrt
from typing import TYPE_CHECKING

import numpy as np

from benchseal.compute.arrays import column, root_of_squares, square
from benchseal.compute.budget import combine, u_of_balance_difference
from benchseal.compute.invert import quadratic_form
from benchseal.compute.run_budget_bracketing import u_between
from benchseal.compute.run_numbers import record_text
from benchseal.compute.run_ware import flask_for, pieces_for, u_of_pieces, u_of_standard_steps
from benchseal.records.results import Contribution

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from benchseal.compute.arrays import Array
    from benchseal.compute.run_portions import Blank, Chosen, Net
    from benchseal.records.method import UncertaintyPlan
    from benchseal.records.quantities import PlainDecimal
    from benchseal.records.specification import Quantity, Requirement

BY_MASS: frozenset[Quantity] = frozenset({"content", "amount_per_unit", "percent_of_claim"})
BY_UNIT: frozenset[Quantity] = frozenset({"amount_per_unit", "percent_of_claim"})
_AT_THE_INSTRUMENT = -1  # the step of the extra dilution
NOISE, CURVE, BLANK_NOISE = "reading noise", "calibration curve", "method blank, reading noise"
ADDITIONS = "additions line"
BRACKETING = "between two standards"
ONE_STANDARD = "one-standard correction"
DRIFT_STANDARDS, DRIFT_BLANKS = "drift correction, check standards", "drift correction, check blanks"


@dataclass(frozen=True, slots=True)
class Term:
    """One contribution in the result's unit; df infinite where the uncertainty is stated, not estimated here.

    regression: part of the one group that has the degrees of freedom of the curve (JCGM 100, G.4).
    """

    name: str
    u: float
    df: float = inf
    regression: bool = False


@dataclass(frozen=True, slots=True)
class Share:
    """One portion's part of a result: factor K to the result's unit, and the size proportional terms are taken of."""

    net: Net
    factor: float
    size: float


@dataclass(frozen=True, slots=True)
class Uncertainty:
    """Standard uncertainty of record, effective degrees of freedom (empty: no end to them), and the budget."""

    u: PlainDecimal
    df: PlainDecimal
    contributions: tuple[Contribution, ...]


def uncertainty_of(chosen: Chosen, requirement: Requirement, shares: Sequence[Share]) -> Uncertainty:
    """Uncertainty of the mean of ``shares``; every share has the requirement's quantity and unit."""
    terms = [term for term in _terms(chosen, requirement, shares) if term.u > 0]
    each = combine(_column(term.u for term in terms), _column(inf for _ in terms))
    grouped = [term for term in terms if not term.regression]
    group = root_of_squares(term.u for term in terms if term.regression)
    whole = combine(
        _column((group, *(term.u for term in grouped))),
        _column((float(chosen.solved.df), *(term.df for term in grouped))),
    )
    df = float(whole.df[0])
    contributions = tuple(
        Contribution(term.name, record_text(term.u), record_text(share))
        for term, share in zip(terms, each.shares_percent[:, 0].tolist(), strict=True)
    )
    return Uncertainty(record_text(float(each.u[0])), "" if df == inf else str(int(df)), contributions)


def _terms(chosen: Chosen, requirement: Requirement, shares: Sequence[Share]) -> Iterator[Term]:
    plan = chosen.method.uncertainty
    if plan.s0 and plan.s1_percent:
        yield _validated(plan, shares)
        return
    yield from _regression(chosen, shares)
    yield from _stated(chosen, requirement, shares)


def _validated(plan: UncertaintyPlan, shares: Sequence[Share]) -> Term:
    """Of one determination sqrt((s0 scale)^2 + (s1 c)^2), s0 carried as a limit is (QUAM appendix E.5, from memory).

    It was found for one determination and nobody says how much of it is common to portions prepared and read together;
    so all of it is taken as common: the mean of portions has the mean of their u, and nothing is divided by sqrt(n).
    """
    constant, part = float(plan.s0), _relative(plan.s1_percent)
    each = (
        root_of_squares((constant * float(share.net.dilution) * share.factor, part * share.size)) for share in shares
    )
    return Term("validated uncertainty", _total(each) / len(shares))


def _regression(chosen: Chosen, shares: Sequence[Share]) -> Iterator[Term]:
    """What the readings and the curve give."""
    count = len(shares)
    on_curve = [share for share in shares if share.net.measured.on_curve]
    yield Term(NOISE, root_of_squares(_own_part(share, count) for share in on_curve), regression=True)
    yield _additions([share for share in shares if share.net.measured.series is not None], count)
    yield _bracketed(shares, count)
    blank = shares[0].net.blank
    if blank is not None:
        yield _blank_term(blank, [share.factor / count for share in shares])
    at = _carried(chosen.solved.gradient, shares).reshape(-1, 1, 1)
    curve = float(quadratic_form(chosen.solved.covariance[:, :, None], at, at)[0, 0])
    yield Term(CURVE, sqrt(max(curve, 0.0)), regression=True)
    if chosen.solved.correction is not None:
        parts = _carried(chosen.solved.correction, shares).tolist()
        yield Term(ONE_STANDARD, root_of_squares(parts), regression=True)
    yield from _drift(chosen, shares)


def _drift(chosen: Chosen, shares: Sequence[Share]) -> Iterator[Term]:
    """What the checks put in that signals are corrected by, with the degrees of freedom of their own scatter."""
    rows = chosen.solved.drift
    if rows is None:
        return
    for name, own, df in (
        (DRIFT_STANDARDS, rows.standards, rows.df_standards),
        (DRIFT_BLANKS, rows.blanks, rows.df_blanks),
    ):
        parts = _carried(own, shares).tolist()
        yield Term(name, root_of_squares(parts), df=float(df))


def _carried(rows: Array, shares: Sequence[Share]) -> Array:
    """What is common to the solutions of a run, carried to the mean of ``shares`` less their blank; rows: (k, all).

    Portions with their own line of additions, and those read between two standards, have no part in it.
    """
    count, blank = len(shares), shares[0].net.blank
    total: Array = np.zeros(len(rows))
    for share in shares:
        if share.net.measured.on_curve:
            own = rows[:, share.net.measured.index]
            total = total + own * (share.factor * float(share.net.dilution) / count)
    if blank is not None:
        total = total - _total(share.factor / count for share in shares) * _blank_rows(rows, blank)
    return total


def _own_part(share: Share, count: int) -> float:
    """What the readings of one portion, or its line of additions, put into the mean of ``count``."""
    return share.factor * float(share.net.dilution) * share.net.measured.u_reading / count


def _additions(shares: Sequence[Share], count: int) -> Term:
    """The portions' own lines, each with its own degrees of freedom, as one term.

    nu = u^4/sum(u_j^4/nu_j) of the term gives the same whole as every line by itself (JCGM 100, G.4).
    """
    parts = [(_own_part(share, count), share.net.measured.series) for share in shares]
    u = root_of_squares(part for part, _ in parts)
    spread = _total((part / u) ** 4 / series.df for part, series in parts if series is not None and u > 0)
    return Term(ADDITIONS, u, df=1.0 / spread if spread > 0 else inf)


def _bracketed(shares: Sequence[Share], count: int) -> Term:
    """The portions read between two standards as one term, with the degrees of freedom of the one scatter in it."""
    read = [(share, share.net.measured.bracket) for share in shares]
    parts = [
        (share.factor * float(share.net.dilution) / count, bracket) for share, bracket in read if bracket is not None
    ]
    return Term(BRACKETING, u_between(parts), df=float(parts[0][1].df) if parts else inf)


def _blank_rows(rows: Array, blank: Blank) -> Array:
    total: Array = np.zeros(len(rows))
    for one, dilution in zip(blank.readings, blank.dilutions, strict=True):
        total = total + rows[:, one.index] * (dilution / len(blank.readings))
    return total


def _blank_term(blank: Blank, levers: Sequence[float]) -> Term:
    """The blank's own part: for one blank its reading noise.

    For several s^2/n for their mean, and s^2 once for each portion, whose own blank part scatters likewise;
    their scatter holds the reading noise.
    """
    lever, count = _total(levers), len(blank.readings)
    if count == 1:
        return Term(BLANK_NOISE, abs(lever) * blank.dilutions[0] * blank.readings[0].u_reading, regression=True)
    values = [one.x * dilution for one, dilution in zip(blank.readings, blank.dilutions, strict=True)]
    variance = _total(square(value - blank.value) for value in values) / (count - 1)
    own = _total(one * one for one in levers)
    return Term("method blanks, scatter", sqrt(variance * (lever * lever / count + own)), df=float(count - 1))


def _stated(chosen: Chosen, requirement: Requirement, shares: Sequence[Share]) -> Iterator[Term]:
    """What the method, the standard's certificate and the preparation state."""
    plan, quantity = chosen.method.uncertainty, requirement.quantity
    whole = _total(share.size for share in shares) / len(shares)
    yield _standard(chosen, whole)
    yield from _ware(chosen, quantity, shares)
    if quantity == "release_per_area":
        yield Term("area", whole * _relative(plan.area_percent))
    if quantity in BY_MASS:
        yield Term("weighing", _weighing(plan, shares))
    if requirement.basis == "dry":
        yield Term("moisture", _moisture(shares))
    if quantity in BY_UNIT:
        yield Term("mean unit mass", _unit_mass(shares))
    yield Term("recovery", whole * _relative(plan.recovery_percent))


def _standard(chosen: Chosen, whole: float) -> Term:
    """Lot and dilutions of the standards: one relative deviation of all levels, so outside the regression."""
    lot = _relative(chosen.bench.lots[chosen.run.standard_lots[0]].u_percent)
    plan = chosen.method.uncertainty
    if not plan.standard_steps:
        return Term("standard lot", whole * lot)
    steps = u_of_standard_steps(plan)
    return Term("standard lot and its dilution", whole * sqrt(lot * lot + steps * steps))


def _weighing(plan: UncertaintyPlan, shares: Sequence[Share]) -> float:
    """Repeatability is each weighing's own; linearity, twice for a difference, is the balance's and common to all."""
    per_gram = [share.size / len(shares) / float(share.net.portion.mass_g) for share in shares]
    repeatability = float(plan.mass_g or "0")
    own = root_of_squares(one * repeatability for one in per_gram)
    if not plan.balance_linearity_g:
        return own
    common = _total(per_gram) * u_of_balance_difference(float(plan.balance_linearity_g), 0.0)
    return root_of_squares((own, common))


def _moisture(shares: Sequence[Share]) -> float:
    """dw/dM = w/(1 - M). The moisture of a sample is found once for its portions, so its part is common to them."""
    return _total(
        share.size
        / len(shares)
        * float(share.net.portion.u_moisture_percent or "0")
        / (100.0 - float(share.net.portion.moisture_percent or "0"))
        for share in shares
    )


def _unit_mass(shares: Sequence[Share]) -> float:
    """The mean mass of one unit was found once, so its part is the same in all portions."""
    return _total(
        share.size / len(shares) * float(share.net.portion.u_unit_mass_g or "0") / float(share.net.portion.unit_mass_g)
        for share in shares
    )


def _ware(chosen: Chosen, quantity: Quantity, shares: Sequence[Share]) -> Iterator[Term]:
    """Volumes and dilution steps: by the pieces listed, and by the method's percentages where a piece is not listed.

    With percentages a step is common to the portions that have it, and steps are independent. Where an undiluted
    blank was taken off, dilution acts on the gross value.
    """
    plan = chosen.method.uncertainty
    by_piece: dict[str, float] = {}
    by_step: dict[int, float] = {}
    loose: list[float] = []
    for share in shares:
        flask = flask_for(plan, share.net.portion.volume_ml) if quantity != "concentration" else ()
        uses = [(piece.name, share.size) for piece in flask]
        if quantity != "concentration" and not flask:
            loose.append(share.size)
        diluted = _diluted_size(chosen, share)
        for place, step in enumerate(share.net.portion.dilutions.get(chosen.element, ())):
            pieces = pieces_for(plan, step)
            uses += [(piece.name, diluted) for piece in pieces]
            if not pieces:
                by_step[place] = by_step.get(place, 0.0) + diluted / len(shares)
        if share.net.measured.extra != 1:
            by_step[_AT_THE_INSTRUMENT] = by_step.get(_AT_THE_INSTRUMENT, 0.0) + diluted / len(shares)
        for name, size in uses:
            by_piece[name] = by_piece.get(name, 0.0) + size / len(shares)
    yield Term("glassware", u_of_pieces(plan, by_piece))
    dilution = root_of_squares(by_step.values())
    yield Term("dilution", dilution * _relative(plan.dilution_step_percent))
    yield Term("volume", _total(loose) / len(shares) * _relative(plan.volume_percent))


def _diluted_size(chosen: Chosen, share: Share) -> float:
    if chosen.method.blank_subtraction == "undiluted":
        return max(share.size, abs(share.net.gross * share.factor))
    return share.size


def _relative(percent: PlainDecimal) -> float:
    return float(percent or "0") / 100.0


def _total(values: Iterable[float]) -> float:
    """Sum from first to last, one addition at a time."""
    total = 0.0
    for value in values:
        total = total + value
    return total


def _column(values: Iterable[float]) -> Array:
    return column(tuple(values))
