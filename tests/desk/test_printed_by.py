"""A customer's form and the laboratory's letterhead: approved documents that certificates are drafted by."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from benchseal.demo.people import FLAME_ANALYST
from benchseal.demo.stage import APPROVER, SECOND_APPROVER
from benchseal.desk.acts_certificates import AmendCertificate, ApproveCertificate, DraftCertificate
from benchseal.desk.acts_documents import AddDocument, ApproveDocument, WithdrawDocument
from benchseal.desk.perform import perform
from benchseal.desk.reading import load
from benchseal.problems import Stopped
from benchseal.records.evidence import Evidence
from benchseal.records.printed_form import USUAL_FORM, PrintedForm

if TYPE_CHECKING:
    from tests.conftest import Stage

SAMPLES = Path(__file__).parents[2] / "fixtures" / "schemas"
FORM = (SAMPLES / "certificate_form" / "good.yaml").read_text(encoding="utf-8").replace("alder", "ardlea")
HEAD = (SAMPLES / "letterhead" / "good.yaml").read_text(encoding="utf-8")
LOT = "A-4"  # reviewed, of ardlea, without a certificate
ISSUED = "C-2026-00001"  # of ardlea


def add(stage: Stage, text: str) -> str:
    data = perform(stage.site, AddDocument(text.encode(), "d.yaml"), stage.key(FLAME_ANALYST)).data
    return f"{data['kind']}/{data['id']}"


def approve(stage: Stage, text: str) -> str:
    name = add(stage, text)
    perform(stage.site, ApproveDocument(name), stage.key(APPROVER))
    return name


def withdraw(stage: Stage, name: str) -> None:
    perform(stage.site, WithdrawDocument(name, "no longer wanted"), stage.key(APPROVER))


def draft(stage: Stage, act: object | None = None) -> tuple[str, Evidence]:
    done = perform(stage.site, act or DraftCertificate(LOT, "weighed"), stage.key(FLAME_ANALYST))
    with stage.site.store.reading() as view:
        row = view.row("certificate", number=done.data["number"])
        assert row is not None
        return str(done.data["number"]), load(view, Evidence, row["content"])


def codes(stopped: pytest.ExceptionInfo[Stopped]) -> list[str]:
    return [one.code for one in stopped.value.notices]


def test_without_a_form_a_certificate_is_printed_as_usual_under_the_letterhead_in_force(stage: Stage) -> None:
    _, content = draft(stage)
    assert (content.form, content.form_ref) == (USUAL_FORM, ())
    assert [(ref.id, ref.version) for ref in content.letterhead_ref] == [("LETTERHEAD", 1)]


def test_a_form_nobody_approved_counts_for_nothing(stage: Stage) -> None:
    add(stage, FORM)
    add(stage, HEAD)
    _, content = draft(stage)
    assert (content.form, content.form_ref) == (USUAL_FORM, ())
    assert [ref.version for ref in content.letterhead_ref] == [1]


def test_an_approved_form_names_language_numbers_dates_and_order(stage: Stage) -> None:
    approve(stage, FORM)
    _, content = draft(stage)
    assert content.form == PrintedForm("de", ",", "", "d. MMMM y", ("Cd", "Pb"))
    assert [(ref.id, ref.version) for ref in content.form_ref] == [("ardlea-form", 1)]
    elements = [basis.result.element for basis in content.results]
    assert elements[:2] == ["Cd", "Pb"]
    asked = [line.element for line in content.specification.requirements]
    assert elements[2:] == [one for one in asked if one not in {"Cd", "Pb"}]
    assert content.printed[0].tokens[:2] == ("Cadmium", "gesamt,")


@pytest.mark.refuses("P11 11.10(k)")
def test_whoever_wrote_a_letterhead_does_not_approve_it(stage: Stage) -> None:
    perform(stage.site, AddDocument(HEAD.encode(), "d.yaml"), stage.key(APPROVER))
    with pytest.raises(Stopped) as stopped:
        perform(stage.site, ApproveDocument("letterhead/LETTERHEAD"), stage.key(APPROVER))
    assert codes(stopped) == ["duty.own-work"]


def test_an_approved_letterhead_names_the_laboratory_and_is_in_the_evidence(stage: Stage) -> None:
    approve(stage, HEAD.replace("4 Tern Quay\n", "5 Tern Quay\n"))
    _, content = draft(stage)
    (letterhead,), (ref,) = content.letterhead, content.letterhead_ref
    assert content.certificate.laboratory.address == letterhead.address == "5 Tern Quay\n27570 Seehafen\n"
    assert (ref.id, ref.version) == ("LETTERHEAD", 2)


@pytest.mark.parametrize(
    ("text", "code"), [(FORM, "certificate.form-none"), (HEAD, "certificate.letterhead-none")], ids=["form", "head"]
)
def test_where_one_was_in_force_and_none_is_nothing_is_drafted(stage: Stage, text: str, code: str) -> None:
    withdraw(stage, approve(stage, text))
    with pytest.raises(Stopped) as stopped:
        draft(stage)
    assert codes(stopped) == [code]


def test_the_form_of_one_customer_is_not_that_of_another(stage: Stage) -> None:
    approve(stage, FORM.replace("customer: ardlea", "customer: selby"))
    _, content = draft(stage)
    assert content.form == USUAL_FORM


def test_a_letterhead_without_words_in_the_language_is_refused(stage: Stage) -> None:
    approve(stage, FORM)
    approve(stage, HEAD.partition("- language: de")[0])
    with pytest.raises(Stopped) as stopped:
        draft(stage)
    assert codes(stopped) == ["certificate.letterhead-language"]


def test_a_letterhead_changed_after_the_draft_stops_the_approval(stage: Stage) -> None:
    approve(stage, HEAD)
    number, _ = draft(stage)
    approve(stage, HEAD.replace("foot: 'Tern Quay", "foot: 'New Tern Quay"))
    with pytest.raises(Stopped) as stopped:
        perform(stage.site, ApproveCertificate(number), stage.key(SECOND_APPROVER))
    assert codes(stopped) == ["certificate.letterhead-changed"]


def test_an_amendment_keeps_the_form_of_what_it_replaces(stage: Stage) -> None:
    """Else every text would differ, and what was changed would be lost among them."""
    approve(stage, FORM)
    approve(stage, HEAD)
    _, content = draft(stage, AmendCertificate(ISSUED, "the letterhead was missing", ""))
    assert (content.form, content.form_ref) == (USUAL_FORM, ())
    assert {one.place for one in content.changed} == {"Laboratory", "Accreditation", "Foot"}


def test_a_form_is_for_a_registered_customer_that_has_no_other(stage: Stage) -> None:
    approve(stage, FORM)
    second = add(stage, FORM.replace("id: ardlea-form", "id: second-form"))
    nobody = add(stage, FORM.replace("id: ardlea-form", "id: third-form").replace("customer: ardlea", "customer: no"))
    found = []
    for name in (second, nobody):
        with pytest.raises(Stopped) as stopped:
            perform(stage.site, ApproveDocument(name), stage.key(APPROVER))
        found += codes(stopped)
    assert found == ["certificate-form.customer-twice", "certificate-form.customer-unknown"]


def test_a_new_version_takes_the_place_of_the_one_before(stage: Stage) -> None:
    approve(stage, FORM)
    approve(stage, FORM.replace("dates: long", "dates: iso"))
    _, content = draft(stage)
    assert (content.form.date, content.form_ref[0].version) == ("y-MM-dd", 2)
