"""Every row of the table of what a certificate must state: emptied, it is refused by name, with where the text belongs.

The rows stand in ``field_table.csv`` with their clauses; a row without a case fails, and a case without a row.
"""

from __future__ import annotations

import csv
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import pytest
from tests.verify.making import Made, make
from tests.verify.test_opinions import opinion

from benchseal.certificate.issue import draft_problems, page_problems, render_certificate
from benchseal.certificate.view import Relation
from benchseal.desk.acts_certificates import DraftCertificate
from benchseal.desk.perform import perform
from benchseal.problems import Stopped
from benchseal.records.evidence import ChangedText

if TYPE_CHECKING:
    from collections.abc import Callable

    from tests.conftest import Stage

    from benchseal.certificate.view import CertificateView
    from benchseal.problems import Problem
    from benchseal.records.evidence import Evidence

TABLE = Path(__file__).with_name("field_table.csv")
REGISTER = "the sample register, column "
PROGRAM = "the program makes this text itself"
EMPTY, DUE, CAUTION = "certificate.field-empty", "certificate.field-due", "certificate.caution-missing"


@cache
def made() -> Made:
    return make()


class Case(NamedTuple):
    """row: of the table. found: what is refused. where: the field named. put: words of where its text belongs."""

    row: int
    found: Callable[[], tuple[Problem, ...]]
    where: str
    put: str
    code: str = EMPTY

    def __str__(self) -> str:
        return f"{self.row}-{self.where}"


def in_record(**changes: str) -> Callable[[], tuple[Problem, ...]]:
    """The sample's line in the register says otherwise; a draft is made of it."""
    return lambda: draft_problems(sample_row(**changes))


def in_facts(part: str, **changes: str) -> Callable[[], tuple[Problem, ...]]:
    facts = made().evidence.certificate
    changed = replace(getattr(facts, part), **changes)
    told = replace(made().evidence, certificate=replace(facts, **{part: changed}))
    return lambda: draft_problems(told)


def in_result(**changes: Any) -> Callable[[], tuple[Problem, ...]]:  # noqa: ANN401
    """The first line of the page says otherwise."""
    return on_page(lambda view: replace(view, results=(replace(view.results[0], **changes), *view.results[1:])))


def in_part(part: str, **changes: Any) -> Callable[[], tuple[Problem, ...]]:  # noqa: ANN401
    return on_page(lambda view: replace(view, **{part: replace(getattr(view, part), **changes)}))


def on_page(
    change: Callable[[CertificateView], CertificateView], told: Callable[[], Evidence] | None = None
) -> Callable[[], tuple[Problem, ...]]:
    """A page with everything a release gives, changed. told: the record it is of, else as made."""

    def found() -> tuple[Problem, ...]:
        evidence = told() if told else made().evidence
        return page_problems(change(replace(made(), evidence=evidence).view()), evidence)

    return found


def of(told: Callable[[], Evidence] | None, **changes: Any) -> Callable[[], tuple[Problem, ...]]:  # noqa: ANN401
    """The page of a record with other texts."""
    return on_page(lambda view: replace(view, **changes), told)


def sample_row(**changes: str) -> Evidence:
    facts = made().evidence.certificate
    sample = replace(facts.sample, row=replace(facts.sample.row, **changes))
    return replace(made().evidence, certificate=replace(facts, sample=sample))


def certified(**changes: Any) -> Callable[[], Evidence]:  # noqa: ANN401
    facts = made().evidence.certificate
    return lambda: replace(made().evidence, certificate=replace(facts, **changes))


def stated(column: str, field: str, text: str) -> Callable[[], tuple[Problem, ...]]:
    """The customer stated something, and the page leaves it out."""
    more = {"manufacturer": "Fell Works, 2 Ford Road"} if column == "first_certificate" else {}
    record = sample_row(**{column: text}, **more)
    return on_page(lambda view: replace(view, item=replace(view.item, **{field: ""})), lambda: record)


def uncorrected() -> Evidence:
    first, *others = made().evidence.runs
    return replace(
        made().evidence, runs=(replace(first, method=replace(first.method, background_correction="none")), *others)
    )


def with_opinion() -> Evidence:
    return replace(made().evidence, opinions=(opinion(made().evidence),))


def signed(**changes: str) -> Callable[[], tuple[Problem, ...]]:
    return on_page(
        lambda view: replace(view, signatures=(replace(view.signatures[0], **changes), *view.signatures[1:]))
    )


def without(sentence: int) -> Callable[[], tuple[Problem, ...]]:
    """A page without one of its cautions, in their order: items tested, not in part."""
    return on_page(
        lambda view: replace(
            view, limits_and_cautions=(*view.limits_and_cautions[:sentence], *view.limits_and_cautions[sentence + 1 :])
        )
    )


FOUNDED = "facts of the laboratory"
RUN = "the run: its file"
SPECIFICATION = "a new version of the specification"
SIGNED = "the acts that are signed"
LEDGER = ("ledger_id", "ledger_size", "ledger_root_start")
ACTS = "the reason of `certificate amend`"


