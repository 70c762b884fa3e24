"""A certificate with sums: it verifies, the page says the bound, and a lie about a sum is named.

The figures are invented. Lead is 0.249 with u, cadmium lies below its limit.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import pytest
from tests.verify import making
from tests.verify.making import Made, Plan, make
from tests.verify.test_contents import failed, report_on

from benchseal.certificate.conclude import conclusion_for, line_id, lines_of
from benchseal.certificate.present import with_printed
from benchseal.records.results import BelowLimit, Quantified
from benchseal.records.shape import record_bytes
from benchseal.records.specification import SumRequirement

if TYPE_CHECKING:
    from collections.abc import Callable

    from benchseal.records.evidence import Evidence
    from benchseal.records.specification import BoundRule
    from benchseal.records.sums import WorkedSum


def asked(bound: BoundRule = "upper_bound", **changes: Any) -> SumRequirement:  # noqa: ANN401  fields by name
    usual = SumRequirement(
        id="pb-cd",
        elements=("Pb", "Cd"),
        quantity="content",
        unit="ug/g",
        bound=bound,
        upper="0.50",
        rule="simple",
        rounding="half_up",
        decimals=-1,
        exceedance_means="report",
        limit_source="invented",
    )
    return replace(usual, **changes)


def asking(monkeypatch: pytest.MonkeyPatch, *sums: SumRequirement) -> None:
    monkeypatch.setattr(making, "_sums", lambda: sums)


def test_a_sum_is_genuine_and_counts(monkeypatch: pytest.MonkeyPatch) -> None:
    asking(monkeypatch, asked())
    made = make()
    report = report_on(made)
    assert (report.word, report.exit_code) == ("GENUINE", 0), report.lines()
    (worked,) = made.evidence.sums
    lead, cadmium = (basis.result.outcome for basis in made.evidence.results)
    assert isinstance(lead, Quantified)
    assert isinstance(cadmium, BelowLimit)
    assert [part.is_below for part in worked.parts] == [False, True]
    assert [part.counted for part in worked.parts] == [lead.value.rstrip("0"), cadmium.limit.rstrip("0").rstrip(".")]
    assert len(made.evidence.printed) == 3
    assert made.evidence.printed[-1].result_id == worked.sum_id
    assert made.view().conformity.conclusion == "All three results comply with the specification."
    (look,) = (check for check in report.checks if check.name == "recalculation")
    assert look.said == "2 results and 1 sum come out again from the readings."


def test_the_row_of_a_sum(monkeypatch: pytest.MonkeyPatch) -> None:
    asking(monkeypatch, asked())
    row = make().view().results[-1]
    assert (row.substance, row.quantity) == ("Sum of Pb and Cd", "total, as received")
    assert row.phrase == "0.299 ± 0.032 µg/g (k = 2)"
    assert (row.limit, row.rule, row.verdict) == ("not more than 0.50", "simple", "complies")
    assert row.method == "sum of rows above"
    said = "Upper bound: values below the quantification limit counted as that limit in full; here Cd"
    assert row.detail == said


@pytest.mark.parametrize(
    ("bound", "phrase", "detail"),
    [
        pytest.param("lower_bound", "0.249 ± 0.031 µg/g (k = 2)", "counted as zero; here Cd", id="zero"),
        pytest.param("medium_bound", "0.274 ± 0.042 µg/g (k = 2)", "counted as half of it; here Cd", id="half"),
    ],
)
def test_the_other_bounds(monkeypatch: pytest.MonkeyPatch, bound: BoundRule, phrase: str, detail: str) -> None:
    """By hand: u of lead 0.01519, of a rectangle from 0 to 0.05 0.05/sqrt(12) = 0.01443; U 2 x 0.02096 = 0.0419, up."""
    asking(monkeypatch, asked(bound))
    made = make()
    row = made.view().results[-1]
    assert row.phrase == phrase
    assert row.detail.endswith(detail)
    assert report_on(made).word == "GENUINE"


def test_a_sum_that_fails_is_in_the_conclusion(monkeypatch: pytest.MonkeyPatch) -> None:
    asking(monkeypatch, asked(upper="0.20"))
    made = make()
    assert made.evidence.certificate.conclusion == "does not comply with the specification"
    said = made.view().conformity.conclusion
    assert said.startswith(
        "The sum of lead and cadmium does not comply with the specification; lead and cadmium comply"
    )
    assert report_on(made).word == "GENUINE"


def test_a_sum_for_information_does_not_count(monkeypatch: pytest.MonkeyPatch) -> None:
    asking(monkeypatch, asked(upper=""))
    made = make()
    assert made.view().results[-1].verdict == "not judged"
    both, none = made.view().conformity.conclusion.split("; ")
    assert both == "Both results with a limit comply with the specification"
    assert none == "no limit is specified for the sum of lead and cadmium."
    assert report_on(made).word == "GENUINE"


def test_two_sums_of_the_same_elements_are_told_apart(monkeypatch: pytest.MonkeyPatch) -> None:
    asking(monkeypatch, asked(upper="0.20"), asked("lower_bound", id="pb-cd-lower", upper="0.20"))
    said = make().view().conformity.conclusion
    assert "the sum of lead and cadmium (upper bound) and the sum of lead and cadmium (lower bound)" in said.lower()


def test_evidence_without_sums_has_the_bytes_it_always_had() -> None:
    """Old evidence has no word of sums: it reads, and reads back to its own bytes."""
    made = make()
    assert b'"sums"' not in made.evidence_bytes
    assert report_on(made).word == "GENUINE"


def _told(change: Callable[[WorkedSum], WorkedSum]) -> Plan:
    """A lie about every sum, told before anybody signs; the page and the conclusion follow it."""

    def told(evidence: Evidence) -> Evidence:
        lying = replace(evidence, sums=tuple(map(change, evidence.sums)))
        facts = replace(evidence.certificate, conclusion=conclusion_for(lines_of(lying)))
        return with_printed(replace(lying, certificate=facts))

    return Plan(content=told)


def _outcome(one: WorkedSum, **changes: str) -> WorkedSum:
    return replace(one, outcome=replace(one.outcome, **changes))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("change", "said"),
    [
        pytest.param(
            lambda one: _outcome(one, value="0.2", value_text="0.200"), "sum pb-cd: stated is 0.200", id="smaller"
        ),
        pytest.param(lambda one: _outcome(one, u="0.001", expanded_text="0.002"), "sum pb-cd", id="a smaller U"),
        pytest.param(lambda one: replace(one, verdict="fail"), "otherwise (verdict)", id="another verdict"),
        pytest.param(lambda one: replace(one, bound="lower_bound"), "otherwise (bound)", id="another bound"),
        pytest.param(lambda one: replace(one, upper="5.0"), "otherwise (upper)", id="another limit"),
        pytest.param(lambda one: replace(one, sum_id="0" * 32), "otherwise (sum id)", id="another identifier"),
        pytest.param(
            lambda one: replace(one, parts=(one.parts[0], replace(one.parts[1], counted="0"))),
            "otherwise (parts)",
            id="a part counted as zero",
        ),
        pytest.param(lambda one: replace(one, parts=one.parts[:1]), "otherwise (parts)", id="a part left out"),
        pytest.param(lambda one: replace(one, probability="1"), "otherwise (probability)", id="a probability of one"),
        pytest.param(lambda one: replace(one, name="other"), "asks for no such sum", id="a sum nobody asked for"),
    ],
)
def test_an_altered_sum_is_found(
    monkeypatch: pytest.MonkeyPatch, change: Callable[[WorkedSum], WorkedSum], said: str
) -> None:
    asking(monkeypatch, asked())
    report = report_on(make(_told(change)))
    assert report.word == "ALTERED"
    assert said in failed(report)["recalculation"]


def test_a_sum_left_out_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    asking(monkeypatch, asked())

    def without(evidence: Evidence) -> Evidence:
        return with_printed(replace(evidence, sums=()))

    found = failed(report_on(make(Plan(content=without))))
    assert "without a sum: pb-cd" in found["results asked for"]


def test_a_sum_altered_after_signing_breaks_the_signatures(monkeypatch: pytest.MonkeyPatch) -> None:
    asking(monkeypatch, asked())

    def later(evidence: Evidence) -> Evidence:
        return replace(evidence, sums=(_outcome(evidence.sums[0], value="0.2"),))

    found = failed(report_on(make(Plan(evidence=later))))
    assert {"signatures", "recalculation"} <= found.keys()


def test_another_row_on_the_page_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    asking(monkeypatch, asked())
    made = make()
    pages = tuple(page.replace("0.299 ± 0.032", "0.199 ± 0.032") for page in made.pages())
    found = failed(report_on(made, pages))
    assert "sum pb-cd: the row" in found["printed rows"]


def test_another_word_beneath_the_row_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    asking(monkeypatch, asked())
    made = make()
    pages = tuple(page.replace("counted as that limit in full", "counted as zero") for page in made.pages())
    assert "under Sum of Pb and Cd" in failed(report_on(made, pages))["printed words"]


def test_a_page_of_another_form_is_compared_by_its_values(monkeypatch: pytest.MonkeyPatch) -> None:
    asking(monkeypatch, asked())

    def older(evidence: Evidence) -> Evidence:
        return replace(evidence, wording=1)

    made: Made = make(Plan(content=older))
    assert "printed rows" not in failed(report_on(made))

    def lying(evidence: Evidence) -> Evidence:
        rows = tuple(
            replace(one, tokens=tuple(token.replace("0.299", "0.199") for token in one.tokens))
            for one in evidence.printed
        )
        return replace(evidence, wording=1, printed=rows)

    assert "sum pb-cd: the printed row" in failed(report_on(make(Plan(content=lying))))["printed rows"]


def test_lines_and_their_identifiers(monkeypatch: pytest.MonkeyPatch) -> None:
    asking(monkeypatch, asked())
    evidence = make().evidence
    assert [line_id(line) for line in lines_of(evidence)] == [row.result_id for row in evidence.printed]
    assert record_bytes(evidence).count(evidence.sums[0].sum_id.encode()) == 2
