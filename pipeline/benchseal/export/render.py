"""Released rows and a profile to the bytes of a file of the kind the profile names, or every reason why not."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from benchseal.export import delimited, fixed_width, hl7, json_lines, parquet
from benchseal.export.arranged import arranged, results_of
from benchseal.export.columns import PreviewCell, Way, columns_of, preview_columns
from benchseal.export.profiles import check_profile
from benchseal.records.released import Delivery
from benchseal.records.run import DocumentRef

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from types import ModuleType

    from benchseal.problems import Problem
    from benchseal.records.profile import Profile
    from benchseal.records.released import ReleasedRow, Together

_KINDS: Final[Mapping[str, ModuleType]] = {
    "delimited": delimited,
    "fixed_width": fixed_width,
    "hl7_v2": hl7,
    "json_lines": json_lines,
    "parquet": parquet,
}


def render(rows: Sequence[ReleasedRow | Together], profile: Profile, delivery: Delivery) -> bytes | tuple[Problem, ...]:
    """The file. The same rows, profile and delivery always give the same bytes.

    rows: results, or those that stand in one row together, as the profile's ``one_row_per`` says. Every problem of
    every cell is told, in order of columns, then rows; then there are no bytes.
    """
    if problems := check_profile(profile):
        return problems
    if profile.file.kind == "hl7_v2":  # messages, not columns
        return hl7.made(results_of(rows), profile, delivery)
    placed = arranged(rows, profile)
    if isinstance(placed, tuple):
        return placed
    kind = _KINDS[profile.file.kind]
    way = _way(kind, profile)
    if kind is delimited and (plain := delimited.made_plainly(placed, profile, delivery, way)) is not None:
        return plain
    columns = columns_of(placed, profile, delivery, way)
    if isinstance(columns, tuple):
        return columns
    made: bytes = kind.made(placed, columns, profile, delivery)
    return made


def suffix_of(profile: Profile) -> str:
    """What the name of the file ends with, without the dot."""
    return str(_KINDS[profile.file.kind].SUFFIX)


def preview(
    rows: Sequence[ReleasedRow | Together], profile: Profile, delivery: Delivery | None = None
) -> tuple[tuple[PreviewCell, ...], ...]:
    """Row by row what ``render`` would write, each cell with its field; what cannot be written stands as a problem.

    For a sound profile (``check_profile``). Without a delivery, the fields of a delivery say that there is none yet.
    Where a result has no column of its own, each such problem stands alone.
    """
    planned = delivery or Delivery("not-yet", 0, "1970-01-01T00:00:00.000Z", DocumentRef(profile.id, 0, ""))
    if profile.file.kind == "hl7_v2":
        return hl7.preview(results_of(rows), profile, planned)
    placed = arranged(rows, profile)
    if isinstance(placed, tuple):
        return tuple((PreviewCell("", "", "", "", problem),) for problem in placed)
    return preview_columns(placed, profile, planned, _way(_KINDS[profile.file.kind], profile))


def _way(kind: ModuleType, profile: Profile) -> Way:
    return Way(lambda column: kind.worded(column, profile), lambda column: kind.as_is(column, profile))
