"""Founding, enrolling, signing in: who gets in, and who does not."""

from __future__ import annotations

import json
import stat
from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING

import pytest

from benchseal.desk.acts_people import AddPerson
from benchseal.desk.admission import Password, Session, admit, sign_in, sign_out
from benchseal.desk.checking import verify_site
from benchseal.desk.founding import Founding, found
from benchseal.desk.perform import perform
from benchseal.desk.site import open_site
from benchseal.identity.sessions import check_session
from benchseal.problems import Problem, Refusal, Stopped
from benchseal.records.evidence import Laboratory
from benchseal.records.people import Role

if TYPE_CHECKING:
    from datetime import datetime
    from pathlib import Path

    from tests.conftest import Bench

LABORATORY = Laboratory("Heron Ford Laboratory", "1 Weir Lane", "Europe/Berlin")
NEW = AddPerson(
    "flora.weir", "Flora Weir", (Role.AUDITOR,), "identity card seen by Emil Holt", "rain on a tin roof again"
)


def codes(stop: pytest.ExceptionInfo[Stopped]) -> set[str]:
    return {notice.code for notice in stop.value.notices}


def test_a_new_site_is_whole_and_says_whom_to_trust(bench: Bench) -> None:
    assert verify_site(bench.site).findings == ()
    trust = json.loads((bench.site.folder / "trust.json").read_text(encoding="utf-8"))
    assert trust["ledger"] == bench.site.ledger
    assert len(trust["seals"][0]["fingerprint_sha256"]) == 64


def test_private_files_are_for_their_owner_only(bench: Bench) -> None:
    files = list(bench.site.private.iterdir())
    assert {path.name for path in files} == {"unlock", "seal.key.json", "tree-head.key.json"}
    assert all(stat.S_IMODE(path.stat().st_mode) == 0o600 for path in files)


@pytest.mark.refuses("P11 11.200(a)(2)")
def test_no_password_and_no_password_hash_reaches_the_ledger(bench: Bench) -> None:
    with bench.site.store.reading() as view:
        bodies = b"".join(body for _, body, _, _ in view.entries())
        assert b"herons" not in bodies
        assert b"$argon2" not in bodies


@pytest.mark.parametrize(
    ("change", "code"),
    [
        pytest.param({"founders": ()}, "site.founders", id="nobody"),
        pytest.param({"founders": (NEW,)}, "site.founders", id="one person alone"),
        pytest.param({"founders": (NEW, NEW)}, "identity.person-known", id="the same person twice"),
        pytest.param({"laboratory": replace(LABORATORY, name=" ")}, "identity.organisation-name", id="no name"),
    ],
)
def test_a_founding_is_refused_and_leaves_nothing(tmp_path: Path, change: dict[str, object], code: str) -> None:
    other = replace(NEW, person="gus.lock", printed_name="Gus Lock", password="four slow trains to the sea")
    founding = replace(Founding(LABORATORY, (NEW, other)), **change)  # type: ignore[arg-type]
    with pytest.raises(Stopped) as stop:
        found(tmp_path / "new", founding)
    assert code in codes(stop)
    assert not (tmp_path / "new").exists()


def test_a_folder_with_something_in_it_is_not_touched(bench: Bench, tmp_path: Path) -> None:
    (tmp_path / "full").mkdir()
    (tmp_path / "full" / "mine.txt").write_text("mine", encoding="utf-8")
    with pytest.raises(Stopped) as stop:
        found(tmp_path / "full", Founding(LABORATORY, (NEW, replace(NEW, person="gus.lock"))))
    assert "site.not-empty" in codes(stop)
    assert (tmp_path / "full" / "mine.txt").read_text(encoding="utf-8") == "mine"
    assert bench.site.folder.exists()


@pytest.mark.clause("DI Q5")
@pytest.mark.clause("P11 11.10(g)")
@pytest.mark.refuses("P11 11.10(g)", "A11 12.1")
def test_an_administrator_enrols_and_nobody_else_does(bench: Bench) -> None:
    with pytest.raises(Stopped) as stop:
        bench.do(NEW, "ana")
    assert codes(stop) == {"act.role"}
    bench.do(NEW, "emil")
    assert admit(bench.site, Password("flora.weir", NEW.password)).roles == {Role.AUDITOR}
    assert verify_site(bench.site).findings == ()


