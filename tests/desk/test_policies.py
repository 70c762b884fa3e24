"""Policies: who has not acknowledged the version in force signs nothing; each acknowledges for themselves."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

import pytest
from tests.desk.test_accounts import ONCE, STARTER, draft, refused, whole

from benchseal.desk.acts_documents import AddDocument, ApproveDocument
from benchseal.desk.acts_people import AddPerson, ChangePassword, ResetPassword
from benchseal.desk.acts_policies import AcknowledgePolicy
from benchseal.desk.admission import Password, Session, sign_in
from benchseal.desk.perform import perform
from benchseal.desk.policies import not_yet, policy_in_force
from benchseal.records.people import Role
from benchseal.shipped import starter
from benchseal.upkeep.doctor import examine

if TYPE_CHECKING:
    from tests.conftest import Bench

TEXT = starter("policies/signing.yaml")


def in_force(bench: Bench, text: str = TEXT, approver: str = "cleo") -> None:
    bench.do(AddDocument(text.encode("utf-8"), "signing.yaml"), "ana")
    bench.do(ApproveDocument("SIGNING"), approver)


def figures(bench: Bench) -> str:
    with bench.site.store.reading() as view:
        return str(policy_in_force(view, "SIGNING")[0]["value"][:8])


def missing(bench: Bench) -> list[str]:
    with bench.site.store.reading() as view:
        return not_yet(view, policy_in_force(view, "SIGNING")[0])


@pytest.mark.clause("P11 11.10(j)")
def test_whoever_acknowledged_signs(bench: Bench) -> None:
    in_force(bench)
    draft(bench)
    bench.do(AcknowledgePolicy("SIGNING", figures(bench)), "cleo")
    assert missing(bench) == ["p-ana.keel", "p-ben.marsh", "p-dora.fell", "p-emil.holt"]
    bench.do(ApproveDocument(STARTER), "cleo")
    assert whole(bench)


@pytest.mark.refuses("P11 11.10(j)")
def test_nobody_signs_before_acknowledging(bench: Bench) -> None:
    draft(bench)
    in_force(bench)
    before = bench.entries()
    assert refused(lambda: bench.do(ApproveDocument(STARTER), "cleo")) == "policy.not-acknowledged"
    assert bench.entries() == before


@pytest.mark.refuses("P11 11.10(j)")
def test_a_new_version_asks_again(bench: Bench) -> None:
    draft(bench)
    in_force(bench)
    bench.do(AcknowledgePolicy("SIGNING", figures(bench)), "cleo")
    in_force(bench, TEXT.replace("mine alone", "mine, and mine alone"), "cleo")
    assert refused(lambda: bench.do(ApproveDocument(STARTER), "cleo")) == "policy.not-acknowledged"
    bench.do(AcknowledgePolicy("SIGNING", figures(bench)), "cleo")
    bench.do(ApproveDocument(STARTER), "cleo")


def test_a_policy_itself_is_approved_by_somebody_who_has_not_acknowledged_one(bench: Bench) -> None:
    in_force(bench)
    in_force(bench, TEXT.replace("mine alone", "mine, and mine alone"), "dora")
    assert "p-dora.fell" in missing(bench)


def test_a_policy_for_another_purpose_bars_nobody(bench: Bench) -> None:
    draft(bench)
    in_force(bench, TEXT.replace("purpose: signing", "purpose: records"))
    bench.do(ApproveDocument(STARTER), "cleo")
    assert len(missing(bench)) == 5


def test_a_draft_of_a_policy_bars_nobody(bench: Bench) -> None:
    draft(bench)
    bench.do(AddDocument(TEXT.encode("utf-8"), "signing.yaml"), "ana")
    bench.do(ApproveDocument(STARTER), "cleo")


@pytest.mark.parametrize(
    ("name", "seen", "code"),
    [
        pytest.param("SIGNING", "", "policy.not-read", id="no figures"),
        pytest.param("SIGNING", "00000000", "policy.not-read", id="figures of something else"),
        pytest.param("CONDUCT", "00000000", "policy.unknown", id="a policy there is not"),
    ],
)
def test_what_is_no_acknowledgement(bench: Bench, name: str, seen: str, code: str) -> None:
    in_force(bench)
    assert refused(lambda: bench.do(AcknowledgePolicy(name, seen), "ana")) == code


def test_twice_is_said(bench: Bench) -> None:
    in_force(bench)
    act = AcknowledgePolicy("SIGNING", figures(bench))
    bench.do(act, "ana")
    assert refused(lambda: bench.do(act, "ana")) == "policy.already"


def test_an_open_session_is_not_enough_and_a_service_acknowledges_nothing(bench: Bench) -> None:
    in_force(bench)
    act = AcknowledgePolicy("SIGNING", figures(bench))
    session = Session(sign_in(bench.site, bench.key("ana")))
    assert refused(partial(perform, bench.site, act, session)) == "act.signature-needed"
    bench.do(AddPerson("robot.one", "Robot One", (Role.SERVICE,), "a machine", "four grey herons walk"), "emil")
    service = Password("p-robot.one", "four grey herons walk")
    assert refused(partial(perform, bench.site, act, service)) == "act.role"
    assert "p-robot.one" not in missing(bench)


@pytest.mark.refuses("P11 11.200(a)(3)")
def test_an_administrator_cannot_acknowledge_in_somebody_s_place(bench: Bench) -> None:
    in_force(bench)
    act = AcknowledgePolicy("SIGNING", figures(bench))
    bench.do(ResetPassword("p-ana.keel", ONCE, "forgotten"), "emil")
    lent = Password("p-ana.keel", ONCE)
    assert refused(partial(perform, bench.site, act, lent)) == "person.must-change-password"
    perform(bench.site, ChangePassword("a walnut desk with nine drawers"), lent)
    taken = Password("p-ana.keel", "a walnut desk with nine drawers")
    assert refused(partial(perform, bench.site, act, taken)) == "person.suspended"


def test_the_doctor_names_who_cannot_sign_yet(bench: Bench) -> None:
    in_force(bench)
    bench.do(AcknowledgePolicy("SIGNING", figures(bench)), "cleo")
    (said,) = [one.what for one in examine(bench.site) if one.code == "doctor.policy"]
    assert "p-ana.keel" in said
    assert "p-cleo.strand" not in said
