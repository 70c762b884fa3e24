"""Time-stamps at the desk: asked for when a certificate is sealed, waited for, done without where that is allowed."""

from __future__ import annotations

import json
import socket
from dataclasses import dataclass, replace
from datetime import timedelta
from typing import TYPE_CHECKING

import pytest
from cryptography import x509
from cryptography.hazmat.primitives.serialization import Encoding
from tests.desk.test_rotation import (
    ADMINISTRATOR,
    ANALYST,
    APPROVER,
    WHY,
    codes,
    trust,
    waiting_to_release,
)
from tests.stamping import PYHANKO_POLICY, STAMP_ROOT, STAMPER, Stamper, on_loopback

from benchseal.desk.acts_documents import AddDocument, ApproveDocument
from benchseal.desk.acts_keys import RevokeKey, RotateKey
from benchseal.desk.perform import perform
from benchseal.desk.rotation import finish
from benchseal.desk.sealing import finish as seal_it
from benchseal.problems import Stopped
from benchseal.upkeep.doctor import examine
from benchseal.verify.certificate import verify_certificate

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime

    from tests.conftest import Stage

    from benchseal.verify.report import Report


@dataclass(frozen=True)
class Quay:
    """A played site whose rules name an authority on loopback."""

    stage: Stage
    stamper: Stamper

    def asks(self, url: str, *, without: str = "", policy: str = PYHANKO_POLICY, trusted: bytes = b"") -> None:
        """Put rules in force that name the authority; two people, as for each version of them."""
        pem = x509.load_der_x509_certificate(trusted or self.stamper.trusted).public_bytes(Encoding.PEM).decode()
        rule = {"url": url, "certificate": pem, "seconds": 1, "policy": policy}
        rules = {"kind": "site_rules", "id": "RULES", "time_stamps": [rule], "without_time_stamp": without}
        added = AddDocument(json.dumps(rules).encode(), "rules.yaml")
        perform(self.stage.site, added, self.stage.key(ANALYST))
        perform(self.stage.site, ApproveDocument("RULES"), self.stage.key(APPROVER))

    def check(self, number: str) -> Report:
        return verify_certificate(self.stage.pdf(number), trust(self.stage.site))


def stamper_at(now: datetime) -> Stamper:
    life = replace(STAMPER, first=now - timedelta(days=9), last=now + timedelta(days=9))
    return Stamper(at=None, wish=life, root=replace(STAMP_ROOT, first=now - timedelta(days=9)))


@pytest.fixture
def quay(stage: Stage) -> Quay:
    return Quay(stage, stamper_at(stage.site.clock()))


def nobody() -> str:
    """An address on this machine where nobody listens."""
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        return f"http://127.0.0.1:{one.getsockname()[1]}/stamp"


def said(report: Report, name: str) -> str:
    return next(check.said for check in report.checks if check.name == name)


@pytest.mark.clause("P11 11.10(e)", "P11 11.30")
def test_a_certificate_is_sealed_with_a_time_stamp(quay: Quay) -> None:
    number = waiting_to_release(quay.stage)
    before = trust(quay.stage.site)
    with on_loopback(quay.stamper.reply) as url:
        quay.asks(url)
        seal_it(quay.stage.site, number)
    report = quay.check(number)
    assert report.word == "GENUINE"
    assert "Quay Light Stamps" in said(report, "time-stamp")
    assert PYHANKO_POLICY in said(report, "time-stamp")
    assert len(quay.stamper.asked) == 1
    assert codes(quay.stage.site) == set()
    old = verify_certificate(quay.stage.pdf(number), before)
    assert (old.word, [check.name for check in old.checks if check.holds is None]) == ("UNKNOWN", ["time-stamp"])
    earlier = min(path.stem for path in quay.stage.site.certificates.glob("*.pdf"))
    assert quay.check(earlier).word == "GENUINE", "certificates of before have none, and need none"
    assert "doctor.trust" not in {one.code for one in examine(quay.stage.site)}


def test_the_first_that_answers_is_enough(quay: Quay) -> None:
    number = waiting_to_release(quay.stage)
    with on_loopback(quay.stamper.reply) as url:
        pem = x509.load_der_x509_certificate(quay.stamper.trusted).public_bytes(Encoding.PEM).decode()
        both = [{"url": where, "certificate": pem, "seconds": 1} for where in (nobody(), url)]
        rules = json.dumps({"kind": "site_rules", "id": "RULES", "time_stamps": both})
        perform(quay.stage.site, AddDocument(rules.encode(), "rules.yaml"), quay.stage.key(ANALYST))
        perform(quay.stage.site, ApproveDocument("RULES"), quay.stage.key(APPROVER))
        seal_it(quay.stage.site, number)
    assert said(quay.check(number), "time-stamp")


def test_it_waits_where_nobody_answers_and_goes_on_later(quay: Quay) -> None:
    number = waiting_to_release(quay.stage)
    quay.asks(nobody())
    with pytest.raises(Stopped) as stopped:
        seal_it(quay.stage.site, number)
    assert [one.code for one in stopped.value.notices] == ["seal.time-stamp-silent"]
    assert not (quay.stage.site.certificates / f"{number}.pdf").exists()
    assert codes(quay.stage.site) == set()
    with on_loopback(quay.stamper.reply) as url:
        quay.asks(url)
        seal_it(quay.stage.site, number)
    assert quay.check(number).word == "GENUINE"


