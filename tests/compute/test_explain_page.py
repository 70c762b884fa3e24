"""Where each line of a worked calculation stands: a section at the edge, what it holds 2 in, what belongs to that 4.

What is said of a line that stands 4 in (its source, what it means) stands 6 in. A line that goes on is set in by 4.
"""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from tests.compute import test_explain_additions as additions
from tests.compute import test_explain_bracketing as bracketing
from tests.compute import test_explain_drift as drift
from tests.compute import test_explain_formulas as formulas
from tests.compute import test_explain_stored as stored
from tests.compute.bracketing import between
from tests.compute.drifting import drifting
from tests.compute.making import ALL_RULES, bench_of, pb_method, portion_of
from tests.compute.test_run_additions import by_additions
from tests.compute.test_run_stored import usual as stored_run

from benchseal.compute.explain import explain
from benchseal.compute.run_work import work_run
from benchseal.records.results import Quantified, RunWork

if TYPE_CHECKING:
    from collections.abc import Callable

    from benchseal.compute.explain_around import Around

PLACES: dict[int, str] = {
    0: r"Lead, total|Calibration$|Readings$|Checks around these readings$|Result: lead|Standards read around"
    r"|Check pairs, by which",
    2: r"run R-|method pb|specification lozenge|A = b0|A: mean reading|b\d +\S+ +standard error|Least squares"
    r"|standard +position|S\d +\d|Range 0|Statistics that judge|Portion \w, |Curve$|Curve of run|Bracket: "
    r"|The laboratory's own solutions|This sample|No result|Limit: |Limits: |Rule: |Verdict|Quantification limit"
    r"|Detection limit|Mean of \d|Uncertainty |Reported: |No limit|BS\d+, |s of one reading|s = .*\+ \(0\.0"
    r"|Pair \d, |Correction by one standard|Of every mean reading|This lies below|The limit itself",
    4: r"Mandel:|lack of fit|scatter of the|runs of signs|readings? |A = \(|relative standard|c = |standard uncertainty"
    r"|number of levels|error read back|r² |rises over|(check standard|check blank) +found|replicates +found"
    r"|second source|method blank +|control sample +|reference material +|portions agree|no value|source: agreed"
    r"|source: ILAC|agreement: |Tube |Line through|mean added =|mean A =|Sxx =|a1 =|a0 =|s = √\(\(\(0|correlation coef"
    r"|slope of the add|u\(c\) =|dilution |content =|quantification limit|source of the (lowest|detection)"
    r"|additions line"
    r"|standard lot|volume |weighing |recovery |stated by|u =|effective|k =|U =|\S+ rounded once|U rounded|to the place"
    r"|mean reading =|c\d, the standard|A\d =|u\d =|uA =|from the|between two|check (standard|blank) C., position"
    r"|[BSFfr]\d? =|drift =|s (standards|blanks) =|source of the correction for drift|corrected for drift|Ac =|u\(Ac\)"
    r"|reading noise|calibration curve|drift correction|As =|Ab =|An =|factor of the correction|checks after"
    r"|one-standard correction|source of the rules of bracketing",
    6: r"source: (ISO|Wald|USP)|\w+.* was not read in this run|judged near|limit 1 ±|limit 0\.8|at most 5 %"
    r"|its standard uncertainty;|by Welch|the coverage factor|the samples' readings|\d solutions,|what the readings"
    r"|Positions in the table|source of the correction: |source of the rules of additions",
}  # fmt: skip
_OF_LIMITS = "source of the limits of the curve"  # of the whole curve, so 2 in; those of a check stand below its table

PAGES: dict[str, Callable[[], Around]] = {
    "a method blank and every check": lambda: formulas.usual(
        replace(formulas.CONTENT, rule="guarded", lower="0.1", limit_source="agreed"),
        pb_method(blank_subtraction="undiluted", checks=ALL_RULES),
    ),
    "a value": lambda: formulas.usual(replace(formulas.CONTENT, upper="")),
    "additions": lambda: additions.two(
        by_additions(additions_smallest_r="0.995", additions_largest_slope_percent="30")
    ),
    "between two standards": lambda: bracketing.two(between(bracketing_change_percent="5")),
    "drift": lambda: drift.three_pairs(drifting()),
    "a stored curve": lambda: stored.around(stored_run()[1]),
}


