from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from benchseal.identity.keys import new_seal_rsa3072

if TYPE_CHECKING:
    from cryptography.hazmat.primitives.asymmetric.rsa import RSAPrivateKey


@pytest.fixture(scope="session")
def seal_key() -> RSAPrivateKey:
    """Made once: a 3072-bit key takes a moment."""
    return new_seal_rsa3072()
