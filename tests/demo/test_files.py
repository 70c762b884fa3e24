"""Every instrument file through the whole line: bytes, layout, rules, calculation; and the figures the story names.

Invented data: what is tested here is the story, never the correctness of a number.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

import pytest

from benchseal.compute.run_work import work_run
from benchseal.demo import batches, lots
from benchseal.demo.scenario import scenario
from benchseal.problems import Problem
from benchseal.records.results import BelowLimit, NotReportable, Quantified, RunWork
from benchseal.records.run import PRESENTED_KINDS, Run, RunDocument
from benchseal.validate.check import check_run

from .laboratory import Laboratory, Worked

if TYPE_CHECKING:
    from benchseal.demo.runs import InstrumentFile
    from benchseal.records.results import WorkedResult

Runs = dict[str, dict[str, Worked]]
LEAD_FIRST, LEAD_SECOND, CADMIUM = "furnace-lead-first.txt", "furnace-lead-second.txt", "furnace-cadmium.txt"
MIXED = [("flame-assay.txt", "Zn"), ("flame-assay.txt", "Mg"), (LEAD_FIRST, "Pb"), (LEAD_SECOND, "Pb"), (CADMIUM, "Cd"),
         ("vapour-mercury.csv", "Hg"), ("vapour-arsenic.csv", "As")]  # fmt: skip
ALL = [*MIXED, ("flame-ware.txt", "Pb"), ("flame-ware.txt", "Cd")]


def result(laboratory: Laboratory, worked: Worked, lot: str) -> WorkedResult:
    return next(one for one in worked.work.results if one.sample == laboratory.sample(lot))


def quantified(laboratory: Laboratory, worked: Worked, lot: str) -> Quantified:
    outcome = result(laboratory, worked, lot).outcome
    assert isinstance(outcome, Quantified), outcome
    return outcome


def presented(run: Run) -> list[int]:
    """Positions that count as presented, in order: the analyst's sample 1, 2, 3 ..."""
    solutions = run.document.solutions
    return [
        position for position, kind in zip(solutions.position, solutions.kind, strict=True) if kind in PRESENTED_KINDS
    ]


def found(worked: Worked, rule: str) -> list[Decimal]:
    return [Decimal(check.found) for check in worked.work.checks if check.rule == rule and check.found]


@pytest.mark.parametrize(("name", "element"), ALL)
def test_every_run_is_usable(worked: Runs, name: str, element: str) -> None:
    work = worked[name][element].work
    assert work.usable, work.findings
    assert name == LEAD_FIRST or not work.findings


@pytest.mark.parametrize(("name", "element"), [one for one in ALL if one[0] != LEAD_FIRST])
def test_every_check_passes_but_in_the_failed_bracket(worked: Runs, name: str, element: str) -> None:
    checks = worked[name][element].work.checks
    assert [check for check in checks if check.verdict != "pass"] == []
    assert {check.check for check in checks} >= {"second_source", "check_standard", "check_blank", "method_blank"}


def test_the_number_of_presented_solutions(worked: Runs) -> None:
    """21 presented before checks; 20 in the stopped run, 14 in its repeat, 2 readings more at dilution 10."""
    due = {LEAD_FIRST: 20, LEAD_SECOND: 14, CADMIUM: 23}
    for name, element in MIXED:
        assert len(presented(worked[name][element].run)) == due.get(name, 21), name


@pytest.mark.parametrize(("name", "element"), [one for one in MIXED if one[0] != LEAD_SECOND])
def test_lots_of_two_customers_alternate(worked: Runs, name: str, element: str) -> None:
    run = worked[name][element].run
    labels = [label for label, kind in zip(run.document.solutions.label, run.document.solutions.kind, strict=True)
              if kind == "sample" and "@" not in label][:16]  # fmt: skip
    customers = [label.split("-")[1][0] for label in labels]
    assert customers == (["A", "B"] * 8)[: len(customers)]


def test_the_good_lot_reads_as_the_scenario_says(laboratory: Laboratory, worked: Runs) -> None:
    zinc = quantified(laboratory, worked["flame-assay.txt"]["Zn"], "A-1")
    magnesium = quantified(laboratory, worked["flame-assay.txt"]["Mg"], "A-1")
    lead = quantified(laboratory, worked[LEAD_FIRST]["Pb"], "A-1")
    assert (zinc.value_text, zinc.expanded_text) == ("99.2", "2.1")
    assert Decimal(magnesium.value) == pytest.approx(Decimal("100.7"), abs=Decimal("0.6"))
    assert (lead.value_text, lead.expanded_text) == ("0.067", "0.020")
    below = {"Cd": (CADMIUM, "<0.013"), "As": ("vapour-arsenic.csv", "<0.10"), "Hg": ("vapour-mercury.csv", "<0.050")}
    for element, (name, text) in below.items():
        outcome = result(laboratory, worked[name][element], "A-1").outcome
        assert isinstance(outcome, BelowLimit)
        assert outcome.value_text == text


