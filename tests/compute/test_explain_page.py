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
from tests.compute.making import ALL_RULES, pb_method, portion_of
from tests.compute.test_run_additions import by_additions
from tests.compute.test_run_stored import usual as stored_run

from benchseal.compute.explain import explain

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
    bench = formulas.bench_of([*(portion_of(label) for label in "VW"), blank], [bracketing.TWO])
    work = formulas.work_run(run, bench)
    assert isinstance(work, formulas.RunWork)
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
    assert isinstance(outcome, formulas.Quantified)
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
