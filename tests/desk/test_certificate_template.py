"""A laboratory's template from bringing in to a sealed certificate; nothing is made by one that spoils a word."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from tests.desk.test_printed_by import SAMPLES, add, approve, codes, draft, withdraw
from tests.desk.test_rotation import ANALYST, APPROVER, trust, waiting_to_release
from tests.desk.test_rotation import codes as verified

from benchseal import shipped
from benchseal.certificate.trial import rehearsed, trial_pages
from benchseal.demo.people import FLAME_ANALYST
from benchseal.desk import rehearsing
from benchseal.desk.acts_certificates import ApproveCertificate
from benchseal.desk.acts_documents import AddDocument, ApproveDocument
from benchseal.desk.controlled import named
from benchseal.desk.papers import draft_pdf
from benchseal.desk.perform import perform
from benchseal.desk.rehearsing import kept_trial, rehearse
from benchseal.desk.sealing import finish
from benchseal.problems import Stopped
from benchseal.records.certificate_template import CertificateTemplate
from benchseal.verify.certificate import verify_certificate

if TYPE_CHECKING:
    from tests.conftest import Stage

RULED = (SAMPLES / "certificate_template" / "good.yaml").read_text(encoding="utf-8")
SHIPPED = "kind: certificate_template\nid: CERTIFICATE\ntitle: As shipped\npage: ''\nstyle: ''\n"


@pytest.mark.clause("P11 11.10(k)")
def test_a_certificate_by_a_template_of_ones_own_is_genuine(stage: Stage) -> None:
    approve(stage, RULED)
    number = waiting_to_release(stage)
    finish(stage.site, number)
    report = verify_certificate(stage.pdf(number), trust(stage.site), redraw=True)
    assert [one.name for one in report.checks if one.holds is not True] == ["page drawn again"]
    assert report.word == "UNKNOWN"
    assert verify_certificate(stage.pdf(number), trust(stage.site)).word == "GENUINE"
    assert verified(stage.site) == set()
    with stage.site.store.reading() as view:
        assert kept_trial(view, named(view, "CERTIFICATE@1")).startswith(b"%PDF")
        with pytest.raises(Stopped) as stopped:
            kept_trial(view, named(view, "LETTERHEAD"))
    assert codes(stopped) == ["document.no-trial"]


def test_evidence_names_the_template_and_another_one_in_force_wants_a_new_draft(stage: Stage) -> None:
    approve(stage, RULED)
    number, content = draft(stage)
    (template,), (ref,) = content.template, content.template_ref
    assert (template.title, ref.id, ref.version) == ("Ruled results", "CERTIFICATE", 1)
    assert [one.id for one in content.shipped_template] == ["certificate"]
    with stage.site.store.reading() as view:
        row = view.row("certificate", number=number)
        assert row is not None
        assert draft_pdf(view, stage.site, row).startswith(b"%PDF")
    approve(stage, SHIPPED)
    with pytest.raises(Stopped) as stopped:
        perform(stage.site, ApproveCertificate(number), stage.key(APPROVER))
    assert codes(stopped) == ["certificate.template-changed"]
    spoiled = replace(content, template=(CertificateTemplate("certificate_template", "CERTIFICATE", "x", "-", ""),))
    with pytest.raises(Stopped) as stopped:
        rehearse(spoiled)
    assert set(codes(stopped)) == {"certificate.template-differs"}


@pytest.mark.refuses("P11 11.10(k)")
def test_whoever_wrote_it_does_not_approve_it_and_one_that_alters_is_not_brought_in(stage: Stage) -> None:
    name = add(stage, RULED)
    with pytest.raises(Stopped):
        perform(stage.site, ApproveDocument(name), stage.key(FLAME_ANALYST))
    body = shipped.template("certificate_body.html.jinja").replace("{{ row.value }}", "1")
    page = "\n".join(f"  {line}" for line in body.splitlines())
    altered = RULED.replace("page: ''", f"page: |\n{page}").replace("Ruled results", "Altered")
    for text in (altered, RULED.replace("padding-left: 3mm", "position: fixed")):
        with pytest.raises(Stopped) as stopped:
            perform(stage.site, AddDocument(text.encode(), "d.yaml"), stage.key(ANALYST))
        assert set(codes(stopped)) == {"certificate.template-differs"}
    for text, code in ((RULED.replace("page: ''", "page: '{{ view.nothing }}'"), "paper.template-faulty"),):
        with pytest.raises(Stopped) as stopped:
            perform(stage.site, AddDocument(text.encode(), "d.yaml"), stage.key(ANALYST))
        assert codes(stopped) == [code]
    with stage.site.store.reading() as view:
        assert [row["version"] for row in view.rows("document", kind="certificate_template")] == ["1"]


@pytest.mark.refuses("P11 11.10(k)")
def test_nothing_is_drafted_where_the_template_was_withdrawn(stage: Stage) -> None:
    withdraw(stage, approve(stage, RULED))
    with pytest.raises(Stopped) as stopped:
        draft(stage)
    assert codes(stopped) == ["certificate.template-none"]
    approve(stage, SHIPPED)
    assert draft(stage)[1].template[0].page == ""


def test_a_release_that_its_template_would_spoil_is_not_signed(stage: Stage, monkeypatch: pytest.MonkeyPatch) -> None:
    """What only shows with the people who signed, when it is still nobody's signature that would be lost."""
    approve(stage, RULED)
    real = rehearsed

    def spoiled(evidence: object, release: object) -> object:
        return real(evidence, release) if release is None else trial_pages(_PALE)  # type: ignore[arg-type]

    monkeypatch.setattr(rehearsing, "rehearsed", spoiled)
    monkeypatch.setattr(rehearsing, "rendered", _here)
    with pytest.raises(Stopped) as stopped:
        waiting_to_release(stage)
    assert codes(stopped) == ["certificate.template-differs"]
    with stage.site.store.reading() as view:
        assert [row["state"] for row in view.rows("certificate", lot="B-2")][-1] == "approved"


_PALE = CertificateTemplate("certificate_template", "CERTIFICATE", "x", "", ".results { color: white }")


def _here(make: object, *args: object) -> bytes:
    made = make(*args)  # type: ignore[operator]
    if not isinstance(made, bytes):
        raise Stopped(*made)
    return made
