"""A seal with the time-stamp the rules of the site ask for: of a certificate, and of a notice of withdrawal alike."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.desk.key_records import keep_trust
from benchseal.desk.site_rules import rules_in_force
from benchseal.desk.time_stamping import only_silent, stamper
from benchseal.problems import Stopped

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime

    from benchseal.desk.site import Site


def sealed_by_the_rules(
    site: Site, number: str, at: datetime, sealing: Callable[[Callable[[bytes], bytes] | None], bytes]
) -> tuple[bytes, str]:
    """The sealed file; and why it has no time-stamp where the rules ask for one and allow to do without.

    number: of what is sealed; at: when its seal says it is made; sealing: makes the seal, given what stamps it or
    None. Raises Stopped where nobody gives a good time-stamp and the rules want one.
    """
    with site.store.reading() as view:
        rules = rules_in_force(view)
    if rules.time_stamps:
        keep_trust(site)  # whoever checks the file needs it, and rules can begin by themselves
    try:
        return sealing(stamper(rules.time_stamps, number, at)), ""
    except Stopped as stop:
        if not (rules.without_time_stamp and only_silent(stop)):
            raise
        return sealing(None), " ".join(one.what for one in stop.notices)


def without_words(unstamped: str) -> tuple[str, ...]:
    """What is said of a file sealed without a time-stamp it should have had; nothing of any other."""
    return (f"It has no time-stamp: {unstamped} This is a security event.",) if unstamped else ()
