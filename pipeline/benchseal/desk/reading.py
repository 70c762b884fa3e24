"""Reading records out of the store, each through its type; what does not fit its type is damage, not input."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, Any, TypeVar, cast
from weakref import WeakKeyDictionary

from benchseal.problems import Finding, Refusal, Stopped
from benchseal.records.canonical import parse_canonical
from benchseal.records.entries import Entry, read_entry
from benchseal.records.results import RunWork, WorkedResult
from benchseal.records.shape import read_record, record_of
from benchseal.records.signatures import Signature, SignatureStatement

if TYPE_CHECKING:
    from benchseal.records.canonical import Digest
    from benchseal.store.protocol import Reading, Row

T = TypeVar("T")


# Records read in one view, which does not change while it is held: an act asks for the same portion many times.
_READ: WeakKeyDictionary[Reading, dict[tuple[type, Digest], Any]] = WeakKeyDictionary()


def load(view: Reading, kind: type[T], name: Digest) -> T:
    """The record whose canonical bytes have this digest. Raises Stopped when it is missing or damaged."""
    read = _READ.setdefault(view, {})
    if (kind, name) not in read:
        read[kind, name] = _load(view, kind, name)
    return cast("T", read[kind, name])


def _load(view: Reading, kind: type[T], name: Digest) -> T:
    try:
        return cast("T", _record(cast("Any", kind), view.bytes_of(name)))
    except (KeyError, ValueError) as fault:
        what = f"the object {name[:16]}… cannot be read as {kind.__name__}: {fault}."
        raise Stopped(
            Finding("integrity.object", "store", what, "Stop work, keep this copy, and run `benchseal verify --all`.")
        ) from None


@lru_cache(maxsize=128)
def _record(kind: type[Any], data: bytes) -> Any:  # noqa: ANN401  of that kind
    """The same bytes are the same record, in whichever view they were found whole."""
    return read_record(kind, data)


def result_of(view: Reading, row: Row) -> WorkedResult | None:
    """The result a row of the result table names, from the run's calculation in force; None where it holds none."""
    run = view.row("run", run=row["run"])
    if run is None:
        return None
    results = load(view, RunWork, run["work"]).results
    return next((result for result in results if result.result_id == row["result_id"]), None)


def read_signature(row: Row) -> Signature:
    """A signature row as the record it is."""
    statement = record_of(SignatureStatement, parse_canonical(row["statement"].encode()))
    return Signature(statement, row["signature"])


def sample_of_lot(view: Reading, lot: str) -> Row:
    """The sample registered for a lot, given as lot, ``customer/lot`` or sample number. Raises Stopped."""
    customer, _, name = lot.rpartition("/")
    where = {"lot": name, "customer": customer} if customer else {"lot": name}
    rows = view.rows("sample", sample=lot) or view.rows("sample", **where)
    if len(rows) == 1:
        return rows[0]
    if not rows:
        raise Stopped(
            Refusal("lot.unknown", lot, "no sample of this lot is registered.", "See `benchseal sample list`.")
        )
    names = ", ".join(f"{row['sample']} ({row['customer']}/{row['lot']})" for row in rows)
    raise Stopped(Refusal("lot.several", lot, f"several samples bear it: {names}.", "Name the sample by its number."))


def all_entries(view: Reading) -> list[Entry]:
    """Every ledger entry, oldest first. Raises Stopped naming the first that cannot be read."""
    found = []
    for seq, body, _, _ in view.entries():
        try:
            found.append(read_entry(body))
        except ValueError as fault:
            raise Stopped(
                Finding(
                    "integrity.entry",
                    f"entry {seq}",
                    f"{fault}.",
                    "Stop work, keep this copy, and run `benchseal verify --all`.",
                )
            ) from None
    return found
