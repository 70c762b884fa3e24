"""What ``verify --all`` takes for chain, tree and kept subtrees, and for objects, against the least that could do.

    .venv/bin/python -m benchmarks.verify_a_ledger [--entries 1000000] [--objects 400] [--pairs 5] [--check]

The floor of the ledger reads every row once with the driver alone and hashes its body once; that of the objects unpacks
and hashes them once, for they are kept compressed. Each pair runs floor and check one after the other, in processor
seconds, which a busy machine stretches less than wall time; of two processes the one that took longer counts, its start
with it. ``verify`` always compares the kept subtrees too: one row shows what they add. The ledger is invented and made
anew in a temporary folder: about 0.6 GB for a million entries. Replay of derived rows is reported without a goal: it is
the program itself, once more.
"""

# ruff: noqa: INP001, T201  scripts that print

from __future__ import annotations

import argparse
import hashlib
import os
import random
import sqlite3
import statistics
import sys
import tempfile
import time
import zlib
from contextlib import closing
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING

from benchmarks.timing import load_words, table

from benchseal.ledger.hashes import first_head, next_head, record_hash
from benchseal.ledger.tree import EMPTY, grow
from benchseal.ledger.walk import walk
from benchseal.records.canonical import digest
from benchseal.records.entries import read_entry
from benchseal.store import in_two
from benchseal.store.sqlite import SqliteStore

if TYPE_CHECKING:
    from collections.abc import Callable

    from benchseal.ledger.walk import Walk

GOAL_LEDGER, GOAL_IN_TWO, GOAL_OBJECTS, GOAL_MEMORY_MIB = 2.5, 1.5, 0.60, 16
LEDGER = "bs-benchmark"
REPLAYED = 2000
OBJECT_BYTES = 200_000


def main() -> int:
    """Measure, print, compare."""
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--entries", type=int, default=1_000_000)
    options.add_argument("--objects", type=int, default=400)
    options.add_argument("--pairs", type=int, default=5)
    options.add_argument("--check", action="store_true", help="exit 1 beyond a goal")
    asked = options.parse_args()
    with tempfile.TemporaryDirectory(prefix="benchseal-benchmark-") as folder:
        path = Path(folder) / "store.sqlite"
        make(path, asked.entries, asked.objects)
        before = load_words()
        rows, worst = measured(path, asked.entries, asked.pairs)
    print(table(("check", "median cpu s", "floor, cpu s", "median", "goal"), rows))
    load = f"load average before {before}, after {load_words()}"
    print(f"{asked.entries} entries, {asked.pairs} pairs; {load}")
    return int(asked.check and worst)


def make(path: Path, entries: int, objects: int) -> None:
    """An invented ledger, its subtrees, and objects such as instrument files are."""
    SqliteStore.create(path, LEDGER).close()
    frontier, head = EMPTY, first_head(LEDGER)
    with closing(sqlite3.connect(path)) as store:
        store.execute("PRAGMA synchronous = OFF")
        for seq in range(1, entries + 1):
            body = invented(seq)
            leaf = record_hash(body)
            head = next_head(head, leaf)
            frontier, done = grow(frontier, leaf)
            store.execute("INSERT INTO ledger VALUES (?, ?, ?, ?)", (seq, body, leaf, head))
            kept = ((node.level, node.index, node.hash) for node in done if node.level)  # as the store keeps them
            store.executemany("INSERT INTO tree_node VALUES (?, ?, ?)", kept)
        store.commit()
    opened = SqliteStore.open(path, LEDGER)
    with opened.writing() as tx:
        for number in range(objects):
            tx.keep(instrument_file(number))
    opened.close()


def invented(seq: int) -> bytes:
    """The body of an entry that changes no derived row."""
    return (
        b'{"actor":"p-emil.holt","at":"2026-03-02T08:01:05.000Z","digests":{},"facts":{},"kind":"person.unlocked",'
        b'"reason":"the wrong password five times, then asked for at the desk, and known by sight since years, '
        b'number %d","seq":%d,"subject":"person/p-ana.keel","v":1}' % (seq, seq)
    )


