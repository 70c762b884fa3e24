"""``verify --all`` asks the record what the door asked: whether each act under an exception has its second word."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest
from tests.desk.test_accounts import excepted

from benchseal.desk.acting import Acting, Who
from benchseal.desk.acts_people import ChangeRole, UnlockPerson
from benchseal.desk.acts_security import AcknowledgeEvents
from benchseal.desk.acts_upkeep import NoteBackup
from benchseal.desk.checking import verify_site
from benchseal.desk.checking_seconds import ADMINISTRATIVE
from benchseal.desk.reading import all_entries
from benchseal.records.canonical import canonical_bytes
from benchseal.records.people import Role
from benchseal.records.signatures import Meaning

if TYPE_CHECKING:
    from collections.abc import Callable

    from tests.conftest import Bench

    from benchseal.problems import Finding

UNLOCK = UnlockPerson("p-ben.marsh", "he asked")
CLEO = Who("p-cleo.strand", "Cleo Strand", frozenset({Role.APPROVER}), signs=True)
ANA = Who("p-ana.keel", "Ana Keel", frozenset({Role.ANALYST, Role.ADMINISTRATOR}), signs=True)


@pytest.fixture
def doubled(bench: Bench) -> Bench:
    """Ana is analyst and administrator, by exception."""
    excepted(bench, "p-ana.keel")
    bench.do(ChangeRole("p-ana.keel", Role.ADMINISTRATOR, True, "two of us"), "emil")
    return bench


def found(bench: Bench) -> list[Finding]:
    findings = verify_site(bench.site).findings
    assert {one.code for one in findings} <= {"integrity.second-person"}
    return list(findings)


def around_the_door(bench: Bench, word: Callable[[Acting, int, bytes], None] | None = None) -> int:
    """Ana unlocks Ben, written by somebody who has the store and needs no door. word: what is written beside it."""
    site = bench.site
    with site.store.writing() as tx:
        acting = Acting(site, tx, (ANA,), bench.clock())
        seq = acting.write("person.unlocked", "person/p-ben.marsh", reason="he asked")
        if word is not None:
            word(acting, seq, next(tx.entries(seq))[2])
    return seq


def signed_off(acting: Acting, who: Who, role: Role, entries: list[dict[str, Any]]) -> None:
    kept = acting.tx.keep(canonical_bytes({"schema": "sign-off/1", "command": "person unlock", "entries": [*entries]}))
    subject = f"sign-off/{acting.tx.size()}"
    signature = acting.sign(who, role, Meaning.APPROVED, subject, version=1, digest=kept)
    facts: dict[str, Any] = {"command": "person unlock", "signature": signature}
    acting.write("administration.signed_off", subject, facts=facts, digests={"sign_off": kept}, actor=who.person)


@pytest.mark.clause("P11 11.10(g)", "DI Q4")
def test_acts_that_went_through_the_door_are_whole(doubled: Bench) -> None:
    doubled.do(UNLOCK, "ana", "cleo")
    doubled.do(NoteBackup("b.zip", "ab" * 32, 1, 1, "cd" * 32), "ana", "dora")
    doubled.do(UNLOCK, "emil")  # who is nothing else needs nobody
    doubled.do(ChangeRole("p-ana.keel", Role.ANALYST, False, "Emil is back"), "emil")
    doubled.do(UNLOCK, "ana")  # nor does ana, once she does not work on results
    assert found(doubled) == []


@pytest.mark.refuses("P11 11.10(g)", "DI Q4", "P11 11.200(a)(3)")
def test_an_act_alone_is_named(doubled: Bench) -> None:
    doubled.do(UNLOCK, "ana", "cleo")
    seq = around_the_door(doubled)
    (one,) = found(doubled)
    assert one.where.startswith(f"entry {seq} (")
    assert "p-ana.keel also worked on results" in one.what


@pytest.mark.refuses("P11 11.10(g)", "DI Q4")
@pytest.mark.parametrize(
    ("word", "said"),
    [
        pytest.param(
            lambda acting, seq, leaf: signed_off(acting, ANA, Role.ADMINISTRATOR, [{"seq": seq, "leaf": leaf.hex()}]),
            "signed their own act", id="by herself",
        ),
        pytest.param(
            lambda acting, seq, _: signed_off(acting, CLEO, Role.APPROVER, [{"seq": seq, "leaf": "ab" * 32}]),
            "as it is not", id="about an entry as it is not",
        ),
        pytest.param(lambda acting, _, __: signed_off(acting, CLEO, Role.APPROVER, []), "", id="about nothing"),
        pytest.param(
            lambda acting, seq, leaf: signed_off(acting, CLEO, Role.APPROVER, [{"seq": seq - 1, "leaf": leaf.hex()}]),
            "", id="about another entry",
        ),
        pytest.param(
            lambda acting, seq, leaf: signed_off(acting, CLEO, Role.APPROVER, [{"seq": seq, "leaf": leaf.hex()}]),
            None, id="as it should be",
        ),
    ],
)  # fmt: skip
def test_a_second_word_that_does_not_count_is_named(doubled: Bench, word: Any, said: str | None) -> None:  # noqa: ANN401
    seq = around_the_door(doubled, word)
    findings = found(doubled)
    if said is None:
        assert findings == []
        return
    assert any(one.where.startswith(f"entry {seq} (") for one in findings)
    assert not said or any(said in one.what for one in findings)


@pytest.mark.refuses("P11 11.10(g)")
def test_a_second_word_that_comes_later_does_not_count(doubled: Bench) -> None:
    seq = around_the_door(doubled)
    with doubled.site.store.writing() as tx:
        acting = Acting(doubled.site, tx, (CLEO,), doubled.clock())
        signed_off(acting, CLEO, Role.APPROVER, [{"seq": seq, "leaf": next(tx.entries(seq))[2].hex()}])
    assert {"another moment" in one.what for one in found(doubled)} == {True, False}


@pytest.mark.refuses("P11 11.10(g)")
def test_an_act_after_the_exception_ended_is_named(doubled: Bench) -> None:
    doubled.clock.now = doubled.clock.now.replace(month=9, day=2)  # the exception ends on the first
    around_the_door(
        doubled, lambda acting, seq, leaf: signed_off(acting, CLEO, Role.APPROVER, [{"seq": seq, "leaf": leaf.hex()}])
    )
    (one,) = found(doubled)
    assert "no exception was in force" in one.what


def test_an_approver_who_acknowledges_needs_nobody(doubled: Bench) -> None:
    with doubled.site.store.writing() as tx:
        Acting(doubled.site, tx, (ANA,), doubled.clock()).write(
            "clock.back", f"site/{doubled.site.ledger}", facts={"seconds": 3, "last_at": "x"}, actor="program"
        )
    doubled.do(AcknowledgeEvents((doubled.entries(),), "seen"), "cleo")
    assert found(doubled) == []


def test_every_kind_of_an_administrative_act_is_looked_at(doubled: Bench) -> None:
    """Entries are read only where a mark stands in their bytes: no such kind may be without one."""
    from benchseal.desk.checking_signers import _MARKS  # noqa: PLC0415

    assert all(any(mark in f'"kind":"{kind}"'.encode() for mark in _MARKS) for kind in ADMINISTRATIVE)
    with doubled.site.store.reading() as view:
        assert {entry.kind for entry in all_entries(view)} & ADMINISTRATIVE
