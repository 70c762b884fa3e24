"""Rules of a specification beyond its schema."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.documents.judge import Fault, Path
from benchseal.records.quantities import decimal_of, decimals_of, unit_factor

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
    seen: dict[tuple[str, str], int] = {}
    for index, requirement in enumerate(specification.requirements):
        path: Path = ("requirements", index)
        yield from _unit(requirement, path)
        yield from _limits(requirement, path)
        yield from _claim(specification, requirement, path)
        yield from _decimals(requirement, path)
        key = (requirement.element, requirement.quantity)
        if key in seen:
            what = f"{requirement.element} as {requirement.quantity} stands twice; first as no. {seen[key] + 1}."
            yield _fault((*path, "element"), "requirement-twice", what, "Remove one.")
        seen.setdefault(key, index)
        if len(set(requirement.methods)) != len(requirement.methods):
            yield _fault((*path, "methods"), "method-twice", "A method is listed twice.", "List each once.")


def _fault(path: Path, code: str, what: str, remedy: str) -> Fault:
    return Fault(path, f"documents.specification-{code}", what, remedy)


def _unit(requirement: Requirement, path: Path) -> Iterator[Fault]:
    due = _UNIT_OF[requirement.quantity]
    try:
        unit_factor(requirement.unit, due)
    except ValueError:
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
    places = max((decimals_of(limit) for limit in (requirement.lower, requirement.upper) if limit), default=0)
    if 0 <= requirement.decimals < places:
        what = f"decimals {requirement.decimals} is fewer than the {places} places of the limit."
        yield _fault((*path, "decimals"), "decimals", what, "Report at least the places of the limit.")
