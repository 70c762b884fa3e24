"""A site's store as one SQLite file: rollback journal, ``synchronous=EXTRA``, one writer through a queue lock.

The queue lock stands in front because SQLite's own waiting is unfair; it is asked for in the order of arrival
(``turns``). A network file system is refused, since its locks cannot be trusted.
"""

from __future__ import annotations

import zlib
from contextlib import contextmanager, nullcontext
from pathlib import Path
from typing import TYPE_CHECKING

from filelock import FileLock, Timeout
from sqlalchemy import delete, func, insert, select, text

from benchseal.ledger.hashes import first_head, next_head, record_hash
from benchseal.ledger.tree import EMPTY, frontier_of, grow
from benchseal.ledger.walk import as_bytes
from benchseal.problems import Finding, Stopped, Trouble
from benchseal.records.canonical import digest as digest_of
from benchseal.records.entries import entry_body
from benchseal.store import tables
from benchseal.store.applying import apply, match
from benchseal.store.connections import QUEUE_SECONDS, failed, file_engine, memory_engine, translated
from benchseal.store.disks import network_file_system
from benchseal.store.project import project
from benchseal.store.stored_rows import StoredRows, unpacked
from benchseal.store.turns import turn

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from sqlalchemy import Connection, Engine, Table

    from benchseal.ledger.hashes import Hash
    from benchseal.ledger.tree import Node
    from benchseal.records.canonical import Digest
    from benchseal.records.entries import Entry
    from benchseal.store.protocol import Row

_LOOK_SECONDS = 0.005  # whose turn it is finds the lock free, or about to be


class SqliteStore:
    """One file. ``ledger_id`` starts the chain."""

    def __init__(self, path: Path, ledger_id: str, engine: Engine | None = None) -> None:
        self.path = path
        self.ledger_id = ledger_id
        self._engine = engine or file_engine(path)
        self._queue = FileLock(path.with_suffix(".queue"), timeout=QUEUE_SECONDS, poll_interval=_LOOK_SECONDS)

    @classmethod
    def create(cls, path: Path, ledger_id: str) -> SqliteStore:
        """Make a new store. Raises Stopped where the place cannot hold one."""
        kind = network_file_system(path.parent)
        if kind:
            raise Stopped(_on_network(path, kind))
        if path.exists():
            raise Stopped(
                Trouble(
                    "store.exists", str(path), "a store is already there.", "Choose an empty folder for a new site."
                )
            )
        store = cls(path, ledger_id)
        with translated(), store._engine.begin() as connection:
            _create_all(connection)
        return store

    @classmethod
    def open(cls, path: Path, ledger_id: str) -> SqliteStore:
        """Open an existing store. Raises Stopped where there is none, or it was made by a newer program."""
        kind = network_file_system(path.parent)
        if kind:
            raise Stopped(_on_network(path, kind))
        if not path.is_file():
            raise Stopped(
                Trouble(
                    "store.missing", str(path), "there is no store.", "Name a site folder with --site, or make one."
                )
            )
        store = cls(path, ledger_id)
        with translated(), store._engine.connect() as connection:
            version = connection.execute(text("PRAGMA user_version")).scalar_one()
        if version == 0:
            what = "the file holds no store of this program: it is empty or was damaged."
            raise Stopped(Finding("integrity.store-damaged", str(path), what, "Put back the last backup beside it."))
        if version != tables.STORE_VERSION:
            what = f"the store has version {version}, this program reads {tables.STORE_VERSION}."
            older = "An administrator brings it to this version: `benchseal rebuild`. The old file is kept."
            remedy = (
                older if version < tables.STORE_VERSION else "Use the program version that wrote it, or a newer one."
            )
            raise Stopped(Trouble("store.version", str(path), what, remedy))
        return store

    @contextmanager
    def queued(self) -> Iterator[None]:
        """Hold the place of the one writer, also while no transaction is open. Raises Stopped."""
        inside = self._queue.is_locked
        with nullcontext() if inside else turn(self.path.with_suffix(".turns"), QUEUE_SECONDS):
            self._enqueue()
            try:
                yield
            finally:
                self._queue.release()

    @classmethod
    def in_memory(cls, ledger_id: str) -> SqliteStore:
        """A store that lives as long as the object: for replay and comparison."""
        engine = memory_engine()
        with engine.begin() as connection:
            _create_all(connection)
        return cls(Path("memory"), ledger_id, engine)

    @contextmanager
    def reading(self) -> Iterator[SqliteReading]:
        """Open a view; rows are materialised, so no reader holds up the writer for long."""
        with translated(), self._engine.connect() as connection, connection.begin():
            yield SqliteReading(connection)

    @contextmanager
    def as_kept(self) -> Iterator[SqliteReading]:
        """A view that gives objects also where they were altered: for ``verify``, which names each and goes on."""
        with translated(), self._engine.connect() as connection, connection.begin():
            yield SqliteReading(connection, as_kept=True)

    @contextmanager
    def writing(self) -> Iterator[SqliteWriting]:
        """Wait in the queue, then be the one writer until the block ends. Raises Stopped when the machine fails."""
        with (
            self.queued(),
            translated(),
            self._engine.connect().execution_options(writing=True) as connection,
            connection.begin(),
        ):
            yield SqliteWriting(connection, self.ledger_id)

    def _enqueue(self) -> None:
        try:
            self._queue.acquire()
        except Timeout:
            raise Stopped(
                Trouble(
                    "store.busy",
                    str(self.path),
                    f"another program has been writing for {QUEUE_SECONDS} seconds.",
                    "Nothing was changed. Try again.",
                )
            ) from None
        except OSError as fault:
            raise Stopped(failed(fault)) from None

    def settle(self) -> None:
        """Undo what a killed writer left half done, whatever the version: opening to write does it."""
        with translated(), self._engine.connect().execution_options(writing=True) as connection, connection.begin():
            pass
        self._engine.dispose()

    def append_replayed(self, entries: Iterable[Entry], read: SqliteReading) -> None:
        """Apply the derived rows of ``entries``, with the objects of another store: replay."""
        with self._engine.connect().execution_options(writing=True) as connection, connection.begin():
            for entry in entries:
                apply(connection, entry.seq, project(entry, read.bytes_of))

    def close(self) -> None:
        """Let go of every connection."""
        self._engine.dispose()


