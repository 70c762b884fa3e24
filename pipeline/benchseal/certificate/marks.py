"""How an amendment marks what it changed: a word under each changed result, and a table of every change."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from benchseal.certificate.language import ENGLISH

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    from benchseal.certificate.language import Words
    from benchseal.certificate.view import ResultRow
    from benchseal.records.evidence import ChangedText


def place_of(row: ResultRow) -> str:
    """What a line of the results is called in the table of changes: ``Lead, total, as received``."""
    return f"{row.substance}, {row.quantity}"


def place_among(place: str, taken: Collection[str]) -> str:
    """``place``, with a number where it is taken: two runs of one element have one heading."""
    count, name = 1, place
    while name in taken:
        count += 1
        name = f"{place} ({count})"
    return name


def marked(
    rows: Sequence[ResultRow], changed: Sequence[ChangedText], earlier: str, words: Words = ENGLISH
) -> tuple[ResultRow, ...]:
    """The rows, each changed one with a sentence under it that says so. earlier: the certificate replaced."""
    if not changed:
        return tuple(rows)
    places = {one.place: one for one in changed}
    named: dict[str, ResultRow] = {}
    for row in rows:
        named[place_among(place_of(row), named)] = row
    return tuple(_marked(row, places.get(place), earlier, words) for place, row in named.items())


def _marked(row: ResultRow, change: ChangedText | None, earlier: str, words: Words) -> ResultRow:
    if change is None:
        return row
    said = words.say("changed/against" if change.before else "changed/new", number=earlier)
    return replace(row, detail=f"{row.detail}. {said}" if row.detail else said)
