r"""Status files: read under a trust, and asked about one sealed file.

Signed bytes: "benchseal-status/1\n" || canonical status file with an empty signature. What it proves: the laboratory
said so at the moment of the checkpoint in it. Not that nothing happened since.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final, Literal, TypeAlias

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

from benchseal.ledger.checkpoints import Checkpoint, check_checkpoint, parse_checkpoint
from benchseal.ledger.key_history import out_of_time
from benchseal.problems import EXIT_DONE, EXIT_FINDING, EXIT_SETTINGS, Problem
from benchseal.records.shape import plain_of, read_record, record_bytes
from benchseal.records.status_file import StatusFile

if TYPE_CHECKING:
    from benchseal.ledger.key_history import KeyPeriod
    from benchseal.records.canonical import Digest
    from benchseal.records.status_file import StatusLine
    from benchseal.verify.trust import Trust

Word: TypeAlias = Literal["in force", "superseded", "withdrawn", "not named"]

_SIGNED: Final = b"benchseal-status/1\n"
_EXITS: Final[dict[Word, int]] = {
    "in force": EXIT_DONE,
    "superseded": EXIT_FINDING,
    "withdrawn": EXIT_FINDING,
    "not named": EXIT_SETTINGS,
}


@dataclass(frozen=True, slots=True)
class Standing:
    """What a status file says of one sealed file."""

    word: Word
    said: str

    @property
    def exit_code(self) -> int:
        """0 in force, 10 superseded or withdrawn, 3 not named."""
        return _EXITS[self.word]


def signed_bytes(status: StatusFile) -> bytes:
    """What the signature covers."""
    return _SIGNED + record_bytes(replace(status, signature=""))


def read_status(data: bytes, where: str, trust: Trust | None) -> StatusFile | tuple[Problem, ...]:
    """A status file that a trusted key signed, or everything that is wrong with it."""
    try:
        status = read_record(StatusFile, data.removesuffix(b"\n"))
    except ValueError as fault:
        return (_unusable(where, f"it is no status file: {fault}."),)
    if trust is None:
        return (_unusable(where, "no trust file says whose it is."),)
    if trust.ledger != status.ledger:
        return (_unusable(where, f"it is of ledger {status.ledger}, the trust file of {trust.ledger}."),)
    period = trust.key_period(status.key_id)
    if period is None:
        return (_unusable(where, f"it names key {status.key_id}, which the trust file does not hold."),)
    wrong = _wrong(status, period)
    return (_unusable(where, wrong),) if wrong else status


def standing(status: StatusFile, sealed_sha256: Digest) -> Standing:
    """What is said of the file with this SHA-256."""
    at = status.checkpoint.at
    line = next((one for one in status.certificates if one.sealed_sha256 == sealed_sha256), None)
    if line is None:
        whose = f" of {status.customer}" if status.customer else ""
        said = (
            f"the status file of {at} lists {len(status.certificates)} certificates{whose}; this file is none of them."
        )
        return Standing("not named", said)
    if line.state == "in force":
        return Standing("in force", f"at {at}, as the laboratory's status file says.")
    by = _replaced(status, line)
    return Standing(line.state, f"since {line.since}{by}, as the laboratory's status file of {at} says.")


def _replaced(status: StatusFile, line: StatusLine) -> str:
    """By what file it was replaced, and by what that one was, to the last; empty where nothing replaced it."""
    listed = {one.sealed_sha256: one for one in status.certificates}
    said, seen = "", {line.sealed_sha256}
    while line.replaced_by and line.replaced_by not in seen:
        seen.add(line.replaced_by)
        said += f"{', that' if said else ','} replaced by the file with SHA-256 {line.replaced_by}"
        after = listed.get(line.replaced_by)
        if after is None:
            break
        if not after.replaced_by and after.state != "in force":
            said += f", which is {after.state}"
        line = after
    return said


def _wrong(status: StatusFile, period: KeyPeriod) -> str:
    """What speaks against the key, the signature or the head; empty where nothing does."""
    if period.revoked is not None:
        return f"key {period.key_id} is revoked as from {period.revoked.since} ({period.revoked.reason})."
    try:
        Ed25519PublicKey.from_public_bytes(period.public).verify(bytes.fromhex(status.signature), signed_bytes(status))
    except (InvalidSignature, ValueError):
        return "its signature does not hold: it was altered, or another made it."
    head = parse_checkpoint(plain_of(status.checkpoint))
    if not isinstance(head, Checkpoint):
        return "; ".join(problem.what for problem in head)
    if head.ledger != status.ledger or head.key_id != status.key_id:
        return "its head is of another ledger, or signed by another key."
    finding = check_checkpoint(head, period.public) or out_of_time(period, head)
    return finding.what if finding else ""


def _unusable(where: str, what: str) -> Problem:
    return Problem("verify.status", where, what, "Ask the laboratory for its present status file and trust file.")
