"""One weighing is of one portion: a mass that two rows would take from a balance's file is the balance's of neither."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.desk.reading import load
from benchseal.desk.weighed import masses_of, times_of
from benchseal.problems import Problem
from benchseal.records.entries import Entry, read_entry
from benchseal.records.preparation import Portion
from benchseal.records.quantities import decimal_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from benchseal.records.canonical import Digest
    from benchseal.store.protocol import Reading, Row

_OWN = "Enter each portion with the balance's file of its own weighing, or without one: its mass is typed then."


def shared_problems(
    rows: Sequence[Portion], places: Sequence[str], masses: Mapping[str, str], source: str
) -> Iterator[Problem]:
    """Weighings whose label several rows of the sheet bear: portions of several batches."""
    bearing: dict[str, list[str]] = {label: [] for label in masses}
    for row, place in zip(rows, places, strict=True):
        if row.portion in bearing:
            bearing[row.portion].append(f"{place} (batch {row.batch})")
    for label, of in bearing.items():
        if len(of) > 1:
            what = f"it holds one weighing of it, and {len(of)} rows of the sheet bear the label: {', '.join(of)}."
            yield Problem("balance.ambiguous", f"{source}, portion {label}", what, _OWN)


def taken_problems(
    view: Reading, rows: Sequence[Portion], places: Sequence[str], weighed: Mapping[str, Digest], source: str
) -> Iterator[Problem]:
    """Weighings of a balance's file as kept that another portion on record has taken, corrected since or not.

    The same weighing: of the same label in the same bytes, or with the same mass and time in other bytes.
    """
    masses, times = _read(view, weighed, source)
    for row, place in zip(rows, places, strict=True):
        if row.portion not in masses:
            continue
        others = [one for one in view.rows("portion", portion=row.portion) if one["batch"] != row.batch]
        for entry in _added(view, others):
            digests = entry.digests
            if "balance" not in digests:
                continue
            if digests["balance"] != weighed["balance"]:
                at = times.get(row.portion, "")
                if not at or not _same_mass(load(view, Portion, digests["record"]).mass_g, masses[row.portion]):
                    continue
                if _read(view, digests, source)[1].get(row.portion, "") != at:
                    continue
            what = f"its weighing in {source} is that of portion {entry.subject.removeprefix('portion/')} on record."
            yield Problem("balance.taken", f"{place}, portion {row.portion}", what, _OWN)
            break


def _same_mass(one: str, other: str) -> bool:
    return bool(one) and decimal_of(one) == decimal_of(other)


def _read(view: Reading, digests: Mapping[str, Digest], source: str) -> tuple[dict[str, str], dict[str, str]]:
    """Masses and times of a balance's file that was kept; nothing where it is not read any more."""
    balance, layout = digests["balance"], digests.get("balance_layout", "")
    masses = masses_of(view, balance, layout, source)
    return (masses, times_of(view, balance, layout, source)) if isinstance(masses, dict) else ({}, {})


def _added(view: Reading, rows: Sequence[Row]) -> Iterator[Entry]:
    """The entries that brought rows in; a row that was corrected names its last one, so all are gone through."""
    corrected = set()
    for row in rows:
        entry = read_entry(next(iter(view.entries(int(row["seq"]))))[1])
        if entry.kind == "preparation.added":
            yield entry
        else:
            corrected.add(entry.subject)
    if corrected:
        every = (read_entry(body) for _, body, _, _ in view.entries())
        yield from (one for one in every if one.kind == "preparation.added" and one.subject in corrected)
