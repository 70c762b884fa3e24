"""Undelivered results to the rows of a file: each its own, or together as the profile says, with what is there already.

Exactly once is kept by results: each revision is delivered once, in one row. A row of a sample shows beside what is
new what its receiver holds of the sample already, since it takes the place of the row before.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from benchseal.desk.revisions import Revisions
from benchseal.desk.undelivered import Reached
from benchseal.records.released import Together

if TYPE_CHECKING:
    from benchseal.desk.undelivered import Undelivered
    from benchseal.records.profile import Profile
    from benchseal.records.released import ReleasedRow
    from benchseal.store.protocol import Reading


@dataclass(frozen=True, slots=True)
class FileRows:
    """sent: one item for each row of the file. values: result, revision and row number of each revision delivered."""

    sent: tuple[ReleasedRow | Together, ...]
    values: tuple[tuple[str, int, int], ...]


def file_rows(view: Reading, profile: Profile, found: Undelivered, only_to: str = "") -> FileRows:
    """What each row of the next file holds.

    only_to: a destination other than the profile's own, which is sent nothing beside what is due but what it holds.
    """
    due: list[tuple[ReleasedRow, ...]]
    sent: list[ReleasedRow | Together]
    match profile.one_row_per:
        case "result":
            due, sent = [(row,) for row in found.rows], [*found.rows]
        case "certificate":
            due = found.by_entry()
            sent = [Together(rows) for rows in due]
        case _:
            due, reached = _by_sample(found.rows), Reached(view, profile, Revisions(view))
            sent = [_of_sample(view, (reached, only_to), rows, found.considered) for rows in due]
    values = [(row.result_id, int(row.revision), number) for number, rows in enumerate(due, 1) for row in rows]
    return FileRows(tuple(sent), tuple(values))


def _by_sample(rows: tuple[ReleasedRow, ...]) -> list[tuple[ReleasedRow, ...]]:
    found: dict[str, list[ReleasedRow]] = {}
    for row in rows:
        found.setdefault(row.lab_sample_id, []).append(row)
    return [tuple(each) for each in found.values()]


def _of_sample(view: Reading, to: tuple[Reached, str], due: tuple[ReleasedRow, ...], considered: int) -> Together:
    """The last revision of every result of a sample that reached the receiver or is due, in the order they came."""
    reached, only_to = to
    last = {row.result_id: row for row in due}  # the later revision of two takes the place of the earlier
    rows: dict[str, ReleasedRow] = {}
    held = False
    numbers = [str(row["number"]) for row in view.rows("certificate", sample=due[0].lab_sample_id)]
    values = [value for number in numbers for value in view.rows("released", number=number)]
    for value in sorted(values, key=lambda one: (int(one["seq"]), str(one["result_id"]), str(one["revision"]))):
        sent = reached.reached_at(value, only_to) if only_to else reached.was_sent(value)
        if int(value["seq"]) > considered and not sent:  # after a delivery was given up, what is behind may be out
            continue
        name = str(value["result_id"])
        held = held or sent
        row = last.get(name) or (reached.as_reached(value) if sent else None)
        if row is not None:
            rows[name] = row
    return Together(tuple(rows.values()), held)
