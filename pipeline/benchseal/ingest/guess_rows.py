"""Rows of a table that are no readings: a column counts those, and another word stands behind the last."""

from __future__ import annotations

import re
from decimal import Decimal
from itertools import groupby
from operator import itemgetter
from statistics import median
from typing import TYPE_CHECKING, Literal, NamedTuple, TypeAlias, cast

from benchseal.ingest.numbers import plain_number

if TYPE_CHECKING:
    from collections.abc import Sequence

What: TypeAlias = Literal["mean", "spread", ""]
_MOST_WORDS = 4
_COUNT = re.compile("0{0,5}[1-9][0-9]{0,5}")


class Counter(NamedTuple):
    """A column that counts the readings of each solution, and the words that stand in it behind them."""

    column: int
    words: tuple[str, ...]


def counter_with_words(rows: Sequence[Sequence[str]]) -> Counter | None:
    """The first column that counts 1, 2 … with each solution, a few other words standing below the last only."""
    for nth in range(len(rows[0]) if rows else 0):
        cells = [cells[nth] for cells in rows]
        words = tuple(sorted({cell for cell in cells if not _COUNT.fullmatch(cell)}))
        if 0 < len(words) <= _MOST_WORDS and _counts_before(cells):
            return Counter(nth, words)
    return None


def _counts_before(cells: Sequence[str]) -> bool:
    """Whether numbers count from 1 again and again, and behind a word only another word or a 1 stands."""
    due, ones, most, after_word = 1, 0, 0, False
    for cell in cells:
        if not _COUNT.fullmatch(cell):
            if due == 1 and not after_word:
                return False  # a word before the first reading
            after_word = True
            continue
        number = int(cell)
        if number != 1 and (after_word or number != due):
            return False
        ones += number == 1
        due, most, after_word = number + 1, max(most, number), False
    return ones > 1 and most > 1


def told_by_numbers(readings: Sequence[Sequence[str]], calculated: Sequence[str], mark: str) -> What:
    """What rows are by their numbers: means, or spreads, to one unit of the last place, in nine of ten.

    readings: of each such row the readings before it. Medians count as spreads: they are kept for no comparison.
    """
    fits = {"mean": 0, "spread": 0}
    rows = 0
    for texts, text in zip(readings, calculated, strict=True):
        numbers = [_number(one, mark) for one in texts]
        printed = _number(text, mark)
        known = [number for number in numbers if number is not None]
        if printed is None or len(known) != len(numbers) or len(known) < 2:
            continue
        rows += 1
        place = Decimal(1).scaleb(printed.as_tuple().exponent)  # type: ignore[arg-type]  # finite
        fits["mean"] += abs(_mean(known) - printed) <= place
        fits["spread"] += any(abs(one - printed) <= place for one in _spreads(known))
    whats: tuple[What, ...] = ("mean", "spread")
    for what in whats:
        if rows > 1 and 10 * fits[what] >= 9 * rows:
            return what
    return ""


def last_are_means(names: Sequence[str], texts: Sequence[str], mark: str) -> int:
    """How many solutions end with the rounded mean of the two or more readings before; 0 unless nine in ten do.

    names: of each row what tells its solution. Solutions whose readings do not differ show nothing.
    """
    fits = seen = 0
    for _, rows in groupby(zip(names, texts, strict=True), key=itemgetter(0)):
        numbers = [_number(text, mark) for _, text in rows]
        *known, last = [number for number in numbers if number is not None] or [Decimal(0)]
        if len(known) < 2 or len(known) + 1 != len(numbers) or len(set(known)) == 1:
            continue
        seen += 1
        fits += 2 * abs(_mean(known) - last) <= Decimal(1).scaleb(last.as_tuple().exponent)  # type: ignore[arg-type]
    return fits if fits > 2 and 10 * fits >= 9 * seen else 0


def _number(text: str, mark: str) -> Decimal | None:
    plain = plain_number(text, cast("object", mark), "")  # type: ignore[arg-type]
    return None if plain is None else Decimal(plain)


def _mean(numbers: Sequence[Decimal]) -> Decimal:
    return sum(numbers, Decimal(0)) / len(numbers)


def _spreads(numbers: Sequence[Decimal]) -> list[Decimal]:
    """Standard deviation, the relative one in percent, range, median."""
    mean = _mean(numbers)
    deviation = (sum(((one - mean) ** 2 for one in numbers), Decimal(0)) / (len(numbers) - 1)).sqrt()
    relative = [abs(100 * deviation / mean)] if mean else []
    return [deviation, *relative, max(numbers) - min(numbers), median(numbers)]
