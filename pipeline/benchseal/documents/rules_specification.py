"""Rules of a specification beyond its schema."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING

from benchseal.documents.judge import Fault, Path
from benchseal.documents.rules_sums import sum_faults
from benchseal.records.elements import SYMBOLS
from benchseal.records.quantities import decimal_of, decimals_of, plain, unit_factor
from benchseal.records.species import expression_factor

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.records.specification import Requirement, Specification

# Any unit of the same kind serves (quantities.unit_factor).
_UNIT_OF = {
    "concentration": "mg/L",
    "content": "mg/kg",
    "amount_per_unit": "mg",
    "percent_of_claim": "%",
    "release_per_area": "mg/dm2",
}
_PER_UNIT = {"amount_per_unit", "percent_of_claim"}


def specification_faults(specification: Specification) -> Iterator[Fault]:
    """Every rule a specification breaks."""
    seen: dict[tuple[str, ...], int] = {}
    for index, requirement in enumerate(specification.requirements):
        path: Path = ("requirements", index)
        yield from _unit(requirement, path)
        yield from _limits(requirement, path)
        yield from _singles(requirement, path)
        yield from _claim(specification, requirement, path)
        yield from _decimals(requirement, path)
        yield from _basis(requirement, path)
        yield from _substance(requirement, path)
        yield from _exposure(requirement, path)
        key = (requirement.element, requirement.quantity, requirement.basis, requirement.expressed_as)
        if key in seen:
            named = ", ".join(part for part in key[1:] if part)
            what = f"{requirement.element} as {named} stands twice; first as no. {seen[key] + 1}."
            yield _fault((*path, "element"), "requirement-twice", what, "Remove one.")
        seen.setdefault(key, index)
        if len(set(requirement.methods)) != len(requirement.methods):
            yield _fault((*path, "methods"), "method-twice", "A method is listed twice.", "List each once.")
    for index, asked in enumerate(specification.sums):
        for rule in (_unit, _limits, _decimals, _basis):
            yield from rule(asked.as_line(), ("sums", index))
    yield from sum_faults(specification)


def _fault(path: Path, code: str, what: str, remedy: str) -> Fault:
    return Fault(path, f"documents.specification-{code}", what, remedy)


def _unit(requirement: Requirement, path: Path) -> Iterator[Fault]:
    due = _UNIT_OF[requirement.quantity]
    try:
        unit_factor(requirement.unit, due)
        fits = requirement.unit == due or requirement.quantity != "percent_of_claim"
    except ValueError:
        fits = False
    if not fits:
        what = f"Unit {requirement.unit} does not fit {requirement.quantity}; due: a unit like {due}."
        yield _fault((*path, "unit"), "unit", what, "Correct the unit or the quantity.")


def _limits(requirement: Requirement, path: Path) -> Iterator[Fault]:
    for name in ("lower", "upper"):
        limit = getattr(requirement, name)
        if limit and decimal_of(limit) < 0:
            yield _fault((*path, name), "limit-negative", f"{name} {limit} is below zero.", "Correct the limit.")
    if requirement.lower and requirement.upper and decimal_of(requirement.lower) >= decimal_of(requirement.upper):
        what = f"lower {requirement.lower} is not below upper {requirement.upper}."
        yield _fault((*path, "lower"), "limits", what, "Correct the limits.")
    if not (requirement.lower or requirement.upper) and requirement.rule != "simple":
        what = f"The rule {requirement.rule} has no limit to decide by."
        yield _fault(
            (*path, "rule"), "rule-without-limit", what, "Give a limit, or use the rule simple to report only."
        )


def _singles(requirement: Requirement, path: Path) -> Iterator[Fault]:
    """Limits of single portions: wider than those of the mean, by rules that need no uncertainty of one portion."""
    given = {"portion_lower": requirement.portion_lower, "portion_upper": requirement.portion_upper}
    for name, limit in given.items():
        mean = getattr(requirement, name.removeprefix("portion_"))
        what = ""
        if limit and not mean:
            what = f"{name} {limit} is given, but {name.removeprefix('portion_')} is not."
        elif limit and decimal_of(limit) < 0:
            what = f"{name} {limit} is below zero."
        elif limit and (decimal_of(limit) - decimal_of(mean)) * (1 if name == "portion_upper" else -1) < 0:
            what = f"{name} {limit} is narrower than the limit of the mean, {mean}."
        if what:
            yield _fault((*path, name), "portion-limit", what, "Give a limit of the mean as well, and none narrower.")
    first = next((name for name, limit in given.items() if limit), "")
    if first and requirement.portions < 2:
        what = f"{first} is given, but {requirement.portions} portion makes the result."
        yield _fault((*path, first), "portion-limit", what, "Ask for two portions or more, or leave it out.")
    if first and requirement.rule not in {"simple", "pharma"}:
        what = f"the rule {requirement.rule} needs an uncertainty, and none is made of a single portion."
        yield _fault((*path, first), "portion-limit", what, "Use the rule simple or pharma, or leave it out.")


def _claim(specification: Specification, requirement: Requirement, path: Path) -> Iterator[Fault]:
    claimed = requirement.quantity == "percent_of_claim"
    if claimed and (not requirement.claim_mg or decimal_of(requirement.claim_mg) == 0):
        what = "percent_of_claim needs claim_mg, the declared milligrams a unit."
        yield _fault((*path, "claim_mg"), "claim", what, "Add claim_mg.")
    if not claimed and requirement.claim_mg:
        what = f"claim_mg has no meaning for {requirement.quantity}."
        yield _fault((*path, "claim_mg"), "claim", what, "Remove it.")
    if requirement.quantity in _PER_UNIT and not specification.unit_name:
        what = f"{requirement.quantity} needs unit_name, the word for one unit."
        yield _fault((*path, "quantity"), "unit-name", what, "Add unit_name, for instance tablet.")


def _decimals(requirement: Requirement, path: Path) -> Iterator[Fault]:
    own = (requirement.lower, requirement.upper, requirement.portion_lower, requirement.portion_upper)
    places = max((decimals_of(limit) for limit in own if limit), default=0)
    if 0 <= requirement.decimals < places:
        what = f"decimals {requirement.decimals} is fewer than the {places} places of the limit."
        yield _fault((*path, "decimals"), "decimals", what, "Report at least the places of the limit.")


def _basis(requirement: Requirement, path: Path) -> Iterator[Fault]:
    if requirement.basis == "dry" and requirement.quantity != "content":
        what = f"{requirement.quantity} on dry basis has no meaning; only a content has one."
        yield _fault((*path, "basis"), "basis", what, "Say as received, or ask for the content.")


def _substance(requirement: Requirement, path: Path) -> Iterator[Fault]:
    if requirement.element not in SYMBOLS:
        what = f"'{requirement.element}' is no symbol of an element."
        yield _fault((*path, "element"), "element-unknown", what, "Correct it.")
        return
    if not requirement.expressed_as:
        return
    if requirement.quantity == "percent_of_claim":
        what = f"percent_of_claim is of the element's claim and cannot be given as {requirement.expressed_as}."
        yield _fault((*path, "expressed_as"), "substance", what, "Leave expressed_as out; claim_mg is of the element.")
    try:
        expression_factor(requirement.expressed_as, requirement.element)
    except ValueError as fault:
        what = f"expressed_as '{requirement.expressed_as}' for {requirement.element}: {fault}."
        remedy = "Write a formula such as CaCO3 that holds the element, or leave expressed_as out."
        yield _fault((*path, "expressed_as"), "substance", what, remedy)


def _exposure(requirement: Requirement, path: Path) -> Iterator[Fault]:
    """A limit that comes from a permitted daily exposure: exposure over the largest daily dose, rounded down."""
    exposure, dose = requirement.pde_ug_per_day, requirement.daily_dose_g
    given = {"pde_ug_per_day": exposure, "daily_dose_g": dose, "route": requirement.route}
    if not any(given.values()):
        return
    lacking = [name for name, text in given.items() if not text]
    if lacking:
        what = f"pde_ug_per_day, daily_dose_g and route belong together; lacking: {', '.join(lacking)}."
        yield _fault((*path, lacking[0]), "exposure", what, "Give all three, or none.")
        return
    for name in ("pde_ug_per_day", "daily_dose_g"):
        if decimal_of(given[name]) == 0:
            yield _fault((*path, name), "exposure", f"{name} is {given[name]}.", "Give a number above zero.")
            return
    if requirement.quantity != "content" or requirement.basis != "as received" or requirement.expressed_as:
        what = "A daily exposure limits the content of the element, as received: the dose is a mass as taken."
        remedy = "Ask for that, or give the limit alone and say in limit_source how it was reached."
        yield _fault((*path, "pde_ug_per_day"), "exposure", what, remedy)
        return
    yield from _exposure_limit(requirement, path)


def _exposure_limit(requirement: Requirement, path: Path) -> Iterator[Fault]:
    upper, unit = requirement.upper, requirement.unit
    try:
        factor = unit_factor("ug/g", unit)
    except ValueError:
        return  # the unit is named by its own rule
    if not upper:
        what = "A daily exposure is given, but no upper limit."
        yield _fault((*path, "upper"), "exposure", what, "Give exposure over dose, rounded down, as upper.")
        return
    most = Fraction(requirement.pde_ug_per_day) / Fraction(requirement.daily_dose_g) * factor
    places = decimals_of(upper)
    due, limit = _down(most, places), Fraction(upper)
    over = f"{requirement.pde_ug_per_day} ug/day over {requirement.daily_dose_g} g/day"
    said = f"{over}, {_down(most, places + 3)} {unit}"
    if Fraction(due) == 0:
        what = f"{said}, is 0 when it is rounded down to the {places} places of upper {upper}."
        yield _fault((*path, "upper"), "exposure", what, "Give the limit with more places.")
    elif limit > most:
        what = f"upper {upper} is above the exposure over the dose: {said}."
        yield _fault((*path, "upper"), "exposure", what, f"Round down: {due}.")
    elif limit != Fraction(due):
        what = f"upper {upper} is not {said}, rounded down to its places: {due}."
        remedy = f"Give {due}; or leave exposure, dose and route out where the limit comes from elsewhere."
        yield _fault((*path, "upper"), "exposure", what, remedy)


def _down(value: Fraction, places: int) -> str:
    """``value`` >= 0 cut to ``places`` after the point, exactly."""
    return plain(Decimal(f"{value.numerator * 10**places // value.denominator}e-{places}"))
