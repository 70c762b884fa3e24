"""What happens to an instrument: its clock held against a true one, services, lamps, tubes, in and out of service."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

from benchseal.records.quantities import PlainDecimal

InstrumentEventKind: TypeAlias = Literal[
    "clock_check",
    "service",
    "qualification",
    "calibration_due",
    "lamp",
    "tube",
    "out_of_service",
    "back_in_service",
    "original_record",
]


@dataclass(frozen=True, slots=True)
class InstrumentEvent:
    """One event of one instrument. Times are UTC ``YYYY-MM-DDTHH:MM:SSZ``, days ``YYYY-MM-DD`` of its own zone.

    at: when it happened. by: who did or saw it: a user id, or a name from outside. text: what; of ``original_record``
    the place where the instrument's own files live. until: last day a calibration or qualification holds.
    seen, true: of a clock check, what the instrument's clock showed and what time it was; offset_seconds: seen less
    true. set_right: the clock was put right then, so that from then on it is taken as it shows. part, count, unit: of
    a lamp or tube, which one, its counter and what the counter counts.
    """

    schema: Literal["instrument-event/1"]
    instrument: str
    kind: InstrumentEventKind
    at: str
    by: str
    text: str
    until: str = ""
    seen: str = ""
    true: str = ""
    offset_seconds: int = 0
    set_right: bool = False
    part: str = ""
    count: PlainDecimal = ""
    unit: str = ""
