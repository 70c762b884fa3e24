"""An amendment verifies with every change marked; a mark that is wrong, missing or made up is named.

The figures are invented.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from tests.verify.making import Made, Plan, make
from tests.verify.test_contents import failed, report_on

from benchseal.certificate.changes import changed_texts, page_of_texts
from benchseal.records.evidence import ChangedText
from benchseal.records.results import Quantified

if TYPE_CHECKING:
    from collections.abc import Callable

    from benchseal.records.evidence import CertificateFacts, Evidence

FIRST = "C-2026-00003"
FILE = "ab" * 32
OTHER_ADDRESS = "9 Weir Row\n26121 Oldburg"


def earlier(content: Evidence) -> Evidence:
    """What the first certificate said: another address, and a comment."""
    facts = content.certificate
    customer = replace(facts.customer, address=OTHER_ADDRESS)
    return replace(content, certificate=replace(facts, customer=customer, comments=("weighed twice",)))


def amended(content: Evidence) -> Evidence:
    """The content as an amendment of ``earlier``."""
    before = earlier(content)
    facts = replace(content.certificate, kind="amendment", first=FIRST, replaces=FIRST, reason="moved")
    now = replace(content, certificate=facts)
    return replace(now, replaced_sha256=FILE, changed=changed_texts(before, now))


def of(lie: Callable[[Evidence], Evidence]) -> Made:
    return make(Plan(content=lambda content: lie(amended(content))))


def test_an_amendment_is_genuine_and_says_what_it_marks() -> None:
    made = of(lambda content: content)
    report = report_on(made)
    assert (report.word, report.exit_code) == ("GENUINE", 0), report.lines()
    assert [(one.place, one.before, one.after) for one in made.evidence.changed] == [
        ("Address", "9 Weir Row, 26121 Oldburg", "18 Mill Lane, 26121 Oldburg"),
        ("Comments and notes", "Comment: weighed twice", ""),
    ]
    assert any(f"2 texts differ from {FIRST}" in line for line in report.lines())
    assert [(one.before, one.after) for one in made.view().changes][1] == ("Comment: weighed twice", "–")  # noqa: RUF001


def without(changed: tuple[ChangedText, ...]) -> Callable[[Evidence], Evidence]:
    return lambda content: replace(content, changed=changed)


def facts(**changes: object) -> Callable[[Evidence], Evidence]:
    return lambda content: replace(content, certificate=replace(content.certificate, **changes))  # type: ignore[arg-type]


@pytest.mark.refuses("17025 7.8.8")
@pytest.mark.parametrize(
    ("lie", "says"),
    [
        pytest.param(without(()), "0 changes are marked", id="nothing is marked"),
        pytest.param(lambda content: replace(content, replaced_sha256=""), "no replaced file", id="no file is named"),
        pytest.param(without((ChangedText("Lot", "T-1", "T-2"),)), "the page says", id="a text that does not stand"),
        pytest.param(without((ChangedText("Colour", "red", "blue"),)), "the page says ''", id="a place that is none"),
        pytest.param(
            lambda content: replace(content, changed=content.changed * 2), "marked twice", id="a mark stands twice"
        ),
        pytest.param(
            lambda content: replace(
                content, changed=(*content.changed, ChangedText("Lot", page_of_texts(content)["Lot"], "T-A1"))
            ),
            "",
            id="what is the same is marked",
        ),
        pytest.param(
            facts(kind="original", replaces=""), "changes are marked; it is an original", id="called original"
        ),
        pytest.param(facts(kind="supplement"), "changes are marked; it is", id="called a supplement"),
    ],
)
def test_wrong_marks_are_named(lie: Callable[[Evidence], Evidence], says: str) -> None:
    report = report_on(of(lie))
    assert report.word == "ALTERED"
    assert says in failed(report)["marked changes"]


def test_a_change_of_a_result_is_marked_under_its_row() -> None:
    content = make().evidence
    first = content.results[0]
    assert isinstance(first.result.outcome, Quantified)
    was = replace(first.result.outcome, value_text="0.999")
    before = replace(content, results=(replace(first, result=replace(first.result, outcome=was)), *content.results[1:]))
    (change, *rest) = changed_texts(before, content)
    assert change.before.startswith("0.999 ±")
    assert change.place.startswith("Lead")
    assert not rest
    made = of(lambda now: replace(now, changed=(*now.changed, change)))
    marked = [row.detail for row in made.view().results]
    assert marked[0].endswith(f"Changed against {FIRST}.")
    assert not marked[1].endswith(f"Changed against {FIRST}.")


def test_what_is_equal_has_no_change() -> None:
    content = make().evidence
    assert changed_texts(content, content) == ()


def _numbered(told: CertificateFacts, number: str) -> CertificateFacts:
    return replace(told, number=number, first=number)


def test_numbers_dates_and_signatures_are_no_changes() -> None:
    content = make().evidence
    other = replace(content, certificate=_numbered(content.certificate, "C-2025-00001"), signatures=())
    assert changed_texts(content, other) == ()
