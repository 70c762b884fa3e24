"""Whether each signer could sign when they did, and who had to sign beside; which entry named an object first.

The door to the acts asks this before it writes. Here it is asked again of the record, for somebody who wrote around
the door.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, cast

from benchseal.desk.checking_seconds import Seconds
from benchseal.desk.late import site_zone
from benchseal.problems import Finding
from benchseal.records.entries import Entry, read_entry
from benchseal.records.people import Role
from benchseal.store.changes import Put
from benchseal.store.project_people import PEOPLE

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator

    from benchseal.store.project_rows import ReadObject
    from benchseal.store.sqlite import SqliteReading

_REMEDY = "Stop work, keep this copy as it is, and ask who wrote to the store around the program."
_MARKS = (
    b'"signature":', b'"kind":"person.', b'"kind":"site.', b'"kind":"recovery.', b'"kind":"event.',
    b'"kind":"clock.', b'"kind":"backup.', b'"kind":"token.',
)  # fmt: skip


def signers_that_could_not(view: SqliteReading) -> list[Finding]:
    """Signatures by somebody who then had no such role, no open account, or waited for a word on who they are.

    And administrative acts of somebody who also worked on results, without a second person's signature.
    """
    people = _People(view.bytes_of)
    seconds = Seconds(view.bytes_of, site_zone(view))
    findings: list[Finding] = []
    for _, body, leaf, _ in view.entries():
        if not any(mark in body for mark in _MARKS):
            continue  # most entries neither sign nor change an account, and reading each costs
        try:
            entry = read_entry(body)
        except ValueError:
            continue  # named by the check of entries
        findings += people.look(entry)
        findings += seconds.look(entry, leaf, people.roles_of)
        people.follow(entry)
    return [*findings, *seconds.left()]


def first_named(view: SqliteReading, names: Collection[str]) -> dict[str, int]:
    """For each object, the first entry whose body names it."""
    wanted = {name.encode() for name in names}
    found: dict[str, int] = {}
    for seq, body, _, _ in view.entries() if wanted else ():
        here = {name for name in wanted if name in body}
        found |= {name.decode(): seq for name in here}
        wanted -= here
    return found


class _People:
    """Accounts and roles as the entries so far leave them."""

    def __init__(self, read: ReadObject) -> None:
        self._read = read
        self._accounts: dict[str, dict[str, str | int]] = {}
        self._roles: dict[tuple[str, str], bool] = {}

    def follow(self, entry: Entry) -> None:
        """Take in what ``entry`` changes."""
        project = PEOPLE.get(entry.kind)
        for change in project(entry, self._read) if project else ():
            if isinstance(change, Put) and change.table == "person":
                self._accounts.setdefault(change.key["person"], {}).update(change.values)
            elif isinstance(change, Put) and change.table == "role":
                self._roles[change.key["person"], change.key["role"]] = bool(change.values["active"])

    def roles_of(self, person: str) -> list[Role]:
        """Roles of somebody as they are now."""
        return [Role(role) for (name, role), held in self._roles.items() if held and name == person]

    def look(self, entry: Entry) -> Iterator[Finding]:
        """What keeps the signature in ``entry`` from counting."""
        signed = cast("dict[str, Any]", entry.facts.get("signature") or {})
        if not signed:
            return
        statement = signed.get("statement", {})
        person, role = str(statement.get("person")), str(statement.get("role"))
        account = self._accounts.get(person, {})
        where = f"entry {entry.seq} ({entry.at}, {entry.kind}, {entry.actor})"
        if not account.get("active"):
            yield Finding("integrity.signer", where, f"{person} signed and had no open account then.", _REMEDY)
        elif not self._roles.get((person, role)):
            yield Finding("integrity.signer", where, f"{person} signed as {role} and did not have that role.", _REMEDY)
        elif account.get("suspended"):
            what = f"{person} signed before it was confirmed who uses the account."
            yield Finding("integrity.signer", where, what, _REMEDY)
