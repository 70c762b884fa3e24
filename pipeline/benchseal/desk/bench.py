"""What validating and calculating a run need, read from the site as it stands, or as a correction would leave it."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Literal

from benchseal.compute.run_work import work_run
from benchseal.desk.instrument_time import all_events
from benchseal.desk.lending import lent_by
from benchseal.desk.reading import load
from benchseal.records.corrections import AS_READ, BenchRow, RunBench, RunCorrections
from benchseal.records.known import Bench, Known, Lent
from benchseal.records.layout import Layout
from benchseal.records.method import Method
from benchseal.records.preparation import Portion
from benchseal.records.registers import Instrument, Sample, StandardLot
from benchseal.records.results import RunWork
from benchseal.records.run import DocumentRef, Run, RunDocument
from benchseal.records.shape import record_digest
from benchseal.records.specification import Specification
from benchseal.records.unit_spellings import given_units
from benchseal.validate.check import check_run
from benchseal.validate.corrected import corrected

if TYPE_CHECKING:
    from collections.abc import Mapping

    from benchseal.problems import Problem
    from benchseal.records.run import NumberGap
    from benchseal.store.protocol import Reading, Row


@dataclass(frozen=True, slots=True)
class Instead:
    """Rows to be taken in the place of those on record."""

    portions: Mapping[tuple[str, str], Portion] = field(default_factory=dict)
    lots: Mapping[str, StandardLot] = field(default_factory=dict)


AS_ON_RECORD = Instead()


@dataclass(frozen=True, slots=True)
class Worked:
    """A run calculated, and what it rested on."""

    run: Run
    work: RunWork
    bench: RunBench


def corrections_of(view: Reading, row: Row) -> RunCorrections:
    """What was put right in a run so far."""
    return load(view, RunCorrections, row["corrections"]) if row["corrections"] else AS_READ


def worked_again(  # noqa: PLR0913  what a run is calculated from, and what is to be taken otherwise
    view: Reading,
    known: Known,
    row: Row,
    corrections: RunCorrections,
    instead: Instead = AS_ON_RECORD,
    *,
    ledger: str,
    gaps: tuple[NumberGap, ...] | None = None,
    anew: frozenset[str] | None = None,
) -> Worked | tuple[Problem, ...]:
    """A run on record validated and calculated again from its file, or why it cannot be.

    known: by ``known_at`` with the same ``instead``; good for every run calculated at that moment. gaps: of its reading
    numbers with their explanations, where these are given anew; else as they are. anew: which of its method and
    specifications (``method/ID``) are taken as they are in force now, None for all; the others in the version it was
    calculated by, since a correction changes what rests on what was corrected, and nothing else.
    """
    before = load(view, Run, row["bound"])
    judged_by = {} if anew is None else _judged_by(view, row, anew)
    if anew is not None and f"method/{before.method_ref.id}" not in anew:
        known = replace(known, methods=((before.method_ref, before.method),))
    document = corrected(load(view, RunDocument, row["document"]), corrections)
    named = lent_by(view, [one.run for one in before.stored_curve], document.source_name)
    lenders = tuple(one for one in named if isinstance(one, Lent))
    batches = frozenset(batch for batch, _ in before.portion if batch)
    run = checked(view, document, replace(known, batches=batches, lent=lenders))
    if isinstance(run, tuple):
        return run
    run = replace(run, number_gaps=before.number_gaps if gaps is None else gaps)
    bench = bench_at(view, ledger, run, corrections, instead)
    bench = replace(bench, specifications={**bench.specifications, **judged_by})
    work = work_run(run, bench)
    return work if isinstance(work, tuple) else Worked(run, work, rested_on(view, bench, instead))


def documents_of(view: Reading, row: Row) -> dict[str, DocumentRef]:
    """``method/ID`` and each ``specification/ID`` a run on record was calculated by, with the version."""
    method = load(view, Run, row["bound"]).method_ref
    refs = (one.specification for one in load(view, RunWork, row["work"]).results)
    return {f"method/{method.id}": method} | {f"specification/{ref.id}": ref for ref in refs}


def _judged_by(view: Reading, row: Row, anew: frozenset[str]) -> dict[str, tuple[DocumentRef, Specification]]:
    """The version of each specification a run on record was judged by, but of those named."""
    return {
        ref.id: (ref, load(view, Specification, ref.digest))
        for name, ref in documents_of(view, row).items()
        if name.startswith("specification/") and name not in anew
    }


def known_at(view: Reading, at: str, instead: Instead = AS_ON_RECORD) -> Known:
    """Everything in force at the site. at: entry time. Batches and lent curves are a run's own, and not in it."""
    portions: dict[str, list[Portion]] = {}
    for row in view.rows("portion"):
        portion = _portion(view, row, instead)
        for label in portion.labels:
            portions.setdefault(label, []).append(portion)
    return Known(
        methods=tuple(
            (DocumentRef(row["id"], int(row["version"]), row["value"]), load(view, Method, row["value"]))
            for row in view.rows("document", kind="method", state="approved")
        ),
        portions={label: tuple(found) for label, found in portions.items()},
        batches=frozenset(),
        instruments=tuple(load(view, Instrument, row["record"]) for row in view.rows("instrument")),
        standard_lots=tuple(_lot(view, row, instead) for row in view.rows("standard_lot")),
        now=f"{at[:19]}Z",
        instrument_events=all_events(view),
    )


