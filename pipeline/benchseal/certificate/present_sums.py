"""Sums of results as rows of the page: values as the record has them, the parts and the bound in words beneath."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, assert_never

from benchseal.certificate import wording
from benchseal.certificate.view import ResultRow
from benchseal.records.quantities import unit_shown
from benchseal.records.results import BelowLimit, NotReportable, Quantified

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from benchseal.records.specification import Specification
    from benchseal.records.sums import WorkedSum

METHOD: Final = "sum of rows above"
_NONE: Final = "no part reached its quantification limit"


def sum_row(worked: WorkedSum, specification: Specification) -> ResultRow:
    """One sum as one line. Raises ValueError for a sum without a value."""
    value, expanded, coverage = _value(worked)
    unlimited = not worked.upper
    verdict, kind = wording.NOT_JUDGED if unlimited else wording.VERDICTS[worked.verdict]
    return ResultRow(
        substance=f"Sum of {wording.listed(worked.elements)}",
        quantity=_quantity(worked, specification),
        value=value,
        expanded=expanded,
        unit=unit_shown(worked.unit),
        coverage=coverage,
        limit=wording.limit("", worked.upper, ""),
        rule="no limit" if unlimited else wording.RULES[worked.rule],
        verdict=verdict,
        verdict_kind=kind,
        method=METHOD,
        detail=wording.capital("; ".join(_detail(worked))),
    )


def sum_sentences(sums: Sequence[WorkedSum]) -> Iterator[str]:
    """What U and ``<`` mean for sums, after what they mean for results."""
    if any(isinstance(one.outcome, Quantified) and one.outcome.expanded_text for one in sums):
        yield "U of a sum combines those of its parts as independent of each other."
    if any(isinstance(one.outcome, BelowLimit) for one in sums):
        yield "Before a sum, “<” stands before the sum of these limits."


def _value(worked: WorkedSum) -> tuple[str, str, str]:
    outcome = worked.outcome
    match outcome:
        case Quantified():
            coverage = f"k = {outcome.k}" if outcome.expanded_text else ""
            return wording.printed(outcome.value_text), outcome.expanded_text, coverage
        case BelowLimit():
            return wording.printed(outcome.value_text), "", ""
        case NotReportable():
            raise ValueError(f"the sum {worked.name} has no value to print: {outcome.why}")
        case _:
            assert_never(outcome)


def _quantity(worked: WorkedSum, specification: Specification) -> str:
    fraction, quantity = worked.fraction, worked.quantity
    match quantity:
        case "concentration":
            return f"{fraction}, {wording.basis(worked.basis)}"
        case "content":
            named = "mass fraction, " if worked.unit == "%" else ""
            return f"{fraction}, {named}{wording.basis(worked.basis)}"
        case "amount_per_unit":
            return f"{fraction}, per {specification.unit_name}"
        case "release_per_area":
            return "released per area"
        case "percent_of_claim":
            raise ValueError("percentages of claims are not added")
        case _:
            assert_never(quantity)


def _detail(worked: WorkedSum) -> Iterator[str]:
    """What stands for a "<" part, and which parts that were; where there were none, that."""
    below = [part.element for part in worked.parts if part.is_below]
    yield f"{wording.BOUNDS[worked.bound]}: {wording.BOUND_SENTENCES[worked.bound]}"
    if worked.none_quantified:
        yield _NONE
    elif below:
        yield f"here {wording.listed(below)}"
    else:
        yield "here none"
