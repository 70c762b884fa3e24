"""Two results of one element and quantity on different bases: genuine as they are, and each lie about a basis named."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from tests.compute.making import requirement_of
from tests.verify import making
from tests.verify.making import Made, Plan, make, trust

from benchseal.certificate.conclude import COMPLIES, NO_LIMITS, NOT_ALL
from benchseal.certificate.present import result_row, with_printed
from benchseal.records.canonical import digest
from benchseal.records.run import DocumentRef
from benchseal.records.shape import record_bytes
from benchseal.verify.certificate import contents_checks
from benchseal.verify.report import Report

if TYPE_CHECKING:
    from collections.abc import Callable

    from benchseal.records.evidence import Evidence
    from benchseal.records.known import Bench
    from benchseal.records.results import RunWork, WorkedResult

LINES = (
    requirement_of(portions=2),
    requirement_of(portions=2, basis="dry", decimals=-1),
    requirement_of(portions=2, basis="dry", expressed_as="PbO", unit="%", upper="", decimals=-1),
    requirement_of(element="Cd", methods=("cd-furnace",)),
)
HONEST = making.bench


def asked_for_more() -> Bench:
    """The bench of ``making``, with moisture in every portion of the customer and two more lines for lead."""
    found = HONEST()
    portions = {
        key: replace(one, moisture_percent="5.20", u_moisture_percent="0.10") if one.sample == making.OURS else one
        for key, one in found.portions.items()
    }
    specification = replace(found.specifications["lozenge"][1], requirements=LINES)
    ref = DocumentRef("lozenge", 3, digest(record_bytes(specification)))
    return replace(found, portions=portions, specifications={**found.specifications, "lozenge": (ref, specification)})


@pytest.fixture(autouse=True)
def _more(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(making, "bench", asked_for_more)


def report_on(made: Made) -> Report:
    return Report(contents_checks(made.evidence_bytes, made.supplement_bytes, made.pages(), trust()))


def failed(report: Report) -> dict[str, str]:
    return {check.name: check.said for check in report.checks if check.holds is False}


def test_results_on_two_bases_are_genuine_and_printed_with_their_basis() -> None:
    made = make()
    report = report_on(made)
    assert (report.word, report.exit_code) == ("GENUINE", 0), report.lines()
    rows = made.view().results
    assert [row.quantity for row in rows] == [
        "total, as received",
        "total, on dry basis",
        "total, mass fraction, on dry basis, as PbO",
        "total, as received",
    ]
    assert [row.detail.endswith("moisture taken out: 5.20 %") for row in rows] == [False, True, True, False]
    assert rows[1].detail.startswith("Portions 0.2")
    assert "dry" in made.evidence.printed[1].tokens
    assert made.evidence.printed[2].tokens[:9] == (
        *("Lead", "total,", "mass", "fraction,", "on", "dry", "basis,", "as", "PbO"),
    )  # fmt: skip


def test_a_line_for_information_leaves_the_conclusion_to_the_others() -> None:
    made = make()
    assert made.evidence.certificate.conclusion == COMPLIES
    assert made.view().conformity.conclusion == (
        "All three results with a limit comply with the specification; no limit is specified for lead, dry, as PbO."
    )
    told = replace(made.evidence.certificate, conclusion=NOT_ALL)
    evidence = replace(made.evidence, certificate=told)
    found = failed(Report(contents_checks(record_bytes(evidence), made.supplement_bytes, made.pages(), trust())))
    assert f"its results say '{COMPLIES}'" in found["results asked for"]


def test_without_any_limit_everybody_says_that_none_is_specified(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("tests.verify.test_bases.LINES", tuple(replace(line, upper="") for line in LINES))
    made = make()
    assert made.evidence.certificate.conclusion == NO_LIMITS
    assert made.view().conformity.conclusion == "No limits are specified; no statement of conformity is made."
    report = report_on(made)
    assert report.word == "GENUINE", report.lines()


def _without_dry_line(evidence: Evidence) -> Evidence:
    return with_printed(replace(evidence, results=(evidence.results[0], *evidence.results[2:])))


def _in_dry_results(change: Callable[[WorkedResult], WorkedResult]) -> Callable[[RunWork], RunWork]:
    """A lie told before signing, so that every digest is made of it."""

    def lie(work: RunWork) -> RunWork:
        return replace(work, results=tuple(change(one) if one.basis == "dry" else one for one in work.results))

    return lie


def _another_factor(result: WorkedResult) -> WorkedResult:
    return replace(result, expression_factor="1.5") if result.expressed_as else result


def _another_moisture(result: WorkedResult) -> WorkedResult:
    return replace(result, portions=tuple(replace(row, moisture_percent="9.9") for row in result.portions))


@pytest.mark.parametrize(
    ("plan", "check", "words"),
    [
        pytest.param(
            Plan(content=_without_dry_line),
            "results asked for",
            "without a result: Pb (content, on dry basis)",
            id="one left out",
        ),
        pytest.param(
            Plan(work=_in_dry_results(_another_factor)),
            "recalculation",
            "lead, content, on dry basis, as PbO comes out otherwise (expression factor)",
            id="another factor",
        ),
        pytest.param(
            Plan(work=_in_dry_results(_another_moisture)),
            "recalculation",
            "lead, content, on dry basis comes out otherwise (portions)",
            id="another moisture",
        ),
    ],
)
def test_a_lie_about_a_basis_is_named(plan: Plan, check: str, words: str) -> None:
    report = report_on(make(plan))
    assert report.word == "ALTERED"
    assert words in failed(report)[check]


def test_a_result_renamed_to_another_basis_is_not_the_one_that_was_signed() -> None:
    made = make()
    renamed = replace(made.evidence.results[0].result, expressed_as="PbO2")
    basis = replace(made.evidence.results[0], result=renamed)
    evidence = replace(made.evidence, results=(basis, *made.evidence.results[1:]))
    found = contents_checks(record_bytes(evidence), made.supplement_bytes, made.pages(), trust())
    said = failed(Report(found))
    assert "its identifier is not that of this sample, element, quantity and basis" in said["manifests"]


def test_no_row_is_made_for_a_basis_nobody_asked_for() -> None:
    made = make()
    lead = made.evidence.results[0].result
    with pytest.raises(ValueError, match="0 lines of the specification ask for Pb, content, as received, PbO2"):
        result_row(replace(lead, expressed_as="PbO2"), made.evidence.specification)
