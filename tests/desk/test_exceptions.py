"""Site exceptions: signed by two, for one person and a time; without one nobody unites what has to be apart."""

from __future__ import annotations

from datetime import timedelta
from functools import partial
from typing import TYPE_CHECKING

import pytest
from tests.desk.test_accounts import excepted, refused, roles, whole

from benchseal.desk.acts_exceptions import AddException
from benchseal.desk.acts_people import AddPerson, ChangeRole, DisablePerson, UnlockPerson
from benchseal.desk.acts_upkeep import NoteBackup
from benchseal.desk.admission import Session, sign_in
from benchseal.desk.exceptions import exceptions_in_force
from benchseal.desk.founding import Founding, found
from benchseal.desk.perform import perform, require_able
from benchseal.desk.reading import all_entries
from benchseal.problems import Stopped
from benchseal.records.canonical import parse_canonical
from benchseal.records.evidence import Laboratory
from benchseal.records.people import Role
from benchseal.upkeep.doctor import examine

if TYPE_CHECKING:
    from pathlib import Path

    from tests.conftest import Bench

    from benchseal.problems import Finding

CHECK = "a colleague of the sister laboratory looks at every tenth certificate"


def exception(**changes: str) -> AddException:
    values = {
        "kind": "reviewer_is_approver",
        "person": "p-ben.marsh",
        "until": "2026-06-30",
        "compensating_check": CHECK,
        "reason": "there are two of us",
    }
    return AddException(**(values | changes))


def findings(bench: Bench, code: str) -> list[Finding]:
    return [one for one in examine(bench.site) if one.code == code]


# ------------------------------------------------------------------ signed by two, dated


@pytest.mark.clause("P11 11.10(g)")
def test_two_people_sign_an_exception_for_one_person_and_a_time(bench: Bench) -> None:
    done = bench.do(exception(), "cleo", "emil")
    assert done.data == {"exception": "E-0001", "person": "p-ben.marsh", "until": "2026-06-30"}
    with bench.site.store.reading() as view:
        now = bench.clock()
        for days, held in ((0, {"p-ben.marsh"}), (120, {"p-ben.marsh"}), (121, set())):  # the last is 1 July
            then = now + timedelta(days=days)
            assert set(exceptions_in_force(view, bench.site, then, "reviewer_is_approver")) == held
        assert exceptions_in_force(view, bench.site, now, "administrator_with_content_role") == {}
        signers = [row["person"] for row in view.rows("signature", subject="exception/E-0001")]
    assert sorted(signers) == ["p-cleo.strand", "p-emil.holt"]
    assert bench.do(exception(), "dora", "emil").data["exception"] == "E-0002"
    assert whole(bench)


@pytest.mark.refuses("P11 11.10(g)")
@pytest.mark.parametrize(
    ("changes", "people", "code"),
    [
        pytest.param({}, ("cleo",), "act.signers", id="one person"),
        pytest.param({}, ("emil", "cleo"), "act.role", id="the wrong way round"),
        pytest.param({}, ("cleo", "ana"), "act.role", id="no administrator"),
        pytest.param({}, ("cleo", "emil", "dora"), "act.signers", id="one too many"),
        pytest.param({"reason": " "}, ("cleo", "emil"), "act.reason", id="no reason"),
        pytest.param({"kind": "analyst_reviews"}, ("cleo", "emil"), "exception.kind", id="a kind there is not"),
        pytest.param({"compensating_check": ""}, ("cleo", "emil"), "exception.check", id="nothing instead"),
        pytest.param({"until": "2026-03-01"}, ("cleo", "emil"), "exception.until", id="it ended yesterday"),
        pytest.param({"until": "2027-03-04"}, ("cleo", "emil"), "exception.until", id="longer than a year"),
        pytest.param({"until": "for ever"}, ("cleo", "emil"), "exception.until", id="no day"),
        pytest.param({"person": "p-nobody"}, ("cleo", "emil"), "person.unknown", id="for nobody"),
    ],
)
def test_what_is_no_exception(bench: Bench, changes: dict[str, str], people: tuple[str, ...], code: str) -> None:
    before = bench.entries()
    assert refused(lambda: bench.do(exception(**changes), *people)) == code
    assert bench.entries() == before


