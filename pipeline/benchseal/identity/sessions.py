"""When a session ends, and how long a run of signings counts as unbroken. Pure decisions; the clock is an argument.

Idle 15 minutes, 12 hours in all; an administrator may shorten both and lengthen them to an hour and a day at most
(NIST SP 800-63B-4, AAL2: overall at most 24 h, idle at most 1 h). A run of signings in one page session ends 5 minutes
after the last one (21 CFR 11.200(a)(1)(i) speaks of "a single, continuous period of controlled system access"; the 5
minutes are ours). On the command line each call is a period of its own.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from benchseal.problems import Refusal


@dataclass(frozen=True, slots=True)
class SessionRules:
    """Time-outs of a session."""

    idle: timedelta = timedelta(minutes=15)
    overall: timedelta = timedelta(hours=12)
    signing: timedelta = timedelta(minutes=5)

    def __post_init__(self) -> None:
        if not timedelta(minutes=1) <= self.idle <= timedelta(minutes=60):
            raise ValueError("a session ends after 1 to 60 idle minutes")
        if not self.idle <= self.overall <= timedelta(hours=24):
            raise ValueError("a session ends after at most 24 hours, and no sooner than by being idle")
        if not timedelta(0) < self.signing <= self.idle:
            raise ValueError("a run of signings ends no later than an idle session")


STANDARD_RULES = SessionRules()


def check_session(
    started: datetime, last_seen: datetime, now: datetime, rules: SessionRules = STANDARD_RULES
) -> Refusal | None:
    """Why a session no longer counts at ``now``; None while it does. The moment of a time-out is already outside."""
    if now < last_seen or last_seen < started:
        return _ended("session-clock", "The clock went back during this session, so its age is not known.")
    if now - started >= rules.overall:
        return _ended("session-over", f"The session is over after {_words(rules.overall)}.")
    if now - last_seen >= rules.idle:
        return _ended("session-idle", f"The session ended after {_words(rules.idle)} without work.")
    return None


def is_unbroken(last_signed: datetime | None, now: datetime, rules: SessionRules = STANDARD_RULES) -> bool:
    """Whether a signing at ``now`` continues a run of signings, so that the password alone is asked again.

    last_signed: the last signing of this page session; None before the first, and after anything that breaks the run
    (sign-out, another user, a change of role, a wrong password at the signing prompt).
    """
    return last_signed is not None and timedelta(0) <= now - last_signed < rules.signing


def _ended(code: str, what: str) -> Refusal:
    return Refusal(f"identity.{code}", "session", what, "Sign in again.")


def _words(span: timedelta) -> str:
    minutes = round(span / timedelta(minutes=1))
    return f"{minutes // 60} h" if minutes % 60 == 0 else f"{minutes} min"
