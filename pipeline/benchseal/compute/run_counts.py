"""What a fit on means takes for granted of the number of readings, in words, where a run holds something else.

A mean weighs one, and its scatter about the curve holds the averaging. So means of unequal numbers of readings weigh
alike, and a solution read fewer times than the standards has their noise, which is too little for it. Fitted on
readings, or weighed by the scatter of levels, each reading counts and nothing needs to be said.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.compute.run_verdict import place_words

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.compute.run_measured import Measured
    from benchseal.records.method import Method
    from benchseal.records.quantities import PlainDecimal


def count_findings(
    method: Method, standards: Sequence[tuple[PlainDecimal, ...]], portions: Sequence[Measured]
) -> tuple[str, ...]:
    """Sentences about unequal numbers of readings.

    standards: the readings of each solution of the curve. portions: as they were evaluated.
    """
    plan, counts = method.calibration, [len(own) for own in standards]
    if plan.fit_on != "means" or plan.weighting == "1/s2" or plan.bracketing or not counts:
        return ()
    least, most = min(counts), max(counts)
    found = []
    if least != most:
        words = f"the calibration solutions were read {least} to {most} times, and their means weigh alike"
        found.append(f"{words}: read them equally often, or fit on readings")
    read = [one for one in portions if one.portion is not None and one.series is None and one.lost is None]
    few = [one.position for one in read if len(one.signals) < least]
    if few:
        words = (
            f"{place_words(few)}: read fewer times than the calibration solutions, on whose means the curve is fitted"
        )
        found.append(f"{words}; the reading noise in the uncertainty is that of their means, so too small here")
    return tuple(found)
