"""Handing over to a new key, and revoking one that others may have. Two people sign both.

The new key, both signatures of the handover and a head that the old tree key signs over the entry are put on record in
one transaction: a new key is never in force without the old one's word for it. The head is not given out before the
commit (decision record 0019). Afterwards the old key is destroyed and ``trust.json`` written again; killed in between,
``finish`` does both at the next call.
"""

from __future__ import annotations

import secrets
from dataclasses import replace
from datetime import date, timedelta
from typing import TYPE_CHECKING, NamedTuple, cast

from cryptography.hazmat.primitives.serialization import Encoding

from benchseal.desk import keys
from benchseal.desk.acting import Receipt
from benchseal.desk.founding import SEAL_YEARS
from benchseal.desk.key_records import key_rows, write_trust
from benchseal.desk.runs import require_reason
from benchseal.identity.keys import key_id_of, public_bytes
from benchseal.identity.seal_certificate import seal_certificate
from benchseal.identity.seal_signer import HeldSealKey
from benchseal.identity.token_reference import public_key_id
from benchseal.ledger.checkpoints import make_checkpoint, write_checkpoint
from benchseal.ledger.key_history import KEYS, SEAL, TREE, Handover, handover_bytes, handover_object
from benchseal.ledger.tree import tree_root
from benchseal.problems import Problem, Refusal, Stopped
from benchseal.records.canonical import canonical_bytes
from benchseal.records.people import Role
from benchseal.records.signatures import Meaning

if TYPE_CHECKING:
    from collections.abc import Callable

    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
    from cryptography.hazmat.primitives.asymmetric.rsa import RSAPrivateKey

    from benchseal.desk.acting import Acting
    from benchseal.desk.acts_keys import RevokeKey, RotateKey
    from benchseal.desk.site import Site
    from benchseal.records.canonical import Digest, Json
    from benchseal.records.seal_signer import SealSigner
    from benchseal.store.protocol import Row

_FILES = {SEAL: keys.SEAL, TREE: keys.TREE}


class Next(NamedTuple):
    """A handover with both signatures; of a seal its certificate, those of its authority and its token, as kept."""

    handover: Handover
    certificate: bytes = b""
    chain: bytes = b""
    token: bytes = b""


def make_key(_: Site, act: RotateKey) -> object:
    """The new key, made before the writer's lock is taken: an RSA key may take seconds. None where none is meant."""
    return keys.new_key(_FILES[act.key]) if act.key in KEYS else None


def rotate_key(acting: Acting, act: RotateKey) -> Receipt:
    """A new key, on record under the signatures of two people and of the old key."""
    require_two_people(acting, act.reason, "key rotate")
    if act.key not in KEYS:
        what = f"{act.key!r} is no key of a site."
        raise Stopped(Problem("keys.which", "key rotate", what, "Name seal or tree."))
    if act.key == TREE:
        return hand_over(acting, act.reason, TREE, _tree)
    return hand_over(acting, act.reason, SEAL, _seal)


def hand_over(acting: Acting, reason: str, key: str, make: Callable[[Acting, Row], Next]) -> Receipt:
    """Put the key that ``make`` gives in the place of the one in force; nothing of it stays where that stops."""
    row = _site_row(acting)
    old = str(row[f"{key}_key_id"])
    tree = keys.open_tree_key(acting.site.private, row["tree_key_id"])
    try:
        made = make(acting, row)
        _put_on_record(acting, reason, made)
        _cover(acting, tree)
    except BaseException:
        keys.forget_all_but(acting.site.private, {row["seal_key_id"], row["tree_key_id"]})
        raise
    new = made.handover.new_key_id
    said = [f"The {key} key is {new} now; {old} signed that it hands over, at entry {made.handover.entry}."]
    if keys.token_note(acting.site.private, old).is_file():
        said.append(f"{old} is still in its token: destroy it there, with the programs of the token's maker.")
    return Receipt(tuple(said), {"key": key, "old": old, "new": new, "entry": made.handover.entry})


def revoke_key(acting: Acting, act: RevokeKey) -> Receipt:
    """A key that is not in force any more is revoked from a day on; what is on record under it stays good."""
    require_two_people(acting, act.reason, "key revoke")
    rows = [row for key in KEYS for row in key_rows(acting.tx, key) if row["key_id"] == act.key_id]
    if not rows:
        what = "no key of this site has this name."
        raise Stopped(Refusal("keys.unknown", act.key_id, what, "See `benchseal key list`."))
    row = rows[0]
    if not row["until_entry"]:
        what = f"it is the {row['key']} key in force."
        remedy = f"Run `benchseal key rotate {row['key']}` first: what is sealed after it needs another key."
        raise Stopped(Refusal("keys.in-force", act.key_id, what, remedy))
    if row["revoked_since"]:
        what = f"it is revoked as from {row['revoked_since']} already."
        raise Stopped(Refusal("keys.already-revoked", act.key_id, what, "Nothing needs to be done."))
    since = _day(act.since, acting.at)
    facts: dict[str, Json] = {"key": row["key"], "key_id": act.key_id, "since": since}
    revocation = canonical_bytes({"schema": "key-revocation/1", **facts, "reason": act.reason})
    digests = {"revocation": acting.tx.keep(revocation)}
    kinds = ("key.revocation_agreed", "key.revoked")
    _both_sign(acting, kinds, f"key/{act.key_id}", digests["revocation"], facts, digests, act.reason)
    said = (
        f"The {row['key']} key {act.key_id} is revoked as from {since}.",
        "What is on record under it stays good: trust.json names it. Hand trust.json out again.",
    )
    return Receipt(said, {**facts})