def instrument_file(number: int) -> bytes:
    """Lines of readings, drawn with a fixed seed."""
    draw = random.Random(number)  # noqa: S311  invented readings
    line = "{:04d};sample;Pb;283.3;{:.4f};{:.4f};ok\r\n"
    lines = [line.format(place, draw.random(), draw.random()) for place in range(OBJECT_BYTES // 38)]
    return "".join(lines).encode()


def measured(path: Path, entries: int, pairs: int) -> tuple[list[tuple[str, ...]], bool]:
    """Rows of the table, and whether a goal was missed."""
    store = SqliteStore.open(path, LEDGER)
    held = peak_mib()
    rows, missed = ledger_rows(store, path, entries, pairs)
    grown = peak_mib() - held
    rows.append(("memory while walking", "", "", f"{grown} MiB more", f"at most {GOAL_MEMORY_MIB}"))
    more, missed_too = object_rows(store, path, pairs)
    again = cpu(lambda: replay(store, min(REPLAYED, entries)))
    store.close()
    rows += more
    rows.append(("replay", f"{again:.2f}", "", f"{again / min(REPLAYED, entries) * 1e6:.0f} us an entry", "none"))
    return rows, missed or missed_too or grown > GOAL_MEMORY_MIB


def ledger_rows(store: SqliteStore, path: Path, entries: int, pairs: int) -> tuple[list[tuple[str, ...]], bool]:
    """The entries: one process, with and without the kept subtrees, and two."""
    in_two.LEAST_ENTRIES = 1
    rows, missed = [], False
    for name, goal, spent, work in (
        ("chain and tree", GOAL_LEDGER, cpu, lambda: check_ledger(store, entries, kept=False)),
        ("with kept subtrees", None, cpu, lambda: check_ledger(store, entries, kept=True)),
        ("the same in two processes", GOAL_IN_TWO, longer_cpu, lambda: check_in_two(store, path, entries)),
    ):
        times = [(cpu(lambda: read_once(path)), spent(work)) for _ in range(pairs)]
        ratio = statistics.median(own / floor for floor, own in times)
        rows.append((name, *both(times), f"{ratio:.2f} times", f"at most {goal}" if goal else "none"))
        missed |= goal is not None and ratio > goal
    return rows, missed


def object_rows(store: SqliteStore, path: Path, pairs: int) -> tuple[list[tuple[str, ...]], bool]:
    """The objects: against unpacking and hashing, and against hashing alone; one process and two."""
    with store.reading() as view:
        plain = [view.bytes_of(name) for name, _ in view.object_names()]
    packed = [zlib.compress(data, 6) for data in plain]
    rows, missed = [], False
    for name, floor_work, spent, least, goal in (
        ("objects", lambda: unpack_and_hash(packed), cpu, 2**62, GOAL_OBJECTS),
        ("objects, against SHA-256 alone", lambda: [digest(data) for data in plain], cpu, 2**62, None),
        ("objects in two processes", lambda: unpack_and_hash(packed), longer_cpu, 1, None),
    ):
        in_two.LEAST_BYTES = least
        times = [(cpu(floor_work), spent(lambda: check_objects(store, path))) for _ in range(pairs)]
        share = statistics.median(floor / own for floor, own in times)
        rows.append((name, *both(times), f"{share:.0%} of the rate", f"at least {goal:.0%}" if goal else "none"))
        missed |= goal is not None and share < goal
    return rows, missed


def both(pairs: list[tuple[float, float]]) -> tuple[str, str]:
    """Median of the check, median of the floor."""
    floor, own = (statistics.median(column) for column in zip(*pairs, strict=True))
    return f"{own:.2f}", f"{floor:.2f}"


def cpu(work: Callable[[], object]) -> float:
    """Processor seconds of ``work``."""
    started = time.process_time()
    work()
    return time.process_time() - started


def longer_cpu(work: Callable[[], object]) -> float:
    """Processor seconds of this process or of those it started, whichever took longer."""
    before = os.times()
    work()
    after = os.times()
    here = after.user + after.system - before.user - before.system
    there = after.children_user + after.children_system - before.children_user - before.children_system
    return max(here, there)


def read_once(path: Path) -> None:
    """The floor: every row, its body hashed once."""
    with closing(sqlite3.connect(path)) as store:
        for _seq, body, _leaf, _head in store.execute("SELECT seq, body, leaf, head FROM ledger ORDER BY seq"):
            hashlib.sha256(b"\x00" + body).digest()


def check_ledger(store: SqliteStore, entries: int, *, kept: bool) -> None:
    """The check of the program; it must have seen everything and found nothing."""
    with store.reading() as view:
        sound(walk(LEDGER, view.stored_entries(), (entries,), view if kept else None), entries)


def check_in_two(store: SqliteStore, path: Path, entries: int) -> None:
    """The same, shared with a second process as ``verify --all`` does it."""
    with store.reading() as view:
        sound(in_two.walk_all(path, LEDGER, view, (entries,)), entries)


def sound(walked: Walk, entries: int) -> None:
    """Stop where the ledger made above does not hold: then nothing was measured."""
    if (walked.size, walked.findings) != (entries, ()):
        sys.exit(f"the invented ledger does not hold: {walked.findings[:1]}")


def check_objects(store: SqliteStore, path: Path) -> None:
    """Every object unpacked and held against its name, as the program does."""
    with store.reading() as view:
        if in_two.wrong_objects(path, view):
            sys.exit("the invented objects do not hold")


def unpack_and_hash(packed: list[bytes]) -> None:
    """The floor of objects: they are kept compressed, so whoever hashes them has to unpack them."""
    for data in packed:
        digest(zlib.decompress(data))


def replay(store: SqliteStore, entries: int) -> None:
    """Derived rows of the first entries, made again in memory."""
    again = SqliteStore.in_memory(LEDGER)
    with store.reading() as view:
        again.append_replayed((read_entry(body) for _, body, _, _ in islice(view.entries(), entries)), view)
    again.close()


def peak_mib() -> int:
    """Largest memory this process has had; 0 where the system does not tell."""
    try:
        import resource  # noqa: PLC0415  not on every system
    except ImportError:
        return 0
    return int(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024)


if __name__ == "__main__":
    sys.exit(main())
