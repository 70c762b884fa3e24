"""Who may do what: every act with every role in every place, and two people where two are needed.

The matrix is made from ``ACTS``: a new act has its cells by itself. Where the roles suffice, the act's function is
reached, and a probe stands in its place.
"""

from __future__ import annotations

from dataclasses import fields
from enum import Enum
from itertools import product
from typing import TYPE_CHECKING, Any, get_type_hints

import pytest

from benchseal.desk import perform as door
from benchseal.desk.acts import ACTS
from benchseal.desk.acts_documents import AddDocument, ApproveDocument
from benchseal.desk.acts_people import AddPerson, ChangeRole, ConfirmPerson, DisablePerson, EnablePerson
from benchseal.desk.admission import Password, Session, sign_in
from benchseal.desk.perform import perform
from benchseal.desk.second import is_administrative
from benchseal.problems import Refusal, Stopped
from benchseal.records.people import Role
from benchseal.review.cycles import CERTIFICATE, DOCUMENT, RUN, decide
from benchseal.review.duty import CONTRIBUTING, Situation
from benchseal.shipped import starter

if TYPE_CHECKING:
    from collections.abc import Callable

    from tests.conftest import Bench

    from benchseal.review.cycles import Cycle

NOBODY = "nobody"  # enrolled, and every role taken away again
WORD = "four grey herons walk"
CELLS = [
    (act, row, place, role)
    for act, row in ACTS.items()
    for place, role in product(range(len(row.signers)), (*Role, NOBODY))
]


class Reached(Exception):  # noqa: N818  no error: the act's function would run now
    """Everything before the act's function let it pass."""


def reach(*_: object) -> None:
    raise Reached


def filled(act: type) -> object:
    """An act with something in each field: what it says is never looked at before the people are."""
    hints = get_type_hints(act)
    return act(**{field.name: something(hints[field.name]) for field in fields(act)})


def something(kind: Any) -> object:  # noqa: ANN401  an annotation
    if isinstance(kind, type) and issubclass(kind, Enum):
        return next(iter(kind))
    plain = {str: "x", bytes: b"x", int: 1, bool: True}
    return next((value for known, value in plain.items() if kind is known), ())


def person_with(bench: Bench, role: str, number: int) -> Password:
    """Somebody who has this role and no other."""
    handle = f"{role[:4]}{'abc'[number]}.vale"
    first = Role.AUDITOR if role == NOBODY else Role(role)
    name = f"{role.title()} {'ABC'[number]}ston"
    bench.do(AddPerson(handle, name, (first,), "passport seen", WORD), "emil")
    if first is not Role.SERVICE:
        bench.do(ConfirmPerson(f"p-{handle}", "passport seen"), "cleo")
    if role == NOBODY:
        bench.do(ChangeRole(f"p-{handle}", first, gives=False, reason="moved"), "emil")
    return Password(f"p-{handle}", WORD)


