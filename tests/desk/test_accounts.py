"""Accounts and passwords renewed: what one person alone can do to somebody else's signature is nothing.

21 CFR 11.100(a), 11.200(a)(3), 11.300; the cases below are the ways a dishonest administrator would try.
"""

from __future__ import annotations

from datetime import timedelta
from functools import partial
from hashlib import sha256
from typing import TYPE_CHECKING

import pytest

from benchseal.desk.acts_documents import AddDocument, ApproveDocument
from benchseal.desk.acts_exceptions import AddException
from benchseal.desk.acts_people import (
    AddPerson,
    ChangePassword,
    ChangeRole,
    CheckRecovery,
    ConfirmPerson,
    DisablePerson,
    EnablePerson,
    MakeRecovery,
    ResetPassword,
    UnlockPerson,
    UseRecovery,
)
from benchseal.desk.acts_security import AcknowledgeEvents
from benchseal.desk.admission import Password, Session, admit, sign_in
from benchseal.desk.checking import verify_site
from benchseal.desk.perform import perform
from benchseal.desk.rebuilding import rebuild_site
from benchseal.problems import Stopped
from benchseal.records.people import Role
from benchseal.shipped import starter
from benchseal.upkeep.doctor import examine

if TYPE_CHECKING:
    from collections.abc import Callable

    from tests.conftest import Bench

ONCE = "lent for one morning only"
NEW = "a walnut desk with nine drawers"
CODE = "ab" * 32
SHA = sha256(CODE.encode()).hexdigest()
STARTER = "layout/comma-list"
SEEN = "passport seen by Cleo Strand on 2 March"


def refused(work: Callable[[], object]) -> str:
    with pytest.raises(Stopped) as found:
        work()
    return found.value.notices[0].code


def excepted(bench: Bench, person: str) -> None:
    """Let somebody be administrator beside a role on results."""
    kind = "administrator_with_content_role"
    act = AddException(kind, person, "2026-09-01", "every act is signed by a second person", "Emil is away")
    bench.do(act, "cleo", "emil")


def roles(bench: Bench, person: str) -> set[str]:
    with bench.site.store.reading() as view:
        return {row["role"] for row in view.rows("role", person=person) if row["active"]}


def whole(bench: Bench) -> bool:
    """Verified, and nothing to rebuild."""
    return verify_site(bench.site).findings == () and rebuild_site(bench.site) == 0


# ------------------------------------------------------------------ roles


@pytest.mark.clause("P11 11.10(g)", "A11 12.3")
@pytest.mark.refuses("P11 11.10(g)")
def test_a_role_counts_from_the_next_act_on_and_is_gone_at_once(bench: Bench) -> None:
    unlock = UnlockPerson("p-ben.marsh", "he asked")
    assert refused(lambda: bench.do(unlock, "ana")) == "act.role"
    excepted(bench, "p-ana.keel")
    bench.do(ChangeRole("p-ana.keel", Role.ADMINISTRATOR, True, "Emil is on leave"), "emil")
    bench.do(unlock, "ana", "cleo")
    bench.do(ChangeRole("p-ana.keel", Role.ADMINISTRATOR, False, "Emil is back"), "emil")
    assert refused(lambda: bench.do(unlock, "ana")) == "act.role"
    assert roles(bench, "p-ana.keel") == {"analyst"}
    assert whole(bench)


@pytest.mark.refuses("P11 11.10(g)", "DI Q4")
def test_nobody_changes_their_own_roles(bench: Bench) -> None:
    give = ChangeRole("p-emil.holt", Role.APPROVER, True, "quicker")
    assert refused(lambda: bench.do(give, "emil")) == "person.self"
    assert refused(lambda: bench.do(ChangeRole("emil.holt", Role.APPROVER, True, "quicker"), "emil")) == "person.self"
    assert roles(bench, "p-emil.holt") == {"administrator"}


