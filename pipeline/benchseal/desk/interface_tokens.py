"""Tokens of the reading interface: made by two people, shown once, kept as a keyed hash, revoked by one.

A secret has 256 random bits, so a fast hash is as good as a slow one; the hash is keyed (HMAC, RFC 2104) by a key that
is no part of the store, so that whoever writes into the store alone makes no token.
"""

from __future__ import annotations

import hashlib
import hmac
import re
import secrets
from contextlib import suppress
from datetime import date, timedelta
from typing import TYPE_CHECKING, Final, cast

from benchseal.desk.acting import Receipt, as_json
from benchseal.desk.keys import write_private
from benchseal.desk.runs import require_reason
from benchseal.problems import Problem, Refusal, Stopped
from benchseal.records.interface import SCOPES, Caller, InterfaceToken, Scope
from benchseal.records.people import Role
from benchseal.records.shape import record_bytes
from benchseal.records.shown import one_line
from benchseal.records.signatures import Meaning

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from benchseal.desk.acting import Acting
    from benchseal.desk.acts_interface import MakeToken, RevokeToken
    from benchseal.desk.site import Site
    from benchseal.records.canonical import Json
    from benchseal.store.protocol import Reading, Row

LONGEST_DAYS: Final = 366  # a token is decided anew every year at least: common practice, no source
LONGEST_NAME: Final = 80
KEY_FILE: Final = "interface.key"
_KEY_BYTES: Final = 32
_SHOWN: Final = re.compile(r"(SY-[0-9]{5,9})\.([A-Za-z0-9_-]{43})")  # 43 signs: 32 bytes in base64url (RFC 4648, 5)
_NO_MAC: Final = "0" * 64
UNCHECKED: Final = "unchecked"


def make_token(acting: Acting, act: MakeToken) -> Receipt:
    """Grant reading to one system. Administrator and approver sign, and they are two people."""
    administrator, approver = acting.who
    if administrator.person == approver.person:
        what = "administrator and approver are the same person."
        raise Stopped(Refusal("duty.same-checker", "token make", what, "A second person has to sign."))
    if problems := [*_problems(acting, act)]:
        raise Stopped(*problems)
    count, secret = acting.count("interface_token"), secrets.token_urlsafe(32)
    token = f"SY-{count:05d}"
    granted = InterfaceToken(
        schema="interface_token/1",
        token=token,
        system=act.system.strip(),
        scopes=cast("tuple[Scope, ...]", tuple(scope for scope in SCOPES if scope in act.scopes)),
        customers=tuple(sorted(set(act.customers))),
        until=act.until,
        secret_mac=_mac(_key_for_making(acting.site), token, secret),
    )
    kept, subject = acting.tx.keep(record_bytes(granted)), f"token/{token}"
    facts: dict[str, Json] = {
        "count": count,
        "system": granted.system,
        "scopes": as_json([*granted.scopes]),
        "customers": as_json([*granted.customers]),
        "until": granted.until,
        "secret_mac": granted.secret_mac,
    }
    for kind, who, role, own in (
        ("token.agreed", administrator, Role.ADMINISTRATOR, {}),
        ("token.made", approver, Role.APPROVER, facts),
    ):
        signature = acting.sign(who, role, Meaning.APPROVED, subject, version=1, digest=kept)
        both: dict[str, Json] = {**own, "signature": signature}
        acting.write(kind, subject, facts=both, digests={"record": kept}, reason=act.reason, actor=who.person)
    of_whom = f"customers {', '.join(granted.customers)}" if granted.customers else "every customer"
    what = " and ".join(granted.scopes)
    return Receipt(
        (
            f"{token} lets {granted.system} read {what} of {of_whom} until {granted.until} (UTC).",
            f"{token}.{secret}",
            "The line above is shown this once. Put it where that system keeps its secrets, and nowhere else.",
        ),
        {"token": token, "secret": f"{token}.{secret}", "until": granted.until},
    )


def revoke_token(acting: Acting, act: RevokeToken) -> Receipt:
    """A token opens nothing any longer."""
    require_reason(act.reason, "token revoke")
    row = acting.tx.row("interface_token", token=act.token)
    if row is None:
        what = "there is no such token."
        raise Stopped(Refusal("grant.unknown", act.token, what, "See `benchseal token list`."))
    if row["revoked_at"]:
        what = f"it was revoked at {row['revoked_at']} by {row['revoked_by']}."
        raise Stopped(Refusal("grant.revoked-before", act.token, what, "Nothing needs to be done."))
    acting.write("token.revoked", f"token/{act.token}", reason=act.reason)
    return Receipt((f"{act.token} of {row['system']} opens nothing any longer.",), {"token": act.token})


