"""The detached signature of a delivery's manifest: CMS SignedData (RFC 5652), PEM, by the key that seals certificates.

Without signed attributes, so that the same manifest and key always give the same bytes, and no time is claimed that the
manifest does not state. Checked by stock OpenSSL (``openssl cms -verify``), which the manual spells out.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.serialization import Encoding
from cryptography.hazmat.primitives.serialization.pkcs7 import PKCS7Options, PKCS7SignatureBuilder

if TYPE_CHECKING:
    from cryptography import x509
    from cryptography.hazmat.primitives.asymmetric.rsa import RSAPrivateKey


def signed(
    manifest: bytes, key: RSAPrivateKey, certificate: x509.Certificate, chain: tuple[x509.Certificate, ...] = ()
) -> bytes:
    """The signature file of ``manifest``; the certificate is in it, the manifest is not. RSA, PKCS #1 v1.5, SHA-256.

    chain: certificates above it, which go with it.

    Raises ValueError where the certificate belongs to another key.
    """
    if certificate.public_key() != key.public_key():
        raise ValueError("the certificate belongs to another key")
    builder = PKCS7SignatureBuilder().set_data(manifest).add_signer(certificate, key, hashes.SHA256())
    for above in chain:
        builder = builder.add_certificate(above)
    options = [PKCS7Options.DetachedSignature, PKCS7Options.Binary, PKCS7Options.NoAttributes]
    return builder.sign(Encoding.PEM, options)
