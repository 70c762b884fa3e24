"""Preliminary figures on paper: a table of values that says on every page what it is not.

It carries no limits, no verdicts, no seal, no evidence and no drawn mark, and is titled otherwise: nobody can take it
for a certificate, and nothing on it states conformity.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from benchseal.certificate import wording
from benchseal.certificate.present import result_row
from benchseal.certificate.present_words import uncertainty
from benchseal.records.elements import element_name
from benchseal.records.species import stated_as

if TYPE_CHECKING:
    from benchseal.certificate.view import ResultRow
    from benchseal.records.preliminary import NotYet, Preliminary

TEMPLATE = "preliminary.html.jinja"


@dataclass(frozen=True, slots=True)
class Line:
    """One figure, or a line of the specification that has none yet. Why stands in the record, not on the paper."""

    substance: str
    quantity: str
    value: str
    tail: str
    run: str
    method: str


@dataclass(frozen=True, slots=True)
class Paper:
    """What the page says."""

    number: str
    laboratory: str
    address: str
    given_to: str
    given_on: str
    facts: tuple[tuple[str, str], ...]
    lines: tuple[Line, ...]
    uncertainty: str
    reason: str
    program: str


def paper_of(preliminary: Preliminary) -> Paper:
    """The page of a record. Raises ValueError where a figure answers no line of the specification."""
    zone, row = preliminary.laboratory.zone, preliminary.sample.row
    figures = tuple(
        _figure(result_row(one.result, preliminary.specification), f"{one.run} version {one.version}")
        for one in preliminary.figures
    )
    results = [one.result for one in preliminary.figures]
    return Paper(
        number=preliminary.number,
        laboratory=preliminary.laboratory.name,
        address=", ".join(line.strip() for line in preliminary.laboratory.address.splitlines() if line.strip()),
        given_to=preliminary.given_to,
        given_on=wording.signed_at(preliminary.at, zone),
        facts=(
            ("Customer", preliminary.customer.name),
            ("Product", row.product),
            ("Lot", row.lot),
            ("Sample number", preliminary.sample.sample),
            ("Customer\u2019s sample", row.customer_sample_id),
            ("Received", wording.day_of(row.received_on)),
        ),
        lines=(*figures, *map(_not_yet, preliminary.not_yet)),
        uncertainty=uncertainty(results),
        reason=preliminary.reason,
        program=preliminary.program,
    )


def render_preliminary(preliminary: Preliminary) -> bytes:
    """PDF bytes; the same for the same record. Raises ValueError as ``paper_of``."""
    from benchseal.certificate.render import SIZES, STYLE, render_paper  # noqa: PLC0415  heavy

    at = datetime.fromisoformat(preliminary.at)
    return render_paper(TEMPLATE, STYLE, at, size=SIZES[preliminary.paper], paper=paper_of(preliminary))


def _figure(row: ResultRow, run: str) -> Line:
    return Line(row.substance, row.quantity, row.value, row.tail, run, row.method)


def _not_yet(one: NotYet) -> Line:
    asked = one.requirement
    stated = stated_as(asked.basis, asked.expressed_as).strip(", ")
    return Line(wording.capital(element_name(asked.element)), stated, "not yet", "", "", "")
