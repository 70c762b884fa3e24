"""How long it takes to write released rows into each kind of file, against the plainest writer of the same cells.

    .venv/bin/python -m benchmarks.export_rows [--rows 1000000] [--rounds 5] [--check]

Rows go in portions of at most 100,000, as deliveries do. Eight columns: two texts of many values, three of few, two
numbers and a time. Floors, each on cells that are ready: ``csv.writer``, pyarrow on ready strings with the same types,
and ``json.dumps`` for each row. Processor seconds, so that a busy machine matters less; the best of the rounds. What
the disk takes for the same bytes is said beside it, by the wall clock of both: that goal is for a quiet machine, and
says as much about the disk, so the rate is said up to which a disk may take bytes for the goal to be met. The CSV
writer of pyarrow, on ready columns, is the other measure beside: a writer in C++ that needs no row at all.
``--check`` exits 1 when one of the three goals by kind is missed. The rows are invented and say nothing.
"""

# ruff: noqa: INP001, T201  scripts that print

from __future__ import annotations

import argparse
import csv
import io
import json
import os
import resource
import sys
import tempfile
import time
from typing import TYPE_CHECKING, Any, Final, NamedTuple

import pyarrow as pa
import pyarrow.csv
import pyarrow.parquet
from benchmarks.timing import load_words, table

from benchseal.desk.undelivered import MOST_ROWS
from benchseal.export.render import render
from benchseal.records.profile import Choose, Column, FileForm, Profile
from benchseal.records.released import Delivery, ReleasedRow
from benchseal.records.run import DocumentRef

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

FIELDS: Final = (
    "result_id", "lab_sample_id", "change_kind", "value_number", "expanded_uncertainty", "unit_ucum", "measured_at",
)  # fmt: skip
DELIVERY: Final = Delivery("D-00001", 1, "2026-03-04T14:02:11.000Z", DocumentRef("p", 1, "0" * 64))
FILES: Final = {
    "delimited": FileForm("utf-8", ",", "needed", "crlf", ".", header_line=True),
    "json_lines": FileForm(kind="json_lines"),
    "parquet": FileForm(kind="parquet"),
}
DISK_GOAL: Final = 4.0
GOALS: Final = {"delimited": 2.0, "json_lines": 3.0, "parquet": 1.5}


def made_rows(first: int, count: int) -> list[ReleasedRow]:
    """Rows as a laboratory has them: every result its own number, few different units and times."""
    return [
        ReleasedRow(
            result_id=f"{number:032x}",
            revision="1",
            change_kind="new",
            lab_sample_id=f"S-{number // 8:06d}",
            value_number=f"0.{number % 9973:04d}",
            value_text=f"0.{number % 9973:04d}",
            expanded_uncertainty=f"0.00{number % 89:02d}",
            unit_ucum="ug/g",
            reported_kind="measured",
            element_symbol="Pb",
            measured_at=f"2026-{1 + number // 4000 % 12:02d}-{1 + number // 160 % 28:02d}T10:{number % 60:02d}:00Z",
        )
        for number in range(first, first + count)
    ]


def profile(kind: str) -> Profile:
    """Seven columns of ``kind``."""
    columns = tuple(Column(field, field) for field in (*FIELDS, "reported_kind"))
    return Profile("profile", "p", "P", FILES[kind], "refuse", columns, Choose(methods=("lead-furnace",)))


def ready_cells(rows: Sequence[ReleasedRow]) -> list[list[str]]:
    """What the plain writers are given."""
    return [[str(getattr(row, field)) for field in (*FIELDS, "reported_kind")] for row in rows]


def plain_csv(cells: list[list[str]]) -> bytes:
    """The csv module."""
    out = io.StringIO(newline="")
    csv.writer(out).writerows(cells)
    return out.getvalue().encode()


def plain_json(cells: list[list[str]]) -> bytes:
    """The json module, row by row."""
    names = (*FIELDS, "reported_kind")
    return "".join(json.dumps(dict(zip(names, row, strict=True))) + "\n" for row in cells).encode()


def plain_parquet(cells: list[list[str]]) -> bytes:
    """pyarrow, with the same types."""
    types: dict[str, Any] = {"value_number": pa.decimal128(38, 18), "expanded_uncertainty": pa.decimal128(38, 18)}
    types["measured_at"] = pa.timestamp("us", "UTC")
    columns = [
        pa.array([cell or None for cell in column], pa.string()).cast(types.get(name, pa.string()))
        for name, column in zip((*FIELDS, "reported_kind"), zip(*cells, strict=True), strict=True)
    ]
    out = io.BytesIO()
    pyarrow.parquet.write_table(pa.table(columns, names=[*FIELDS, "reported_kind"]), out, compression="snappy")
    return out.getvalue()


