"""Archive material beside a certificate: made from the sealed file, checked without the site, attacked file by file."""

from __future__ import annotations

import io
import json
import shutil
import zipfile
from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING, Any

import pytest
from cryptography import x509
from tests.certifying import LEAF, PASSPHRASE, lasting, revocation_list
from tests.conftest import Stage, cheap_hashes
from tests.desk.test_rotation import ADMINISTRATOR, APPROVER, WHY, trust, waiting_to_release
from tests.desk.test_time_stamps import Quay, stamper_at
from tests.stamping import on_loopback

from benchseal.desk.acts_keys import ImportSealKey, RotateKey
from benchseal.desk.archives import make_archive
from benchseal.desk.perform import perform
from benchseal.desk.rotation import finish
from benchseal.desk.sealing import finish as seal_it
from benchseal.desk.site import open_site
from benchseal.problems import Stopped
from benchseal.records.canonical import canonical_bytes, parse_canonical
from benchseal.verify.archive import check_archive, zipped
from benchseal.verify.report import Report

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from benchseal.demo.play import Played
    from benchseal.desk.site import Site


@dataclass(frozen=True)
class Shelf:
    """A site with a certificate sealed under an authority, with a time-stamp."""

    site: Site
    number: str

    def made(self, number: str = "", **answers: bytes) -> bytes:
        with self.site.store.reading() as view:
            return make_archive(self.site, view, number or self.number, answers)

    def said(self, data: bytes) -> Report:
        return Report(check_archive(data, trust(self.site)))

    def later_list(self, **revoked: timedelta) -> bytes:
        """What the authority says tomorrow; ``seal`` revoked so long from now."""
        files = unzipped(self.made())
        middle = x509.load_der_x509_certificate(files["seal/02.der"])
        now = self.site.clock()
        when = {LEAF.serial: now + revoked["seal"]} if revoked else {}
        return revocation_list(middle, "middle", now + timedelta(days=1), when)


@pytest.fixture(scope="module")
def filled(played: Played, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, str]:
    """A site with such a certificate, and its number: made once, copied for each test."""
    folder = tmp_path_factory.mktemp("filled") / "site"
    shutil.copytree(played.site.folder, folder)
    stage = Stage(open_site(folder, hashes=cheap_hashes), played)
    site, by = stage.site, (stage.key(ADMINISTRATOR), stage.key(APPROVER))
    perform(site, ImportSealKey(lasting(site.clock()), "seal.p12", PASSPHRASE, WHY), *by)
    finish(site)
    quay = Quay(stage, stamper_at(site.clock()))
    number = waiting_to_release(stage)
    with on_loopback(quay.stamper.reply) as url:
        quay.asks(url)
        seal_it(site, number)
    site.store.close()
    return folder, number


@pytest.fixture
def stage(filled: tuple[Path, str], played: Played, tmp_path: Path) -> Iterator[Stage]:
    shutil.copytree(filled[0], tmp_path / "site")
    site = open_site(tmp_path / "site", hashes=cheap_hashes)
    yield Stage(site, played)
    site.store.close()


@pytest.fixture
def shelf(stage: Stage, filled: tuple[Path, str]) -> Shelf:
    return Shelf(stage.site, filled[1])


def unzipped(data: bytes) -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(data)) as whole:
        return {name: whole.read(name) for name in whole.namelist()}


def failed(report: Report) -> set[str]:
    return {check.name for check in report.checks if check.holds is False}


@pytest.mark.clause("P11 11.10(c)", "P11 11.10(b)")
def test_it_holds_what_the_certificate_is_checked_with(shelf: Shelf) -> None:
    data = shelf.made(crl=shelf.later_list())
    files = unzipped(data)
    assert set(files) == {
        "manifest.json", "certificate.pdf", "trust.json", "revocation/01.crl",
        "seal/01.der", "seal/02.der", "seal/03.der", "time-stamp/token.der", "time-stamp/01.der", "time-stamp/02.der",
    }  # fmt: skip
    assert files["certificate.pdf"] == (shelf.site.certificates / f"{shelf.number}.pdf").read_bytes()
    manifest = json.loads(files["manifest.json"])
    assert {one["kind"] for one in manifest["documents"]} == {"method", "specification"}
    with shelf.site.store.reading() as view:
        kept = {row["value"] for row in view.rows("document")}
    assert {one["sha256"] for one in manifest["documents"]} <= kept
    report = shelf.said(data)
    assert report.word == "GENUINE", report.lines()
    assert {"revocation", "time-stamp", "recalculation", "documents named"} <= {one.name for one in report.checks}


def test_without_a_trust_file_of_one_s_own_it_stays_open(shelf: Shelf) -> None:
    report = Report(check_archive(shelf.made(), None))
    assert (report.word, [one.name for one in report.checks if one.holds is None]) == ("UNKNOWN", ["trust"])


def test_it_fits_a_trust_file_of_later(shelf: Shelf, stage: Stage) -> None:
    data = shelf.made()
    perform(shelf.site, RotateKey("seal", WHY), stage.key(ADMINISTRATOR), stage.key(APPROVER))
    finish(shelf.site)
    assert shelf.said(data).word == "GENUINE"


