"""Who is acting: user id and password, or a session opened before. Wrong passwords are counted in the store.

A signing act always takes user id and password again; an open session never counts as a signature.
"""

from __future__ import annotations

import hashlib
import secrets
from contextlib import suppress
from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

from benchseal.desk.acting import Who
from benchseal.desk.clock import moment_of, stamp
from benchseal.desk.security import note_locked
from benchseal.identity.names import person_id
from benchseal.identity.sessions import check_session
from benchseal.identity.throttling import throttle
from benchseal.problems import Problem, Refusal, Stopped
from benchseal.records.people import Role

if TYPE_CHECKING:
    from datetime import datetime

    from benchseal.desk.site import Site
    from benchseal.store.protocol import Reading

_NOTED_EVERY = timedelta(minutes=1)  # each note is a commit: an idle session ends up to this much early, never late

_WRONG = Refusal(
    "sign-in.refused",
    "",
    "user id and password do not belong together, or the account is not active.",
    "Try again; after five wrong tries within 15 minutes the account waits.",
)


@dataclass(frozen=True, slots=True)
class Password:
    """User id and password, as typed."""

    person: str
    password: str


@dataclass(frozen=True, slots=True)
class Session:
    """The token of a session opened by ``sign_in``."""

    token: str


Credentials = Password | Session


def admit(site: Site, credentials: Credentials, *, renews: bool = False) -> Who:
    """Check credentials. Raises Stopped when they do not hold. The slow check runs outside every transaction.

    renews: for taking a new password, the only thing one given for once opens.
    """
    if isinstance(credentials, Session):
        return _by_session(site, credentials)
    who = _by_password(site, credentials)
    if not renews:
        _require_own_password(site, who)
    return who


def sign_in(site: Site, credentials: Password) -> str:
    """Open a session for reading and non-signing acts; its token."""
    who = admit(site, credentials)
    token = secrets.token_urlsafe(32)
    now = stamp(site.clock())
    with site.store.writing() as tx:
        tx.put_private(
            "session", {"token_sha256": _token_digest(token), "person": who.person, "opened": now, "used": now}
        )
    return token


def sign_out(site: Site, token: str) -> None:
    """Close a session."""
    with site.store.writing() as tx:
        tx.remove_private("session", token_sha256=_token_digest(token))


def who_is(view: Reading, person: str, *, signs: bool) -> Who | None:
    """A person as the store knows them now; None when unknown or disabled."""
    row = view.row("person", person=person)
    if row is None or not row["active"]:
        return None
    roles = frozenset(Role(role["role"]) for role in view.rows("role", person=person) if role["active"])
    return Who(person, row["printed_name"], roles, signs)


def _require_own_password(site: Site, who: Who) -> None:
    with site.store.reading() as view:
        row = view.row("person", person=who.person)
    if row is not None and row["must_change"]:
        what = "the password was given for once."
        remedy = "Take one of your own first: `benchseal person password`."
        raise Stopped(Refusal("person.must-change-password", who.person, what, remedy))


def _by_password(site: Site, credentials: Password) -> Who:
    person = person_id(credentials.person)
    if isinstance(person, Problem):
        site.hashes.check(None, credentials.password)  # the same work as for somebody known
        raise Stopped(_WRONG)
    now = site.clock()
    with site.store.reading() as view:
        failures = [moment_of(row["at"]) for row in view.rows("sign_in_failure", person=person)]
        who = who_is(view, person, signs=True)
        kept = view.row("password", person=person) if who is not None else None
    locked = throttle(failures, now)
    if locked is not None:
        raise Stopped(locked.refusal(now))
    checked = site.hashes.check(kept["hash"] if kept else None, credentials.password)
    if who is None or not checked.is_right:
        _note_failure(site, person)
        raise Stopped(_WRONG)
    _require_not_locked_meanwhile(site, person)
    return who


def _require_not_locked_meanwhile(site: Site, person: str) -> None:
    """Many tries at once are still many: one of them being right does not count where the others locked the account."""
    with site.store.reading() as view:
        if not view.rows("sign_in_failure", person=person):
            return
    with site.store.writing() as tx:
        now = site.clock()
        failures = [moment_of(row["at"]) for row in tx.rows("sign_in_failure", person=person)]
        locked = throttle(failures, now)
        if locked is not None:
            raise Stopped(locked.refusal(now))
        tx.remove_private("sign_in_failure", person=person)


def _note_failure(site: Site, person: str) -> None:
    """Count a wrong password; the one that locks an account goes on record."""
    now = site.clock()
    with site.store.writing() as tx:
        tx.put_private("sign_in_failure", {"person": person, "at": stamp(now)})
        failures = [moment_of(row["at"]) for row in tx.rows("sign_in_failure", person=person)]
    if throttle(failures, now) is not None:
        note_locked(site, person, len(failures))


def _by_session(site: Site, credentials: Session) -> Who:
    now = site.clock()
    name = _token_digest(credentials.token)
    with site.store.reading() as view:
        row = view.row("session", token_sha256=name)
        who = who_is(view, row["person"], signs=False) if row else None
    if row is None or who is None:
        raise Stopped(Refusal("sign-in.none", "", "nobody is signed in here.", "Run `benchseal sign-in` first."))
    ended = check_session(moment_of(row["opened"]), moment_of(row["used"]), now)
    if ended is not None:
        with suppress(Stopped):  # why it ended is what has to be said, also where the disk takes nothing
            sign_out(site, credentials.token)
        raise Stopped(ended)
    if now - moment_of(row["used"]) >= _NOTED_EVERY:
        _note_use(site, name, now)
    return who


def _note_use(site: Site, name: str, now: datetime) -> None:
    """Keep when a session was last used. One closed meanwhile stays closed; a disk that takes nothing ends it early."""
    with suppress(Stopped), site.store.writing() as tx:
        row = tx.row("session", token_sha256=name)
        if row is not None:
            tx.put_private("session", {**row, "used": stamp(now)})


def _token_digest(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()
