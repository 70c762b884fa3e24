"""Opinions and interpretations on a certificate: of one person who may express them, on exact results, with a basis."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from benchseal.records.canonical import Digest
from benchseal.records.signatures import Signature


@dataclass(frozen=True, slots=True)
class Opinion:
    """One opinion on the results of one sample. opinion: ``O-0001``. basis: what it is based on, in words.

    results: digests of the results it is about, as reviewed when it was given, in the order of the specification.
    """

    schema: Literal["opinion/1"]
    opinion: str
    sample: str
    person: str
    text: str
    basis: str
    results: tuple[Digest, ...]


@dataclass(frozen=True, slots=True)
class SignedOpinion:
    """An opinion with the signature of the person whose it is."""

    opinion: Opinion
    signature: Signature
