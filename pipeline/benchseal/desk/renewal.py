"""Passwords renewed: one's own, one for once, and who may sign again after that.

Misuse has to take two people (21 CFR 11.200(a)(3)): whoever enrols somebody or resets an account cannot confirm it, and
nobody confirms themselves. The envelope of two halves stands in for an approver where the last one is the person
concerned.
"""

from __future__ import annotations

import os
from hashlib import sha256
from typing import TYPE_CHECKING

from benchseal.desk.acting import Receipt, as_json
from benchseal.desk.people import CONFIRM_FIRST, laboratory_name, somebody, somebody_else
from benchseal.desk.runs import require_reason
from benchseal.identity.password_hashes import kept_hash_digest
from benchseal.identity.passwords import password_problems
from benchseal.problems import Problem, Refusal, Stopped
from benchseal.records.canonical import canonical_bytes
from benchseal.records.people import Role
from benchseal.records.signatures import Meaning

if TYPE_CHECKING:
    from benchseal.desk.acting import Acting
    from benchseal.desk.acts_people import (
        ChangePassword,
        CheckRecovery,
        ConfirmPerson,
        MakeRecovery,
        ResetPassword,
        UseRecovery,
    )
    from benchseal.store.protocol import Row

_CUSTODIANS = 2


def change_password(acting: Acting, act: ChangePassword) -> Receipt:
    """A new password of one's own; every session of the person ends."""
    person = acting.first.person
    _require_good(acting, act.password, person)
    kept = acting.tx.row("password", person=person)
    if kept is not None and acting.site.hashes.check(kept["hash"], act.password).is_right:
        what = "it is the password in use."
        raise Stopped(Problem("person.password-same", person, what, "Choose another one."))
    _keep(acting, person, act.password, "person.password_changed", "")
    return Receipt((f"The password of {person} is changed.",), {"person": person})


def reset_password(acting: Acting, act: ResetPassword) -> Receipt:
    """A password for once. It opens nothing but ``person password``; the account waits for another person's word."""
    require_reason(act.reason, "person reset")
    row = somebody_else(acting, act.person, "resets their own password")
    if not row["active"]:
        what = "the account is closed."
        raise Stopped(Refusal("act.not-active", row["person"], what, "Open it first: `benchseal person enable`."))
    _require_good(acting, act.password, row["person"])
    _keep(acting, row["person"], act.password, "person.password_reset", act.reason)
    acting.tx.remove_private("sign_in_failure", person=row["person"])
    said = (
        f"{row['person']} can take a new password of their own with the one given, and nothing else.",
        CONFIRM_FIRST,
    )
    return Receipt(said, {"person": row["person"]})


def confirm_person(acting: Acting, act: ConfirmPerson) -> Receipt:
    """Sign that somebody is who they are said to be; from the next act on they work and sign."""
    row = _to_confirm(acting, act.person, act.identity_check)
    confirmation = canonical_bytes(
        {"schema": "confirmation/1", "person": row["person"], "identity_check": act.identity_check}
    )
    kept = acting.tx.keep(confirmation)
    subject = f"person/{row['person']}"
    signature = acting.sign(acting.first, Role.APPROVER, Meaning.APPROVED, subject, version=1, digest=kept)
    acting.write(
        "person.confirmed",
        subject,
        facts={"identity_check": act.identity_check, "signature": signature},
        digests={"confirmation": kept},
    )
    return Receipt((f"{row['person']} is confirmed, and can work and sign.",), {"person": row["person"]})


