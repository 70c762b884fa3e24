"""Rules of the sums of a specification: their parts must be there, and must be of one kind."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.documents.judge import Fault, Path
from benchseal.records.elements import SYMBOLS

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.records.specification import Specification, SumRequirement


def sum_faults(specification: Specification) -> Iterator[Fault]:
    """What a sum asks beyond the rules of every line."""
    ids: dict[str, int] = {}
    kinds: dict[tuple[object, ...], int] = {}
    for index, asked in enumerate(specification.sums):
        path: Path = ("sums", index)
        if asked.id in ids:
            what = f"The id '{asked.id}' stands twice; first as no. {ids[asked.id] + 1}."
            yield _fault((*path, "id"), "twice", what, "Give each sum its own.")
        kind = (frozenset(asked.elements), asked.quantity, asked.basis, asked.bound)
        if kind in kinds:
            what = f"This sum of {', '.join(asked.elements)} stands twice; first as no. {kinds[kind] + 1}."
            yield _fault((*path, "elements"), "twice", what, "Remove one.")
        ids.setdefault(asked.id, index)
        kinds.setdefault(kind, index)
        yield from _elements(specification, asked, path)
        if asked.quantity == "percent_of_claim":
            what = "percent_of_claim is each element's part of its own claim; such parts cannot be added."
            yield _fault((*path, "quantity"), "quantity", what, "Sum the amount per unit or the content.")


def _elements(specification: Specification, asked: SumRequirement, path: Path) -> Iterator[Fault]:
    if len(set(asked.elements)) != len(asked.elements):
        yield _fault((*path, "elements"), "elements", "An element is listed twice.", "List each once.")
    elif len(asked.elements) < 2:
        yield _fault((*path, "elements"), "elements", "A sum needs two elements or more.", "Add the others.")
    for element in dict.fromkeys(asked.elements):
        if element not in SYMBOLS:
            yield _fault((*path, "elements"), "elements", f"'{element}' is no symbol of an element.", "Correct it.")
        elif not any(
            (line.element, line.quantity, line.basis, line.expressed_as) == (element, asked.quantity, asked.basis, "")
            for line in specification.requirements
        ):
            what = f"No requirement asks for {element} as {asked.quantity}, {asked.basis}, so that it can be added."
            remedy = f"Add a line for {element} (without limits, if it has none of its own), or take it out of the sum."
            yield _fault((*path, "elements"), "part-missing", what, remedy)


def _fault(path: Path, code: str, what: str, remedy: str) -> Fault:
    return Fault(path, f"documents.specification-sum-{code}", what, remedy)
