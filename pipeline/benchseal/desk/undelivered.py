"""Which released results a profile has not delivered yet, found from the entries since its last delivery."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

from benchseal.desk.reading import load, read_signature
from benchseal.export.profiles import reaching
from benchseal.export.rows import released_rows, withdrawn_rows
from benchseal.records.entries import read_entry
from benchseal.records.evidence import Evidence
from benchseal.records.profile import Profile
from benchseal.records.signatures import Meaning

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.records.canonical import Digest
    from benchseal.records.released import ReleasedRow
    from benchseal.store.protocol import Reading, Row

MOST_ROWS: Final = 100_000
"""Rows of one delivery: what is left over goes into the next, so that memory and files stay bounded."""


@dataclass(frozen=True, slots=True)
class Undelivered:
    """rows: what the receiver is sent, in order of the ledger. places: of each, the entry that put it out.

    considered: the last entry looked at; everything up to it is delivered then, or not for this profile.
    """

    rows: tuple[ReleasedRow, ...]
    places: tuple[int, ...]
    considered: int


def undelivered(view: Reading, profile: Profile, profile_digest: Digest, most: int = MOST_ROWS) -> Undelivered:
    """Released results this profile is for and has not delivered: whole entries, until ``most`` rows are there.

    Another version of the profile looks at everything again: it may choose what the one before left out.
    """
    found = _Rows(view, profile)
    considered = max(
        (int(row["considered"]) for row in view.rows("delivery", profile=profile.id, profile_digest=profile_digest)),
        default=0,
    )
    rows: list[ReleasedRow] = []
    places: list[int] = []
    for seq, values in _entries_after(view, considered, most):
        considered = seq
        if not found.concerns(values):
            continue
        sent = [row for row in map(found.to_send, found.in_order(values)) if row is not None]
        rows += sent
        places += [seq] * len(sent)
        if len(rows) >= most:
            break
    return Undelivered(tuple(rows), tuple(places), considered)


def _entries_after(view: Reading, seq: int, most: int) -> Iterator[tuple[int, list[Row]]]:
    """Revisions of results by the entries that put them out, in order of the ledger."""
    while True:
        values = view.rows_after("released", seq, most)
        whole = len(values) < most
        grouped: dict[int, list[Row]] = {}
        for value in values:
            grouped.setdefault(int(value["seq"]), []).append(value)
        for at in grouped if whole or len(grouped) == 1 else list(grouped)[:-1]:  # the last may go on behind the limit
            seq = at
            yield at, (grouped[at] if whole or len(grouped) > 1 else _all_of(view, at, values))
        if whole:
            return


def _all_of(view: Reading, seq: int, first: list[Row]) -> list[Row]:
    """Every revision of one entry that has more of them than are read at once."""
    number = str(first[0]["number"])
    return [value for value in view.rows("released", number=number) if int(value["seq"]) == seq]


@dataclass(slots=True)
class _Rows:
    """Rows of single revisions, read once; and what the receiver of the profile holds of them."""

    view: Reading
    profile: Profile
    _of_entry: dict[int, dict[str, ReleasedRow]] = field(default_factory=dict)
    _profiles: dict[str, Profile] = field(default_factory=dict)

    def concerns(self, values: list[Row]) -> bool:
        """Whether anything of one entry can be for this profile: judged by customer and methods, without evidence."""
        choose = self.profile.choose
        if not choose.customers and not choose.methods:
            return True
        row = self.view.row("certificate", number=str(values[0]["number"]))
        if row is None:
            raise AssertionError("a released revision has its certificate")
        if choose.customers and row["customer"] not in choose.customers:
            return False
        return not choose.methods or bool(self._methods(row) & {*choose.methods}) or any(map(self._held_before, values))

    def in_order(self, values: list[Row]) -> list[Row]:
        """Of one entry: what it released in the order of its certificate, then what it withdrew in that of theirs."""
        return sorted(values, key=lambda value: (value["change_kind"] == "withdrawn", *self._place(value)))

    def to_send(self, value: Row) -> ReleasedRow | None:
        """What the receiver is sent of a revision; None where it is not for them, or was delivered."""
        if self._delivered(value) is not None:
            return None
        return reaching(self._row(value), self._held(value), self.profile)

    def _place(self, value: Row) -> tuple[int, int]:
        while value["change_kind"] == "withdrawn":
            value = self._earlier(value)[0]
        self._row(value)
        seq = int(value["seq"])
        return seq, [*self._of_entry[seq]].index(str(value["result_id"]))

    def _methods(self, certificate: Row) -> set[str]:
        runs = self.view.rows("certificate_run", number=certificate["number"])
        return {str(row["method"]) for run in runs for row in self.view.rows("run", run=run["run"])}

    def _held_before(self, value: Row) -> bool:
        return any(self._delivered(one) for one in self._earlier(value))

    def _earlier(self, value: Row) -> list[Row]:
        """The revisions before one, the latest first."""
        if int(value["revision"]) == 1:
            return []
        own = self.view.rows("released", result_id=value["result_id"])
        before = [one for one in own if one["revision"] < value["revision"]]
        return sorted(before, key=lambda one: str(one["revision"]), reverse=True)

    def _delivered(self, value: Row) -> str | None:
        key = {"profile": self.profile.id, "result_id": value["result_id"], "revision": value["revision"]}
        done = self.view.row("delivered", **key)
        return None if done is None else str(done["delivery_id"])

    def _held(self, value: Row) -> ReleasedRow | None:
        """The revision before, as it reached the receiver; None where none did."""
        earlier = self._earlier(value)
        if not earlier:
            return None
        before = earlier[0]
        delivery = self._delivered(before)
        by = self.profile if delivery is None else self._profile_of(delivery)
        return reaching(self._row(before), self._held(before), by)

    def _profile_of(self, delivery_id: str) -> Profile:
        row = self.view.row("delivery", delivery_id=delivery_id)
        if row is None:
            raise AssertionError("a delivered revision has its delivery")
        name = str(row["profile_digest"])
        if name not in self._profiles:
            self._profiles[name] = load(self.view, Profile, name)
        return self._profiles[name]

    def _row(self, value: Row) -> ReleasedRow:
        seq, name = int(value["seq"]), str(value["result_id"])
        if value["change_kind"] == "withdrawn":
            (last,) = withdrawn_rows([self._row(self._earlier(value)[0])], self._why_gone(value))
            return last
        if seq not in self._of_entry:
            self._of_entry[seq] = {row.result_id: row for row in self._released_by(value)}
        return self._of_entry[seq][name]

    def _released_by(self, value: Row) -> tuple[ReleasedRow, ...]:
        number = str(value["number"])
        row = self.view.row("certificate", number=number)
        release = self.view.row("signature", digest=row["evidence"], meaning=Meaning.RELEASED.value) if row else None
        if row is None or release is None:
            raise AssertionError("a sealed certificate has its release signature")
        own = [one for one in self.view.rows("released", number=number) if one["seq"] == value["seq"]]
        before = {str(one["result_id"]): int(one["revision"]) - 1 for one in own if one["change_kind"] != "withdrawn"}
        evidence = load(self.view, Evidence, row["evidence"])
        return released_rows(evidence, read_signature(release), row["sealed"], before)

    def _why_gone(self, value: Row) -> str:
        """The reason of a withdrawal; for a line an amendment no longer reports, that of the amendment."""
        entry = read_entry(next(self.view.entries(int(value["seq"])))[1])
        row = self.view.row("certificate", number=str(value["number"]))
        return entry.reason or (load(self.view, Evidence, row["content"]).certificate.reason if row else "")
