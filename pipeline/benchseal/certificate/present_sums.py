"""Sums of results as rows of the page: values as the record has them, the parts and the bound in words beneath."""

from __future__ import annotations

from typing import TYPE_CHECKING, assert_never

from benchseal.certificate.language import ENGLISH, capital
from benchseal.certificate.view import ResultRow
from benchseal.certificate.wording import VERDICT_KINDS
from benchseal.records.results import BelowLimit, NotReportable, Quantified

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from benchseal.certificate.language import Words
    from benchseal.records.specification import Specification
    from benchseal.records.sums import WorkedSum


def sum_row(worked: WorkedSum, specification: Specification, words: Words = ENGLISH) -> ResultRow:
    """One sum as one line. Raises ValueError for a sum without a value."""
    value, expanded, coverage = _value(worked, words)
    unlimited = not worked.upper
    return ResultRow(
        substance=words.say("sum/named", elements=words.listed(worked.elements)),
        quantity=_quantity(worked, specification, words),
        value=value,
        expanded=expanded,
        unit=words.unit(worked.unit),
        coverage=coverage,
        limit=words.limit("", worked.upper, ""),
        rule=words.say("limit/none") if unlimited else words.word("rule", worked.rule),
        verdict=words.word("verdict", "not_judged" if unlimited else worked.verdict),
        verdict_kind="open" if unlimited else VERDICT_KINDS[worked.verdict],
        method=words.say("sum/method"),
        detail=capital("; ".join(_detail(worked, words))),
    )


def sum_sentences(sums: Sequence[WorkedSum], words: Words) -> Iterator[str]:
    """What U and ``<`` mean for sums, after what they mean for results."""
    if any(isinstance(one.outcome, Quantified) and one.outcome.expanded_text for one in sums):
        yield words.say("sum/independent")
    if any(isinstance(one.outcome, BelowLimit) for one in sums):
        yield words.say("sum/below")


def _value(worked: WorkedSum, words: Words) -> tuple[str, str, str]:
    outcome = worked.outcome
    match outcome:
        case Quantified():
            coverage = words.say("uncertainty/k", k=words.number(outcome.k)) if outcome.expanded_text else ""
            return words.number(outcome.value_text), words.number(outcome.expanded_text), coverage
        case BelowLimit():
            return words.number(outcome.value_text), "", ""
        case NotReportable():
            raise ValueError(f"the sum {worked.name} has no value to print: {outcome.why}")
        case _:
            assert_never(outcome)


def _quantity(worked: WorkedSum, specification: Specification, words: Words) -> str:
    quantity = worked.quantity
    fraction, basis = words.word("fraction", worked.fraction), words.word("basis", worked.basis)
    match quantity:
        case "concentration":
            return words.say("quantity/on_basis", fraction=fraction, basis=basis)
        case "content":
            key = "quantity/mass_fraction" if worked.unit == "%" else "quantity/on_basis"
            return words.say(key, fraction=fraction, basis=basis)
        case "amount_per_unit":
            return words.say("quantity/per_unit", fraction=fraction, unit=specification.unit_name)
        case "release_per_area":
            return words.say("quantity/per_area")
        case "percent_of_claim":
            raise ValueError("percentages of claims are not added")
        case _:
            assert_never(quantity)


def _detail(worked: WorkedSum, words: Words) -> Iterator[str]:
    """What stands for a "<" part, and which parts that were; where there were none, that."""
    below = [part.element for part in worked.parts if part.is_below]
    bound = worked.bound
    yield words.say("detail/bound", bound=words.word("bound", bound), sentence=words.word("bound_sentence", bound))
    if worked.none_quantified:
        yield words.say("detail/none_quantified")
    elif below:
        yield words.say("detail/bound_here", names=words.listed(below))
    else:
        yield words.say("detail/bound_nothing")
