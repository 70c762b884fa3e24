"""What signs with the seal's key, wherever that key is: opened here, or in a token that never gives it out."""

from __future__ import annotations

from typing import Protocol


class SealSigner(Protocol):
    """The seal's key as those who sign with it see it. Its certificate is on record, not with the key.

    One algorithm: RSASSA-PKCS1-v1_5 with SHA-256 (RFC 8017, 8.2), which every reader of PDF and CMS knows.
    """

    @property
    def public(self) -> bytes:
        """Public half: SubjectPublicKeyInfo, DER."""
        ...

    def sign(self, data: bytes) -> bytes:
        """The signature on ``data``, as long as the modulus. A key in a token raises Stopped where it is away."""
        ...
