r"""Keys over time: which key signed heads of which sizes, how one was handed over to the next, and which are revoked.

A handover is a canonical object that names the old key, the new key and the entry that puts it on record. Both keys
sign "benchseal-key-handover/1\n" || its bytes: the old one says that it hands over, the new one that it is there to
take over. So a key is known to whoever knows the one before it. Tree heads: Ed25519 (RFC 8032); seals: RSA, PKCS #1
v1.5 with SHA-256 (RFC 8017), the public half in its X.509 certificate.

A head of ``size`` entries is signed by the key in force there: the old one up to and with the entry of the handover,
the new one from that entry on. The one head both may sign is the one that holds the handover.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from cryptography import x509
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey
from cryptography.hazmat.primitives.asymmetric.padding import PKCS1v15
from cryptography.hazmat.primitives.asymmetric.rsa import RSAPublicKey
from cryptography.hazmat.primitives.hashes import SHA256

from benchseal.ledger.checkpoints import check_checkpoint
from benchseal.problems import Finding
from benchseal.records.canonical import canonical_bytes, parse_canonical

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from benchseal.ledger.checkpoints import Checkpoint
    from benchseal.records.canonical import Json

SCHEMA: Final = "key-handover/1"
TREE: Final = "tree"
SEAL: Final = "seal"
KEYS: Final = (SEAL, TREE)

_SIGNED = b"benchseal-key-handover/1\n"
_TEXTS = ("ledger", "key", "old_key_id", "new_key_id", "old_public_hex", "new_public_hex", "at")
_STOP = "Nothing signed by the later key can be relied on. Stop work and keep this copy."


@dataclass(frozen=True, slots=True)
class Revoked:
    """A key that others may have. since: the day from which on; confirmed: what it signed that stays good all the same.

    confirmed: roots of tree heads, or digests of sealed files, hexadecimal, as the laboratory names them afterwards.
    """

    since: str
    at: str
    reason: str
    confirmed: frozenset[str]


@dataclass(frozen=True, slots=True)
class KeyPeriod:
    """One key of tree heads: its short name, 32 raw bytes (Ed25519), and the sizes of heads it signs.

    until_entry: the entry that handed over to the next key; None while it is in force.
    """

    key_id: str
    public: bytes
    from_entry: int = 1
    until_entry: int | None = None
    revoked: Revoked | None = None


@dataclass(frozen=True, slots=True)
class Handover:
    """One key takes the place of another at an entry. key: ``tree`` or ``seal``.

    Public halves: 32 raw bytes for tree heads; the DER of the X.509 certificate for seals. Signatures: of the old and
    of the new key over ``handover_bytes``.
    """

    ledger: str
    key: str
    old_key_id: str
    new_key_id: str
    old_public: bytes
    new_public: bytes
    entry: int
    at: str
    old_signature: bytes = b""
    new_signature: bytes = b""

    @property
    def name(self) -> str:
        """How a person finds it."""
        return f"handover of the {self.key} key at entry {self.entry}"


def handover_object(handover: Handover) -> bytes:
    """The canonical object of a handover, its signatures left out. Inverse: ``read_handover``."""
    value: dict[str, Json] = {
        "schema": SCHEMA,
        "ledger": handover.ledger,
        "key": handover.key,
        "old_key_id": handover.old_key_id,
        "new_key_id": handover.new_key_id,
        "old_public_hex": handover.old_public.hex(),
        "new_public_hex": handover.new_public.hex(),
        "entry": handover.entry,
        "at": handover.at,
    }
    return canonical_bytes(value)


def handover_bytes(handover: Handover) -> bytes:
    """What both keys sign."""
    return _SIGNED + handover_object(handover)


def read_handover(data: bytes, old_signature: str, new_signature: str) -> Handover:
    """A handover from its object and two signatures in hexadecimal. Raises ValueError where it is none."""
    value = parse_canonical(data)
    if not isinstance(value, dict) or value.keys() != {"schema", "entry", *_TEXTS} or value["schema"] != SCHEMA:
        raise ValueError("it is no handover of a key")
    texts = {name: value[name] for name in _TEXTS}
    entry = value["entry"]
    if not all(isinstance(text, str) for text in texts.values()) or type(entry) is not int:
        raise ValueError("a member of the handover has another type")
    one = {name: str(text) for name, text in texts.items()}
    return Handover(
        ledger=one["ledger"],
        key=one["key"],
        old_key_id=one["old_key_id"],
        new_key_id=one["new_key_id"],
        old_public=bytes.fromhex(one["old_public_hex"]),
        new_public=bytes.fromhex(one["new_public_hex"]),
        entry=entry,
        at=one["at"],
        old_signature=bytes.fromhex(old_signature),
        new_signature=bytes.fromhex(new_signature),
    )


def check_handover(handover: Handover) -> Finding | None:
    """Whether both keys signed it. That the old key is the one in force there is for ``check_chain`` to say."""
    if handover.key not in KEYS or handover.old_public == handover.new_public:
        return _not_held(handover.name, "it hands over no key of this ledger to another.")
    message = handover_bytes(handover)
    for word, public, signature in (
        ("old", handover.old_public, handover.old_signature),
        ("new", handover.new_public, handover.new_signature),
    ):
        if not _signed(handover.key, public, signature, message):
            return _not_held(handover.name, f"the {word} key {getattr(handover, f'{word}_key_id')} did not sign it.")
    return None


def check_chain(ledger: str, key: str, first: tuple[str, bytes], handovers: Sequence[Handover]) -> list[Finding]:
    """Whether handovers lead, one after the other, from the first key (id and public half) of a ledger to the last."""
    found, before, entry = [], first, 1
    for handover in handovers:
        if (handover.ledger, handover.key) != (ledger, key):
            what = f"it is of the {handover.key} key of ledger {handover.ledger}, not of {ledger}."
            found.append(_not_held(handover.name, what))
        elif (handover.old_key_id, handover.old_public) != before:
            what = f"it hands over from key {handover.old_key_id}; in force there was {before[0]}."
            found.append(_not_held(handover.name, what))
        elif handover.entry <= entry:
            found.append(_not_held(handover.name, f"it does not come after entry {entry}."))
        elif (finding := check_handover(handover)) is not None:
            found.append(finding)
        before, entry = (handover.new_key_id, handover.new_public), handover.entry
    return found


def followed(first: tuple[str, bytes], handovers: Iterable[Handover]) -> tuple[Handover, ...]:
    """Handovers that lead on from the first key, up to the first that does not."""
    found, before = list[Handover](), first
    for handover in handovers:
        if (handover.old_key_id, handover.old_public) != before or check_handover(handover) is not None:
            break
        found.append(handover)
        before = (handover.new_key_id, handover.new_public)
    return tuple(found)


def periods(first: tuple[str, bytes], handovers: Iterable[Handover]) -> tuple[tuple[str, bytes, int, int | None], ...]:
    """Each key with the entries it begins and ends at: (id, public half, from, until)."""
    found: list[tuple[str, bytes, int, int | None]] = [(*first, 1, None)]
    for handover in handovers:
        last = found.pop()
        found.append((last[0], last[1], last[2], handover.entry))
        found.append((handover.new_key_id, handover.new_public, handover.entry, None))
    return tuple(found)


def check_head(history: Iterable[KeyPeriod], checkpoint: Checkpoint) -> Finding | None:
    """Whether a key of the history signed the head, and was in force for heads of that size."""
    known = {period.key_id: period for period in history}
    period = known.get(checkpoint.key_id)
    if period is None:
        return Finding(
            "integrity.checkpoint-key",
            checkpoint.name,
            f"it names key {checkpoint.key_id}; the keys of this ledger are {', '.join(known) or 'none'}.",
            "No such key was ever in use here: treat it as forged.",
        )
    return out_of_time(period, checkpoint) or check_checkpoint(checkpoint, period.public)


def out_of_time(period: KeyPeriod, checkpoint: Checkpoint) -> Finding | None:
    """Whether a head is of a size its key does not sign."""
    if period.until_entry is not None and checkpoint.size > period.until_entry:
        what = f"key {period.key_id} ended at entry {period.until_entry}; this head has {checkpoint.size} entries."
    elif period.from_entry > 1 and checkpoint.size < period.from_entry:
        what = f"key {period.key_id} begins at entry {period.from_entry}; this head has {checkpoint.size} entries."
    else:
        return None
    remedy = "A key out of its time signs nothing here: treat it as forged, keep it, and find out who has that key."
    return Finding("integrity.key-ended", checkpoint.name, what, remedy)


def _signed(key: str, public: bytes, signature: bytes, message: bytes) -> bool:
    try:
        if key == TREE:
            Ed25519PublicKey.from_public_bytes(public).verify(signature, message)
            return True
        rsa = x509.load_der_x509_certificate(public).public_key()
        if not isinstance(rsa, RSAPublicKey):
            return False
        rsa.verify(signature, message, PKCS1v15(), SHA256())
    except (InvalidSignature, ValueError):
        return False
    return True


def _not_held(where: str, what: str) -> Finding:
    return Finding("integrity.key-handover", where, what, _STOP)
