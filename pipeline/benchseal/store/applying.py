"""Putting derived rows into their tables. Replay does it a million times, so each statement is made once."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Any

from sqlalchemy import bindparam, delete, insert, update

from benchseal.store import tables
from benchseal.store.changes import Clear

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from sqlalchemy import Connection, Delete, Insert, Table, Update
    from sqlalchemy.sql.elements import ColumnElement

    from benchseal.store.changes import Change


def apply(connection: Connection, seq: int, changes: Iterable[Change]) -> None:
    """Make the changes that follow from entry ``seq``."""
    for change in changes:
        if isinstance(change, Clear):
            connection.execute(_removal(change.table, tuple(change.where)), _keyed(change.where))
            continue
        values = {**change.values, "seq": seq}
        changing, adding = _putting(change.table, tuple(change.key), tuple(values))
        if connection.execute(changing, {**_keyed(change.key), **values}).rowcount == 0:
            connection.execute(adding, {**change.key, **values})


def match(table: Table, where: Mapping[str, Any]) -> list[ColumnElement[bool]]:
    """Each column of ``where`` has its value."""
    return [table.c[name] == value for name, value in where.items()]


def _keyed(where: Mapping[str, str]) -> dict[str, str]:
    return {f"key_{name}": value for name, value in where.items()}


def _where(table: Table, key: tuple[str, ...]) -> list[ColumnElement[bool]]:
    return [table.c[name] == bindparam(f"key_{name}") for name in key]


@cache
def _removal(name: str, key: tuple[str, ...]) -> Delete:
    table = tables.DERIVED[name]
    return delete(table).where(*_where(table, key))


@cache
def _putting(name: str, key: tuple[str, ...], values: tuple[str, ...]) -> tuple[Update, Insert]:
    table = tables.DERIVED[name]
    changed: dict[str, Any] = {column: bindparam(column) for column in values}
    changing = update(table).where(*_where(table, key)).values(changed)
    return changing, insert(table).values({**{column: bindparam(column) for column in key}, **changed})