@pytest.mark.refuses("P11 11.10(g)")
def test_one_person_with_both_roles_signs_no_exception_alone(bench: Bench) -> None:
    excepted(bench, "p-dora.fell")
    bench.do(ChangeRole("p-dora.fell", Role.ADMINISTRATOR, True, "Emil is away"), "emil")
    assert refused(lambda: bench.do(exception(), "dora", "dora")) == "duty.same-checker"


# ------------------------------------------------------------------ accounts and results apart


@pytest.mark.refuses("P11 11.10(g)")
@pytest.mark.parametrize("role", [Role.ANALYST, Role.REVIEWER, Role.APPROVER])
def test_an_administrator_gets_no_role_on_results(bench: Bench, role: Role) -> None:
    bench.do(AddPerson("flora.weir", "Flora Weir", (Role.ADMINISTRATOR,), "seen", "rain on a tin roof again"), "emil")
    give = ChangeRole("p-flora.weir", role, True, "quicker")
    assert refused(lambda: bench.do(give, "emil")) == "duty.administrator-content"
    assert roles(bench, "p-flora.weir") == {"administrator"}


@pytest.mark.refuses("P11 11.10(g)")
def test_nobody_who_works_on_results_becomes_administrator(bench: Bench) -> None:
    for person in ("p-ana.keel", "p-ben.marsh", "p-cleo.strand"):
        give = ChangeRole(person, Role.ADMINISTRATOR, True, "quicker")
        assert refused(partial(bench.do, give, "emil")) == "duty.administrator-content"
    new = AddPerson("flora.weir", "Flora Weir", (Role.ADMINISTRATOR, Role.ANALYST), "seen", "rain on a tin roof again")
    assert refused(lambda: bench.do(new, "emil")) == "duty.administrator-content"


@pytest.mark.refuses("P11 11.10(g)")
def test_a_site_is_not_founded_with_such_a_person(tmp_path: Path) -> None:
    def person(handle: str, name: str, *held: Role) -> AddPerson:
        return AddPerson(handle, name, held, "seen", f"seven herons over slate {handle[:3]}")

    founders = (person("ana.keel", "Ana Keel", Role.ANALYST, Role.ADMINISTRATOR), person("ben.marsh", "Ben Marsh"))
    laboratory = Laboratory("Heron Ford Laboratory", "1 Weir Lane", "Europe/Berlin")
    with pytest.raises(Stopped) as stop:
        found(tmp_path / "site", Founding(laboratory, founders))
    assert "duty.administrator-content" in {notice.code for notice in stop.value.notices}
    assert not (tmp_path / "site").exists()


def test_another_exception_does_not_do(bench: Bench) -> None:
    bench.do(exception(person="p-ana.keel"), "cleo", "emil")
    give = ChangeRole("p-ana.keel", Role.ADMINISTRATOR, True, "quicker")
    assert refused(lambda: bench.do(give, "emil")) == "duty.administrator-content"


# ------------------------------------------------------------------ a second person's word


@pytest.fixture
def doubled(bench: Bench) -> Bench:
    """Ana is analyst and administrator, by exception."""
    excepted(bench, "p-ana.keel")
    bench.do(ChangeRole("p-ana.keel", Role.ADMINISTRATOR, True, "two of us"), "emil")
    return bench


UNLOCK = UnlockPerson("p-ben.marsh", "he asked")


@pytest.mark.clause("P11 11.10(g)")
def test_the_second_person_signs_the_very_entries_the_act_wrote(doubled: Bench) -> None:
    doubled.do(UNLOCK, "ana", "cleo")
    with doubled.site.store.reading() as view:
        act, word = all_entries(view)[-2:]
        signed = parse_canonical(view.bytes_of(word.digests["sign_off"]))
        leaf = next(view.entries(act.seq))[2].hex()
    assert (act.kind, act.actor) == ("person.unlocked", "p-ana.keel")
    assert (word.kind, word.actor, word.subject) == (
        "administration.signed_off", "p-cleo.strand", f"sign-off/{act.seq}",
    )  # fmt: skip
    assert signed == {
        "schema": "sign-off/1", "command": "person unlock", "entries": [{"seq": act.seq, "leaf": leaf}],
    }  # fmt: skip
    assert whole(doubled)


