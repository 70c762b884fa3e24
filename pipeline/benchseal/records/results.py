"""What a calculation gives: calibration, checks, results; the rest of the program renders it and computes nothing.

Numbers of record are plain decimal text with 12 significant digits.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal, TypeAlias

from benchseal.records.preparation import DilutionStep
from benchseal.records.quantities import PlainDecimal
from benchseal.records.run import DocumentRef
from benchseal.records.shape import LEFT_OUT_WHEN_EMPTY
from benchseal.records.specification import DecisionRule, Quantity

CALCULATION_RULES = 1  # changes when numbers may

# Every kind of check a method may ask for (``method.CheckKind``), and the two every run has.
JudgedKind: TypeAlias = Literal[
    "calibration",
    "replicates",
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
Verdict: TypeAlias = Literal["pass", "fail", "conditional pass", "conditional fail", "none"]
PortionVerdict: TypeAlias = Literal["", "pass", "fail", "none"]


@dataclass(frozen=True, slots=True)
class Level:
    """One calibration solution: what it was, what it read, what the curve gives back (empty at zero)."""

    label: str
    position: int
    concentration: PlainDecimal
    mean_signal: PlainDecimal
    fitted_signal: PlainDecimal
    residual: PlainDecimal
    back_calculated: PlainDecimal
    error_percent: PlainDecimal


@dataclass(frozen=True, slots=True)
class CheckVerdict:
    """One check judged, at ``positions``. ``calibration`` and ``replicates`` judge the curve and the readings.

    found, expected, low, high: in ``unit`` (``%`` or the solution unit). why: words when it is not a pass.
    made_on_sample: on a customer's sample: only its positions, percent and verdict may leave the site to others.
    """

    rule: str
    check: JudgedKind
    positions: tuple[int, ...]
    expected: PlainDecimal
    found: PlainDecimal
    low: PlainDecimal
    high: PlainDecimal
    unit: str
    verdict: Literal["pass", "fail", "not_evaluated"]
    why: str
    source: str
    made_on_sample: bool


@dataclass(frozen=True, slots=True)
class Diagnostic:
    """A statistic about the curve, for people and for the choice of its form; by itself it fails nothing.

    sign_runs: of the residuals in rising concentration. df1, df2: of an F ratio, else 0. statistic, critical: texts of
    record, empty where not defined (then why says so).
    """

    name: Literal["mandel", "lack_of_fit", "homogeneity", "sign_runs"]
    statistic: PlainDecimal
    critical: PlainDecimal
    df1: int
    df2: int
    exceeded: bool
    why: str
    source: str


@dataclass(frozen=True, slots=True)
class StoredUse:
    """How an earlier run's curve was used: net signals times factor = nominal_signal/(signal - blank_signal).

    position, blank_position: of the correction standard and of the blank read with it. nominal: its concentration;
    nominal_signal: what the stored curve gives there. u_factor: standard uncertainty of the factor from the readings.
    """

    run: str
    version: int
    measured_at: str
    position: int
    blank_position: int
    nominal: PlainDecimal
    nominal_signal: PlainDecimal
    signal: PlainDecimal
    blank_signal: PlainDecimal
    factor: PlainDecimal
    u_factor: PlainDecimal


@dataclass(frozen=True, slots=True)
class Calibration:
    """The fitted curve. coefficients b0, b1(, b2); covariance row by row in that order, both for absorbance as read.

    model: the one used. chosen_because: why it is that one, where the method allows a choice. stored: one where the
    curve is of an earlier run; positions of levels are then those of that run.
    """

    element: str
    model: str
    weighting: str
    fit_on: str
    unit: str
    signal_unit: str
    n: int
    df: int
    coefficients: tuple[PlainDecimal, ...]
    standard_errors: tuple[PlainDecimal, ...]
    covariance: tuple[tuple[PlainDecimal, ...], ...]
    residual_sd: PlainDecimal
    r_squared: PlainDecimal
    rse_percent: PlainDecimal
    lowest: PlainDecimal
    highest: PlainDecimal
    levels: tuple[Level, ...]
    chosen_because: str = ""
    diagnostics: tuple[Diagnostic, ...] = ()
    stored: tuple[StoredUse, ...] = ()


@dataclass(frozen=True, slots=True)
class Voided:
    """One presented solution whose readings give no result, and why."""

    position: int
    code: str
    why: str


@dataclass(frozen=True, slots=True)
class AddedTube:
    """One tube of a series of standard additions as it was read. added: in the solution unit."""

    label: str
    added: PlainDecimal
    position: int
    lines: tuple[int, ...]
    signals: tuple[PlainDecimal, ...]
    mean_signal: PlainDecimal
    rsd_percent: PlainDecimal


@dataclass(frozen=True, slots=True)
class AddedSeries:
    """A portion's own line through its standard additions, signal on concentration added, unweighted.

    tubes: those read, in rising addition. n: points of the line. added_mean, signal_mean, sxx: mean addition, mean
    signal, sum of squared differences of the additions from their mean. intercept, slope, residual_sd, r: of the line.
    slope_ratio: its slope over the curve's. Texts are empty, and df 0, where no line was fitted.
    """

    tubes: tuple[AddedTube, ...]
    n: int
    df: int
    added_mean: PlainDecimal
    signal_mean: PlainDecimal
    sxx: PlainDecimal
    intercept: PlainDecimal
    slope: PlainDecimal
    residual_sd: PlainDecimal
    r: PlainDecimal
    slope_ratio: PlainDecimal


@dataclass(frozen=True, slots=True)
class BracketStandard:
    """One of the two standards around a sample: mean of its readings before and after, and where they stand."""

    label: str
    concentration: PlainDecimal
    positions: tuple[int, ...]
    signals: tuple[PlainDecimal, ...]
    mean_signal: PlainDecimal
    u_signal: PlainDecimal


@dataclass(frozen=True, slots=True)
class Bracket:
    """Two standards close around a sample, which take the place of the curve.

    sd: of one reading, pooled over the bracket standards of the run, with df. u_sample: of the sample's mean signal.
    u_from_sample, u_from_standards: what the readings of sample and standards put into u of its concentration.
    """

    low: BracketStandard
    high: BracketStandard
    sd: PlainDecimal
    u_sample: PlainDecimal
    u_from_sample: PlainDecimal
    u_from_standards: PlainDecimal
    df: int


@dataclass(frozen=True, slots=True)
class DriftStep:
    """One signal corrected for drift, from the check pairs before and after it.

    first, before, after: positions of the pairs. blank, span: baseline and net check standard at the sample, straight
    between the pairs; first_blank, first_span: of the first pair, to which the signal is brought back.
    corrected = first_blank + (signal - blank) first_span/span.
    along: what the line between the pairs runs over, ``time`` or ``position``; at: the sample's share of the way.
    sd_standard, sd_blank: of one reading, pooled over the check standards and check blanks of all pairs, with their
    degrees of freedom. u_corrected: what the readings of the checks add to the uncertainty of the corrected signal.
    """

    first: tuple[int, ...]
    before: tuple[int, ...]
    after: tuple[int, ...]
    along: Literal["time", "position"]
    at: PlainDecimal
    first_blank: PlainDecimal
    first_span: PlainDecimal
    blank: PlainDecimal
    span: PlainDecimal
    factor: PlainDecimal
    corrected: PlainDecimal
    sd_standard: PlainDecimal
    sd_blank: PlainDecimal
    df_standard: int
    df_blank: int
    u_corrected: PlainDecimal


@dataclass(frozen=True, slots=True)
class WorkedPortion:
    """From raw readings to the content of one portion.

    lines: raw file lines of the readings. solution_value, u_solution: in the method's solution unit, before dilution.
    dilution: whole factor, steps and extra dilution together. blank_value: of the method blank before its dilution,
    empty where none is taken off. value: in the result's unit. why: empty exactly for the readings that count; else
    value is empty and why says the reason. position: 0, and no lines, for a portion that was not read.
    series: one where the portion was evaluated by its own standard additions, else none; lines, signals and position
    are then those of its tube without addition. bracket: one where it was read between two standards, else none.
    drift: one where its signal was corrected for drift; mean_signal is the signal as read. verdict: by the limits of
    single portions, where there are some and it has a value; else empty.
    """

    batch: str
    portion: str
    position: int
    lines: tuple[int, ...]
    signals: tuple[PlainDecimal, ...]
    mean_signal: PlainDecimal
    rsd_percent: PlainDecimal
    solution_value: PlainDecimal
    u_solution: PlainDecimal
    extra_dilution: PlainDecimal
    steps: tuple[DilutionStep, ...]
    dilution: PlainDecimal
    blank_value: PlainDecimal
    mass_g: PlainDecimal
    volume_ml: PlainDecimal
    area_dm2: PlainDecimal
    unit_mass_g: PlainDecimal
    value: PlainDecimal
    quantification_limit: PlainDecimal
    why: str
    moisture_percent: PlainDecimal = ""
    series: tuple[AddedSeries, ...] = ()
    bracket: tuple[Bracket, ...] = ()
    drift: tuple[DriftStep, ...] = ()
    verdict: PortionVerdict = field(default="", metadata=LEFT_OUT_WHEN_EMPTY)

    @property
    def positions(self) -> tuple[int, ...]:
        """Every presented solution its value rests on, in presented order; none for a portion that was not read."""
        own = {self.position, *(tube.position for one in self.series for tube in one.tubes)}
        return tuple(sorted(own - {0}))

    @property
    def standards(self) -> tuple[int, ...]:
        """The bracket standards it was read between, the checks it was corrected for drift by, in presented order."""
        around = [(*one.low.positions, *one.high.positions) for one in self.bracket]
        around += [(*one.first, *one.before, *one.after) for one in self.drift]
        return tuple(sorted({place for own in around for place in own}))


@dataclass(frozen=True, slots=True)
class Contribution:
    """One line of the uncertainty budget: u in the result's unit, share of the variance in percent."""

    name: str
    u: PlainDecimal
    share_percent: PlainDecimal


