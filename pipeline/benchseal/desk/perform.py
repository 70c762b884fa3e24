"""The one door to every act: check who, open the transaction, check again, let the act's function write, commit.

Nothing is acknowledged before the commit; an act that stops leaves nothing behind.
"""

from __future__ import annotations

import errno
import os
from contextlib import contextmanager
from importlib import import_module
from typing import TYPE_CHECKING, Any, cast

from benchseal.desk.acting import Acting, Receipt, Who
from benchseal.desk.acts import ACTS
from benchseal.desk.admission import Credentials, Password, Session, admit, who_is
from benchseal.desk.in_force import begin_documents
from benchseal.desk.last_hand import told_by_whom
from benchseal.desk.read_log import note_reads
from benchseal.desk.second import is_administrative, require_second, sign_off
from benchseal.desk.texts import in_kept_form
from benchseal.problems import NotDone, Refusal, Stopped, Trouble

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    from benchseal.desk.act_row import ActRow, Signer
    from benchseal.desk.site import Site
    from benchseal.store.protocol import Row


def perform(site: Site, act: object, *credentials: Credentials) -> Receipt:
    """Do ``act`` for the people whose credentials are given, in the order the act names them.

    Raises Stopped; NotDone where the people may do it, and the act itself stopped. After them may follow the password
    of a second person who agrees to an administrative act (``second.py``).
    """
    row = ACTS[type(act)]
    kept = in_kept_form(act)
    credentials, other = _parted(row, credentials)
    _require_signers(row, credentials)
    signers = row.signers[: len(credentials)]
    admitted = tuple(admit(site, given, renews=signer.once) for given, signer in zip(credentials, signers, strict=True))
    beside = admit(site, other) if other else None
    function = _function(row)
    made = _made(site, row, kept, zip(admitted, signers, strict=True))
    with one_line_for_disk_faults(), site.store.writing() as tx:
        again = tuple(_again(tx, who) for who in admitted)
        second = _again(tx, beside) if beside else None
        for who, signer in zip(again, signers, strict=True):
            _require_role(row, who, signer)
            require_account(tx.row("person", person=who.person), row, signer)
        acting = Acting(site, tx, again, site.clock(), made)
        if all(signer.meaning is None for signer in signers):
            acting.note_clock()  # an act that signs is refused, and would take the note with it
        acting.note_program()
        note_reads(acting)
        begin_documents(acting)
        require_second(site, tx, acting.moment, row, acting.first, second)
        first_entry = tx.size() + 1
        try:
            done = function(acting, kept)
        except Stopped as stop:
            raise NotDone(*told_by_whom(tx, kept, stop.notices)) from None
        if second is not None:
            sign_off(acting, row, second, first_entry)
        return done


def require_able(site: Site, act: type, *credentials: Credentials) -> None:
    """Whether these people may do ``act``, before work that an act only puts on record afterwards. Raises Stopped."""
    row = ACTS[act]
    credentials, other = _parted(row, credentials)
    _require_signers(row, credentials)
    beside = admit(site, other) if other else None
    for given, signer in zip(credentials, row.signers, strict=False):
        who = admit(site, given)
        _require_role(row, who, signer)
        with site.store.reading() as view:
            require_account(view.row("person", person=who.person), row, signer)
            require_second(site, view, site.clock(), row, who, beside)


@contextmanager
def one_line_for_disk_faults() -> Iterator[None]:
    """Turn a full or failing disk into one line; whatever was open is undone."""
    try:
        yield
    except OSError as fault:
        if fault.errno == errno.ENOSPC:
            what, remedy = "the disk is full.", "Nothing was changed. Free space, then try again."
            raise Stopped(Trouble("store.disk-full", str(fault.filename or ""), what, remedy)) from None
        words = os.strerror(fault.errno) if fault.errno else str(fault)
        raise Stopped(
            Trouble("store.failed", str(fault.filename or ""), f"{words}.", "Nothing was changed. Look at the disk.")
        ) from None


def _parted(row: ActRow, credentials: tuple[Credentials, ...]) -> tuple[tuple[Credentials, ...], Password | None]:
    """The credentials an act names, and a second person's who agrees to an administrative one. Raises Stopped."""
    if len(credentials) != len(row.signers) + 1 or not is_administrative(row):
        return credentials, None
    *own, other = credentials
    if isinstance(other, Session):
        what = "being signed in is not a signature."
        raise Stopped(
            Refusal("act.signature-needed", row.command, what, "Give user id and password of the second person.")
        )
    return tuple(own), other


def _require_signers(row: ActRow, credentials: tuple[Credentials, ...]) -> None:
    least = sum(not signer.optional for signer in row.signers)
    if not least <= len(credentials) <= len(row.signers):
        needed = " and ".join(_roles(signer) for signer in row.signers)
        raise Stopped(
            Refusal(
                "act.signers", row.command, f"it needs {needed}, in this order.", "Give user id and password of each."
            )
        )
    for signer, given in zip(row.signers, credentials, strict=False):
        if (signer.meaning is not None or signer.password) and isinstance(given, Session):
            what = "being signed in is not a signature." if signer.meaning else "being signed in is not enough."
            raise Stopped(
                Refusal(
                    "act.signature-needed",
                    row.command,
                    what,
                    "Give user id and password with this command.",
                )
            )


def _again(tx: Any, who: Who) -> Who:  # noqa: ANN401  the writing view
    """The person as the store knows them inside the transaction: a role taken away meanwhile counts."""
    now = who_is(tx, who.person, signs=who.signs)
    if now is None:
        raise Stopped(Refusal("act.not-active", who.person, "the account is not active.", "Ask an administrator."))
    return now


def _require_role(row: ActRow, who: Who, signer: Signer) -> None:
    if not who.roles & signer.roles:
        has = ", ".join(sorted(who.roles)) or "no role"
        raise Stopped(
            Refusal(
                "act.role",
                row.command,
                f"it needs {_roles(signer)}; {who.person} is {has}.",
                "Ask somebody who has the role.",
            )
        )


def require_account(account: Row | None, row: ActRow, signer: Signer) -> None:
    """With an account nobody confirmed yet nothing is done but taking a password of one's own."""
    if account is None:
        raise AssertionError("the person was found before")
    if account["suspended"] and not signer.once:
        what = "it is not confirmed yet who uses the account; until then it reads and does nothing."
        remedy = "An approver who did not enrol them or reset the account does it: `benchseal person confirm`."
        raise Stopped(Refusal("person.suspended", row.command, f"{account['person']}: {what}", remedy))


def _roles(signer: Signer) -> str:
    return " or ".join(sorted(signer.roles))


def _made(site: Site, row: ActRow, act: object, people: Iterable[tuple[Who, Signer]]) -> object:
    """What an act needs that takes long, made while others write; only for people who have the roles."""
    if not row.beforehand:
        return None
    for who, signer in people:
        _require_role(row, who, signer)
    return _named(row.beforehand)(site, act)


def _function(row: ActRow) -> Callable[[Acting, object], Receipt]:
    return cast("Callable[[Acting, object], Receipt]", _named(row.function))


def _named(place: str) -> Callable[..., object]:
    module, _, name = place.partition(":")
    return cast("Callable[..., object]", getattr(import_module(f"benchseal.desk.{module}"), name))
