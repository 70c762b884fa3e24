"""What a worked calculation tells beside its formulas: every number and source of the record, in plain words."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from tests.compute.making import (
    BRACKETS,
    Shot,
    pair,
    pb_method,
    portion_of,
    requirement_of,
    rule,
    samples,
    standards,
)
from tests.compute.test_explain_formulas import CASES, CONTENT, PER_UNIT, around_of, budget, plan, read, told, usual
from tests.journeys.commands import ANALYST, Line

from benchseal.compute.explain import explain
from benchseal.compute.explain_budget import BAR, LONGEST_BAR, REGRESSION, STATED, VALIDATED, bar
from benchseal.compute.explain_layout import WIDTH, formula, prose, spans, table
from benchseal.compute.run_budget import BLANK_NOISE, CURVE, NOISE, ONE_STANDARD
from benchseal.desk.acts_runs import IngestFile
from benchseal.desk.perform import perform
from benchseal.records.preparation import DilutionStep
from benchseal.records.results import Diagnostic, NotReportable, WorkedResult
from benchseal.records.shape import record_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tests.conftest import Stage

    from benchseal.compute.explain_around import Around
    from benchseal.records.method import CheckRule, Method
    from benchseal.records.specification import Requirement

ROOT = Path(__file__).parents[2]


def flat(of: Around) -> str:
    """The whole text on one line, its blanks run together."""
    return re.sub(r"\s+", " ", "\n".join(explain(of)))


def test_everything_a_reader_asks_for_is_there() -> None:
    text = flat(usual(replace(CONTENT, limit_source="agreed by letter")))
    for words in (
        "Lead, total, in sample S-00001, lot L-S-00001 run R-00001, measured 2026-03-02 08:00:00 UTC on AA-1;",
        "file invented.txt method pb-furnace version 1: Lead by graphite furnace specification lozenge version 1: Loz",
        "Least squares through 21 points, where a point is one reading; all points weigh the same; 19 degrees",
        "b1 0.00292826374821 standard error 0.00000888071914438",
        "Range 0 to 20 µg/L; residual standard deviation 0.000",
        "source of the limits of the curve: test",
        "Portion A, batch T-1, position 11, lines 40 to 42 of invented.txt readings 0.0159",
        "relative standard deviation of the 3 readings 1 %",
        "standard uncertainty of c, from readings and curve, 0.0",
        "quantification limit: the lowest level in place of c, nothing taken off = 1 µg/L x 20",
        "source of the lowest level, 1 µg/L: test",
        "source of the detection level, 0.3 µg/L: test",
        "stated by the method: weighing 0.0005 g, volume 0.3 %, dilution step 0.5 %, recovery 6 % source: test",
        "by Welch and Satterthwaite (JCGM 100, G.4)",
        "the coverage factor the method states",
        "Limit: at most 5.5 µg/g source: agreed by letter",
        "Rule: the value itself is compared with the limit; the uncertainty does not move the limit",
        "source: ILAC-G8:09/2019, simple acceptance agreement: 2026-01-01",
        "Verdict on 4.99700355552 µg/g: pass",
        "a person comments on this: The limit 5.5 lies within the expanded uncertainty of the result.",
        "probability that the true value conforms, for information: 0.9",
    ):
        assert words in text, words


def test_the_sections_stand_in_the_order_of_judgement() -> None:
    heads = [line for line in explain(usual(CONTENT)) if line and not line.startswith(" ")]
    assert heads[1:] == [
        *("Calibration", "Readings", "Checks around these readings"),
        "Result: lead, content in µg/g, as received",
    ]


@pytest.mark.parametrize(
    ("decision", "words", "source"),
    [
        ("simple", "the value itself is compared", "ILAC-G8:09/2019, simple acceptance"),
        ("guarded", "must keep U away", "ILAC-G8:09/2019, guard band U"),
        ("guarded_5", "must keep 1.645 u away", "1.645 is the one-sided normal quantile"),
        ("nonbinary", "conditional pass where it lies within", "guard bands on both sides"),
        ("pharma", "rounded once to the places of the limit", "USP General Notices 7.20, secondary quote"),
        ("beyond_doubt", "fail only where the value lies beyond", "EU practice for food controls, from memory"),
    ],
)
def test_each_decision_rule_has_words_and_a_source(decision: Any, words: str, source: str) -> None:  # noqa: ANN401
    text = flat(usual(replace(CONTENT, rule=decision)))
    assert re.search(rf"Rule: [^:]*{words}[^:]*.* source: .*{source} agreement: ", text)


@pytest.mark.parametrize(
    ("rounding", "words"),
    [
        ("half_up", "a half goes up, away from zero: 5.0 source: USP General Notices 7.20, secondary quote"),
        ("half_even", "a half goes to the even digit: 5.0 source: ISO 80000-1 rule A, from memory"),
    ],
)
def test_rounding_has_words_and_a_source(rounding: Any, words: str) -> None:  # noqa: ANN401
    text = flat(usual(replace(CONTENT, rounding=rounding, decimals=1)))
    assert f"4.99700355552 rounded once, {words}" in text
    assert "1 decimal place, as the specification states" in text
    assert "to the place that keeps two significant digits of U" in flat(usual(replace(CONTENT, rounding=rounding)))


@pytest.mark.parametrize(("asked", "method", "prepared"), CASES)
def test_every_contribution_is_told_and_known(
    asked: Requirement, method: Method | None, prepared: dict[str, Any]
) -> None:
    """A contribution with degrees of freedom of its own would make the printed formula of them wrong."""
    of = usual(asked, method, **prepared)
    for one in of.results[0].contributions:
        assert one.name in {*REGRESSION, *STATED, VALIDATED}
        assert any(line.startswith(f"    {one.name}  ") and f"  {one.u}  " in line for line in explain(of))


def test_the_group_of_the_curve_is_named_as_the_budget_names_it() -> None:
    assert REGRESSION == (NOISE, CURVE, BLANK_NOISE, ONE_STANDARD)


# ------------------------------------------------------------------ results without a value, and others


def test_a_reading_over_range_and_a_reading_without_a_number() -> None:
    over = flat(usual(CONTENT, holds=25.0))
    assert "no value: above the highest standard (20 µg/L); dilute and read again" in over
    assert "No result (reading.over-range): 0 of 2 portions give a value" in over
    assert "Verdict: no statement" in over
    assert "Uncertainty" not in over
    shots = (*standards(), *pair(), Shot("sample", "A", portion="A", signals=("over", "over")), *pair())
    of = around_of(shots, None, [portion_of("A")], [CONTENT])
    assert "no number was read" in flat(of)
    assert "over range; dilute and read again" in flat(of)
    read(of)


def test_portions_lost_or_not_read_say_why() -> None:
    portions = [portion_of("A"), portion_of("B"), portion_of("C", not_determined="the tube broke")]
    of = around_of((*standards(), *pair(), *samples("A"), *pair()), None, portions, [CONTENT])
    lines = explain(of)
    assert lines[lines.index("  Portion B") + 1] == "    no value: not measured in this run"
    assert lines[lines.index("  Portion C") + 1] == "    no value: not determined: the tube broke"
    assert sum("batch T-1, position" in line for line in lines) == 1


def test_several_batches_in_one_run_are_refused_in_words() -> None:
    portions = [portion_of("A"), portion_of("B", batch="T-2")]
    shots = (*standards(), *pair(), *samples("A"), Shot("sample", "B", 5.0, "B", batch="T-2"), *pair())
    text = flat(around_of(shots, None, portions, [CONTENT]))
    assert "No result (portions.several-batches): portions of batches T-1, T-2 were read in one run" in text


def test_a_result_below_the_limit_is_told() -> None:
    text = flat(usual(replace(CONTENT, upper="6.0", decimals=3), holds=0.2))
    assert "This lies below the quantification limit 1.00000000000 µg/g: the result is less than it." in text
    assert "Uncertainty at the quantification limit" in text
    assert "Reported: <1.000 µg/g 1.00000000000 rounded once, always up (common practice, no source): 1.000" in text
    assert 'a result "<" passes when its limit itself does not exceed the acceptance limit' in text
    assert "Verdict on <1.00000000000 µg/g: pass" in text


def test_no_limit_and_one_portion_are_told() -> None:
    asked = requirement_of(upper="", limit_source="source of a limit that is not there")
    text = flat(around_of((*standards(), *samples("A")), pb_method(checks=()), [portion_of("A")], [asked]))
    assert "No limit is specified, so there is no verdict." in text
    assert "source of a limit" not in text
    assert "One portion makes the result: 0.24" in text
    assert "Quantification limit of the result: 0.0500000000000 µg/g" in text
    assert "dilution none" in text


def test_each_portion_is_told_against_its_own_limit() -> None:
    asked = replace(CONTENT, upper="6.0", portion_upper="6.5")
    text = flat(usual(asked))
    assert "Each portion: at most 6.5 µg/g, by the same rule; one outside fails the result" in text
    assert text.count("µg/g: pass") >= asked.portions
    assert "Each portion" not in flat(usual(replace(CONTENT, upper="6.0")))


def test_a_failing_result_says_what_is_asked() -> None:
    text = flat(usual(replace(CONTENT, upper="2.0", exceedance_means="notify")))
    assert (
        "Verdict on 4.99700355552 µg/g: fail outside the limit: the specification asks to notify the customer" in text
    )


def test_a_blank_is_told_with_its_raw_lines() -> None:
    text = flat(usual(CONTENT, pb_method(blank_subtraction="undiluted")))
    assert "method blank MB, position 10, lines 37 to 39 of invented.txt: readings 0.00177" in text
    assert re.search(r"blank 0\.0940982045953 µg/L before dilution, read undiluted; taken off once, after", text)


def test_glassware_and_validated_figures_are_told() -> None:
    of = usual(CONTENT, budget(s0="0.02", s1_percent="3"))
    assert "found by validation: s0 0.02 µg/L in the solution, s1 3 % of the value source: test" in flat(of)
    assert "nothing limits the degrees of freedom" in flat(of)


# ------------------------------------------------------------------ the curve


def test_why_this_curve_and_what_was_looked_at() -> None:
    of = usual(CONTENT, plan(variance_source="ten blanks of May"))
    looked = (
        Diagnostic("mandel", "572.123456789", "21.1976895844", 1, 4, exceeded=True, why="", source="ISO 8466-1, 5.1"),
        Diagnostic("sign_runs", "3", "2", 0, 0, exceeded=False, why="", source="common practice, no source"),
        Diagnostic("lack_of_fit", "", "", 0, 0, exceeded=False, why="one reading a level", source="ISO 11095"),
    )
    curve = replace(of.work.calibration, chosen_because="the quadratic fits better", diagnostics=looked)
    text = flat(replace(of, work=replace(of.work, calibration=curve)))
    for words in (
        "source of the weights: ten blanks of May",
        "why this form of the curve: the quadratic fits better",
        "Mandel: does a quadratic fit better: 572.1, critical value 21.2 with 1 and 4 degrees of freedom, exceeded",
        "source: ISO 8466-1, 5.1",
        "runs of signs of the residuals: 3, critical value 2, not exceeded source: common practice, no source",
        "lack of fit against the scatter of readings: one reading a level source: ISO 11095",
    ):
        assert words in text, words


# ------------------------------------------------------------------ checks


def checks_of(of: Around) -> list[str]:
    lines = explain(of)
    return list(
        lines[lines.index("Checks around these readings") : lines.index("Result: lead, content in µg/g, as received")]
    )


def test_the_nearest_checks_stand_around_each_reading() -> None:
    shots = (*standards(), *pair(), *samples("X"), *pair(10.2), *samples("AB"), *pair(9.5), *samples("Y"), *pair())
    portions = [portion_of(label, f"S-0000{1 if label in 'AB' else 2}") for label in "XABY"]
    rows = [re.sub(r" +", " ", line.strip()) for line in checks_of(around_of(shots, None, portions, [CONTENT]))]
    assert "Bracket: at most 10 solutions between two, one closes the run" in rows
    assert [row for row in rows if row.startswith("check standard")] == [
        "check standard found 102 % limit 90 to 110 % pass position 11, before 13 to 14",
        "check standard found 95 % limit 90 to 110 % pass position 15, after 13 to 14",
    ]
    assert sum(row.startswith("check blank") for row in rows) == 2
    assert rows.count("source: test") >= 3


def test_a_reading_between_the_calibration_and_the_end() -> None:
    of = around_of((*standards(), *samples("A"), *pair()), None, [portion_of("A")], [CONTENT])
    assert "    before 8: the calibration, just made, opens the bracket" in checks_of(of)
    of = around_of((*standards(), *pair(), *samples("A")), None, [portion_of("A")], [CONTENT])
    assert "    after 10: no such check was read" in checks_of(of)
    assert "No result (bracket.open)" in flat(of)


def test_a_failed_check_beside_a_reading_is_told_with_its_words() -> None:
    of = around_of((*standards(), *pair(), *samples("A"), *pair(8.0)), None, [portion_of("A")], [CONTENT])
    rows = [re.sub(r" +", " ", line.strip()) for line in checks_of(of)]
    assert "check standard found 79.99 % limit 90 to 110 % fail position 11, after 10" in rows
    assert "Check standard after position 10 read 79.99 %; limit 90 to 110 %" in rows


def test_a_check_that_was_not_read_is_told() -> None:
    of = around_of((*standards(), *samples("A")), None, [portion_of("A")], [CONTENT])
    text = flat(of)
    assert "check standard limit 90 to 110 % not evaluated" in text
    assert "Check standard was not read in this run" in text


def test_checks_made_on_other_samples_are_left_out() -> None:
    portions = [portion_of("A"), portion_of("B"), portion_of("X", "S-00002"), portion_of("Y", "S-00002")]
    method = pb_method(checks=(*BRACKETS, rule("portions_agree", low="", high="20")))
    rows = checks_of(around_of((*standards(), *pair(), *samples("ABXY"), *pair()), method, portions, [CONTENT]))
    assert sum(line.startswith("    portions agree") for line in rows) == 1
    assert any(line.endswith("positions 10 to 11") for line in rows)


@pytest.mark.parametrize(("between", "told_of"), [((), True), (samples("B"), False)])
def test_a_rinse_stands_beside_the_reading_directly_after_it(between: Sequence[Shot], told_of: bool) -> None:
    rinse: CheckRule = rule("return_to_zero", limit_in="solution", low="", high="0.5", required=False)
    shots = (*standards(), *pair(), Shot("rinse", "R", 0.1), *between, *samples("A"), *pair())
    portions = [portion_of("A"), portion_of("B", "S-00002")]
    of = around_of(shots, pb_method(checks=(*BRACKETS, rinse)), portions, [CONTENT])
    assert ("  Rinse directly before a reading" in checks_of(of)) == told_of


# ------------------------------------------------------------------ layout


def test_a_bar_has_a_sign_for_each_thirtieth() -> None:
    shares = {"0": 0, "1.6": 0, "1.7": 1, "5.00000000000": 2, "49.9999999999": 15, "98.4": 30, "100": 30}
    assert {share: len(bar(share)) for share in shares} == shares
    assert set(bar("100")) == {BAR}
    assert (len(BAR), LONGEST_BAR) == (1, 30)
    assert BAR.isascii()


def test_nothing_is_wider_than_the_page_and_nothing_moves_the_cursor() -> None:
    long = "a rule that was agreed in a letter of many words " * 6
    rules = tuple(replace(one, id=one.id * 9) for one in BRACKETS)
    method = pb_method(title=long, lowest_level_source=long, checks=rules)
    first = replace(method.standards[0], label="S" * 40)
    method = replace(method, standards=(first, *method.standards[1:]))
    shots = (replace(standards()[0], label="S" * 40), *standards()[1:], *pair(), *samples(["A" * 30]))
    of = around_of(shots, method, [portion_of("A" * 30)], [replace(CONTENT, limit_source="x" * 300)])
    for line in explain(of):
        assert len(line) <= WIDTH
        assert line == line.rstrip()
        assert line.isprintable()
    assert "S" * 19 + "…" in "\n".join(explain(of))


def test_formulas_are_broken_before_an_operator_and_below_their_sign() -> None:
    assert list(formula("u", " + ".join(["0.123456789012²"] * 7), "1 g")) == [
        "  u = 0.123456789012² + 0.123456789012² + 0.123456789012² + 0.123456789012² + 0.123456789012²",
        "        + 0.123456789012² + 0.123456789012²",
        "    = 1 g",
    ]
    assert list(formula("a name of many words", "2 x 3", "6")) == ["  a name of many words", "    = 2 x 3", "    = 6"]


def test_pieces_of_the_layout() -> None:
    assert spans([26, 26, 26]) == "26"
    assert spans([9, 4, 5, 6]) == "4 to 6, 9"
    assert list(prose("")) == []
    assert list(table([["a", "1"], ["bcd", "22"]], right=frozenset({1}))) == ["  a     1", "  bcd  22"]
    assert list(table([])) == []


# ------------------------------------------------------------------ the demo, its documents, the command


def shown_of(stage: Stage, run: str, lot: str) -> list[str]:
    return next(list(explain(of)) for of in told(stage) if (of.number, of.lot) == (run, lot))


def test_the_manual_shows_the_real_calculation(stage: Stage) -> None:
    page = (ROOT / "docs" / "manual" / "explain.md").read_text(encoding="utf-8")
    command, block = re.findall(r"^    \$ benchseal run explain (\S+ \S+)\n((?:(?:    .*)?\n)+)", page, re.MULTILINE)[0]
    said = [line.removeprefix("    ") for line in block.rstrip("\n").split("\n")]
    day = re.compile(r"\d{4}-\d{2}-\d{2}")  # the demo ends on the day it is played: its days are not the page's
    assert [day.sub("", one) for one in said] == [day.sub("", one) for one in shown_of(stage, *command.split())]


def test_the_readme_shows_real_lines_in_their_order(stage: Stage) -> None:
    data = (stage.site.folder / "inbox" / "flame-ware.txt").read_bytes()
    perform(stage.site, IngestFile(data, "flame-ware.txt", "", ()), stage.key(ANALYST))
    real = iter(shown_of(stage, "R-00008", "C-1"))
    page = (ROOT / "README.md").read_text(encoding="utf-8")
    block = page.partition("    $ benchseal run explain R-00008 C-1\n")[2].partition("\n    $ ")[0]
    said = [line.removeprefix("    ") for line in block.rstrip("\n").split("\n")]
    told_lines = [line for line in said if line.strip() != "…"]
    assert len(told_lines) > 8
    for line in told_lines:
        assert line in real, line


def test_the_command_prints_the_same_lines_and_gives_the_results_as_data(
    stage: Stage, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    lines = shown_of(stage, "R-00003", "B-3")
    line = Line(stage.site.folder, capsys)
    answer = line("run", "explain", "R-00003", "corrigan/B-3", by=(ANALYST,))
    assert (answer.code, answer.out.splitlines(), answer.err) == (0, lines, "")
    found = line("run", "explain", "R-00003", "S-00007", "--json", by=(ANALYST,)).json
    assert (found["schema_version"], found["exit"], found["problems"]) == (1, 0, [])
    assert (found["run"], found["sample"], found["lot"], found["lines"]) == ("R-00003", "S-00007", "B-3", lines)
    results = [record_of(WorkedResult, one) for one in found["results"]]
    assert [type(one.outcome) for one in results] == [NotReportable]
    assert found["calibration"]["model"] == "line"


@pytest.mark.parametrize(
    ("run", "lot", "code"),
    [("R-00009", "A-1", "run.unknown"), ("R-00001", "Z-9", "lot.unknown"), ("R-00001", "C-1", "run.no-result")],
)
def test_what_cannot_be_explained_is_refused(  # noqa: PLR0917  a case and what lends a site
    run: str,
    lot: str,
    code: str,
    stage: Stage,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    answer = Line(stage.site.folder, capsys)("run", "explain", run, lot, by=(ANALYST,))
    assert (answer.out, answer.err.partition(":")[0]) == ("", code)
    assert answer.code != 0


def test_steps_and_units_of_the_whole_way_are_there() -> None:
    asked = replace(CONTENT, quantity="percent_of_claim", unit="%", claim_mg="0.0125", upper="110")
    text = flat(usual(asked, dilutions={"Pb": (DilutionStep("5", "100"),)}, **PER_UNIT))
    assert "percent of claim = c x dilution x volume / mass x unit mass / claim x 100" in text
    assert "x 20 x 1/1000 (µg/L to mg/L) x 25.0 mL / 0.5000 g x 2.494 g x 1/1000 (µg to mg) / 0.0125 mg x 100" in text
