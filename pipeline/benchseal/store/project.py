"""Ledger entry to derived rows: the only place that makes them, used by the act and by replay alike.

Pure: what it gives follows from the entry and the objects it names. It never recomputes a number; it copies what
the calculation put on record. The rows of each subject are in its own ``project_….py``.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.store.project_certificates import CERTIFICATES
from benchseal.store.project_corrections import CORRECTIONS
from benchseal.store.project_deliveries import DELIVERIES
from benchseal.store.project_documents import DOCUMENTS
from benchseal.store.project_exceptions import EXCEPTIONS
from benchseal.store.project_instruments import INSTRUMENTS
from benchseal.store.project_interface import INTERFACE
from benchseal.store.project_investigations import INVESTIGATIONS
from benchseal.store.project_keys import KEYS
from benchseal.store.project_opinions import OPINIONS
from benchseal.store.project_people import PEOPLE
from benchseal.store.project_plans import PLANS
from benchseal.store.project_registers import REGISTERS
from benchseal.store.project_runs import RUNS
from benchseal.store.project_security import SECURITY
from benchseal.store.project_upkeep import UPKEEP

if TYPE_CHECKING:
    from benchseal.records.entries import Entry
    from benchseal.store.changes import Change
    from benchseal.store.project_rows import Projection, ReadObject

_PROJECTIONS: dict[str, Projection] = {
    **PEOPLE,
    **KEYS,
    **DOCUMENTS,
    **EXCEPTIONS,
    **REGISTERS,
    **PLANS,
    **INSTRUMENTS,
    **RUNS,
    **INVESTIGATIONS,
    **CORRECTIONS,
    **OPINIONS,
    **CERTIFICATES,
    **DELIVERIES,
    **INTERFACE,
    **UPKEEP,
    **SECURITY,
}


def project(entry: Entry, read: ReadObject) -> tuple[Change, ...]:
    """Rows that follow from one entry, in order. Raises KeyError for a kind this program does not know."""
    return _PROJECTIONS[entry.kind](entry, read)


def known_kinds() -> frozenset[str]:
    """Every entry kind this program can replay."""
    return frozenset(_PROJECTIONS)
