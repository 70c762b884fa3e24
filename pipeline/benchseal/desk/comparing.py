"""What an approver is shown before signing: the version against the one in force; its digest goes on record."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from benchseal.desk.acting import as_json
from benchseal.documents.compare import Difference, differences
from benchseal.records.canonical import canonical_bytes, digest, parse_canonical
from benchseal.records.shape import plain_of

if TYPE_CHECKING:
    from benchseal.records.canonical import Json
    from benchseal.store.protocol import Reading, Row

FIGURES = 8


@dataclass(frozen=True, slots=True)
class Comparison:
    """Two versions compared. title: which. content: canonical bytes of all of it, kept as an object when signed."""

    title: str
    found: tuple[Difference, ...]
    content: bytes

    @property
    def figures(self) -> str:
        """First figures of the digest: what an approver gives to say which comparison was looked at."""
        return digest(self.content)[:FIGURES]

    def said(self) -> tuple[str, ...]:
        """The comparison as lines for people."""
        lines = [line for each in self.found for line in each.said()]
        return (self.title, *(lines or ["nothing differs"]), f"comparison {self.figures}")


def compare(view: Reading, old: Row | None, new: Row) -> Comparison:
    """Two document rows compared; without an older one everything is new."""
    before: Json = parse_canonical(view.bytes_of(old["value"])) if old else {}
    found = differences(before, parse_canonical(view.bytes_of(new["value"])))
    content = canonical_bytes(
        {
            "schema": "comparison/1",
            "old": _ref(old) if old else None,
            "new": _ref(new),
            "differences": as_json([plain_of(each) for each in found]),
        }
    )
    name = f"{new['kind']} {new['id']}, version {new['version']}"
    if old is None:
        return Comparison(f"{name}: no version is in force, so all of it is new", found, content)
    other = f"{old['id']} version {old['version']}" if old["id"] != new["id"] else f"version {old['version']}"
    return Comparison(f"{name} against {other} ({old['state']})", found, content)


def against_in_force(view: Reading, row: Row) -> tuple[Comparison, Row | None]:
    """A version against the one in force, and that one."""
    now = view.row("document", kind=row["kind"], id=row["id"], state="approved")
    return compare(view, now, row), now


def _ref(row: Row) -> dict[str, Json]:
    return {"kind": row["kind"], "id": row["id"], "version": int(row["version"]), "sha256": row["value"]}