@pytest.mark.refuses("P11 11.10(e)", "A11 12.3")
@pytest.mark.parametrize(
    ("act", "code"),
    [
        (ChangeRole("p-ana.keel", Role.ANALYST, True, "again"), "person.role-already"),
        (ChangeRole("p-ana.keel", Role.REVIEWER, False, "never had it"), "person.role-already"),
        (ChangeRole("p-ana.keel", Role.REVIEWER, True, " "), "act.reason"),
        (ChangeRole("p-ana.keel", Role.SERVICE, True, "exports"), "person.service"),
        (ChangeRole("p-nobody", Role.REVIEWER, True, "why not"), "person.unknown"),
        (DisablePerson("p-ana.keel", ""), "act.reason"),
        (DisablePerson("p-emil.holt", "tired"), "person.self"),
        (EnablePerson("p-ana.keel", "she is active"), "person.enabled-already"),
        (ResetPassword("p-emil.holt", ONCE, "my own"), "person.self"),
        (ResetPassword("p-ana.keel", ONCE, ""), "act.reason"),
        (ResetPassword("p-ana.keel", "short", "forgotten"), "identity.password-short"),
        (ResetPassword("p-nobody", ONCE, "forgotten"), "person.unknown"),
        (UseRecovery("p-ana.keel", CODE, SEEN, "none made"), "person.not-suspended"),
    ],
    ids=lambda one: one if isinstance(one, str) else type(one).__name__,
)
def test_what_an_administrator_may_not_do(bench: Bench, act: object, code: str) -> None:
    before = bench.entries()
    found = refused(lambda: bench.do(act, "emil"))
    assert found == code or (code == "identity.password-short" and found.startswith("identity."))
    assert bench.entries() == before


# ------------------------------------------------------------------ closed and opened


@pytest.mark.clause("P11 11.100(a)", "P11 11.300(a)", "P11 11.300(c)")
@pytest.mark.refuses("P11 11.100(a)", "P11 11.10(d)", "P11 11.300(a)")
def test_a_closed_account_gets_nothing_and_its_name_is_never_given_again(bench: Bench) -> None:
    token = sign_in(bench.site, bench.key("ana"))
    bench.do(DisablePerson("p-ana.keel", "left"), "emil")
    assert refused(lambda: admit(bench.site, bench.key("ana"))) == "sign-in.refused"
    assert refused(lambda: admit(bench.site, Session(token))) == "sign-in.none"
    again = AddPerson("ana.keel", "Ana Keel", (Role.ANALYST,), "passport seen", NEW)
    alike = AddPerson("Ana.Keel", "Ana Keel", (Role.ANALYST,), "passport seen", NEW)
    for act in (again, alike):
        assert refused(partial(bench.do, act, "emil")).startswith("identity.")
    assert refused(lambda: bench.do(DisablePerson("p-ana.keel", "again"), "emil")) == "person.disabled-already"
    assert whole(bench)


@pytest.mark.clause("P11 11.100(b)", "P11 11.300(c)")
@pytest.mark.refuses("P11 11.100(b)", "P11 11.300(c)")
def test_an_account_opened_again_signs_only_once_somebody_else_confirmed_who_uses_it(bench: Bench) -> None:
    bench.do(DisablePerson("p-cleo.strand", "on leave"), "emil")
    bench.do(EnablePerson("p-cleo.strand", "back"), "emil")
    draft(bench)
    approve = ApproveDocument(STARTER)
    assert refused(lambda: bench.do(approve, "cleo")) == "person.suspended"
    admit(bench.site, bench.key("cleo"))  # reading goes on
    bench.do(ConfirmPerson("p-cleo.strand", SEEN), "dora")
    bench.do(approve, "cleo")
    assert whole(bench)


# ------------------------------------------------------------------ passwords


def draft(bench: Bench) -> None:
    """Something an approver can sign."""
    bench.do(AddDocument(starter("layouts/comma-list.yaml").encode(), "layout"), "ana")


@pytest.mark.clause("P11 11.300(b)")
@pytest.mark.refuses("P11 11.300(c)")
def test_a_new_password_of_one_s_own_ends_every_session_and_the_old_one(bench: Bench) -> None:
    token = sign_in(bench.site, bench.key("ana"))
    bench.do(ChangePassword(NEW), "ana")
    assert refused(lambda: admit(bench.site, bench.key("ana"))) == "sign-in.refused"
    assert refused(lambda: admit(bench.site, Session(token))) == "sign-in.none"
    assert admit(bench.site, Password("p-ana.keel", NEW)).signs
    assert whole(bench)


