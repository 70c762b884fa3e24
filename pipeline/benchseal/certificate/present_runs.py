"""One run as the certificate shows it: the picture of its curve, the facts of its fit, its checks kind by kind."""

from __future__ import annotations

from decimal import Decimal
from math import sqrt
from typing import TYPE_CHECKING, Final

from benchseal.certificate import wording
from benchseal.certificate.view import CheckLine, RunPanel
from benchseal.pictures.calibration import BandPoint, CalibrationData, Standard
from benchseal.records.elements import element_name
from benchseal.records.quantities import unit_shown

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from benchseal.records.evidence import EvidenceRun
    from benchseal.records.results import Calibration, CheckVerdict

NOT_HERE: Final = "*"  # marks a check made on a sample that this file does not show
NO_CURVE: Final = "concentrations as the instrument calculated them; calibration not recomputable"
BAND_FACTOR: Final = 2.0  # the band is the curve ± this many of its standard uncertainties
_BAND_POINTS: Final = 25
_NAMES: Final = {
    "replicates": "scatter of readings",
    "second_source": "second source",
    "check_standard": "check standard",
    "check_blank": "check blank",
    "method_blank": "method blank",
    "control_sample": "control sample",
    "reference_material": "reference material",
    "spike": "spike recovery",
    "portions_agree": "difference of portions",
}


def run_panel(run: EvidenceRun, zone: str) -> RunPanel:
    """One run. zone: of the laboratory, for the day of measurement."""
    technique = wording.TECHNIQUES[run.method.technique]
    measured_on = wording.day(wording.local(run.facts.measured_at, zone))
    recomputable = run.method.signal_is != "instrument_concentration"
    return RunPanel(
        heading=subject(run),
        run=f"run {run.run}, {technique}, {measured_on}",
        fit_line=fit_line(run.calibration) if recomputable else NO_CURVE,
        calibration=picture(run) if recomputable else None,
        checks=tuple(check_lines(run)),
    )


def subject(run: EvidenceRun) -> str:
    """``Lead, 283.3 nm``."""
    return f"{wording.capital(element_name(run.method.element))}, {run.method.wavelength_nm} nm"


def fit_line(calibration: Calibration) -> str:
    """``line, weights 1/x² · n = 14 · residual sd 0.00041 A·s``."""
    weighting = wording.WEIGHTINGS.get(calibration.weighting, calibration.weighting)
    unit = wording.signal_unit(calibration.signal_unit)
    spread = f" · residual sd {wording.short(calibration.residual_sd, 2)}" if calibration.residual_sd else ""
    model = wording.MODELS.get(calibration.model, calibration.model)
    return f"{model}, {weighting} · n = {calibration.n}{spread} {unit}".rstrip()


def picture(run: EvidenceRun) -> CalibrationData:
    """The numbers of the picture; they are drawn and never printed as results."""
    found = run.calibration
    through_zero = found.model == "line_through_zero"
    b = [float(text) for text in found.coefficients]
    area = found.signal_unit.endswith("s")
    return CalibrationData(
        subject=subject(run),
        model=wording.MODELS_IN_SENTENCES.get(found.model, found.model),
        x_quantity="concentration",
        x_unit=unit_shown(found.unit),
        y_quantity="integrated absorbance" if area else "absorbance",
        y_unit="s" if area else "",
        standards=tuple(Standard(float(level.concentration), float(level.mean_signal)) for level in found.levels),
        coefficients=(0.0, *b) if through_zero else tuple(b),
        band=tuple(_band(found, (1,) if through_zero else tuple(range(len(b))))),
    )