class MissingObjectError(Stopped, KeyError):
    """An object is not in the store that entries name."""

    def __init__(self, name: Digest) -> None:
        super().__init__(_object_finding(name, "it is not there"))

    def __str__(self) -> str:
        return "it is not there"


class DamagedObjectError(Stopped, ValueError):
    """An object is not what it was kept as. Its text says why, for who names it in a finding of their own."""

    def __init__(self, name: Digest, why: str) -> None:
        super().__init__(_object_finding(name, why))
        self._why = why

    def __str__(self) -> str:
        return self._why


class SqliteReading(StoredRows):
    """A view inside one transaction."""

    def __init__(self, connection: Connection, *, as_kept: bool = False) -> None:
        super().__init__(connection.connection)
        self._connection, self._as_kept = connection, as_kept

    def size(self) -> int:
        """How many entries the ledger holds: the highest sequence number."""
        found = self._connection.execute(select(func.max(tables.ledger.c.seq))).scalar_one()
        return int(found or 0)

    def body_of(self, seq: int) -> bytes:
        """Body of one entry. Raises KeyError."""
        query = select(tables.ledger.c.body).where(tables.ledger.c.seq == seq)
        found = self._connection.execute(query).scalar_one_or_none()
        if found is None:
            raise KeyError(seq)
        return as_bytes(found)

    def bytes_of(self, digest: Digest) -> bytes:
        """Plain bytes of an object, which have this digest. Raises MissingObjectError or DamagedObjectError."""
        query = select(tables.objects.c.body).where(tables.objects.c.sha256 == digest)
        body = self._connection.execute(query).scalar_one_or_none()
        if body is None:
            raise MissingObjectError(digest)
        try:
            data = unpacked(digest, body)
        except ValueError as fault:
            raise DamagedObjectError(digest, str(fault)) from None
        if not self._as_kept and (found := digest_of(data)) != digest:
            raise DamagedObjectError(digest, f"its bytes have digest {found[:16]}…, it is kept as {digest[:16]}…")
        return data

    def object_names(self) -> list[tuple[str, int]]:
        """Digest and size of every object, sorted."""
        query = select(tables.objects.c.sha256, tables.objects.c.size).order_by(tables.objects.c.sha256)
        return [(row.sha256, row.size) for row in self._connection.execute(query)]

    def checkpoints(self) -> list[tuple[int, str]]:
        """Size and text of every checkpoint kept here."""
        kept = tables.checkpoint.c
        query = select(kept.size, kept.body).order_by(kept.size)
        return [(row.size, row.body) for row in self._connection.execute(query)]

    def rows(self, table: str, **where: object) -> list[Row]:
        """Rows of a derived or private table that match, in key order."""
        found = _table(table)
        query = select(found).where(*match(found, where)).order_by(*found.primary_key.columns)
        return [dict(row) for row in self._connection.execute(query).mappings()]

    def row(self, table: str, **where: object) -> Row | None:
        """The only row that matches, or None. Two are a fault of this program."""
        found = self.rows(table, **where)
        if len(found) > 1:
            raise AssertionError(f"{len(found)} rows of {table} where one was meant")
        return found[0] if found else None

    def rows_after(self, table: str, seq: int, most: int) -> list[Row]:
        """At most ``most`` rows of a derived table last changed after entry ``seq``, in order of those entries."""
        found = _table(table)
        query = select(found).where(found.c.seq > seq).order_by(found.c.seq, *found.primary_key.columns).limit(most)
        return [dict(row) for row in self._connection.execute(query).mappings()]

    def schema_texts(self) -> dict[str, str]:
        """SQL of each table and trigger as the file holds it: a dropped trigger shows."""
        query = text("SELECT type || ' ' || name AS item, sql FROM sqlite_master WHERE sql IS NOT NULL")
        return {row.item: row.sql for row in self._connection.execute(query)}