@pytest.mark.parametrize("page", PAGES)
def test_every_line_stands_where_it_belongs(page: str) -> None:
    at, known, section = 0, 0, ""
    for line in explain(PAGES[page]()):
        words = line.lstrip()
        indent = len(line) - len(words)
        due = {place for place, begins in PLACES.items() if re.match(begins, words)}
        if words.startswith(_OF_LIMITS):
            due = {2}
        if words == "source: test":
            due = {4 if section.startswith(("Uncertainty", "Limit:", "No limit", "s of one", "Correction")) else 6}
        if not words or words.startswith("= "):  # members of a formula stand below the sign of equality
            continue
        if indent in due:
            at, known, section = indent, known + 1, words if indent <= 2 else section
            continue
        assert indent >= at + 4, f"{line!r} stands {indent} in, below {section!r}; known: {sorted(due)}"
    assert known > 40


def test_readings_of_one_line_of_the_file_name_one_line() -> None:
    """A file with all replicates of a solution in one row."""
    of = bracketing.two(between())
    columns, readings = of.run.document.solutions, of.run.document.readings
    lines = tuple(100 + place for place, count in enumerate(columns.reading_count, start=1) for _ in range(count))
    document = replace(of.run.document, readings=replace(readings, line=lines))
    run = replace(of.run, document=document)
    blank = portion_of("MB", "", kind="method_blank", mass_g="")
    bench = bench_of([*(portion_of(label) for label in "VW"), blank], [bracketing.TWO])
    work = work_run(run, bench)
    assert isinstance(work, RunWork)
    text = " ".join(" ".join(explain(replace(of, run=run, work=work))).split())
    assert "position 13, line 113 of invented.txt: readings" in text
    assert "position 14, line 114 of invented.txt, between two standards" in text
    assert "lines" not in text


def test_a_validated_uncertainty_names_what_it_is_of() -> None:
    plan = formulas.budget(s0="0.02", s1_percent="3")
    above, below = (
        " ".join(" ".join(explain(formulas.usual(formulas.CONTENT, plan, holds))).split()) for holds in (5.0, 0.2)
    )
    assert "√((s0 carried to the sample)² + (s1 x its value)²)" in above
    assert "√((s0 carried to the sample)² + (s1 x its quantification limit)²)" in below


def text_of(of: Around) -> str:
    return " ".join(" ".join(explain(of)).split())


def with_checks(**changes: str) -> str:
    """A page whose every check has other numbers."""
    of = formulas.usual(formulas.CONTENT)
    checks = tuple(replace(one, **changes) for one in of.work.checks)  # type: ignore[arg-type]
    return text_of(replace(of, work=replace(of.work, checks=checks)))


def test_what_a_check_found_has_the_digits_its_unit_needs() -> None:
    """A ratio near 1 six; a percentage four, or as many as show the side of its limit."""
    assert "found 0.999825 limit" in with_checks(found="0.99982527", unit="", low="0.99", high="")
    assert "found 0.98999999 limit at least 0.99 " in with_checks(found="0.98999999", unit="", low="0.99", high="")
    assert "found 101.2 % limit 90 to 110 %" in with_checks(found="101.23456", unit="%", low="90", high="110")
    assert "found 110.00004 % limit at most 110 %" in with_checks(found="110.00004", unit="%", low="", high="110")


def test_a_limit_that_was_computed_is_shortened_and_one_that_was_entered_is_not() -> None:
    """Ten signs are the longest that anybody enters."""
    assert "limit 0.12345678 to 12.35 %" in with_checks(found="1", unit="%", low="0.12345678", high="12.345678901")


def test_a_record_of_drift_under_a_method_without_it_is_passed_over() -> None:
    of = drift.three_pairs(drifting())
    method = replace(of.method, drift=replace(of.method.drift, largest_percent=""))
    text = text_of(replace(of, run=replace(of.run, method=method)))
    assert "corrected for drift between" not in text
    assert "Check pairs" not in text


def test_a_series_whose_line_has_no_slope_on_record_shows_its_tubes_alone() -> None:
    of = PAGES["additions"]()

    def changed(**fields: str) -> str:
        results = tuple(
            replace(
                one,
                portions=tuple(replace(row, series=(replace(row.series[0], **fields),)) for row in one.portions),  # type: ignore[arg-type]
            )
            for one in of.results
        )
        return text_of(replace(of, work=replace(of.work, results=results)))

    assert "Tube Va" in changed(slope="")
    assert "Line through" not in changed(slope="")
    assert "Line through" in changed(slope_ratio="", r="")
    assert "slope of the additions over" not in changed(slope_ratio="")
    assert "limit 1 ±" not in changed(slope_ratio="")
    assert "correlation coefficient" not in changed(r="")
    assert "correlation coefficient" in changed(slope_ratio="")