@pytest.mark.refuses("P11 11.300(c)")
def test_a_session_is_not_enough_for_a_new_password(bench: Bench) -> None:
    token = sign_in(bench.site, bench.key("ana"))
    assert refused(lambda: perform(bench.site, ChangePassword(NEW), Session(token))) == "act.signature-needed"


def test_the_same_password_again_is_none(bench: Bench) -> None:
    same = ChangePassword(bench.key("ana").password)
    assert refused(lambda: bench.do(same, "ana")) == "person.password-same"


@pytest.mark.refuses("DI Q5")
@pytest.mark.refuses("P11 11.300(b)", "P11 11.10(d)")
def test_a_password_for_once_opens_nothing_but_a_new_one(bench: Bench) -> None:
    bench.do(ResetPassword("p-ana.keel", ONCE, "forgotten"), "emil")
    once = Password("p-ana.keel", ONCE)
    assert refused(lambda: admit(bench.site, bench.key("ana"))) == "sign-in.refused"
    assert refused(lambda: sign_in(bench.site, once)) == "person.must-change-password"
    assert refused(lambda: admit(bench.site, once)) == "person.must-change-password"
    perform(bench.site, ChangePassword(NEW), once)
    assert refused(lambda: admit(bench.site, once)) == "sign-in.refused"
    assert admit(bench.site, Password("p-ana.keel", NEW)).person == "p-ana.keel"
    assert whole(bench)


@pytest.mark.refuses("DI Q5")
@pytest.mark.clause("P11 11.200(a)(3)")
@pytest.mark.refuses("P11 11.200(a)(3)")
def test_an_administrator_who_resets_cannot_sign_as_that_person(bench: Bench) -> None:
    """11.200(a)(3): the administrator knows the password for once, takes a new one, and still signs nothing."""
    draft(bench)
    bench.do(ResetPassword("p-cleo.strand", ONCE, "forgotten, he says"), "emil")
    perform(bench.site, ChangePassword(NEW), Password("p-cleo.strand", ONCE))
    stolen = Password("p-cleo.strand", NEW)
    sign = ApproveDocument(STARTER)
    assert refused(lambda: perform(bench.site, sign, stolen)) == "person.suspended"
    confirm = ConfirmPerson("p-cleo.strand", SEEN)
    assert refused(lambda: perform(bench.site, confirm, stolen)) == "person.suspended"
    assert refused(lambda: bench.do(confirm, "emil")) == "act.role"
    assert refused(lambda: bench.do(confirm, "ana")) == "act.role"
    bench.do(confirm, "dora")
    perform(bench.site, sign, stolen)
    assert whole(bench)


@pytest.mark.clause("P11 11.100(b)")
@pytest.mark.refuses("P11 11.200(a)(3)", "P11 11.100(b)")
def test_an_administrator_makes_nobody_up(bench: Bench) -> None:
    """Enrolled by one, the account neither signs nor does anything else before another approver knows the person."""
    draft(bench)
    for handle, role in (("gus.lock", Role.APPROVER), ("nils.wade", Role.ADMINISTRATOR)):
        name = handle.title().replace(".", " ")
        bench.do(AddPerson(handle, name, (role,), SEEN, f"{handle} over slate roofs"), "emil")
    ghost, helper = (Password(f"p-{name}", f"{name} over slate roofs") for name in ("gus.lock", "nils.wade"))
    bench.do(ResetPassword("p-ana.keel", ONCE, "forgotten, she says"), "emil")
    for act, key in (
        (ApproveDocument(STARTER), ghost),
        (ConfirmPerson("p-ana.keel", SEEN), ghost),
        (AcknowledgeEvents((1,), "all well"), ghost),
        (EnablePerson("p-ana.keel", "why not"), helper),
    ):
        assert refused(partial(perform, bench.site, act, key)) == "person.suspended"
    excepted(bench, "p-dora.fell")
    bench.do(ChangeRole("p-dora.fell", Role.ADMINISTRATOR, True, "Emil is away"), "emil")
    bench.do(AddPerson("ida.moor", "Ida Moor", (Role.ANALYST,), SEEN, "ida.moor over slate roofs"), "dora", "emil")
    assert refused(lambda: bench.do(ConfirmPerson("p-ida.moor", SEEN), "dora")) == "person.reset-by"
    bench.do(ConfirmPerson("p-gus.lock", SEEN), "cleo")
    perform(bench.site, ApproveDocument(STARTER), ghost)
    assert whole(bench)


