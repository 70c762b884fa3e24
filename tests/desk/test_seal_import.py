"""A seal key certified by an authority: taken from its file by two people, and every file that will not do refused."""

from __future__ import annotations

import io
import shutil
import subprocess
from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING

import pytest
from cryptography.hazmat.primitives.serialization import (
    BestAvailableEncryption,
    Encoding,
    NoEncryption,
    PrivateFormat,
)
from cryptography.hazmat.primitives.serialization.pkcs12 import serialize_key_and_certificates
from pyhanko.pdf_utils.reader import PdfFileReader
from tests.certifying import (
    LEAF,
    MIDDLE,
    NOW,
    PASSPHRASE,
    certified,
    chain,
    curve_key,
    lasting,
    leaf,
    pkcs12,
    rsa_key,
    with_leaf,
)
from tests.desk.test_rotation import (
    ADMINISTRATOR,
    APPROVER,
    by_tool,
    codes,
    in_force,
    refused,
    rotate,
    trust,
    waiting_to_release,
)

from benchseal.certificate.seal_bytes import Frame, cut_at_seal
from benchseal.desk.acts_keys import ImportSealKey, RevokeKey, RotateKey
from benchseal.desk.perform import perform
from benchseal.desk.rotation import finish
from benchseal.desk.sealing import finish as seal_it
from benchseal.identity.keys import key_id_of
from benchseal.problems import Stopped
from benchseal.verify.certificate import verify_certificate
from benchseal.verify.trust import follows

if TYPE_CHECKING:
    from pathlib import Path

    from tests.conftest import Bench, Stage

WHY = "certified by the authority we chose"
SHOP = "1.3.6.1.5.5.7.3.1"  # server authentication: for machines, not for documents
DOCUMENTS = "1.3.6.1.5.5.7.3.36"  # RFC 9336


def act(data: bytes, passphrase: str = PASSPHRASE) -> ImportSealKey:
    return ImportSealKey(data, "seal.p12", passphrase, WHY)


def taken(bench: Bench, data: bytes) -> None:
    bench.do(act(data), "emil", "cleo")
    finish(bench.site)


@pytest.mark.clause("P11 11.10(e)", "P11 11.300(c)")
def test_the_key_of_an_authority_takes_over(bench: Bench) -> None:
    known = trust(bench.site)
    told = bench.do(act(pkcs12()), "emil", "cleo")
    finish(bench.site)
    assert in_force(bench.site)[0] == key_id_of(rsa_key("leaf"))
    assert "Weir Lane Trust Root" in " ".join(told.said)
    assert PASSPHRASE not in repr(act(b"x"))
    assert follows(known, trust(bench.site)) is None
    assert codes(bench.site) == set()
    assert by_tool(bench.site) == []
    assert PASSPHRASE.encode() not in bench.site.store.path.read_bytes()


def test_a_certificate_signed_with_its_own_key_needs_no_authority(bench: Bench) -> None:
    own = certified(replace(LEAF, issuer=""), rsa_key("leaf"), rsa_key("leaf"))
    taken(bench, pkcs12(certificate=own, above=()))
    assert codes(bench.site) == set()


def test_a_key_made_here_follows_an_imported_one(bench: Bench) -> None:
    taken(bench, pkcs12())
    rotate(bench, "seal")
    assert codes(bench.site) == set()
    assert refused(bench, act(pkcs12()), "emil", "cleo") == "keys.file-known"


def _without_key() -> bytes:
    encryption = BestAvailableEncryption(PASSPHRASE.encode())
    return serialize_key_and_certificates(b"seal", None, leaf(), chain(), encryption)


def _without_certificate() -> bytes:
    encryption = BestAvailableEncryption(PASSPHRASE.encode())
    return serialize_key_and_certificates(b"seal", rsa_key("leaf"), None, None, encryption)


def _pem() -> bytes:
    return rsa_key("leaf").private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())


BAD = [
    pytest.param(lambda: b"no such thing", "unreadable", id="rubbish"),
    pytest.param(_pem, "unreadable", id="key in another form"),
    pytest.param(lambda: pkcs12() + b"x", "unreadable", id="bytes after its end"),
    pytest.param(lambda: pkcs12(passphrase="another one"), "password", id="another password"),
    pytest.param(_without_key, "no-key", id="no key"),
    pytest.param(_without_certificate, "no-certificate", id="no certificate"),
    pytest.param(lambda: pkcs12(rsa_key("short", 2048)), "weak", id="RSA of 2048 bits"),
    pytest.param(lambda: pkcs12(curve_key()), "weak", id="elliptic curve"),
    pytest.param(lambda: pkcs12(above=()), "chain", id="no certificate of the authority"),
    pytest.param(lambda: pkcs12(above=chain()[:1]), "chain", id="no self-signed one"),
    pytest.param(lambda: pkcs12(above=chain()[1:]), "chain", id="the one between left out"),
    pytest.param(
        lambda: pkcs12(above=chain(middle=replace(MIDDLE, authority=False))), "chain", id="issued by no authority"
    ),
    pytest.param(lambda: with_leaf(unknown=True), "usage", id="a critical condition nobody knows"),
    pytest.param(lambda: with_leaf(commitment=False), "usage", id="not for commitment"),
    pytest.param(lambda: with_leaf(usage=False), "usage", id="key usage not said"),
    pytest.param(lambda: with_leaf(authority=True), "usage", id="an authority itself"),
    pytest.param(lambda: with_leaf(extended=(SHOP,)), "usage", id="for servers"),
    pytest.param(lambda: with_leaf(last=NOW - timedelta(days=1)), "expired", id="run out"),
    pytest.param(lambda: with_leaf(first=NOW + timedelta(days=9)), "expired", id="not begun"),
    pytest.param(
        lambda: pkcs12(above=chain(middle=replace(MIDDLE, last=NOW - timedelta(days=1)))),
        "expired",
        id="authority run out",
    ),
]


