"""An issued certificate taken back: signed, its results withdrawn from every receiver, its holders to be told."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

from benchseal.certificate.complete import misread, unprintable
from benchseal.desk.acting import Receipt, as_json
from benchseal.desk.asked import issued_of
from benchseal.desk.certificates import allowed
from benchseal.desk.notices import notice_of
from benchseal.desk.recipients import to_tell
from benchseal.desk.rehearsing import rehearse_notice
from benchseal.desk.series import reason_told
from benchseal.problems import Stopped
from benchseal.records.people import Role
from benchseal.records.shape import record_bytes
from benchseal.records.signatures import Meaning
from benchseal.records.withdrawal import Withdrawal, WithdrawnValue

if TYPE_CHECKING:
    from benchseal.desk.acting import Acting
    from benchseal.desk.acts_certificates import WithdrawCertificate
    from benchseal.records.canonical import Json
    from benchseal.records.withdrawal import WithdrawalNotice
    from benchseal.store.protocol import Reading

_PLAIN: Final = "-"


def withdraw_certificate(acting: Acting, act: WithdrawCertificate) -> Receipt:
    """Take a certificate back. The signature covers its sealed file and the reason. Raises Stopped.

    Nobody is kept from it for having worked on the results: it takes back a claim and makes none.
    """
    reason = reason_told(act.reason, "certificate withdraw")
    row = allowed(acting, act.number, "withdraw")
    subject = f"certificate/{act.number}"
    values = withdrawn_values(acting.tx, act.number)
    if unprinted := [*unprintable("certificate withdraw", reason), *misread("certificate withdraw", reason)]:
        raise Stopped(*unprinted)  # its notice prints it
    taken = tuple(WithdrawnValue(str(one["result_id"]), int(one["revision"]), "withdrawn") for one in values)
    kept = acting.tx.keep(record_bytes(Withdrawal("withdrawal/1", act.number, row["sealed"], reason, taken)))
    signature = acting.sign(acting.first, Role.APPROVER, Meaning.WITHDRAWN, subject, version=1, digest=kept)
    acting.write(
        "certificate.withdrawn",
        subject,
        facts={"signature": signature, "values": as_json(values)},
        digests={"withdrawal": kept},
        reason=reason,
    )
    _rehearse(acting, act.number)  # what it refuses, undoes this
    tell = to_tell(acting.tx, act.number)
    beside = [one["number"] for one in issued_of(acting.tx, row["sample"])]
    said = (
        f"{act.number} is withdrawn. Its file stays on record; the next deliveries say that its results are withdrawn.",
        *(f"tell: {who}" for who in tell),
        *((f"in force beside it: {', '.join(beside)}. Look whether they may stay.",) if beside else ()),
    )
    data: dict[str, Json] = {"number": act.number, "tell": [*tell], "results": len(values)}
    return Receipt(said, data)


def _rehearse(acting: Acting, number: str) -> None:
    """Try the notice. Raises Stopped where it is the reason that spoils it.

    What the certificate itself holds cannot be written otherwise any more, and keeps nobody from taking it back.
    """
    row = acting.tx.row("certificate", number=number)
    if row is None:
        raise AssertionError("it was withdrawn a moment ago")
    notice = notice_of(acting.tx, acting.site, row)
    try:
        rehearse_notice(notice)
    except Stopped:
        if _passes(replace(notice, withdrawal=replace(notice.withdrawal, reason=_PLAIN))):
            raise


def _passes(notice: WithdrawalNotice) -> bool:
    try:
        rehearse_notice(notice)
    except Stopped:
        return False
    return True


def withdrawn_values(view: Reading, number: str, but: frozenset[str] = frozenset()) -> list[dict[str, str | int]]:
    """The next revision, as withdrawn, of each result whose last released one stands in a certificate.

    but: identifiers of results that another certificate reports from now on.
    """
    values: list[dict[str, str | int]] = []
    for name in dict.fromkeys(row["result_id"] for row in view.rows("released", number=number)):
        last = max(view.rows("released", result_id=name), key=lambda row: int(row["revision"]))
        if name not in but and last["number"] == number and last["change_kind"] != "withdrawn":
            values.append({"result_id": name, "revision": int(last["revision"]) + 1, "change_kind": "withdrawn"})
    return values
