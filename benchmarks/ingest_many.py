"""How long many ordinary files take to be read and validated, beside two floors in the same run.

    .venv/bin/python -m benchmarks.ingest_many [--files 1000] [--rounds 5] [--check]

The files are of one regular layout (``comma-list``), 62 solutions with 3 readings each, every one with its own digits
and its own start; the site that knows their method, preparation and registers is that of ``ingest_one_run``.

Many at once (``read_many``, ``check_block``): bytes to blocks of columns, then each run of a block against everything
the site knows; what is not sure there would go one by one, and here nothing may. One by one: bytes to run documents,
each document to a run. Nothing is stored or calculated.

Floors: (1) the same bytes read, the tables of all files joined, and one typed parse of them by pyarrow on one thread;
(2) for each shipped layout, ``csv.reader`` over the same bytes of its good files, read many at once where the layout
is a regular one, and one by one. ``--check`` exits 1 above a goal; reading one by one has none where many at once can.
The data are invented and say nothing about numbers.
"""

# ruff: noqa: INP001, T201  scripts that print

from __future__ import annotations

import argparse
import csv
import io
import os
import random
import re
import statistics
import sys
import tempfile
import time
from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import pyarrow as pa
from benchmarks.ingest_one_run import _site_and_file
from benchmarks.timing import load_words, table
from pyarrow import csv as arrow_csv

from benchseal.desk.bench import known_at
from benchseal.desk.reading import load
from benchseal.desk.site import open_site
from benchseal.documents.reading import ControlledDocument, read_document
from benchseal.ingest.many import is_regular, read_many
from benchseal.ingest.reader import read_file
from benchseal.records.canonical import digest
from benchseal.records.layout import Layout
from benchseal.records.run import DocumentRef, Run, RunDocument
from benchseal.validate.check import check_run
from benchseal.validate.many import check_block

if TYPE_CHECKING:
    from collections.abc import Callable

    from benchseal.records.block import RunBlock
    from benchseal.records.known import Known

GOAL = 3.0
SEED = 20261126
_ROOT = Path(__file__).parents[1]
_CODE_PAGE = {"comma-list": "utf-8", "semicolon-sections": "cp1252", "page-print": "cp850"}
_SEPARATOR = {"comma-list": ",", "semicolon-sections": ";", "page-print": " "}
_NAMES = ["place", "name", "role", "given", "thinned", "reading", "signal", "ground", "time"]
_TYPES = {
    **dict.fromkeys(("place", "reading"), pa.int32()),
    **dict.fromkeys(("given", "thinned", "signal", "ground"), pa.float64()),
    **dict.fromkeys(("name", "role", "time"), pa.string()),
}