def arrow_csv(columns: pa.Table) -> bytes:
    """The CSV writer of pyarrow, on columns that are ready."""
    out = io.BytesIO()
    pyarrow.csv.write_csv(columns, out, pyarrow.csv.WriteOptions(quoting_style="needed"))
    return out.getvalue()


PLAIN: Final[dict[str, Callable[[list[list[str]]], bytes]]] = {
    "delimited": plain_csv, "json_lines": plain_json, "parquet": plain_parquet,
}  # fmt: skip


def processor_seconds(work: Callable[[], object]) -> float:
    """Of one call."""
    before = time.process_time()
    work()
    return time.process_time() - before


def to_disk(data: bytes) -> float:
    """Wall seconds of writing and flushing ``data``."""
    with tempfile.NamedTemporaryFile(dir=".") as file:
        before = time.perf_counter()
        file.write(data)
        file.flush()
        os.fsync(file.fileno())
        return time.perf_counter() - before


class Found(NamedTuple):
    """Best of the rounds. by_kind: processor seconds of ours and of the floor. wall: of ours, delimited, on the clock.

    disk: of writing and flushing the same bytes; size: how many. arrow: processor seconds of pyarrow's CSV writer.
    memory_mib: after the first portion, and after the last.
    """

    by_kind: dict[str, tuple[float, float]]
    wall: float
    disk: float
    size: int
    arrow: float
    memory_mib: tuple[float, float]


def measured(rows: int, rounds: int) -> Found:
    """Everything, in turn."""
    best: dict[str, tuple[float, float]] = {}
    disk = wall = arrow = float("inf")
    memory: list[int] = []
    for _ in range(rounds):
        sums = {kind: [0.0, 0.0] for kind in FILES}
        on_disk = of_ours = of_arrow = 0.0
        size = 0
        for first in range(0, rows, MOST_ROWS):
            portion = made_rows(first, min(MOST_ROWS, rows - first))
            cells = ready_cells(portion)
            columns = pa.table(list(zip(*cells, strict=True)), names=[*FIELDS, "reported_kind"])
            for kind in FILES:
                wanted = profile(kind)
                sums[kind][0] += processor_seconds(lambda: render(portion, wanted, DELIVERY))  # noqa: B023  used at once
                sums[kind][1] += processor_seconds(lambda: PLAIN[kind](cells))  # noqa: B023  used at once
            of_arrow += processor_seconds(lambda: arrow_csv(columns))  # noqa: B023  used at once
            before = time.perf_counter()
            data = render(portion, profile("delimited"), DELIVERY)
            of_ours += time.perf_counter() - before
            if not isinstance(data, bytes):
                raise SystemExit("\n".join(map(str, data)))
            on_disk += to_disk(data)
            size += len(data)
            memory.append(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)
        disk, wall, arrow = min(disk, on_disk), min(wall, of_ours), min(arrow, of_arrow)
        for kind, (ours, floor) in sums.items():
            seen = best.get(kind, (float("inf"), float("inf")))
            best[kind] = (min(seen[0], ours), min(seen[1], floor))
    return Found(best, wall, disk, size, arrow, (memory[0] / 1024, memory[-1] / 1024))


def main() -> int:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--rows", type=int, default=1_000_000)
    parser.add_argument("--rounds", type=int, default=5)
    parser.add_argument("--check", action="store_true")
    args = parser.parse_args()
    found = measured(args.rows, args.rounds)
    lines = [
        (kind, f"{ours:.2f}", f"{floor:.2f}", f"{ours / floor:.2f}", f"{GOALS[kind]:.1f}")
        for kind, (ours, floor) in found.by_kind.items()
    ]
    print(f"{args.rows} rows, best of {args.rounds}; load {load_words()}")
    print(table(("kind", "ours, s", "floor, s", "ratio", "goal"), lines))
    megabytes, (first, last) = found.size / 1e6, found.memory_mib
    print(
        f"delimited, wall: {found.wall / found.disk:.1f} times writing and flushing the same {megabytes:.0f} MB, which "
        f"this disk takes at {megabytes / found.disk:.0f} MB/s; {DISK_GOAL:.0f} times, the goal, or less on disks that "
        f"take up to {DISK_GOAL * megabytes / found.wall:.0f} MB/s"
    )
    print(f"delimited: {found.by_kind['delimited'][0] / found.arrow:.2f} times pyarrow's CSV writer on ready columns")
    print(f"memory: {first:.0f} MiB after the first portion, {last:.0f} MiB after the last")
    met = all(ours / floor <= GOALS[kind] for kind, (ours, floor) in found.by_kind.items())
    return 0 if met or not args.check else 1


if __name__ == "__main__":
    sys.exit(main())
