"""Accounts: roles, closed and opened, passwords renewed, the envelope of two halves."""

from __future__ import annotations

import secrets
from hashlib import sha256
from typing import TYPE_CHECKING

from benchseal.cli import show
from benchseal.cli.opened import do, site_of
from benchseal.cli.secrets_in import asked, at_terminal, credentials, secret_lines
from benchseal.desk.acts_people import (
    ChangePassword,
    ChangeRole,
    CheckRecovery,
    ConfirmPerson,
    DisablePerson,
    EnablePerson,
    MakeRecovery,
    ResetPassword,
    UseRecovery,
)
from benchseal.desk.admission import Password
from benchseal.desk.perform import perform
from benchseal.problems import Problem, Refusal, Stopped
from benchseal.records.people import Role

if TYPE_CHECKING:
    from argparse import Namespace

_LETTERS = "abcdefghjkmnpqrstuvwxyz23456789"  # none that look alike
_CODE_BYTES = 32


def role(args: Namespace) -> int:
    """Give or take one role."""
    if bool(args.give) == bool(args.take):
        what = "--give and --take are both there, or neither is."
        raise Stopped(Problem("person.role", "person role", what, "Give one role, or take one."))
    name = args.give or args.take
    known = {each.value for each in Role}
    if name not in known:
        what = f"{name} is no role; roles are {', '.join(sorted(known))}."
        raise Stopped(Problem("person.role", "person role", what, "Give one of these."))
    return do(args, ChangeRole(args.person, Role(name), bool(args.give), args.reason))


def disable(args: Namespace) -> int:
    """Close an account."""
    return do(args, DisablePerson(args.person, args.reason))


def enable(args: Namespace) -> int:
    """Open a closed account again."""
    return do(args, EnablePerson(args.person, args.reason))


def password(args: Namespace) -> int:
    """A new password of one's own: third line of the pipe, or typed twice."""
    if args.secret_fd is not None:
        person, old, new = secret_lines(args.secret_fd, 3)
        given = Password(person, old)
    else:
        if not at_terminal():
            what = "there is no terminal to ask for the new password at."
            raise Stopped(
                Refusal("sign-in.none", "person password", what, "Use a terminal, or --secret-fd N (a pipe).")
            )
        given = asked()
        new = _twice(given.person)
    with site_of(args) as site:
        return show.receipt(args, perform(site, ChangePassword(new), given))


def reset(args: Namespace) -> int:
    """A password for once, made here and shown once: nobody chooses a lasting one for somebody else."""
    once = "-".join("".join(secrets.choice(_LETTERS) for _ in range(5)) for _ in range(5))
    with site_of(args) as site:
        done = perform(site, ResetPassword(args.person, once, args.reason), *credentials(args, site))
    said = [*done.said, f"Hand it over in person; it is shown once: {once}"]
    return show.lines(args, said, {**done.data, "password_for_once": once})


def confirm(args: Namespace) -> int:
    """Confirm who somebody is, so that they sign again."""
    return do(args, ConfirmPerson(args.person, args.identity_check))


def recovery_make(args: Namespace) -> int:
    """Make the envelope; its two halves are shown once."""
    code = secrets.token_bytes(_CODE_BYTES)
    first = secrets.token_bytes(_CODE_BYTES)
    second = bytes(one ^ other for one, other in zip(code, first, strict=True))
    act = MakeRecovery(sha256(code.hex().encode()).hexdigest(), tuple(args.custodian))
    with site_of(args) as site:
        done = perform(site, act, *credentials(args, site, 2))
    halves = [_grouped(first), _grouped(second)]
    if _joined(*halves) != code.hex():
        raise AssertionError("the halves shown do not make the code on record")
    said = [*done.said, "Each half is shown once; write each down for its custodian alone, in a sealed envelope:"]
    said += [f"  {name}: {half}" for name, half in zip(args.custodian, halves, strict=False)]
    return show.lines(args, said, {**done.data, "halves": halves})


def recovery_use(args: Namespace) -> int:
    """Confirm somebody with both halves."""
    code, given = _halves(args, "recovery use")
    with site_of(args) as site:
        done = perform(site, UseRecovery(args.person, code, args.identity_check, args.reason), *given)
        return show.receipt(args, done)


def recovery_check(args: Namespace) -> int:
    """Try both halves; nobody is confirmed."""
    code, given = _halves(args, "recovery check")
    with site_of(args) as site:
        return show.receipt(args, perform(site, CheckRecovery(code), *given))


def _halves(args: Namespace, command: str) -> tuple[str, list[Password]]:
    """The code both halves make and who acts: third and fourth line of the pipe, or typed unseen."""
    if args.secret_fd is not None:
        person, word, *halves = secret_lines(args.secret_fd, 6 if args.second else 4)
        halves, second = halves[:2], halves[2:]
        given = [Password(person, word), *([Password(*second)] if second else [])]
    else:
        if not at_terminal():
            what = "there is no terminal to ask for the halves at."
            raise Stopped(Refusal("sign-in.none", command, what, "Use a terminal, or --secret-fd N (a pipe)."))
        from getpass import getpass  # noqa: PLC0415

        given = [asked() for _ in range(2 if args.second else 1)]
        halves = [getpass("First half: "), getpass("Second half: ")]
    return _joined(*halves), given


def _twice(person: str) -> str:
    from getpass import getpass  # noqa: PLC0415

    first = getpass("New password: ")
    if getpass("Again: ") != first:
        raise Stopped(Problem("person.password-twice", person, "the two passwords differ.", "Start again."))
    return first


def _grouped(half: bytes) -> str:
    text = half.hex()
    return " ".join(text[place : place + 4] for place in range(0, len(text), 4))


def _joined(first: str, second: str) -> str:
    """The code two halves make; what is no half makes none, and opens nothing."""
    try:
        one, other = (bytes.fromhex(half.replace(" ", "").replace("-", "")) for half in (first, second))
    except ValueError:
        return ""
    if len(one) != _CODE_BYTES or len(other) != _CODE_BYTES:
        return ""
    return bytes(left ^ right for left, right in zip(one, other, strict=True)).hex()