def test_what_is_printed_is_rounded_and_told() -> None:
    of = formulas.usual(formulas.CONTENT)
    outcome = of.results[0].outcome
    assert isinstance(outcome, Quantified)
    text = text_of(of)
    assert f"Reported: {outcome.value_text} ± {outcome.expanded_text} µg/g, with k 2" in text
    assert f"U rounded to the same place, always up (common practice, no source): {outcome.expanded_text}" in text
    assert f"U = k u = 2 x {outcome.u} µg/g = {outcome.expanded_text} µg/g, rounded up" in text


def test_a_method_without_a_detection_level_says_nothing_of_one() -> None:
    with_one = text_of(formulas.usual(formulas.CONTENT))
    assert "Detection limit of that portion" in with_one
    assert "source of the detection level" in with_one
    without = text_of(formulas.usual(formulas.CONTENT, pb_method(detection_level="", detection_level_source="")))
    assert "etection" not in without
    assert "Quantification limit of the result, the greatest of its portions: 1.00000000000 µg/g" in without


@pytest.mark.parametrize(
    ("rule", "sides", "words"),
    [
        ("guarded", {"lower": "0.1"}, ("lower = limit + k u = 0.1 + 2 x", "upper = limit - k u = 5.5 - 2 x")),
        ("guarded_5", {"lower": "0.1"}, ("lower = limit + 1.645 u = 0.1 + 1.645 x", "upper = limit - 1.645 u")),
        ("beyond_doubt", {"lower": "0.1"}, ("lower = limit - k u = 0.1 - 2 x", "upper = limit + k u = 5.5 + 2 x")),
    ],
)
def test_a_guard_moves_each_limit_inwards_and_doubt_outwards(
    rule: str, sides: dict[str, str], words: tuple[str, str]
) -> None:
    asked = replace(formulas.CONTENT, rule=rule, **sides)  # type: ignore[arg-type]
    text = text_of(formulas.usual(asked))
    for one in words:
        assert f"acceptance limit, {one}" in text


