"""Asking an authority for a time-stamp on a seal over HTTP (RFC 3161, 3.4). It learns a digest and nothing else.

No redirect is followed and no proxy used; whoever answers is believed only as far as its token holds under the
certificate the rules of the site name. No lock is held meanwhile.
"""

from __future__ import annotations

import secrets
import time
from http.client import HTTPConnection, HTTPException, HTTPSConnection
from typing import TYPE_CHECKING, Final
from urllib.parse import urlsplit

from benchseal.certificate.time_stamp import CLOCKS_APART, read_stamp, request_bytes, token_of, trusted_by
from benchseal.desk.stamp_rules import authority_of
from benchseal.problems import Problem, Stopped, Trouble

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime

    from benchseal.certificate.time_stamp import Stamp
    from benchseal.problems import Notice
    from benchseal.records.site_rules import TimeStampRule

LARGEST_ANSWER: Final = 64 * 1024
_TYPE: Final = "application/timestamp-query"
_WAIT: Final = "Try again later with the same command; or look at the address in the rules of the site (time_stamps)."


def stamper(rules: tuple[TimeStampRule, ...], number: str, at: datetime) -> Callable[[bytes], bytes] | None:
    """Digest to token, from the first authority that gives a good one; None where none is to be asked.

    number: of the certificate; at: when its seal says it is made. It raises Stopped when nobody gives a good token.
    """
    if not rules:
        return None

    def stamp(digest: bytes) -> bytes:
        failed: list[Notice] = []
        for rule in rules:
            found = _asked(rule, digest, number, at)
            if isinstance(found, bytes):
                return found
            failed.append(found)
        raise Stopped(*failed)

    return stamp


def only_silent(stop: Stopped) -> bool:
    """Whether nobody was reached, rather than a token refused: only then a certificate may go without one."""
    return all(isinstance(one, Trouble) for one in stop.notices)


def _asked(rule: TimeStampRule, digest: bytes, number: str, at: datetime) -> bytes | Notice:
    nonce = secrets.randbits(63) + 1
    where = f"time-stamp for {number}"
    try:
        reply = _posted(rule, request_bytes(digest, nonce, rule.policy))
    except (OSError, HTTPException, ValueError) as fault:
        words = str(fault) or type(fault).__name__
        return Trouble("seal.time-stamp-silent", where, f"{rule.url} gave no answer: {words}.", _WAIT)
    try:
        token = token_of(reply, digest, nonce)
        _judge(read_stamp(token, digest), rule, at)
    except ValueError as fault:
        what = f"{rule.url} answered, and its time-stamp cannot be used: {fault}."
        remedy = "Nothing was sealed. Ask whoever runs it; the rules of the site say whom to ask (time_stamps)."
        return Problem("seal.time-stamp-refused", where, what, remedy)
    return token


def _judge(stamp: Stamp, rule: TimeStampRule, at: datetime) -> None:
    """ValueError where the verifier would not believe a token that holds by itself."""
    if rule.policy not in {"", stamp.policy}:
        raise ValueError(f"it is of policy {stamp.policy}, the rules of the site ask for {rule.policy}")
    if trusted_by(stamp, [authority_of(rule)]) is None:
        what = f"it is of {stamp.name}, and the certificate in the rules of the site does not stand behind that"
        raise ValueError(what)
    if stamp.at < at - CLOCKS_APART:
        raise ValueError(
            f"it is of {stamp.at:%Y-%m-%d %H:%M:%S}Z, and this machine's clock says {at:%Y-%m-%d %H:%M:%S}Z"
        )


def _posted(rule: TimeStampRule, body: bytes) -> bytes:
    """The answer to a POST. Raises OSError, HTTPException or ValueError where none comes in time."""
    until = time.monotonic() + rule.seconds
    there = urlsplit(rule.url)
    kind = HTTPSConnection if there.scheme == "https" else HTTPConnection
    connection = kind(there.hostname or "", there.port, timeout=rule.seconds)
    try:
        path = f"{there.path or '/'}{'?' + there.query if there.query else ''}"
        connection.request("POST", path, body, {"Content-Type": _TYPE, "Accept": "application/timestamp-reply"})
        answer = connection.getresponse()
        if answer.status != 200:
            raise ValueError(f"it answered with status {answer.status}")
        found = bytearray()
        while part := answer.read1(4096):
            found += part
            if len(found) > LARGEST_ANSWER:
                raise ValueError(f"its answer has more than {LARGEST_ANSWER} bytes")
            if time.monotonic() > until:
                raise TimeoutError(f"it took longer than {rule.seconds} s")
        return bytes(found)
    finally:
        connection.close()
