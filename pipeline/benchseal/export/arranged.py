"""What stands in which row of a file: each result in its own, or those of one certificate or one sample together.

Where results stand together, a column says of which element it is (``of``), and each of its cells is a field of that
one result. What is said of the row as a whole (sample, certificate, order) must be the same for all its results.
"""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Final, cast

from benchseal.problems import Problem
from benchseal.records.released import ROW_FIELDS, ReleasedRow, Together

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from benchseal.records.profile import Column, Profile
    from benchseal.records.released import ChangeKind

# What is of one result alone: never of a row with several.
OF_ONE: Final = frozenset(
    {
        "result_id", "revision", "replaces_revision", "record_sha256", "element_symbol", "analyte_name", "cas_number",
        "reported_kind", "qualifier", "value_text", "value_number", "value_unrounded", "expressed_as",
        "expanded_uncertainty", "coverage_factor", "coverage_probability", "uncertainty_unit", "detection_limit",
        "quantitation_limit", "dilution_factor", "spec_low", "spec_high", "verdict", "decision_rule", "flags", "note",
        "sum_elements", "sum_bound",
    }
)  # fmt: skip
# Of no result there is no change either: a ``new`` here would speak of a result that does not exist.
_NO_RESULT: Final = ReleasedRow(result_id="", revision="", change_kind=cast("ChangeKind", ""))
_OF_THE_ROW: Final = ("change_kind", "change_reason")


@dataclass(frozen=True, slots=True)
class Arranged:
    """Rows of a file. rows: each whole row; of results in rows of their own, these.

    differs: by row, fields that are not the same for all results of it; empty in ``rows``. by_element: for each
    ``of`` of the profile, row by row the result of that element, or one that holds nothing.
    """

    rows: Sequence[ReleasedRow]
    differs: tuple[frozenset[str], ...] = ()
    by_element: dict[str, tuple[ReleasedRow, ...]] = field(default_factory=dict)

    def of(self, column: Column) -> Sequence[ReleasedRow]:
        """Row by row what the cells of a column are taken from."""
        return self.by_element[column.of] if column.of else self.rows


def arranged(sent: Sequence[ReleasedRow | Together], profile: Profile) -> Arranged | tuple[Problem, ...]:
    """The rows of the file; or every result that would stand in no column, or not alone in one.

    sent: of a profile with ``one_row_per`` result, results; else results together, one item a row.
    """
    if profile.one_row_per == "result":
        return Arranged(results_of(sent))
    together = [one if isinstance(one, Together) else Together((one,)) for one in sent]
    names = {column.of: _same(column.of) for column in profile.columns if column.of}
    known = frozenset(names.values())
    problems = tuple(problem for nth, one in enumerate(together, 1) for problem in _misplaced(nth, one, known))
    if problems:
        return problems
    wholes = [_whole(one) for one in together]
    found = [{element_of(row): row for row in one.results} for one in together]
    return Arranged(
        [row for row, _ in wholes],
        tuple(differs for _, differs in wholes),
        {name: tuple(each.get(key, _NO_RESULT) for each in found) for name, key in names.items()},
    )


def element_of(row: ReleasedRow) -> str:
    """What ``of`` calls a result: its element, or the elements of its sum, in whatever order."""
    return _same(row.sum_elements or row.element_symbol)


def _same(elements: str) -> str:
    return " ".join(sorted(elements.split()))


def results_of(sent: Sequence[ReleasedRow | Together]) -> Sequence[ReleasedRow]:
    """Every result of some rows."""
    if Together not in set(map(type, sent)):
        return cast("Sequence[ReleasedRow]", sent)
    return [row for one in sent for row in (one.results if isinstance(one, Together) else (one,))]


def _misplaced(number: int, together: Together, names: frozenset[str]) -> Iterator[Problem]:
    seen: set[str] = set()
    for row in together.results:
        name = element_of(row)
        where = f"row {number} ({row.lab_sample_id} {name}, result {row.result_id})"
        if name not in names:
            what = f"no column is of {name}: the result would stand nowhere."
            remedy = f"Add columns with of: {name}, or choose methods without it."
            yield Problem("export.result-without-column", where, what, remedy)
        elif name in seen:
            what = f"the row has two results of {name}, and its columns hold one."
            remedy = "Choose the method of one of them, or take one row for each result."
            yield Problem("export.result-not-alone", where, what, remedy)
        seen.add(name)


def _whole(together: Together) -> tuple[ReleasedRow, frozenset[str]]:
    """What is said of the row as a whole, and which fields its results do not have in common.

    What was withdrawn says nothing of the row, unless everything was.
    """
    left = [row for row in together.results if row.change_kind != "withdrawn"] or list(together.results)
    first, common, differs = left[0], {}, set()
    for name in ROW_FIELDS:
        text = getattr(first, name)
        if any(getattr(row, name) != text for row in left[1:]):
            differs.add(name)
            text = ""
        common[name] = text
    reasons = dict.fromkeys(row.change_reason for row in together.results if row.change_reason)
    said: dict[str, Any] = {"change_kind": _change(together), "change_reason": "; ".join(reasons)}
    return dataclasses.replace(first, **(common | said)), frozenset(differs.difference(_OF_THE_ROW))


def _change(together: Together) -> str:
    kinds = {row.change_kind for row in together.results}
    if kinds == {"withdrawn"}:
        return "withdrawn"
    return "new" if kinds == {"new"} and not together.held else "corrected"
