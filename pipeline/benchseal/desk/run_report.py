"""The full report of one run for its reviewer, gathered from the record as it stands; looking writes nothing."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from benchseal import __version__
from benchseal.certificate import wording
from benchseal.certificate.run_report import RunReport
from benchseal.compute.explain import explain_without_curve
from benchseal.compute.explain_around import Around
from benchseal.desk.bench import corrections_of
from benchseal.desk.changed import corrected_of, subjects_of_run
from benchseal.desk.clock import stamp
from benchseal.desk.reading import all_entries, load
from benchseal.desk.record_reports import events_of, printed_person, shown_signatures
from benchseal.desk.run_report_parts import (
    Gathered,
    calculation_part,
    changes_part,
    checks_part,
    conditions_part,
    curve_part,
    documents_part,
    plan_part,
    readings_part,
    results_part,
)
from benchseal.identity.statements import local_time
from benchseal.problems import Refusal, Stopped
from benchseal.records.corrections import RunBench
from benchseal.records.preparation import Portion
from benchseal.records.results import RunWork
from benchseal.records.run import Run, RunDocument
from benchseal.records.specification import Specification

if TYPE_CHECKING:
    from benchseal.desk.site import Site
    from benchseal.records.entries import Entry
    from benchseal.store.protocol import Row
    from benchseal.store.sqlite import SqliteReading


@dataclass(frozen=True, slots=True)
class _Stand:
    """How the run stands, in one sentence."""

    words: str
    kind: Literal["complies", "fails", "open"]


def run_report(site: Site, view: SqliteReading, run: str, person: str) -> tuple[RunReport, list[Entry]]:
    """Everything on record about one run. Raises Stopped where there is no such run."""
    row = view.row("run", run=run)
    if row is None:
        raise Stopped(Refusal("run.unknown", run, "there is no such run.", "See `benchseal run list`."))
    of = gathered(view, row)
    subjects = subjects_of_run(view, row)
    corrected = corrected_of(view, subjects)
    told = {one.entry for one in corrected}
    entries = [one for one in all_entries(view) if one.subject == f"run/{run}" or one.seq in told]
    site_row = view.row("site", ledger=site.ledger) or {}
    now, zone = stamp(site.clock()), str(site_row.get("zone", "UTC"))
    parts = (
        conditions_part(of),
        plan_part(view, of),
        results_part(of),
        checks_part(of),
        curve_part(of),
        readings_part(of),
        calculation_part(_worked(view, of)),
        changes_part(view, of, corrected),
        documents_part(view, of),
    )
    stand = _stand(of)
    return RunReport(
        subject=run,
        stand=stand.words,
        stand_kind=stand.kind,
        laboratory=str(site_row.get("name", "")),
        address=str(site_row.get("address", "")).replace("\n", ", "),
        program=f"benchseal {__version__}",
        made_at=f"{now[:19]}Z",
        about=(
            ("measured", f"{local_time(_to_milliseconds(of.run.measured_at), zone)}, {_utc(of.run.measured_at)}"),
            ("method", f"{of.run.method_ref.id} version {of.run.method_ref.version}: {of.run.method.title}"),
            ("instrument", of.run.instrument),
            ("version", f"{row['version'] or 'none submitted yet'}; calculation rules {of.work.calculation_rules}"),
            ("made", f"{local_time(now, zone)}, {_utc(now)}, by {printed_person(view, person)}"),
            ("ledger", f"{site.ledger}, {view.size()} entries, of which {len(entries)} are told here"),
            ("what this is", "a report for reviewers: not sealed, not a certificate"),
        ),
        parts=tuple(part for part in parts if part.items),
        signatures=shown_signatures(entries),
        events=events_of(view, entries, zone),
    ), entries


def gathered(view: SqliteReading, row: Row) -> Gathered:
    """The records of a run that its report is made from."""
    run, work = load(view, Run, row["bound"]), load(view, RunWork, row["work"])
    portions = {
        (one.batch, one.name): load(view, Portion, one.record) for one in load(view, RunBench, row["bench"]).portions
    }
    lots = {one["sample"]: str(one["lot"]) for one in view.rows("sample")}
    return Gathered(
        row=row,
        run=run,
        as_read=load(view, RunDocument, row["document"]),
        work=work,
        corrections=corrections_of(view, row),
        portions=portions,
        lots={sample: lots.get(sample, "") for sample in {one.sample for one in portions.values()} if sample},
    )


def _worked(view: SqliteReading, of: Gathered) -> list[tuple[str, tuple[str, ...]]]:
    """Title and lines of the worked calculation of each sample, from the one record; nothing is calculated."""
    found = []
    for sample in dict.fromkeys(one.sample for one in of.work.results):
        first = next(one for one in of.work.results if one.sample == sample)
        specification = load(view, Specification, first.specification.digest)
        around = Around(of.row["run"], of.run, of.work, specification, sample, of.lots.get(sample, ""))
        found.append((f"Sample {sample}, lot {of.lots.get(sample, '')}", explain_without_curve(around)))
    return found


def _stand(of: Gathered) -> _Stand:
    state = str(of.row["state"])
    failed = sum(one.verdict == "fail" for one in of.work.checks)
    without = sum(one.outcome.kind == "not_reportable" for one in of.work.results)
    beyond = sum(one.verdict in {"fail", "conditional fail"} for one in of.work.results)
    parts = [
        f"{wording.counted(count)} {one if count == 1 else many}"
        for count, one, many in (
            (failed, "check fails", "checks fail"),
            (without, "result has no value", "results have no value"),
            (beyond, "result is outside its limit", "results are outside their limits"),
        )
        if count
    ]
    said = f"{wording.capital(state)}; {'usable' if of.work.usable else 'not usable'}"
    words = f"{said}: {wording.listed(parts) if parts else 'every check passes and every result has a value'}."
    return _Stand(words, "complies" if of.work.usable and not parts else "open" if of.work.usable else "fails")


def _utc(at: str) -> str:
    return f"{at[:19].replace('T', ' ')} UTC"


def _to_milliseconds(at: str) -> str:
    """``2026-11-16T09:15:00Z`` as entries write it."""
    return at if "." in at else f"{at.removesuffix('Z')}.000Z"
