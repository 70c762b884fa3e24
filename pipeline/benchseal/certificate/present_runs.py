"""One run as the certificate shows it: the picture of its curve, the facts of its fit, its checks kind by kind."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, Final

from benchseal.certificate import wording
from benchseal.certificate.figures import calibration_data
from benchseal.certificate.view import CheckLine, RunPanel
from benchseal.records.elements import element_name
from benchseal.records.quantities import unit_shown

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from benchseal.pictures.calibration import CalibrationData
    from benchseal.records.evidence import EvidenceRun
    from benchseal.records.method import CheckRule
    from benchseal.records.results import Calibration, CheckVerdict

NOT_HERE: Final = "*"  # marks a check made on a sample that this file does not show
NO_CURVE: Final = "concentrations as the instrument calculated them; calibration not recomputable"
# Short, because three or four panels stand side by side.
_NAMES: Final = {
    "replicates": "scatter",
    "second_source": "second source",
    "check_standard": "check standard",
    "check_blank": "check blank",
    "method_blank": "method blank",
    "control_sample": "control sample",
    "reference_material": "reference",
    "spike": "spike recovery",
    "portions_agree": "portions differ",
    "lowest_level": "lowest level",
    "post_spike": "spike in digest",
    "spikes_agree": "spikes differ",
    "dilution_test": "dilution test",
    "return_to_zero": "return to zero",
    "sensitivity": "sensitivity",
    "acid_match": "acid",
}
_ORDER: Final = {"first": "first ", "later": "later "}
_SCORES: Final = {"zeta": ", zeta", "e_n": ", E_n"}
_NEAR_LIMIT: Final = {"portions_agree": "portions, of limit", "spikes_agree": "spikes, of limit"}


def run_panel(run: EvidenceRun, zone: str) -> RunPanel:
    """One run. zone: of the laboratory, for the day of measurement."""
    technique = wording.TECHNIQUES[run.method.technique]
    measured_on = wording.day(wording.local(run.facts.measured_at, zone))
    recomputable = run.method.signal_is != "instrument_concentration"
    return RunPanel(
        heading=subject(run),
        run=f"run {run.run}, {technique}, {measured_on}",
        fit_line="".join((fit_line(run.calibration), *_curve_of(run))) if recomputable else NO_CURVE,
        calibration=picture(run) if recomputable else None,
        checks=tuple(check_lines(run)),
    )


def _curve_of(run: EvidenceRun) -> Iterator[str]:
    """Which run the curve in the picture is of, where it is not this one's."""
    yield from (f" · curve of run {use.run}" for use in run.calibration.stored)


def subject(run: EvidenceRun) -> str:
    """``Lead, 283.3 nm``."""
    return f"{wording.capital(element_name(run.method.element))}, {run.method.wavelength_nm} nm"


def fit_line(calibration: Calibration) -> str:
    """``line, unweighted · n = 14 · residual sd 0.00041 A·s``, or ``weighted residual sd`` without a unit.

    s = sqrt(sum w r^2 / df) has the unit of the signal only where all weights are one.
    """
    weighting = wording.WEIGHTINGS.get(calibration.weighting, calibration.weighting)
    model = wording.MODELS.get(calibration.model, calibration.model)
    weighted, unit = "weighted ", ""
    if calibration.weighting == "none":
        weighted, unit = "", f" {wording.signal_unit(calibration.signal_unit)}".rstrip()
    spread = ""
    if calibration.residual_sd:
        spread = f" · {weighted}residual sd {wording.short(calibration.residual_sd, 2)}{unit}"
    return f"{model}, {weighting} · n = {calibration.n}{spread}"


def picture(run: EvidenceRun) -> CalibrationData:
    """The numbers of the picture; they are drawn and never printed as results."""
    return calibration_data(run.calibration, subject(run))


