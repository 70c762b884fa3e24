"""Whether a reader of PDF files that trusts the authority would accept a certificate for seals (RFC 5280, 6)."""

from __future__ import annotations

import asyncio
from typing import TYPE_CHECKING

from asn1crypto import x509 as asn1_x509
from cryptography.hazmat.primitives.serialization import Encoding
from pyhanko_certvalidator import CertificateValidator, ValidationContext

if TYPE_CHECKING:
    from datetime import datetime

    from cryptography import x509


def unusable(certificate: x509.Certificate, chain: tuple[x509.Certificate, ...], at: datetime) -> str:
    """Why the path from the certificate to the end of its chain is not valid for seals ``at``; empty where it is.

    The last certificate is taken as trusted. Whether one was revoked is not asked: no network is used here.
    """
    own, *above = (asn1_x509.Certificate.load(one.public_bytes(Encoding.DER)) for one in (certificate, *chain))
    root = above[-1] if above else own
    context = ValidationContext(trust_roots=[root], allow_fetching=False, revocation_mode="soft-fail", moment=at)
    validator = CertificateValidator(own, intermediate_certs=above[:-1], validation_context=context)
    try:
        asyncio.run(validator.async_validate_usage(key_usage={"non_repudiation"}))  # type: ignore[no-untyped-call]
    except Exception as error:  # noqa: BLE001  the library raises many kinds, and a foreign file may raise any
        return str(error) or type(error).__name__
    return ""
