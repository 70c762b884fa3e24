"""A certificate with limits of single portions: it verifies, the page says them, and a lie about a portion is named.

The figures are invented. Lead is about 0.249 in both portions.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from tests.compute.making import requirement_of
from tests.verify import making
from tests.verify.making import Plan, make
from tests.verify.test_contents import failed, report_on

from benchseal.certificate.conclude import conclusion_for, lines_of
from benchseal.certificate.present import with_printed
from benchseal.records.results import Quantified

if TYPE_CHECKING:
    from benchseal.records.evidence import Evidence
    from benchseal.records.results import RunWork, WorkedResult


def asking(monkeypatch: pytest.MonkeyPatch, upper: str, single: str) -> None:
    line = requirement_of(portions=2, upper=upper, portion_upper=single)
    monkeypatch.setattr(making, "_lead_line", lambda: line)


def lied(result: WorkedResult) -> WorkedResult:
    """Every portion within its limit, and so the result."""
    within = tuple(replace(row, verdict="pass") for row in result.portions)
    return replace(result, portions=within, verdict="pass", comment_required="")


def lie(work: RunWork) -> RunWork:
    return replace(work, results=tuple(lied(one) if one.element == "Pb" else one for one in work.results))


def concluded(evidence: Evidence) -> Evidence:
    """The conclusion the results stated ask for."""
    told = replace(evidence.certificate, conclusion=conclusion_for(lines_of(evidence)))
    return with_printed(replace(evidence, certificate=told))


@pytest.mark.clause("OOS IV.C.1")
def test_a_portion_within_its_limit_is_genuine_and_the_page_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    asking(monkeypatch, "0.50", "0.60")
    made = make()
    report = report_on(made)
    assert (report.word, report.exit_code) == ("GENUINE", 0), report.lines()
    assert "limit of single portions not more than 0.60 µg/g: all within" in made.view().results[0].detail


@pytest.mark.refuses("OOS IV.C.1")
def test_a_portion_outside_is_named_on_the_page_though_the_mean_is_within(monkeypatch: pytest.MonkeyPatch) -> None:
    asking(monkeypatch, "0.2495", "0.2496")
    made = make(Plan(content=concluded))
    lead = made.evidence.results[0].result
    assert isinstance(lead.outcome, Quantified)
    assert float(lead.outcome.value) < 0.2495
    assert [(row.portion, row.verdict) for row in lead.portions] == [("T-A1/1", "fail"), ("T-A1/2", "pass")]
    assert lead.verdict == "fail"
    row = made.view().results[0]
    assert "limit of single portions not more than 0.2496 µg/g: T-A1/1 (0.25) outside" in row.detail
    assert "does not comply" in made.view().conformity.conclusion
    assert "one outside makes the result not comply" in made.view().conformity.decision_rule
    assert report_on(made).word == "GENUINE"


@pytest.mark.refuses("OOS IV.C.1")
def test_a_portion_said_to_be_within_is_found_out(monkeypatch: pytest.MonkeyPatch) -> None:
    """NEG: the calculation is told otherwise before everything is signed and sealed."""
    asking(monkeypatch, "0.2495", "0.2496")
    report = report_on(make(Plan(work=lie, content=concluded)))
    assert report.word == "ALTERED"
    assert "the readings give 'fail'" in " ".join(failed(report).values())