def bench_at(
    view: Reading, ledger: str, run: Run, corrections: RunCorrections = AS_READ, instead: Instead = AS_ON_RECORD
) -> Bench:
    """Everything about the solutions of a run: whole batches, since a portion not measured must be seen too."""
    batches = sorted({batch for batch, _ in run.portion if batch})
    rows = [row for batch in batches for row in view.rows("portion", batch=batch)]
    portions = {(row["batch"], row["portion"]): _portion(view, row, instead) for row in rows}
    samples = sorted({one.sample for one in portions.values() if one.sample})
    sample_rows = {name: view.row("sample", sample=name) for name in samples}
    specifications = {}
    for name in sorted({row["specification"] for row in sample_rows.values() if row is not None}):
        document = view.row("document", kind="specification", id=name, state="approved")
        if document is not None:
            ref = DocumentRef(document["id"], int(document["version"]), document["value"])
            specifications[name] = (ref, load(view, Specification, document["value"]))
    lots = {lot: view.row("standard_lot", lot=lot) for lot in run.standard_lots}
    return Bench(
        ledger=ledger,
        portions=portions,
        samples={name: load(view, Sample, row["record"]) for name, row in sample_rows.items() if row is not None},
        specifications=specifications,
        lots={lot: _lot(view, row, instead) for lot, row in lots.items() if row is not None},
        unmeasured={one.sample: one.words for one in corrections.unmeasured},
    )


def rested_on(view: Reading, bench: Bench, instead: Instead = AS_ON_RECORD) -> RunBench:
    """The rows of a bench by their digests: what a calculation on record rested on."""
    kept = {
        (row["batch"], row["portion"]): row["record"]
        for batch in sorted({batch for batch, _ in bench.portions})
        for row in view.rows("portion", batch=batch)
    }
    kept |= {key: record_digest(portion) for key, portion in instead.portions.items() if key in kept}
    return RunBench(
        schema="run-bench/1",
        portions=tuple(BenchRow(batch, name, kept[batch, name]) for batch, name in sorted(bench.portions)),
        lots=tuple(BenchRow("", name, record_digest(lot)) for name, lot in sorted(bench.lots.items())),
    )


def checked(view: Reading, document: RunDocument, known: Known) -> Run | tuple[Problem, ...]:
    """The run a document is, with what its layout says of its clock and of the unit of concentrations it gives."""
    layout = load(view, Layout, document.layout.digest)
    folds: dict[str, Literal[0, 1] | None] = {"refuse": None, "first": 0, "second": 1}
    return check_run(document, known, fold=folds[layout.doubled_hour], given_in=given_units(layout))


def _portion(view: Reading, row: Row, instead: Instead) -> Portion:
    return instead.portions.get((row["batch"], row["portion"])) or load(view, Portion, row["record"])


def _lot(view: Reading, row: Row, instead: Instead) -> StandardLot:
    return instead.lots.get(row["lot"]) or load(view, StandardLot, row["record"])
