"""Tokens of the reading interface: who makes them, what is refused, what the ledger holds of them."""

from __future__ import annotations

import hashlib
import hmac
import stat
import sys
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from benchseal.desk.acts_interface import MakeToken, RevokeToken
from benchseal.desk.acts_registers import AddRegister
from benchseal.desk.checking import verify_site
from benchseal.desk.clock import stamp
from benchseal.desk.interface_tokens import KEY_FILE, caller_of
from benchseal.desk.reading import all_entries
from benchseal.problems import Stopped
from benchseal.records.interface import Caller

if TYPE_CHECKING:
    from tests.conftest import Bench

CUSTOMERS = b'customer,name,address,contact\nheron,Heron Mill,"1 Mill Lane, Heron Ford",Ada Brook\n'
GOOD = MakeToken("results system of Heron Mill", ("results",), (), "2026-06-30", "their order")


def refused(bench: Bench, act: object, *names: str) -> list[str]:
    before = bench.entries()
    with pytest.raises(Stopped) as found:
        bench.do(act, *names)
    assert bench.entries() == before
    assert all(notice.remedy for notice in found.value.notices)
    return [notice.code for notice in found.value.notices]


def known(bench: Bench, shown: str) -> Caller | str:
    with bench.site.store.reading() as view:
        return caller_of(bench.site, view, shown, stamp(bench.clock()))


@pytest.mark.clause("P11 11.10(g)")
def test_two_people_make_one_and_it_is_good_at_once(bench: Bench) -> None:
    bench.do(AddRegister("customer", CUSTOMERS, "customers.csv"), "ana")
    made = bench.do(replace(GOOD, scopes=("certificates", "results"), customers=("heron",)), "emil", "cleo")
    assert made.data["token"] == "SY-00001"
    caller = known(bench, str(made.data["secret"]))
    assert caller == Caller("SY-00001", GOOD.system, frozenset({"results", "certificates"}), frozenset({"heron"}))
    assert isinstance(caller, Caller)
    assert (caller.may_see("heron"), caller.may_see("another")) == (True, False)
    assert verify_site(bench.site).findings == ()


def test_each_has_its_own_number_and_secret(bench: Bench) -> None:
    made = [bench.do(GOOD, "emil", "cleo").data for _ in range(3)]
    assert [one["token"] for one in made] == ["SY-00001", "SY-00002", "SY-00003"]
    assert len({str(one["secret"]).split(".")[1] for one in made}) == 3


@pytest.mark.refuses("P11 11.10(g)")
@pytest.mark.parametrize(
    ("people", "code"),
    [
        (("emil",), "act.signers"),
        (("cleo", "emil"), "act.role"),
        (("emil", "ana"), "act.role"),
        (("emil", "ben"), "act.role"),
        (("emil", "emil"), "act.role"),
    ],
)
def test_others_make_none(bench: Bench, people: tuple[str, ...], code: str) -> None:
    assert refused(bench, GOOD, *people) == [code]
    assert not (bench.site.private / KEY_FILE).exists()


@pytest.mark.parametrize(
    ("changes", "codes"),
    [
        pytest.param({"system": ""}, ["grant.system"], id="no name"),
        pytest.param({"system": "x" * 81}, ["grant.system"], id="a long name"),
        pytest.param({"system": "a\nb"}, ["grant.system"], id="two lines"),
        pytest.param({"scopes": ()}, ["grant.scope"], id="nothing"),
        pytest.param({"scopes": ("results", "everything")}, ["grant.scope"], id="what is not to be read"),
        pytest.param({"customers": ("nobody",)}, ["grant.customer"], id="no customer"),
        pytest.param({"until": "2026-03-01"}, ["grant.until"], id="over before it begins"),
        pytest.param({"until": "2027-03-04"}, ["grant.until"], id="more than 366 days"),
        pytest.param({"until": "tomorrow", "reason": " "}, ["act.reason", "grant.until"], id="all at once"),
        pytest.param({"until": "2026-02-30"}, ["grant.until"], id="no day"),
        pytest.param({"until": "20260630"}, ["grant.until"], id="another form of a day"),
        pytest.param({"until": "2026-W20-1"}, ["grant.until"], id="a week"),
        pytest.param({"until": ""}, ["grant.until"], id="no end"),
        pytest.param(
            {"system": "", "scopes": (), "until": "x"}, ["grant.system", "grant.scope", "grant.until"], id="all"
        ),
    ],
)
def test_what_is_not_granted(bench: Bench, changes: dict[str, object], codes: list[str]) -> None:
    assert refused(bench, replace(GOOD, **changes), "emil", "cleo") == codes  # type: ignore[arg-type]


