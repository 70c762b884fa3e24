"""Whether each administrative act of somebody who also worked on results has its second signature, and an exception.

``second.require_second`` asks this before the act. Here it is asked again of the record: the second person's word
covers the very entries of the act, by number and leaf hash, at the same moment; an exception held for the first.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final, cast

from benchseal.desk.acts import ROWS, SIGNED_BESIDE
from benchseal.desk.clock import moment_of
from benchseal.desk.second import is_administrative
from benchseal.problems import Finding
from benchseal.records.canonical import parse_canonical
from benchseal.review.apart import content_roles_of_administrator

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from zoneinfo import ZoneInfo

    from benchseal.records.entries import Entry
    from benchseal.records.people import Role
    from benchseal.store.project_rows import ReadObject

ADMINISTRATIVE: Final = frozenset(kind for row in ROWS if is_administrative(row) for kind in row.kinds)
_REMEDY: Final = "Stop work, keep this copy as it is, and ask who wrote to the store around the program."


class Seconds:
    """Administrative entries of people with both duties, until a second person's word about them is met."""

    def __init__(self, read: ReadObject, zone: ZoneInfo) -> None:
        self._read = read
        self._zone = zone
        self._waiting: dict[int, tuple[Entry, str]] = {}
        self._exceptions: list[dict[str, Any]] = []

    def look(self, entry: Entry, leaf: bytes, roles_of: Callable[[str], list[Role]]) -> Iterator[Finding]:
        """What is wrong with ``entry``. roles_of: what somebody had before it."""
        if entry.kind == "exception.added":
            self._exceptions.append(cast("dict[str, Any]", entry.facts))
        if entry.kind in SIGNED_BESIDE:
            yield from self._word(entry)
        beside = content_roles_of_administrator(roles_of(entry.actor)) if entry.kind in ADMINISTRATIVE else ()
        if not beside:
            return
        self._waiting[entry.seq] = (entry, leaf.hex())
        if not self._excepted(entry):
            what = f"{entry.actor} was administrator and {', '.join(beside)} then, and no exception was in force."
            yield Finding("integrity.second-person", _where(entry), what, _REMEDY)

    def left(self) -> Iterator[Finding]:
        """Entries no second person's word covers; asked at the end."""
        for entry, _ in self._waiting.values():
            what = f"{entry.actor} also worked on results then, and no second person signed this act."
            yield Finding("integrity.second-person", _where(entry), what, _REMEDY)

    def _word(self, entry: Entry) -> Iterator[Finding]:
        """A second person's word takes the entries it covers off the list; one that says something else covers none."""
        signed = cast("dict[str, Any]", parse_canonical(self._read(entry.digests["sign_off"])))
        for one in signed["entries"]:
            act, leaf = self._waiting.get(one["seq"], (None, ""))
            if act is None:
                continue
            if one["leaf"] != leaf or act.at != entry.at:
                what = f"it is about entry {act.seq} as it is not, or of another moment."
            elif entry.actor == act.actor:
                what = f"{entry.actor} signed their own act, entry {act.seq}, as the second person."
            else:
                del self._waiting[act.seq]
                continue
            yield Finding("integrity.second-person", _where(entry), what, _REMEDY)

    def _excepted(self, entry: Entry) -> bool:
        day = moment_of(entry.at).astimezone(self._zone).date().isoformat()
        return any(
            one["kind"] == "administrator_with_content_role"
            and one["person"] == entry.actor
            and one["since"] <= day <= one["until"]
            for one in self._exceptions
        )


def _where(entry: Entry) -> str:
    return f"entry {entry.seq} ({entry.at}, {entry.kind}, {entry.actor})"
