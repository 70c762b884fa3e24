"""When something was measured: the instrument's own time, in UTC, corrected by the last check of its clock."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.desk.reading import load
from benchseal.records.instrument_events import InstrumentEvent
from benchseal.validate.instrument_state import corrected as corrected_by

if TYPE_CHECKING:
    from benchseal.store.protocol import Reading


def events_of(view: Reading, instrument: str) -> tuple[InstrumentEvent, ...]:
    """Every event of an instrument, in order of entry."""
    return tuple(
        load(view, InstrumentEvent, row["record"]) for row in view.rows("instrument_event", instrument=instrument)
    )


def all_events(view: Reading) -> dict[str, tuple[InstrumentEvent, ...]]:
    """Every event, by instrument, in order of entry."""
    found: dict[str, list[InstrumentEvent]] = {}
    for row in view.rows("instrument_event"):
        found.setdefault(row["instrument"], []).append(load(view, InstrumentEvent, row["record"]))
    return {name: tuple(events) for name, events in found.items()}


def corrected(view: Reading, instrument: str, measured_at: str) -> str:
    """``measured_at`` (UTC, by the instrument's clock) less what that clock was off at its last check."""
    return corrected_by(measured_at, events_of(view, instrument))
