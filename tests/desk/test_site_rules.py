"""Rules of the site: defaults that open every gate, a draft that counts for nothing, an approved version in force."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from tests.desk.test_accounts import refused, whole

from benchseal.desk.acts_documents import AddDocument, ApproveDocument
from benchseal.desk.acts_people import AddPerson
from benchseal.desk.founding import draft_rules
from benchseal.desk.periodic import report_of
from benchseal.desk.site_rules import rules_in_force
from benchseal.documents.reading import ControlledDocument, read_document
from benchseal.records.people import Role
from benchseal.records.site_rules import SiteRules, open_gates
from benchseal.shipped import starter
from benchseal.upkeep.doctor import examine

if TYPE_CHECKING:
    from tests.conftest import Bench

SAMPLES = Path(__file__).parents[2] / "fixtures" / "schemas" / "site_rules"
STRICT = (SAMPLES / "good.yaml").read_text(encoding="utf-8")


def add(bench: Bench, text: str, name: str = "ana") -> None:
    bench.do(AddDocument(text.encode("utf-8"), "rules.yaml"), name)


def in_force(bench: Bench) -> SiteRules:
    with bench.site.store.reading() as view:
        return rules_in_force(view)


def codes(bench: Bench) -> list[str]:
    return [one.code for one in examine(bench.site)]


def test_the_starter_says_what_holds_without_one() -> None:
    read = read_document(starter("site/rules.yaml").encode("utf-8"), "rules.yaml")
    assert isinstance(read, ControlledDocument)
    assert read.value == SiteRules()


def test_without_a_document_every_gate_is_open_and_the_doctor_names_them(bench: Bench) -> None:
    assert in_force(bench) == SiteRules()
    (said,) = [one.what for one in examine(bench.site) if one.code == "doctor.site-rules"]
    for gate in open_gates(SiteRules()):
        assert gate in said
    assert len(open_gates(SiteRules())) == 11


def test_a_closed_gate_is_not_named_open() -> None:
    read = read_document(STRICT.encode("utf-8"), "rules.yaml")
    assert isinstance(read, ControlledDocument)
    assert isinstance(read.value, SiteRules)
    assert open_gates(read.value) == ()


@pytest.mark.clause("P11 11.100(c)")
def test_the_letter_about_signatures_is_named_by_approved_rules_and_printed(bench: Bench) -> None:
    add(bench, STRICT.replace("training: required", "training: not_required"))
    bench.do(ApproveDocument("RULES"), "cleo")
    assert (in_force(bench).signature_letter, in_force(bench).signature_letter_on) == (
        "letter QA-2026-004",
        "2026-01-12",
    )
    assert "doctor.signature-letter" not in codes(bench)
    with bench.site.store.reading() as view:
        assert report_of(view, view.size(), ())["signature_letter"] == "letter QA-2026-004, 2026-01-12"


@pytest.mark.refuses("P11 11.100(c)")
def test_rules_that_name_no_letter_are_a_finding_and_a_draft_that_names_one_is_no_help(bench: Bench) -> None:
    """NEG: nothing said; then said by one person alone, in a draft."""
    silent = "kind: site_rules\nid: RULES\n"
    add(bench, silent)
    bench.do(ApproveDocument("RULES"), "cleo")
    assert "doctor.signature-letter" in codes(bench)
    add(bench, f"{silent}signature_letter: 'letter 4'\nsignature_letter_on: '2026-01-12'\n")
    assert refused(lambda: bench.do(ApproveDocument("RULES"), "ana")) in {"act.role", "duty.own-work"}
    assert "doctor.signature-letter" in codes(bench)
    with bench.site.store.reading() as view:
        assert report_of(view, view.size(), ())["signature_letter"] == ""


@pytest.mark.refuses("P11 11.100(c)")
@pytest.mark.parametrize(
    "lines",
    [
        "signature_letter: 'letter 4'",
        "signature_letter_on: '2026-01-12'",
        "signature_letter_on: '2026-02-30'\nsignature_letter: a",
    ],
)
def test_a_letter_without_its_day_or_reference_is_no_letter(lines: str) -> None:
    read = read_document(f"kind: site_rules\nid: RULES\n{lines}\n".encode(), "rules.yaml")
    assert isinstance(read, tuple)
    assert [one.code for one in read] == ["documents.site-rules-letter"]


@pytest.mark.refuses("A11 10")
def test_a_draft_of_the_rules_counts_for_nothing(bench: Bench) -> None:
    add(bench, STRICT)
    assert in_force(bench) == SiteRules()
    assert "doctor.site-rules" in codes(bench)
    bench.do(AddDocument(STRICT.replace("24", "48", 1).encode(), "rules.yaml"), "cleo")
    assert refused(lambda: bench.do(ApproveDocument("RULES"), "cleo")) == "duty.own-work"


def test_approved_rules_are_in_force_until_the_next_are(bench: Bench) -> None:
    text = STRICT.replace("training: required", "training: not_required")  # or the next approval would need it
    add(bench, text)
    bench.do(ApproveDocument("RULES"), "cleo")
    assert in_force(bench).late_entry_hours == 24
    assert "doctor.site-rules" not in codes(bench)
    add(bench, text.replace("late_entry_hours: 24", "late_entry_hours: 8"))
    assert in_force(bench).late_entry_hours == 24
    bench.do(ApproveDocument("RULES"), "dora")
    assert in_force(bench).late_entry_hours == 8
    assert whole(bench)


def test_the_doctor_counts_ages_by_the_rules(bench: Bench) -> None:
    add(bench, STRICT.replace("access_review_months: 6", "access_review_months: 1"))
    bench.do(ApproveDocument("RULES"), "cleo")
    bench.clock.now += timedelta(days=30)
    assert "doctor.access-review" not in codes(bench)
    bench.clock.now += timedelta(days=1)
    assert "doctor.access-review" in codes(bench)


@pytest.mark.parametrize(
    ("roles", "drafted"),
    [
        pytest.param((Role.ANALYST,), True, id="an analyst"),
        pytest.param((Role.APPROVER,), False, id="an approver alone, who would be barred"),
        pytest.param((Role.ADMINISTRATOR,), False, id="nobody who may"),
    ],
)
def test_founding_drafts_the_starter_for_somebody_who_does_not_approve(
    bench: Bench, roles: tuple[Role, ...], drafted: bool
) -> None:
    founder = AddPerson("ana.keel", "Ana Keel", roles, "seen", bench.key("ana").password)
    assert draft_rules(bench.site, (founder,)) is drafted
    with bench.site.store.reading() as view:
        rows = [(row["author"], row["state"]) for row in view.rows("document", kind="site_rules")]
    assert rows == [("p-ana.keel", "draft")] * drafted
    assert in_force(bench) == SiteRules()