def _band(found: Calibration, powers: tuple[int, ...]) -> Iterator[BandPoint]:
    """The curve ± ``BAND_FACTOR`` standard uncertainties, from the covariance of its coefficients (JCGM 100, 5.2.2)."""
    b = [float(text) for text in found.coefficients]
    covariance = [[float(text) for text in row] for row in found.covariance]
    low, high = float(found.lowest), float(found.highest)
    for nth in range(_BAND_POINTS):
        x = low + (high - low) * nth / (_BAND_POINTS - 1)
        by = [x**power for power in powers]
        y = sum(one * own for one, own in zip(b, by, strict=True))
        variance = sum(by[i] * own * by[j] for i, row in enumerate(covariance) for j, own in enumerate(row))
        reach = BAND_FACTOR * sqrt(max(variance, 0.0))
        yield BandPoint(x, y - reach, y + reach)


def check_lines(run: EvidenceRun) -> Iterator[CheckLine]:
    """The checks of a run, those of one rule in one line; the rules that judge the curve are one line together."""
    shown = {one.solution.position for one in run.clear}
    curve = [check for check in run.checks if check.check == "calibration"]
    if curve:
        yield _curve(curve)
    groups: dict[tuple[str, bool, bool], list[CheckVerdict]] = {}
    for check in run.checks:
        if check.check != "calibration":
            key = (check.rule, check.made_on_sample, elsewhere(check, shown))
            groups.setdefault(key, []).append(check)
    for (_, on_sample, away), checks in groups.items():
        yield _line(checks, on_sample=on_sample, away=away)


def elsewhere(check: CheckVerdict, shown: set[int]) -> bool:
    """Whether a check was made on a sample that the evidence does not show."""
    return check.made_on_sample and not set(check.positions) <= shown


def made_elsewhere(run: EvidenceRun) -> bool:
    """Whether a run shows any such check."""
    shown = {one.solution.position for one in run.clear}
    return any(elsewhere(check, shown) for check in run.checks)


def _curve(checks: Sequence[CheckVerdict]) -> CheckLine:
    """All rules on the curve; the figure shown is r squared."""
    squared = next((check for check in checks if check.rule == "calibration.r_squared" and check.found), None)
    found = f"r² {wording.short_against(squared.found, squared.low, digits=5)}" if squared else wording.DASH
    limits = f"r² {wording.interval(squared.low, squared.high, '')}" if squared else wording.DASH
    return _judged(f"calibration, {len(checks)} rules", found, limits, checks)


def _line(checks: Sequence[CheckVerdict], *, on_sample: bool, away: bool) -> CheckLine:
    first, read = checks[0], [check for check in checks if check.positions]
    name = _NAMES.get(first.check, first.check)
    if on_sample and first.check == "replicates":
        name = "scatter, this sample"
    many = f", {len(read)}" if len(read) > 1 else ""
    return _judged(f"{name}{many}{NOT_HERE if away else ''}", _found(read), _limits(checks), checks)


def _found(checks: Sequence[CheckVerdict]) -> str:
    """What was found, from the least to the greatest."""
    with_number = sorted((check for check in checks if check.found), key=lambda check: Decimal(check.found))
    if not with_number:
        return wording.DASH
    texts = [wording.short_against(check.found, check.low, check.high) for check in with_number]
    ends = dict.fromkeys((texts[0], texts[-1]))
    return f"{' to '.join(ends)} {unit_shown(with_number[0].unit)}".rstrip()


def _limits(checks: Sequence[CheckVerdict]) -> str:
    return "; ".join(dict.fromkeys(wording.interval(check.low, check.high, check.unit) for check in checks))


def _judged(name: str, found: str, limits: str, checks: Sequence[CheckVerdict]) -> CheckLine:
    failed = sum(check.verdict == "fail" for check in checks)
    if failed:
        word = "not met" if len(checks) == 1 else f"{failed} of {len(checks)} not met"
        return CheckLine(name, found, limits, word, "fails")
    if any(check.verdict == "not_evaluated" for check in checks):
        read = any(check.positions for check in checks)
        return CheckLine(name, found, limits, "not judged" if read else "not read", "open")
    return CheckLine(name, found, limits, "met", "complies")
