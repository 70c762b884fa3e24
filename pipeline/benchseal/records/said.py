"""How many of something, in the words of a sentence."""

from __future__ import annotations


def some(count: int, what: str) -> str:
    """``1 lot``, ``2 lots``, ``1 entry``, ``2 entries``."""
    if count == 1:
        return f"1 {what}"
    return f"{count} {what[:-1]}ies" if what.endswith("y") else f"{count} {what}s"


def some_are(count: int, what: str) -> str:
    """``1 lot is``, ``2 lots are``."""
    return f"{some(count, what)} {'is' if count == 1 else 'are'}"
