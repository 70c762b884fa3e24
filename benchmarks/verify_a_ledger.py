"""What ``verify --all`` takes for chain, tree and kept subtrees, and for objects, against the least that could do.

    .venv/bin/python -m benchmarks.verify_a_ledger [--entries 1000000] [--objects 200] [--pairs 5] [--check]

The floor of the ledger reads every row once with the driver alone and hashes its body once; that of the objects unpacks
and hashes them once. Each pair runs floor and check one after the other, in processor seconds, which a busy machine
stretches less than wall time. The ledger is invented and made anew in a temporary folder: about 0.6 GB for a million
entries. Replay of derived rows is reported without a goal: it is the program itself, once more.
"""

# ruff: noqa: INP001, T201  scripts that print

from __future__ import annotations

import argparse
import hashlib
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
from benchseal.store.sqlite import SqliteStore

if TYPE_CHECKING:
    from collections.abc import Callable

GOAL_LEDGER, GOAL_OBJECTS = 2.5, 0.60
LEDGER = "bs-benchmark"
REPLAYED = 2000
OBJECT_BYTES = 200_000


def main() -> int:
    """Measure, print, compare."""
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--entries", type=int, default=1_000_000)
    options.add_argument("--objects", type=int, default=200)
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
    print(f"{asked.entries} entries, {asked.pairs} pairs; peak memory {peak_mib()} MiB; {load}")
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
            kept = ((node.level, node.index, node.hash) for node in done)
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
    with store.reading() as view:
        plain = [view.bytes_of(name) for name, _ in view.object_names()]
    packed = [zlib.compress(data, 6) for data in plain]
    chain = [(cpu(lambda: read_once(path)), cpu(lambda: check_ledger(store, entries))) for _ in range(pairs)]
    bytes_ = [(cpu(lambda: unpack_and_hash(packed)), cpu(lambda: check_objects(store))) for _ in range(pairs)]
    again = cpu(lambda: replay(store, min(REPLAYED, entries)))
    store.close()
    ledger_ratio = statistics.median(own / floor for floor, own in chain)
    share = statistics.median(floor / own for floor, own in bytes_)
    own_s = statistics.median(own for _, own in bytes_)
    hashing = cpu(lambda: [digest(data) for data in plain])
    rows = [
        ("chain, tree, subtrees", *both(chain), f"{ledger_ratio:.2f} times", f"at most {GOAL_LEDGER}"),
        ("objects", *both(bytes_), f"{share:.0%} of the rate", f"at least {GOAL_OBJECTS:.0%}"),
        (
            "objects, against SHA-256 alone",
            f"{own_s:.2f}",
            f"{hashing:.2f}",
            f"{hashing / own_s:.0%} of the rate",
            "none",
        ),
        ("replay", f"{again:.2f}", "", f"{again / min(REPLAYED, entries) * 1e6:.0f} us an entry", "none"),
    ]
    return rows, ledger_ratio > GOAL_LEDGER or share < GOAL_OBJECTS


def both(pairs: list[tuple[float, float]]) -> tuple[str, str]:
    """Median of the check, median of the floor."""
    floor, own = (statistics.median(column) for column in zip(*pairs, strict=True))
    return f"{own:.2f}", f"{floor:.2f}"


def cpu(work: Callable[[], object]) -> float:
    """Processor seconds of ``work``."""
    started = time.process_time()
    work()
    return time.process_time() - started


def read_once(path: Path) -> None:
    """The floor: every row, its body hashed once."""
    with closing(sqlite3.connect(path)) as store:
        for _seq, body, _leaf, _head in store.execute("SELECT seq, body, leaf, head FROM ledger ORDER BY seq"):
            hashlib.sha256(b"\x00" + body).digest()


def check_ledger(store: SqliteStore, entries: int) -> None:
    """The check of the program; it must have seen everything and found nothing."""
    with store.reading() as view:
        walked = walk(LEDGER, view.stored_entries(), (entries,), view)
    if (walked.size, walked.findings) != (entries, ()):
        sys.exit(f"the invented ledger does not hold: {walked.findings[:1]}")


def check_objects(store: SqliteStore) -> None:
    """Every object unpacked and held against its name, as the program does."""
    from benchseal.desk.checking import objects_that_differ  # noqa: PLC0415  loads the whole desk

    with store.reading() as view:
        if objects_that_differ(view):
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


def peak_mib() -> str:
    """Largest memory this process has had."""
    try:
        import resource  # noqa: PLC0415  not on every system
    except ImportError:
        return "unknown"
    return str(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024)


if __name__ == "__main__":
    sys.exit(main())