def make_recovery(acting: Acting, act: MakeRecovery) -> Receipt:
    """An envelope: administrator and approver sign who keeps its halves. The code itself is on no record."""
    administrator, approver = acting.who
    if administrator.person == approver.person:
        what = "administrator and approver are the same person."
        raise Stopped(Refusal("duty.same-checker", "recovery make", what, "A second person has to sign."))
    custodians = tuple(dict.fromkeys(name.strip() for name in act.custodians if name.strip()))
    if len(custodians) != _CUSTODIANS:
        what = f"{len(custodians)} different custodians are named; each keeps one half."
        raise Stopped(Problem("recovery.custodians", "--custodian", what, "Name two people."))
    envelope = canonical_bytes({"schema": "recovery/1", "sha256": act.sha256, "custodians": as_json([*custodians])})
    kept = acting.tx.keep(envelope)
    subject = f"recovery/{act.sha256[:16]}"
    for who, role in ((administrator, Role.ADMINISTRATOR), (approver, Role.APPROVER)):
        acting.write(
            "recovery.made",
            subject,
            facts={
                "sha256": act.sha256,
                "custodians": as_json([*custodians]),
                "signature": acting.sign(who, role, Meaning.APPROVED, subject, version=1, digest=kept),
            },
            digests={"recovery": kept},
            actor=who.person,
        )
    said = f"The envelope is on record: one half with {custodians[0]}, the other with {custodians[1]}."
    return Receipt((said, "Earlier envelopes no longer open anything."), {"custodians": [*custodians]})


def use_recovery(acting: Acting, act: UseRecovery) -> Receipt:
    """Both halves in place of an approver. An envelope opens once."""
    require_reason(act.reason, "recovery use")
    row = _to_confirm(acting, act.person, act.identity_check, by_envelope=True)
    found = _opening(acting, act.code, "recovery use")
    acting.write(
        "recovery.used",
        f"person/{row['person']}",
        facts={"sha256": found, "identity_check": act.identity_check},
        reason=act.reason,
    )
    said = (f"{row['person']} is confirmed, and can work and sign.", "The envelope is used up: make a new one.")
    return Receipt(said, {"person": row["person"]})


def check_recovery(acting: Acting, act: CheckRecovery) -> Receipt:
    """Say that both halves would open the envelope in force (21 CFR 11.300(e)); it stays closed and in force."""
    found = _opening(acting, act.code, "recovery check")
    acting.write("recovery.checked", f"recovery/{found[:16]}", facts={"sha256": found})
    said = "Both halves open the envelope in force. Put each back with its custodian, sealed."
    return Receipt((said,), {"opens": True})


def _opening(acting: Acting, code: str, command: str) -> str:
    """Digest of the code two halves make, where it opens the envelope in force. Raises Stopped."""
    newest = max(acting.tx.rows("recovery"), key=lambda one: int(one["seq"]), default=None)
    found = sha256(code.strip().encode()).hexdigest()
    if newest is None or newest["used_at"] or found != newest["sha256"]:
        what = "the two halves do not open the envelope in force."
        remedy = "Check both halves; an envelope opens once, and a newer one takes its place."
        raise Stopped(Refusal("recovery.wrong", command, what, remedy))
    return found


def _to_confirm(acting: Acting, person: str, identity_check: str, *, by_envelope: bool = False) -> Row:
    """A suspended account that whoever acts may confirm. Raises Stopped.

    by_envelope: the two custodians are the second person, so that whoever reset the account may bring their halves.
    """
    row = somebody(acting, person)
    if not identity_check.strip():
        what = "how the identity was checked is not said."
        raise Stopped(Problem("person.identity-check", row["person"], what, "Say who checked it, how and when."))
    if not row["suspended"]:
        what = "the account waits for nobody's word."
        raise Stopped(Refusal("person.not-suspended", row["person"], what, "Nothing needs to be done."))
    for who in acting.who:
        if who.person == row["person"]:
            what = "nobody confirms themselves."
            raise Stopped(Refusal("person.self", row["person"], what, "Ask another approver."))
        if who.person == row["reset_by"] and not by_envelope:
            what = f"{who.person} enrolled them, reset the account or opened it again."
            raise Stopped(Refusal("person.reset-by", row["person"], what, "Another approver has to confirm."))
    return row


def _require_good(acting: Acting, password: str, person: str) -> None:
    laboratory = laboratory_name(acting.tx, acting.site)
    if problems := password_problems(password, person=person, laboratory=laboratory):
        raise Stopped(*problems)


def _keep(acting: Acting, person: str, password: str, kind: str, reason: str) -> None:
    kept = acting.site.hashes.make(password, os.urandom(16))
    facts = as_json({"password_sha256": kept_hash_digest(kept)})
    acting.write(kind, f"person/{person}", facts=facts if isinstance(facts, dict) else {}, reason=reason)
    acting.tx.put_private("password", {"person": person, "hash": kept})
    acting.tx.remove_private("session", person=person)
