"""The status file a laboratory hands out: what became of every sealed file, at one head of the ledger."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

from benchseal.desk import checkpoints
from benchseal.desk.asked import replacing
from benchseal.desk.keys import open_tree_key
from benchseal.ledger.checkpoints import checkpoint_json
from benchseal.problems import Refusal, Stopped
from benchseal.records.entries import read_entry
from benchseal.records.evidence import CheckpointRecord
from benchseal.records.shape import record_bytes, record_of
from benchseal.records.status_file import StatusFile, StatusLine
from benchseal.verify.status import signed_bytes

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.desk.site import Site
    from benchseal.records.status_file import InForce
    from benchseal.store.protocol import Reading

_STATES: Final[dict[str, InForce]] = {"released": "in force", "superseded": "superseded", "withdrawn": "withdrawn"}


def make_status(site: Site, customer: str) -> StatusFile:
    """Sign what is in force now. customer: only theirs, with numbers; empty for all. Raises Stopped."""
    checkpoint, (name, lines) = checkpoints.make_with(site, lambda view: _seen(view, site.ledger, customer))
    unsigned = StatusFile(
        schema="status/1",
        laboratory=name,
        ledger=site.ledger,
        customer=customer,
        checkpoint=record_of(CheckpointRecord, checkpoint_json(checkpoint)),
        certificates=lines,
        key_id=checkpoint.key_id,
        signature="",
    )
    key = open_tree_key(site.private, checkpoint.key_id)
    return replace(unsigned, signature=key.sign(signed_bytes(unsigned)).hex())


def status_bytes(status: StatusFile) -> bytes:
    """The file."""
    return record_bytes(status) + b"\n"


def _seen(view: Reading, ledger: str, customer: str) -> tuple[str, tuple[StatusLine, ...]]:
    founded = view.row("site", ledger=ledger)
    if founded is None:
        raise AssertionError("a site has a founding entry")
    if customer and view.row("customer", customer=customer) is None:
        what, remedy = "there is no such customer.", "See `benchseal recipient list`."
        raise Stopped(Refusal("recipient.unknown", customer, what, remedy))
    return str(founded["name"]), tuple(sorted(_lines(view, customer), key=lambda line: line.sealed_sha256))


def _lines(view: Reading, customer: str) -> Iterator[StatusLine]:
    for row in view.rows("certificate"):
        state = _STATES.get(row["state"])
        if state is None or (customer and row["customer"] != customer):
            continue
        by = [] if state == "in force" else replacing(view, row)
        since = "" if state == "in force" else read_entry(next(view.entries(int(row["seq"])))[1]).at
        yield StatusLine(
            sealed_sha256=row["sealed"],
            state=state,
            since=since,
            replaced_by=by[-1]["sealed"] if by else "",
            number=row["number"] if customer else "",
        )
