"""Pages are tried before anybody signs; a release that cannot be sealed has a way back, and stays on record."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from tests.desk.test_corrections import do
from tests.desk.test_rotation import ANALYST, APPROVER, waiting_to_release
from tests.desk.test_rotation import codes as verified

from benchseal.certificate import complete
from benchseal.desk import certificates, drafting, rehearsing, signers, withdrawing
from benchseal.desk.acts_certificates import (
    ApproveCertificate,
    DiscardCertificate,
    DraftCertificate,
    ReleaseCertificate,
    WithdrawCertificate,
)
from benchseal.desk.acts_corrections import CorrectSample
from benchseal.desk.notices import waiting as without_notice
from benchseal.desk.perform import perform
from benchseal.desk.sealing import finish, waiting
from benchseal.problems import Finding, Problem, Stopped
from benchseal.records.entries import read_entry
from benchseal.upkeep.doctor import examine

if TYPE_CHECKING:
    from collections.abc import Callable

    from tests.conftest import Stage

    from benchseal.problems import Notice

OTHER_SLASH = "1\u20442 tub"
JOINED = "sti\ufb00 and stiff"


def told(doing: Callable[[], object]) -> tuple[Notice, ...]:
    with pytest.raises(Stopped) as stopped:
        doing()
    return stopped.value.notices


def said(stage: Stage, text: str) -> None:
    do(stage, CorrectSample("B-2", (f"quantity_received={text}",), "as counted", ""), ANALYST)


def draft(stage: Stage) -> str:
    return str(perform(stage.site, DraftCertificate("B-2", ""), stage.key(ANALYST)).data["number"])


def state(stage: Stage, number: str) -> str:
    with stage.site.store.reading() as view:
        row = view.row("certificate", number=number)
        assert row is not None
        return str(row["state"])


def all_kinds(stage: Stage) -> list[str]:
    with stage.site.store.reading() as view:
        return [read_entry(body).kind for _, body, *_ in view.entries()]


def kinds(stage: Stage, number: str) -> list[str]:
    with stage.site.store.reading() as view:
        entries = [read_entry(body) for _, body, *_ in view.entries()]
    return [one.kind for one in entries if one.subject == f"certificate/{number}"]


def here(make: Callable[..., object], *args: object) -> bytes:
    """Made in this process, which a test can change."""
    made = make(*args)
    if isinstance(made, bytes):
        return made
    raise Stopped(*made)  # type: ignore[misc]


@pytest.fixture
def unnamed(monkeypatch: pytest.MonkeyPatch) -> None:
    """As though nobody knew of any such character yet: the page alone tells."""
    monkeypatch.setattr(complete, "MISREAD", {})
    monkeypatch.setattr(withdrawing, "misread", lambda *_: ())
    monkeypatch.setattr(rehearsing, "rendered", here)


@pytest.mark.refuses("17025 7.8.1.1")
def test_no_draft_has_a_character_that_would_be_misread(stage: Stage) -> None:
    said(stage, OTHER_SLASH)
    (notice,) = told(lambda: draft(stage))
    assert (notice.code, notice.where) == ("certificate.character-misread", "item, quantity_received")
    said(stage, "1/2 tub")
    assert state(stage, draft(stage)) == "draft"


@pytest.mark.refuses("17025 7.8.1.1")
@pytest.mark.usefixtures("unnamed")
def test_no_draft_has_a_page_that_would_not_pass(stage: Stage) -> None:
    said(stage, JOINED)
    notices = told(lambda: draft(stage))
    assert {one.code for one in notices} == {"certificate.page-unfit"}
    assert any("sti" in one.what for one in notices)


@pytest.mark.clause("17025 7.8.1.1")
def test_a_release_that_cannot_be_sealed_is_a_draft_again_and_stays_on_record(
    stage: Stage, monkeypatch: pytest.MonkeyPatch
) -> None:
    said(stage, OTHER_SLASH)
    with monkeypatch.context() as patch:
        for module in (drafting, certificates):
            patch.setattr(module, "rehearse", lambda *_: None)
        number = waiting_to_release(stage)
    (found,) = [one for one in examine(stage.site) if one.code == "doctor.sealing"]
    assert "a draft again where it cannot be" in found.remedy
    (waits,) = told(lambda: draft(stage))
    assert "certificate release" in waits.remedy
    (refused,) = told(lambda: finish(stage.site, number))
    assert isinstance(refused, Finding)
    assert refused.code == "integrity.own-certificate"
    assert (state(stage, number), waiting(stage.site)) == ("draft", [])
    assert kinds(stage, number)[-2:] == ["certificate.sealing", "certificate.refused"]
    approve = ApproveCertificate(number)
    assert [one.code for one in told(lambda: perform(stage.site, approve, stage.key(APPROVER)))] == [
        "certificate.character-misread"
    ]
    perform(stage.site, DiscardCertificate(number, "cannot be printed"), stage.key(ANALYST))
    said(stage, "1/2 tub")
    after = waiting_to_release(stage)
    assert after != number
    finish(stage.site, after)
    assert (state(stage, number), state(stage, after)) == ("discarded", "released")
    assert verified(stage.site) == set()


def test_what_is_refused_once_can_be_released_when_the_fault_is_mended(
    stage: Stage, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The fault was the program's: another version seals the same content, approved and released anew."""
    number = waiting_to_release(stage)
    with monkeypatch.context() as patch:
        patch.setattr("benchseal.desk.sealing.rendered", lambda *_: b"%PDF-1.7 of nothing")
        patch.setattr("benchseal.desk.sealing.sealed_by_the_rules", lambda *_: (_spoiled(stage), ""))
        told(lambda: finish(stage.site, number))
    assert state(stage, number) == "draft"
    for act in (ApproveCertificate(number), ReleaseCertificate(number)):
        perform(stage.site, act, stage.key(APPROVER))
    finish(stage.site, number)
    assert state(stage, number) == "released"
    assert verified(stage.site) == set()


