"""Instrument files to runs: each file whole or not at all. A refused file leaves its bytes and its report, no run."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from benchseal.compute.run_work import work_run
from benchseal.desk.acting import Acting, Receipt, as_json
from benchseal.desk.arrival import late_run, note_late_run, unfit_instrument
from benchseal.desk.bench import Worked, bench_at, checked, corrections_of, known_at, rested_on, worked_again
from benchseal.desk.exceedances import note_results, operator_of
from benchseal.desk.in_force import in_force
from benchseal.desk.lending import elsewhere, lent_by
from benchseal.desk.means_gone import means_gone
from benchseal.desk.numbering import explained, with_gaps
from benchseal.desk.plan_differences import plan_lines
from benchseal.desk.reading import load
from benchseal.desk.repeats import EARLIER, note_decision, repeats_of, require_words, twice_in_file, undecided
from benchseal.desk.rereading import absent_lines
from benchseal.desk.runs import require_reason, run_contributors
from benchseal.desk.same_readings import sharing
from benchseal.desk.texts import kept_notices
from benchseal.ingest.joining import placed
from benchseal.ingest.reader import read_file, recognise, strangers
from benchseal.problems import Notice, Problem, Refusal, Stopped
from benchseal.records.canonical import canonical_bytes, digest
from benchseal.records.ids import run_number
from benchseal.records.known import Lent
from benchseal.records.layout import Layout
from benchseal.records.results import NotReportable, RunWork
from benchseal.records.run import DocumentRef, Run
from benchseal.records.shape import record_bytes
from benchseal.review.cycles import RUN, decide
from benchseal.review.duty import Situation

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.desk.acts_runs import IngestFile, RecalculateRun
    from benchseal.records.canonical import Digest, Json
    from benchseal.records.run import NumberGap, RunDocument
    from benchseal.store.protocol import Reading


@dataclass(frozen=True, slots=True)
class Trial:
    """What a file would give: the runs it holds, bound and calculated, or every problem."""

    runs: tuple[Worked, ...]
    problems: tuple[Notice, ...]


def ingest_file(acting: Acting, act: IngestFile) -> Receipt:
    """Bring in one file. Its bytes are kept in any case."""
    name = digest(act.data)
    known = acting.tx.row("source_file", sha256=name)
    if known is not None and known["state"] == "accepted" and _still_counts(acting.tx, name):
        what = f"the same bytes came in before, as {known['name']}."
        raise Stopped(
            Refusal("ingest.already", act.source, what, "Nothing needs to be done; see `benchseal run list`.")
        )
    require_words(acting, act)
    tried = try_file(acting, act)
    if tried.problems:
        return _refused(acting, act, tried.problems)
    new = [worked.run for worked in tried.runs]
    shared = sharing(acting.tx, new)
    repeats = repeats_of(acting.tx, act, new, shared)
    if open_ones := undecided(acting, act, new, repeats):
        return _refused(acting, act, open_ones)
    if act.stands == EARLIER:
        raw = acting.tx.keep(act.data)
        lines = note_decision(acting, act, repeats, ())
        return Receipt((*lines, "No run was made; the bytes are kept."), {"file": raw, "runs": []})
    raw = acting.tx.keep(act.data)
    said: list[str] = []
    runs: list[str] = []
    notices: list[Notice] = []
    for worked, same in zip(tried.runs, shared, strict=True):
        run, number = worked.run, _write_run(acting, act, raw, worked)
        note_late_run(acting, number, run, act.late_because)
        runs.append(number)
        noted = note_results(acting, number, run, worked.work)
        said += (*about_run(number, run, worked.work), *absent_lines(acting.tx, acting.site.ledger, number, run))
        said += (*plan_lines(acting.tx, run), *noted.said)
        said += (f"  {one.words}" for one in same)
        notices += noted.notices
        if act.gap_because.strip() and not run.number_gaps:
            said.append("  no gap in its reading numbers: the explanation given is not kept with it")
        if run.document.facts.operator and not operator_of(acting.tx, run):
            said.append(f"  the file names {run.document.facts.operator!r} as operator, which is no user id here")
    said += note_decision(acting, act, repeats, [*zip(new, runs, strict=True)])
    said += (f"  looked at before: {one['at']} by {one['person']}" for one in acting.tx.rows("trial", sha256=name))
    said.append("Look with `benchseal run show`, then submit.")
    return Receipt(tuple(said), {"file": name, "runs": [*runs]}, tuple(notices))


def _still_counts(view: Reading, raw: str) -> bool:
    """Whether any run of a file stands; a file whose runs were all cancelled may come in again."""
    return any(row["state"] != "cancelled" for row in view.rows("run", source_sha256=raw))


def try_file(acting: Acting, act: IngestFile) -> Trial:
    """Read, validate and calculate, storing nothing. Problems of joined files name the file and its own line."""
    tried = _tried(acting, act)
    if not act.parts:
        return tried
    return replace(tried, problems=tuple(placed(each, act.source, act.parts) for each in tried.problems))


def _tried(acting: Acting, act: IngestFile) -> Trial:
    documents = _read(acting.tx, act)
    named = lent_by(acting.tx, act.curves, act.source)
    lenders = [one for one in named if isinstance(one, Lent)]
    problems: list[Notice] = [one for one in named if isinstance(one, Problem)]
    problems += elsewhere(lenders, documents, act.source)
    if problems:
        return Trial((), tuple(problems))
    known = replace(known_at(acting.tx, acting.at), batches=frozenset(act.batches), lent=tuple(lenders))
    sound: list[Run] = []
    for document in documents:
        if isinstance(document, Problem):
            problems.append(document)
            continue
        problems += means_gone(acting.tx, document)
        run = checked(acting.tx, document, known)
        if isinstance(run, tuple):
            problems += run
        else:
            problems += [*unfit_instrument(acting.tx, run), *late_run(acting, run, act.late_because)]
            sound.append(run)
    problems += twice_in_file(sound)
    made: list[Worked] = []
    for run in with_gaps(acting.tx, sound, act.gap_because, acting.first.person):
        bench = bench_at(acting.tx, acting.site.ledger, run)
        work = work_run(run, bench)
        if isinstance(work, tuple):
            problems += work
        else:
            made.append(Worked(run, work, rested_on(acting.tx, bench)))
    return Trial(tuple(made), tuple(problems))


def recalculate_run(acting: Acting, act: RecalculateRun) -> Receipt:
    """Validate and calculate a run again with the documents, preparation and standards in force now."""
    require_reason(act.reason, "run recalculate")
    row = acting.tx.row("run", run=act.run)
    if row is None:
        raise Stopped(Refusal("run.unknown", act.run, "there is no such run.", "See `benchseal run list`."))
    situation = Situation(f"run {act.run}", row["state"], run_contributors(acting.tx, act.run))
    decided = decide(RUN, "recalculate", situation, acting.first.person)
    if isinstance(decided, Refusal):
        raise Stopped(decided)
    before = load(acting.tx, Run, row["bound"])
    gaps = _explained(before, act, acting.first.person)
    known, corrections = known_at(acting.tx, acting.at), corrections_of(acting.tx, row)
    worked = worked_again(acting.tx, known, row, corrections, ledger=acting.site.ledger, gaps=gaps)
    if isinstance(worked, tuple):
        raise Stopped(*worked)
    acting.write("run.calculated", f"run/{act.run}", digests=kept_work(acting, worked), reason=act.reason)
    noted = note_results(acting, act.run, worked.run, worked.work)
    said = (f"{act.run} is calculated again.", *about_run(act.run, worked.run, worked.work), *noted.said)
    return Receipt(said, {"run": act.run}, noted.notices)


def kept_work(acting: Acting, worked: Worked) -> dict[str, Digest]:
    """A calculation kept: digests of the bound run, of what was calculated, and of what it rested on."""
    parts = {"bound": worked.run, "work": worked.work, "bench": worked.bench}
    return {name: acting.tx.keep(record_bytes(part)) for name, part in parts.items()}


def kept_parts(acting: Acting, act: IngestFile) -> dict[str, Digest]:
    """Digests of the files that were joined, as they came; none where one file is the whole."""
    return {f"part_{place:02d}": acting.tx.keep(part.data) for place, part in enumerate(act.parts, start=1)}


def portions_of_run(worked: Worked) -> Json:
    """Batch and label of every portion a run measured or gives a result of."""
    measured = {key for key in worked.run.portion if key[0]}
    named = {(row.batch, row.portion) for result in worked.work.results for row in result.portions}
    return as_json([list(key) for key in sorted(measured | named)])


def _explained(before: Run, act: RecalculateRun, by: str) -> tuple[NumberGap, ...]:
    """The gaps found when the file came in, with the explanation given now for those that had none."""
    if act.gap_because.strip() and all(gap.because for gap in before.number_gaps):
        what = "it has no gap in its reading numbers that lacks an explanation."
        raise Stopped(Refusal("run.no-gap", act.run, what, "Leave --gap-because out; see `benchseal run show`."))
    return explained(before.number_gaps, act.gap_because, by)


def nothing_in(source: str) -> Problem:
    """What a file without a byte is refused with."""
    return Problem("ingest.empty", source, "the file is empty.", "Export it at the instrument again.")


def layouts_in_force(view: Reading) -> list[tuple[DocumentRef, Layout]]:
    """Every reading layout a file that comes in is held against."""
    return [
        (DocumentRef(row["id"], int(row["version"]), row["value"]), load(view, Layout, row["value"]))
        for row in view.rows("document", kind="layout", state="approved")
    ]


def _read(view: Reading, act: IngestFile) -> tuple[RunDocument, ...] | tuple[Problem, ...]:
    if not act.data:
        return (nothing_in(act.source),)
    layouts = layouts_in_force(view)
    if act.layout:
        row = in_force(view, "layout", act.layout)
        if isinstance(row, str):
            what = f"no reading layout {act.layout} is in force: {row}."
            return (Problem("ingest.layout-unknown", act.source, what, "See `benchseal document list`."),)
        ref, layout = next(pair for pair in layouts if pair[0].id == row["id"])
        return read_file(act.data, act.source, layout, ref, act.parts)
    if other := strangers(act.parts, layouts):
        return other
    found = recognise(act.data, layouts, act.source)
    if isinstance(found[0], Problem):
        return found  # all problems, or none
    ref, layout = found
    return read_file(act.data, act.source, layout, ref, act.parts)


def _write_run(acting: Acting, act: IngestFile, raw: str, worked: Worked) -> str:
    tx, run = acting.tx, worked.run
    count = acting.count("run")
    number = run_number(count)
    acting.write(
        "run.ingested",
        f"run/{number}",
        facts={
            "count": count,
            "name": act.source,
            "element": run.method.element,
            "method": run.method.id,
            "instrument": run.instrument,
            "operator": operator_of(tx, run),
            "measured_at": run.measured_at,
            "portions": portions_of_run(worked),
        },
        digests={
            "raw": raw,
            "document": tx.keep(record_bytes(run.document)),
            **kept_work(acting, worked),
            **kept_parts(acting, act),
        },
        reason=act.gap_because.strip() if run.number_gaps else "",
    )
    return number


def _refused(acting: Acting, act: IngestFile, problems: Sequence[Notice]) -> Receipt:
    report = canonical_bytes(
        as_json(
            {
                "schema": "refusal-report/1",
                "source": act.source,
                "problems": kept_notices(problems),
            }
        )
    )
    raw = acting.tx.keep(act.data)
    acting.write(
        "file.refused",
        f"file/{raw[:16]}",
        facts={"name": act.source, "codes": as_json(sorted({each.code for each in problems}))},
        digests={"raw": raw, "report": acting.tx.keep(report), **kept_parts(acting, act)},
    )
    count = f"{len(problems)} problem{'s' if len(problems) != 1 else ''}"
    said = f"{act.source} is refused: {count}. Its bytes and this report are kept; no run was made."
    return Receipt((said,), {"file": raw, "runs": [], "problems": len(problems)}, tuple(problems))


def about_run(number: str, run: Run, work: RunWork) -> list[str]:
    """What an analyst wants to know first about a run that came in; each failed check once, with what it voids."""
    lost = [result for result in work.results if isinstance(result.outcome, NotReportable)]
    good = len(work.results) - len(lost)
    failed = dict.fromkeys(check.why or check.rule for check in work.checks if check.verdict == "fail")
    of_check = {said: why for why in failed for said in work.findings if said == why or said.startswith(f"{why} (")}
    results = f"{good} result{'s' if good != 1 else ''}"
    said = [f"{number}: {run.method.title}; {results}" + (f", {len(lost)} without a value" if lost else "")]
    said += [f"  check failed: {why}" for why in failed if why not in of_check.values()]
    said += [
        f"  position {each.position}: no value: {each.why}" for each in work.voided if each.code != "portion.not-used"
    ]
    return [*said, *(f"  {'check failed: ' if each in of_check else ''}{each}" for each in work.findings)]