@dataclass(frozen=True, slots=True)
class Quantified:
    """A measured value: value and u of record, and both as reported.

    df: effective degrees of freedom, a whole number as text; empty when nothing limits them.
    """

    kind: Literal["quantified"]
    value: PlainDecimal
    u: PlainDecimal
    df: PlainDecimal
    k: PlainDecimal
    value_text: str
    expanded_text: str


@dataclass(frozen=True, slots=True)
class BelowLimit:
    """Below the quantification limit: the limit of record, and as reported (``<0.050``). value: for the record only."""

    kind: Literal["below_limit"]
    limit: PlainDecimal
    value: PlainDecimal
    value_text: str


@dataclass(frozen=True, slots=True)
class NotReportable:
    """No value, and why: over range, voided by a check, portion lost."""

    kind: Literal["not_reportable"]
    code: str
    why: str


Outcome: TypeAlias = Quantified | BelowLimit | NotReportable


@dataclass(frozen=True, slots=True)
class WorkedResult:
    """One result: one sample, element, fraction, basis and reported quantity, with all it was made from.

    calculation_rules: which rules made the numbers. probability: that the true value conforms, when it can be said.
    comment_required: a borderline case a person must comment on. method, specification: exact approved versions.
    expressed_as, expression_factor: substance the value is given as and the factor from the element, or empty.
    """

    result_id: str
    sample: str
    element: str
    fraction: str
    basis: str
    quantity: Quantity
    unit: str
    method: DocumentRef
    specification: DocumentRef
    outcome: Outcome
    quantification_limit: PlainDecimal
    detection_limit: PlainDecimal
    portions: tuple[WorkedPortion, ...]
    contributions: tuple[Contribution, ...]
    lower: PlainDecimal
    upper: PlainDecimal
    rule: DecisionRule
    verdict: Verdict
    acceptance_lower: PlainDecimal
    acceptance_upper: PlainDecimal
    probability: PlainDecimal
    comment_required: str
    exceedance_means: str
    calculation_rules: int
    expressed_as: str = ""
    expression_factor: PlainDecimal = ""


@dataclass(frozen=True, slots=True)
class RunWork:
    """All that the calculation of one run gave. usable: False when the calibration or a required check failed it."""

    schema: Literal["run-work/1"]
    calculation_rules: int
    calibration: Calibration
    checks: tuple[CheckVerdict, ...]
    voided: tuple[Voided, ...]
    results: tuple[WorkedResult, ...]
    usable: bool
    findings: tuple[str, ...]
