"""A measuring method: what the instrument is set to, what must be measured, and every rule that judges it."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal, TypeAlias

from benchseal.records.preparation import DilutionStep
from benchseal.records.quantities import PlainDecimal
from benchseal.records.shape import LEFT_OUT_WHEN_EMPTY

Technique: TypeAlias = Literal["flame", "furnace", "cold_vapour", "hydride"]
SignalIs: TypeAlias = Literal["absorbance", "absorbance_zeroed_on_blank", "instrument_concentration"]
Model: TypeAlias = Literal["line", "line_through_zero", "quadratic"]
Weighting: TypeAlias = Literal["none", "1/x", "1/x2", "1/s2", "variance_function"]
CheckKind: TypeAlias = Literal[
    "second_source",
    "check_standard",
    "check_blank",
    "method_blank",
    "control_sample",
    "reference_material",
    "spike",
    "portions_agree",
    "lowest_level",
    "post_spike",
    "spikes_agree",
    "dilution_test",
    "return_to_zero",
    "sensitivity",
    "acid_match",
]
Additions: TypeAlias = Literal["", "allowed", "required"]
Bracketing: TypeAlias = Literal["", "required"]
Flame: TypeAlias = Literal["", "air_acetylene", "nitrous_oxide_acetylene"]
Stoichiometry: TypeAlias = Literal["", "lean", "stoichiometric", "rich"]
SignalForm: TypeAlias = Literal["", "continuous", "peak_height", "integrated"]


@dataclass(frozen=True, slots=True)
class Standard:
    """One calibration solution: the label the instrument's file uses, and its concentration."""

    label: str
    concentration: PlainDecimal


@dataclass(frozen=True, slots=True)
class CalibrationPlan:
    """How the curve is fitted and when it is good enough.

    fit_on: ``readings`` (each reading a point) or ``means`` (each solution a point). weighting ``1/s2``: s of the
    readings of each level; ``variance_function``: 1/(variance_s0^2 + (variance_k x)^2), both stated here in signal
    and in signal per solution unit. quadratic_allowed: with model ``line``, a quadratic takes its place where every
    condition for it holds. largest_rse_percent: empty where the relative standard error is not judged.
    largest_error_percent: back-calculated error allowed at each level, at_lowest_percent at the lowest above zero.
    additions: whether a portion prepared in several tubes is evaluated by its own standard additions; ``required``:
    every portion of a sample must be. additions_smallest_r, additions_largest_slope_percent: least correlation of such
    a line, and how far its slope may differ from the curve's; empty where not judged.
    bracketing: whether every portion is read between two standards close around it, which take the place of the curve.
    bracketing_window_percent: how far either may lie from the sample; bracketing_change_percent: how far the net
    readings of one such standard before and after a sample may differ, empty where not judged.
    """

    model: Model
    weighting: Weighting
    fit_on: Literal["readings", "means"]
    smallest_levels: int
    largest_error_percent: PlainDecimal
    at_lowest_percent: PlainDecimal
    smallest_r_squared: PlainDecimal
    source: str
    quadratic_allowed: bool = False
    largest_rse_percent: PlainDecimal = ""
    variance_s0: PlainDecimal = ""
    variance_k: PlainDecimal = ""
    variance_source: str = ""
    additions: Additions = ""
    additions_smallest_r: PlainDecimal = ""
    additions_largest_slope_percent: PlainDecimal = ""
    additions_source: str = ""
    bracketing: Bracketing = ""
    bracketing_window_percent: PlainDecimal = ""
    bracketing_change_percent: PlainDecimal = ""
    bracketing_source: str = ""


@dataclass(frozen=True, slots=True)
class DriftPlan:
    """Correction of signals for drift between the check pairs around them; largest_percent empty: none is made.

    largest_percent: how far the net check standard of a pair may lie from that of the first pair for its neighbours to
    be corrected at all; beyond it nothing is corrected and the solutions there give no value.
    """

    largest_percent: PlainDecimal = ""
    source: str = ""


@dataclass(frozen=True, slots=True)
class StoredCurvePlan:
    """Use of the curve of an earlier run, corrected by one standard; valid_hours empty: not allowed.

    valid_hours: from the measurement of the stored curve to that of the run that uses it. smallest_factor,
    largest_factor: window of the correction.
    """

    valid_hours: PlainDecimal = ""
    smallest_factor: PlainDecimal = ""
    largest_factor: PlainDecimal = ""
    source: str = ""


