"""Acts on what happens to instruments: as values, and who may do them."""

from __future__ import annotations

from dataclasses import dataclass

from benchseal.desk.act_row import ANALYST, APPROVER, REVIEWER, ActRow, anyone


@dataclass(frozen=True, slots=True)
class NoteInstrumentEvent:
    """Put one event of an instrument on record. Fields as ``InstrumentEvent``, as they were typed; empty: not given.

    at, seen, true: times of the instrument's zone, or with an offset of their own; at empty: now. by empty: whoever
    puts it on record. late_because: why it comes late, where it does.
    """

    instrument: str
    kind: str
    text: str
    at: str = ""
    by: str = ""
    until: str = ""
    seen: str = ""
    true: str = ""
    set_right: bool = False
    part: str = ""
    count: str = ""
    unit: str = ""
    late_because: str = ""


INSTRUMENTS: tuple[ActRow, ...] = (
    ActRow(
        NoteInstrumentEvent,
        "instrument event",
        anyone(ANALYST, REVIEWER, APPROVER),
        ("instrument.event", "late.noted"),
        "instruments:note_event",
        "put on record what happens to an instrument: clock checks, services, lamps, tubes, in and out of service",
    ),
)
