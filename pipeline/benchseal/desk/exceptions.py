"""Site exceptions: signed by two people, for one person and a time; whoever asks is told which are in force."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING, Final, cast

from benchseal.desk.acting import Receipt
from benchseal.desk.in_force import zone_of
from benchseal.desk.people import somebody
from benchseal.desk.reading import load, read_signature
from benchseal.desk.runs import require_reason
from benchseal.problems import Problem, Refusal, Stopped
from benchseal.records.exceptions import EXCEPTION_KINDS, ExceptionKind, SignedException, SiteException
from benchseal.records.people import Role
from benchseal.records.shape import record_bytes
from benchseal.records.signatures import Meaning
from benchseal.review.apart import content_roles_of_administrator, not_kept_apart

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import datetime

    from benchseal.desk.acting import Acting
    from benchseal.desk.acts_exceptions import AddException
    from benchseal.desk.site import Site
    from benchseal.store.protocol import Reading, Row

LONGEST_DAYS: Final = 366  # an exception is decided anew every year at least: common practice, no source


def add_exception(acting: Acting, act: AddException) -> Receipt:
    """Put an exception in force from today. Approver and administrator sign it, and are two people."""
    approver, administrator = acting.who
    if approver.person == administrator.person:
        what = "approver and administrator are the same person."
        raise Stopped(Refusal("duty.same-checker", "exception add", what, "A second person has to sign."))
    record = _checked(acting, act)
    kept = acting.tx.keep(record_bytes(record))
    subject = f"exception/{record.exception}"
    for who, role in ((approver, Role.APPROVER), (administrator, Role.ADMINISTRATOR)):
        acting.write(
            "exception.added",
            subject,
            facts={
                "count": int(record.exception.removeprefix("E-")),
                "kind": record.kind,
                "person": record.person,
                "since": record.since,
                "until": record.until,
                "signature": acting.sign(who, role, Meaning.APPROVED, subject, version=1, digest=kept),
            },
            digests={"exception": kept},
            reason=act.reason,
            actor=who.person,
        )
    said = f"{record.exception}: {record.kind} holds for {record.person} until {record.until}."
    return Receipt(
        (said, f"Instead: {record.compensating_check}"),
        {"exception": record.exception, "person": record.person, "until": record.until},
    )


def _checked(acting: Acting, act: AddException) -> SiteException:
    require_reason(act.reason, "exception add")
    problems = []
    if act.kind not in EXCEPTION_KINDS:
        what = f"{act.kind} is no kind of exception; kinds are {', '.join(EXCEPTION_KINDS)}."
        problems.append(Problem("exception.kind", "exception add", what, "Give one of these."))
    if not act.compensating_check.strip():
        what = "what is done in place of the second person is not said."
        problems.append(Problem("exception.check", "--check", what, "Say who looks at what, and how often."))
    today = acting.moment.astimezone(zone_of(acting.tx, acting.site)).date()
    try:
        until = date.fromisoformat(act.until)
    except ValueError:
        until = date.min
    if not today <= until <= today + timedelta(days=LONGEST_DAYS):
        what = f"it ends on {act.until}; from today ({today}) it may last {LONGEST_DAYS} days at most."
        problems.append(Problem("exception.until", "--until", what, "Name a day within that time, as 2026-09-30."))
    if problems:
        raise Stopped(*problems)
    person = somebody(acting, act.person)["person"]
    return SiteException(
        schema="exception/1",
        exception=f"E-{acting.count('exception'):04d}",
        kind=cast("ExceptionKind", act.kind),
        person=person,
        since=today.isoformat(),
        until=until.isoformat(),
        compensating_check=act.compensating_check.strip(),
        reason=act.reason.strip(),
    )


def exceptions_in_force(view: Reading, site: Site, moment: datetime, kind: ExceptionKind) -> dict[str, Row]:
    """Person to the exception of a kind that holds for them at a moment; of several the one that ends last."""
    today = moment.astimezone(zone_of(view, site)).date().isoformat()
    rows = [row for row in view.rows("exception", kind=kind) if row["since"] <= today <= row["until"]]
    return {row["person"]: row for row in sorted(rows, key=lambda row: (row["until"], row["exception"]))}


def signed_exception(view: Reading, row: Row) -> SignedException:
    """An exception with both signatures, as evidence carries it."""
    signatures = sorted(view.rows("signature", digest=row["record"]), key=lambda each: int(each["seq"]))
    return SignedException(load(view, SiteException, row["record"]), tuple(map(read_signature, signatures)))


def require_kept_apart(site: Site, view: Reading, moment: datetime, person: str, roles: Iterable[Role]) -> None:
    """An administrator works on no result, unless an exception for this person is in force. Raises Stopped."""
    beside = content_roles_of_administrator(roles)
    if beside and person not in exceptions_in_force(view, site, moment, "administrator_with_content_role"):
        raise Stopped(not_kept_apart(person, beside))
