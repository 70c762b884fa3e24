"""What the reading interface gives: released results page by page, and certificates in force. Nothing is written.

Rows are those of the exports (``revisions``), chosen by the ledger's own count, which no clock and no late commit can
disturb. What is not of a caller's customers does not exist for them.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from benchseal.desk.asked import replacing
from benchseal.desk.revisions import Revisions, entries_after
from benchseal.problems import Refusal, Stopped

if TYPE_CHECKING:
    from benchseal.records.interface import Caller
    from benchseal.records.released import ReleasedRow
    from benchseal.store.protocol import Reading, Row

USUAL_ROWS: Final = 100
MOST_ROWS: Final = 500
"""Rows of one page, but that an entry with more of them is one page of its own."""
_LOOKED_AT: Final = 20_000  # revisions of others passed by for one page, so that no request takes long
_BATCH: Final = 1_000
_IN_FORCE: Final = "released"
_GONE: Final = frozenset({"superseded", "withdrawn"})


@dataclass(frozen=True, slots=True)
class Page:
    """rows: each with the entry that put it out. next: the number to ask from next; more: whether to ask at once."""

    since: int
    next: int
    more: bool
    rows: tuple[tuple[int, ReleasedRow], ...]


def page_of(view: Reading, caller: Caller, since: int, most: int) -> Page:
    """Released revisions behind an entry, whole entries in the order of the ledger. Raises Stopped."""
    size = view.size()
    if since > size:
        what = f"the ledger ends at entry {size}, asked for is what came after {since}."
        remedy = (
            "Ask the laboratory whether the site was put back from a backup; compare what you hold, then begin at 0."
        )
        raise Stopped(Refusal("interface.since-beyond", "since", what, remedy))
    revisions, considered, looked = Revisions(view), since, 0
    rows: list[tuple[int, ReleasedRow]] = []
    for seq, values in entries_after(view, since, _BATCH):
        if looked >= _LOOKED_AT:
            break
        looked += len(values)
        if caller.may_see(_customer(view, values[0])):
            if rows and len(rows) + len(values) > most:
                break
            rows += [(seq, revisions.row(value)) for value in revisions.in_order(values)]
        considered = seq
    return Page(since, considered, bool(view.rows_after("released", considered, 1)), tuple(rows))


def certificate_of(view: Reading, caller: Caller, number: str) -> bytes:
    """The sealed PDF of a certificate in force, or, as ``NUMBER-W``, the sealed notice that it is withdrawn.

    Raises Stopped; of another's customer as if there were none.
    """
    of, notice = number.removesuffix("-W"), None
    row = view.row("certificate", number=of)
    if of != number:
        notice = view.row("certificate_notice", number=of)
        row = row if notice is not None else None
    if row is None or not caller.may_see(row["customer"]) or row["state"] not in {_IN_FORCE, *_GONE}:
        what = "no certificate of this number is released to this system."
        raise Stopped(Refusal("interface.certificate-unknown", number, what, "Compare the number with the results."))
    if notice is None and row["state"] in _GONE:
        what, remedy = _gone(view, caller, row)
        raise Stopped(Refusal("interface.certificate-gone", number, what, remedy))
    return view.bytes_of((notice or row)["sealed"])


def _customer(view: Reading, value: Row) -> str:
    row = view.row("certificate", number=value["number"])
    if row is None:
        raise AssertionError("a released revision has its certificate")
    return str(row["customer"])


def _gone(view: Reading, caller: Caller, row: Row) -> tuple[str, str]:
    """That a certificate is no longer in force, and the one in force behind it, however often it was replaced."""
    remedy = f"Use it no longer; its sealed notice is {row['number']}-W.pdf, once there is one."
    if row["state"] != "withdrawn":
        remedy = "Use it no longer; the results say what stands in its place. The laboratory keeps the file."
    last = row
    while later := replacing(view, last):
        last = later[-1]
    if last["state"] != _IN_FORCE:
        return f"it is {row['state']}, and nothing stands in its place.", remedy
    if not caller.may_see(last["customer"]):
        return f"it is {row['state']}, and what stands in its place is not for this system.", remedy
    by = last["number"]
    return f"it is {row['state']}, and {by} stands in its place.", f"Take {by}.pdf. {remedy}"
