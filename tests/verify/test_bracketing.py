"""A certificate of a value read between two standards: it verifies with the other customer hidden, and lies are named.

The figures are invented. Lead is read between standards, cadmium from its curve.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import pytest
from tests.compute.bracketing import between, group, sample
from tests.compute.making import BRACKETS, Shot, pair, portion_of, rule, run_of, samples, standards
from tests.verify import making
from tests.verify.making import OURS, THEIRS, Plan, make
from tests.verify.test_contents import failed, report_on

from benchseal.records.canonical import digest
from benchseal.records.results import Quantified
from benchseal.records.run import DocumentRef
from benchseal.records.shape import record_bytes
from benchseal.verify.recompute import rebuilt

if TYPE_CHECKING:
    from collections.abc import Callable

    from benchseal.records.evidence import Evidence
    from benchseal.records.method import Method
    from benchseal.records.preparation import Portion
    from benchseal.records.results import Bracket, RunWork, WorkedPortion
    from benchseal.records.run import Run

LABELS = ("T-A1/1", "T-A1/2")
AROUND = {*range(10, 13), *range(16, 19)}  # three standards before ours and theirs, three after


def portions() -> list[Portion]:
    return [*(portion_of(label, OURS) for label in LABELS), portion_of("T-BW/1", THEIRS)]


def lead_method() -> Method:
    checks = (*BRACKETS, rule("portions_agree", low="0", high="20"))
    return replace(between(bracketing_change_percent="5"), checks=checks)


def runs() -> tuple[Run, ...]:
    own = (sample(LABELS[0], 9.0), sample("T-BW/1", 11.3), sample(LABELS[1], 9.2))
    lead = (*standards(), *pair(), *group(), *own, *group(0.99), *pair())
    cadmium = (*standards(), Shot("second_source", "SB", 9.9), *pair(), *samples(LABELS, 0.3), *pair(9.8))
    bound = ((lead, lead_method()), (cadmium, making.method("Cd")))
    return tuple(
        replace(run_of(shots, used), method_ref=DocumentRef(used.id, 2, digest(record_bytes(used))))
        for shots, used in bound
    )


@pytest.fixture(autouse=True)
def _between_standards(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(making, "_runs", runs)
    monkeypatch.setattr(making, "_portions", portions)


def test_a_value_between_two_standards_is_genuine() -> None:
    made = make()
    report = report_on(made)
    assert (report.word, report.exit_code) == ("GENUINE", 0), report.lines()
    lead, cadmium = (basis.result for basis in made.evidence.results)
    assert isinstance(lead.outcome, Quantified)
    assert [len(row.bracket) for row in lead.portions] == [1, 1]
    assert [len(row.bracket) for row in cadmium.portions] == [0, 0]


def test_the_standards_are_shown_and_the_other_customer_is_not() -> None:
    made = make()
    run = made.evidence.runs[0]
    assert {one.solution.position for one in run.clear} == set(range(1, 21)) - {14}
    kinds = {one.solution.kind for one in run.clear if one.solution.position in AROUND}
    assert kinds == {"bracket_standard"}
    for secret in ('"T-BW/1"', THEIRS, "0.0345490"):
        assert secret.encode() not in made.evidence_bytes, secret
    assert rebuilt(run).hidden[13]


def test_the_result_rests_on_the_leaves_of_its_standards() -> None:
    evidence = make().evidence
    lead, cadmium = evidence.results
    leaves = evidence.runs[0].leaves
    rests = (13, 15, 10, 11, 16, 17)  # the portions, then BS8 and BS10 before and after them
    assert set(lead.solutions) == {leaves[position - 1] for position in rests}
    assert len(lead.solutions) == len(rests)
    assert len(cadmium.solutions) == 2


def test_the_page_says_so() -> None:
    lead, cadmium = make().view().results
    assert lead.detail.endswith("; read between two standards"), lead.detail
    assert "standards" not in cadmium.detail


def _rows(change: Callable[[WorkedPortion], WorkedPortion]) -> Plan:
    """A lie about the first portion of the first result, told before signing."""

    def told(work: RunWork) -> RunWork:
        first, *others = work.results
        rows = (change(first.portions[0]), *first.portions[1:])
        return replace(work, results=(replace(first, portions=rows), *others))

    return Plan(work=told)


def _bracket(change: Callable[[Bracket], Bracket]) -> Plan:
    return _rows(lambda row: replace(row, bracket=tuple(change(one) for one in row.bracket)))


@pytest.mark.parametrize(
    "plan",
    [
        pytest.param(_bracket(lambda one: replace(one, sd="0.0000100000000000")), id="a smaller scatter"),
        pytest.param(_bracket(lambda one: replace(one, df=120)), id="more degrees of freedom"),
        pytest.param(_bracket(lambda one: replace(one, u_from_sample="0.00100000000000")), id="a smaller part"),
        pytest.param(
            _bracket(lambda one: replace(one, low=replace(one.low, concentration="8.5"))), id="another standard below"
        ),
        pytest.param(_bracket(lambda one: replace(one, high=replace(one.high, positions=(11,)))), id="read once only"),
        pytest.param(_rows(lambda row: replace(row, bracket=())), id="said to be from the curve"),
    ],
)
def test_a_lie_about_a_bracket_is_found(plan: Plan) -> None:
    report = report_on(make(plan))
    assert report.word == "ALTERED"
    assert "recalculation" in failed(report)


def test_a_reading_of_a_standard_changed_is_found() -> None:
    def filed(run: Run) -> Run:
        if "BS8" not in run.document.solutions.label:
            return run
        place = run.document.solutions.first_reading[run.document.solutions.label.index("BS8")]
        signals = list(run.document.readings.signal)
        signals[place] = "0.0244000"
        readings = replace(run.document.readings, signal=tuple(signals))
        return replace(run, document=replace(run.document, readings=readings))

    report = report_on(make(Plan(filed=filed)))
    assert report.word == "ALTERED"
    assert "lead, content: stated is" in failed(report)["recalculation"]


def _told(method: Callable[[Method], Method]) -> Plan:
    """The evidence with another method for lead than was approved."""

    def told(evidence: Evidence) -> Evidence:
        first, *others = evidence.runs
        return replace(evidence, runs=(replace(first, method=method(first.method)), *others))

    return Plan(content=told)


def _plan(**changes: Any) -> Callable[[Method], Method]:  # noqa: ANN401  fields of a record by name
    return lambda method: replace(method, calibration=replace(method.calibration, **changes))


def test_a_method_whose_window_or_change_forbids_the_value_is_found() -> None:
    for changes in ({"bracketing_window_percent": "5"}, {"bracketing_change_percent": "0.5"}):
        assert "recalculation" in failed(report_on(make(_told(_plan(**changes)))))


def test_a_method_that_reads_from_its_curve_cannot_be_calculated() -> None:
    found = failed(report_on(make(_told(_plan(bracketing="")))))
    assert "does not read between standards" in found["recalculation"]


def test_standards_at_a_position_the_run_has_not_are_no_crash() -> None:
    report = report_on(make(Plan(content=_far_away)))
    assert report.word != "GENUINE"


def _far_away(evidence: Evidence) -> Evidence:
    basis, *others = evidence.results
    row, *rows = basis.result.portions
    (bracket,) = row.bracket
    away = replace(bracket, low=replace(bracket.low, positions=(10, 99)))
    result = replace(basis.result, portions=(replace(row, bracket=(away,)), *rows))
    return replace(evidence, results=(replace(basis, result=result), *others))
