"""What the solutions of a run are, out of the store: the bench that ``compute`` is lent."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.desk.reading import load
from benchseal.records.known import Bench
from benchseal.records.preparation import Portion
from benchseal.records.registers import Sample, StandardLot
from benchseal.records.run import DocumentRef
from benchseal.records.specification import Specification

if TYPE_CHECKING:
    from benchseal.records.run import Run
    from benchseal.store.protocol import Reading


def bench_of(view: Reading, ledger: str, run: Run) -> Bench:
    """Everything about the solutions of a run: whole batches, since a portion not measured must be seen too."""
    batches = sorted({batch for batch, _ in run.portion if batch})
    rows = [row for batch in batches for row in view.rows("portion", batch=batch)]
    samples = sorted({row["sample"] for row in rows if row["sample"]})
    sample_rows = {name: view.row("sample", sample=name) for name in samples}
    specifications = {}
    for name in sorted({row["specification"] for row in sample_rows.values() if row is not None}):
        document = view.row("document", kind="specification", id=name, state="approved")
        if document is not None:
            ref = DocumentRef(document["id"], int(document["version"]), document["value"])
            specifications[name] = (ref, load(view, Specification, document["value"]))
    lots = {lot: view.row("standard_lot", lot=lot) for lot in run.standard_lots}
    return Bench(
        ledger=ledger,
        portions={(row["batch"], row["portion"]): load(view, Portion, row["record"]) for row in rows},
        samples={name: load(view, Sample, row["record"]) for name, row in sample_rows.items() if row is not None},
        specifications=specifications,
        lots={lot: load(view, StandardLot, row["record"]) for lot, row in lots.items() if row is not None},
    )
