"""Digests read when the time their method gives them was over."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

from benchseal.problems import Problem
from benchseal.records.keeping import holds_until, kept_for, local_words
from benchseal.records.preparation import Portion
from benchseal.validate.instants import instants
from benchseal.validate.instrument_state import corrected
from benchseal.validate.places import at_solution

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from benchseal.records.known import Known
    from benchseal.records.method import Method
    from benchseal.records.registers import Instrument
    from benchseal.records.run import RunDocument

_REMEDY = "Prepare those samples again and measure that; or correct the instrument's clock or the time of preparation."


def keeping_problems(
    document: RunDocument,
    method: Method,
    portions: Sequence[Portion | Problem | None],
    place: tuple[Instrument, str],
    known: Known,
) -> Iterator[Problem]:
    """For each batch the first portion read past its time, and how many more there are.

    place: the instrument and the UTC time the run began. Each solution is taken at its last reading, where the file
    gives no such times at the begin of the run; as the checks of the instrument's clock correct them.
    """
    if not kept_for(method.digests_keep):
        return
    instrument, began = place
    events = known.instrument_events.get(instrument.instrument, ())
    past: dict[str, list[tuple[int, Portion, datetime, datetime]]] = {}
    taken = instants(document.readings.taken_at, datetime.fromisoformat(began), instrument.zone)
    for index, portion in enumerate(portions):
        if isinstance(portion, Portion):
            until = holds_until(method.digests_keep, portion.prepared_at, instrument.zone)
            shown = _read_at(document, index, taken) or began
            read = datetime.fromisoformat(corrected(shown, events))
            if until is not None and read > until:
                past.setdefault(portion.batch, []).append((index, portion, until, read))
    for batch, found in past.items():
        index, portion, until, read = found[0]
        names = {one.portion for _, one, _, _ in found}
        more = f" So were {len(names) - 1} more portions of the batch." if len(names) > 1 else ""
        what = (
            f"'{portion.portion}' of batch {batch} was made up {portion.prepared_at}; by {method.id} digests hold "
            f"{kept_for(method.digests_keep)}, this one until {local_words(until, instrument.zone)}. It was read "
            f"{local_words(read, instrument.zone)}.{more}"
        )
        yield Problem("validate.digest-past", at_solution(document, index), what, _REMEDY)


def _read_at(document: RunDocument, index: int, taken: Sequence[datetime | None]) -> str:
    """UTC time of the last reading of a solution; empty where none is given. taken: of every reading."""
    first, count = document.solutions.first_reading[index], document.solutions.reading_count[index]
    last = next(filter(None, reversed(taken[first : first + count])), None)
    return "" if last is None else f"{last:%Y-%m-%dT%H:%M:%S}Z"
