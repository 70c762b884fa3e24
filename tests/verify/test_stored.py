"""A certificate of a value read on an earlier curve: it verifies from the copied readings alone, and lies are named.

The figures are invented. Lead is read on the curve of R-00003, cadmium on its own.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import pytest
from tests.compute.making import BRACKETS, Shot, pair, portion_of, run_of, samples, standards
from tests.compute.storing import checks, curve_of, later, opening, shot, stored_method, zeroed
from tests.verify import making
from tests.verify.making import OURS, THEIRS, Plan, make
from tests.verify.test_contents import failed, report_on

from benchseal.certificate.blocks import block_tree
from benchseal.records.canonical import digest
from benchseal.records.run import DocumentRef
from benchseal.records.shape import record_bytes
from benchseal.verify.recompute import rebuilt

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.records.evidence import Evidence
    from benchseal.records.method import Method
    from benchseal.records.preparation import Portion
    from benchseal.records.results import RunWork
    from benchseal.records.run import Run, StoredCurve

LABELS = ("T-A1/1", "T-A1/2")


def portions() -> list[Portion]:
    return [*(portion_of(label, OURS) for label in LABELS), portion_of("T-BW/1", THEIRS)]


def lead_method() -> Method:
    return replace(stored_method(), checks=BRACKETS)


def runs() -> tuple[Run, ...]:
    method = lead_method()
    first = run_of((*zeroed(), *checks(1.0), *checks(1.0)), method)
    own = [shot("sample", label, 5.0, 0.95, portion=label) for label in (LABELS[0], "T-BW/1", LABELS[1])]
    lead = replace(
        later((*opening(), *own, *checks(0.95)), curve_of(first), method), measured_at="2026-03-02T20:00:00Z"
    )
    cadmium = (*standards(), Shot("second_source", "SB", 9.9), *pair(), *samples(LABELS, 0.3), *pair(9.8))
    bound = ((lead, method), (run_of(cadmium, making.method("Cd")), making.method("Cd")))
    return tuple(replace(run, method_ref=DocumentRef(used.id, 2, digest(record_bytes(used)))) for run, used in bound)


@pytest.fixture(autouse=True)
def _stored(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(making, "_runs", runs)
    monkeypatch.setattr(making, "_portions", portions)


def test_a_value_on_an_earlier_curve_is_genuine() -> None:
    made = make()
    report = report_on(made)
    assert (report.word, report.exit_code) == ("GENUINE", 0), report.lines()
    lead, cadmium = made.evidence.runs
    assert (lead.calibration.stored[0].run, cadmium.calibration.stored) == ("R-00003", ())
    assert lead.facts.stored_curve == rebuilt(lead).stored_curve == runs()[0].stored_curve
    assert cadmium.facts.stored_curve == ()


def test_correction_standard_and_blank_are_shown_and_the_other_customer_is_not() -> None:
    made = make()
    run = made.evidence.runs[0]
    assert {one.solution.position for one in run.clear} == {1, 2, 3, 4, 5, 7, 8, 9}
    assert [one.solution.kind for one in run.clear][:2] == ["calibration_blank", "correction_standard"]
    assert THEIRS.encode() not in made.evidence_bytes
    assert b'"T-BW/1"' not in made.evidence_bytes


def test_the_page_says_whose_curve_it_is() -> None:
    view = make().view()
    (note,) = [one for one in view.limits_and_cautions if "R-00003" in one]
    assert note.startswith("Lead, run R-00001: read on the curve of run R-00003 of 2 March 2026; ")
    assert "multiplied by 1.05" in note
    assert [panel.fit_line.endswith(" · curve of run R-00003") for panel in view.runs] == [True, False]
    assert not any("R-00003" in one for one in make(Plan(content=_without_lead)).view().limits_and_cautions)


def _without_lead(evidence: Evidence) -> Evidence:
    return replace(evidence, results=evidence.results[1:], printed=evidence.printed[1:], runs=evidence.runs[1:])


def test_a_page_that_says_another_factor_is_found() -> None:
    made = make()
    pages = tuple(text.replace("multiplied by 1.05", "multiplied by 1.04") for text in made.pages())
    assert "multiplied by 1.05" in failed(report_on(made, pages))["printed words"]


def other(curve: StoredCurve, **changes: Any) -> StoredCurve:  # noqa: ANN401  fields of a record by name
    """One reading of the fourth standard moved by half a percent."""
    fourth = curve.solutions[3]
    signals = (f"{float(fourth.signals[0]) * 1.005:.7f}", *fourth.signals[1:])
    rows = (*curve.solutions[:3], replace(fourth, signals=signals), *curve.solutions[4:])
    return replace(curve, solutions=rows, **changes)


def test_a_stored_reading_changed_before_signing_is_found_by_the_calculation() -> None:
    def filed(run: Run) -> Run:
        return replace(run, stored_curve=tuple(other(one) for one in run.stored_curve))

    report = report_on(make(Plan(filed=filed)))
    assert report.word == "ALTERED"
    assert "the calibration comes out otherwise" in failed(report)["recalculation"]


def test_a_stored_reading_changed_later_breaks_the_leaf_of_the_facts() -> None:
    def told(evidence: Evidence) -> Evidence:
        first = evidence.runs[0]
        facts = replace(first.facts, stored_curve=tuple(other(one) for one in first.facts.stored_curve))
        return replace(evidence, runs=(replace(first, facts=facts), *evidence.runs[1:]))

    found = failed(report_on(make(Plan(content=told))))
    assert "recalculation" in found
    assert len(found) > 1, found


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("factor", "1.04000000000"),
        ("u_factor", "0.00100000000000"),
        ("run", "R-00002"),
        ("measured_at", "2026-03-03T01:00:00Z"),
    ],
)
def test_a_lie_about_the_use_is_found(field: str, value: str) -> None:
    def told(work: RunWork) -> RunWork:
        lie: dict[str, Any] = {field: value}
        use = tuple(replace(one, **lie) for one in work.calibration.stored)
        return replace(work, calibration=replace(work.calibration, stored=use))

    report = report_on(make(Plan(work=told)))
    assert report.word == "ALTERED"
    assert "calibration comes out otherwise (stored)" in failed(report)["recalculation"]


def test_a_factor_outside_the_window_cannot_be_called_good() -> None:
    """The method of the evidence is held against the factor again."""

    def told(evidence: Evidence) -> Evidence:
        first = evidence.runs[0]
        plan = replace(first.method.stored_curve, largest_factor="1.01")
        return replace(
            evidence, runs=(replace(first, method=replace(first.method, stored_curve=plan)), *evidence.runs[1:])
        )

    assert "recalculation" in failed(report_on(make(Plan(content=told))))


def test_a_curve_older_than_the_method_allows_cannot_be_calculated() -> None:
    def filed(run: Run) -> Run:
        return replace(
            run, stored_curve=tuple(replace(one, measured_at="2026-03-01T06:00:00Z") for one in run.stored_curve)
        )

    assert "may not be used" in failed(report_on(make(Plan(filed=filed))))["recalculation"]


def test_every_copied_reading_is_under_the_root_that_is_signed() -> None:
    run = runs()[0]
    (curve,) = run.stored_curve
    one = block_tree("R-00001", run, b"1" * 32)
    for changed in (other(curve), replace(curve, run="R-00004"), replace(curve, work="b" * 64)):
        assert block_tree("R-00001", replace(run, stored_curve=(changed,)), b"1" * 32).root != one.root


def test_results_rest_on_the_curve() -> None:
    """The basis of a result names the calibration, which names the run and the factor."""
    first, second = make().evidence, make(Plan(work=_other_factor)).evidence
    assert first.results[0].calibration != second.results[0].calibration
    assert digest(record_bytes(first.results[0])) in first.runs[0].manifest.results
    assert digest(record_bytes(first.results[0])) not in second.runs[0].manifest.results


def _other_factor(work: RunWork) -> RunWork:
    use: Sequence[Any] = [replace(one, factor="1.04000000000") for one in work.calibration.stored]
    return replace(work, calibration=replace(work.calibration, stored=tuple(use)))