@pytest.mark.refuses("P11 11.100(a)", "P11 11.200(a)(3)")
@pytest.mark.parametrize("taken_first", [False, True])
def test_a_service_never_becomes_a_person(bench: Bench, *, taken_first: bool) -> None:
    """A service waits for nobody's word; so it must not be the way round it."""
    bench.do(AddPerson("robot.one", "Robot One", (Role.SERVICE,), "a machine", "four grey herons walk"), "emil")
    if taken_first:
        bench.do(ChangeRole("p-robot.one", Role.SERVICE, False, "switched off"), "emil")
    give = ChangeRole("p-robot.one", Role.APPROVER, True, "clever")
    assert refused(lambda: bench.do(give, "emil")) == "person.service"
    back = ChangeRole("p-ana.keel", Role.SERVICE, True, "tireless")
    assert refused(lambda: bench.do(back, "emil")) == "person.service"


@pytest.mark.refuses("P11 11.200(a)(3)")
def test_whoever_reset_cannot_confirm_even_with_both_roles(bench: Bench) -> None:
    excepted(bench, "p-dora.fell")
    bench.do(ChangeRole("p-dora.fell", Role.ADMINISTRATOR, True, "Emil is away"), "emil")
    bench.do(ResetPassword("p-cleo.strand", ONCE, "forgotten"), "dora", "emil")
    confirm = ConfirmPerson("p-cleo.strand", SEEN)
    assert refused(lambda: bench.do(confirm, "dora")) == "person.reset-by"


@pytest.mark.refuses("P11 11.100(b)")
def test_confirming_needs_words_and_somebody_suspended(bench: Bench) -> None:
    assert refused(lambda: bench.do(ConfirmPerson("p-ana.keel", SEEN), "cleo")) == "person.not-suspended"
    bench.do(ResetPassword("p-ana.keel", ONCE, "forgotten"), "emil")
    assert refused(lambda: bench.do(ConfirmPerson("p-ana.keel", " "), "cleo")) == "person.identity-check"


@pytest.mark.clause("P11 11.100(a)")
def test_signatures_made_before_stay_what_they_are(bench: Bench) -> None:
    draft(bench)
    bench.do(ApproveDocument(STARTER), "cleo")
    bench.do(ResetPassword("p-cleo.strand", ONCE, "forgotten"), "emil")
    bench.do(DisablePerson("p-cleo.strand", "left"), "emil")
    assert whole(bench)


# ------------------------------------------------------------------ the envelope


def only_one_approver(bench: Bench) -> None:
    bench.do(MakeRecovery(SHA, ("Ada Brook", "Notary Hale")), "emil", "cleo")
    bench.do(DisablePerson("p-dora.fell", "left"), "emil")
    bench.do(ResetPassword("p-cleo.strand", ONCE, "forgotten"), "emil")


@pytest.mark.refuses("P11 11.200(a)(3)")
def test_both_halves_confirm_the_last_approver_once(bench: Bench) -> None:
    only_one_approver(bench)
    use = UseRecovery("p-cleo.strand", CODE, SEEN, "the only approver")
    assert refused(lambda: bench.do(UseRecovery("p-cleo.strand", "cd" * 32, SEEN, "x"), "emil")) == "recovery.wrong"
    assert refused(lambda: bench.do(UseRecovery("p-cleo.strand", "", SEEN, "x"), "emil")) == "recovery.wrong"
    bench.do(use, "emil")
    perform(bench.site, ChangePassword(NEW), Password("p-cleo.strand", ONCE))
    draft(bench)
    perform(bench.site, ApproveDocument(STARTER), Password("p-cleo.strand", NEW))
    bench.do(ResetPassword("p-cleo.strand", ONCE, "forgotten again"), "emil")
    assert refused(lambda: bench.do(use, "emil")) == "recovery.wrong"
    assert whole(bench)


