"""Who has an issued certificate, and whether they were told once it was replaced or withdrawn.

The customer always counts as somebody who has it; others are put on record when it is sent to them.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from benchseal.desk.acting import Receipt
from benchseal.desk.reading import load
from benchseal.problems import Problem, Refusal, Stopped
from benchseal.records.registers import Customer

if TYPE_CHECKING:
    from benchseal.desk.acting import Acting
    from benchseal.desk.acts_certificates import SendCertificate, TellRecipient
    from benchseal.store.protocol import Reading, Row

LONGEST_NAME: Final = 200
_ISSUED: Final = frozenset({"released", "superseded", "withdrawn"})
_PASSED: Final = frozenset({"superseded", "withdrawn"})


def send_certificate(acting: Acting, act: SendCertificate) -> Receipt:
    """Put on record that somebody was given a sealed file. Raises Stopped for one that is not issued."""
    to, how = one_line(act.to, "--to"), one_line(act.how, "--how")
    row = issued_row(acting.tx, act.number)
    acting.write("certificate.sent", f"certificate/{act.number}", facts={"to": to, "how": how, "sealed": row["sealed"]})
    passed = (f"It is {row['state']}: tell them so.",) if row["state"] in _PASSED else ()
    return Receipt((f"{act.number} went to {to}, {how}.", *passed), {"number": act.number, "to": to})


def tell_recipient(acting: Acting, act: TellRecipient) -> Receipt:
    """Put on record that a holder of a replaced or withdrawn certificate was told. Raises Stopped."""
    how = one_line(act.how, "--how")
    row = issued_row(acting.tx, act.number)
    if row["state"] not in _PASSED:
        what = f"it is {row['state']}; there is nothing to tell."
        raise Stopped(Refusal("certificate.in-force", act.number, what, "Nothing needs to be done."))
    waiting = to_tell(acting.tx, act.number)
    # a customer's name stands as it was registered, which may be more than one plain line
    to = next((one for one in waiting if _plain(act.to) == _plain(one)), "") or one_line(act.to, "--to")
    if to not in waiting:
        what = f"{to!r} is none of those to be told: {'; '.join(waiting) or 'nobody is left'}."
        remedy = "Give the name as listed, or put on record that they were sent it."
        raise Stopped(Refusal("certificate.recipient-unknown", act.number, what, remedy))
    acting.write("certificate.told", f"certificate/{act.number}", facts={"to": to, "how": how, "state": row["state"]})
    left = to_tell(acting.tx, act.number)
    said = f"Still to be told: {'; '.join(left)}." if left else "Everybody on record was told."
    return Receipt((f"{to} was told, {how}.", said), {"number": act.number, "to": to, "left": [*left]})


def holders(view: Reading, number: str) -> list[str]:
    """Who has a certificate: its customer, then everybody it was sent to or a copy was printed for, once each."""
    row = view.row("certificate", number=number)
    if row is None or row["state"] not in _ISSUED:
        return []
    customer = view.row("customer", customer=row["customer"])
    if customer is None:
        raise AssertionError("a certificate is of a known customer")
    named = load(view, Customer, customer["record"])
    sent = (each["person_told"] for each in view.rows("certificate_recipient", number=number, kind="sent"))
    copies = (each["given_to"] for each in view.rows("certificate_copy", number=number))
    return [*dict.fromkeys((named.name, *sent, *copies))]


def to_tell(view: Reading, number: str) -> list[str]:
    """Holders of a replaced or withdrawn certificate who were not told yet; nobody for one in force."""
    row = view.row("certificate", number=number)
    if row is None or row["state"] not in _PASSED:
        return []
    told = {
        each["person_told"]
        for each in view.rows("certificate_recipient", number=number, kind="told")
        if each["state"] == row["state"]
    }
    return [who for who in holders(view, number) if who not in told]


def without_notice(view: Reading) -> list[str]:
    """Numbers of withdrawn certificates whose notice was not made yet."""
    made = {row["number"] for row in view.rows("certificate_notice")}
    return [row["number"] for row in view.rows("certificate", state="withdrawn") if row["number"] not in made]


def issued_row(view: Reading, number: str) -> Row:
    """The row of an issued certificate. Raises Stopped for any other."""
    row = view.row("certificate", number=number)
    if row is None:
        what, remedy = "there is no such certificate.", "See `benchseal certificate list`."
        raise Stopped(Refusal("certificate.unknown", number, what, remedy))
    if row["state"] not in _ISSUED:
        what = f"it is {row['state']}; there is no sealed file."
        raise Stopped(Refusal("certificate.not-issued", number, what, "Release it first."))
    return row


def _plain(text: str) -> str:
    return " ".join(text.split())


def one_line(text: str, option: str, longest: int = LONGEST_NAME) -> str:
    """What was typed as one printable line of a reasonable length. Raises Stopped."""
    line = _plain(text)
    if not line or len(line) > longest or not line.isprintable():
        what = f"it says {'nothing' if not line else f'{len(line)} characters'}; due: 1 to {longest}, printable."
        raise Stopped(Problem("certificate.recipient", option, what, "Say who, and by what way."))
    return line
