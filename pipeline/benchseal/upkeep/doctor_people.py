"""What is amiss with the people of a site: acts nobody or one person alone can do, roles not kept apart, exceptions."""

from __future__ import annotations

from collections import Counter
from datetime import date, timedelta
from typing import TYPE_CHECKING, Final

from benchseal.desk.acts import ROWS
from benchseal.desk.clock import moment_of
from benchseal.desk.exceptions import exceptions_in_force
from benchseal.desk.in_force import zone_of
from benchseal.desk.site_rules import rules_in_force
from benchseal.problems import Finding
from benchseal.records.people import Role
from benchseal.records.site_rules import MONTH_DAYS
from benchseal.review.apart import content_roles_of_administrator

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import datetime

    from benchseal.desk.site import Site
    from benchseal.store.protocol import Reading

EXCEPTION_DAYS: Final = 30

# What stops when its last person is away, and the role it takes.
_CRITICAL: Final = {
    Role.ANALYST: "measure and submit",
    Role.REVIEWER: "review",
    Role.APPROVER: "approve and release",
    Role.ADMINISTRATOR: "keep accounts",
}
_CHAIN: Final = (Role.ANALYST, Role.REVIEWER, Role.APPROVER)


def people(site: Site, view: Reading, now: datetime) -> Iterator[Finding]:
    """Findings about people, in the order acts, single people, the way to a certificate, roles, exceptions."""
    holders = _holders(view)
    yield from _nobody(holders)
    yield from _alone(view, holders)
    yield from _certificate(holders, set(exceptions_in_force(view, site, now, "reviewer_is_approver")))
    kept = exceptions_in_force(view, site, now, "administrator_with_content_role")
    for person in sorted(holders[Role.ADMINISTRATOR]):
        beside = content_roles_of_administrator(role for role in Role if person in holders[role])
        if beside and person not in kept:
            what = f"they are administrator and {', '.join(beside)} and administer nothing: no exception is in force."
            remedy = "Take one of the roles away, or sign an exception: `benchseal exception add`."
            yield Finding("doctor.administrator-content", person, what, remedy)
    yield from _ending(site, view, now)
    yield from _envelope(view, now)


def _envelope(view: Reading, now: datetime) -> Iterator[Finding]:
    """An envelope in force that nobody tried, or not since accounts are due for their review."""
    newest = max(view.rows("recovery"), key=lambda row: int(row["seq"]), default=None)
    if newest is None or newest["used_at"]:
        return
    months = rules_in_force(view).access_review_months
    tried = newest["checked_at"]
    if not tried or now - moment_of(tried) > timedelta(days=months * MONTH_DAYS):
        when = f"last tried on {tried[:10]}" if tried else "never tried"
        what = f"the envelope of {newest['made_at'][:10]} was {when}."
        remedy = "Its two custodians and an administrator run `benchseal recovery check`."
        yield Finding("doctor.recovery-untried", newest["custodians"], what, remedy)


def _holders(view: Reading) -> dict[Role, set[str]]:
    active = {row["person"] for row in view.rows("person") if row["active"]}
    holders = {role: set[str]() for role in Role}
    for row in view.rows("role"):
        if row["active"] and row["person"] in active:
            holders[Role(row["role"])].add(row["person"])
    return holders


def _nobody(holders: dict[Role, set[str]]) -> Iterator[Finding]:
    for act in ROWS:
        for signer in act.signers:
            if not any(holders[role] for role in signer.roles):
                what = f"nobody can do it: it needs {' or '.join(sorted(signer.roles))}."
                yield Finding("doctor.nobody", act.command, what, "Enrol somebody with the role.")


def _alone(view: Reading, holders: dict[Role, set[str]]) -> Iterator[Finding]:
    """Who is the single point of which critical act."""
    acts: Counter[str] = Counter()
    for act in ROWS:
        for signer in act.signers:
            able = {person for role in signer.roles for person in holders[role]}
            if len(able) == 1:
                acts[able.pop()] += 1
    envelope = any(not row["used_at"] for row in view.rows("recovery"))
    for person, count in sorted(acts.items()):
        alone = [words for role, words in _CRITICAL.items() if holders[role] == {person}]
        what = (
            f"only this person can {', '.join(alone)} ({count} of the acts)"
            if alone
            else f"only this person can do {count} of the acts"
        )
        if holders[Role.APPROVER] == {person} and not envelope:
            what += "; no envelope would bring their signature back after a reset"
        remedy = "Give a second person the role" + (
            ", or run `benchseal recovery make`." if "envelope" in what else "."
        )
        yield Finding("doctor.single-person", person, f"{what}; while they are away nobody can.", remedy)


def _certificate(holders: dict[Role, set[str]], both: set[str]) -> Iterator[Finding]:
    """Whether a first certificate can be taken the whole way. both: who may approve what they reviewed."""
    analysts, reviewers, approvers = (holders[role] for role in _CHAIN)
    ways = (
        analyst not in {reviewer, approver} and (reviewer != approver or reviewer in both)
        for analyst in analysts
        for reviewer in reviewers
        for approver in approvers
    )
    if any(ways):
        return
    everybody = {person for role in _CHAIN for person in holders[role]}
    if len(everybody) < 2:
        what = (
            "one person alone measures, reviews and approves: nothing can be released, and no exception changes that."
        )
        remedy = "Enrol a second person, or let another laboratory review and release."
    else:
        what = "analyst, reviewer and approver are not three different people: no certificate can be released."
        remedy = (
            "Enrol people until each of the three roles has its own, or see the manual's page 'Small laboratories'."
        )
    yield Finding("doctor.three-people", "people", what, remedy)


def _ending(site: Site, view: Reading, now: datetime) -> Iterator[Finding]:
    """Exceptions that end soon and that no later one takes up."""
    today = now.astimezone(zone_of(view, site)).date()
    for kind in ("reviewer_is_approver", "administrator_with_content_role"):
        for person, row in sorted(exceptions_in_force(view, site, now, kind).items()):
            left = (date.fromisoformat(row["until"]) - today).days
            if left <= EXCEPTION_DAYS:
                what = f"{kind} ends for {person} on {row['until']}, in {left} days."
                yield Finding("doctor.exception-ends", row["exception"], what, "Decide anew, or enrol a second person.")
