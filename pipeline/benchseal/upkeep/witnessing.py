"""A witness's own folder, on another machine: its key, and the last head it accepted of each ledger it looks after."""

from __future__ import annotations

import os
import re
from typing import TYPE_CHECKING

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat

from benchseal.desk.clock import Clock, stamp, system_clock
from benchseal.desk.keys import write_private
from benchseal.ledger.checkpoints import Checkpoint, read_checkpoint, write_checkpoint
from benchseal.ledger.witness import Growth, Seen, accept, countersign
from benchseal.problems import Problem, Stopped, Trouble

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from benchseal.ledger.key_history import KeyPeriod

KEY_FILE = "witness.key"
_NAME = re.compile(r"[A-Za-z0-9.-]{1,100}")


def witness(
    folder: Path, growth: Growth, history: Sequence[KeyPeriod], clock: Clock = system_clock
) -> tuple[Seen, bytes]:
    """Accept a head and countersign it; the witness's raw public key with it. Raises Stopped where it must not.

    folder: made at the first call. history: the ledger's keys, from the laboratory's trust file. A head that
    contradicts the one kept before is kept beside it: both together are the evidence.
    """
    head = growth.checkpoint
    if _NAME.fullmatch(head.ledger) is None:
        raise Stopped(_refused(head.name, f"{head.ledger!r} is no name a ledger has."))
    if all(period.key_id != head.key_id for period in history):
        raise Stopped(_refused(head.name, f"its key {head.key_id} is not in the trust file."))
    try:
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        kept = folder / f"{head.ledger}.json"
        finding = accept(_last(kept), growth, history)
        if finding is not None and finding.code.startswith("integrity."):
            _keep(folder / f"{head.ledger}.refused-{head.size}-{head.root[:8]}.json", head)
        if finding is not None:
            raise Stopped(finding)
        own = _own_key(folder / KEY_FILE)
        _keep(kept, head)
    except OSError as fault:
        raise Stopped(
            Trouble("witness.not-kept", str(folder), f"it cannot be used: {fault}.", "Look at the disk; try again.")
        ) from None
    public = own.public_key().public_bytes_raw()
    return countersign(head, stamp(clock()), public, own.sign), public


def has_seen(folder: Path, growth: Growth) -> bool:
    """Whether a head of this ledger was accepted before."""
    return (folder / f"{growth.checkpoint.ledger}.json").exists()


def _last(kept: Path) -> Checkpoint | None:
    if not kept.exists():
        return None
    found = read_checkpoint(kept.read_bytes(), str(kept))
    if isinstance(found, tuple):
        raise Stopped(*found)
    return found


def _keep(kept: Path, head: Checkpoint) -> None:
    """The new head takes the place of the last in one step."""
    part = kept.with_suffix(".part")
    with part.open("wb") as file:
        file.write(write_checkpoint(head))
        file.flush()
        os.fsync(file.fileno())
    part.replace(kept)


def _own_key(path: Path) -> Ed25519PrivateKey:
    if path.exists():
        return Ed25519PrivateKey.from_private_bytes(path.read_bytes())
    made = Ed25519PrivateKey.generate()
    write_private(path, made.private_bytes(Encoding.Raw, PrivateFormat.Raw, NoEncryption()))
    return made


def _refused(where: str, what: str) -> Problem:
    return Problem("witness.ledger", where, what, "Use the laboratory's own trust.json, handed over by another way.")
