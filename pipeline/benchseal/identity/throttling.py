"""Slowing down guessing: whether one more password may be tried now. A pure decision over times kept in the store.

Five wrong passwords within 15 minutes lock the account for 15 minutes; a hundred in a row lock it until an
administrator unlocks it (NIST SP 800-63B-4 section 3.2.2: at most 100 consecutive failures; the smaller numbers are
common practice, no source). The signing prompt and the sign-in count together.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from benchseal.problems import Refusal

if TYPE_CHECKING:
    from collections.abc import Sequence


@dataclass(frozen=True, slots=True)
class ThrottleRules:
    """How many wrong passwords, within what time, lock for how long; and how many in a row lock for good."""

    tries: int = 5
    within: timedelta = timedelta(minutes=15)
    lock: timedelta = timedelta(minutes=15)
    in_a_row: int = 100

    def __post_init__(self) -> None:
        if not 3 <= self.tries <= 10:
            raise ValueError("an account locks after 3 to 10 wrong passwords")
        if not self.tries <= self.in_a_row <= 100:
            raise ValueError("an account locks for good after at most 100 wrong passwords in a row")
        if min(self.within, self.lock) < timedelta(minutes=1):
            raise ValueError("the time watched and the time locked are at least a minute")


STANDARD_RULES = ThrottleRules()


@dataclass(frozen=True, slots=True)
class Locked:
    """No password is looked at before ``until``; None: not before an administrator unlocks the account."""

    until: datetime | None

    def refusal(self, now: datetime) -> Refusal:
        """What the person is told; the same for an unknown user id."""
        if self.until is None:
            remedy = "Ask an administrator to unlock the account."
        else:
            minutes = max(1, math.ceil((self.until - now) / timedelta(minutes=1)))
            remedy = (
                f"Wait {minutes} minute{'s' if minutes > 1 else ''}, or ask an administrator to unlock the account."
            )
        return Refusal("identity.locked", "sign-in", "Too many wrong passwords.", remedy)


def throttle(failures: Sequence[datetime], now: datetime, rules: ThrottleRules = STANDARD_RULES) -> Locked | None:
    """Whether the account is locked at ``now``; None: a password may be tried.

    failures: times of wrong passwords since the last right one or the last unlocking (the last ``in_a_row`` suffice).
    A try refused because the account is locked is no failure and must not be in it, or a stranger could lock
    somebody out for ever.
    """
    if len(failures) >= rules.in_a_row:
        return Locked(until=None)
    times = sorted(failures)
    windows = zip(times, times[rules.tries - 1 :], strict=False)
    ends = [last + rules.lock for first, last in windows if last - first <= rules.within]
    until = max(ends, default=None)
    return None if until is None or until <= now else Locked(until)
