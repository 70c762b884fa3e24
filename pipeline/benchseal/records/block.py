"""Many runs read at once, column by column: what was sure of many files of one layout, before any document is made."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, TypeAlias

if TYPE_CHECKING:
    from benchseal.records.canonical import Digest
    from benchseal.records.quantities import PlainDecimal
    from benchseal.records.run import DocumentRef, RunFacts, SolutionKind

Array: TypeAlias = Any  # of numpy, whole numbers, one dimension unless said otherwise
Table: TypeAlias = Any  # of pyarrow


@dataclass(frozen=True, slots=True)
class Alike:
    """Solutions that differ in nothing but their signals and their place: what the file says of each of them."""

    label: str
    kind: SolutionKind
    nominal: PlainDecimal
    dilution: PlainDecimal
    readings: int


@dataclass(frozen=True, slots=True)
class BlockRun:
    """One run of a block. file: index of its file among those given. section: index within the file.

    facts: shared by runs that agree in all but when they began, so without ``started_at`` and ``line``. started_at,
    ended_at: local text of begin and of the last reading (as begun where rows bear no time), or empty. line: of the
    section.
    """

    file: int
    section: int
    source_sha256: Digest
    facts: RunFacts
    started_at: str
    ended_at: str
    line: int


@dataclass(frozen=True, slots=True)
class RunBlock:
    """Runs of files of one layout whose tables have the same columns.

    rows, solutions: shape (runs, 2), first row or solution of each run and the one after its last; what no run holds
    belongs to a file that was left. alike: of each solution the index of what it is in ``distinct``. table: cells by
    what their columns mean (``signal``, ``signal_2`` and so on), numbers as the file writes them. first_lines: number
    of the line each run's first row stands in; the others follow.
    """

    layout: DocumentRef
    runs: tuple[BlockRun, ...]
    rows: Array
    solutions: Array
    alike: Array
    distinct: tuple[Alike, ...]
    table: Table
    first_lines: Array
    decimal_mark: str
