"""Reading numbers of a whole file: an instrument counts upwards, so a repeat or a fall means a mixed-up file.

Numbers left out are no problem here: they are findings of the run (``validate.numbers``).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.ingest.walk import EXPORT_AGAIN

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from benchseal.records.layout import ReadingNumbers
    from benchseal.records.run import RunDocument


def compare_numbers(documents: Sequence[RunDocument], runs: ReadingNumbers, say: Callable[..., None]) -> None:
    """Say where the numbers of a file do not rise. runs: how far the counter runs. say: ``Walk.say``."""
    last: tuple[int, int] | None = None
    for document in documents:
        if runs == "each_section":
            last = None
        for text, line in zip(document.readings.number, document.readings.line, strict=False):
            if not text:  # it could not be read, and was told
                continue
            number = int(text)
            if last is not None and number <= last[0]:
                comes = "stands again" if number == last[0] else "comes"
                what = f"Reading number {number} {comes} here; line {last[1]} above has {last[0]}, and numbers rise."
                say("ingest.reading-number-order", what, EXPORT_AGAIN, line=line)
            last = number, line
