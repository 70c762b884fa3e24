"""The act on qualifications: two people sign the tests of this installation. The tests are made by ``upkeep/``."""

from __future__ import annotations

from dataclasses import dataclass

from benchseal.desk.act_row import ADMINISTRATOR, APPROVER, ActRow, Signer
from benchseal.records.signatures import Meaning


@dataclass(frozen=True, slots=True)
class SignQualification:
    """Sign a qualification. record: its canonical bytes, made again by the command; listed: figures that were seen."""

    record: bytes
    listed: str
    comment: str


QUALIFICATION: tuple[ActRow, ...] = (
    ActRow(
        SignQualification,
        "qualify sign",
        (Signer(frozenset({ADMINISTRATOR}), Meaning.PERFORMED), Signer(frozenset({APPROVER}), Meaning.APPROVED)),
        ("qualification.signed",),
        "qualification:sign_qualification",
        "test again, and sign that the installation was tested as listed and may be used",
    ),
)