def cases() -> list[Case]:
    laboratory = made().evidence.certificate.laboratory.name
    return [
        Case(1, of(None, title=""), "title", PROGRAM),
        Case(2, in_facts("laboratory", name=""), "laboratory.name", FOUNDED),
        Case(2, in_facts("laboratory", address=""), "laboratory.address", FOUNDED),
        Case(3, in_part("laboratory", where_done=""), "laboratory.where_done", FOUNDED),
        Case(4, of(None, number=""), "number", PROGRAM),
        Case(5, in_facts("customer", name=""), "customer.name", "the customers' sheet, column name"),
        Case(5, in_facts("customer", address=" "), "customer.address", "the customers' sheet, column address"),
        Case(6, in_result(method=""), "results 1, method", RUN),
        Case(7, in_record(description=""), "item.description", REGISTER + "description"),
        Case(7, in_record(customer_sample_id=""), "item.customer_sample_id", REGISTER + "customer_sample_id"),
        Case(7, in_part("item", condition=""), "item.condition", REGISTER + "condition", DUE),
        Case(8, in_record(product=""), "item.product", REGISTER + "product"),
        Case(8, in_record(lot=""), "item.lot", REGISTER + "lot"),
        Case(8, stated("grade", "grade", "fine"), "item.grade", REGISTER + "grade", DUE),
        Case(9, in_facts("sample", sample=""), "item.sample_number", "the sample register, which allots it"),
        Case(10, in_record(received_on=""), "item.received_on", REGISTER + "received_on"),
        Case(10, in_record(quantity_received=""), "item.quantity_received", REGISTER + "quantity_received"),
        Case(10, in_part("item", sampled_on=""), "item.sampled_on", REGISTER + "sampled_on", DUE),
        Case(
            10,
            in_record(sampled_by=laboratory, sampled_on="", sampling_plan="SP-3"),
            "item.sampled_on",
            REGISTER + "sampled_on",
            DUE,
        ),
        Case(11, in_part("item", measured_on=""), "item.measured_on", RUN),
        Case(12, of(None, issued_on=""), "issued_on", PROGRAM),
        Case(13, in_record(sampled_by=laboratory), "item.sampling", REGISTER + "sampling_plan", DUE),
        Case(13, in_part("item", sampling=""), "item.sampling", REGISTER + "sampling_plan"),
        Case(14, without(0), "limits_and_cautions", "Add the standing cautions", CAUTION),
        Case(15, in_result(substance=""), "results 1, substance", RUN),
        Case(15, in_result(value=""), "results 1, value", RUN),
        Case(15, in_result(unit=""), "results 1, unit", RUN),
        Case(15, in_result(limit="\N{EN DASH}"), "results 1, limit", SPECIFICATION, DUE),
        Case(15, on_page(lambda view: replace(view, results=view.results[:1])), "results", RUN, DUE),
        Case(16, in_result(detail=""), "results 1, detail", RUN, DUE),
        Case(17, in_part("conformity", specification=""), "conformity.specification", SPECIFICATION),
        Case(18, of(None, deviations=""), "deviations", PROGRAM),
        Case(19, of(None, signatures=()), "signatures", SIGNED),
        *(
            Case(19, signed(**{field: ""}), f"signatures 1, {field}", SIGNED)
            for field in ("name", "role", "meaning", "at", "digest_start")
        ),
        Case(20, on_page(lambda view: view, from_elsewhere), "external", PROGRAM, DUE),
        Case(21, without(1), "limits_and_cautions", "Add the standing cautions", CAUTION),
        Case(22, in_part("item", stated_by_customer=""), "item.stated_by_customer", PROGRAM),
        Case(23, of(uncorrected, uncorrected=""), "uncorrected", PROGRAM, DUE),
        Case(24, in_result(verdict=""), "results 1, verdict", RUN),
        Case(24, in_result(rule=""), "results 1, rule", RUN),
        Case(24, in_part("conformity", decision_rule=""), "conformity.decision_rule", SPECIFICATION),
        Case(25, of(None, uncertainty=""), "uncertainty", PROGRAM),
        Case(25, in_result(expanded=""), "results 1, expanded", RUN, DUE),
        Case(25, in_result(coverage=""), "results 1", "Give the coverage factor", "certificate.coverage-missing"),
        Case(26, of(with_opinion, opinions=()), "opinions 1", "`benchseal opinion give`", DUE),
        Case(26, of(with_opinion, opinions=("All is well.",)), "opinions 1",
             "`benchseal opinion give`", DUE),
        Case(27, in_part("conformity", conclusion=""), "conformity.conclusion", SPECIFICATION),
        Case(28, of(None, issued_on=" "), "issued_on", PROGRAM),
        Case(28, stated("expires_on", "expiry", "2028-01-31"), "item.expiry", REGISTER + "expires_on", DUE),
        Case(28, stated("retest_on", "retest", "2028-01-31"), "item.retest", REGISTER + "retest_on", DUE),
        Case(29, stated("manufacturer", "manufacturer", "Fell Works, 2 Ford Road, +44 1"), "item.manufacturer",
             REGISTER + "manufacturer", DUE),
        Case(29, stated("first_certificate", "first_certificate", "FW-1 of Fell Works"), "item.first_certificate",
             REGISTER + "first_certificate", DUE),
        Case(29, in_record(first_certificate="FW-1"), "item.manufacturer", REGISTER + "manufacturer", DUE),
        Case(30, of(amending(), relation=None), "relation", ACTS, DUE),
        Case(30, of(amending(), relation=Relation("", "C-2026-00003")), "relation", ACTS),
        Case(30, of(amending(), relation=Relation("It replaces one.", "C-2026-00003")),
             "relation", "Name the earlier certificate", "certificate.relation-unnamed"),
        Case(30, of(changed, changes=()), "changes", PROGRAM, DUE),
        Case(30, of(certified(others=("C-2026-00003",)), in_part=""), "in_part", PROGRAM, DUE),
        *(
            Case(32, in_part("provenance", **{field: ""}), f"provenance.{field}", PROGRAM)
            for field in ("program", "calculation_rules", "evidence_digest", *LEDGER)
        ),
    ]  # fmt: skip