# What a reader of each page is told beside the numbers, in the order in which it stands there.
TOLD: dict[str, tuple[str, ...]] = {
    "a method blank and every check": (
        "Calibration A = b0 + b1 c = 0.001",
        "A: mean reading, A s. c: concentration of the solution read, µg/L. b0 ",
        " standard error ",
        "where a point is one reading; all points weigh the same; 19 degrees of freedom.",
        "standard position c, µg/L mean reading A A of the curve read back error S0 1 0 0.0015",
        "Statistics that judge nothing by themselves: Mandel: does a quadratic fit better: ",
        "critical value 8.285 with 1 and 18 degrees of freedom, not exceeded: a quadratic does not fit",
        "scatter of the highest against the lowest standard: 1601, critical value 99 with 2 and 2 degrees of freedom",
        "Checks around these readings Curve number of levels found 7 limit at least 5 pass error read back, lowest",
        "rises over the whole range pass source: test Bracket: at most 10 solutions between two, one closes the run",
        "pass position 8, before 11 to 12 check standard found 100 % limit 90 to 110 % pass position 13, after",
        "The laboratory's own solutions replicates found 1 % limit 0 to 10 % pass positions 2 to 8, 13",
        "method blank found 0.0941 µg/L limit -0.5 to 0.5 µg/L pass position 10",
        "This sample portions agree found 0 % limit 0 to 100 % pass positions 11 to 12 judged near the",
        "No result (run.check): 0 of 2 portions give a value (A, B: Second-source standard was not read in this run)",
        "Limit: at least 0.1, at most 5.5 µg/g source: agreed Rule: the value must keep U away",
        "Verdict: no statement",
    ),
    "additions": (
        "Portion V, batch T-1, positions 11 to 14, by standard additions Tube V, position 11, lines 40 to 42 of",
        ": 0 µg/L added readings 0.0095800, 0.0096500, 0.0096900 A s A = (0.0095800 + 0.0096500 + 0.0096900) / 3 =",
        "Line through 12 points: each reading is a point, all of one weight; intercept a0, slope a1; 10 degrees of",
        "mean added = (0 + 0 + 0 + 2.5 ",
        "mean A = (0.0095800 + 0.0096500 ",
        "Sxx = (0 - 3.75000000000)² + ",
        "a1 = ((0 - 3.75000000000) x (0.0095800 - ",
        "a0 = mean A - a1 mean added = ",
        "s = √(((0.0095800 - ",
        "correlation coefficient r 0.999958734306; limit at least 0.995 slope of the additions over that of the curve",
        "= a1 / b1 = ",
        "c = a0 / a1 = ",
        "u(c) = s / a1 x √(1/n + (mean A / a1)² / Sxx) = ",
        "Uncertainty of the value: standard uncertainties in µg/g, and their shares of the variance additions line ",
        "additions line = √((",
        "u = √(",
        "by Welch and Satterthwaite (JCGM 100, G.4): each line of additions has its own; what is stated is taken",
    ),
    "between two standards": (
        "Standards read around the samples",
        "s of one reading",
        "c1, the standard below: BS8, 8 µg/L, positions 11, 16 A1 = (0.0249400000000 + 0.0242368000000) / 2 =",
        "c2, the standard above: BS10, 10 µg/L, positions 12, 17 A2 = (",
        "c = c1 + (c2 - c1) (A - A1) / (A2 - A1) = 8 + (10 - 8) x ",
        "u1 = ", "u2 = ", "uA = ", "from the sample = (c2 - c1) / (A2 - A1) x uA =",
        "from the standards = (c2 - c1) / (A2 - A1) x √(((A2 - A) / (A2 - A1) x u1)² + ((A - A1) / (A2 - A1) x u2)²) =",
        "u(c) = √(",
        "between two standards = √((",
        "the samples' readings in squares; what standards put in is common to the portions that share readings of them",
        "what was read between two standards has those of the standards' readings; what is stated is taken as known",
    ),
    "drift": (
        "Check pairs, by which",
        "Pair 1, positions 8 to 9, the first one check standard CS, position 8, lines 31 to 33 of invented.txt: read",
        "check blank CB, position 9, ", "B1 = (", "S1 = (", "Pair 2, positions 12 to 14 check standard CS, pos",
        "drift = 100 x (0.0284210000000 - 0.0293000000000) / 0.0293000000000 = -3.00000000000 %",
        "s standards = √(((", "4 solutions, 9 degrees of freedom s blanks = √(((", "3 solutions, 6 degrees of freedom",
        "corrected for drift between pair 1 (positions 8 to 9) and pair 2 (positions 12 to 14); f: share of the way",
        "B = B1 + (B2 - B1) f = ", "S = S1 + (S2 - S1) f = ", "F = S1 / S = ", "Ac = B1 + (A - B) F = ",
        "r = (A - B) / S = ", "u(Ac) = √((", "c = (Ac - b0) / b1 = ",
        "standard uncertainty of c, from readings, curve and the checks it is corrected by,",
        "drift correction, check standards ", "drift correction, check blanks ",
        "readings and curve are one group with the 19 degrees of freedom of the curve; what corrects for drift has",
    ),
    "a stored curve": (
        "Curve of run R-00003, version 1, measured 2026-03-02 08:00:00 UTC",
        "Positions in the table", "Correction by one standard: S5, 15 µg/L, position 2; its blank S0, position 1",
        "As = (", "Ab = (", "An = ", "F = An / ", "limit 0.8 to 1.2; its standard uncertainty 0.",
        "standard position in R-00003 c, µg/L", "c = ((A - Ab) F - b0) / b1 = ", "factor of the correction found",
        "checks after the correction ", "one-standard correction ",
    ),
}  # fmt: skip


@pytest.mark.parametrize("page", TOLD)
def test_what_a_reader_is_told_stands_there_in_order(page: str) -> None:
    text, at = text_of(PAGES[page]()), 0
    for words in TOLD[page]:
        found = text.find(words, at)
        assert found >= 0, f"{words!r} does not stand after {text[max(0, at - 60) : at]!r}"
        at = found + len(words)


def test_a_line_of_additions_through_means_says_so() -> None:
    of = additions.two(by_additions(fit_on="means"))
    assert "Line through 4 points: the mean of each tube is a point, all of one weight" in text_of(of)
    assert "where a point is the mean of one solution" in text_of(of)


def test_a_method_that_states_no_deviations_lists_none() -> None:
    plan = formulas.budget(mass_g="0", volume_percent="0", dilution_step_percent="", recovery_percent="0")
    lines = explain(formulas.usual(formulas.CONTENT, plan))
    start = next(place for place, line in enumerate(lines) if line.startswith("  Uncertainty of the value"))
    end = next(place for place, line in enumerate(lines) if place > start and line.startswith("    source"))
    shares = [line for line in lines[start + 1 : end] if not line.endswith("#") and " %" not in line]
    assert shares == []


def test_rules_of_the_curve_are_read_as_words() -> None:
    of = formulas.usual(formulas.CONTENT)
    checks = tuple(
        replace(one, rule="calibration.through_zero") for one in of.work.checks if one.check == "calibration"
    )
    assert "    through zero  " in "\n".join(explain(replace(of, work=replace(of.work, checks=checks))))
