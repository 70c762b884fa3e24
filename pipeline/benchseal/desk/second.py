"""A second person's word on administrative acts of somebody who also works on results (a signed exception asks for it).

What is signed is the very entries the act wrote: their numbers and leaf hashes.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.desk.exceptions import require_kept_apart
from benchseal.problems import Refusal, Stopped
from benchseal.records.canonical import canonical_bytes
from benchseal.records.people import Role
from benchseal.records.signatures import Meaning
from benchseal.review.apart import content_roles_of_administrator

if TYPE_CHECKING:
    from datetime import datetime

    from benchseal.desk.act_row import ActRow
    from benchseal.desk.acting import Acting, Who
    from benchseal.desk.site import Site
    from benchseal.records.canonical import Json
    from benchseal.store.protocol import Reading

MAY_SIGN_OFF = (Role.APPROVER, Role.ADMINISTRATOR)


def is_administrative(row: ActRow) -> bool:
    """Whether an act is one of those administrators do alone: on accounts, events, the clock, backups."""
    (signer, *others) = row.signers
    return not others and Role.ADMINISTRATOR in signer.roles and not signer.roles & {Role.ANALYST, Role.REVIEWER}


def require_second(  # noqa: PLR0913, PLR0917  asked before the act's transaction too
    site: Site, view: Reading, moment: datetime, row: ActRow, first: Who, second: Who | None
) -> None:
    """Whether ``first`` may do the act with, or without, this second person. Raises Stopped."""
    if is_administrative(row) and content_roles_of_administrator(first.roles):
        require_kept_apart(site, view, moment, first.person, first.roles)
        if second is None:
            what = f"{first.person} also works on results; each administrative act needs a second person's word."
            remedy = "Give --second: user id and password of an approver or another administrator follow."
            raise Stopped(Refusal("duty.second-person", row.command, what, remedy))
    if second is None:
        return
    if second.person == first.person:
        what, remedy = "the second person is the first.", "Another person has to agree."
        raise Stopped(Refusal("duty.same-checker", row.command, what, remedy))
    if not second.roles & set(MAY_SIGN_OFF):
        what = f"{second.person} is neither approver nor administrator."
        raise Stopped(Refusal("act.role", row.command, what, "Ask an approver or another administrator."))
    account = view.row("person", person=second.person)
    if account is not None and account["suspended"]:
        what = f"{second.person}: it is not confirmed yet who uses the account."
        raise Stopped(Refusal("person.suspended", row.command, what, "Ask somebody else."))


def sign_off(acting: Acting, row: ActRow, second: Who, first_entry: int) -> None:
    """The second person signs every entry the act wrote, from ``first_entry`` on."""
    entries: list[Json] = [{"seq": seq, "leaf": leaf.hex()} for seq, _, leaf, _ in acting.tx.entries(first_entry)]
    kept = acting.tx.keep(canonical_bytes({"schema": "sign-off/1", "command": row.command, "entries": entries}))
    subject = f"sign-off/{first_entry}"
    role = next(each for each in MAY_SIGN_OFF if each in second.roles)
    acting.write(
        "administration.signed_off",
        subject,
        facts={
            "command": row.command,
            "signature": acting.sign(second, role, Meaning.APPROVED, subject, version=1, digest=kept),
        },
        digests={"sign_off": kept},
        actor=second.person,
    )
