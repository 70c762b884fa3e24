"""A notice of withdrawal has a time-stamp where certificates have one, by the same rules of the site."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from tests.desk.test_rotation import APPROVER, codes, trust, waiting_to_release
from tests.desk.test_time_stamps import Quay, nobody, said, stamper_at
from tests.stamping import on_loopback

from benchseal.desk import notices
from benchseal.desk.acts_certificates import WithdrawCertificate
from benchseal.desk.perform import perform
from benchseal.desk.sealing import finish as seal_it
from benchseal.problems import Stopped
from benchseal.verify.certificate import verify_certificate

if TYPE_CHECKING:
    from pathlib import Path

    from tests.conftest import Stage


@pytest.fixture
def quay(stage: Stage) -> Quay:
    return Quay(stage, stamper_at(stage.site.clock()))


def withdrawn(quay: Quay) -> str:
    """A certificate sealed without a time-stamp, then withdrawn; its notice is not made yet."""
    number = waiting_to_release(quay.stage)
    seal_it(quay.stage.site, number)
    perform(quay.stage.site, WithdrawCertificate(number, "of another lot"), quay.stage.key(APPROVER))
    return number


def notice_of(quay: Quay, number: str) -> Path:
    (made,) = [one for one in quay.stage.site.certificates.glob("*.pdf") if one.stem.startswith(f"{number}-")]
    return made


@pytest.mark.clause("P11 11.10(e)")
def test_a_notice_is_sealed_with_a_time_stamp(quay: Quay) -> None:
    number, before = withdrawn(quay), trust(quay.stage.site)
    with on_loopback(quay.stamper.reply) as url:
        quay.asks(url)
        notices.finish(quay.stage.site, number)
        notices.finish(quay.stage.site, number)
    assert len(quay.stamper.asked) == 1, "its copy is written again, and nobody asked again"
    data = notice_of(quay, number).read_bytes()
    report = verify_certificate(data, trust(quay.stage.site))
    assert (report.word, report.exit_code) == ("GENUINE", 0)
    assert "Quay Light Stamps" in said(report, "time-stamp")
    old = verify_certificate(data, before)
    assert (old.word, [check.name for check in old.checks if check.holds is None]) == ("UNKNOWN", ["time-stamp"])
    assert codes(quay.stage.site) == set()


@pytest.mark.refuses("P11 11.10(e)")
def test_a_time_stamp_taken_out_of_a_notice_is_found(quay: Quay) -> None:
    number = withdrawn(quay)
    with on_loopback(quay.stamper.reply) as url:
        quay.asks(url)
        notices.finish(quay.stage.site, number)
    data = bytearray(notice_of(quay, number).read_bytes())
    token = b"060b2a864886f70d010910020e"  # id-aa-timeStampToken (RFC 3161, appendix A) as DER, in figures
    places = [place for place in (data.find(token), data.find(token.upper())) if place >= 0]
    assert places, "the seal carries a token"
    data[places[0] + len(token) - 1] ^= 1
    assert verify_certificate(bytes(data), trust(quay.stage.site)).word == "ALTERED"


def test_a_notice_waits_where_nobody_answers_and_the_certificate_is_withdrawn_all_the_same(quay: Quay) -> None:
    number = withdrawn(quay)
    quay.asks(nobody())
    with pytest.raises(Stopped) as stopped:
        notices.finish(quay.stage.site, number)
    assert [one.code for one in stopped.value.notices] == ["seal.time-stamp-silent"]
    assert notices.waiting(quay.stage.site) == [number]
    with quay.stage.site.store.reading() as view:
        row = view.row("certificate", number=number)
    assert row is not None
    assert row["state"] == "withdrawn"
    with on_loopback(quay.stamper.reply) as url:
        quay.asks(url)
        notices.finish(quay.stage.site, number)
    assert notices.waiting(quay.stage.site) == []
    assert "time-stamp" in {
        one.name for one in verify_certificate(notice_of(quay, number).read_bytes(), trust(quay.stage.site)).checks
    }


@pytest.mark.clause("P11 11.10(e)")
def test_a_notice_without_one_is_put_on_record_where_the_rules_allow_it(quay: Quay) -> None:
    number = withdrawn(quay)
    quay.asks(nobody(), without="allowed")
    told = notices.finish(quay.stage.site, number)
    assert any("no time-stamp" in line for line in told.said)
    assert verify_certificate(notice_of(quay, number).read_bytes(), trust(quay.stage.site)).word == "GENUINE"
    with quay.stage.site.store.reading() as view:
        (event,) = view.rows("security_event", kind="certificate.notice_unstamped")
    assert number in event["what"]
    assert codes(quay.stage.site) == set()


@pytest.mark.refuses("P11 11.10(e)")
def test_a_wrong_time_stamp_on_a_notice_is_refused(quay: Quay) -> None:
    number = withdrawn(quay)
    with on_loopback(lambda _: b"<html>sign in</html>") as url:
        quay.asks(url, without="allowed")
        with pytest.raises(Stopped) as stopped:
            notices.finish(quay.stage.site, number)
    assert [one.code for one in stopped.value.notices] == ["seal.time-stamp-refused"]
    assert notices.waiting(quay.stage.site) == [number]
