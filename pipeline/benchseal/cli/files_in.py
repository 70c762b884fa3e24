"""Instrument files as they come in: one, or several that are parts of one run."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from benchseal.desk.arriving import read_arriving
from benchseal.problems import Stopped

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.ingest.joining import Part


def instrument_file(names: Sequence[str], *, one_run: bool = False) -> tuple[bytes, str, tuple[Part, ...]]:
    """Bytes and name of what comes in: of one file, or of several that are parts of one run. Raises Stopped.

    one_run: join even a single file, which is refused.
    """
    read = [(Path(name).name, read_arriving(Path(name))) for name in names]
    if len(read) == 1 and not one_run:
        return read[0][1], read[0][0], ()
    from benchseal.ingest.joining import joined  # noqa: PLC0415

    whole = joined(read)
    if isinstance(whole, tuple):
        raise Stopped(*whole)
    return whole.data, whole.name, whole.parts
