"""When a balance's file says a portion was weighed, held against when it was prepared and when its sample came.

Days that cannot be are refused, as those of a preparation are; hours of one day, and long waits, are told only.
"""

from __future__ import annotations

import re
from datetime import date, datetime
from typing import TYPE_CHECKING, Final

from benchseal.desk.reading import load
from benchseal.desk.weighed import listed
from benchseal.problems import Problem
from benchseal.records.registers import Sample
from benchseal.records.said import some

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from benchseal.records.preparation import Portion
    from benchseal.store.protocol import Reading

LONG_BEFORE_DAYS: Final = 3  # weighed on Friday, digested on Monday (common practice, no source)
_TIME = re.compile(r"\d{4}-\d\d-\d\d(?:[T ]\d\d:\d\d(?::\d\d)?)?", re.ASCII)
_WHOSE = "Find out whose weighing it is, and when the portion was prepared; then put the sheet right."


def read_time(text: str) -> str:
    """``2026-11-20T10:00:00``, or the day where no more stands; empty where it is written otherwise, or is no time."""
    if not _TIME.fullmatch(text):
        return ""
    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        return ""
    return moment.isoformat() if len(text) > len("2026-11-20") else text


def times_read(times: Mapping[str, str]) -> dict[str, str]:
    """Those that can be compared."""
    return {label: at for label, text in times.items() if (at := read_time(text))}


def time_problems(
    view: Reading, rows: Sequence[Portion], places: Sequence[str], times: Mapping[str, str], source: str
) -> Iterator[Problem]:
    """Weighings on a day after the preparation, or before the sample was received; days are the laboratory's."""
    read = times_read(times)
    for row, place in zip(rows, places, strict=True):
        at, where = read.get(row.portion, ""), f"{place}, portion {row.portion}"
        if not at:
            continue
        if at[:10] > row.prepared_at[:10]:
            what = f"by {source} it was weighed at {at}, after it was prepared at {row.prepared_at}."
            yield Problem("balance.weighed-at", where, what, _WHOSE)
        sample = view.row("sample", sample=row.sample) if row.sample else None
        received = load(view, Sample, sample["record"]).row.received_on if sample else ""
        if at[:10] < received:
            what = f"by {source} it was weighed at {at}, before its sample {row.sample} was received on {received}."
            yield Problem("balance.weighed-at", where, what, _WHOSE)


def time_remarks(rows: Sequence[Portion], times: Mapping[str, str]) -> list[str]:
    """Sentences for the receipt."""
    read = times_read(times)
    later = [f"{one.portion} ({read[one.portion]})" for one in rows if _later(one, read.get(one.portion, ""))]
    early = [f"{one.portion} ({read[one.portion]})" for one in rows if _early(one, read.get(one.portion, ""))]
    odd = [
        f"{one.portion} ('{times[one.portion]}')" for one in rows if one.portion in times and one.portion not in read
    ]
    said = (
        (later, "Weighed after the time of preparation"),
        (early, f"Weighed more than {LONG_BEFORE_DAYS} days before the preparation"),
        (odd, "Time of weighing compared with nothing, since it is not written as 2026-11-20T10:00:00"),
    )
    return [f"{words} ({some(len(of), 'portion')}): {listed(of)}." for of, words in said if of]


def _later(row: Portion, at: str) -> bool:
    return len(at) > len("2026-11-20") and at > row.prepared_at


def _early(row: Portion, at: str) -> bool:
    if not at:
        return False
    return (date.fromisoformat(row.prepared_at[:10]) - date.fromisoformat(at[:10])).days > LONG_BEFORE_DAYS