def test_one_that_is_slow_is_not_waited_for(quay: Quay) -> None:
    number = waiting_to_release(quay.stage)
    with socket.socket() as deaf:
        deaf.bind(("127.0.0.1", 0))
        deaf.listen()  # takes the call, and never says a word
        quay.asks(f"http://127.0.0.1:{deaf.getsockname()[1]}/")
        with pytest.raises(Stopped) as stopped:
            seal_it(quay.stage.site, number)
    assert [one.code for one in stopped.value.notices] == ["seal.time-stamp-silent"]
    assert "timed out" in stopped.value.notices[0].what


@pytest.mark.clause("P11 11.10(e)")
def test_it_is_done_without_where_the_rules_allow_it_and_put_on_record(quay: Quay) -> None:
    number = waiting_to_release(quay.stage)
    quay.asks(nobody(), without="allowed")
    told = seal_it(quay.stage.site, number)
    assert any("no time-stamp" in line for line in told.said)
    report = quay.check(number)
    assert report.word == "GENUINE"
    assert "time-stamp" not in {check.name for check in report.checks}
    with quay.stage.site.store.reading() as view:
        (event,) = view.rows("security_event", kind="certificate.unstamped")
    assert number in event["what"]
    assert codes(quay.stage.site) == set()


def late(quay: Quay) -> Quay:
    return replace(quay, stamper=replace(quay.stamper, at=quay.stage.site.clock() - timedelta(minutes=6)))


def foreign(quay: Quay) -> Quay:
    other = replace(quay.stamper, key="second stamper", root=replace(quay.stamper.root, name="Another Root"))
    return replace(quay, stamper=replace(other, wish=replace(other.wish, issuer="Another Root")))


def run_out(quay: Quay) -> Quay:
    wish = replace(quay.stamper.wish, last=quay.stage.site.clock() - timedelta(days=1))
    return replace(quay, stamper=replace(quay.stamper, wish=wish))


@pytest.mark.refuses("P11 11.30")
@pytest.mark.parametrize(
    ("change", "policy", "words"),
    [
        (late, PYHANKO_POLICY, "clock"),
        (run_out, PYHANKO_POLICY, "is valid from"),
        (lambda quay: quay, "2.999.7", "policy"),
        (foreign, PYHANKO_POLICY, "does not stand behind"),
    ],
    ids=["before the seal", "certificate run out", "another policy", "another authority"],
)
def test_a_bad_time_stamp_is_refused_even_where_none_is_needed(
    quay: Quay, change: Callable[[Quay], Quay], policy: str, words: str
) -> None:
    """Doing without is for those who reached nobody, never for those who were given something wrong."""
    number, trusted = waiting_to_release(quay.stage), quay.stamper.trusted
    changed = change(quay)
    with on_loopback(changed.stamper.reply) as url:
        changed.asks(url, without="allowed", policy=policy, trusted=trusted)
        with pytest.raises(Stopped) as stopped:
            seal_it(quay.stage.site, number)
    assert [one.code for one in stopped.value.notices] == ["seal.time-stamp-refused"]
    assert words in stopped.value.notices[0].what
    assert not (quay.stage.site.certificates / f"{number}.pdf").exists()


@pytest.mark.parametrize(
    ("answer", "status", "code"),
    [
        (b"<html>moved</html>", 302, "seal.time-stamp-silent"),
        (b"", 503, "seal.time-stamp-silent"),
        (b"x" * 70000, 200, "seal.time-stamp-silent"),
        (b"<html>sign in</html>", 200, "seal.time-stamp-refused"),
    ],
    ids=["sent elsewhere", "out of order", "without end", "a page"],
)
def test_answers_that_are_none(quay: Quay, answer: bytes, status: int, code: str) -> None:
    number = waiting_to_release(quay.stage)
    with on_loopback(lambda _: answer, status) as url:
        quay.asks(url)
        with pytest.raises(Stopped) as stopped:
            seal_it(quay.stage.site, number)
    assert [one.code for one in stopped.value.notices] == [code]


@pytest.mark.clause("P11 11.300(c)")
def test_of_a_revoked_key_stands_what_a_time_stamp_shows_to_be_older(quay: Quay) -> None:
    site, by = quay.stage.site, (quay.stage.key(ADMINISTRATOR), quay.stage.key(APPROVER))
    number = waiting_to_release(quay.stage)
    with on_loopback(quay.stamper.reply) as url:
        quay.asks(url)
        seal_it(site, number)
    now = site.clock
    later = replace(site, clock=lambda: now() + timedelta(days=3))
    with site.store.reading() as view:
        old = str(view.rows("site", ledger=site.ledger)[0]["seal_key_id"])
    perform(later, RotateKey("seal", WHY), *by)
    perform(later, RevokeKey(old, f"{now() + timedelta(days=2):%Y-%m-%d}", "the disk was sold"), *by)
    finish(later)
    shown = trust(later)
    seal = shown.seals[0]
    assert seal.revoked is not None
    silent = replace(seal, revoked=replace(seal.revoked, confirmed=frozenset()))
    nobody_confirms = replace(shown, seals=(silent, *shown.seals[1:]))
    report = verify_certificate(quay.stage.pdf(number), nobody_confirms)
    assert report.word == "GENUINE"
    assert "the time-stamp shows that the file was sealed before" in said(report, "sealing key")
    assert verify_certificate(quay.stage.pdf(number), replace(nobody_confirms, authorities=())).word == "UNKNOWN"
    early = replace(seal, revoked=replace(seal.revoked, since=f"{now():%Y-%m-%d}", confirmed=frozenset()))
    report = verify_certificate(quay.stage.pdf(number), replace(shown, seals=(early, *shown.seals[1:])))
    assert report.word == "UNKNOWN"
