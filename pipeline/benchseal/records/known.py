"""What is known around a run: what validating needs, and what computing needs. Lent by the desk, never fetched."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from benchseal.records.canonical import Digest
from benchseal.records.instrument_events import InstrumentEvent
from benchseal.records.method import Method
from benchseal.records.preparation import Portion
from benchseal.records.registers import Instrument, Sample, StandardLot
from benchseal.records.run import DocumentRef, Run, RunDocument
from benchseal.records.specification import Specification


@dataclass(frozen=True, slots=True)
class Lent:
    """A run whose curve a file is to use, as it stands at the site.

    state: of its life cycle. version, work: the reviewed ones, 0 and empty where it is not reviewed. usable, good:
    whether that calculation stands as a whole, and every verdict on its curve.
    """

    number: str
    state: str
    version: int
    work: Digest
    run: Run
    usable: bool
    good: bool


@dataclass(frozen=True, slots=True)
class Counted:
    """A run of the site whose readings carry numbers of the instrument's counter. cancelled: whether it was."""

    run: str
    cancelled: bool
    document: RunDocument


@dataclass(frozen=True, slots=True)
class Known:
    """For ``validate``: everything in force at the site.

    methods: approved versions in force. portions: label to every portion that carries it, itself or on
    a tube of its standard additions, whatever its batch.
    batches: where not empty, only portions of these batches count (the preparation named with the file).
    now: UTC ``YYYY-MM-DDTHH:MM:SSZ``, given by the desk. lent: runs named for their curves, at most one an element.
    instrument_events: by instrument, as they came on record.
    """

    methods: tuple[tuple[DocumentRef, Method], ...]
    portions: Mapping[str, tuple[Portion, ...]]
    batches: frozenset[str]
    instruments: tuple[Instrument, ...]
    standard_lots: tuple[StandardLot, ...]
    now: str
    lent: tuple[Lent, ...] = ()
    instrument_events: Mapping[str, tuple[InstrumentEvent, ...]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Bench:
    """For ``compute``: what the solutions of a run are.

    portions: by (batch, label). samples: by sample number. specifications: by identifier, the version in force.
    lots: by lot. ledger: identifier of the ledger, part of every result_id. unmeasured: why a sample was not measured.
    """

    ledger: str
    portions: Mapping[tuple[str, str], Portion]
    samples: Mapping[str, Sample]
    specifications: Mapping[str, tuple[DocumentRef, Specification]]
    lots: Mapping[str, StandardLot]
    unmeasured: Mapping[str, str] = field(default_factory=dict)
