"""A measuring method: what the instrument is set to, what must be measured, and every rule that judges it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

from benchseal.records.quantities import PlainDecimal

Technique: TypeAlias = Literal["flame", "furnace", "cold_vapour", "hydride"]
SignalIs: TypeAlias = Literal["absorbance", "absorbance_zeroed_on_blank", "instrument_concentration"]
Model: TypeAlias = Literal["line", "line_through_zero", "quadratic"]
Weighting: TypeAlias = Literal["none", "1/x", "1/x2"]
CheckKind: TypeAlias = Literal[
    "second_source",
    "check_standard",
    "check_blank",
    "method_blank",
    "control_sample",
    "reference_material",
    "spike",
    "portions_agree",
]


@dataclass(frozen=True, slots=True)
class Standard:
    """One calibration solution: the label the instrument's file uses, and its concentration."""

    label: str
    concentration: PlainDecimal


@dataclass(frozen=True, slots=True)
class CalibrationPlan:
    """How the curve is fitted and when it is good enough.

    fit_on: ``readings`` (each reading a point) or ``means`` (each solution a point).
    largest_error_percent: back-calculated error allowed at each level, at_lowest_percent at the lowest above zero.
    """

    model: Model
    weighting: Weighting
    fit_on: Literal["readings", "means"]
    smallest_levels: int
    largest_error_percent: PlainDecimal
    at_lowest_percent: PlainDecimal
    smallest_r_squared: PlainDecimal
    source: str


@dataclass(frozen=True, slots=True)
class ReplicateRule:
    """Readings of one solution: how many, and how far they may scatter.

    largest_rsd_percent is judged at and above judged_from (concentration in the solution).
    """

    count: int
    largest_rsd_percent: PlainDecimal
    judged_from: PlainDecimal
    source: str


@dataclass(frozen=True, slots=True)
class CheckRule:
    """One check as a value: what, limits, how often, and where the rule comes from.

    low, high: allowed interval, in ``limit_in``: ``percent`` of the expected value, or ``solution`` units
    (a blank's magnitude must not exceed high). expected: concentration of a check standard in solution units.
    every: at most this many presented solutions between two (0: once is enough). at_end: one must close the run.
    brackets: a failed check voids every presented solution back to the last passing one and on to the next.
    required: a run without it fails. confirmed: whether the source text was read when the rule was entered.
    """

    id: str
    check: CheckKind
    limit_in: Literal["percent", "solution"]
    low: PlainDecimal
    high: PlainDecimal
    source: str
    confirmed: bool
    expected: PlainDecimal = ""
    every: int = 0
    at_end: bool = False
    brackets: bool = False
    required: bool = True


@dataclass(frozen=True, slots=True)
class UncertaintyPlan:
    """Standard uncertainties the method states, beside those the calibration and the standards give.

    Percent entries are relative standard uncertainties. recovery_percent: method recovery, no correction applied.
    """

    mass_g: PlainDecimal
    volume_percent: PlainDecimal
    dilution_step_percent: PlainDecimal
    recovery_percent: PlainDecimal
    coverage_factor: PlainDecimal
    source: str
    area_percent: PlainDecimal = "0"


@dataclass(frozen=True, slots=True)
class Method:
    """One measuring method for one element, as approved.

    file_names: names by which instrument files call it. solution_unit: unit of every concentration here.
    lowest_level: confirmed quantification level in the solution. detection_level: in the solution, or empty.
    blank_subtraction: ``none``, or how the method blank was read: ``undiluted``, ``same_dilution``.
    operating_conditions, cautions: text for people; local rules and the maker's instructions prevail.
    """

    kind: Literal["method"]
    id: str
    title: str
    technique: Technique
    element: str
    wavelength_nm: PlainDecimal
    slit_nm: PlainDecimal
    background_correction: str
    signal_is: SignalIs
    signal_unit: str
    solution_unit: str
    file_names: tuple[str, ...]
    fraction: str
    standards: tuple[Standard, ...]
    calibration: CalibrationPlan
    replicates: ReplicateRule
    checks: tuple[CheckRule, ...]
    lowest_level: PlainDecimal
    lowest_level_source: str
    detection_level: PlainDecimal
    detection_level_source: str
    blank_subtraction: Literal["none", "undiluted", "same_dilution"]
    uncertainty: UncertaintyPlan
    operating_conditions: tuple[str, ...]
    cautions: tuple[str, ...]
    references: tuple[str, ...]
