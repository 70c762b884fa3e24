"""Which released results a profile has not delivered yet, found from the entries since its last delivery."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Final

from benchseal.desk.deliveries import GIVEN_UP
from benchseal.desk.reading import load
from benchseal.desk.revisions import Revisions, entries_after
from benchseal.export.profiles import chosen, reaching
from benchseal.records.profile import Profile

if TYPE_CHECKING:
    from benchseal.records.canonical import Digest
    from benchseal.records.released import ReleasedRow
    from benchseal.store.protocol import Reading, Row

MOST_ROWS: Final = 100_000
"""Rows of one delivery: what is left over goes into the next, so that memory and files stay bounded."""


@dataclass(frozen=True, slots=True)
class Undelivered:
    """rows: what the receiver is sent, in order of the ledger. places: of each, the entry that put it out.

    considered: the last entry looked at; everything up to it is delivered then, or not for this profile. only_to: of
    each row, the one destination that may have it, since it holds what is withdrawn; empty for that of the profile.
    """

    rows: tuple[ReleasedRow, ...]
    places: tuple[int, ...]
    considered: int
    only_to: tuple[str, ...]

    def by_destination(self, own: str) -> dict[str, Undelivered]:
        """The rows that go to ``own``, the destination of the profile, first; then those of each other one."""
        at = [only or own for only in self.only_to]
        found = {}
        for destination in sorted(set(at), key=lambda one: (one != own, one)):
            taken = [nth for nth, one in enumerate(at) if one == destination]
            rows, places = tuple(self.rows[nth] for nth in taken), tuple(self.places[nth] for nth in taken)
            found[destination] = replace(
                self, rows=rows, places=places, only_to=tuple(self.only_to[nth] for nth in taken)
            )
        return found

    def by_entry(self) -> list[tuple[ReleasedRow, ...]]:
        """The rows of each entry together."""
        found: dict[int, list[ReleasedRow]] = {}
        for row, place in zip(self.rows, self.places, strict=True):
            found.setdefault(place, []).append(row)
        return [tuple(rows) for rows in found.values()]


def undelivered(view: Reading, profile: Profile, profile_digest: Digest, most: int = MOST_ROWS) -> Undelivered:
    """Released results this profile is for and has not delivered: whole entries, until ``most`` rows are there.

    Another version of the profile looks at everything again: it may choose what the one before left out.
    """
    revisions = Revisions(view)
    found = Reached(view, profile, revisions)
    considered = max(
        (int(row["considered"]) for row in view.rows("delivery", profile=profile.id, profile_digest=profile_digest)),
        default=0,
    )
    rows: list[ReleasedRow] = []
    places: list[int] = []
    only_to: list[str] = []
    for seq, values in entries_after(view, considered, most):
        considered = seq
        if not found.concerns(values):
            continue
        for value in revisions.in_order(values):
            if (row := found.to_send(value)) is not None:
                rows.append(row)
                places.append(seq)
                only_to.append(found.only_to(value, row))
        if len(rows) >= most:
            break
    return Undelivered(tuple(rows), tuple(places), considered, tuple(only_to))


@dataclass(slots=True)
class Reached:
    """What the receiver of a profile holds of single revisions, and is to be sent."""

    view: Reading
    profile: Profile
    revisions: Revisions
    _profiles: dict[str, Profile] = field(default_factory=dict)
    _some_given_up: bool | None = None

    def concerns(self, values: list[Row]) -> bool:
        """Whether anything of one entry can be for this profile: judged by customer and methods, without evidence."""
        choose = self.profile.choose
        if not choose.customers and not choose.methods:
            return True
        row = self.view.row("certificate", number=str(values[0]["number"]))
        if row is None:
            raise AssertionError("a released revision has its certificate")
        if choose.customers and row["customer"] not in choose.customers:
            return any(self._may_hold(value) for value in values)  # an earlier version chose more: what they hold goes
        later = any(int(value["revision"]) > 1 for value in values)  # what they hold, or get with this, may go
        return not choose.methods or bool(self._methods(row) & {*choose.methods}) or later

    def to_send(self, value: Row) -> ReleasedRow | None:
        """What the receiver is sent of a revision; None where it is not for them, or was delivered."""
        if (self._delivered(value) is not None and not self._left_out_then(value)) or self._overtaken(value):
            return None
        return reaching(self.revisions.row(value), self._held(value), self.profile)

    def only_to(self, value: Row, row: ReleasedRow) -> str:
        """The destination that holds what ``row`` withdraws, where the profile no longer chooses its customer.

        Any other must not learn of it: it never had results of this customer. Empty where the profile chooses them.
        """
        customers = self.profile.choose.customers
        if not customers or row.customer_id in customers:
            return ""
        for earlier in self.revisions.earlier(value):
            if (delivery := self._delivered(earlier)) is not None:
                return str(self._delivery(delivery)["destination"])
        return ""

    def reached_at(self, value: Row, destination: str) -> bool:
        """Whether a revision was delivered to ``destination``."""
        delivery = self._delivered(value)
        return delivery is not None and str(self._delivery(delivery)["destination"]) == destination

    def _left_out_then(self, value: Row) -> bool:
        """Whether a revision in force reached the receiver as a withdrawal alone, by a version that chose less.

        The profile chooses it again: else they would hold "withdrawn" for good. The row is that of the revision, so
        its number is the one they have already, and the later delivery counts.
        """
        delivery = self._delivered(value)
        if delivery is None or int(value["revision"]) == 1 or value["change_kind"] == "withdrawn":
            return False
        by = self._profile_of(delivery)
        if by == self.profile or not (by.choose.customers or by.choose.methods):
            return False
        own = self.view.rows("released", result_id=value["result_id"])
        if any(one["revision"] > value["revision"] for one in own):
            return False
        reached, row = self.as_reached(value), self.revisions.row(value)
        return reached is not None and reached.change_kind == "withdrawn" and bool(chosen((row,), self.profile))

    def _may_hold(self, value: Row) -> bool:
        """Whether the receiver holds a revision before this one, or gets it with it, from a customer of theirs."""
        for earlier in self.revisions.earlier(value):
            row = self.view.row("certificate", number=str(earlier["number"]))
            if self.was_sent(earlier) or (row is not None and row["customer"] in self.profile.choose.customers):
                return True
        return False

    def _methods(self, certificate: Row) -> set[str]:
        runs = self.view.rows("certificate_run", number=certificate["number"])
        return {str(row["method"]) for run in runs for row in self.view.rows("run", run=run["run"])}

    def _overtaken(self, value: Row) -> bool:
        """Whether a later revision was delivered while this one was given up: an old value never comes behind it."""
        if self._some_given_up is None:
            self._some_given_up = bool(self.view.rows("delivery", profile=self.profile.id, state=GIVEN_UP))
        if not self._some_given_up:
            return False
        own = self.view.rows("released", result_id=value["result_id"])
        return any(one["revision"] > value["revision"] and self.was_sent(one) for one in own)

    def _delivered(self, value: Row) -> str | None:
        key = {"profile": self.profile.id, "result_id": value["result_id"], "revision": value["revision"]}
        done = self.view.row("delivered", **key)
        return None if done is None else str(done["delivery_id"])

    def _held(self, value: Row) -> ReleasedRow | None:
        """The revision before, as it reached the receiver; None where none did."""
        earlier = self.revisions.earlier(value)
        return self.as_reached(earlier[0]) if earlier else None

    def as_reached(self, value: Row) -> ReleasedRow | None:
        """A revision as it reached the receiver, or would; None where it did not."""
        delivery = self._delivered(value)
        by = self.profile if delivery is None else self._profile_of(delivery)
        return reaching(self.revisions.row(value), self._held(value), by)

    def was_sent(self, value: Row) -> bool:
        """Whether a revision was delivered under this profile."""
        return self._delivered(value) is not None

    def _profile_of(self, delivery_id: str) -> Profile:
        name = str(self._delivery(delivery_id)["profile_digest"])
        if name not in self._profiles:
            self._profiles[name] = load(self.view, Profile, name)
        return self._profiles[name]

    def _delivery(self, delivery_id: str) -> Row:
        row = self.view.row("delivery", delivery_id=delivery_id)
        if row is None:
            raise AssertionError("a delivered revision has its delivery")
        return row
