"""Holders of preliminary figures that are others now: who has to be told what, and putting on record that they were.

What a holder knows is what the paper says, or what they were last told. Against it stands what counts now: the issued
certificate of the sample, else its reviewed results. A correction that nobody has reviewed yet decides nothing.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from benchseal.certificate.present import requirement_for, result_row
from benchseal.desk.acting import Receipt
from benchseal.desk.gathering import figures_known
from benchseal.desk.reading import load
from benchseal.problems import Refusal, Stopped
from benchseal.records.evidence import Evidence
from benchseal.records.preliminary import Preliminary, Told, ToldFigure
from benchseal.records.shape import record_bytes
from benchseal.records.species import stated_as

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator

    from benchseal.desk.acting import Acting
    from benchseal.desk.acts_certificates import NoteHolderTold
    from benchseal.records.results import WorkedResult
    from benchseal.records.specification import Requirement
    from benchseal.store.protocol import Reading, Row

_OPEN = "certificate.not-reviewed"  # a run is being corrected: what it comes to is not known yet


@dataclass(frozen=True, slots=True)
class ToTell:
    """One paper whose holder has to be told. lines: each figure, as they know it and as it is now."""

    row: Row
    lines: tuple[str, ...]
    now: tuple[ToldFigure, ...]

    @property
    def said(self) -> str:
        """In one line."""
        return f"{self.row['number']}: tell {self.row['given_to']}: {'; '.join(self.lines)}"


def to_be_told(view: Reading, **where: str) -> list[ToTell]:
    """Every paper whose holder knows a figure that is another now, oldest first. where: columns of the papers."""
    looked = (_looked(view, row) for row in view.rows("preliminary", **where))
    return [one for one in looked if one.lines]


def holders_of(view: Reading, result_ids: Collection[str]) -> list[str]:
    """Who has figures of these results, in lines: said with a correction, whose outcome nobody has reviewed yet."""
    return [
        f"{row['number']}: {row['given_to']} has figures of it; they may have to be told once it is reviewed."
        for row in view.rows("preliminary")
        if any(one.result.result_id in result_ids for one in load(view, Preliminary, row["figures"]).figures)
    ]


def note_told(acting: Acting, act: NoteHolderTold) -> Receipt:
    """Put on record that a holder was told, whom and how; what they were told is what counts at this moment."""
    require_text(act.who, "--who")
    require_text(act.how, "--how")
    row = acting.tx.row("preliminary", number=act.number)
    if row is None:
        remedy = "See `benchseal certificate list --preliminary`."
        raise Stopped(Refusal("preliminary.unknown", act.number, "there is no such paper.", remedy))
    found = _looked(acting.tx, row)
    if not found.lines:
        what = "its figures are still those that its holder knows."
        raise Stopped(Refusal("preliminary.nothing-to-tell", act.number, what, "Nothing needs to be done."))
    kept = acting.tx.keep(record_bytes(Told("preliminary-told/1", act.number, found.now)))
    facts = {"who": act.who.strip(), "how": act.how.strip()}
    acting.write("preliminary.told", f"preliminary/{act.number}", facts={**facts}, digests={"told": kept})
    return Receipt((f"{act.number}: {facts['who']} told: {'; '.join(found.lines)}",), {"number": act.number})


def require_text(text: str, where: str) -> None:
    """Raise Stopped where nothing is said."""
    if not text.strip():
        raise Stopped(Refusal("preliminary.told-whom", where, "it says nothing.", "Say whom you told, and how."))


def _looked(view: Reading, row: Row) -> ToTell:
    record = load(view, Preliminary, row["figures"])
    known = _known(view, row, record)
    standing = _standing(view, row, record)
    now = tuple(ToldFigure(one.result_id, one.what, standing.get(one.result_id) or one.text) for one in known)
    lines = tuple(
        f"{before.what} was {before.text}, now {after.text}"
        for before, after in zip(known, now, strict=True)
        if before.text != after.text
    )
    return ToTell(row, lines, now)


def _known(view: Reading, row: Row, record: Preliminary) -> tuple[ToldFigure, ...]:
    told = view.rows("preliminary_told", number=row["number"])
    if told:
        return load(view, Told, max(told, key=lambda one: str(one["event"]))["told"]).figures
    return tuple(
        ToldFigure(one.result.result_id, _what(one.result, record), _text(one.result, record)) for one in record.figures
    )


def _standing(view: Reading, row: Row, record: Preliminary) -> dict[str, str]:
    """Result to what counts now; nothing for one that is being corrected."""
    issued = [
        one for one in view.rows("certificate", sample=row["sample"]) if one["state"] == "released" and one["evidence"]
    ]
    ids = [one.result.result_id for one in record.figures]
    if issued:
        last = max(issued, key=lambda one: str(one["number"]))
        results = {one.result.result_id: one.result for one in load(view, Evidence, last["evidence"]).results}
        missing = f"not on certificate {last['number']}"
        return {name: _text(results[name], record) if name in results else missing for name in ids}
    return dict(_reviewed(view, row, record))


def _reviewed(view: Reading, row: Row, record: Preliminary) -> Iterator[tuple[str, str]]:
    sample = view.row("sample", sample=row["sample"])
    if sample is None:
        raise AssertionError("a paper is of a registered sample")
    known = {_key(requirement): found for requirement, found in figures_known(view, sample)}
    for one in record.figures:
        found = known.get(_key(requirement_for(one.result, record.specification)))
        if found is None:
            yield one.result.result_id, "no figure: its specification no longer asks for it"
        elif not isinstance(found, Refusal):
            yield one.result.result_id, _text(found[1], record)
        elif found.code != _OPEN:
            yield one.result.result_id, f"no figure: {found.what}"


def _key(requirement: Requirement) -> tuple[str, str, str]:
    return (requirement.element, str(requirement.basis), str(requirement.expressed_as))


def _what(result: WorkedResult, record: Preliminary) -> str:
    asked = requirement_for(result, record.specification)
    return f"{asked.element}{stated_as(asked.basis, asked.expressed_as)}"


def _text(result: WorkedResult, record: Preliminary) -> str:
    """The figure as the paper prints it. Another result of the same line of the specification prints alike."""
    shown = result_row(result, record.specification)
    return f"{shown.value} {shown.tail}".strip()
