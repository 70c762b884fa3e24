"""Cells of a record as ``--set NAME=VALUE`` gives them, and what is wrong with them said of the record, not of a sheet.

There is no sheet a person could look into: the record is written as one to be read by the rules of its sheet.
"""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING, Final

from benchseal.documents.signs import tidy, unfit_in_cell
from benchseal.problems import Notice, Problem, Stopped

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

_PLACE: Final = re.compile(r"^(.*), line [0-9]+(?:, cell ([0-9]+))?(?: \(\w+\))?$", re.DOTALL)
_OF_A_SHEET: Final = {
    "documents.control-sign": "Type the value again.",
    "documents.cell-not-text": "Give the value itself.",
    "documents.blank-odd": "Type the value again, with one plain blank there or none.",
}


def given_cells(subject: str, sets: Sequence[str], may: frozenset[str]) -> dict[str, str]:
    """Name to text, blanks around it left out as in a sheet. Raises Stopped for what cannot be set, or is set twice."""
    found: dict[str, str] = {}
    for one in sets:
        name, sign, text = one.partition("=")
        if not sign or name not in may:
            what = f"'{one[:60]}' does not say which value to set; it can be: {', '.join(sorted(may))}."
            raise Stopped(Problem("correction.which", subject, what, "Write --set NAME=VALUE."))
        require_once(subject, name, found.get(name), text)
        text = tidy(text)
        if unfit := unfit_in_cell(text):
            what = f"Sign {unfit[0] + 1} of the value is {unfit[1]}, a control or invisible sign."
            raise Stopped(Problem("documents.control-sign", f"{subject}, {name}", what, "Type the value again."))
        found[name] = text
    return found


def require_once(subject: str, name: str, before: str | None, text: str) -> None:
    """Stop where something is set a second time: which of the two is meant, only the person knows. Raises Stopped."""
    if before is not None:
        what = f"{name} is given twice: '{before[:60]}' and '{text[:60]}'."
        raise Stopped(Problem("correction.twice", subject, what, "Give the one that is meant."))


def of_record(found: Iterable[Notice], texts: Mapping[str, str]) -> Iterator[Notice]:
    """Problems of the sheet a record was written as, each with the value it is about. texts: cells of that record."""
    names = [*texts]
    for one in found:
        place = _PLACE.match(one.where)
        if place is None:
            yield one
            continue
        cell = int(place[2] or 0)
        where = f"{place[1]}, {names[cell - 1]}" if 0 < cell <= len(names) else place[1]
        yield replace(one, where=where, remedy=_OF_A_SHEET.get(one.code, one.remedy))