def state_of(row: Row, at: str) -> str:
    """``good``, ``revoked`` or ``expired``; ``not yet`` where the clock is before the token was made."""
    if row["revoked_at"]:
        return "revoked"
    if at < row["made_at"]:
        return "not yet"
    return "good" if at[:10] <= row["until"] else "expired"


def caller_of(site: Site, view: Reading, shown: str, at: str) -> Caller | str:
    """Who shows a token; else why nobody, for the log. The secret is compared in constant time, and before the rest.

    ``UNCHECKED`` is no judgement on the token: the key is away.
    """
    parts = _SHOWN.fullmatch(shown)
    token, secret = parts.groups() if parts else ("", "")
    row = view.row("interface_token", token=token)
    if not can_check(site, view):
        return f"{token} {UNCHECKED}" if row else UNCHECKED
    right = hmac.compare_digest(_mac(_kept_key(site.private), token, secret), row["secret_mac"] if row else _NO_MAC)
    if row is None or not right:
        return f"{token} wrong" if row else "unknown"
    if (state := state_of(row, at)) != "good":
        return f"{token} {state}"
    return Caller(token, row["system"], frozenset(row["scopes"].split()), frozenset(row["customers"].split()))


def can_check(site: Site, view: Reading) -> bool:
    """Whether tokens can be told good from wrong: their key is there, or none was ever made."""
    return _read_key(site.private) is not None or not view.rows_after("interface_token", 0, 1)


def _problems(acting: Acting, act: MakeToken) -> Iterator[Problem | Refusal]:
    try:
        require_reason(act.reason, "token make")
    except Stopped as stop:  # said with the rest, all at once
        yield from (one for one in stop.notices if isinstance(one, Refusal))
    name = act.system.strip()
    if not 1 <= len(name) <= LONGEST_NAME or one_line(name) != name:
        what = f"the name of the system has {len(name)} signs; it has 1 to {LONGEST_NAME}, on one line."
        yield Problem("grant.system", "token make", what, "Say which system of whom it is.")
    if not act.scopes or not set(act.scopes) <= set(SCOPES):
        what = f"{' '.join(act.scopes) or 'nothing'} is no list of what may be read: {', '.join(SCOPES)}."
        yield Problem("grant.scope", "--scope", what, "Give one of these, or several.")
    for customer in act.customers:
        if acting.tx.row("customer", customer=customer) is None:
            what = f"{customer} is no customer of the register."
            yield Problem("grant.customer", "--customer", what, "See `benchseal recipient list`.")
    today, until = acting.moment.date(), None
    with suppress(ValueError):
        until = date.fromisoformat(act.until)
    if until is None or until.isoformat() != act.until:
        what = f"{act.until!r} is no day of the calendar, written YYYY-MM-DD."
        yield Problem("grant.until", "--until", what, "Name the last day, as 2026-09-30.")
    elif not today <= until <= today + timedelta(days=LONGEST_DAYS):
        what = f"it ends on {act.until}; from today ({today}, UTC) it may last {LONGEST_DAYS} days at most."
        yield Problem("grant.until", "--until", what, "Name a day within that time, as 2026-09-30.")


def _mac(key: bytes, token: str, secret: str) -> str:
    return hmac.new(key, f"benchseal-token/1\n{token}\n{secret}".encode(), hashlib.sha256).hexdigest()


def _key_for_making(site: Site) -> bytes:
    """The key, made with the first token; inside the writer's lock, so by one alone."""
    path = site.private / KEY_FILE
    if not path.exists():
        write_private(path, secrets.token_hex(_KEY_BYTES).encode())
    return _kept_key(site.private)


def _kept_key(private: Path) -> bytes:
    """The key; where there is none or it is damaged, another each time, under which no token is good."""
    return _read_key(private) or secrets.token_bytes(_KEY_BYTES)


def _read_key(private: Path) -> bytes | None:
    try:
        key = bytes.fromhex((private / KEY_FILE).read_text(encoding="ascii"))
    except (OSError, ValueError):
        return None
    return key if len(key) == _KEY_BYTES else None
