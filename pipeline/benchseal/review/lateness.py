"""Late entry: work put on record long after it was done. Contemporaneous records are the rule (ALCOA, 21 CFR 211.194).

How long is long, the rules of the site say; that an exception carries its reason is ours.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta


def hours_late(happened: datetime, now: datetime, allowed_hours: int) -> int:
    """Whole hours between an event and its entry where they are more than allowed, else 0; allowed_hours 0: never."""
    if allowed_hours <= 0:
        return 0
    apart = now.astimezone(UTC) - happened.astimezone(UTC)
    return int(apart / timedelta(hours=1)) if apart > timedelta(hours=allowed_hours) else 0
