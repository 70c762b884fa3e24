"""Tokens for tests: SoftHSM, an open PKCS#11 library that keeps its tokens in a folder. Never used outside tests.

Its PINs and labels are invented. ``softhsm2-util`` makes a token and brings keys into it, so that our own code only
ever reads and signs, as it does with a token of a laboratory.
"""

from __future__ import annotations

import shutil
import subprocess
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import pkcs11
import pytest
from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat
from pkcs11.util.rsa import decode_rsa_private_key

if TYPE_CHECKING:
    from cryptography import x509
    from cryptography.hazmat.primitives.asymmetric.ec import EllipticCurvePrivateKey
    from cryptography.hazmat.primitives.asymmetric.rsa import RSAPrivateKey

PIN, OFFICER_PIN = "weir lantern 271828", "31415926"
LABEL, KEY = "Weir Lane", "seal"
SECRET = "seal-pin"
VARIABLE = "BENCHSEAL_SECRET_SEAL_PIN"
_LIBRARIES = ("/usr/lib/softhsm/libsofthsm2.so", "/usr/lib64/softhsm/libsofthsm.so", "/usr/lib64/pkcs11/libsofthsm2.so")
MODULE = next((one for one in _LIBRARIES if Path(one).is_file()), "")

needs_softhsm = pytest.mark.skipif(
    not MODULE or shutil.which("softhsm2-util") is None,
    reason="softhsm2 is not installed: no key in a token was tried",
)


@dataclass(frozen=True)
class TokenFolder:
    """A folder of tokens of its own, which the library finds by ``SOFTHSM2_CONF``."""

    folder: Path

    @classmethod
    def make(cls, folder: Path, monkeypatch: pytest.MonkeyPatch) -> TokenFolder:
        """Empty, and in use from now on; the PIN is kept in the environment."""
        (folder / "tokens").mkdir(parents=True)
        settings = folder / "softhsm2.conf"
        settings.write_text(f"directories.tokendir = {folder / 'tokens'}\nlog.level = ERROR\n", encoding="utf-8")
        monkeypatch.setenv("SOFTHSM2_CONF", str(settings))
        monkeypatch.setenv(VARIABLE, PIN)
        return cls(folder)

    def add_token(self, label: str = LABEL) -> None:
        self._util("--init-token", "--free", "--label", label, "--so-pin", OFFICER_PIN, "--pin", PIN)

    def add_key(
        self, key: RSAPrivateKey | EllipticCurvePrivateKey, label: str = KEY, number: str = "a1", token: str = LABEL
    ) -> None:
        """number: its CKA_ID, hexadecimal."""
        file = self.folder / "key.pem"
        file.write_bytes(key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption()))
        words = ("--import", str(file), "--token", token, "--label", label, "--id", number, "--pin", PIN)
        self._util(*words)
        file.unlink()

    def add_key_that_asks_each_time(self, key: RSAPrivateKey, label: str) -> None:
        """A key whose every signature wants the PIN again (CKA_ALWAYS_AUTHENTICATE)."""
        der = key.private_bytes(Encoding.DER, PrivateFormat.TraditionalOpenSSL, NoEncryption())
        own = {
            pkcs11.Attribute.TOKEN: True,
            pkcs11.Attribute.PRIVATE: True,
            pkcs11.Attribute.LABEL: label,
            pkcs11.Attribute.ID: b"\x0c",
            pkcs11.Attribute.ALWAYS_AUTHENTICATE: True,
        }
        library = pkcs11.lib(MODULE)
        with library.get_token(token_label=LABEL).open(rw=True, user_pin=PIN) as session:
            made = session.create_object({**decode_rsa_private_key(der), **own})
            assert made[pkcs11.Attribute.ALWAYS_AUTHENTICATE]
        library.finalize()

    def add_certificates(self, *certificates: x509.Certificate) -> None:
        library = pkcs11.lib(MODULE)
        with library.get_token(token_label=LABEL).open(rw=True, user_pin=PIN) as session:
            for one in certificates:
                session.create_object(
                    {
                        pkcs11.Attribute.CLASS: pkcs11.ObjectClass.CERTIFICATE,
                        pkcs11.Attribute.CERTIFICATE_TYPE: pkcs11.CertificateType.X_509,
                        pkcs11.Attribute.TOKEN: True,
                        pkcs11.Attribute.LABEL: "certificate",
                        pkcs11.Attribute.SUBJECT: one.subject.public_bytes(),
                        pkcs11.Attribute.VALUE: one.public_bytes(Encoding.DER),
                    }
                )
        library.finalize()

    def take_away(self) -> None:
        (self.folder / "tokens").rename(self.folder / "in the drawer")
        (self.folder / "tokens").mkdir()

    def put_back(self) -> None:
        (self.folder / "tokens").rmdir()
        (self.folder / "in the drawer").rename(self.folder / "tokens")

    def _util(self, *words: str) -> None:
        subprocess.run(["softhsm2-util", "--module", MODULE, *words], check=True, capture_output=True)  # noqa: S603, S607
