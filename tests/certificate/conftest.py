"""One rendered and sealed certificate for all tests of this room; the key is made anew and thrown away."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from cryptography.hazmat.primitives.asymmetric import rsa
from tests.certificate.demo_views import LOZENGE

from benchseal.certificate.render import evidence_and_supplement, render
from benchseal.certificate.seal import OF_CERTIFICATE, SealKey, seal
from benchseal.identity.seal_certificate import seal_certificate
from benchseal.identity.seal_signer import HeldSealKey

SEALED_AT = datetime(2026, 1, 19, 9, 22, 18, tzinfo=UTC)
EVIDENCE = b'{"readings":["0.0312","0.0309"]}'
SUPPLEMENT = b'{"proof":[]}'
ATTACHED = evidence_and_supplement(EVIDENCE, SUPPLEMENT)


def make_key(bits: int = 3072, life_days: int = 3650) -> SealKey:
    private = rsa.generate_private_key(65537, bits)
    return SealKey(
        HeldSealKey(private),
        seal_certificate(
            private,
            organisation="Tern Quay Laboratory",
            serial=4711,
            not_before=SEALED_AT - timedelta(days=30),
            not_after=SEALED_AT + timedelta(days=life_days),
        ),
    )


@pytest.fixture(scope="session")
def key() -> SealKey:
    return make_key()


@pytest.fixture(scope="session")
def other_key() -> SealKey:
    return make_key()


@pytest.fixture(scope="session")
def raw() -> bytes:
    rendered = render(LOZENGE, ATTACHED, SEALED_AT)
    assert isinstance(rendered, bytes), rendered
    return rendered


@pytest.fixture(scope="session")
def sealed(raw: bytes, key: SealKey) -> bytes:
    return seal(raw, key, SEALED_AT, OF_CERTIFICATE)
