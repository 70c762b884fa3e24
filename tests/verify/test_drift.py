"""A certificate of a value corrected for drift: it verifies with the other customer hidden, and lies are named.

The figures are invented. Lead is corrected for drift, cadmium is not.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from tests.compute.drifting import State, drifting, pair, sample, timed
from tests.compute.making import BRACKETS, Shot, portion_of, rule, run_of, samples, standards
from tests.compute.making import pair as plain_pair
from tests.verify import making
from tests.verify.making import OURS, THEIRS, Plan, make
from tests.verify.test_contents import failed, report_on

from benchseal.records.canonical import digest
from benchseal.records.evidence import LeafReading
from benchseal.records.method import DriftPlan
from benchseal.records.results import Quantified
from benchseal.records.run import DocumentRef
from benchseal.records.shape import read_record, record_bytes
from benchseal.verify.recompute import rebuilt

if TYPE_CHECKING:
    from collections.abc import Callable

    from benchseal.records.evidence import Evidence
    from benchseal.records.method import Method
    from benchseal.records.preparation import Portion
    from benchseal.records.results import DriftStep, RunWork, WorkedPortion
    from benchseal.records.run import Run

LABELS = ("T-A1/1", "T-A1/2")


def portions() -> list[Portion]:
    return [*(portion_of(label, OURS) for label in LABELS), portion_of("T-BW/1", THEIRS)]


def lead_method() -> Method:
    return drifting(checks=(*BRACKETS, rule("portions_agree", low="0", high="20")))


def runs() -> tuple[Run, ...]:
    middle, end = State(0.98, 0.0001), State(0.95, 0.0002)
    own = (sample(LABELS[0], 9.0, State(0.99)), sample("T-BW/1", 11.3), *pair(middle), sample(LABELS[1], 9.2, middle))
    lead = (*standards(), *pair(), *own, *pair(end))
    cadmium = (*standards(), Shot("second_source", "SB", 9.9), *plain_pair(), *samples(LABELS, 0.3), *plain_pair(9.8))
    used, other = lead_method(), making.method("Cd")
    seconds = [60 * place + (300 if place > 13 else 0) for place in range(len(lead))]
    bound = ((timed(run_of(lead, used), seconds), used), (run_of(cadmium, other), other))
    return tuple(replace(run, method_ref=DocumentRef(own.id, 2, digest(record_bytes(own)))) for run, own in bound)


@pytest.fixture(autouse=True)
def _drifting(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(making, "_runs", runs)
    monkeypatch.setattr(making, "_portions", portions)


def test_a_value_corrected_for_drift_is_genuine() -> None:
    made = make()
    report = report_on(made)
    assert (report.word, report.exit_code) == ("GENUINE", 0), report.lines()
    lead, cadmium = (basis.result for basis in made.evidence.results)
    assert isinstance(lead.outcome, Quantified)
    assert [row.drift[0].along for row in lead.portions] == ["time", "time"]
    assert [len(row.drift) for row in cadmium.portions] == [0, 0]


def test_a_run_in_which_the_clock_changed_is_corrected_along_positions(monkeypatch: pytest.MonkeyPatch) -> None:
    lead, cadmium = runs()
    monkeypatch.setattr(making, "_runs", lambda: (replace(lead, clock_changed=True), cadmium))
    made = make()
    report = report_on(made)
    assert (report.word, report.exit_code) == ("GENUINE", 0), report.lines()
    assert [row.drift[0].along for row in made.evidence.results[0].result.portions] == ["position", "position"]
    assert b'"taken_at"' not in made.evidence_bytes


def test_the_checks_are_shown_with_their_times_and_the_other_customer_is_not() -> None:
    made = make()
    lead, cadmium = made.evidence.runs
    assert {one.solution.position for one in lead.clear} == set(range(1, 17)) - {11}
    assert all(reading.taken_at for one in lead.clear for reading in one.solution.readings)
    for secret in ('"T-BW/1"', THEIRS, "2026-03-02T09:10:00"):  # when the other customer's portion was read
        assert secret.encode() not in made.evidence_bytes, secret
    assert b"2026-03-02T09:09:00" in made.evidence_bytes
    assert not any(reading.taken_at for one in cadmium.clear for reading in one.solution.readings)
    assert rebuilt(lead).hidden[10]


def test_a_leaf_without_a_time_has_the_bytes_it_always_had() -> None:
    reading = LeafReading(1, 26, "0.1", "")
    text = b'{"background":"","flag":"","line":26,"replicate":1,"signal":"0.1"}'
    assert record_bytes(reading) == text
    assert read_record(LeafReading, text) == reading


def test_the_result_rests_on_the_leaves_of_its_checks() -> None:
    evidence = make().evidence
    lead, cadmium = evidence.results
    leaves = evidence.runs[0].leaves
    rests = (10, 14, 8, 9, 12, 13, 15, 16)  # the portions, then the pairs
    assert set(lead.solutions) == {leaves[position - 1] for position in rests}
    assert len(lead.solutions) == len(rests)
    assert len(cadmium.solutions) == 2


def test_the_page_says_so() -> None:
    lead, cadmium = make().view().results
    assert lead.detail.endswith("; corrected for drift"), lead.detail
    assert "drift" not in cadmium.detail


def _rows(change: Callable[[WorkedPortion], WorkedPortion]) -> Plan:
    """A lie about the first portion of the first result, told before signing."""

    def told(work: RunWork) -> RunWork:
        first, *others = work.results
        rows = (change(first.portions[0]), *first.portions[1:])
        return replace(work, results=(replace(first, portions=rows), *others))

    return Plan(work=told)


def _step(change: Callable[[DriftStep], DriftStep]) -> Plan:
    return _rows(lambda row: replace(row, drift=tuple(change(one) for one in row.drift)))


@pytest.mark.parametrize(
    "plan",
    [
        pytest.param(_step(lambda one: replace(one, corrected="0.0280000000000")), id="another corrected signal"),
        pytest.param(_step(lambda one: replace(one, factor="1.00000000000")), id="no factor"),
        pytest.param(_step(lambda one: replace(one, along="position")), id="said to be along position"),
        pytest.param(_step(lambda one: replace(one, u_corrected="0.00000100000000000")), id="a smaller part"),
        pytest.param(_step(lambda one: replace(one, df_standard=100)), id="more degrees of freedom"),
        pytest.param(_step(lambda one: replace(one, first=(8,))), id="a pair of one"),
        pytest.param(_rows(lambda row: replace(row, drift=())), id="said to be as read"),
    ],
)
def test_a_lie_about_a_correction_is_found(plan: Plan) -> None:
    report = report_on(make(plan))
    assert report.word == "ALTERED"
    assert "recalculation" in failed(report)


def _filed(column: str, label: str, text: str) -> Plan:
    """One reading of a solution, filed otherwise than it was calculated with."""

    def filed(run: Run) -> Run:
        if label not in run.document.solutions.label or not run.method.drift.largest_percent:
            return run
        place = run.document.solutions.first_reading[run.document.solutions.label.index(label)]
        texts = list(getattr(run.document.readings, column))
        texts[place] = text
        readings = replace(run.document.readings, **{column: tuple(texts)})
        return replace(run, document=replace(run.document, readings=readings))

    return Plan(filed=filed)


@pytest.mark.parametrize(
    "plan",
    [
        pytest.param(_filed("signal", "CS", "0.0302000"), id="a reading of a check standard"),
        pytest.param(_filed("signal", "CB", "0.0016000"), id="a reading of a check blank"),
        pytest.param(_filed("taken_at", "T-A1/1", "2026-03-02T09:08:10"), id="when a portion was read"),
        pytest.param(_filed("taken_at", "CS", ""), id="a check without its time"),
    ],
)
def test_what_a_correction_rests_on_cannot_be_changed(plan: Plan) -> None:
    report = report_on(make(plan))
    assert report.word == "ALTERED"
    assert "lead, content" in failed(report)["recalculation"]


def _told(method: Callable[[Method], Method]) -> Plan:
    """The evidence with another method for lead than was approved."""

    def told(evidence: Evidence) -> Evidence:
        first, *others = evidence.runs
        return replace(evidence, runs=(replace(first, method=method(first.method)), *others))

    return Plan(content=told)


@pytest.mark.parametrize("limit", ["", "1", "200"])
def test_another_limit_is_found(limit: str) -> None:
    found = failed(report_on(make(_told(lambda method: replace(method, drift=DriftPlan(limit, "test"))))))
    assert "recalculation" in found


def test_positions_the_run_has_not_and_times_that_are_none_are_no_crash() -> None:
    def far(evidence: Evidence) -> Evidence:
        basis, *others = evidence.results
        row, *rows = basis.result.portions
        away = replace(row.drift[0], first=(8, 99))
        result = replace(basis.result, portions=(replace(row, drift=(away,)), *rows))
        return replace(evidence, results=(replace(basis, result=result), *others))

    def untimely(evidence: Evidence) -> Evidence:
        first, *others = evidence.runs
        clear = tuple(
            replace(one, solution=replace(one.solution, readings=tuple(
                replace(reading, taken_at="2026-99-99T99:99:99") for reading in one.solution.readings
            ))) for one in first.clear
        )  # fmt: skip
        return replace(evidence, runs=(replace(first, clear=clear), *others))

    for change in (far, untimely):
        assert report_on(make(Plan(content=change))).word != "GENUINE"