@pytest.mark.clause("P11 11.300(e)")
def test_an_envelope_is_tried_and_stays_closed(bench: Bench) -> None:
    bench.do(MakeRecovery(SHA, ("Ada Brook", "Notary Hale")), "emil", "cleo")
    (said,) = [one for one in examine(bench.site) if one.code == "doctor.recovery-untried"]
    assert (said.where, "never tried" in said.what) == ("Ada Brook, Notary Hale", True)
    bench.do(CheckRecovery(CODE), "emil")
    assert not any(one.code == "doctor.recovery-untried" for one in examine(bench.site))
    bench.clock.now += timedelta(days=190)
    (said,) = [one for one in examine(bench.site) if one.code == "doctor.recovery-untried"]
    assert "last tried on" in said.what
    bench.do(CheckRecovery(CODE), "emil")
    bench.do(ResetPassword("p-cleo.strand", ONCE, "forgotten"), "emil")
    bench.do(UseRecovery("p-cleo.strand", CODE, SEEN, "nobody else is here"), "emil")
    assert not any(one.code == "doctor.recovery-untried" for one in examine(bench.site))
    assert whole(bench)


@pytest.mark.refuses("P11 11.300(e)")
def test_a_trial_that_fails_is_no_trial(bench: Bench) -> None:
    """NEG: halves of an older envelope, of none, mistyped, or one already used; and an approver tries."""
    tried = CheckRecovery(CODE)
    assert refused(lambda: bench.do(tried, "emil")) == "recovery.wrong"
    bench.do(MakeRecovery(sha256(b"older").hexdigest(), ("Ada Brook", "Notary Hale")), "emil", "cleo")
    bench.do(MakeRecovery(SHA, ("Ada Brook", "Notary Hale")), "emil", "cleo")
    for code in ("older", "", CODE[:-1], CODE.replace(CODE[0], "0" if CODE[0] != "0" else "1", 1)):
        assert refused(lambda code=code: bench.do(CheckRecovery(code), "emil")) == "recovery.wrong"  # type: ignore[misc]
    assert refused(lambda: bench.do(tried, "cleo")) == "act.role"
    assert any(one.code == "doctor.recovery-untried" for one in examine(bench.site))
    bench.do(ResetPassword("p-cleo.strand", ONCE, "forgotten"), "emil")
    assert refused(lambda: bench.do(ApproveDocument(STARTER), "cleo")) != ""
    bench.do(UseRecovery("p-cleo.strand", CODE, SEEN, "nobody else is here"), "emil")
    assert refused(lambda: bench.do(tried, "emil")) == "recovery.wrong"


def test_a_newer_envelope_takes_the_place_of_the_older(bench: Bench) -> None:
    bench.do(MakeRecovery(SHA, ("Ada Brook", "Notary Hale")), "emil", "cleo")
    newer = sha256(b"other").hexdigest()
    bench.do(MakeRecovery(newer, ("Ada Brook", "Notary Hale")), "emil", "cleo")
    bench.do(ResetPassword("p-cleo.strand", ONCE, "forgotten"), "emil")
    assert refused(lambda: bench.do(UseRecovery("p-cleo.strand", CODE, SEEN, "x"), "emil")) == "recovery.wrong"


@pytest.mark.refuses("P11 11.200(a)(3)")
def test_an_envelope_needs_two_people_and_two_custodians(bench: Bench) -> None:
    act = MakeRecovery(SHA, ("Ada Brook", "Ada Brook"))
    assert refused(lambda: bench.do(act, "emil", "cleo")) == "recovery.custodians"
    excepted(bench, "p-dora.fell")
    bench.do(ChangeRole("p-dora.fell", Role.ADMINISTRATOR, True, "Emil is away"), "emil")
    both = MakeRecovery(SHA, ("Ada Brook", "Notary Hale"))
    assert refused(lambda: bench.do(both, "dora", "dora")) == "duty.same-checker"


def test_the_code_is_on_no_record(bench: Bench) -> None:
    only_one_approver(bench)
    bench.do(UseRecovery("p-cleo.strand", CODE, SEEN, "the only approver"), "emil")
    with bench.site.store.reading() as view:
        assert all(CODE.encode() not in body for _, body, _, _ in view.entries())
