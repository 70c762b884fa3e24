"""What the desk needs of a store: one transaction that reads, appends to the ledger and keeps objects."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Protocol, TypeAlias

if TYPE_CHECKING:
    from collections.abc import Iterator
    from contextlib import AbstractContextManager

    from benchseal.ledger.hashes import Hash
    from benchseal.records.canonical import Digest
    from benchseal.records.entries import Entry

Row: TypeAlias = "dict[str, Any]"  # column to value: text, integer or bytes


class Reading(Protocol):
    """A view of the store that does not change while it is held."""

    def size(self) -> int:
        """How many entries the ledger holds."""
        ...

    def entries(self, first: int = 1) -> Iterator[tuple[int, bytes, bytes, bytes]]:
        """Rows (seq, body, leaf, head) from ``first`` on."""
        ...

    def bytes_of(self, digest: Digest) -> bytes:
        """Plain bytes of an object, which have this digest. Raises Stopped, a KeyError or ValueError as well."""
        ...

    def node(self, level: int, index: int) -> Hash:
        """Hash of a complete subtree (``ledger/tree.py``)."""
        ...

    def rows(self, table: str, **where: object) -> list[Row]:
        """Rows of a derived or private table that match, in key order."""
        ...

    def row(self, table: str, **where: object) -> Row | None:
        """The only row that matches, or None."""
        ...

    def rows_after(self, table: str, seq: int, most: int) -> list[Row]:
        """At most ``most`` rows of a derived table last changed after entry ``seq``, in order of those entries."""
        ...


class Writing(Reading, Protocol):
    """The one writer. Everything it did is there after the block, or nothing is."""

    def keep(self, data: bytes) -> Digest:
        """Keep an object; the same bytes twice are one object."""
        ...

    def append(self, entry: Entry) -> None:
        """Append ``entry`` (its seq must be ``size() + 1``) and apply the rows that follow from it."""
        ...

    def put_private(self, table: str, row: Row) -> None:
        """Insert or replace a private row."""
        ...

    def remove_private(self, table: str, **where: object) -> None:
        """Remove private rows."""
        ...

    def keep_checkpoint(self, size: int, body: str) -> None:
        """Keep a checkpoint; one of the same size already kept stays."""
        ...


class Store(Protocol):
    """A site's store."""

    def reading(self) -> AbstractContextManager[Reading]:
        """Open a view."""
        ...

    def writing(self) -> AbstractContextManager[Writing]:
        """Wait in the queue, then be the one writer until the block ends."""
        ...

    def close(self) -> None:
        """Let go of every connection."""
        ...
