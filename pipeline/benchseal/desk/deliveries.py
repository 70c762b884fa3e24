"""Deliveries put down: the same bytes under the same names, however often, then noted as done."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING

from benchseal.desk import checkpoints
from benchseal.desk.acting import PROGRAM, Acting, Receipt, Who
from benchseal.desk.drop import drop
from benchseal.desk.perform import one_line_for_disk_faults
from benchseal.problems import Refusal, Stopped
from benchseal.review.cycles import DELIVERY, decide
from benchseal.review.duty import Situation

if TYPE_CHECKING:
    from benchseal.desk.site import Site
    from benchseal.store.protocol import Reading, Row


def planned(site: Site) -> list[str]:
    """Numbers of deliveries planned and not known to be done: what a crash may have left."""
    with site.store.reading() as view:
        return [row["delivery_id"] for row in view.rows("delivery", state="planned")]


def finish(site: Site, delivery_id: str) -> Receipt:
    """Put a planned delivery down and note it as done. Repeating it changes nothing."""
    placed = put_down(site, delivery_id, "")
    with site.store.writing() as tx:
        row = delivery_row(tx, delivery_id)
        decided = decide(DELIVERY, "finish", Situation(f"delivery {delivery_id}", row["state"]), PROGRAM)
        if not isinstance(decided, Refusal):  # otherwise another exporter finished it meanwhile
            program = Who(PROGRAM, PROGRAM, frozenset(), signs=False)
            acting = Acting(site, tx, (program,), site.clock())
            acting.note_clock()
            acting.write("delivery.done", f"delivery/{delivery_id}")
    checkpoints.make(site)
    return placed


def put_down(site: Site, delivery_id: str, destination: str) -> Receipt:
    """Write a delivery's files, the same bytes under the same names, to where it went or to ``destination``."""
    with site.store.reading() as view:
        row = delivery_row(view, delivery_id)
        files = {name: view.bytes_of(sha256) if sha256 else b"" for name, sha256 in json.loads(row["files"])}
    folder = Path(destination or row["destination"])
    with one_line_for_disk_faults():
        if folder == site.outbox.resolve():
            folder.mkdir(exist_ok=True)  # any other folder must be there: a share that is not mounted is no folder
        dropped = drop(folder, files, tuple(files))
    words = "is there" if dropped.placed else "was already there, with the same bytes"
    return Receipt(
        (f"{folder / row['file']} {words}.",),
        {"delivery": delivery_id, "file": str(folder / row["file"]), "placed": [*dropped.placed], "rows": row["rows"]},
    )


def delivery_row(view: Reading, delivery_id: str) -> Row:
    """The row of a delivery. Raises Stopped."""
    row = view.row("delivery", delivery_id=delivery_id)
    if row is None:
        what = "there is no such delivery."
        raise Stopped(Refusal("delivery.unknown", delivery_id, what, "See `benchseal export list`."))
    return row
