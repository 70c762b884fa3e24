"""From records to the data of pictures, for certificates and reports alike.

Numbers of record become places on paper here and nowhere else; what is printed stays the record's own text, shortened.
"""

from __future__ import annotations

from decimal import Decimal
from math import sqrt
from typing import TYPE_CHECKING, Final

from benchseal.certificate import wording
from benchseal.certificate.language import ENGLISH
from benchseal.pictures.against_limit import LimitData, Row
from benchseal.pictures.calibration import BandPoint, CalibrationData, CalibrationWords, Standard
from benchseal.pictures.check_chart import CheckData, Line, Value
from benchseal.pictures.shares import Share, SharesData
from benchseal.records.quantities import unit_shown
from benchseal.records.results import BelowLimit, NotReportable, Quantified

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from benchseal.certificate.language import Words
    from benchseal.records.quantities import PlainDecimal
    from benchseal.records.results import Calibration, CheckVerdict, WorkedResult

BAND_FACTOR: Final = 2.0  # the band is the curve ± this many of its standard uncertainties
_BAND_POINTS: Final = 41
_ROWS_A_PICTURE: Final = 30
_NOT_PASSED: Final = {"fail": "fails", "not_evaluated": "not judged"}


def calibration_data(
    found: Calibration, named: str, left_out: tuple[Standard, ...] = (), words: Words = ENGLISH
) -> CalibrationData:
    """A curve with its levels and its band. left_out: standards that are not points of it, each with the reason.

    Raises ValueError where the record holds no line or parabola through two levels.
    """
    through_zero = found.model == "line_through_zero"
    b = [float(text) for text in found.coefficients]
    area = found.signal_unit.endswith("s")
    used = tuple(Standard(float(level.concentration), float(level.mean_signal)) for level in found.levels)
    return CalibrationData(
        subject=named,
        model=words.word("model_named", found.model),
        x_quantity=words.say("picture/concentration"),
        x_unit=words.unit(found.unit),
        y_quantity=words.say("picture/area" if area else "picture/absorbance"),
        y_unit="s" if area else "",
        standards=(*used, *left_out),
        coefficients=(0.0, *b) if through_zero else tuple(b),
        band=tuple(_band(found, (1,) if through_zero else tuple(range(len(b))))),
        words=CalibrationWords(
            residual=words.say("picture/residual"),
            decimal=words.form.decimal,
            sentence="" if left_out else words.template("picture/sentence"),
        ),
    )


def _band(found: Calibration, powers: tuple[int, ...]) -> Iterator[BandPoint]:
    """The curve ± ``BAND_FACTOR`` standard uncertainties, from the covariance of its coefficients (JCGM 100, 5.2.2).

    Nothing where the fit left no covariance: as many points as coefficients.
    """
    if not all(text for row in found.covariance for text in row):
        return
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


def check_data(verdicts: Sequence[CheckVerdict], named: str) -> CheckData:
    """The verdicts of one rule over the positions of a run, with its limits. Raises ValueError without a number."""
    first = verdicts[0]
    values = [Value(one.positions[0], float(one.found), _named(one)) for one in verdicts if one.found and one.positions]
    return CheckData(
        subject=named,
        x_title="position in the run",
        y_quantity="found",
        y_unit=unit_shown(first.unit),
        values=tuple(sorted(values, key=lambda one: one.x)),
        lines=(*_middle(first), *limit_lines(first.low, first.high)),
    )


def limit_lines(low: PlainDecimal, high: PlainDecimal) -> Iterator[Line]:
    """The limits of a rule as lines; an open side has none."""
    yield from (Line(float(text), f"limit {wording.printed(text)}") for text in (low, high) if text)


def _middle(check: CheckVerdict) -> Iterator[Line]:
    """What was expected: a hundred percent, nothing of a blank, or a concentration."""
    if check.unit == "%" and check.expected:
        yield Line(100.0, "expected", "middle")
    elif check.unit != "%" and check.expected and not check.made_on_sample:
        yield Line(float(check.expected), "expected", "middle")


def _named(check: CheckVerdict) -> str:
    if check.verdict == "pass":
        return ""
    found = wording.short_against(check.found, check.low, check.high)
    return f"{found} {unit_shown(check.unit)}".rstrip() + f", {_NOT_PASSED[check.verdict]}"


def shares_data(result: WorkedResult, named: str) -> SharesData:
    """The contributions to a result's uncertainty. Raises ValueError where it has none."""
    return SharesData(named, tuple(Share(one.name, one.share_percent) for one in result.contributions))


def limit_pictures(results: Sequence[WorkedResult], name: Callable[[WorkedResult], str]) -> tuple[LimitData, ...]:
    """Results that have a limit, those held against the same one together, at most thirty in a picture."""
    groups: dict[tuple[str, ...], list[WorkedResult]] = {}
    for one in results:
        if one.lower or one.upper:
            stated = (one.element, one.fraction, one.quantity, one.basis, one.expressed_as, one.unit)
            groups.setdefault((*stated, one.lower, one.upper), []).append(one)
    return tuple(
        _limit_data(own[at : at + _ROWS_A_PICTURE], name)
        for own in groups.values()
        for at in range(0, len(own), _ROWS_A_PICTURE)
    )


def _limit_data(results: Sequence[WorkedResult], name: Callable[[WorkedResult], str]) -> LimitData:
    first = results[0]
    return LimitData(
        subject=f"{first.element}, {first.fraction}",
        quantity=first.quantity.replace("_", " "),
        unit=unit_shown(first.unit),
        low=float(first.lower) if first.lower else None,
        high=float(first.upper) if first.upper else None,
        low_text=wording.printed(first.lower),
        high_text=wording.printed(first.upper),
        rows=tuple(_row(one, name(one)) for one in results),
    )


def _row(result: WorkedResult, name: str) -> Row:
    outcome = result.outcome
    verdict = wording.VERDICTS[result.verdict][0]
    low = _moved(result.acceptance_lower, result.lower)
    high = _moved(result.acceptance_upper, result.upper)
    match outcome:
        case Quantified():
            # U as reported is rounded; the whiskers are k u.
            reach = float(Decimal(outcome.k) * Decimal(outcome.u))
            words = f"{wording.printed(outcome.value_text)} ± {outcome.expanded_text}, {verdict}"
            return Row(name, words, float(outcome.value), reach, None, low, high)
        case BelowLimit():
            words = f"{wording.printed(outcome.value_text)}, {verdict}"
            return Row(name, words, None, None, float(outcome.limit), low, high)
        case NotReportable():
            return Row(name, "no result")


def _moved(accepted: PlainDecimal, limit: PlainDecimal) -> float | None:
    """An acceptance limit that is not the limit itself."""
    if not accepted or not limit or Decimal(accepted) == Decimal(limit):
        return None
    return float(accepted)
