"""A run document with what people put right in it: labels, and positions left out. The file's own text stays beside."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from benchseal.records.corrections import RunCorrections
    from benchseal.records.run import RunDocument

EXCLUDED = "excluded"


def corrected(document: RunDocument, corrections: RunCorrections) -> RunDocument:
    """The document as it is to be validated and calculated.

    A position left out keeps its lines and texts as read; its readings are no numbers any more.
    """
    if not (corrections.labels or corrections.excluded):
        return document
    solutions, readings = document.solutions, document.readings
    labels = {one.position: one for one in corrections.labels}
    out = {one.position for one in corrections.excluded}
    pairs = [
        (labels[position].label, labels[position].kind) if position in labels else (label, kind)
        for position, label, kind in zip(solutions.position, solutions.label, solutions.kind, strict=True)
    ]
    left_out = {
        row
        for position, first, count in zip(
            solutions.position, solutions.first_reading, solutions.reading_count, strict=True
        )
        if position in out
        for row in range(first, first + count)
    }
    return replace(
        document,
        solutions=replace(solutions, label=tuple(label for label, _ in pairs), kind=tuple(kind for _, kind in pairs)),
        readings=replace(
            readings,
            signal=tuple("" if row in left_out else text for row, text in enumerate(readings.signal)),
            flag=tuple(EXCLUDED if row in left_out else flag for row, flag in enumerate(readings.flag)),
        ),
    )