@pytest.mark.refuses("P11 11.300(c)")
@pytest.mark.parametrize(("made", "code"), BAD)
def test_a_file_that_will_not_do_is_refused_and_the_old_key_stays(bench: Bench, made: object, code: str) -> None:
    before, size = in_force(bench.site), bench.entries()
    assert refused(bench, act(made()), "emil", "cleo") == f"keys.file-{code}"  # type: ignore[operator]
    assert (in_force(bench.site), bench.entries()) == (before, size)
    assert len(list(bench.site.private.glob("*.key.json"))) == 2


def test_everything_wrong_is_said_at_once(bench: Bench) -> None:
    short = rsa_key("short", 2048)
    bad = pkcs12(short, leaf(replace(LEAF, commitment=False), short), ())
    with pytest.raises(Stopped) as found:
        bench.do(act(bad), "emil", "cleo")
    assert {one.code for one in found.value.notices} == {"keys.file-weak", "keys.file-usage", "keys.file-chain"}


def test_a_certificate_for_documents_will_do(bench: Bench) -> None:
    taken(bench, with_leaf(extended=(SHOP, DOCUMENTS)))


@pytest.mark.refuses("P11 11.300(c)")
@pytest.mark.parametrize(
    ("names", "code"),
    [(("emil",), "act.signers"), (("emil", "ben"), "act.role"), (("ana", "cleo"), "act.role")],
)
def test_two_people_with_these_roles_are_needed(bench: Bench, names: tuple[str, ...], code: str) -> None:
    assert refused(bench, act(pkcs12()), *names) == code


def test_a_damaged_password_is_no_way_in(bench: Bench) -> None:
    assert refused(bench, ImportSealKey(pkcs12(), "seal.p12", "", WHY), "emil", "cleo") == "keys.file-password"
    assert refused(bench, ImportSealKey(pkcs12(), "seal.p12", PASSPHRASE, " "), "emil", "cleo") == "act.reason"


@pytest.mark.clause("P11 11.30")
def test_a_certificate_is_sealed_with_the_chain_and_every_byte_of_it_counts(stage: Stage, tmp_path: Path) -> None:
    site = stage.site
    perform(site, act(lasting(site.clock())), stage.key(ADMINISTRATOR), stage.key(APPROVER))
    finish(site)
    number = waiting_to_release(stage)
    seal_it(site, number)
    pdf, shown = stage.pdf(number), trust(site)
    assert verify_certificate(pdf, shown).word == "GENUINE"
    with PdfFileReader(io.BytesIO(pdf)).stream as stream:
        held = PdfFileReader(stream).embedded_signatures[0].signed_data["certificates"]
        assert len(held) == 3
    frame = cut_at_seal(pdf)
    assert isinstance(frame, Frame)
    place = pdf.index(frame.container.hex().upper().encode())
    for offset in range(0, 2 * len(frame.container), 331):
        changed = bytearray(pdf)
        changed[place + offset] = ord("0") if changed[place + offset] != ord("0") else ord("1")
        assert verify_certificate(bytes(changed), shown).word != "GENUINE", offset
    assert codes(site) == set()
    if shutil.which("pdfsig") is None:
        pytest.skip("pdfsig (poppler-utils) is not installed: no second opinion on the seal with its chain")
    (tmp_path / "sealed.pdf").write_bytes(pdf)
    said = subprocess.run(["pdfsig", "-nocert", str(tmp_path / "sealed.pdf")], capture_output=True, check=False)  # noqa: S603, S607
    assert b"Signature is Valid" in said.stdout
    assert b"Total document signed" in said.stdout


@pytest.mark.refuses("P11 11.300(c)")
def test_an_imported_key_can_be_revoked_once_another_follows(stage: Stage) -> None:
    site, by = stage.site, (stage.key(ADMINISTRATOR), stage.key(APPROVER))
    perform(site, act(lasting(site.clock())), *by)
    perform(site, RotateKey("seal", WHY), *by)
    perform(site, RevokeKey(key_id_of(rsa_key("leaf")), "2026-02-01", WHY), *by)
    finish(site)
    assert trust(site).seals[1].revoked is not None
    assert codes(site) == set()
