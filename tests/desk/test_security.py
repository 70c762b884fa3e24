"""Events somebody has to see, a clock that goes back, access reviewed: each put on record and acknowledged by two."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from functools import partial
from typing import TYPE_CHECKING

import pytest
from argon2 import PasswordHasher
from tests.conftest import cheap_hashes
from tests.desk.test_accounts import ONCE, STARTER, draft, refused, whole

from benchseal.desk.acting import Acting, Who
from benchseal.desk.acts_documents import ApproveDocument
from benchseal.desk.acts_people import (
    ChangePassword,
    ChangeRole,
    ConfirmPerson,
    DisablePerson,
    ResetPassword,
    UnlockPerson,
)
from benchseal.desk.acts_security import AcknowledgeEvents, ConfirmClock, ReviewAccess
from benchseal.desk.admission import Password, admit
from benchseal.desk.checking import verify_site
from benchseal.desk.past import people_as_of
from benchseal.desk.perform import perform
from benchseal.desk.security import access_list, open_events
from benchseal.desk.site import open_site
from benchseal.identity.password_hashes import PasswordCheck, PasswordHashes
from benchseal.records.canonical import canonical_bytes, digest
from benchseal.records.entries import read_entry
from benchseal.records.people import Role
from benchseal.upkeep.doctor import examine

if TYPE_CHECKING:
    from tests.conftest import Bench


def kinds(bench: Bench) -> list[str]:
    with bench.site.store.reading() as view:
        return [read_entry(body).kind for _, body, _, _ in view.entries()]


def events(bench: Bench) -> list[tuple[int, str]]:
    with bench.site.store.reading() as view:
        return [(int(row["event"]), row["kind"]) for row in open_events(view)]


def guess(bench: Bench, person: str, times: int) -> None:
    for _ in range(times):
        refused(partial(admit, bench.site, Password(person, "not this one, surely")))


# ------------------------------------------------------------------ locked accounts


@pytest.mark.clause("P11 11.300(d)")
@pytest.mark.refuses("P11 11.300(d)", "A11 12.1")
def test_the_fifth_wrong_password_is_an_event_and_a_sixth_try_none(bench: Bench) -> None:
    guess(bench, "p-ana.keel", 4)
    assert events(bench) == []
    guess(bench, "p-ana.keel", 3)
    assert [kind for _, kind in events(bench)] == ["person.locked"]
    bench.clock.now += timedelta(minutes=31)
    guess(bench, "p-ana.keel", 5)
    assert [kind for _, kind in events(bench)] == ["person.locked"] * 2
    assert whole(bench)


@pytest.mark.refuses("P11 11.300(d)")
def test_the_right_one_of_many_guesses_at_once_does_not_count(bench: Bench) -> None:
    """While the right one is being checked, five wrong ones checked beside it lock the account."""

    class Beside(PasswordHashes):
        def check(self, kept: str | None, password: str) -> PasswordCheck:
            guess(bench, "p-ana.keel", 5)
            return bench.site.hashes.check(kept, password)

    slow = replace(bench.site, hashes=Beside(PasswordHasher(time_cost=1, memory_cost=8, parallelism=1)))
    assert refused(lambda: admit(slow, bench.key("ana"))) == "identity.locked"
    bench.clock.now += timedelta(minutes=31)
    assert admit(bench.site, bench.key("ana")).person == "p-ana.keel"


def test_guessing_at_nobody_s_account_writes_nothing(bench: Bench) -> None:
    before = bench.entries()
    guess(bench, "p-nobody", 7)
    assert bench.entries() == before


@pytest.mark.refuses("P11 11.300(d)")
def test_a_lock_outlives_the_program(bench: Bench) -> None:
    """The count is kept in the store, not in a process."""
    guess(bench, "p-ana.keel", 5)
    again = open_site(bench.site.folder, clock=bench.clock, hashes=cheap_hashes)
    try:
        assert refused(lambda: admit(again, bench.key("ana"))) == "identity.locked"
    finally:
        again.store.close()


# ------------------------------------------------------------------ acknowledged by two


@pytest.mark.clause("P11 11.300(d)", "A11 13")
def test_an_event_stays_open_until_both_have_seen_it(bench: Bench) -> None:
    bench.do(ResetPassword("p-ana.keel", ONCE, "forgotten"), "emil")
    ((number, kind),) = events(bench)
    assert kind == "person.password_reset"
    seen = AcknowledgeEvents((number,), "she was there")
    bench.do(seen, "emil")
    assert events(bench)
    assert refused(lambda: bench.do(seen, "emil")) == "event.already"
    bench.do(seen, "cleo")
    assert events(bench) == []
    assert whole(bench)


@pytest.mark.refuses("P11 11.300(d)", "A11 13")
@pytest.mark.parametrize(
    ("numbers", "comment", "name", "code"),
    [
        ((99,), "seen", "emil", "event.unknown"),
        ((), "seen", "emil", "event.which"),
        ((2,), " ", "emil", "act.reason"),
        ((2,), "seen", "ana", "act.role"),
        ((2,), "seen", "cleo", "event.own"),
    ],
)
def test_what_is_no_acknowledgement(bench: Bench, numbers: tuple[int, ...], comment: str, name: str, code: str) -> None:
    bench.do(ResetPassword("p-cleo.strand", ONCE, "forgotten"), "emil")
    perform(bench.site, ChangePassword(bench.key("cleo").password), Password("p-cleo.strand", ONCE))
    bench.do(ConfirmPerson("p-cleo.strand", "passport seen"), "dora")
    assert events(bench) == [(2, "person.password_reset")]
    assert refused(lambda: bench.do(AcknowledgeEvents(numbers, comment), name)) == code


@pytest.mark.clause("P11 11.300(d)", "A11 13")
def test_the_doctor_names_what_nobody_has_seen(bench: Bench) -> None:
    bench.do(ResetPassword("p-ana.keel", ONCE, "forgotten"), "emil")
    codes = [one.code for one in examine(bench.site)]
    assert {"doctor.event", "doctor.suspended"} <= set(codes)
    bench.do(ConfirmPerson("p-ana.keel", "passport seen"), "cleo")
    assert "doctor.suspended" not in [one.code for one in examine(bench.site)]


# ------------------------------------------------------------------ the clock


@pytest.mark.refuses("DI Q12", "DI Q1a")
@pytest.mark.clause("PI041 consistent")
@pytest.mark.refuses("PI041 consistent", "P11 11.10(e)")
def test_a_clock_that_went_back_is_on_record_and_signing_waits_for_an_administrator(bench: Bench) -> None:
    draft(bench)
    sign = ApproveDocument(STARTER)
    bench.clock.now -= timedelta(hours=3)
    assert refused(lambda: bench.do(sign, "cleo")) == "clock.went-back"
    bench.do(UnlockPerson("p-ana.keel", "she asked"), "emil")  # what is not signed goes on
    assert kinds(bench)[-2:] == ["clock.back", "person.unlocked"]
    assert refused(lambda: bench.do(sign, "cleo")) == "clock.unconfirmed"
    bench.do(UnlockPerson("p-ana.keel", "she asked again"), "emil")
    assert kinds(bench).count("clock.back") == 1
    bench.do(ConfirmClock("time service restored"), "emil")
    bench.do(sign, "cleo")
    assert [kind for _, kind in events(bench)] == ["clock.back"]
    assert whole(bench)


def test_two_seconds_back_are_no_event(bench: Bench) -> None:
    bench.do(UnlockPerson("p-ana.keel", "she asked"), "emil")
    with bench.site.store.reading() as view:
        last = read_entry(next(view.entries(view.size()))[1]).at
    bench.clock.step = timedelta()
    bench.clock.now -= timedelta(seconds=1)
    bench.do(UnlockPerson("p-ana.keel", "she asked"), "emil")
    with bench.site.store.reading() as view:
        assert read_entry(next(view.entries(view.size()))[1]).at <= last
    assert "clock.back" not in kinds(bench)
    assert whole(bench)


@pytest.mark.refuses("P11 11.10(g)")
def test_only_an_administrator_confirms_a_clock_and_only_when_it_went_back(bench: Bench) -> None:
    act = ConfirmClock("looks right")
    assert refused(lambda: bench.do(act, "emil")) == "clock.nothing-open"
    assert refused(lambda: bench.do(act, "cleo")) == "act.role"
    assert refused(lambda: bench.do(ConfirmClock(""), "emil")) == "act.reason"


@pytest.mark.refuses("PI041 consistent")
def test_an_earlier_time_without_an_entry_that_says_so_is_found(bench: Bench) -> None:
    bench.do(UnlockPerson("p-ana.keel", "she asked"), "emil")
    who = Who("p-emil.holt", "Emil Holt", frozenset(), signs=False)
    with bench.site.store.writing() as tx:
        acting = Acting(bench.site, tx, (who,), bench.clock() - timedelta(hours=1))
        acting.write("person.unlocked", "person/p-ana.keel", reason="written around the door")
    assert [one.code for one in verify_site(bench.site).findings] == ["integrity.time-order"]


# ------------------------------------------------------------------ who has access


def figures(bench: Bench) -> str:
    with bench.site.store.reading() as view:
        return digest(canonical_bytes(access_list(view)))[:8]


@pytest.mark.clause("P11 11.300(b)")
@pytest.mark.refuses("P11 11.300(b)")
def test_a_review_signs_the_list_that_was_looked_at(bench: Bench) -> None:
    seen = figures(bench)
    bench.do(ChangeRole("p-ana.keel", Role.APPROVER, gives=True, reason="trained"), "emil")
    assert refused(lambda: bench.do(ReviewAccess(seen, "all right"), "cleo")) == "access.changed"
    bench.do(ReviewAccess(figures(bench), "all right"), "cleo")
    assert whole(bench)


@pytest.mark.clause("P11 11.300(b)")
def test_an_overdue_review_is_named(bench: Bench) -> None:
    bench.clock.now += timedelta(days=184)
    assert "doctor.access-review" in [one.code for one in examine(bench.site)]
    bench.do(ReviewAccess(figures(bench), "all right"), "cleo")
    assert "doctor.access-review" not in [one.code for one in examine(bench.site)]


@pytest.mark.clause("A11 12.3", "A11d 12.1")
def test_who_had_which_role_on_a_day_is_told_from_the_record(bench: Bench) -> None:
    bench.do(ChangeRole("p-ana.keel", Role.APPROVER, gives=True, reason="trained"), "emil")
    bench.clock.now += timedelta(days=1)
    bench.do(DisablePerson("p-ana.keel", "left"), "emil")
    found = {}
    with bench.site.store.reading() as view:
        for day in ("2026-03-01", "2026-03-02", "2026-03-03"):
            with people_as_of(bench.site, view, day) as then:
                row = then.row("person", person="p-ana.keel")
                roles = {one["role"] for one in then.rows("role", person="p-ana.keel") if one["active"]}
                found[day] = (row["active"] if row else None, sorted(roles))
    both = ["analyst", "approver"]
    assert found == {"2026-03-01": (None, []), "2026-03-02": (1, both), "2026-03-03": (0, both)}


def test_a_day_that_is_none_is_said(bench: Bench) -> None:
    with bench.site.store.reading() as view:
        assert refused(lambda: people_as_of(bench.site, view, "3 March").__enter__()) == "person.as-of"