def finish(site: Site) -> None:
    """Destroy the envelopes of keys that are not in force, and write the trust file again. Can be called at any time.

    Inside the one writing transaction: another rotation under way has an envelope there that is not in force yet.
    """
    with site.store.writing() as tx:
        row = tx.row("site", ledger=site.ledger)
        if row is None:
            raise AssertionError("a site has a founding entry")
        keys.forget_all_but(site.private, {row["seal_key_id"], row["tree_key_id"]})
        write_trust(site, tx)


def _tree(acting: Acting, row: Row) -> Next:
    old = keys.open_tree_key(acting.site.private, row["tree_key_id"])
    new = cast("Ed25519PrivateKey", acting.made)
    keys.keep_next(acting.site.private, keys.TREE, (keys.TREE, key_id_of(old)), new)
    handover = _handover(acting, TREE, (key_id_of(old), public_bytes(old)), (key_id_of(new), public_bytes(new)))
    message = handover_bytes(handover)
    return Next(replace(handover, old_signature=old.sign(message), new_signature=new.sign(message)))


def _seal(acting: Acting, row: Row) -> Next:
    new = cast("RSAPrivateKey", acting.made)
    certificate = seal_certificate(
        new,
        organisation=row["name"],
        serial=secrets.randbits(158) + 1,
        not_before=acting.moment - timedelta(minutes=5),
        not_after=acting.moment + timedelta(days=365 * SEAL_YEARS),
    )
    made = next_seal(acting, row, HeldSealKey(new), certificate.public_bytes(Encoding.DER))
    keys.keep_next(acting.site.private, keys.SEAL, (keys.TREE, row["tree_key_id"]), new)
    return made


def next_seal(acting: Acting, row: Row, new: SealSigner, certificate: bytes) -> Next:
    """A seal's key and certificate (DER) after the one in force, both having signed. The caller keeps the new one."""
    old = keys.open_seal_key(acting.site.private, row["seal_key_id"])
    old_id, new_id = public_key_id(old.public), public_key_id(new.public)
    before = acting.tx.bytes_of(row["seal_certificate"])
    handover = _handover(acting, SEAL, (old_id, before), (new_id, certificate))
    message = handover_bytes(handover)
    first, second = (key.sign(message) for key in (old, new))
    return Next(replace(handover, old_signature=first, new_signature=second), certificate)


def _handover(acting: Acting, key: str, old: tuple[str, bytes], new: tuple[str, bytes]) -> Handover:
    """Unsigned. Its entry is the second that this act writes."""
    return Handover(acting.site.ledger, key, old[0], new[0], old[1], new[1], acting.tx.size() + 2, acting.at)


def _put_on_record(acting: Acting, reason: str, made: Next) -> None:
    handover = made.handover
    digests = {"handover": acting.tx.keep(handover_object(handover))}
    if made.certificate:
        digests["seal_certificate"] = acting.tx.keep(made.certificate)
    if made.chain:
        digests["seal_chain"] = acting.tx.keep(made.chain)
    if made.token:
        digests["seal_token"] = acting.tx.keep(made.token)
    facts: dict[str, Json] = {
        "key": handover.key,
        "old_key_id": handover.old_key_id,
        "new_key_id": handover.new_key_id,
        "old_signature": handover.old_signature.hex(),
        "new_signature": handover.new_signature.hex(),
    }
    kinds = ("key.rotation_agreed", "key.rotated")
    subject = f"key/{handover.new_key_id}"
    last = _both_sign(acting, kinds, subject, digests["handover"], facts, digests, reason)
    if last != handover.entry:
        raise AssertionError("a handover names the entry it stands in")


def _both_sign(  # noqa: PLR0913, PLR0917  the parts of two entries
    acting: Acting,
    kinds: tuple[str, str],
    subject: str,
    signed: Digest,
    facts: dict[str, Json],
    digests: dict[str, Digest],
    reason: str,
) -> int:
    """Two entries, each with the signature of one of the two; the second has the effect. Its number."""
    last = 0
    for kind, who, role in zip(kinds, acting.who, (Role.ADMINISTRATOR, Role.APPROVER), strict=True):
        signature = acting.sign(who, role, Meaning.APPROVED, subject, version=1, digest=signed)
        said = {**facts, "signature": signature}
        last = acting.write(kind, subject, facts=said, digests=digests, reason=reason, actor=who.person)
    return last


def _cover(acting: Acting, tree: Ed25519PrivateKey) -> None:
    """The tree key that was in force before signs the head that holds the handover."""
    size = acting.tx.size()
    head = make_checkpoint(
        ledger=acting.site.ledger,
        size=size,
        root=tree_root(size, acting.tx),
        at=acting.at,
        public_key=public_bytes(tree),
        sign=tree.sign,
    )
    acting.tx.keep_checkpoint(size, write_checkpoint(head).decode())


def require_two_people(acting: Acting, reason: str, command: str) -> None:
    """Two people sign, and say why. Raises Stopped."""
    require_reason(reason, command)
    administrator, approver = acting.who
    if administrator.person == approver.person:
        what = "administrator and approver are the same person."
        raise Stopped(Refusal("duty.same-checker", command, what, "A second person has to sign."))


def _site_row(acting: Acting) -> Row:
    row = acting.tx.row("site", ledger=acting.site.ledger)
    if row is None:
        raise AssertionError("a site has a founding entry")
    return row


def _day(text: str, at: str) -> str:
    try:
        day = date.fromisoformat(text).isoformat()
    except ValueError:
        what = f"{text!r} is no day."
        raise Stopped(Problem("keys.since", "--since", what, "Write it as 2026-03-02.")) from None
    if day > at[:10]:
        what = f"{day} has not come yet."
        raise Stopped(Problem("keys.since", "--since", what, "Give the day from which on others may have had the key."))
    return day
