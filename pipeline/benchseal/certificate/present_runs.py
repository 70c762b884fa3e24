"""One run as the certificate shows it: the picture of its curve, the facts of its fit, its checks kind by kind."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, Final

from benchseal.certificate.figures import calibration_data
from benchseal.certificate.language import DASH, ENGLISH, local, signal_unit
from benchseal.certificate.view import CheckLine, RunPanel

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from benchseal.certificate.language import Words
    from benchseal.pictures.calibration import CalibrationData
    from benchseal.records.evidence import EvidenceRun
    from benchseal.records.method import CheckRule
    from benchseal.records.results import Calibration, CheckVerdict

NOT_HERE: Final = "*"  # marks a check made on a sample that this file does not show
_ORDERED: Final = {"first", "later"}
_SCORED: Final = {"zeta", "e_n"}
_NEAR_LIMIT: Final = {"portions_agree", "spikes_agree"}


def run_panel(run: EvidenceRun, zone: str, words: Words = ENGLISH) -> RunPanel:
    """One run. zone: of the laboratory, for the day of measurement."""
    technique = words.word("technique", run.method.technique)
    measured_on = words.day(local(run.facts.measured_at, zone))
    recomputable = run.method.signal_is != "instrument_concentration"
    return RunPanel(
        heading=subject(run, words),
        run=words.say("run/panel", run=run.run, technique=technique, day=measured_on),
        fit_line=" · ".join((fit_line(run.calibration, words), *_curve_of(run, words)))
        if recomputable
        else words.say("curve/elsewhere"),
        calibration=picture(run, words) if recomputable else None,
        checks=tuple(check_lines(run, words)),
    )


def _curve_of(run: EvidenceRun, words: Words) -> Iterator[str]:
    """Which run the curve in the picture is of, where it is not this one's."""
    yield from (words.say("curve/of_run", run=use.run) for use in run.calibration.stored)


def subject(run: EvidenceRun, words: Words = ENGLISH) -> str:
    """``Lead, 283.3 nm``."""
    nm = words.number(run.method.wavelength_nm)
    return words.say("run/heading", element=words.substance(run.method.element), nm=nm)


def fit_line(calibration: Calibration, words: Words = ENGLISH) -> str:
    """``line, unweighted · n = 14 · residual sd 0.00041 A·s``, or ``weighted residual sd`` without a unit.

    s = sqrt(sum w r^2 / df) has the unit of the signal only where all weights are one.
    """
    weighting = words.word("weighting", calibration.weighting)
    fit = words.say("curve/fit", model=words.word("model", calibration.model), weighting=weighting, n=calibration.n)
    if not calibration.residual_sd:
        return fit
    sd = words.short(calibration.residual_sd, 2)
    if calibration.weighting != "none":
        return f"{fit} · {words.say('curve/weighted_sd', sd=sd)}"
    unit = f" {signal_unit(calibration.signal_unit)}".rstrip()
    return f"{fit} · {words.say('curve/sd', sd=sd)}{unit}"


def picture(run: EvidenceRun, words: Words = ENGLISH) -> CalibrationData:
    """The numbers of the picture; they are drawn and never printed as results."""
    return calibration_data(run.calibration, subject(run, words), words=words)


def check_lines(run: EvidenceRun, words: Words = ENGLISH) -> Iterator[CheckLine]:
    """The checks of a run, those of one rule and one limit in one line; the rules of the curve are one line together.

    A check on samples is shown as made on this certificate's sample; only where there is none, as made on others.
    """
    curve = [check for check in run.checks if check.check == "calibration"]
    if curve:
        yield _curve(curve, words)
    groups: dict[tuple[str, ...], list[CheckVerdict]] = {}
    for check in printed_checks(run):
        key = (check.rule, check.low, check.high, check.unit, "sample" if check.made_on_sample else "")
        groups.setdefault(key, []).append(check)
    shown = _shown(run)
    rules = {rule.id: rule for rule in run.method.checks}
    for checks in groups.values():
        first = checks[0]
        yield _line(checks, words, away=elsewhere(first, shown), name=_name(first, rules.get(first.rule), words))


def _name(check: CheckVerdict, rule: CheckRule | None, words: Words) -> str:
    """What a line calls its check, by the rule it was judged by: short, since three or four panels stand abreast."""
    name = words.word("check", check.check)
    if rule is None:
        return name
    if check.check in _NEAR_LIMIT and check.high != rule.high:
        return words.word("check_near", check.check)  # judged in percent of the quantification limit there
    if rule.when in _ORDERED:
        name = words.say(f"check_order/{rule.when}", name=name)
    return words.say(f"check_score/{rule.limit_in}", name=name) if rule.limit_in in _SCORED else name


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


def _curve(checks: Sequence[CheckVerdict], words: Words) -> CheckLine:
    """All rules on the curve; the figure shown is r squared."""
    squared = next((check for check in checks if check.rule == "calibration.r_squared" and check.found), None)
    found = f"r² {words.short_against(squared.found, squared.low, digits=5)}" if squared else ""
    limits = words.interval(squared.low, squared.high, "") if squared else DASH
    return _judged(words.say("check/calibration"), found, limits, checks, words)


def _line(checks: Sequence[CheckVerdict], words: Words, *, away: bool, name: str) -> CheckLine:
    first, read = checks[0], [check for check in checks if check.positions]
    if first.made_on_sample and first.check == "replicates":
        name = words.say("checked/sample_scatter")
    many = f", {len(read)}" if len(read) > 1 else ""
    limits = words.interval(first.low, first.high, first.unit)
    return _judged(f"{name}{many}{NOT_HERE if away else ''}", _found(read, words), limits, checks, words)


def _found(checks: Sequence[CheckVerdict], words: Words) -> str:
    """What was found, with sign and unit: from the least to the greatest."""
    found = sorted((check for check in checks if check.found), key=lambda check: Decimal(check.found))
    if not found:
        return ""
    texts = [words.short_against(check.found, check.low, check.high) for check in found]
    low, high, unit = texts[0], texts[-1], words.unit(found[0].unit)
    said = low if low == high else words.say("checked/range", low=low, high=high)
    return f"{said} {unit}".rstrip()


def _judged(name: str, found: str, limits: str, checks: Sequence[CheckVerdict], words: Words) -> CheckLine:
    """A line with its verdict: ``met`` only where every check of it passed."""
    failed = sum(check.verdict == "fail" for check in checks)
    unjudged = sum(check.verdict == "not_evaluated" for check in checks)
    if failed:
        if len(checks) > 1:
            found = words.say("checked/failed", found=found, failed=failed, all=len(checks))
        return CheckLine(name, found, limits, words.say("checked/not_met"), "fails")
    if not unjudged:
        return CheckLine(name, found or DASH, limits, words.say("checked/met"), "complies")
    if not found:
        read = any(check.positions for check in checks)
        return CheckLine(name, words.say("checked/not_judged" if read else "checked/not_read"), limits, DASH, "open")
    return CheckLine(name, words.say("checked/open", found=found, count=unjudged), limits, DASH, "open")
