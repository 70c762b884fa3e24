"""What a person signs, and what stands in the record once signed."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Meaning(StrEnum):
    """The fixed list of meanings (21 CFR 11.50(a)(3))."""

    PERFORMED = "performed"
    REVIEWED = "reviewed"
    APPROVED = "approved"
    RELEASED = "released"
    RETURNED = "returned"
    CANCELLED = "cancelled"
    WITHDRAWN = "withdrawn"


@dataclass(frozen=True, slots=True)
class SignatureStatement:
    """Everything a signature covers; its SHA-256 is the signature (``identity/statements.py``).

    digest: of the object signed (a packet, a certificate's evidence, a document version).
    at: ``YYYY-MM-DDTHH:MM:SS.mmmZ``. zone: the site's zone name, by which ``at`` is shown.
    """

    ledger: str
    person: str
    printed_name: str
    role: str
    meaning: str
    subject: str
    version: int
    digest: str
    at: str
    zone: str


@dataclass(frozen=True, slots=True)
class Signature:
    """A statement and its signature digest."""

    statement: SignatureStatement
    signature: str