def test_a_certificate_of_the_laboratory_s_own_key_needs_little(shelf: Shelf) -> None:
    first = min(path.stem for path in shelf.site.certificates.glob("*.pdf"))
    data = shelf.made(first)
    assert set(unzipped(data)) == {"manifest.json", "certificate.pdf", "trust.json", "seal/01.der"}
    assert shelf.said(data).word == "GENUINE"


@pytest.mark.refuses("P11 11.10(c)")
def test_answers_that_say_nothing_or_something_bad_are_refused(shelf: Shelf) -> None:
    with pytest.raises(Stopped) as stopped:
        shelf.made(bad=b"no answer", revoked=shelf.later_list(seal=-timedelta(hours=1)))
    assert [one.code for one in stopped.value.notices] == ["archive.revocation"] * 2
    assert "was revoked at" in stopped.value.notices[1].what
    files = unzipped(shelf.made())
    middle = x509.load_der_x509_certificate(files["seal/02.der"])
    early = revocation_list(middle, "middle", shelf.site.clock() - timedelta(days=1), {})
    with pytest.raises(Stopped, match="before the file was sealed"):
        shelf.made(early=early)
    assert shelf.said(shelf.made(after=shelf.later_list(seal=timedelta(hours=1)))).word == "GENUINE"
    with pytest.raises(Stopped) as stopped:
        shelf.made("C-2026-09999")
    assert stopped.value.notices[0].code == "certificate.not-issued"


@pytest.mark.refuses("P11 11.10(c)")
def test_a_file_taken_out_put_in_or_exchanged_is_found(shelf: Shelf) -> None:
    good = unzipped(shelf.made(crl=shelf.later_list()))
    for name in good:
        changed = {**good, name: good[name][:-1] + bytes([good[name][-1] ^ 1])}
        assert failed(shelf.said(zipped(changed))), name
        assert failed(shelf.said(zipped({other: data for other, data in good.items() if other != name}))), name
    assert failed(shelf.said(zipped({**good, "more.txt": b"x"}))) == {"archive"}


@pytest.mark.refuses("P11 11.10(c)")
def test_a_list_made_again_to_fit_is_found(shelf: Shelf) -> None:
    """Whoever changes a file and the list with it still meets the seal."""
    good = unzipped(shelf.made(crl=shelf.later_list()))

    def again(change: dict[str, bytes | None], **about: Any) -> Report:  # noqa: ANN401
        from benchseal.verify.archive import manifest_of  # noqa: PLC0415

        files = {name: data for name, data in {**good, **change}.items() if data is not None}
        old: Any = parse_canonical(good["manifest.json"])
        named = {name: old[name] for name in ("laboratory", "ledger", "number", "at", "program")}
        documents = about.pop("documents", old["documents"])
        named |= about
        return shelf.said(zipped({**files, "manifest.json": manifest_of(files, named, documents)}))

    assert again({}).word == "GENUINE", "or the test could not fail"
    assert failed(again({"seal/03.der": good["time-stamp/02.der"]})) == {"material"}
    assert failed(again({"seal/03.der": None})) == {"material"}
    assert failed(again({"time-stamp/token.der": None})) == {"material"}
    assert failed(again({"more/01.der": good["seal/01.der"]})) == {"material"}
    assert failed(again({}, documents=[])) == {"documents named"}
    assert failed(again({}, number="C-2026-00099")) == {"list"}
    assert failed(again({}, laboratory="Heron Ford Laboratory")) == {"list"}
    assert failed(again({}, ledger="bs-0000000000000000")) == {"list"}
    assert failed(again({}, at="2020-01-01T00:00:00.000Z")) == {"list"}
    assert failed(again({}, at="today")) == failed(again({}, number=["C-2026-00001"])) == {"archive"}
    assert failed(again({"revocation/01.crl": b"x"})) == {"revocation"}
    revoked = again({"revocation/01.crl": shelf.later_list(seal=-timedelta(hours=1))})
    assert failed(revoked) == {"revocation"}
    own = json.loads(good["trust.json"])
    firsts = {name: own[name][:1] for name in ("seals", "ledger_keys")}
    strange = {"schema": "trust/1", "laboratory": own["laboratory"], "ledger": "bs-0000000000000000", **firsts}
    assert failed(again({"trust.json": canonical_bytes(strange)})) == {"trust"}


@pytest.mark.parametrize("rubbish", [b"", b"PK\x03\x04", b"x" * 400, zipped({"manifest.json": b"{}"})])
def test_rubbish_is_said_to_be_rubbish(rubbish: bytes) -> None:
    assert failed(Report(check_archive(rubbish, None))) == {"archive"}


def test_nothing_packed_is_unpacked() -> None:
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as whole:
        whole.writestr("manifest.json", b"0" * 1_000_000)
    report = Report(check_archive(made.getvalue(), None))
    assert failed(report) == {"archive"}
    assert "packed" in report.checks[0].said