@pytest.mark.clause("17025 7.11.3")
@pytest.mark.clause("P11 11.10(g)", "A11 12.1", "DI Q4")
@pytest.mark.refuses("P11 11.10(g)", "P11 11.10(d)", "A11 12.1", "DI Q4")
def test_every_act_with_every_role_in_every_place(bench: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    """One person at a time has another role; the others of the act have one that is asked for."""
    people = {role: person_with(bench, role, 0) for role in (*Role, NOBODY)}
    seconds = {role: person_with(bench, role, 1) for role in Role}
    monkeypatch.setattr(door, "_function", lambda _: reach)
    before = bench.entries()
    wrong = []
    for act, row, place, role in CELLS:
        given = [seconds[min(signer.roles)] for signer in row.signers]
        given[place] = people[role]
        allowed = role in row.signers[place].roles
        said = ""
        try:
            perform(bench.site, filled(act), *given)
        except Reached:
            pass
        except Stopped as stop:
            said = stop.notices[0].code
        if said != ("" if allowed else "act.role"):
            wrong.append((act, place, role, said))
    assert wrong == []
    assert bench.entries() == before
    assert len(CELLS) == sum(len(row.signers) for row in ACTS.values()) * (len(Role) + 1)


@pytest.mark.clause("P11 11.200(a)(1)(i)", "P11 11.200(a)(1)(ii)", "A11d 13")
@pytest.mark.refuses("P11 11.200(a)(1)", "P11 11.200(a)(1)(i)", "P11 11.200(a)(1)(ii)", "A11d 13")
def test_no_act_that_signs_takes_a_session(bench: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    """In any place; with user id and password the same people are let in."""
    people = {role: person_with(bench, role, 0) for role in Role}
    seconds = {role: person_with(bench, role, 1) for role in Role}
    monkeypatch.setattr(door, "_function", lambda _: reach)
    signs = [(act, row) for act, row in ACTS.items() if any(signer.meaning for signer in row.signers)]
    for act, row in signs:
        given = [(people, seconds)[place][min(one.roles)] for place, one in enumerate(row.signers)]
        with pytest.raises(Reached):
            perform(bench.site, filled(act), *given)
        for place in (place for place, signer in enumerate(row.signers) if signer.meaning):
            session = Session(sign_in(bench.site, given[place]))
            with pytest.raises(Stopped) as stop:
                perform(bench.site, filled(act), *given[:place], session, *given[place + 1 :])
            assert stop.value.notices[0].code == "act.signature-needed"
    assert signs


def test_an_act_takes_as_many_people_as_it_names_and_no_more(bench: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(door, "_function", lambda _: reach)
    key = bench.key("emil")
    for act, row in ACTS.items():
        needed = sum(not signer.optional for signer in row.signers)
        for count in {0, needed - 1, len(row.signers) + 1}:
            with pytest.raises(Stopped) as stop:
                perform(bench.site, filled(act), *[key] * count)
            # one more may agree to an administrative act, but not the same person again
            beside = count > len(row.signers) and is_administrative(row)
            assert stop.value.notices[0].code == ("duty.same-checker" if beside else "act.signers")


# ------------------------------------------------------------------ two people

CHECKS: tuple[tuple[Cycle, str, str], ...] = (
    (RUN, "submitted", "accept"),
    (RUN, "submitted", "return"),
    (CERTIFICATE, "draft", "approve"),
    (CERTIFICATE, "approved", "release"),
    (DOCUMENT, "draft", "approve"),
)
OWN_WORK = [
    pytest.param(cycle, state, act, deed, id=f"{deed}, then {act} {cycle.name}")
    for (cycle, state, act), deed in product(CHECKS, sorted(CONTRIBUTING))
]


@pytest.mark.refuses("P11 11.10(g)", "P211.194(a)(8)")
@pytest.mark.parametrize(("cycle", "state", "act", "deed"), OWN_WORK)
def test_whoever_did_it_does_not_check_it(cycle: Cycle, state: str, act: str, deed: str) -> None:
    known = Situation("it", state, contributors={"p-ana": (deed,), "p-ben": ()})
    refused = decide(cycle, act, known, "p-ana")
    assert isinstance(refused, Refusal)
    assert refused.code == "duty.own-work"
    assert deed in refused.what
    assert decide(cycle, act, known, "p-ben") == cycle.moves[state, act]


@pytest.mark.refuses("P11 11.10(g)")
@pytest.mark.parametrize(("cycle", "state", "act"), CHECKS)
def test_whoever_checked_it_does_not_do_the_next_check(cycle: Cycle, state: str, act: str) -> None:
    known = Situation("it", state, checkers={"p-ana": ("review",)})
    refused = decide(cycle, act, known, "p-ana")
    assert isinstance(refused, Refusal)
    assert refused.code == "duty.same-checker"
    assert decide(cycle, act, known, "p-ben") == cycle.moves[state, act]


STARTER = "layout/comma-list"


def drafted(bench: Bench) -> None:
    """Ana wrote a layout, and may approve by her roles."""
    bench.do(AddDocument(starter("layouts/comma-list.yaml").encode(), "layout"), "ana")
    bench.do(ChangeRole("p-ana.keel", Role.APPROVER, gives=True, reason="trained"), "emil")


def same(bench: Bench) -> Password:
    return bench.key("ana")


def by_another_spelling(bench: Bench) -> Password:
    return Password("Ana.Keel", bench.key("ana").password)


def without_the_first_role(bench: Bench) -> Password:
    bench.do(ChangeRole("p-ana.keel", Role.ANALYST, gives=False, reason="moved to quality"), "emil")
    return bench.key("ana")


def closed_and_opened_again(bench: Bench) -> Password:
    bench.do(DisablePerson("p-ana.keel", "on leave"), "emil")
    bench.do(EnablePerson("p-ana.keel", "back"), "emil")
    bench.do(ConfirmPerson("p-ana.keel", "passport seen"), "cleo")
    return bench.key("ana")


@pytest.mark.refuses("P11 11.10(g)", "P11 11.10(k)(2)", "A11 10")
@pytest.mark.parametrize("who", [same, by_another_spelling, without_the_first_role, closed_and_opened_again])
def test_an_author_stays_the_author(bench: Bench, who: Callable[[Bench], Password]) -> None:
    drafted(bench)
    key = who(bench)
    with pytest.raises(Stopped) as stop:
        perform(bench.site, ApproveDocument(STARTER), key)
    assert stop.value.notices[0].code == "duty.own-work"
    bench.do(ApproveDocument(STARTER), "cleo")


@pytest.mark.refuses("P11 11.100(a)", "P11 11.10(g)")
def test_nobody_becomes_a_second_person(bench: Bench) -> None:
    """The way round is another account of one's own, and look-alikes are not enrolled."""
    for handle, name in (
        ("ana-keel", "Anna Kehl"),
        ("anakeel", "Anna Kehl"),
        ("a.keel", "Ana Keel"),
        ("new", "ANA KEEL"),
    ):
        with pytest.raises(Stopped) as stop:
            bench.do(AddPerson(handle, name, (Role.APPROVER,), "passport seen", WORD), "emil")
        assert stop.value.notices[0].code in {"identity.person-alike", "identity.name-alike"}
