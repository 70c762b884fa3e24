"""What to think of before and after measuring, by technique: general words of the trade, common practice, no source.

The laboratory's own procedure, safety data sheets and the instrument maker's instructions prevail; nothing here says
how much, how hot or how long.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.records.keeping import kept_for

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from benchseal.records.method import Method

FIRST = (
    "Local rules, the safety data sheets and the instrument maker's instructions prevail over every line here; "
    "what follows is common practice, no source."
)
_BEFORE = (
    "Before: the right lamp is in and warm, wavelength and slit are the method's, extraction runs, waste is not full.",
    "Acids: fume cupboard, eye, face and hand protection; acid into water; closed vessels cool before they are opened.",
    "Every tube bears its label before anything is filled in; what is prepared otherwise than planned is written down.",
)
_FLAME_OUT = (
    "Flame out, in the order of the local procedure: the nebuliser is rinsed and run dry; fuel is off before air; "
    "cylinders and lines as the gas supplier says."
)
_FLAME = (
    "Flame: drain trap filled, burner clean and the one the method names; a burning flame is never left alone.",
    _FLAME_OUT,
)
_NITROUS = (
    "Nitrous oxide flame: only with its own burner head; lit and put out through air and acetylene, as the local "
    "procedure says."
)
_ACETYLENE = "Acetylene: pressure, tubing and the change of cylinders follow the gas supplier's rules and local rules."
_FURNACE = (
    "Furnace: it is hot after a firing; cooling water and inert gas run before and after; fumes are drawn off.",
    "A strong magnetic field may surround the furnace: whoever bears an implant follows the maker's warning.",
    "Furnace off, in the order of the local procedure: the sampler is rinsed, the furnace cools, then gas and water.",
)
_VAPOUR = (
    "The path of the vapour is closed, its exhaust goes through a trap or into the extraction; it is tight.",
    "Reductant and acid meet in the instrument only; they are stored apart.",
    "Vapour off, in the order of the local procedure: rinse every line with water, run them dry, then carrier gas off.",
)
_MERCURY = "Mercury: nothing is heated in the open; spills and traps are disposed of as the local rules say."
_HYDRIDE = "Hydrides of arsenic, selenium and antimony are very poisonous gases: the extraction runs before and after."


def reminders_for(methods: Sequence[Method]) -> tuple[str, ...]:
    """Lines for the techniques of these methods, each once, the one on local rules first."""
    own = (line for method in methods for line in (*_of(method), *digests_of(method)))
    return tuple(dict.fromkeys((FIRST, *_BEFORE, *own)))


def digests_of(method: Method) -> Iterator[str]:
    """How long digests hold by a method that says so, and the way it counts."""
    keep = method.digests_keep
    if kept := kept_for(keep):
        ends = "the last day to its end" if keep.days else "to the second"
        yield f"Digests for {method.id} are read within {kept} after they were made up, {ends}; later none is accepted."


def _of(method: Method) -> Iterator[str]:
    if method.technique == "flame":
        yield _ACETYLENE
        if method.conditions.flame == "nitrous_oxide_acetylene":
            yield _NITROUS
        yield from _FLAME
    elif method.technique == "furnace":
        yield from _FURNACE
    else:
        yield _MERCURY if method.technique == "cold_vapour" else _HYDRIDE
        yield from _VAPOUR
