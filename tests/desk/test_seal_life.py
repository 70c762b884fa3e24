"""The life of a seal: nothing is sealed with a certificate that has run out, and what was sealed in time stays so."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import timedelta
from typing import TYPE_CHECKING

import pytest
from cryptography import x509
from tests.desk.test_rotation import (
    ADMINISTRATOR,
    ANALYST,
    APPROVER,
    WHY,
    codes,
    trust,
    waiting_to_release,
)

from benchseal.certificate.issue import seal_certificate
from benchseal.certificate.read_pdf import SealedPdf, open_certificate
from benchseal.desk.acts_certificates import ApproveCertificate, DraftCertificate, ReleaseCertificate
from benchseal.desk.acts_keys import RevokeKey, RotateKey
from benchseal.desk.keys import open_seal_key
from benchseal.desk.perform import perform
from benchseal.desk.rotation import finish
from benchseal.desk.sealing import finish as seal_it
from benchseal.problems import Stopped
from benchseal.verify.certificate import verify_certificate

if TYPE_CHECKING:
    from datetime import datetime

    from tests.conftest import Stage

    from benchseal.desk.site import Site
    from benchseal.records.seal_signer import SealSigner
    from benchseal.verify.report import Report

AFTER = timedelta(days=11 * 365)  # the certificate made at founding lasts ten years


def years_later(site: Site, gap: timedelta = AFTER) -> Site:
    """The same site on a machine whose clock is so much further."""
    now = site.clock
    return replace(site, clock=lambda: now() + gap)


def of_key(report: Report) -> str:
    return next(check.said for check in report.checks if check.name == "sealing key")


def rotated(site: Site, stage: Stage) -> None:
    perform(site, RotateKey("seal", WHY), stage.key(ADMINISTRATOR), stage.key(APPROVER))
    finish(site)


@pytest.mark.refuses("P11 11.30")
def test_no_release_is_signed_when_the_seal_could_not_follow(stage: Stage) -> None:
    number = str(perform(stage.site, DraftCertificate("B-2", ""), stage.key(ANALYST)).data["number"])
    perform(stage.site, ApproveCertificate(number), stage.key(APPROVER))
    later = years_later(stage.site)
    with later.store.reading() as view:
        before = view.size()
    with pytest.raises(Stopped) as stopped:
        perform(later, ReleaseCertificate(number), stage.key(APPROVER))
    assert stopped.value.notices[0].code == "keys.seal-expired"
    assert "key import" in stopped.value.notices[0].remedy
    with later.store.reading() as view:
        assert view.size() == before
        assert view.row("certificate", number=number)["state"] == "approved"  # type: ignore[index]


@pytest.mark.clause("P11 11.30")
def test_a_release_that_waited_is_sealed_with_the_key_of_then_at_the_time_of_then(stage: Stage) -> None:
    """The seal says when it was made: a release signed before the certificate ran out is no licence to date back."""
    number = waiting_to_release(stage)
    later = years_later(stage.site)
    with pytest.raises(Stopped) as stopped:
        seal_it(later, number)
    assert stopped.value.notices[0].code == "keys.seal-expired"
    rotated(later, stage)
    seal_it(later, number)
    opened = open_certificate(stage.pdf(number), trust(later).fingerprints)
    assert isinstance(opened, SealedPdf)
    assert opened.signed_at > stage.site.clock() + AFTER - timedelta(minutes=10)
    assert verify_certificate(stage.pdf(number), trust(later)).word == "GENUINE"
    assert codes(later) == set()


def test_a_release_signed_an_hour_before_a_rotation_is_sealed_with_the_new_key(stage: Stage) -> None:
    """The new certificate begins after the release: the seal is dated by its making, not by the release."""
    number = waiting_to_release(stage)
    later = years_later(stage.site, timedelta(hours=1))
    rotated(later, stage)
    seal_it(later, number)
    assert verify_certificate(stage.pdf(number), trust(later)).word == "GENUINE"


@pytest.mark.clause("P11 11.30", "P11 11.10(c)")
def test_what_was_sealed_in_time_stays_genuine_and_says_when(stage: Stage) -> None:
    number = min(path.stem for path in stage.site.certificates.glob("*.pdf"))
    later = years_later(stage.site)
    assert of_key(verify_certificate(stage.pdf(number), trust(later))).endswith("is trusted.")
    rotated(later, stage)
    report = verify_certificate(stage.pdf(number), trust(later))
    assert report.word == "GENUINE"
    assert f"the seal states that it was made at {report.sealed_at}, after entry" in of_key(report)


@pytest.mark.refuses("P11 11.30")
def test_a_seal_made_after_its_certificate_ran_out_is_named(stage: Stage, monkeypatch: pytest.MonkeyPatch) -> None:
    """Whoever has the key and another program: the seal itself holds, its time does not."""
    sealed = copied(stage.site).seals(stage.site.clock() + AFTER, monkeypatch)
    report = verify_certificate(sealed, trust(stage.site))
    assert report.word == "ALTERED"
    assert any("was not valid at" in check.said and "when the seal was made" in check.said for check in report.checks)


@pytest.mark.refuses("P11 11.300(c)")
@pytest.mark.parametrize(
    ("gap", "words"),
    [
        (timedelta(days=2), "after that day, and the laboratory does not confirm"),
        (timedelta(seconds=1), "which whoever has the key could write, and the laboratory does not confirm"),
    ],
)
def test_a_seal_made_with_a_revoked_key_is_named_whatever_time_it_states(
    stage: Stage, monkeypatch: pytest.MonkeyPatch, gap: timedelta, words: str
) -> None:
    by = stage.key(ADMINISTRATOR), stage.key(APPROVER)
    theirs, now = copied(stage.site), stage.site.clock()
    good = verify_certificate(theirs.seals(now, monkeypatch), trust(stage.site))
    assert good.word == "GENUINE", "or the test shows nothing"
    later = years_later(stage.site, timedelta(days=3))
    rotated(later, stage)
    since = f"{stage.site.clock() + timedelta(days=2):%Y-%m-%d}"
    with stage.site.store.reading() as view:
        old = min(view.rows("site_key", key="seal"), key=lambda row: row["from_entry"])["key_id"]
    perform(later, RevokeKey(old, since, "the disk was sold"), *by)
    forged = verify_certificate(theirs.seals(now + gap, monkeypatch), trust(stage.site))
    assert forged.word == "UNKNOWN"
    assert words in of_key(forged)


@dataclass(frozen=True)
class Copied:
    """What somebody copied from a site: its key, its certificate, and a page as it was before it was sealed."""

    key: SealSigner
    certificate: x509.Certificate
    raw: bytes

    def seals(self, at: datetime, monkeypatch: pytest.MonkeyPatch) -> bytes:
        """The page, sealed with the copy and stated to be so ``at`` any time."""
        monkeypatch.setattr("benchseal.certificate.seal._demand_time", lambda *_: None)
        return seal_certificate(self.raw, self.key, self.certificate, at)


def copied(site: Site) -> Copied:
    number = min(path.stem for path in site.certificates.glob("*.pdf"))
    with site.store.reading() as view:
        row, issued = view.row("site", ledger=site.ledger), view.row("certificate", number=number)
        assert row is not None
        assert issued is not None
        certificate = x509.load_der_x509_certificate(view.bytes_of(row["seal_certificate"]))
        key = open_seal_key(site.private, row["seal_key_id"])
        return Copied(key, certificate, view.bytes_of(issued["unsealed"]))
