"""A certificate of a value by standard additions: it verifies with the other customer hidden, and lies are named.

The figures are invented. Both portions of our lead are evaluated by their own additions, cadmium from the curve.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import pytest
from tests.compute.making import BRACKETS, Shot, pair, portion_of, rule, run_of, samples, standards
from tests.compute.test_run_additions import around, by_additions, series, tubes
from tests.verify import making
from tests.verify.making import OURS, THEIRS, Plan, make
from tests.verify.test_contents import failed, report_on

from benchseal.records.canonical import digest
from benchseal.records.preparation import Addition
from benchseal.records.results import Quantified
from benchseal.records.run import DocumentRef
from benchseal.records.shape import record_bytes
from benchseal.verify.recompute import rebuilt

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from benchseal.records.evidence import Evidence
    from benchseal.records.method import Method
    from benchseal.records.preparation import Portion
    from benchseal.records.results import AddedSeries, RunWork, WorkedPortion
    from benchseal.records.run import Run

LABELS = ("T-A1/1", "T-A1/2")
THEIR_TUBES = ("T-BW/1", "T-BW/1a", "T-BW/1b", "T-BW/1c")


def portions() -> list[Portion]:
    return [
        *(portion_of(label, OURS, additions=tubes(label)) for label in LABELS),
        portion_of("T-BW/1", THEIRS, additions=tubes("T-BW/1")),
    ]


def lead_method() -> Method:
    brackets = tuple(replace(one, every=20) for one in BRACKETS)
    method = by_additions(additions="required", additions_smallest_r="0.995", additions_largest_slope_percent="30")
    return replace(method, checks=(*brackets, rule("portions_agree", low="0", high="20")))


def lead_shots() -> tuple[Shot, ...]:
    """Positions 10 to 21: ours, theirs between, each with four tubes; the other matrix lies 15 % lower."""
    return around(
        *series(LABELS[0], 5.0, slope=0.0025),
        *series("T-BW/1", 4.0, slope=0.0026),
        *series(LABELS[1], 5.1, slope=0.0025),
    )


def cadmium_shots() -> tuple[Shot, ...]:
    """The same tubes without addition, from the curve: for cadmium nothing was added."""
    return (*standards(), Shot("second_source", "SB", 9.9), *pair(), *samples(LABELS, 0.3), *pair(9.8))


def runs() -> tuple[Run, ...]:
    shots: tuple[tuple[Sequence[Shot], Method], ...] = (
        (lead_shots(), lead_method()),
        (cadmium_shots(), making.method("Cd")),
    )
    return tuple(
        replace(run_of(own, method), method_ref=DocumentRef(method.id, 2, digest(record_bytes(method))))
        for own, method in shots
    )


@pytest.fixture(autouse=True)
def _additions(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(making, "_runs", runs)
    monkeypatch.setattr(making, "_portions", portions)


def test_a_value_by_additions_is_genuine() -> None:
    made = make()
    report = report_on(made)
    assert (report.word, report.exit_code) == ("GENUINE", 0), report.lines()
    lead, cadmium = (basis.result for basis in made.evidence.results)
    assert isinstance(lead.outcome, Quantified)
    assert [len(row.series) for row in lead.portions] == [1, 1]
    assert [len(row.series) for row in cadmium.portions] == [0, 0]


def test_the_result_rests_on_the_leaf_of_every_tube() -> None:
    evidence = make().evidence
    lead, cadmium = evidence.results
    leaves = evidence.runs[0].leaves
    ours = (*range(10, 14), *range(18, 22))
    assert lead.solutions == tuple(leaves[position - 1] for position in ours)
    assert len(cadmium.solutions) == 2


def test_the_tubes_of_another_customer_stay_hidden() -> None:
    made = make()
    run = made.evidence.runs[0]
    assert {one.solution.position for one in run.clear} == set(range(1, 24)) - set(range(14, 18))
    for secret in (*(f'"{label}"' for label in THEIR_TUBES), THEIRS, "0.0104", "0.0169"):
        assert secret.encode() not in made.evidence_bytes, secret
    assert rebuilt(run).hidden[13:17] == (True,) * 4


def test_the_page_says_so() -> None:
    lead, cadmium = make().view().results
    assert lead.detail.endswith("; by standard additions"), lead.detail
    assert "additions" not in cadmium.detail


def test_the_page_names_the_portion_where_only_one_was_evaluated_so(monkeypatch: pytest.MonkeyPatch) -> None:
    plain = [replace(one, additions={}) if one.portion == LABELS[1] else one for one in portions()]
    tubes_read = around(*series(LABELS[0], 5.0), *series("T-BW/1", 4.0), *series(LABELS[1], 5.1)[:1])
    method = replace(lead_method(), calibration=replace(lead_method().calibration, additions="allowed"))
    ref = DocumentRef(method.id, 2, digest(record_bytes(method)))
    mixed = (replace(run_of(tubes_read, method), method_ref=ref), runs()[1])
    monkeypatch.setattr(making, "_portions", lambda: plain)
    monkeypatch.setattr(making, "_runs", lambda: mixed)
    made = make()
    assert report_on(made).word == "GENUINE"
    assert made.view().results[0].detail.endswith("; by standard additions, portion T-A1/1")


def _rows(change: Callable[[WorkedPortion], WorkedPortion]) -> Plan:
    """A lie about the first portion of the first result, told before signing."""

    def told(work: RunWork) -> RunWork:
        first, *others = work.results
        rows = (change(first.portions[0]), *first.portions[1:])
        return replace(work, results=(replace(first, portions=rows), *others))

    return Plan(work=told)


def _series(**changes: Any) -> Plan:  # noqa: ANN401  fields of a record by name
    return _rows(lambda row: replace(row, series=tuple(replace(one, **changes) for one in row.series)))


@pytest.mark.parametrize(
    ("plan", "look"),
    [
        pytest.param(_series(slope="0.00293000000000"), "recalculation", id="another slope"),
        pytest.param(_series(slope_ratio="1.00000000000"), "recalculation", id="a ratio of one"),
        pytest.param(_series(r="0.999999999999"), "recalculation", id="a better correlation"),
        pytest.param(_rows(lambda row: replace(row, series=())), "recalculation", id="said to be from the curve"),
        pytest.param(
            _rows(lambda row: replace(row, series=tuple(_without_tube(one) for one in row.series))),
            "recalculation",
            id="a tube left out",
        ),
    ],
)
def test_a_lie_about_a_line_is_found(plan: Plan, look: str) -> None:
    report = report_on(make(plan))
    assert report.word == "ALTERED"
    assert look in failed(report)


def _without_tube(one: AddedSeries) -> AddedSeries:
    return replace(one, tubes=one.tubes[:2] + one.tubes[3:])


def test_a_reading_of_a_tube_changed_is_found() -> None:
    def filed(run: Run) -> Run:
        if "T-A1/1c" not in run.document.solutions.label:
            return run
        place = run.document.solutions.first_reading[run.document.solutions.label.index("T-A1/1c")]
        signals = list(run.document.readings.signal)
        signals[place] = "0.0320000"
        readings = replace(run.document.readings, signal=tuple(signals))
        return replace(run, document=replace(run.document, readings=readings))

    report = report_on(make(Plan(filed=filed)))
    assert report.word == "ALTERED"
    assert "lead, content: stated is 0.253" in failed(report)["recalculation"]


def test_an_addition_changed_in_the_preparation_is_found() -> None:
    """Less added than was prepared makes the value smaller; the digest of the row was signed."""

    def told(evidence: Evidence) -> Evidence:
        rows = tuple(
            replace(one, additions={"Pb": (*one.additions["Pb"][:3], Addition(one.additions["Pb"][3].label, "7.0"))})
            for one in evidence.portions
        )
        return replace(evidence, portions=rows)

    found = failed(report_on(make(Plan(content=told))))
    assert {"manifests", "recalculation"} <= found.keys()


def test_a_tube_that_is_none_is_named() -> None:
    def told(evidence: Evidence) -> Evidence:
        rows = tuple(replace(one, additions={"Pb": one.additions["Pb"][:3]}) for one in evidence.portions)
        return replace(evidence, portions=rows)

    found = failed(report_on(make(Plan(content=told))))
    assert "is none of the tubes" in found["recalculation"]
