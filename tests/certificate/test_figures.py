"""From records to pictures: the band from the covariance, what was left out, checks, shares, limits."""

from __future__ import annotations

from dataclasses import replace
from math import sqrt
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from tests.published.published import calc, figures
from tests.verify.making import make

from benchseal.certificate.figures import BAND_FACTOR, calibration_data, check_data, limit_pictures, shares_data
from benchseal.records.results import BelowLimit, Calibration, CheckVerdict, Level, NotReportable, Quantified

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.records.results import WorkedResult


@pytest.fixture(scope="module")
def lead() -> WorkedResult:
    return make().evidence.results[0].result


def fitted(model: str, x: Sequence[float], y: Sequence[float], highest: str) -> Calibration:
    """A curve by the door people use, as a record; its band ends at ``highest``."""
    found: dict[str, Any] = calc(
        kind="calibration", model=model, x=[f"{one:.6f}" for one in x], y=[f"{one}" for one in y]
    )
    return Calibration(
        element="Pb",
        model=model,
        weighting="none",
        fit_on="means",
        unit="ug/L",
        signal_unit="A",
        n=len(x),
        df=len(x) - len(found["coefficients"]),
        coefficients=tuple(f"{one:.15f}" for one in found["coefficients"]),
        standard_errors=(),
        covariance=tuple(tuple(f"{one:.20f}" for one in row) for row in found["covariance"]),
        residual_sd="",
        r_squared="",
        rse_percent="",
        lowest=f"{min(x):.6f}",
        highest=highest,
        levels=tuple(Level("S", 1, f"{one:.6f}", f"{two}", "0", "0", "", "") for one, two in zip(x, y, strict=True)),
    )  # fmt: skip


def test_the_band_has_the_uncertainty_the_gum_prints_outside_the_data() -> None:
    """JCGM 100:2008, H.3.4: at 30 degrees u = 0.0041, from variances and covariance of the line's coefficients."""
    data = figures("gum_h3_thermometer")
    x = [round(float(t) - float(data["t0"]), 3) for t in data["t"]]
    band = calibration_data(fitted("line", x, [float(b) for b in data["b"]], "10"), "thermometer").band
    last = band[-1]
    assert last.x == 10.0
    assert round((last.high - last.low) / 2.0 / BAND_FACTOR, 4) == data["published"]["u_prediction_at_30"]
    assert round((last.high + last.low) / 2.0, 4) == data["published"]["prediction_at_30"]


@pytest.mark.parametrize(("model", "degree"), [("line", 1), ("quadratic", 2)])
def test_the_band_is_that_of_numpy_at_every_point(model: str, degree: int) -> None:
    """numpy.polyfit with cov=True scales by s2 = SSR/(n - p), as the fit does. Invented points."""
    x = [0.0, 1.0, 2.5, 5.0, 10.0, 15.0, 20.0]
    y = [0.0011, 0.0049, 0.0092, 0.0168, 0.0331, 0.0472, 0.0601]
    coefficients, covariance = np.polyfit(x, y, degree, cov=True)
    band = calibration_data(fitted(model, x, y, "20"), "lead").band
    assert len(band) > 20
    for one in band:
        powers = np.array([one.x**power for power in range(degree, -1, -1)])
        u = sqrt(float(powers @ covariance @ powers))
        assert (one.high - one.low) / 2.0 == pytest.approx(2.0 * u, rel=1e-6)
        assert (one.high + one.low) / 2.0 == pytest.approx(float(powers @ coefficients), rel=1e-9)


def test_without_degrees_of_freedom_there_is_no_band() -> None:
    curve = make().evidence.runs[0].calibration
    assert calibration_data(replace(curve, covariance=(("", ""), ("", ""))), "lead").band == ()


def check(position: int, found: str, verdict: str, unit: str = "%") -> CheckVerdict:
    """One verdict on a check standard."""
    why = "" if verdict == "pass" else "said elsewhere"
    return CheckVerdict(
        "check-standard", "check_standard", (position,), "10", found, "90", "110", unit, verdict, why, "s", False,  # type: ignore[arg-type]
    )  # fmt: skip


def test_checks_in_run_order_with_the_limits_of_the_method() -> None:
    data = check_data([check(33, "87.14", "fail"), check(9, "100.2", "pass"), check(40, "", "not_evaluated")], "c")
    assert [(one.x, one.words) for one in data.values] == [(9, ""), (33, "87.1 %, fails")]
    assert [(line.y, line.text, line.kind) for line in data.lines] == [
        (100.0, "expected", "middle"), (90.0, "limit 90", "limit"), (110.0, "limit 110", "limit"),
    ]  # fmt: skip


def test_a_value_close_to_its_limit_keeps_the_digits_that_say_its_side() -> None:
    (value,) = check_data([check(9, "89.9962", "fail")], "c").values
    assert value.words == "89.996 %, fails"


def test_shares_are_the_records_own(lead: WorkedResult) -> None:
    data = shares_data(lead, "A-1")
    assert [(one.name, one.percent) for one in data.shares] == [
        (one.name, one.share_percent) for one in lead.contributions
    ]


def test_results_against_one_limit_stand_together(lead: WorkedResult) -> None:
    assert isinstance(lead.outcome, Quantified)
    guarded = replace(lead, acceptance_upper="0.4805")
    below = replace(lead, sample="S-2", outcome=BelowLimit("below_limit", "0.0498", "0.01", "<0.050"))
    lost = replace(
        lead, sample="S-3", outcome=NotReportable("not_reportable", "bracket.failed", "lost"), verdict="none"
    )
    other = replace(lead, sample="S-4", upper="0.20")
    free = replace(lead, sample="S-5", lower="", upper="")
    first, second = limit_pictures([guarded, below, lost, other, free], lambda one: one.sample)
    assert [row.name for row in first.rows] == [lead.sample, "S-2", "S-3"]
    assert (first.low, first.high, first.high_text) == (None, 0.5, "0.50")
    assert first.rows[0].accepted_high == 0.4805
    assert first.rows[0].value == float(lead.outcome.value)
    assert first.rows[0].expanded == pytest.approx(float(lead.outcome.k) * float(lead.outcome.u))
    assert (first.rows[1].below, first.rows[1].value, first.rows[1].words) == (0.0498, None, "< 0.050, complies")
    assert (first.rows[2].numbers, first.rows[2].words) == ((), "no result")
    assert [row.name for row in second.rows] == ["S-4"]


def test_many_results_are_several_pictures(lead: WorkedResult) -> None:
    many = [replace(lead, sample=f"S-{nth}") for nth in range(65)]
    assert [len(one.rows) for one in limit_pictures(many, lambda one: one.sample)] == [30, 30, 5]
