"""Working standards from one stock with the pipettes and flasks at hand: chains of dilutions, exact, and how sure.

Chains hit the wanted concentration exactly, as ratios of nominal volumes, or not at all. Where one intermediate serves
all levels, all are made from it. The uncertainty of a chain is that which a run takes of a method that states the same
steps. A worksheet is arithmetic: how to handle stock and acid safely is said by the laboratory's own procedure.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from functools import cache
from itertools import pairwise, product
from math import ceil, sqrt
from typing import TYPE_CHECKING, TypeAlias

from benchseal.compute.run_numbers import exact_text, fraction_of, record_text
from benchseal.compute.run_ware import u_of_standard_steps
from benchseal.problems import Problem
from benchseal.records.preparation import DilutionStep
from benchseal.records.quantities import PlainDecimal, unit_factor

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence

    from benchseal.records.method import Glassware, UncertaintyPlan
    from benchseal.records.registers import StandardLot

Chain: TypeAlias = tuple[DilutionStep, ...]
_ByFactor: TypeAlias = "Mapping[Fraction, Sequence[DilutionStep]]"
MOST_STEPS = 4
LEAST_ALIQUOT_ML = Fraction(1)  # common practice, no source: below it a drop left in the tip counts too much


@dataclass(frozen=True, slots=True)
class WorkingStandard:
    """One level. steps: from the stock on. holds: by the certificate's value, in the unit asked for.

    u_chain_percent, u_percent: relative standard uncertainty of the dilutions, and with the stock's own.
    """

    wanted: PlainDecimal
    steps: Chain
    holds: PlainDecimal
    u_chain_percent: PlainDecimal
    u: PlainDecimal
    u_percent: PlainDecimal


@dataclass(frozen=True, slots=True)
class StandardsWorksheet:
    """Levels in the order asked for. unit: of wanted, holds and u.

    common: steps that every level begins with. taken_ml: of what they lead to, all levels together; fillings: how many
    flasks of it that takes. Both 0 without common steps.
    """

    lot: StandardLot
    unit: str
    common: Chain
    taken_ml: PlainDecimal
    fillings: int
    standards: tuple[WorkingStandard, ...]


def worksheet_of(
    lot: StandardLot, wanted: Sequence[PlainDecimal], unit: str, ware: UncertaintyPlan, least_ml: PlainDecimal = ""
) -> StandardsWorksheet | tuple[Problem, ...]:
    """Chains for every level above zero, or a Problem for each that cannot be made.

    ware: pieces at hand, temperature range; least_ml: of the last flask, or empty.
    """
    levels = [text for text in dict.fromkeys(wanted) if Decimal(text) > 0]
    stock = fraction_of(lot.prepared_as or lot.value) * unit_factor(lot.unit, unit)
    factors = {text: stock / fraction_of(text) for text in levels}
    steps = _steps(ware.glassware)
    last = _by_factor(step for step in steps if not least_ml or fraction_of(step.final_ml) >= fraction_of(least_ml))
    common, chains = (_shared(factors, steps, last, ware) if levels else None) or (
        (),
        _alone(factors, steps, last, ware),
    )
    lacking = [text for text in levels if text not in chains]
    if not levels or lacking:
        return tuple(_cannot(lot, lacking, unit, factors, least_ml)) or (
            Problem("standard.nothing-wanted", lot.lot, "no concentration above zero is asked for.", "Name one."),
        )
    value = fraction_of(lot.value) * unit_factor(lot.unit, unit)
    made = tuple(_made(lot, text, chains[text], value, ware) for text in levels)
    taken = sum((fraction_of(chains[text][len(common)].aliquot_ml) for text in levels), Fraction(0)) if common else 0
    fillings = ceil(taken / fraction_of(common[-1].final_ml)) if common else 0
    return StandardsWorksheet(lot, unit, common, exact_text(Fraction(taken)), fillings, made)


def factor_of(chain: Chain) -> Fraction:
    """How many times a chain dilutes."""
    factor = Fraction(1)
    for step in chain:
        factor *= _factor(step)
    return factor


@cache
def _factor(step: DilutionStep) -> Fraction:
    return fraction_of(step.final_ml) / fraction_of(step.aliquot_ml)


def u_of_chain_percent(chain: Chain, ware: UncertaintyPlan) -> float:
    """Relative standard uncertainty of a chain; a piece used twice is one deviation and counts twice."""
    return 100.0 * u_of_standard_steps(replace(ware, standard_steps=chain))


def _made(
    lot: StandardLot, wanted: PlainDecimal, chain: Chain, value: Fraction, ware: UncertaintyPlan
) -> WorkingStandard:
    holds = value / factor_of(chain)
    of_chain = u_of_chain_percent(chain, ware)
    whole = sqrt(of_chain * of_chain + float(lot.u_percent or "0") ** 2)
    return WorkingStandard(
        wanted,
        chain,
        wanted if holds == fraction_of(wanted) else exact_text(holds),
        record_text(of_chain),
        record_text(float(holds) * whole / 100),
        record_text(whole),
    )


def _cannot(
    lot: StandardLot,
    lacking: Sequence[PlainDecimal],
    unit: str,
    factors: Mapping[PlainDecimal, Fraction],
    least_ml: PlainDecimal,
) -> Iterator[Problem]:
    flask = f" into a last flask of {least_ml} mL or more (--least-ml)" if least_ml else ""
    for text in lacking:
        if factors[text] <= 1:
            yield _above(lot, text, unit, itself=factors[text] == 1)
            continue
        times = exact_text(factors[text])
        what = (
            f"{text} {unit} is the stock diluted {times} times; no chain of {MOST_STEPS} steps with this ware gives it"
            f"{flask}. No aliquot is below {exact_text(LEAST_ALIQUOT_ML)} mL."
        )
        remedy = (
            "Add ware (to the method, or to the file of --ware), ask for another level"
            f"{' or a smaller flask' if flask else ''}; where the lot is diluted as a rounded value, enter that "
            "(prepared_as)."
        )
        yield Problem("standard.no-chain", lot.lot, what, remedy)


def _above(lot: StandardLot, text: PlainDecimal, unit: str, *, itself: bool) -> Problem:
    """A level no dilution gives."""
    if itself:
        what = f"{text} {unit} is what the lot itself holds; no dilution gives it."
        return Problem("standard.no-chain", lot.lot, what, "Take it undiluted, and leave the level out.")
    what = f"{text} {unit} is above the stock of {lot.prepared_as or lot.value} {lot.unit}; no ware concentrates."
    return Problem("standard.no-chain", lot.lot, what, "Ask for levels below the stock, or take a lot that holds more.")


def _steps(glassware: Sequence[Glassware]) -> tuple[DilutionStep, ...]:
    """Every true dilution with one pipette and one flask, no aliquot below ``LEAST_ALIQUOT_ML``."""
    pipettes = {one.nominal_ml for one in glassware if one.kind == "pipette"}
    flasks = {one.nominal_ml for one in glassware if one.kind == "flask"}
    return tuple(
        DilutionStep(aliquot, final)
        for aliquot, final in product(sorted(pipettes, key=Decimal), sorted(flasks, key=Decimal))
        if LEAST_ALIQUOT_ML <= fraction_of(aliquot) < fraction_of(final)
    )


def _by_factor(steps: Iterable[DilutionStep]) -> _ByFactor:
    found: dict[Fraction, list[DilutionStep]] = {}
    for step in steps:
        found.setdefault(factor_of((step,)), []).append(step)
    return found


def _shared(
    factors: Mapping[PlainDecimal, Fraction],
    steps: Sequence[DilutionStep],
    last: _ByFactor,
    ware: UncertaintyPlan,
) -> tuple[Chain, dict[PlainDecimal, Chain]] | None:
    """The best beginning from which every level is one step away; fewest steps, then the surest worst level."""
    for count in range(MOST_STEPS):
        found = []
        for common in _beginnings(steps, count, factors.values(), last):
            chains = {text: _finished(common, factor, last, ware) for text, factor in factors.items()}
            if all(chains.values()):
                whole = {text: chain for text, chain in chains.items() if chain}
                found.append((max(u_of_chain_percent(one, ware) for one in whole.values()), _ml(common), common, whole))
        if found:
            best = min(found, key=lambda one: one[:2])
            return best[2], best[3]
    return None


def _beginnings(
    steps: Sequence[DilutionStep], count: int, factors: Collection[Fraction], last: _ByFactor
) -> Iterator[Chain]:
    """Chains of ``count`` steps from which one more leads to every factor."""
    for common in product(steps, repeat=count):
        so_far = factor_of(common)
        if all(factor / so_far in last for factor in factors) and _follows(common):
            yield common


def _alone(
    factors: Mapping[PlainDecimal, Fraction],
    steps: Sequence[DilutionStep],
    last: _ByFactor,
    ware: UncertaintyPlan,
) -> dict[PlainDecimal, Chain]:
    """Each level by the shortest chain of its own; those with none are left out."""
    found: dict[PlainDecimal, Chain] = {}
    for text, factor in factors.items():
        for count in range(MOST_STEPS):
            begun = _beginnings(steps, count, [factor], last)
            chains = [chain for common in begun if (chain := _finished(common, factor, last, ware))]
            if chains:
                found[text] = min(chains, key=lambda one: (u_of_chain_percent(one, ware), _ml(one)))
                break
    return found


def _finished(common: Chain, factor: Fraction, last: _ByFactor, ware: UncertaintyPlan) -> Chain:
    """The chain that one more step makes of ``common``, the surest; empty where none does."""
    due = factor / factor_of(common)
    chains = [(*common, step) for step in last.get(due, ()) if _follows((*common, step))]
    return min(chains, key=lambda one: (u_of_chain_percent(one, ware), _ml(one)), default=())


def _follows(chain: Chain) -> bool:
    """Whether each flask holds the aliquot taken from it."""
    return all(fraction_of(after.aliquot_ml) <= fraction_of(before.final_ml) for before, after in pairwise(chain))


def _ml(chain: Chain) -> Fraction:
    return sum((fraction_of(step.final_ml) for step in chain), Fraction(0))
