"""Until when the digests hold that a run leaves to be read again, and what becomes of the list where they do not."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal, TypeAlias

from benchseal.records.keeping import holds_until, kept_for, local_words

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

    from benchseal.compute.reread import Again, Reread
    from benchseal.compute.reread_with import NewRun
    from benchseal.compute.run_portions import PortionKey
    from benchseal.records.method import DigestsKeep
    from benchseal.records.preparation import Portion
    from benchseal.records.run import Run

State: TypeAlias = Literal["hold", "past", "not_said"]
_READ = frozenset({"measure_run_again", "dilute", "read_again"})


@dataclass(frozen=True, slots=True)
class Held:
    """One batch with something left to read. until: of the portion that ends first, as a clock of the place shows it.

    portion: that one. keep: how long, in the method's words; empty with ``until`` where the method does not say.
    """

    batch: str
    state: State
    until: str
    portion: str
    keep: str


def held(
    run: Run, found: Reread, around: NewRun, portions: Mapping[PortionKey, Portion], place: tuple[str, datetime]
) -> tuple[Held, ...]:
    """For each batch, in the order of the list. place: zone of the instrument, and now."""
    keep, (zone, now) = run.method.digests_keep, place
    keys = _to_read(run, found, around)
    said = []
    for batch in dict.fromkeys(key[0] for key in keys):
        ends = [
            (until, portions[key].portion)
            for key in keys
            if key[0] == batch and key in portions
            if (until := holds_until(keep, portions[key].prepared_at, zone)) is not None
        ]
        if ends:
            until, label = min(ends)
            state: State = "past" if now > until else "hold"
            said.append(Held(batch, state, local_words(until, zone), label, kept_for(keep)))
        elif any(key in portions for key in keys if key[0] == batch):
            said.append(Held(batch, "not_said", "", "", ""))
    return tuple(said)


def _to_read(run: Run, found: Reread, around: NewRun) -> tuple[PortionKey, ...]:
    """Portions of which the digest is wanted again; all of the run where it is to be measured again as a whole."""
    own = [one.key for one in found.open if one.action in _READ]
    if any(not one.takes_values for one in found.failures):
        own += [key for key in run.portion if key[1]]
    return tuple(dict.fromkeys([*own, *((one.batch, one.portion) for one in around.companions)]))


def aged(
    keep: DigestsKeep, found: Reread, portions: Mapping[PortionKey, Portion], place: tuple[str, datetime]
) -> Reread:
    """The list where each portion whose digest holds no longer is to be prepared again instead of read again."""
    zone, now = place

    def past(one: Again) -> bool:
        portion = portions.get(one.key)
        until = None if portion is None else holds_until(keep, portion.prepared_at, zone)
        return one.action in _READ and until is not None and now > until

    return replace(
        found, again=tuple(replace(one, action="prepare_again") if past(one) else one for one in found.again)
    )
