"""The seal's key when it is opened here: from its own envelope, made here or imported from a PKCS#12 file."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.padding import PKCS1v15
from cryptography.hazmat.primitives.asymmetric.rsa import RSAPublicKey
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.serialization import load_der_public_key

from benchseal.identity.keys import public_bytes

if TYPE_CHECKING:
    from cryptography.hazmat.primitives.asymmetric.rsa import RSAPrivateKey


@dataclass(frozen=True, slots=True)
class HeldSealKey:
    """A ``SealSigner`` of a private key in this program's memory."""

    private: RSAPrivateKey = field(repr=False)

    @property
    def public(self) -> bytes:
        """Public half: SubjectPublicKeyInfo, DER."""
        return public_bytes(self.private)

    def sign(self, data: bytes) -> bytes:
        """The signature on ``data``."""
        return self.private.sign(data, PKCS1v15(), SHA256())


def signature_holds(public: bytes, signature: bytes, data: bytes) -> bool:
    """Whether ``signature`` is the one a ``SealSigner`` of ``public`` (SubjectPublicKeyInfo, DER) makes on ``data``."""
    key = load_der_public_key(public)
    if not isinstance(key, RSAPublicKey):
        return False
    try:
        key.verify(signature, data, PKCS1v15(), SHA256())
    except InvalidSignature:
        return False
    return True