def main() -> int:
    """Measure, print, compare."""
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--files", type=int, default=1000)
    options.add_argument("--rounds", type=int, default=5)
    options.add_argument("--check", action="store_true", help="exit 1 above a goal")
    asked = options.parse_args()
    before = load_words()
    with tempfile.TemporaryDirectory() as name:
        bulk = _bulk(Path(name), asked.files, asked.rounds)
    layouts = [row for name in _CODE_PAGE for row in _layout(name, max(1, asked.files // 20), asked.rounds)]
    print(table(("what", "ms a file", "floor", "ms a file", "median ratio", "goal"), [*bulk, *layouts]))
    over = [row[0] for row in (*bulk, *layouts) if row[5] and float(row[4]) > GOAL]
    print(f"goal: median ratio at most {GOAL:g}; above it: {', '.join(over) or 'none'}")
    print(
        f"{asked.files} files, {asked.rounds} rounds after one to warm up; processor seconds; load average before "
        f"{before}, after {load_words()}; Python {sys.version.split()[0]}, pyarrow {pa.__version__}"
    )
    return int(asked.check and bool(over))


def _bulk(folder: Path, count: int, rounds: int) -> list[tuple[str, ...]]:
    """Rows for reading, and for reading with validation, beside the first floor."""
    os.environ["XDG_STATE_HOME"] = str(folder / "state")
    text = _site_and_file(folder / "site").decode()
    site = open_site(folder / "site")
    with site.store.reading() as view:
        known = known_at(view, time.strftime("%Y-%m-%dT%H:%M:%S.000Z", time.gmtime()))
        row = next(row for row in view.rows("document", kind="layout", state="approved") if row["id"] == "comma-list")
        ref, layout = DocumentRef(row["id"], int(row["version"]), row["value"]), load(view, Layout, row["value"])
    site.store.close()
    paths = _files(folder / "files", text, count)
    floor, many, checked, read, validated = _in_turn(
        rounds,
        lambda: _floor(paths),
        lambda: _read_many(paths, ref, layout),
        lambda: _check_blocks(_read_many(paths, ref, layout), known, len(paths)),
        lambda: _read(paths, ref, layout),
        lambda: _validate(_read(paths, ref, layout), known),
    )
    name = "one pyarrow parse of all tables"
    return [
        _row("read many at once", many, name, floor, count, goal=True),
        _row("read and validated many at once", checked, name, floor, count, goal=True),
        _row("read one by one", read, name, floor, count),
        _row("read and validated one by one", validated, name, floor, count),
    ]


def _files(folder: Path, text: str, count: int) -> list[Path]:
    """The same run with other last digits in each file, begun some seconds earlier in each."""
    folder.mkdir()
    draws = random.Random(SEED)  # noqa: S311  invented digits
    paths = []
    for number in range(count):
        path = folder / f"{number:05d}.csv"
        other = re.sub(r"(\.\d\d\d)\d(?=,)", lambda found: f"{found[1]}{draws.randrange(10)}", text)
        begun = datetime.fromisoformat(re.search(r"Begun,(\S+ \S+)", text)[1])  # type: ignore[index]  # written so
        earlier = f"Begun,{begun - timedelta(seconds=number % 3600)}"
        path.write_bytes(re.sub(r"Begun,\S+ \S+", earlier, other).encode())
        paths.append(path)
    return paths


def _floor(paths: list[Path]) -> int:
    bodies = []
    for path in paths:
        data = path.read_bytes()
        begins = data.index(b"\n", data.index(b"Place,Name")) + 1
        bodies.append(data[begins : data.index(b"End of readings", begins)])
    found = arrow_csv.read_csv(
        pa.BufferReader(b"".join(bodies)),
        read_options=arrow_csv.ReadOptions(use_threads=False, column_names=_NAMES),
        convert_options=arrow_csv.ConvertOptions(column_types=_TYPES),
    )
    return found.num_rows  # type: ignore[no-any-return]  # pyarrow has no types


def _read_many(paths: list[Path], ref: DocumentRef, layout: Layout) -> tuple[RunBlock, ...]:
    found = read_many([path.read_bytes() for path in paths], layout, ref)
    if found.left:
        raise RuntimeError(f"{len(found.left)} files were left")
    return found.blocks


def _check_blocks(blocks: tuple[RunBlock, ...], known: Known, count: int) -> None:
    if sum(sum(check_block(block, known)) for block in blocks) != count:
        raise RuntimeError("not every run was sure")


def _read(paths: list[Path], ref: DocumentRef, layout: Layout) -> list[RunDocument]:
    found = []
    for path in paths:
        for document in read_file(path.read_bytes(), path.name, layout, ref):
            if not isinstance(document, RunDocument):
                raise RuntimeError(str(document))  # noqa: TRY004  a value, not a type, is wrong
            found.append(document)
    return found


def _validate(documents: list[RunDocument], known: Known) -> int:
    for document in documents:
        run = check_run(document, known)
        if not isinstance(run, Run):
            raise RuntimeError(str(run[0]))  # noqa: TRY004  a value, not a type, is wrong
    return len(documents)


def _layout(name: str, times: int, rounds: int) -> list[tuple[str, ...]]:
    """The reader by one layout over its good files, beside ``csv.reader`` over the same bytes."""
    path = _ROOT / "pipeline" / "benchseal" / "starters" / "layouts" / f"{name}.yaml"
    document = read_document(path.read_bytes(), path.name)
    if not isinstance(document, ControlledDocument) or not isinstance(document.value, Layout):
        raise RuntimeError(str(document))  # noqa: TRY004  a value, not a type, is wrong
    ref, layout = DocumentRef(name, 1, digest(document.canonical)), document.value
    good = sorted((_ROOT / "fixtures" / "instrument-text" / name).glob("good-*.txt"))
    files = [each.read_bytes() for each in good] * times
    at_once = (lambda: read_many(files, layout, ref)) if is_regular(layout) else list[int]
    floor, many, read = _in_turn(
        rounds,
        lambda: [
            list(csv.reader(io.StringIO(data.decode(_CODE_PAGE[name])), delimiter=_SEPARATOR[name])) for data in files
        ],
        at_once,
        lambda: [read_file(data, "x", layout, ref) for data in files],
    )
    one_by_one = _row(f"{name} one by one", read, "csv.reader", floor, len(files), goal=not is_regular(layout))
    if not is_regular(layout):
        return [one_by_one]
    return [_row(f"{name} many at once", many, "csv.reader", floor, len(files), goal=True), one_by_one]


def _in_turn(rounds: int, *works: Callable[[], object]) -> list[list[float]]:
    """Processor seconds of each work, in turn, after one round to warm up."""
    found: list[list[float]] = [[] for _ in works]
    for nth in range(rounds + 1):
        for work, spent in zip(works, found, strict=True):
            begun = time.process_time()
            work()
            if nth:
                spent.append(time.process_time() - begun)
    return found


def _row(  # noqa: PLR0913  what a row shows
    name: str, own: list[float], floor_name: str, floor: list[float], count: int, *, goal: bool = False
) -> tuple[str, ...]:
    ratio = statistics.median(one / other for one, other in zip(own, floor, strict=True))
    per_file = (statistics.median(each) * 1e3 / count for each in (own, floor))
    mine, least = (f"{each:.3f}" for each in per_file)
    return name, mine, floor_name, least, f"{ratio:.2f}", f"at most {GOAL:g}" if goal else ""


if __name__ == "__main__":
    sys.exit(main())
