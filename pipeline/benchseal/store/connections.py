"""Connections to a store's file: how they are prepared, and what the database says turned into one clear line.

``synchronous = EXTRA`` is set before anything is written: with the weaker setting an acknowledged commit could be
lost to a power cut.
"""

from __future__ import annotations

from contextlib import contextmanager
from functools import cache, partial
from typing import TYPE_CHECKING, Any

from sqlalchemy import Engine, create_engine, event, make_url
from sqlalchemy.exc import DatabaseError, OperationalError
from sqlalchemy.pool import QueuePool, StaticPool

from benchseal.problems import Finding, Stopped, Trouble
from benchseal.store.stored_rows import as_text

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Iterator
    from pathlib import Path

    from sqlalchemy import Connection, Dialect, Pool

QUEUE_SECONDS = 60


def file_engine(path: Path) -> Engine:
    """Connections to one file."""
    return _engine(f"sqlite:///{path}", QueuePool, timeout=QUEUE_SECONDS)


def memory_engine() -> Engine:
    """One connection, whose database lives as long as it."""
    return _engine("sqlite://", StaticPool)


def _engine(address: str, kind: type[Pool], **more: object) -> Engine:
    url, (dialect, statements) = make_url(address), _shared()
    arguments, options = dialect.create_connect_args(url)
    pool = kind(partial(dialect.connect, *arguments, **options, **more), dialect=dialect)
    engine = Engine(pool, dialect, url)
    event.listen(engine, "connect", _prepare)
    event.listen(engine, "begin", _begin)
    return engine.execution_options(compiled_cache=statements)


@cache
def _shared() -> tuple[Dialect, dict[Any, Any]]:
    """How statements are written, and those that were, for every store this process opens: they are the same ones.

    ``create_engine`` gives each engine its own, and a store that is opened for one request writes them all anew.
    """
    engine = create_engine("sqlite://", poolclass=StaticPool)
    with engine.connect():  # what is asked of the driver once
        pass
    engine.dispose()
    return engine.dialect, {}


def _prepare(connection: sqlite3.Connection, _: object) -> None:
    connection.isolation_level = None  # the driver must not open transactions of its own
    connection.text_factory = as_text
    for pragma in (
        "synchronous = EXTRA",
        "journal_mode = DELETE",
        "foreign_keys = ON",
        "recursive_triggers = ON",
        "trusted_schema = OFF",
    ):
        connection.execute(f"PRAGMA {pragma}")


def _begin(connection: Connection) -> None:
    writing = connection.get_execution_options().get("writing", False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writing else "BEGIN")


@contextmanager
def translated() -> Iterator[None]:
    """Turn what the database says into one clear line. Raises Stopped."""
    try:
        yield
    except OperationalError as fault:
        raise Stopped(failed(fault.orig or fault)) from None
    except DatabaseError as fault:
        raise Stopped(
            Finding(
                "integrity.store-damaged",
                "store",
                f"the database refused: {fault.orig}.",
                "Nothing was changed. Stop work, keep this copy, and run `benchseal verify --all`.",
            )
        ) from None


def failed(fault: BaseException) -> Trouble:
    """The machine failed: what to say of it."""
    words = str(fault)
    if "full" in words or "No space" in words:
        return Trouble(
            "store.disk-full", "store", "the disk is full.", "Nothing was changed. Free space, then try again."
        )
    if "locked" in words or "busy" in words:
        return Trouble("store.busy", "store", "another program is writing.", "Nothing was changed. Try again.")
    return Trouble(
        "store.failed", "store", f"the disk or the database failed: {words}.", "Nothing was changed. Look at the disk."
    )