@dataclass(frozen=True, slots=True)
class DigestsKeep:
    """How long a digest may be read after it was made up; days and hours empty: the method does not say.

    days: whole days of the calendar, the last one to its end. hours: hours gone by.
    """

    days: PlainDecimal = ""
    hours: PlainDecimal = ""
    source: str = ""


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
    (a blank's magnitude must not exceed high), or ``zeta`` and ``e_n`` scores of a reference material.
    expected: concentration of a check standard in solution units; of a sensitivity rule the usual characteristic
    concentration (solution unit), in the furnace the characteristic mass (pg); of an acid rule the percent acid of
    the standards. when: whether the rule is about the first such solution of the run, the later ones, or any.
    every: at most this many presented solutions between two (0: once is enough). at_end: one must close the run.
    brackets: a failed check voids every presented solution back to the last passing one and on to the next.
    required: a run without it fails. confirmed: whether the source text was read when the rule was entered.
    """

    id: str
    check: CheckKind
    limit_in: Literal["percent", "solution", "zeta", "e_n"]
    low: PlainDecimal
    high: PlainDecimal
    source: str
    confirmed: bool
    expected: PlainDecimal = ""
    every: int = 0
    at_end: bool = False
    brackets: bool = False
    required: bool = True
    when: Literal["any", "first", "later"] = "any"


@dataclass(frozen=True, slots=True)
class Glassware:
    """One pipette or flask at hand: nominal volume, tolerance +- (triangular), repeatability of filling (one sd)."""

    name: str
    kind: Literal["pipette", "flask"]
    nominal_ml: PlainDecimal
    tolerance_ml: PlainDecimal
    s_fill_ml: PlainDecimal


@dataclass(frozen=True, slots=True)
class UncertaintyPlan:
    """Standard uncertainties the method states, beside those the calibration and the standards give.

    Percent entries are relative standard uncertainties. recovery_percent: method recovery, no correction applied.
    glassware: a volume or a dilution step made with pieces listed here takes its uncertainty from them, others from
    the percent entries. temperature_half_range_k: of the laboratory about the glassware's calibration temperature.
    balance_linearity_g: +- (rectangular, counted twice for a difference), added to mass_g, the repeatability.
    standard_steps: dilutions from the standard lot to the working standards, common to all levels.
    s0, s1_percent: where given, u = sqrt(s0^2 + (s1 c)^2) found by validation replaces the budget; s0 in solution
    units, carried to the sample as a quantification limit is.
    """

    mass_g: PlainDecimal
    volume_percent: PlainDecimal
    dilution_step_percent: PlainDecimal
    recovery_percent: PlainDecimal
    coverage_factor: PlainDecimal
    source: str
    area_percent: PlainDecimal = "0"
    glassware: tuple[Glassware, ...] = ()
    temperature_half_range_k: PlainDecimal = ""
    balance_linearity_g: PlainDecimal = ""
    standard_steps: tuple[DilutionStep, ...] = ()
    s0: PlainDecimal = ""
    s1_percent: PlainDecimal = ""


@dataclass(frozen=True, slots=True)
class Conditions:
    """What a technique needs on record beside wavelength and slit; empty where it does not apply, "none" for nothing.

    flame, stoichiometry, burner (length and position), releasing_agent, ionisation_buffer: of flames.
    signal_form: how one reading was made. injection_ul, modifier: of the furnace. reductant: of cold vapour and
    hydride generation. pre_reduction: of hydrides. acid, acid_percent: of the standards, volume fraction in percent.
    largest_background: absorbance above which a reading is not used, empty where background is not judged.
    """

    flame: Flame = ""
    stoichiometry: Stoichiometry = ""
    burner: str = ""
    releasing_agent: str = ""
    ionisation_buffer: str = ""
    signal_form: SignalForm = ""
    injection_ul: PlainDecimal = ""
    modifier: str = ""
    reductant: str = ""
    pre_reduction: str = ""
    acid: str = ""
    acid_percent: PlainDecimal = ""
    largest_background: PlainDecimal = ""
    background_source: str = ""


@dataclass(frozen=True, slots=True)
class Method:
    """One measuring method for one element, as approved.

    file_names: names by which instrument files call it. solution_unit: unit of every concentration here.
    lowest_level: confirmed quantification level in the solution. detection_level: in the solution, or empty.
    blank_subtraction: ``none``, or how the method blank was read: ``undiluted``, ``same_dilution``.
    operating_conditions, cautions: text for people; local rules and the maker's instructions prevail.
    uncorrected_because: why background_correction may be ``none``; the certificate then says that it is.
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
    conditions: Conditions = Conditions()
    uncorrected_because: str = ""
    drift: DriftPlan = DriftPlan()
    stored_curve: StoredCurvePlan = StoredCurvePlan()
    digests_keep: DigestsKeep = field(default=DigestsKeep(), metadata=LEFT_OUT_WHEN_EMPTY)
