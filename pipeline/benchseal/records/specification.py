"""A specification: what a product is judged by, and how."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal, TypeAlias

from benchseal.records.quantities import PlainDecimal, RoundingMode
from benchseal.records.shape import LEFT_OUT_WHEN_EMPTY

Quantity: TypeAlias = Literal["concentration", "content", "amount_per_unit", "percent_of_claim", "release_per_area"]
Basis: TypeAlias = Literal["as received", "dry"]
Route: TypeAlias = Literal["", "oral", "parenteral", "inhalation", "cutaneous"]
DecisionRule: TypeAlias = Literal["simple", "guarded", "guarded_5", "nonbinary", "pharma", "beyond_doubt"]
Exceedance: TypeAlias = Literal["investigate", "report", "notify"]
BoundRule: TypeAlias = Literal["lower_bound", "medium_bound", "upper_bound"]


@dataclass(frozen=True, slots=True)
class Requirement:
    """One line of a specification.

    methods: identifiers of the methods that may serve it. unit: of the reported value and of the limits.
    lower, upper: limits as printed (``0.50`` is not ``0.5``), empty where there is none.
    claim_mg: declared milligrams of the element a unit, for percent_of_claim. portions: how many make one result.
    decimals: places of the reported value; -1 leaves them to U (two significant digits).
    exceedance_means: ``investigate``, ``report`` or ``notify``. basis: ``dry`` takes the portion's moisture out.
    expressed_as: formula of the substance the value is given as (``CaCO3``), empty for the element itself.
    pde_ug_per_day, daily_dose_g, route: where the upper limit of a content comes from a permitted daily exposure;
    the limit is then exposure over dose, rounded down to its own places.
    portion_lower, portion_upper: limits of each single portion, as printed, empty where only the mean is judged.
    """

    element: str
    quantity: Quantity
    unit: str
    methods: tuple[str, ...]
    portions: int
    lower: PlainDecimal
    upper: PlainDecimal
    rule: DecisionRule
    rounding: RoundingMode
    decimals: int
    exceedance_means: Exceedance
    limit_source: str
    claim_mg: PlainDecimal = ""
    basis: Basis = "as received"
    expressed_as: str = ""
    pde_ug_per_day: PlainDecimal = ""
    daily_dose_g: PlainDecimal = ""
    route: Route = ""
    portion_lower: PlainDecimal = field(default="", metadata=LEFT_OUT_WHEN_EMPTY)
    portion_upper: PlainDecimal = field(default="", metadata=LEFT_OUT_WHEN_EMPTY)


@dataclass(frozen=True, slots=True)
class SumRequirement:
    """One sum of results: what stands for a part below its quantification limit is said by ``bound``.

    id: permanent within the specification. elements: two or more, each with a line of this specification of the same
    quantity and basis, as the element itself. bound: ``lower_bound`` counts such a part as zero, ``medium_bound`` as
    half its limit, ``upper_bound`` as its limit. upper: as printed, empty where the sum is for information.
    """

    id: str
    elements: tuple[str, ...]
    quantity: Quantity
    unit: str
    bound: BoundRule
    upper: PlainDecimal
    rule: DecisionRule
    rounding: RoundingMode
    decimals: int
    exceedance_means: Exceedance
    limit_source: str
    basis: Basis = "as received"

    def as_line(self) -> Requirement:
        """The sum as a line of its own, for rules and verdicts that know lines; its element is not one."""
        return Requirement(
            element=" ".join(self.elements),
            quantity=self.quantity,
            unit=self.unit,
            methods=(),
            portions=1,
            lower="",
            upper=self.upper,
            rule=self.rule,
            rounding=self.rounding,
            decimals=self.decimals,
            exceedance_means=self.exceedance_means,
            limit_source=self.limit_source,
            basis=self.basis,
        )


@dataclass(frozen=True, slots=True)
class Specification:
    """What one product of one customer must meet. sums: judged beside the requirements; empty where there are none.

    simplified_agreed: where the customer agreed to certificates in simplified form (ISO/IEC 17025:2017, 7.8.1.3).
    """

    kind: Literal["specification"]
    id: str
    title: str
    product: str
    customer: str
    unit_name: str
    agreed: str
    requirements: tuple[Requirement, ...]
    sums: tuple[SumRequirement, ...] = field(default=(), metadata=LEFT_OUT_WHEN_EMPTY)
    simplified_agreed: str = field(default="", metadata=LEFT_OUT_WHEN_EMPTY)
