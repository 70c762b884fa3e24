"""Whoever comes second is told who was first: the last hand on a record, added to refusals that rest on its state."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

from benchseal.problems import Refusal
from benchseal.records.canonical import digest
from benchseal.records.entries import read_entry

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.problems import Notice
    from benchseal.store.sqlite import SqliteReading

_NUMBER = re.compile(r"\bC-\d{4}-\d+\b")
_RUN = re.compile(r"\bR-\d+\b")


def told_by_whom(view: SqliteReading, act: object, notices: Sequence[Notice]) -> tuple[Notice, ...]:
    """The same notices; refusals because of a state say whose entry made it, and when."""
    return tuple(_told(view, act, each) if isinstance(each, Refusal) else each for each in notices)


def _told(view: SqliteReading, act: object, refusal: Refusal) -> Refusal:
    seq = _last_entry(view, act, refusal)
    if seq is None:
        return refusal
    entry = read_entry(view.body_of(seq))
    return replace(refusal, what=f"{refusal.what} Last: {entry.kind} by {entry.actor} at {entry.at}.")


def _last_entry(view: SqliteReading, act: object, refusal: Refusal) -> int | None:
    """Number of the entry that last changed what the refusal is about; None where it is about no state."""
    row = None
    if refusal.code == "run.wrong-state" and (run := _RUN.search(refusal.where)):
        row = view.row("run", run=run[0])
    elif refusal.code in {"certificate.wrong-state", "certificate.already"}:
        number = _NUMBER.search(f"{refusal.where} {refusal.what}")
        row = view.row("certificate", number=number[0]) if number else None
    elif refusal.code == "ingest.already":
        row = view.row("source_file", sha256=digest(getattr(act, "data", b"")))
    return int(row["seq"]) if row else None
