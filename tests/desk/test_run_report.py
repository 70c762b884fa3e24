"""The report of a run from a played site: everything on record is in it, as the record has it."""

from __future__ import annotations

import io
from dataclasses import replace
from typing import TYPE_CHECKING

import pikepdf
import pytest
from tests.journeys.commands import ANALYST, APPROVER, REVIEWER, TRACE_ANALYST

from benchseal.certificate.figures_run import standards_left_out
from benchseal.certificate.page_text import page_texts
from benchseal.certificate.run_report import Calculation, Figure, Table, Words, numbered, render_run_report
from benchseal.certificate.run_tables import ORIGINS, READINGS
from benchseal.compute.explain import explain, explain_without_curve
from benchseal.compute.explain_around import Around
from benchseal.desk.acts_corrections import CorrectPreparation, ExcludePositions
from benchseal.desk.acts_runs import AcceptRuns, SubmitRuns
from benchseal.desk.clock import stamp
from benchseal.desk.correcting import plan
from benchseal.desk.corrections import wanted_by
from benchseal.desk.perform import perform
from benchseal.desk.reading import load
from benchseal.desk.run_report import gathered, run_report
from benchseal.desk.run_report_parts import CHANGES, OBJECTS, UNCHANGED, VERSIONS, Gathered
from benchseal.problems import Stopped
from benchseal.records.specification import Specification

if TYPE_CHECKING:
    from tests.conftest import Stage

    from benchseal.certificate.run_report import Item, RunReport
    from benchseal.desk.acts_corrections import Correct

LEAD = "R-00003"


def told(stage: Stage, run: str = LEAD) -> RunReport:
    with stage.site.store.reading() as view:
        return run_report(stage.site, view, run, REVIEWER)[0]


def records(stage: Stage, run: str = LEAD) -> Gathered:
    with stage.site.store.reading() as view:
        row = view.row("run", run=run)
        assert row is not None
        return gathered(view, row)


def items(report: RunReport) -> list[Item]:
    return [item for part in report.parts for item in part.items]


def table(report: RunReport, caption: str) -> Table:
    return next(one for one in items(report) if isinstance(one, Table) and one.caption == caption)


def put_right(stage: Stage, act: Correct, *people: str) -> None:
    with stage.site.store.reading() as view:
        figures = plan(view, stage.site.ledger, stamp(stage.site.clock()), wanted_by(act)).figures
    perform(stage.site, replace(act, effect=figures), *(stage.key(person) for person in people))


def test_every_reading_stands_with_its_line_and_its_text_as_read(stage: Stage) -> None:
    readings = records(stage).run.document.readings
    rows = table(told(stage), READINGS).rows
    assert [(row[4], row[6]) for row in rows] == [
        (str(line), text) for line, text in zip(readings.line, readings.as_read, strict=True)
    ]


def test_checks_curve_and_results_are_those_of_the_record(stage: Stage) -> None:
    of, report = records(stage), told(stage)
    checks = table(report, "Checks, as judged")
    assert [row[0] for row in checks.rows] == [one.rule for one in of.work.checks]
    assert "fails: Check standard after position 32 read 87.1 %; limit 90 to 110 %" in {row[5] for row in checks.rows}
    coefficients = table(report, "Coefficients of the curve, with their covariance")
    assert [row[1] for row in coefficients.rows] == list(of.work.calibration.coefficients)
    levels = table(report, "Standards on the curve")
    assert [row[5].replace("\N{MINUS SIGN}", "-") for row in levels.rows] == [
        one.residual for one in of.work.calibration.levels
    ]
    sources = {row[3] for row in table(report, "Rules of the checks").rows}
    assert {one.source for one in of.work.checks} <= sources
    results = table(report, "Results")
    assert len(results.rows) == len(of.work.results)
    assert results.rows[0][2] == "0.067 ± 0.020 µg/g (k = 2, 17 degrees of freedom)"


def test_what_is_expected_has_its_unit_and_a_line_is_named_once(stage: Stage) -> None:
    """The flame's file has all readings of a solution on one line, the furnace's each on its own."""
    expected = {(row[0], row[2]) for row in table(told(stage), "Checks, as judged").rows if row[2]}
    assert {("check-standard", "10 µg/L"), ("control-sample", "0.125 µg")} <= expected
    flame = table(told(stage, "R-00001"), ORIGINS)
    assert flame.rows
    assert all(row[3].isdigit() for row in flame.rows)


def test_each_calculation_is_the_one_explain_prints(stage: Stage) -> None:
    of, report = records(stage), told(stage)
    calculations = [one for one in items(report) if isinstance(one, Calculation)]
    samples = list(dict.fromkeys(one.sample for one in of.work.results))
    assert len(calculations) == len(samples)
    with stage.site.store.reading() as view:
        for sample, calculation in zip(samples, calculations, strict=True):
            first = next(one for one in of.work.results if one.sample == sample)
            specification = load(view, Specification, first.specification.digest)
            around = Around(LEAD, of.run, of.work, specification, sample, of.lots[sample])
            whole = list(explain(around))
            assert calculation.lines == explain_without_curve(around)
            begin, end = whole.index("Calibration"), whole.index("Readings")
            assert [*whole[: begin - 1], *whole[end - 1 :]] == list(calculation.lines)


