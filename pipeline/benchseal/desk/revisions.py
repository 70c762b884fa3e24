"""Released revisions as rows, made from what was signed, in the order of the ledger."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from benchseal.desk.reading import load, read_signature
from benchseal.export.rows import released_rows, withdrawn_rows
from benchseal.records.entries import read_entry
from benchseal.records.evidence import Evidence
from benchseal.records.signatures import Meaning

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.records.released import ReleasedRow
    from benchseal.store.protocol import Reading, Row


def entries_after(view: Reading, seq: int, most: int) -> Iterator[tuple[int, list[Row]]]:
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
class Revisions:
    """Rows of single revisions, each certificate's evidence read once."""

    view: Reading
    _of_entry: dict[int, dict[str, ReleasedRow]] = field(default_factory=dict)

    def in_order(self, values: list[Row]) -> list[Row]:
        """Of one entry: what it released in the order of its certificate, then what it withdrew in that of theirs."""
        return sorted(values, key=lambda value: (value["change_kind"] == "withdrawn", *self._place(value)))

    def row(self, value: Row) -> ReleasedRow:
        """A revision as it was released or withdrawn, with every canonical field."""
        seq, name = int(value["seq"]), str(value["result_id"])
        if value["change_kind"] == "withdrawn":
            (last,) = withdrawn_rows([self.row(self.earlier(value)[0])], self._why_gone(value))
            return last
        if seq not in self._of_entry:
            self._of_entry[seq] = {row.result_id: row for row in self._released_by(value)}
        return self._of_entry[seq][name]

    def earlier(self, value: Row) -> list[Row]:
        """The revisions before one, the latest first."""
        if int(value["revision"]) == 1:
            return []
        own = self.view.rows("released", result_id=value["result_id"])
        before = [one for one in own if one["revision"] < value["revision"]]
        return sorted(before, key=lambda one: str(one["revision"]), reverse=True)

    def _place(self, value: Row) -> tuple[int, int]:
        while value["change_kind"] == "withdrawn":
            value = self.earlier(value)[0]
        self.row(value)
        seq = int(value["seq"])
        return seq, [*self._of_entry[seq]].index(str(value["result_id"]))

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
