"""A store of an earlier version brought to this one: the truth taken over as it is, everything else made anew.

Truth is never migrated: entries, objects and checkpoints have the bytes they had, and the kept subtrees are made again
from the entries and compared with the old ones. Derived rows come by replay. Private rows are copied but for
sessions. The old file is read only.
"""

from __future__ import annotations

import sqlite3
from contextlib import closing
from typing import TYPE_CHECKING, Any

from benchseal.problems import Finding, Stopped, Trouble
from benchseal.records.entries import read_entry
from benchseal.store import tables
from benchseal.store.connections import failed

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from benchseal.store.sqlite import SqliteReading, SqliteStore, SqliteWriting

_BLOCK = 1024
_KEEP = "Nothing was changed. Keep the store as it is, and compare it with the last backup."


def version_of(path: Path) -> int:
    """Version of the store in a file; 0 where it holds none. Raises Stopped when the machine fails.

    Opened so that what a killed writer left half done can be undone: SQLite refuses to read it otherwise.
    """
    try:
        with closing(sqlite3.connect(f"{path.resolve().as_uri()}?mode=rw", uri=True)) as old:
            return int(old.execute("PRAGMA user_version").fetchone()[0])
    except sqlite3.OperationalError as fault:
        raise Stopped(failed(fault)) from None
    except sqlite3.DatabaseError:
        return 0


def fill_from(old_path: Path, new: SqliteStore) -> int:
    """Fill a new store from an old file: truth, private rows, and a replay; how many entries. Raises Stopped.

    Whoever calls holds the old store's queue, so that nobody writes to it meanwhile.
    """
    try:
        with closing(_reading(old_path)) as old:
            return _fill(old, new)
    except (sqlite3.Error, OSError) as fault:
        raise Stopped(failed(fault)) from None
    except ValueError as fault:
        raise Stopped(Finding("integrity.chain", str(old_path), f"{fault}.", _KEEP)) from None


def count_failures(old_path: Path, new: SqliteStore) -> None:
    """Note in the old store the wrong passwords that were tried on the new one, which is thrown away."""
    with new.reading() as view:
        known = view.rows("sign_in_failure")
    try:
        with closing(sqlite3.connect(old_path)) as old, old:
            there = {number for (number,) in old.execute("SELECT number FROM sign_in_failure")}
            added = [(row["person"], row["at"]) for row in known if row["number"] not in there]
            old.executemany("INSERT INTO sign_in_failure (person, at) VALUES (?, ?)", added)
    except sqlite3.Error as fault:
        raise Stopped(failed(fault)) from None


def _fill(old: sqlite3.Connection, new: SqliteStore) -> int:
    with new.writing() as tx:
        tx.take_entries(old.execute("SELECT seq, body, leaf, head FROM ledger ORDER BY seq"))
        tx.take_rows("objects", _rows(old, "objects", [column.name for column in tables.objects.columns]))
        tx.take_rows("checkpoint", _rows(old, "checkpoint", [column.name for column in tables.checkpoint.columns]))
        for name, table in tables.PRIVATE.items():
            there = {row[1] for row in old.execute(f"PRAGMA table_info({name})")}
            columns = [column.name for column in table.columns if column.name in there]
            if columns and name != "session":
                tx.take_rows(name, _rows(old, name, columns))
        _same_subtrees(old, tx)
        _require_objects(tx)
        _replay(tx)
        _require_whole_runs(tx)
        return tx.size()


def _replay(tx: SqliteWriting) -> None:
    """Derived rows of every entry. Raises Stopped with the first entry that gives none here."""
    for seq in range(1, tx.size() + 1):
        entry = read_entry(tx.body_of(seq))
        try:
            tx.apply(entry)
        except (KeyError, TypeError, ValueError) as fault:
            what = f"it is {entry.kind}, and cannot be replayed: {type(fault).__name__} {fault}."
            raise Stopped(_not_upgraded(f"entry {seq}", what)) from None


def _same_subtrees(old: sqlite3.Connection, view: SqliteReading) -> None:
    """Subtrees the old store kept are those of its entries, whether or not they are kept here too."""
    for level, place, kept in old.execute("SELECT level, place, hash FROM tree_node ORDER BY level, place"):
        try:
            found = view.node(level, place) if level else _leaf(old, place)
        except KeyError:
            found = b""
        if found != kept:
            where, what = f"subtree {level}/{place}", "it does not follow from the entries."
            raise Stopped(Finding("integrity.tree-node", where, what, _KEEP))


def _leaf(old: sqlite3.Connection, place: int) -> bytes:
    row = old.execute("SELECT leaf FROM ledger WHERE seq = ?", (place + 1,)).fetchone()
    return row[0] if row else b""


def _require_objects(view: SqliteReading) -> None:
    """Every object an entry names is there. Raises Stopped with the first that is not."""
    names = {name for name, _ in view.object_names()}
    for seq, body, _, _ in view.entries():
        for label, name in read_entry(body).digests.items():
            if name not in names:
                what = f"its object {label} {name[:16]}… is missing."
                raise Stopped(Finding("integrity.object-missing", f"entry {seq}", what, _KEEP))


def _require_whole_runs(view: SqliteReading) -> None:
    """Runs of the first stores do not say which preparation rows and standards they rested on; nothing reads them."""
    for row in view.rows("run"):
        if not row["bench"]:
            what = "it does not say which preparation rows and standards it rested on."
            raise Stopped(_not_upgraded(f"run {row['run']}", what))


def _not_upgraded(where: str, what: str) -> Trouble:
    remedy = (
        "Nothing was changed. Go on with the program version that wrote the store, and let its `verify --all` look."
    )
    return Trouble("store.not-upgraded", where, what, remedy)


def _rows(old: sqlite3.Connection, table: str, columns: list[str]) -> Iterator[dict[str, Any]]:
    listed = ", ".join(columns)
    for row in old.execute(f"SELECT {listed} FROM {table} ORDER BY rowid"):  # noqa: S608  names of this program's tables
        yield dict(zip(columns, row, strict=True))


def _reading(path: Path) -> sqlite3.Connection:
    return sqlite3.connect(path.resolve().as_uri() + "?mode=ro", uri=True)