class SqliteWriting(SqliteReading):
    """The one writer."""

    def __init__(self, connection: Connection, ledger_id: str) -> None:
        super().__init__(connection)
        self._ledger_id = ledger_id

    def keep(self, data: bytes) -> Digest:
        """Keep an object; the same bytes twice are one object."""
        name = digest_of(data)
        there = select(tables.objects.c.sha256).where(tables.objects.c.sha256 == name)
        if self._connection.execute(there).first() is None:
            row = {"sha256": name, "size": len(data), "body": zlib.compress(data, 6)}
            self._connection.execute(insert(tables.objects).values(row))
        return name

    def append(self, entry: Entry) -> None:
        """Append an entry, the subtrees it completes, and the derived rows that follow from it."""
        size = self.size()
        if entry.seq != size + 1:
            raise AssertionError(f"entry {entry.seq} after {size}")
        body = entry_body(entry)
        leaf = record_hash(body)
        head = next_head(self._last_head(size), leaf)
        self._connection.execute(insert(tables.ledger), {"seq": entry.seq, "body": body, "leaf": leaf, "head": head})
        _, done = grow(frontier_of(size, self), leaf)
        self._keep_subtrees(done)
        apply(self._connection, entry.seq, project(entry, self.bytes_of))

    def take_entries(self, rows: Iterable[tuple[int, bytes, bytes, bytes]]) -> None:
        """Take the ledger of another store (seq, body, leaf, head) into this empty one, with the subtrees kept here.

        Raises ValueError naming the first entry that does not follow from those before it.
        """
        head, frontier = first_head(self._ledger_id), EMPTY
        for place, (seq, body, leaf, kept) in enumerate(rows, start=1):
            made = record_hash(body)
            head = next_head(head, made)
            if (seq, made, head) != (place, leaf, kept):
                raise ValueError(f"entry {place} does not follow from those before it")
            row = {"seq": seq, "body": body, "leaf": leaf, "head": head}
            self._connection.execute(insert(tables.ledger), row)
            frontier, done = grow(frontier, made)
            self._keep_subtrees(done)

    def take_rows(self, table: str, rows: Iterable[Row]) -> None:
        """Put rows of another store's truth or private tables into the same table here, as they are."""
        found = tables.PRIVATE[table] if table in tables.PRIVATE else tables.truth.tables[table]
        for row in rows:
            self._connection.execute(insert(found), row)

    def apply(self, entry: Entry) -> None:
        """Make the derived rows of an entry that is in the ledger already and has none yet."""
        apply(self._connection, entry.seq, project(entry, self.bytes_of))

    def _keep_subtrees(self, done: Iterable[Node]) -> None:
        nodes = [{"level": node.level, "place": node.index, "hash": node.hash} for node in done if node.level]
        if nodes:
            self._connection.execute(insert(tables.tree_node), nodes)

    def _last_head(self, size: int) -> Hash:
        if size == 0:
            return first_head(self._ledger_id)
        query = select(tables.ledger.c.head).where(tables.ledger.c.seq == size)
        return as_bytes(self._connection.execute(query).scalar_one())

    def put_private(self, table: str, row: Row) -> None:
        """Insert or replace a private row."""
        found = tables.PRIVATE[table]
        key = {column.name: row[column.name] for column in found.primary_key.columns if column.name in row}
        if key:
            self._connection.execute(delete(found).where(*match(found, key)))
        self._connection.execute(insert(found).values(row))

    def remove_private(self, table: str, **where: object) -> None:
        """Remove private rows."""
        found = tables.PRIVATE[table]
        self._connection.execute(delete(found).where(*match(found, where)))

    def keep_checkpoint(self, size: int, body: str) -> None:
        """Keep a checkpoint; one of the same size already kept stays."""
        there = select(tables.checkpoint.c.size).where(tables.checkpoint.c.size == size)
        if self._connection.execute(there).first() is None:
            self._connection.execute(insert(tables.checkpoint).values(size=size, body=body))

    def replace_derived(self, source: SqliteReading) -> None:
        """Throw the derived rows away and take those of ``source``, a replay: ``rebuild``."""
        for name, table in tables.DERIVED.items():
            self._connection.execute(delete(table))
            rows = source.rows(name)
            if rows:
                self._connection.execute(insert(table), rows)


def _table(name: str) -> Table:
    return tables.DERIVED[name] if name in tables.DERIVED else tables.PRIVATE[name]


def _create_all(connection: Connection) -> None:
    for group in (tables.truth, tables.derived, tables.private):
        group.create_all(connection)
    for trigger in tables.triggers():
        connection.execute(text(trigger))
    connection.execute(text(f"PRAGMA user_version = {tables.STORE_VERSION}"))


def _object_finding(name: Digest, why: str) -> Finding:
    remedy = "Nothing was done with it. Stop work, keep this copy, and run `benchseal verify --all`."
    return Finding("integrity.object", f"object {name[:16]}…", f"{why}.", remedy)


def _on_network(path: Path, kind: str) -> Trouble:
    return Trouble(
        "store.network-file-system",
        str(path.parent),
        f"the folder is on a network file system ({kind}), whose locks cannot be trusted.",
        "Put the site on a local disk; in- and outboxes may be on the network.",
    )