def _spoiled(stage: Stage) -> bytes:
    """A sealed file with a bit turned over."""
    data = bytearray(stage.pdf("C-2026-00001"))
    data[len(data) // 2] ^= 1
    return bytes(data)


@pytest.mark.refuses("17025 7.8.8")
def test_no_withdrawal_is_signed_whose_notice_could_not_be_made(stage: Stage) -> None:
    number = waiting_to_release(stage)
    finish(stage.site, number)
    act = WithdrawCertificate(number, f"wrong {JOINED}")
    assert [one.code for one in told(lambda: perform(stage.site, act, stage.key(APPROVER)))] == [
        "certificate.character-misread"
    ]
    assert state(stage, number) == "released"


@pytest.mark.usefixtures("unnamed")
def test_a_reason_its_own_notice_would_not_pass_with_is_refused(stage: Stage) -> None:
    number = waiting_to_release(stage)
    finish(stage.site, number)
    act = WithdrawCertificate(number, f"wrong {JOINED}")
    notices = told(lambda: perform(stage.site, act, stage.key(APPROVER)))
    assert {one.code for one in notices} == {"certificate.page-unfit"}
    assert state(stage, number) == "released"


def test_what_the_certificate_itself_holds_keeps_nobody_from_taking_it_back(
    stage: Stage, monkeypatch: pytest.MonkeyPatch
) -> None:
    number = waiting_to_release(stage)
    finish(stage.site, number)
    real = rehearsing.rehearse_notice

    def never(notice: object) -> None:
        real(notice)  # type: ignore[arg-type]
        raise Stopped(Finding("certificate.page-unfit", number, "whatever the reason is.", "x"))

    monkeypatch.setattr(withdrawing, "rehearse_notice", never)
    perform(stage.site, WithdrawCertificate(number, "of another lot"), stage.key(APPROVER))
    assert without_notice(stage.site) == [number]


@pytest.mark.parametrize("who", ["analyst", "approver", "releaser"])
def test_a_name_no_page_can_print_signs_nothing(stage: Stage, monkeypatch: pytest.MonkeyPatch, who: str) -> None:
    """Somebody enrolled by a program that did not look at names."""
    number = draft(stage) if who != "analyst" else ""
    if who == "releaser":
        perform(stage.site, ApproveCertificate(number), stage.key(APPROVER))
    monkeypatch.setattr(signers, "unprintable", lambda where, text: iter([Problem("certificate.x", where, text, "")]))
    doing: Callable[[], object] = {
        "analyst": lambda: draft(stage),
        "approver": lambda: perform(stage.site, ApproveCertificate(number), stage.key(APPROVER)),
        "releaser": lambda: perform(stage.site, ReleaseCertificate(number), stage.key(APPROVER)),
    }[who]
    before = len(all_kinds(stage))
    notices = told(doing)
    assert {one.code for one in notices} == {"certificate.x"}
    assert all("Enrol the person anew" in one.remedy for one in notices)
    assert len(all_kinds(stage)) == before