@pytest.mark.parametrize("until", ["2026-02-30", "2026-13-01", "20260630", "2026-W20-1", "", "tomorrow"])
def test_what_is_no_day_is_not_told_of_how_long_a_token_lasts(bench: Bench, until: str) -> None:
    with pytest.raises(Stopped) as found:
        bench.do(replace(GOOD, until=until), "emil", "cleo")
    (notice,) = found.value.notices
    assert f"{until!r} is no day of the calendar" in notice.what
    assert "366" not in notice.what


@pytest.mark.parametrize("until", ["2026-03-02", "2027-03-03"])
def test_the_first_and_the_last_day_that_may_be_named(bench: Bench, until: str) -> None:
    bench.do(replace(GOOD, until=until), "emil", "cleo")


def test_without_a_reason_none_is_made_or_revoked(bench: Bench) -> None:
    assert refused(bench, replace(GOOD, reason=" "), "emil", "cleo") == ["act.reason"]
    bench.do(GOOD, "emil", "cleo")
    assert refused(bench, RevokeToken("SY-00001", ""), "emil") == ["act.reason"]


@pytest.mark.parametrize("who", ["emil", "cleo"])
def test_one_of_the_two_revokes_it(bench: Bench, who: str) -> None:
    secret = str(bench.do(GOOD, "emil", "cleo").data["secret"])
    bench.do(RevokeToken("SY-00001", "lost"), who)
    assert known(bench, secret) == "SY-00001 revoked"
    assert refused(bench, RevokeToken("SY-00001", "again"), who) == ["grant.revoked-before"]
    assert refused(bench, RevokeToken("SY-00002", "none"), who) == ["grant.unknown"]
    assert verify_site(bench.site).findings == ()


@pytest.mark.parametrize("who", ["ana", "ben"])
def test_others_revoke_none(bench: Bench, who: str) -> None:
    bench.do(GOOD, "emil", "cleo")
    assert refused(bench, RevokeToken("SY-00001", "x"), who) == ["act.role"]


def test_the_ledger_holds_the_keyed_hash_and_both_signatures(bench: Bench) -> None:
    """HMAC (RFC 2104) with SHA-256, by the standard library."""
    shown = str(bench.do(GOOD, "emil", "cleo").data["secret"])
    token, secret = shown.split(".")
    with bench.site.store.reading() as view:
        agreed, made = [one for one in all_entries(view) if one.subject == f"token/{token}"]
        (row,) = view.rows("interface_token")
        assert len(view.rows("signature", subject=f"token/{token}")) == 2
    key = bytes.fromhex((bench.site.private / KEY_FILE).read_text("ascii"))
    expected = hmac.new(key, f"benchseal-token/1\n{token}\n{secret}".encode(), hashlib.sha256).hexdigest()
    assert made.facts["secret_mac"] == row["secret_mac"] == expected
    assert (agreed.kind, agreed.actor, made.kind, made.actor) == (
        "token.agreed",
        "p-emil.holt",
        "token.made",
        "p-cleo.strand",
    )
    assert secret.encode() not in bench.site.store.path.read_bytes()


@pytest.mark.skipif(sys.platform == "win32", reason="modes of POSIX")
def test_only_its_owner_reads_the_key(bench: Bench) -> None:
    bench.do(GOOD, "emil", "cleo")
    assert stat.S_IMODE((bench.site.private / KEY_FILE).stat().st_mode) == 0o600


def test_the_key_stays_when_another_token_is_made(bench: Bench) -> None:
    first = str(bench.do(GOOD, "emil", "cleo").data["secret"])
    bench.do(GOOD, "emil", "dora")
    assert isinstance(known(bench, first), Caller)


@pytest.mark.parametrize(
    "shown",
    [
        "", "x", "SY-00001", "SY-00001.", ".x", "SY-1." + "a" * 43, "SY-00001." + "a" * 42, "SY-00001." + "a" * 44,
        "SY-00001." + "\u0661" * 43, "SY-00001'--." + "a" * 43, "\x00" * 50,
    ],
)  # fmt: skip
def test_what_is_no_token_at_all(bench: Bench, shown: str) -> None:
    bench.do(GOOD, "emil", "cleo")
    assert known(bench, shown) == "unknown"
