"""A certificate whose run holds every deeper check: it verifies with the other customer hidden, and lies are named.

The figures are invented. Our sample was read at two dilutions, spiked after preparation, its acid entered; of theirs
two portions were spiked; a rinse between them did not come back to zero; one reading had too much background.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from tests.compute.making import (
    BRACKETS,
    Shot,
    pair,
    pb_method,
    portion_of,
    requirement_of,
    rule,
    run_of,
    samples,
    standards,
)
from tests.verify import making
from tests.verify.making import OURS, SECRETS, THEIRS, Plan, make
from tests.verify.test_contents import failed, report_on

from benchseal.certificate.present_runs import check_lines
from benchseal.records.canonical import digest
from benchseal.records.method import Conditions, Method, Standard
from benchseal.records.preparation import DilutionStep
from benchseal.records.results import Quantified
from benchseal.records.run import DocumentRef
from benchseal.records.shape import record_bytes

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tests.verify.making import Made

    from benchseal.records.evidence import Evidence
    from benchseal.records.preparation import Portion
    from benchseal.records.results import RunWork
    from benchseal.records.run import Run
    from benchseal.records.specification import Requirement

FIRST = replace(BRACKETS[0], id="first", when="first", low="95", high="105", every=0, at_end=False)
LATER = replace(BRACKETS[0], id="later", when="later", every=15)
RULES = (
    rule("second_source"),
    FIRST,
    LATER,
    replace(BRACKETS[1], every=15),
    rule("lowest_level", low="70", high="130"),
    rule("return_to_zero", limit_in="solution", low="-0.5", high="0.5"),
    rule("sensitivity", low="80", high="120", expected="30"),
    rule("method_blank"),
    rule("reference_material", limit_in="zeta", low="-2", high="2"),
    rule("reference_material", id="reference-e-n", limit_in="e_n", low="-1", high="1"),
    rule("portions_agree", low="0", high="20"),
    rule("spikes_agree", low="0", high="20"),
    rule("post_spike", low="80", high="120"),
    rule("dilution_test", low="90", high="110"),
    rule("acid_match", low="80", high="120"),
)
CONDITIONS = Conditions(
    injection_ul="20", acid="nitric acid", acid_percent="5.0", largest_background="1.0", background_source="test"
)


def deep_method() -> Method:
    levels = (*pb_method().standards, Standard("S7", "100"))
    return pb_method(checks=RULES, conditions=CONDITIONS, standards=levels)


def deep_portions() -> list[Portion]:
    reference = {"expected_ug_per_g": {"Pb": "0.40"}, "u_expected_ug_per_g": {"Pb": "0.02"}}
    spike = {"kind": "spiked_sample", "spike_of": "T-BW/1", "added_ug": {"Pb": "0.125"}}
    return [
        portion_of("T-MB", "", kind="method_blank", mass_g=""),
        portion_of("T-RM", "", kind="reference_material", **reference),
        portion_of("T-A1/1", OURS, acid_percent="5.1"),
        portion_of("T-A1/2", OURS, acid_percent="4.9"),
        portion_of(
            "T-A1/1 dig",
            OURS,
            kind="post_spiked_sample",
            spike_of="T-A1/1",
            volume_ml="10.0",
            mass_g="",
            added_ug={"Pb": "0.5"},
            dilutions={"Pb": (DilutionStep("10", "10.1"),)},
        ),
        portion_of("T-BW/1", THEIRS, acid_percent="5.0"),
        portion_of("T-BW/2", THEIRS, acid_percent="5.0"),
        portion_of("T-BW/1 add", THEIRS, **spike),
        portion_of("T-BW/1 add 2", THEIRS, **spike),
    ]


def deep_shots() -> list[Shot]:
    """Positions 13 and on are presented; 18 is the rinse, 19 what it voids, 21 the reading with too much background."""
    kinds = {one.portion: one.kind for one in deep_portions()}

    def of(label: str, holds: float, dilution: str = "1", background: str = "0.213") -> Shot:
        return Shot(kinds[label], label, holds, label, dilution=dilution, background=background)

    shots = (
        *standards(),
        Shot("standard", "S7", 100.0, nominal="100"),
        Shot("second_source", "SB", 9.9),
        Shot("lowest_level", "LL", 1.02),
        *pair(),
        of("T-MB", 0.05),
        of("T-RM", 8.1),
        of("T-BW/1", 8.0),
        of("T-A1/1", 80.0),
        of("T-BW/2", 8.1),
        Shot("rinse", "R", 0.8),
        of("T-BW/2", 4.0, "2"),
        of("T-A1/1", 16.1, "5"),
        of("T-A1/2", 80.5, background="1.4"),
        of("T-A1/2", 40.2, "2"),
        of("T-A1/1 dig", (80.0 * 10 + 500) / 10.1 / 2, "2"),
        of("T-BW/1 add", 12.9),
        of("T-BW/1 add 2", 13.2),
        *pair(10.7),
    )
    return [replace(one, background=one.background or "0.1") for one in shots]


def plain_shots() -> Sequence[Shot]:
    """The file says the background; the method for cadmium does not judge it."""
    second = Shot("second_source", "SB", 9.9)
    shots = (*standards(), second, *pair(), *samples(("T-A1/1", "T-A1/2"), 0.3), *pair(9.8))
    return [replace(one, background="2.5") for one in shots]


def deep_runs() -> tuple[Run, ...]:
    lead, cadmium = deep_method(), making.method("Cd")
    return tuple(
        replace(run_of(shots, own), method_ref=DocumentRef(own.id, 2, digest(record_bytes(own))))
        for shots, own in ((deep_shots(), lead), (plain_shots(), cadmium))
    )


def wide_requirement(**changes: object) -> Requirement:
    return requirement_of(**({"upper": "10.0"} | changes))


@pytest.fixture
def deep(monkeypatch: pytest.MonkeyPatch) -> None:
    """``make`` makes the certificate of these runs and portions."""
    monkeypatch.setattr(making, "_runs", deep_runs)
    monkeypatch.setattr(making, "_portions", deep_portions)
    monkeypatch.setattr(making, "requirement_of", wide_requirement)


# What the page says of each: found, limits, verdict.
LINES = {
    "first check standard": ("100 %", "95 to 105 %", "met"),
    "later check standard": ("107 %", "90 to 110 %", "met"),
    "lowest level": ("102 %", "70 to 130 %", "met"),
    "return to zero": ("0.798 µg/L", "±0.5 µg/L", "not met"),
    "sensitivity": ("100 %", "80 to 120 %", "met"),
    "reference, zeta": ("0.149", "±2", "met"),
    "reference, E_n": ("0.0744", "±1", "met"),
    "portions differ": ("0.496 %", "≤ 20 %", "met"),
    "spikes differ*": ("2.3 %", "≤ 20 %", "met"),
    "spike in digest": ("100 %", "80 to 120 %", "met"),
    "dilution test": ("101 %", "90 to 110 %", "met"),
    "acid, 2": ("98 to 102 %", "80 to 120 %", "met"),
}


def lead(made: Made) -> dict[str, list[str]]:
    """Kind of check to the verdicts of the lead run."""
    found: dict[str, list[str]] = {}
    for check in made.evidence.runs[0].checks:
        found.setdefault(check.check, []).append(check.verdict)
    return found


@pytest.mark.usefixtures("deep")
def test_a_certificate_with_every_deeper_check_is_genuine() -> None:
    made = make()
    report = report_on(made)
    assert (report.word, report.exit_code) == ("GENUINE", 0), report.lines()
    verdicts = lead(made)
    assert verdicts.pop("return_to_zero") == ["fail"]
    assert {"lowest_level", "sensitivity", "post_spike", "spikes_agree", "dilution_test", "acid_match"} <= set(verdicts)
    assert verdicts.pop("dilution_test") == ["not_evaluated", "pass"], "theirs after the rinse, then ours"
    assert {verdict for found in verdicts.values() for verdict in found} == {"pass"}
    result = made.evidence.results[0].result
    assert isinstance(result.outcome, Quantified)
    assert [(row.position, row.why[:21]) for row in result.portions] == [
        (16, ""), (20, "not used: the reading"), (21, "background absorbance"), (22, ""),
    ]  # fmt: skip


@pytest.mark.usefixtures("deep")
def test_the_other_customer_stays_hidden() -> None:
    made = make()
    run = made.evidence.runs[0]
    assert run.facts.solutions - len(run.clear) == 5
    for secret in (*SECRETS, "T-BW/1 add 2", "12.9"):
        assert secret.encode() not in made.evidence_bytes, secret
        assert secret not in made.pages()[0], secret
    made_on = [check for check in run.checks if check.made_on_sample]
    assert {check.check for check in made_on} == {
        "portions_agree", "spikes_agree", "post_spike", "dilution_test", "acid_match",
    }  # fmt: skip


@pytest.mark.usefixtures("deep")
def test_background_is_shown_where_it_is_judged_and_nowhere_else() -> None:
    lead_run, cadmium_run = make().evidence.runs
    shown = {one.solution.position: {each.background for each in one.solution.readings} for one in lead_run.clear}
    assert (shown[1], shown[16], shown[21]) == ({"0.1"}, {"0.213"}, {"1.4"})
    assert {each.background for one in cadmium_run.clear for each in one.solution.readings} == {""}


@pytest.mark.usefixtures("deep")
def test_each_check_has_its_line_on_the_page() -> None:
    made = make()
    lines = {line.check: line for line in check_lines(made.evidence.runs[0])}
    assert {name: (line.found, line.limits, line.verdict) for name, line in lines.items() if name in LINES} == LINES
    (page,) = made.pages()
    for line in lines.values():
        assert line.check in page
        assert line.limits in page
    assert "Where a rinse did not return to zero, the reading directly after it was not used." in page


def _verdict(check: str, **changes: str) -> Plan:
    """A lie about one verdict of the lead run, told before signing."""

    def told(work: RunWork) -> RunWork:
        checks = tuple(
            replace(one, **changes) if one.check == check and one.positions else one  # type: ignore[arg-type]
            for one in work.checks
        )
        return replace(work, checks=checks)

    return Plan(work=told)


def _column(group: str, name: str, old: str, new: str) -> Plan:
    """A lie in the files of the run: the calculation saw the true one."""

    def filed(run: Run) -> Run:
        columns = getattr(run.document, group)
        values = tuple(new if value == old else value for value in getattr(columns, name))
        return replace(run, document=replace(run.document, **{group: replace(columns, **{name: values})}))

    return Plan(filed=filed)


@pytest.mark.usefixtures("deep")
@pytest.mark.parametrize(
    ("plan", "word"),
    [
        pytest.param(_verdict("return_to_zero", verdict="pass", why="", found="0.1"), "return-to-zero", id="rinse"),
        pytest.param(_verdict("lowest_level", found="100"), "lowest-level", id="lowest level"),
        pytest.param(_verdict("sensitivity", found="100"), "sensitivity", id="sensitivity"),
        pytest.param(_verdict("reference_material", found="0"), "reference-material", id="score"),
        pytest.param(_verdict("post_spike", found="100"), "post-spike", id="spike after preparation"),
        pytest.param(_verdict("dilution_test", found="100"), "dilution-test", id="dilution test"),
        pytest.param(_verdict("acid_match", found="100"), "acid-match", id="acid"),
        pytest.param(_column("readings", "background", "1.4", "0.4"), "Lead", id="a background made smaller"),
        pytest.param(_column("readings", "background", "0.1", "1.2"), "Lead", id="a background made larger"),
        pytest.param(_column("solutions", "kind", "rinse", "check_blank"), "check", id="a rinse said to be a blank"),
    ],
)
def test_a_lie_about_a_deeper_check_is_found_by_the_calculation(plan: Plan, word: str) -> None:
    report = report_on(make(plan))
    found = failed(report)
    assert report.word == "ALTERED"
    assert found.keys() == {"recalculation"}, found
    assert word.lower() in found["recalculation"].lower()


@pytest.mark.usefixtures("deep")
def test_an_acid_entered_afterwards_is_named() -> None:
    def told(evidence: Evidence) -> Evidence:
        rows = tuple(replace(one, acid_percent="2.0") if one.acid_percent else one for one in evidence.portions)
        return replace(evidence, portions=rows)

    found = failed(report_on(make(Plan(content=told))))
    assert {"manifests", "recalculation"} <= found.keys()
    assert "acid-match" in found["recalculation"]
