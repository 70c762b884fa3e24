"""Signing in and out, and people."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from benchseal.cli import show
from benchseal.cli.opened import do, noted, reading, site_of
from benchseal.cli.secrets_in import asked, at_terminal, drop_token, keep_token, passwords, secret_lines
from benchseal.desk.acts_people import AddPerson, UnlockPerson
from benchseal.desk.admission import Password
from benchseal.desk.admission import sign_in as open_session
from benchseal.desk.admission import sign_out as close_session
from benchseal.desk.past import people_as_of
from benchseal.desk.perform import perform
from benchseal.identity.names import person_id
from benchseal.problems import Problem, Refusal, Stopped
from benchseal.records.people import Role

if TYPE_CHECKING:
    from argparse import Namespace

    from benchseal.store.protocol import Reading


def sign_in(args: Namespace) -> int:
    """Open a session."""
    with site_of(args) as site:
        given = _one(args)
        path = keep_token(site, open_session(site, given))
        noted(args, site, str(person_id(given.person)), "password")
        said = ["Signed in for reading and for acts that are not signed; 15 minutes idle ends it."]
        return show.lines(args, said, {"session_file": str(path)})


def sign_out(args: Namespace) -> int:
    """Close the session."""
    with site_of(args) as site:
        token = drop_token(site)
        if token:
            close_session(site, token)
        return show.lines(
            args, ["Signed out." if token else "Nobody was signed in here."], {"was_signed_in": bool(token)}
        )


def add(args: Namespace) -> int:
    """Enrol a person. Their own password: third line of the pipe, or typed by them twice."""
    known = {role.value for role in Role}
    wrong = [role for role in args.role if role not in known]
    if wrong:
        what = f"{', '.join(wrong)} is no role; roles are {', '.join(sorted(known))}."
        raise Stopped(Problem("person.role", "--role", what, "Give one of these."))
    if args.secret_fd is None and not at_terminal():
        what = "there is no terminal to ask for the new person's password at."
        raise Stopped(Refusal("sign-in.none", "person add", what, "Use a terminal."))
    roles = tuple(Role(role) for role in args.role)
    act = partial(AddPerson, args.person, args.name, roles, args.identity_check)
    if args.secret_fd is None:
        return do(args, act(_new_password(args)))
    administrator, password, new, *second = secret_lines(args.secret_fd, 5 if args.second else 3)
    given = [Password(administrator, password), *([Password(*second)] if second else [])]
    with site_of(args) as site:
        return show.receipt(args, perform(site, act(new), *given))


def unlock(args: Namespace) -> int:
    """Let somebody locked out try again."""
    return do(args, UnlockPerson(args.person, args.reason))


def list_all(args: Namespace) -> int:
    """Everybody ever enrolled, now or as it was at the end of a day."""
    with reading(args) as (site, view):
        if args.as_of:
            with people_as_of(site, view, args.as_of) as then:
                rows = _people(then)
        else:
            rows = _people(view)
    return show.table(args, ("user id", "name", "roles", "account"), rows, name="people")


def _people(view: Reading) -> list[tuple[str, str, str, str]]:
    return [
        (
            row["person"],
            row["printed_name"],
            ", ".join(role["role"] for role in view.rows("role", person=row["person"]) if role["active"]),
            ("active" if row["active"] else "disabled") + (", waits to be confirmed" if row["suspended"] else ""),
        )
        for row in view.rows("person")
    ]


def _one(args: Namespace) -> Password:

    if args.secret_fd is not None:
        return passwords(args.secret_fd, 1)[0]
    if not at_terminal():
        raise Stopped(
            Refusal(
                "sign-in.none",
                "sign-in",
                "there is no terminal to ask at.",
                "Give user id and password with --secret-fd N.",
            )
        )
    return asked()


def _new_password(args: Namespace) -> str:
    from getpass import getpass  # noqa: PLC0415

    first = getpass(f"New password, typed by {args.name}: ")
    if getpass("Again: ") != first:
        raise Stopped(Problem("person.password-twice", args.person, "the two passwords differ.", "Start again."))
    return first