def amending() -> Callable[[], Evidence]:
    return certified(kind="amendment", replaces="C-2026-00003", reason="the mass was misread")


def changed() -> Evidence:
    return replace(amending()(), changed=(ChangedText("Lot", "A-1", "A-2"),))


def from_elsewhere() -> Evidence:
    """A result of a method that no run of the certificate measured by."""
    first, *others = made().evidence.results
    foreign = replace(first.result.method, id="bought-in")
    lines = tuple(
        replace(line, methods=(*line.methods, "bought-in")) for line in made().evidence.specification.requirements
    )
    return replace(
        made().evidence,
        results=(replace(first, result=replace(first.result, method=foreign)), *others),
        specification=replace(made().evidence.specification, requirements=lines),
    )


def rows() -> list[int]:
    with TABLE.open(encoding="utf-8", newline="") as lines:
        return [int(row["row"]) for row in csv.DictReader(lines)]


@pytest.mark.refuses("17025 7.8.2.1", "17025 7.8.2.2", "17025 7.8.3", "17025 7.8.6", "17025 7.8.7", "17025 7.8.8")
@pytest.mark.parametrize("case", cases(), ids=str)
def test_an_empty_field_is_refused_by_name(case: Case) -> None:
    found = [problem for problem in case.found() if problem.where == case.where]
    assert [problem.code for problem in found][:1] == [case.code], case.found()
    assert all(case.put in problem.remedy for problem in found[:1]), found


def test_what_was_made_is_whole() -> None:
    """Else no case would show anything."""
    assert page_problems(made().view(), made().evidence) == ()
    assert draft_problems(made().evidence) == ()


def test_each_row_has_a_case() -> None:
    assert rows() == list(range(1, 33))
    investigated = {31}  # below: it needs a site
    assert {case.row for case in cases()} | investigated == set(rows())


def test_the_manual_has_the_same_rows() -> None:
    page = (Path(__file__).parents[2] / "docs" / "manual" / "certificate-fields.md").read_text(encoding="utf-8")
    with TABLE.open(encoding="utf-8", newline="") as lines:
        for row in csv.DictReader(lines):
            assert f"| {row['row']} | {row['states']} | {row['source']} | {row['due']} |" in page


def test_a_page_is_not_rendered_without_what_the_record_asks_for(monkeypatch: pytest.MonkeyPatch) -> None:
    """The last gate, before the seal: as if the program had lost a text between approval and release."""
    from benchseal.certificate import issue, present  # noqa: PLC0415

    told = made()
    assert isinstance(render_certificate(told.evidence_bytes, told.supplement_bytes), bytes)
    lost = lambda *_, **given: replace(present.view_of(*_, **given), item=replace(told.view().item, sampled_on=""))  # noqa: E731
    monkeypatch.setattr(issue, "view_of", lost)
    found = render_certificate(told.evidence_bytes, told.supplement_bytes)
    assert isinstance(found, tuple)
    assert [problem.where for problem in found] == ["item.sampled_on"]


@pytest.mark.refuses("17025 7.8.1.1")
def test_a_lot_under_investigation_gets_none(stage: Stage) -> None:
    """Row 31. Its number is on record and in the run report; the certificate waits until it is closed."""
    with pytest.raises(Stopped) as stopped:
        perform(stage.site, DraftCertificate("A-2", ""), stage.key("p-ruth.calloway"))
    assert "certificate.held" in {one.code for one in stopped.value.notices}
    assert any("I-" in f"{one.what} {one.remedy}" for one in stopped.value.notices)
