"""The detached signature of a delivery's manifest: CMS SignedData (RFC 5652), PEM, by the key that seals certificates.

Without signed attributes, so that the same manifest and key always give the same bytes, and no time is claimed that the
manifest does not state. Checked by stock OpenSSL (``openssl cms -verify``), which the manual spells out. The signature
comes from whatever holds the key, so the structure around it is put together here.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from asn1crypto import cms, pem
from asn1crypto import x509 as asn1_x509
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat

if TYPE_CHECKING:
    from cryptography import x509

    from benchseal.records.seal_signer import SealSigner

_SHA256 = {"algorithm": "sha256"}
_LABEL = "PKCS7"  # what OpenSSL reads under ``-inform PEM``, beside CMS


def signed(
    manifest: bytes, signer: SealSigner, certificate: x509.Certificate, chain: tuple[x509.Certificate, ...] = ()
) -> bytes:
    """The signature file of ``manifest``; the certificate is in it, the manifest is not. RSA, PKCS #1 v1.5, SHA-256.

    chain: certificates above it, which go with it.

    Raises ValueError where the certificate belongs to another key; what the signer raises comes through.
    """
    if certificate.public_key().public_bytes(Encoding.DER, PublicFormat.SubjectPublicKeyInfo) != signer.public:
        raise ValueError("the certificate belongs to another key")
    own, *above = (asn1_x509.Certificate.load(one.public_bytes(Encoding.DER)) for one in (certificate, *chain))
    signer_info = cms.SignerInfo(
        {
            "version": "v1",
            "sid": cms.SignerIdentifier(
                {"issuer_and_serial_number": {"issuer": own.issuer, "serial_number": own.serial_number}}
            ),
            "digest_algorithm": _SHA256,
            "signature_algorithm": {"algorithm": "rsassa_pkcs1v15"},
            "signature": signer.sign(manifest),
        }
    )
    data = cms.SignedData(
        {
            "version": "v1",
            "digest_algorithms": [_SHA256],
            "encap_content_info": {"content_type": "data"},
            "certificates": [own, *above],
            "signer_infos": [signer_info],
        }
    )
    whole: bytes = cms.ContentInfo({"content_type": "signed_data", "content": data}).dump()
    armoured: bytes = pem.armor(_LABEL, whole)
    return armoured
