"""The detached signature of a manifest, judged by stock OpenSSL (``openssl cms -verify``)."""

from __future__ import annotations

import shutil
import subprocess
from typing import TYPE_CHECKING

import pytest
from cryptography.hazmat.primitives.serialization import Encoding
from tests.certificate.conftest import make_key

from benchseal.export.signature import signed

if TYPE_CHECKING:
    from pathlib import Path

    from benchseal.certificate.seal import SealKey

OPENSSL = shutil.which("openssl") or "openssl"
MANIFEST = b'{"delivery_id":"D-00001"}\n'


@pytest.fixture(scope="module")
def key() -> SealKey:
    return make_key()


@pytest.fixture(scope="module")
def other() -> SealKey:
    return make_key()


def openssl(folder: Path, manifest: bytes, signature: bytes, trusted: SealKey) -> int:
    """Exit code of the very command the manual gives."""
    (folder / "seal.pem").write_bytes(trusted.certificate.public_bytes(Encoding.PEM))
    (folder / "x.manifest.json").write_bytes(manifest)
    (folder / "x.manifest.sig").write_bytes(signature)
    words = ["cms", "-verify", "-binary", "-inform", "PEM", "-in", "x.manifest.sig", "-content", "x.manifest.json"]
    done = subprocess.run(  # noqa: S603  our own words
        [OPENSSL, *words, "-CAfile", "seal.pem", "-purpose", "any", "-out", "out"],
        cwd=folder,
        capture_output=True,
        check=False,
    )
    return done.returncode


def test_openssl_accepts_the_signature_and_the_same_again_is_the_same(key: SealKey, tmp_path: Path) -> None:
    made = signed(MANIFEST, key.signer, key.certificate)
    assert made.startswith(b"-----BEGIN ")
    assert made == signed(MANIFEST, key.signer, key.certificate)
    assert openssl(tmp_path, MANIFEST, made, key) == 0
    assert (tmp_path / "out").read_bytes() == MANIFEST


def test_openssl_refuses_another_manifest_and_another_seal(key: SealKey, other: SealKey, tmp_path: Path) -> None:
    made = signed(MANIFEST, key.signer, key.certificate)
    assert openssl(tmp_path, MANIFEST.replace(b"1", b"2"), made, key) != 0
    assert openssl(tmp_path, MANIFEST.replace(b"\n", b"\r\n"), made, key) != 0
    assert openssl(tmp_path, MANIFEST, made, other) != 0
    assert openssl(tmp_path, MANIFEST, signed(MANIFEST, other.signer, other.certificate), key) != 0


def test_a_certificate_of_another_key_signs_nothing(key: SealKey, other: SealKey) -> None:
    with pytest.raises(ValueError, match="another key"):
        signed(MANIFEST, key.signer, other.certificate)