def test_zinc_carries_twelve_tenths_of_reading_noise(laboratory: Laboratory, worked: Runs) -> None:
    """U 2.1 %, of which reading noise 1.2 %: readings and curve together, k 2."""
    zinc = result(laboratory, worked["flame-assay.txt"]["Zn"], "A-1")
    noise = sum(float(one.u) ** 2 for one in zinc.contributions if one.name in {"reading noise", "calibration curve"})
    assert 2 * noise**0.5 == pytest.approx(1.2, abs=0.15)


def test_second_sources_controls_and_additions_lie_where_the_scenario_says(worked: Runs) -> None:
    for name, element in ALL:
        assert all(98 <= one <= 103 for one in found(worked[name][element], "second-source")), (name, element)
    for name, element in MIXED[2:]:
        assert all(96 <= one <= 98 for one in found(worked[name][element], "control-sample")), (name, element)
        assert all(Decimal("91.9") <= one <= 97 for one in found(worked[name][element], "spike")), (name, element)
    assert [round(one, 1) for one in found(worked["flame-assay.txt"]["Zn"], "control-sample")] == [
        Decimal("99.4"), Decimal("100.6"),
    ]  # fmt: skip


def test_the_failed_bracket_takes_exactly_samples_11_to_20(worked: Runs) -> None:
    first = worked[LEAD_FIRST]["Pb"]
    failed = [check for check in first.work.checks if check.verdict == "fail"]
    assert [check.check for check in failed] == ["check_standard"]
    assert round(Decimal(failed[0].found), 1) == Decimal("87.1")
    order = presented(first.run)
    assert [row.position for row in first.work.voided] == order[10:20]
    assert {row.code for row in first.work.voided} == {"bracket.failed"}


def test_each_lot_has_its_lead_from_one_run_only(laboratory: Laboratory, worked: Runs) -> None:
    """Lots with both portions in the first bracket from the first run, the others from the second; never from both."""
    from_first, from_second = (
        {lot.lot for lot in lots.FOODS if _reports(laboratory, worked[name]["Pb"], lot.lot)}
        for name in (LEAD_FIRST, LEAD_SECOND)
    )
    assert from_first == {"A-1", "B-1", "A-2", "B-2"}
    assert from_second == {"A-3", "B-3", "A-4", "B-4"}


def _reports(laboratory: Laboratory, run: Worked, lot: str) -> bool:
    sample = laboratory.sample(lot)
    outcomes = [one.outcome for one in run.work.results if one.sample == sample]
    return any(not isinstance(outcome, NotReportable) for outcome in outcomes)


def test_cadmium_of_lot_a2_is_over_range_and_exceeds_when_diluted(laboratory: Laboratory, worked: Runs) -> None:
    run = worked[CADMIUM]["Cd"]
    a2 = result(laboratory, run, "A-2")
    used = [one for one in a2.portions if one.value]
    assert [one.extra_dilution for one in used] == ["10", "10"]
    assert [round(Decimal(one.value), 2) for one in used] == [Decimal("0.62"), Decimal("0.60")]
    assert [round(Decimal(one.solution_value), 1) for one in used] == [Decimal("1.2"), Decimal("1.2")]
    assert [row.code for row in run.work.voided] == ["reading.over-range"] * 2
    outcome = quantified(laboratory, run, "A-2")
    assert (outcome.value_text, a2.verdict, a2.exceedance_means) == ("0.610", "fail", "investigate")
    assert Decimal(outcome.expanded_text) == pytest.approx(Decimal("0.08"), abs=Decimal("0.006"))


def test_zinc_of_lot_a3_rounds_into_its_limit_and_asks_for_a_comment(laboratory: Laboratory, worked: Runs) -> None:
    a3 = result(laboratory, worked["flame-assay.txt"]["Zn"], "A-3")
    outcome = quantified(laboratory, worked["flame-assay.txt"]["Zn"], "A-3")
    assert Decimal("89.95") <= Decimal(outcome.value) < Decimal("90.0")
    assert round(Decimal(outcome.value), 2) == Decimal("89.96")
    assert (outcome.value_text, a3.verdict) == ("90.0", "pass")
    assert a3.comment_required


def test_all_other_results_comply(laboratory: Laboratory, worked: Runs) -> None:
    failing = {
        (one.sample, one.element)
        for runs in worked.values() for run in runs.values() for one in run.work.results
        if one.verdict not in {"pass", "none"}
    }  # fmt: skip
    assert failing == {(laboratory.sample("A-2"), "Cd")}