@pytest.mark.refuses("P11 11.10(g)")
@pytest.mark.parametrize(
    ("people", "code"),
    [
        pytest.param(("ana",), "duty.second-person", id="alone"),
        pytest.param(("ana", "ana"), "duty.same-checker", id="with herself"),
        pytest.param(("ana", "ben"), "act.role", id="with a reviewer"),
        pytest.param(("ana", "cleo", "emil"), "act.signers", id="with two"),
    ],
)
def test_an_administrator_who_works_on_results_does_nothing_alone(
    doubled: Bench, people: tuple[str, ...], code: str
) -> None:
    before = doubled.entries()
    assert refused(lambda: doubled.do(UNLOCK, *people)) == code
    assert doubled.entries() == before


@pytest.mark.refuses("P11 11.200(a)(3)")
def test_an_open_session_is_no_second_word(doubled: Bench) -> None:
    session = Session(sign_in(doubled.site, doubled.key("cleo")))
    work = partial(perform, doubled.site, UNLOCK, doubled.key("ana"), session)
    assert refused(work) == "act.signature-needed"


@pytest.mark.refuses("P11 11.10(g)")
def test_when_the_exception_ends_so_do_the_administrative_acts(doubled: Bench) -> None:
    doubled.clock.now = doubled.clock.now.replace(month=9, day=2)
    assert refused(lambda: doubled.do(UNLOCK, "ana", "cleo")) == "duty.administrator-content"
    (said,) = findings(doubled, "doctor.administrator-content")
    assert said.where == "p-ana.keel"


def test_backups_are_asked_for_before_they_are_made(doubled: Bench) -> None:
    alone = partial(require_able, doubled.site, NoteBackup, doubled.key("ana"))
    assert refused(alone) == "duty.second-person"
    require_able(doubled.site, NoteBackup, doubled.key("ana"), doubled.key("cleo"))


def test_an_administrator_who_is_nothing_else_acts_alone_and_may_ask_a_second(bench: Bench) -> None:
    bench.do(UNLOCK, "emil")
    bench.do(UNLOCK, "emil", "cleo")
    assert whole(bench)


def test_results_take_no_second_word(bench: Bench) -> None:
    from benchseal.desk.acts_runs import SubmitRuns  # noqa: PLC0415

    assert refused(lambda: bench.do(SubmitRuns(("R-00001",)), "ana", "cleo")) == "act.signers"


# ------------------------------------------------------------------ what the doctor says


def test_the_doctor_names_who_alone_can_do_which_critical_act(bench: Bench) -> None:
    bench.do(DisablePerson("p-dora.fell", "left"), "emil")
    said = {one.where: one.what for one in findings(bench, "doctor.single-person")}
    assert "measure and submit" in said["p-ana.keel"]
    assert "only this person can review (" in said["p-ben.marsh"]
    assert "approve and release" in said["p-cleo.strand"]
    assert "no envelope" in said["p-cleo.strand"]
    assert "keep accounts" in said["p-emil.holt"]


def test_two_people_release_by_exception_and_the_doctor_says_when_they_cannot(bench: Bench) -> None:
    bench.do(exception(person="p-cleo.strand"), "cleo", "emil")
    bench.do(ChangeRole("p-cleo.strand", Role.REVIEWER, True, "two of us"), "emil")
    for person in ("p-ben.marsh", "p-dora.fell"):
        bench.do(DisablePerson(person, "left"), "emil")
    assert findings(bench, "doctor.three-people") == []
    bench.clock.now = bench.clock.now.replace(month=6, day=20)
    (ending,) = findings(bench, "doctor.exception-ends")
    assert (ending.where, "in 10 days" in ending.what) == ("E-0001", True)
    bench.clock.now = bench.clock.now.replace(month=7, day=2)
    assert len(findings(bench, "doctor.three-people")) == 1


def test_one_person_releases_nothing_whatever_is_signed(bench: Bench) -> None:
    bench.do(exception(person="p-ana.keel"), "cleo", "emil")
    for role in (Role.REVIEWER, Role.APPROVER):
        bench.do(ChangeRole("p-ana.keel", role, True, "alone"), "emil")
    for person in ("p-ben.marsh", "p-cleo.strand", "p-dora.fell"):
        bench.do(DisablePerson(person, "left"), "emil")
    (said,) = findings(bench, "doctor.three-people")
    assert "nothing can be released" in said.what
