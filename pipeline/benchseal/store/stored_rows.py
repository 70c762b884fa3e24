"""Rows of the truth as the driver gives them: for checks that read all of them, where each wrapping would cost.

Loads no more than the standard library and the ledger, so that a second process is soon at work.
"""

from __future__ import annotations

import zlib
from typing import TYPE_CHECKING, Any, Protocol

from benchseal.ledger.tree import frontier_of
from benchseal.ledger.walk import Start, as_bytes
from benchseal.records.canonical import digest

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.ledger.hashes import Hash

_BLOCK = 512  # as the walk takes them on
LOWEST, HIGHEST = -(2**63), 2**63 - 1  # row numbers the file can hold
_ENTRIES = "SELECT seq, body, leaf, head FROM ledger WHERE seq > ? AND seq <= ? ORDER BY seq LIMIT ?"
_SUBTREES = "SELECT hash FROM tree_node WHERE level = ? AND place >= ? AND place < ? ORDER BY place"
_STRANGE_SUBTREES = (
    "SELECT level, place FROM tree_node WHERE level < 1 OR level > 62 OR place < 0 OR place >= (? >> level) "
    "ORDER BY level, place LIMIT ?"
)
# In the order they lie in the file: a disk that turns reads it through once.
_OBJECTS = "SELECT sha256, size, body FROM objects WHERE rowid BETWEEN ? AND ? ORDER BY rowid"


class Driver(Protocol):
    """A connection of the driver, or of a pool that lends one."""

    def cursor(self) -> Any:  # noqa: ANN401  the driver says no more
        """What runs a query, as PEP 249 says."""
        ...


class StoredRows:
    """A view inside one transaction of whoever made it."""

    def __init__(self, driver: Driver) -> None:
        self._driver = driver

    def entries(self, first: int = 1) -> Iterator[tuple[int, bytes, bytes, bytes]]:
        """Rows (seq, body, leaf, head), a block at a time."""
        for seq, body, leaf, head in self.stored_entries(first):
            yield (seq, as_bytes(body), as_bytes(leaf), as_bytes(head))

    def stored_entries(self, first: int = 1, last: int = HIGHEST) -> Iterator[tuple[Any, Any, Any, Any]]:
        """The same rows with whatever type a hand in the file left there: for the walk, which takes any."""
        place = first - 1
        while True:
            block = self._fetched(_ENTRIES, (place, last, _BLOCK))
            yield from block
            if len(block) < _BLOCK:
                return
            place = block[-1][0]

    def below_the_first(self, count: int) -> list[int]:
        """At most ``count`` numbers of rows that no walk meets: entries begin with 1."""
        return [seq for (seq,) in self._fetched("SELECT seq FROM ledger WHERE seq < 1 ORDER BY seq LIMIT ?", (count,))]

    def start_after(self, size: int) -> Start:
        """Where a walk from entry ``size + 1`` on sets out, as stored. Raises KeyError or AssertionError on damage."""
        found = self._fetched("SELECT head FROM ledger WHERE seq = ?", (size,))
        if not found:
            raise KeyError(size)
        return Start(as_bytes(found[0][0]), frontier_of(size, self))

    def node(self, level: int, index: int) -> Hash:
        """Hash of a complete subtree; that of a leaf stands in its entry's row. Raises KeyError."""
        if level:
            found = self.subtree_hashes(level, index, 1)
        else:
            found = [leaf for (leaf,) in self._fetched("SELECT leaf FROM ledger WHERE seq = ?", (index + 1,))]
        if not found:
            raise KeyError((level, index))
        return as_bytes(found[0])

    def subtree_hashes(self, level: int, first: int, count: int) -> list[bytes]:
        """Hashes of the kept subtrees of one level at ``count`` places from ``first`` on, as stored, in order."""
        return [found for (found,) in self._fetched(_SUBTREES, (level, first, first + count))]

    def strange_subtrees(self, size: int, count: int) -> list[tuple[int, int]]:
        """At most ``count`` kept subtrees, level and place, that a tree of ``size`` leaves does not have."""
        return self._fetched(_STRANGE_SUBTREES, (size, count))

    def wrong_objects(self, first: int = LOWEST, last: int = HIGHEST) -> dict[str, str]:
        """What is wrong with objects, by name: of all, or of the rows numbered ``first`` to ``last``."""
        cursor = self._driver.cursor()
        try:
            rows = cursor.execute(_OBJECTS, (first, last))
            return {name: said for name, size, body in rows if (said := _wrong(name, size, body))}
        finally:
            cursor.close()

    def half_of_objects(self) -> tuple[int, int]:
        """How many bytes all objects take as kept, and the row number up to which half of them lie."""
        sizes = self._fetched("SELECT rowid, length(body) FROM objects ORDER BY rowid", ())
        whole = sum(size for _, size in sizes)
        passed, middle = 0, 0
        for number, size in sizes:
            if passed * 2 >= whole:
                break
            passed, middle = passed + size, number
        return whole, middle

    def _fetched(self, query: str, given: tuple[int, ...]) -> list[tuple[Any, ...]]:
        cursor = self._driver.cursor()
        try:
            cursor.execute(query, given)
            return list(cursor.fetchall())
        finally:
            cursor.close()


def as_text(raw: bytes) -> str:
    """Text as stored: what is no UTF-8 must not stop a reader half way; it is read, differs, and is named."""
    return raw.decode("utf-8", "backslashreplace")


def unpacked(name: str, body: object) -> bytes:
    """Plain bytes of an object as kept. Raises ValueError where they do not unpack."""
    if not isinstance(body, bytes):
        raise ValueError(f"object {name} is not stored as bytes")  # noqa: TRY004  damage, not a caller's type
    unpack = zlib.decompressobj()
    try:
        data = unpack.decompress(body)
    except zlib.error:
        raise ValueError(f"object {name} does not unpack") from None
    if not unpack.eof or unpack.unused_data:
        raise ValueError(f"object {name} has bytes missing or added")
    return data


def _wrong(name: str, size: int, body: object) -> str:
    """What is wrong with one object; empty where nothing is."""
    try:
        data = unpacked(name, body)
    except ValueError as fault:
        return f"{fault}."
    found = digest(data)
    if found != name:
        return f"its bytes have digest {found[:16]}…, it is kept as {name[:16]}…."
    return "" if len(data) == size else f"it has {len(data)} bytes, noted are {size}."
