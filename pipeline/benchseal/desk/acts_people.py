"""Acts on people: enrolment and accounts: as values, and who may do them with which signature."""

from __future__ import annotations

from dataclasses import dataclass

from benchseal.desk.act_row import ADMINISTRATOR, APPROVER, ActRow, Signer, anyone, signing
from benchseal.records.people import Role
from benchseal.records.signatures import Meaning


@dataclass(frozen=True, slots=True)
class AddPerson:
    """Enrol a person. identity_check: how the identity was checked. password: the person's own, typed by them."""

    person: str
    printed_name: str
    roles: tuple[Role, ...]
    identity_check: str
    password: str


@dataclass(frozen=True, slots=True)
class UnlockPerson:
    """Let somebody locked out try again."""

    person: str
    reason: str


@dataclass(frozen=True, slots=True)
class ChangeRole:
    """Give somebody a role, or take it away. gives: which of the two."""

    person: str
    role: Role
    gives: bool
    reason: str


@dataclass(frozen=True, slots=True)
class DisablePerson:
    """Close an account. Its identifier stays and is never given to anybody else."""

    person: str
    reason: str


@dataclass(frozen=True, slots=True)
class EnablePerson:
    """Open a closed account again; it signs only once its person's identity was confirmed again."""

    person: str
    reason: str


@dataclass(frozen=True, slots=True)
class ChangePassword:
    """A new password of one's own."""

    password: str


@dataclass(frozen=True, slots=True)
class ResetPassword:
    """Give somebody a password for once; signing waits until another person confirmed who they are."""

    person: str
    password: str
    reason: str


@dataclass(frozen=True, slots=True)
class ConfirmPerson:
    """Say that the identity of somebody was checked again. identity_check: how."""

    person: str
    identity_check: str


@dataclass(frozen=True, slots=True)
class MakeRecovery:
    """Make an envelope for the day the last approver cannot be confirmed. sha256: of the code its two halves make."""

    sha256: str
    custodians: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class UseRecovery:
    """Confirm somebody with the two halves of an envelope, in place of an approver."""

    person: str
    code: str
    identity_check: str
    reason: str


@dataclass(frozen=True, slots=True)
class CheckRecovery:
    """Try whether two halves would open the envelope in force; nobody is confirmed by it."""

    code: str


PEOPLE: tuple[ActRow, ...] = (
    ActRow(AddPerson, "person add", anyone(ADMINISTRATOR), ("person.added",), "people:add_person", "enrol a person"),
    ActRow(
        UnlockPerson,
        "person unlock",
        anyone(ADMINISTRATOR),
        ("person.unlocked",),
        "people:unlock_person",
        "let somebody locked out try again",
    ),
    ActRow(
        ChangeRole,
        "person role",
        anyone(ADMINISTRATOR),
        ("person.role_given", "person.role_taken"),
        "accounts:change_role",
        "give somebody a role or take it away; never one's own",
    ),
    ActRow(
        DisablePerson,
        "person disable",
        anyone(ADMINISTRATOR),
        ("person.disabled",),
        "accounts:disable_person",
        "close an account at once; its user id is never given again",
    ),
    ActRow(
        EnablePerson,
        "person enable",
        anyone(ADMINISTRATOR),
        ("person.enabled",),
        "accounts:enable_person",
        "open a closed account; it signs only after `person confirm`",
    ),
    ActRow(
        ChangePassword,
        "person password",
        (Signer(frozenset(Role), password=True, once=True),),
        ("person.password_changed",),
        "renewal:change_password",
        "take a new password of your own",
    ),
    ActRow(
        ResetPassword,
        "person reset",
        anyone(ADMINISTRATOR),
        ("person.password_reset",),
        "renewal:reset_password",
        "give somebody a password for once; signing waits for `person confirm`",
    ),
    ActRow(
        ConfirmPerson,
        "person confirm",
        signing(APPROVER, Meaning.APPROVED),
        ("person.confirmed",),
        "renewal:confirm_person",
        "sign that somebody's identity was checked again, so that they can sign",
    ),
    ActRow(
        MakeRecovery,
        "recovery make",
        (Signer(frozenset({ADMINISTRATOR}), Meaning.APPROVED), Signer(frozenset({APPROVER}), Meaning.APPROVED)),
        ("recovery.made",),
        "renewal:make_recovery",
        "make an envelope of two halves for the day no approver can confirm",
    ),
    ActRow(
        UseRecovery,
        "recovery use",
        (Signer(frozenset({ADMINISTRATOR}), password=True),),
        ("recovery.used",),
        "renewal:use_recovery",
        "confirm somebody with both halves of the envelope, in place of an approver",
    ),
    ActRow(
        CheckRecovery,
        "recovery check",
        (Signer(frozenset({ADMINISTRATOR}), password=True),),
        ("recovery.checked",),
        "renewal:check_recovery",
        "try whether both halves would open the envelope, and put it on record",
    ),
)
