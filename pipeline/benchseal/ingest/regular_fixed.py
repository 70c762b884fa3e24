"""Rows of fixed places to columns, all at once: what ``regular`` judges further, or nothing.

As there it only says yes. Cells left out because they are the same as above are filled in, and rows of means are taken
out; everything else of another kind is left to the exact reader.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache
from itertools import accumulate, chain, compress, pairwise, repeat
from operator import not_, sub
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from benchseal.ingest.plan import Plan
    from benchseal.ingest.walk import Section
    from benchseal.records.layout import Column

_IDENTITY = {"position", "label", "kind", "nominal", "dilution"}


@dataclass(frozen=True, slots=True)
class FixedRows:
    """Rows of readings by column, blanks around cells taken off, cells left out filled in.

    begins: for each row, the column of the line its signal begins at. mean_solutions: index of the solution each row of
    means stands below, from 0.
    """

    columns: list[tuple[str, ...]]
    lines: list[int]
    begins: list[int]
    mean_solutions: tuple[int, ...]
    means: tuple[str, ...]
    mean_lines: tuple[int, ...]


def fixed_rows(plan: Plan, section: Section) -> FixedRows | None:
    """The rows of a section with one signal column, where all can be cut at the layout's places; else None."""
    raw = _cut(section) if _rising(section.columns) else None
    if raw is not None and _touch(section.columns, raw):
        return None
    is_mean = _mean_rows(plan, section, raw) if raw is not None else None
    if raw is None or is_mean is None:
        return None
    place = {column.means: index for index, column in enumerate(section.columns)}
    signal = place["signal"]
    columns = [tuple(map(str.strip, cells)) for cells in raw]
    begins = _begins(raw[signal], section.columns[signal].starts)
    lines = [number for number, _ in section.rows]
    new = list(map(bool, columns[place["position"]]))
    if not _filled(section, columns, new) or any(compress(new, is_mean)):
        return None
    solution = [count - 1 for count in accumulate(map(int, new))]
    kept = list(map(not_, is_mean))
    return FixedRows(
        [tuple(compress(cells, kept)) for cells in columns],
        list(compress(lines, kept)),
        list(compress(begins, kept)),
        tuple(compress(solution, is_mean)),
        tuple(compress(columns[signal], is_mean)),
        tuple(compress(lines, is_mean)),
    )


def _rising(columns: tuple[Column, ...]) -> bool:
    return columns[0].starts >= 1 and all(
        one.starts <= one.ends for one in columns
    ) and all(one.ends < two.starts for one, two in pairwise(columns))  # fmt: skip


def _cut(section: Section) -> list[tuple[str, ...]] | None:
    """Cells by column, with their blanks; None where text stands between two places or behind the last one."""
    width = section.columns[-1].ends
    rows = [text.ljust(width) for _, text in section.rows]
    whole = "\n".join((*rows, ""))
    if not whole.isascii() or "\f" in whole or len(whole) != len(rows) * (width + 1):
        return None
    found = _row(tuple((column.starts, column.ends) for column in section.columns)).findall(whole)
    return list(zip(*found, strict=True)) if len(found) == len(rows) and len(section.columns) > 1 else None


def _touch(columns: tuple[Column, ...], raw: list[tuple[str, ...]]) -> bool:
    """Whether in any row no blank stands between two columns that adjoin. raw: cells with their blanks."""
    adjoining = [nth for nth, (one, two) in enumerate(pairwise(columns), 1) if one.ends + 1 == two.starts]
    return any(
        one[-1] != " " and two[0] != " " for nth in adjoining for one, two in zip(raw[nth - 1], raw[nth], strict=True)
    )


@lru_cache(maxsize=64)
def _row(places: tuple[tuple[int, int], ...]) -> re.Pattern[str]:
    """One row with its line end: always of one length, so as many as there are lines leave nothing out."""
    before, parts = 0, []
    for starts, ends in places:
        parts.append(f" {{{starts - 1 - before}}}(.{{{ends - starts + 1}}})")
        before = ends
    return re.compile("".join(parts) + "\n")


def _begins(cells: tuple[str, ...], starts: int) -> list[int]:
    """Where the text of each cell begins, as ``cells`` tells it; of an empty cell nothing is asked."""
    bare = map(len, map(str.lstrip, cells))
    return [starts + blanks for blanks in map(sub, map(len, cells), bare)]


def _mean_rows(plan: Plan, section: Section, cells: list[tuple[str, ...]]) -> list[bool] | None:
    """Whether each row is one of means; None where the layout tells them by another column than that of replicates."""
    telling = [index for index, column in enumerate(section.columns) if column.header in plan.mean_rows]
    if not telling:
        return [False] * len(section.rows)
    if len(telling) > 1 or section.columns[telling[0]].means != "replicate":
        return None
    text = plan.mean_rows[section.columns[telling[0]].header]
    return [each.strip() == text for each in cells[telling[0]]]


def _filled(section: Section, columns: list[tuple[str, ...]], new: list[bool]) -> bool:
    """Fill in what is the same as above. new: whether a row has a position of its own.

    False where a row leaves out only a part, the first leaves out all, or not all that names a solution is left out.
    """
    carried = [index for index, column in enumerate(section.columns) if column.carried]
    naming = [index for index, column in enumerate(section.columns) if column.means in _IDENTITY]
    starts = list(compress(range(len(new)), new))
    if not starts or starts[0] != 0:
        return False
    if not carried:
        return all(new)
    if carried != naming:
        return False
    below = list(map(not_, new))
    counts = list(map(sub, [*starts[1:], len(new)], starts))
    for index in carried:
        if any(compress(columns[index], below)):
            return False
        columns[index] = tuple(chain.from_iterable(map(repeat, compress(columns[index], new), counts)))
    return True
