"""Readings without their time of day where the others of the table have one."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence


def without_clock(first_reading: Sequence[int], taken_at: Sequence[str], flag: Sequence[str]) -> tuple[int, ...]:
    """Indexes of readings that lack a time though the table gives times: a row lost its clock, or was put in.

    A table that gives a time to the first reading of each solution alone is of one form, and so is one that gives
    none to what was not read at all. first_reading: of each solution. taken_at, flag: of each reading.
    """
    if not any(taken_at) or all(taken_at):
        return ()
    firsts = set(first_reading)
    if all(bool(text) == (nth in firsts) for nth, text in enumerate(taken_at)):
        return ()
    return tuple(nth for nth, text in enumerate(taken_at) if not text and flag[nth] != "missing")