def test_each_kind_of_picture_is_there_and_names_a_table(stage: Stage) -> None:
    drawn = [one for part in numbered(told(stage).parts) for one in part.items if isinstance(one, Figure)]
    assert {one.drawn for one in drawn} == {"calibration", "check_chart", "over_run", "shares", "against_limit"}
    assert all(one.number and one.table for one in drawn)
    assert all(one.picture.sentence for one in drawn)


def test_nothing_was_changed_and_the_report_says_so(stage: Stage) -> None:
    report = told(stage)
    assert any(isinstance(one, Words) and one.lines == (UNCHANGED,) for one in items(report))
    assert report.stand == "Reviewed; usable: one check fails and four results have no value."


@pytest.mark.clause("P11 11.10(e)")
def test_a_value_put_right_is_told_with_old_new_who_and_why(stage: Stage) -> None:
    act = CorrectPreparation("AY-01/Y-B2/1", ("mass_g=1.0112",), "two figures were exchanged", "")
    put_right(stage, act, ANALYST, REVIEWER)
    report = told(stage, "R-00001")
    (row,) = table(report, CHANGES).rows
    assert (row[1], row[2], row[4], row[6]) == (
        "portion/AY-01/Y-B2/1",
        "mass_g",
        "1.0112",
        "two figures were exchanged",
    )
    assert row[3] not in {"", "1.0112"}
    assert row[5].startswith(f"{ANALYST}, ")
    assert len(table(report, VERSIONS).rows) == 1
    assert any(event.about == "portion/AY-01/Y-B2/1" for event in report.events)
    perform(stage.site, SubmitRuns(("R-00001", "R-00002")), stage.key(ANALYST))
    perform(stage.site, AcceptRuns(("R-00001", "R-00002")), stage.key(REVIEWER))
    again = told(stage, "R-00001")
    assert len(again.signatures) == 4, "performed and reviewed, twice"
    assert "version 2" in " ".join(column.title for column in table(again, VERSIONS).columns)


def test_a_position_left_out_keeps_its_reading_with_the_cause(stage: Stage) -> None:
    solutions = records(stage, "R-00001").run.document.solutions
    position = solutions.position[solutions.label.index("Y-B2/1")]
    act = ExcludePositions("R-00001", (f"{position}=uptake",), "a bubble was seen", "")
    put_right(stage, act, TRACE_ANALYST, APPROVER)
    rows = table(told(stage, "R-00001"), READINGS).rows
    first = next(nth for nth, row in enumerate(rows) if row[0] == str(position))
    assert rows[first][-1] == "left out: air or a blockage in the uptake"
    assert rows[first][6], "the text as read stays"


def test_documents_are_named_by_version_and_digest(stage: Stage) -> None:
    of = records(stage)
    report = told(stage)
    rows = table(report, "Controlled documents used").rows
    assert ("lead-furnace", "1", of.run.method_ref.digest) in {(row[1], row[2], row[4]) for row in rows}
    assert {row[0] for row in rows} == {"method", "layout", "specification"}
    assert all(row[3] for row in rows), "when it was approved and by whom"
    assert ("instrument file", of.row["source_sha256"]) in table(report, OBJECTS).rows


def test_a_standard_without_a_number_is_told_and_one_with_a_number_is_drawn(stage: Stage) -> None:
    of = records(stage)
    levels = of.work.calibration.levels
    without = replace(of.work, calibration=replace(of.work.calibration, levels=levels[:-1]))
    drawn, words = standards_left_out(of.run, of.as_read, without, of.corrections)
    assert [(one.x, one.excluded) for one in drawn] == [(20.0, "no point of the curve")]
    assert words == ()
    mute = ("",) * len(of.as_read.readings.signal)
    silent = replace(of.as_read, readings=replace(of.as_read.readings, signal=mute))
    drawn, words = standards_left_out(of.run, silent, without, of.corrections)
    assert (drawn, words) == ((), (f"Pb-S6 at position {levels[-1].position} is not drawn: no point of the curve",))


@pytest.mark.parametrize("run", [f"R-0000{number}" for number in range(1, 8)])
def test_every_run_of_the_demonstration_is_printed_whole(stage: Stage, run: str) -> None:
    report = told(stage, run)
    with pikepdf.open(io.BytesIO(render_run_report(report, "letter"))) as pdf:
        words = " ".join(" ".join(page_texts(pdf)).split())
    for part in report.parts:
        assert part.title in words
    for one in items(report):
        if isinstance(one, Table):
            assert f". {one.caption}" in words
    assert f"End of the report of run {run}" in words


def test_a_run_that_is_not_there(stage: Stage) -> None:
    with pytest.raises(Stopped) as stop:
        told(stage, "R-9")
    assert stop.value.notices[0].code == "run.unknown"


def test_the_unit_of_the_signal_is_printed_as_on_a_certificate(stage: Stage) -> None:
    heads = [column.title for one in items(told(stage)) if isinstance(one, Table) for column in one.columns]
    assert any("A\u00b7s" in head for head in heads)
    assert not any("A.s" in head for head in heads)