def check_lines(run: EvidenceRun) -> Iterator[CheckLine]:
    """The checks of a run, those of one rule and one limit in one line; the rules of the curve are one line together.

    A check on samples is shown as made on this certificate's sample; only where there is none, as made on others.
    """
    curve = [check for check in run.checks if check.check == "calibration"]
    if curve:
        yield _curve(curve)
    groups: dict[tuple[str, ...], list[CheckVerdict]] = {}
    for check in printed_checks(run):
        key = (check.rule, check.low, check.high, check.unit, "sample" if check.made_on_sample else "")
        groups.setdefault(key, []).append(check)
    shown = _shown(run)
    rules = {rule.id: rule for rule in run.method.checks}
    for checks in groups.values():
        first = checks[0]
        yield _line(checks, away=elsewhere(first, shown), name=_name(first, rules.get(first.rule)))


def _name(check: CheckVerdict, rule: CheckRule | None) -> str:
    """What a line calls its check, by the rule it was judged by."""
    name = _NAMES.get(check.check, check.check)
    if rule is None:
        return name
    if check.check in _NEAR_LIMIT and check.high != rule.high:
        return _NEAR_LIMIT[check.check]  # there the difference is judged in percent of the quantification limit
    return f"{_ORDER.get(rule.when, '')}{name}{_SCORES.get(rule.limit_in, '')}"


def printed_checks(run: EvidenceRun) -> tuple[CheckVerdict, ...]:
    """The checks beside those of the curve that the page shows."""
    shown = _shown(run)
    on_own = {check.rule for check in run.checks if check.made_on_sample and not elsewhere(check, shown)}
    return tuple(
        check
        for check in run.checks
        if check.check != "calibration" and not (elsewhere(check, shown) and check.rule in on_own)
    )


def elsewhere(check: CheckVerdict, shown: set[int]) -> bool:
    """Whether a check was made on a sample that the evidence does not show."""
    return check.made_on_sample and not set(check.positions) <= shown


def made_elsewhere(run: EvidenceRun) -> bool:
    """Whether the page shows any such check of a run."""
    shown = _shown(run)
    return any(elsewhere(check, shown) for check in printed_checks(run))


def _shown(run: EvidenceRun) -> set[int]:
    return {one.solution.position for one in run.clear}


def _curve(checks: Sequence[CheckVerdict]) -> CheckLine:
    """All rules on the curve; the figure shown is r squared."""
    squared = next((check for check in checks if check.rule == "calibration.r_squared" and check.found), None)
    found = f"r² {wording.short_against(squared.found, squared.low, digits=5)}" if squared else ""
    limits = wording.interval(squared.low, squared.high, "") if squared else wording.DASH
    return _judged("calibration", found, limits, checks)


def _line(checks: Sequence[CheckVerdict], *, away: bool, name: str) -> CheckLine:
    first, read = checks[0], [check for check in checks if check.positions]
    if first.made_on_sample and first.check == "replicates":
        name = "scatter, sample"
    many = f", {len(read)}" if len(read) > 1 else ""
    limits = wording.interval(first.low, first.high, first.unit)
    return _judged(f"{name}{many}{NOT_HERE if away else ''}", _found(read), limits, checks)


def _found(checks: Sequence[CheckVerdict]) -> str:
    """What was found, with sign and unit: from the least to the greatest."""
    found = sorted((check for check in checks if check.found), key=lambda check: Decimal(check.found))
    if not found:
        return ""
    texts = [wording.short_against(check.found, check.low, check.high) for check in found]
    unit = unit_shown(found[0].unit)
    return f"{' to '.join(dict.fromkeys((texts[0], texts[-1])))} {unit}".rstrip()


def _judged(name: str, found: str, limits: str, checks: Sequence[CheckVerdict]) -> CheckLine:
    """A line with its verdict: ``met`` only where every check of it passed."""
    failed = sum(check.verdict == "fail" for check in checks)
    unjudged = sum(check.verdict == "not_evaluated" for check in checks)
    if failed:
        some = f" ({failed} of {len(checks)})" if len(checks) > 1 else ""
        return CheckLine(name, f"{found}{some}", limits, "not met", "fails")
    if not unjudged:
        return CheckLine(name, found or wording.DASH, limits, "met", "complies")
    if not found:
        read = any(check.positions for check in checks)
        return CheckLine(name, "not judged" if read else "not read", limits, wording.DASH, "open")
    return CheckLine(name, f"{found}, {unjudged} not judged", limits, wording.DASH, "open")