def test_the_correction_of_a_mass_changes_four_results_of_one_lot(laboratory: Laboratory, worked: Runs) -> None:
    wrong = laboratory.story.correction
    bench = laboratory.bench()
    key = (wrong.batch, wrong.portion)
    corrected = replace(bench, portions={**bench.portions, key: replace(bench.portions[key], mass_g=wrong.true)})
    changed: dict[str, float] = {}
    for name, element in MIXED:
        run = worked[name][element]
        again = work_run(run.run, corrected)
        assert isinstance(again, RunWork)
        for before, after in zip(run.work.results, again.results, strict=True):
            if isinstance(after.outcome, NotReportable):
                continue
            if before != after:
                assert after.sample == laboratory.sample("A-4")
                old, new = (
                    next(one for one in each.portions if one.portion == wrong.portion) for each in (before, after)
                )
                changed[element] = float(new.value) / float(old.value)
    assert changed == pytest.approx(dict.fromkeys(("Pb", "Cd", "Hg", "As"), 0.5201 / 0.5021), rel=1e-9)


def test_ware_shows_release_per_area_and_a_portion_lost(laboratory: Laboratory, worked: Runs) -> None:
    run = worked["flame-ware.txt"]["Pb"]
    lead = result(laboratory, run, "C-1")
    assert (lead.quantity, lead.unit, lead.fraction) == ("release_per_area", "mg/dm2", "released")
    assert Decimal(quantified(laboratory, run, "C-1").value) == pytest.approx(Decimal("0.31"), abs=Decimal("0.01"))
    assert [("spilled" in one.why, one.position) for one in lead.portions if not one.value] == [(True, 0)]


def test_some_blanks_are_negative_and_kept_so(worked: Runs) -> None:
    blanks = [value for name, element in ALL for value in found(worked[name][element], "check-blank")]
    assert any(value < 0 for value in blanks)
    assert any(value > 0 for value in blanks)


def test_every_technique_and_every_file_shape_is_seen(laboratory: Laboratory, worked: Runs) -> None:
    techniques = {run.run.method.technique for runs in worked.values() for run in runs.values()}
    assert techniques == {"flame", "furnace", "cold_vapour", "hydride"}
    assert {file.layout for file in laboratory.story.files} == {"comma-list", "page-print", "semicolon-sections"}


def test_background_of_furnace_samples_stays_below_its_limit(worked: Runs) -> None:
    """EPA 200.9, 9.4.1: below 1.0; the scenario says 0.05 to 0.3."""
    for name in (LEAD_FIRST, CADMIUM):
        readings = next(iter(worked[name].values())).run.document.readings
        assert all(0 < Decimal(text) <= Decimal("0.3") for text in readings.background)


def refused(laboratory: Laboratory, name: str) -> InstrumentFile:
    return next(file for file in laboratory.story.refused if file.name == name)


def test_the_file_cut_off_in_mid_section_is_refused_whole(laboratory: Laboratory) -> None:
    file = refused(laboratory, "flame-assay-cut-off.txt")
    whole = laboratory.story.files[0]
    assert whole.content.startswith(file.content)
    problems = laboratory.documents_of(file)
    assert all(isinstance(one, Problem) for one in problems)
    assert "ingest.cut-off" in {one.code for one in problems if isinstance(one, Problem)}


def test_the_file_of_concentrations_reads_but_its_method_refuses_it(laboratory: Laboratory) -> None:
    file = refused(laboratory, "vapour-mercury-concentrations.csv")
    (document,) = laboratory.documents_of(file)
    assert isinstance(document, RunDocument)
    assert document.facts.signal_is == "instrument_concentration"
    problems = check_run(document, laboratory.known(file))
    assert isinstance(problems, tuple)
    assert any("concentration" in one.what for one in problems)


def test_the_slow_clock_shifts_every_time_by_an_hour_and_nothing_else(laboratory: Laboratory) -> None:
    slow = laboratory.story.slow_clock
    right = next(file for file in laboratory.story.files if file.name == "vapour-arsenic.csv")
    (ours,), (theirs,) = laboratory.documents_of(right), laboratory.documents_of(slow)
    assert isinstance(ours, RunDocument)
    assert isinstance(theirs, RunDocument)
    assert ours.readings.signal == theirs.readings.signal
    hours = {
        int(a[11:13]) - int(b[11:13]) for a, b in zip(ours.readings.taken_at, theirs.readings.taken_at, strict=True)
    }
    assert hours == {1}


@pytest.mark.parametrize(("start", "seed"), [(date(2026, 3, 2), 0), (date(2025, 12, 27), 7), (date(2027, 7, 15), 101)])
def test_the_story_is_the_same_with_other_seeds_and_days(start: date, seed: int) -> None:
    laboratory = Laboratory(scenario(start, seed))
    works = {file.name: laboratory.take(file) for file in laboratory.story.files}
    for name, runs in works.items():
        for run in runs.values():
            assert run.work.usable, (name, run.work.findings)
    first = works[LEAD_FIRST]["Pb"]
    assert [row.position for row in first.work.voided] == presented(first.run)[10:20]
    assert quantified(laboratory, works["flame-assay.txt"]["Zn"], "A-3").value_text == "90.0"
    failing = {one.sample for run in works[CADMIUM].values() for one in run.work.results if one.verdict == "fail"}
    assert failing == {laboratory.sample("A-2")}


def test_tubes_of_all_batches_have_labels_of_their_own() -> None:
    assert len(batches.tubes(1)) == 49
