"""Runs whose curves later runs use: looked up by number, and kept as they are while somebody uses them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.desk.instrument_time import events_of
from benchseal.desk.reading import load
from benchseal.problems import Finding, Problem, Refusal
from benchseal.records.entries import read_entry
from benchseal.records.known import Lent
from benchseal.records.results import RunWork
from benchseal.records.run import Run
from benchseal.validate.instrument_state import corrected
from benchseal.validate.stored import stored_curve

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from benchseal.records.run import RunDocument
    from benchseal.store.protocol import Reading, Row

_KEEP = "Stop work, keep this copy as it is, and compare with the last backup."


def lent_by(view: Reading, numbers: Sequence[str], source: str) -> list[Lent | Problem]:
    """The runs named for their curves as they stand, or why one cannot be asked. source: of the file."""
    found: list[Lent | Problem] = []
    elements: set[str] = set()
    for number in dict.fromkeys(numbers):
        row = view.row("run", run=number)
        if row is None:
            what = f"There is no run {number}, whose curve is to be used."
            found.append(Problem("ingest.curve-unknown", source, what, "See `benchseal run list`."))
        elif row["element"] in elements:
            what = f"More than one run of {row['element']} is named for its curve, {number} among them."
            found.append(Problem("ingest.curve-several", source, what, "Name one run for each element."))
        else:
            elements.add(row["element"])
            found.append(lent(view, row))
    return found


def lent(view: Reading, row: Row) -> Lent:
    """One run as it stands: what was reviewed of it, where it is reviewed."""
    reviewed = row["state"] == "reviewed"
    work = load(view, RunWork, row["reviewed_work"] if reviewed else row["work"])
    return Lent(
        number=row["run"],
        state=row["state"],
        version=int(row["reviewed_version"]) if reviewed else 0,
        work=row["reviewed_work"] if reviewed else "",
        run=load(view, Run, row["reviewed_bound"] if reviewed else row["bound"]),
        usable=work.usable,
        good=all(one.verdict == "pass" for one in work.checks if one.check == "calibration"),
    )


def elsewhere(lenders: Sequence[Lent], documents: Sequence[RunDocument | Problem], source: str) -> Iterator[Problem]:
    """Runs of an element that the file does not hold."""
    held = [one.facts.element for one in documents if not isinstance(one, Problem)]
    for one in lenders:
        if held and one.run.method.element not in held:
            what = f"{one.number} measured {one.run.method.element}; the file holds {', '.join(held)}."
            yield Problem("ingest.curve-element", source, what, "Name a run of an element of this file.")


def borrowers(view: Reading, row: Row) -> list[str]:
    """Runs, not cancelled, that use the curve of a run; only later ones of its method can."""
    events = events_of(view, row["instrument"])
    since = corrected(row["measured_at"], events)
    return [
        str(other["run"])
        for other in view.rows("run", method=row["method"], instrument=row["instrument"])
        if other["state"] != "cancelled"
        and corrected(other["measured_at"], events) >= since
        and any(curve.run == row["run"] for curve in load(view, Run, other["bound"]).stored_curve)
    ]


def lent_refusal(view: Reading, row: Row) -> Refusal | None:
    """Why a run cannot be reopened: others rest on its curve."""
    using = borrowers(view, row)
    if not using:
        return None
    what = f"{', '.join(using)} {'uses' if len(using) == 1 else 'use'} its curve."
    return Refusal("run.lent", str(row["run"]), what, "Cancel what uses it first, or leave it as it stands.")


def copies_that_differ(view: Reading) -> list[Finding]:
    """Stored curves of runs whose readings are not those of the run they name, by the record that calculation is of."""
    found: list[Finding] = []
    bound_of: dict[tuple[str, str], str] = {}
    for row in view.rows("run"):
        for name in dict.fromkeys(filter(None, (row["bound"], row["reviewed_bound"]))):
            for curve in load(view, Run, name).stored_curve:
                bound_of = bound_of or _calculated(view)
                source = bound_of.get((f"run/{curve.run}", curve.work))
                if source is None:
                    what = f"it uses a curve of {curve.run}; no calculation of that run has digest {curve.work[:16]}…"
                elif stored_curve(curve.run, curve.version, curve.work, load(view, Run, source)) != curve:
                    what = f"its copy of the standards of {curve.run} is not what stands in that run's record."
                else:
                    continue
                found.append(Finding("integrity.stored-curve", str(row["run"]), what, _KEEP))
    return found


def _calculated(view: Reading) -> dict[tuple[str, str], str]:
    """Bound run by subject and digest of its calculation, from the entries that put both on record."""
    found = {}
    for _, body, _, _ in view.entries():
        entry = read_entry(body)
        if entry.kind in {"run.ingested", "run.calculated", "run.corrected"}:
            found[entry.subject, entry.digests["work"]] = entry.digests["bound"]
    return found
