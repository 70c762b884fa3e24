"""Which results and certificates a version of this program calculated, whose lots they are, and who received them.

Every entry was written by the version that the last entry ``program.changed`` before it names. A calculation is of the
version that wrote the entry with it; of a page, the evidence itself names the version that made it.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from typing import TYPE_CHECKING

from benchseal.certificate.evidence import PROGRAM
from benchseal.desk.acting import FIRST_PROGRAM
from benchseal.desk.reading import all_entries, load
from benchseal.problems import Refusal, Stopped
from benchseal.records.evidence import Evidence
from benchseal.records.registers import Customer
from benchseal.records.results import NotReportable, RunWork

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from benchseal.records.canonical import Digest
    from benchseal.records.entries import Entry
    from benchseal.records.results import WorkedResult
    from benchseal.store.protocol import Reading, Row

_NAME = PROGRAM.partition(" ")[0]


@dataclass(frozen=True, slots=True)
class Period:
    """A version of the program and its entries, first to last; last 0: up to now."""

    program: str
    first: int
    last: int
    since: str


@dataclass(frozen=True, slots=True)
class TouchedResult:
    """One result of a calculation in force. version: of its run; 0 where it was not submitted yet."""

    run: str
    state: str
    version: int
    sample: str
    lot: str
    element: str
    quantity: str
    value: str


@dataclass(frozen=True, slots=True)
class TouchedCertificate:
    """One certificate. runs: those calculated by the version; page: whether it made the page itself.

    recipient: the customer's name and how to reach them. deliveries: where rows of it were delivered, and when.
    """

    number: str
    state: str
    lot: str
    customer: str
    recipient: str
    runs: tuple[str, ...]
    page: bool
    deliveries: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Impact:
    """All that one version calculated."""

    program: str
    periods: tuple[Period, ...]
    results: tuple[TouchedResult, ...]
    certificates: tuple[TouchedCertificate, ...]


def periods_of(entries: Iterable[Entry]) -> tuple[Period, ...]:
    """Every period of a version, in order; the first version did not say when it began."""
    found: list[Period] = []
    for entry in entries:
        if not found:
            found.append(Period(FIRST_PROGRAM, entry.seq, 0, entry.at))
        if entry.kind == "program.changed":
            last = found.pop()
            found.append(Period(last.program, last.first, entry.seq - 1, last.since))
            found.append(Period(str(entry.facts["program"]), entry.seq, 0, entry.at))
    return tuple(one for one in found if one.last == 0 or one.last >= one.first)


def impact_of(view: Reading, program: str) -> Impact:
    """What ``program`` calculated. Raises Stopped for a version that wrote nothing here."""
    entries = all_entries(view)
    periods = periods_of(entries)
    own = tuple(one for one in periods if one.program == program)
    if not own:
        known = ", ".join(dict.fromkeys(one.program for one in periods))
        what = f"no entry here was written by it; {known} wrote what there is."
        raise Stopped(Refusal("impact.version-unknown", program, what, "Name one of these versions."))
    calculated = _calculated(entries, periods, program)
    lots = {row["sample"]: row["lot"] for row in view.rows("sample")}
    runs = view.rows("run")
    results = [each for row in runs for each in _results(view, row, calculated, lots)]
    work_of = _work_of_manifests(entries)
    cited = {(run, manifest) for (run, manifest), work in work_of.items() if (run, work) in calculated}
    found = [_certificate(view, row, program, cited) for row in view.rows("certificate")]
    return Impact(program, own, tuple(results), tuple(one for one in found if one.runs or one.page))


def _calculated(entries: Sequence[Entry], periods: Sequence[Period], program: str) -> set[tuple[str, Digest]]:
    """Run and digest of each calculation that the version put on record; a review repeats it and makes none."""
    firsts = [one.first for one in periods]
    return {
        (entry.subject.removeprefix("run/"), entry.digests["work"])
        for entry in entries
        if entry.subject.startswith("run/")
        and {"work", "bound"} <= entry.digests.keys()
        and "manifest" not in entry.digests
        and periods[bisect_right(firsts, entry.seq) - 1].program == program
    }


def _work_of_manifests(entries: Iterable[Entry]) -> dict[tuple[str, Digest], Digest]:
    return {
        (entry.subject.removeprefix("run/"), entry.digests["manifest"]): entry.digests["work"]
        for entry in entries
        if {"work", "manifest"} <= entry.digests.keys()
    }


def _results(view: Reading, row: Row, calculated: set[tuple[str, Digest]], lots: dict[str, str]) -> list[TouchedResult]:
    """Results of the calculations of a run that stand: the one at hand, and the reviewed one where it is another."""
    reviewed = (row["reviewed_work"], "reviewed", int(row["reviewed_version"]))
    standing = [(row["work"], row["state"], int(row["version"]))]
    standing += [reviewed] if row["reviewed_work"] not in {"", row["work"]} else []
    return [
        TouchedResult(
            row["run"], state, version, one.sample, lots.get(one.sample, ""), one.element, one.quantity, _value(one)
        )
        for work, state, version in standing
        if (row["run"], work) in calculated
        for one in load(view, RunWork, work).results
    ]


def _value(result: WorkedResult) -> str:
    outcome = result.outcome
    return "no value" if isinstance(outcome, NotReportable) else f"{outcome.value_text} {result.unit}"


def _certificate(view: Reading, row: Row, program: str, cited: set[tuple[str, Digest]]) -> TouchedCertificate:
    runs = [
        each["run"]
        for each in view.rows("certificate_run", number=row["number"])
        if (each["run"], each["manifest"]) in cited
    ]
    customer = view.row("customer", customer=row["customer"])
    named = load(view, Customer, customer["record"]) if customer else None
    return TouchedCertificate(
        number=row["number"],
        state=row["state"],
        lot=row["lot"],
        customer=row["customer"],
        recipient=f"{named.name}, {named.contact}" if named else "",
        runs=tuple(runs),
        page=_page_by(view, row) == f"{_NAME} {program}",
        deliveries=tuple(_deliveries(view, row["number"])),
    )


def _page_by(view: Reading, row: Row) -> str:
    name = row["evidence"] or row["content"]
    return load(view, Evidence, name).program if name else ""


def _deliveries(view: Reading, number: str) -> list[str]:
    found: dict[str, None] = {}
    for value in view.rows("released", number=number):
        for sent in view.rows("delivered", result_id=value["result_id"], revision=value["revision"]):
            row = view.row("delivery", delivery_id=sent["delivery_id"])
            if row is not None:
                found[f"{row['delivery_id']} to {row['destination']}, {row['produced_at']}"] = None
    return list(found)
