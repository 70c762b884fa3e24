"""What a sum of results gives: its parts, what each counts for, and the outcome. ``compute/sums.py`` makes it."""

from __future__ import annotations

from dataclasses import dataclass

from benchseal.records.quantities import PlainDecimal
from benchseal.records.results import Outcome, Verdict
from benchseal.records.run import DocumentRef
from benchseal.records.specification import Basis, BoundRule, DecisionRule, Exceedance, Quantity


@dataclass(frozen=True, slots=True)
class SumPart:
    """One result of a sum.

    value: of record, in ``unit``; for a part below its quantification limit, that limit. counted, u: what enters the
    sum and its standard uncertainty, both in the unit of the sum. df: of u, empty where nothing limits it or where it
    is not known. k: coverage factor of the part's method.
    """

    result_id: str
    element: str
    unit: str
    is_below: bool
    value: PlainDecimal
    counted: PlainDecimal
    u: PlainDecimal
    df: PlainDecimal
    k: PlainDecimal


@dataclass(frozen=True, slots=True)
class WorkedSum:
    """One sum of one sample. sum_id: kept through every correction, never that of a result.

    name: its identifier in the specification. elements: in the order of the specification, also those without a part
    because the outcome is not reportable. fraction: of every part.
    """

    sum_id: str
    name: str
    sample: str
    elements: tuple[str, ...]
    fraction: str
    basis: Basis
    quantity: Quantity
    unit: str
    bound: BoundRule
    specification: DocumentRef
    parts: tuple[SumPart, ...]
    outcome: Outcome
    upper: PlainDecimal
    rule: DecisionRule
    verdict: Verdict
    acceptance_upper: PlainDecimal
    probability: PlainDecimal
    comment_required: str
    exceedance_means: Exceedance
    calculation_rules: int

    @property
    def lower(self) -> PlainDecimal:
        """A sum has no lower limit."""
        return ""

    @property
    def none_quantified(self) -> bool:
        """Whether every part lies below its quantification limit."""
        return bool(self.parts) and all(part.is_below for part in self.parts)