@pytest.mark.refuses("P11 11.100(a)", "P11 11.100(b)", "P11 11.300(a)")
@pytest.mark.parametrize(
    ("change", "code"),
    [
        pytest.param({"person": "ana.keel"}, "identity.person-known", id="an identifier again"),
        pytest.param({"person": "Ana.Keel"}, "identity.person-known", id="an identifier again in other letters"),
        pytest.param({"password": "short"}, "identity.password-short", id="a short password"),
        pytest.param({"roles": ()}, "person.no-role", id="no role"),
        pytest.param({"roles": (Role.SERVICE, Role.ANALYST)}, "person.service", id="a service that is also a person"),
        pytest.param({"identity_check": " "}, "person.identity-check", id="nobody checked the identity"),
        pytest.param({"printed_name": "שרה כהן"}, "certificate.character-unprintable", id="no type for the script"),
        pytest.param(
            {"printed_name": "Q\u0323uach Minh"}, "certificate.character-unprintable", id="no sign of its own"
        ),
    ],
)
def test_an_enrolment_is_refused(bench: Bench, change: dict[str, object], code: str) -> None:
    before = bench.entries()
    with pytest.raises(Stopped) as stop:
        bench.do(replace(NEW, **change), "emil")  # type: ignore[arg-type]
    assert code in codes(stop)
    assert all(isinstance(notice, Problem | Refusal) and notice.remedy for notice in stop.value.notices)
    assert bench.entries() == before


@pytest.mark.refuses("P11 11.300(d)", "P11 11.10(d)")
def test_wrong_passwords_lock_even_for_a_new_process(bench: Bench) -> None:
    wrong = Password("ana.keel", "not the password")
    for _ in range(5):
        with pytest.raises(Stopped) as stop:
            admit(bench.site, wrong)
        assert codes(stop) == {"sign-in.refused"}
    again = open_site(bench.site.folder, clock=bench.clock, hashes=lambda: bench.site.hashes)
    with pytest.raises(Stopped) as stop:
        admit(again, bench.key("ana"))
    assert codes(stop) == {"identity.locked"}
    bench.clock.now += timedelta(minutes=16)
    assert admit(again, bench.key("ana")).person == "p-ana.keel"
    again.store.close()


@pytest.mark.refuses("P11 11.10(d)")
def test_an_unknown_person_is_told_the_same_as_a_wrong_password(bench: Bench) -> None:
    said = []
    for given in (Password("nobody.here", "anything at all goes"), Password("ana.keel", "anything at all goes")):
        with pytest.raises(Stopped) as stop:
            admit(bench.site, given)
        said.append(str(stop.value))
    assert said[0] == said[1]


@pytest.mark.clause("A11 12.2", "A11d 11")
@pytest.mark.refuses("A11 12.2", "A11d 11")
def test_a_session_reads_until_it_is_idle_or_closed(bench: Bench) -> None:
    token = sign_in(bench.site, bench.key("ana"))
    who = admit(bench.site, Session(token))
    assert who.person == "p-ana.keel"
    assert not who.signs
    bench.clock.now += timedelta(minutes=16)
    with pytest.raises(Stopped) as stop:
        admit(bench.site, Session(token))
    assert codes(stop) == {"identity.session-idle"}
    other = sign_in(bench.site, bench.key("ana"))
    sign_out(bench.site, other)
    with pytest.raises(Stopped) as stop:
        admit(bench.site, Session(other))
    assert codes(stop) == {"sign-in.none"}


@pytest.mark.refuses("A11 12.2")
def test_a_session_closed_while_it_is_checked_stays_closed(bench: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    """The note of its last use must not bring it back."""
    token = sign_in(bench.site, bench.key("ana"))
    bench.clock.now += timedelta(minutes=2)

    def closed_meanwhile(started: datetime, last_seen: datetime, now: datetime) -> Refusal | None:
        sign_out(bench.site, token)
        return check_session(started, last_seen, now)

    monkeypatch.setattr("benchseal.desk.admission.check_session", closed_meanwhile)
    admit(bench.site, Session(token))
    with bench.site.store.reading() as view:
        assert view.rows("session") == []


def test_the_use_of_a_session_is_noted_once_a_minute(bench: Bench) -> None:
    token = sign_in(bench.site, bench.key("ana"))

    def used() -> str:
        with bench.site.store.reading() as view:
            return str(view.rows("session")[0]["used"])

    first = used()
    admit(bench.site, Session(token))
    assert used() == first
    bench.clock.now += timedelta(minutes=1)
    admit(bench.site, Session(token))
    assert used() > first


def test_a_token_is_not_kept_as_it_is(bench: Bench) -> None:
    token = sign_in(bench.site, bench.key("ana"))
    assert token.encode() not in bench.site.store.path.read_bytes()


@pytest.mark.refuses("P11 11.10(g)")
def test_an_act_needs_as_many_people_as_it_names(bench: Bench) -> None:
    with pytest.raises(Stopped) as stop:
        perform(bench.site, NEW)
    assert codes(stop) == {"act.signers"}
