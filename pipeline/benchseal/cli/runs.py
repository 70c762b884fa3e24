"""Instrument files and runs."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from benchseal.cli import show
from benchseal.cli.correction_words import change_lines, corrected_lines
from benchseal.cli.files_in import instrument_file
from benchseal.cli.opened import do, file_bytes, reading, site_of
from benchseal.cli.run_around import run_lines
from benchseal.cli.secrets_in import credentials
from benchseal.desk.acting import Receipt
from benchseal.desk.acts_registers import AddPreparation
from benchseal.desk.acts_runs import (
    AcceptRuns,
    CancelRun,
    IngestFile,
    RecalculateRun,
    ReopenRun,
    ReturnRuns,
    SignShare,
    SubmitRuns,
)
from benchseal.desk.changed import corrected_of, signatures_of_results, subjects_of_run, version_change
from benchseal.desk.perform import perform
from benchseal.desk.reading import load, sample_of_lot
from benchseal.desk.shares import shares_due
from benchseal.problems import Notice, Problem, Refusal, Stopped
from benchseal.records.quantities import decimal_of, plain, round_to_significant, unit_shown
from benchseal.records.results import BelowLimit, NotReportable, Quantified, RunWork
from benchseal.records.run import Run
from benchseal.records.species import stated_as
from benchseal.records.specification import Specification

if TYPE_CHECKING:
    from argparse import Namespace
    from collections.abc import Iterable

    from benchseal.compute.cross_check import Asked
    from benchseal.compute.explain_around import Around
    from benchseal.desk.admission import Credentials
    from benchseal.desk.site import Site
    from benchseal.records.canonical import Json
    from benchseal.records.results import CheckVerdict, Outcome, StoredUse
    from benchseal.store.protocol import Reading, Row


def ingest(args: Namespace) -> int:
    """Bring in files one by one; a refused file does not stop the next. With --watch those of a folder."""
    if args.watch:
        from benchseal.cli.watch import watch  # noqa: PLC0415

        return watch(args)
    if args.log:
        raise Stopped(Problem("watch.beside", "--log", "it goes with --watch only.", "Leave it out."))
    if not args.files:
        what = "no file is named, and no folder to watch."
        raise Stopped(Problem("ingest.nothing", "ingest", what, "Name files, or a folder with --watch."))
    said: list[str] = []
    notices: list[Notice] = []
    files: list[Json] = []
    with site_of(args) as site:
        given = credentials(args, site)
        batches = _preparation(args, site, given, said)
        asked = {name: getattr(args, name) for name in ("gap_because", "late_because", "stands", "stands_because")}
        asked["curves"] = tuple(args.curve_of)
        for names in [args.files] if args.one_run else [[name] for name in args.files]:
            try:
                data, source, parts = instrument_file(names, one_run=args.one_run)
                done = perform(site, IngestFile(data, source, args.layout, batches, parts=parts, **asked), *given)
            except Stopped as stop:
                notices += stop.notices
                continue
            said += done.said
            notices += done.notices
            files.append(done.data)
    return show.receipt(args, Receipt(tuple(said), {"files": files}, tuple(notices)))


def _preparation(args: Namespace, site: Site, given: tuple[Credentials, ...], said: list[str]) -> tuple[str, ...]:
    """Batches of the sheet named with the files; the sheet is brought in first unless its rows are already there."""
    if not args.preparation:
        return ()
    from benchseal.documents.sheets import read_preparation  # noqa: PLC0415
    from benchseal.records.preparation import Portion  # noqa: PLC0415

    data = file_bytes(args.preparation)
    read = read_preparation(data, args.preparation)
    rows = [row for row in read if isinstance(row, Portion)]
    if len(rows) != len(read):
        raise Stopped(*(each for each in read if isinstance(each, Notice)))
    with site.store.reading() as view:
        new = [row for row in rows if view.row("portion", batch=row.batch, portion=row.portion) is None]
    if new:
        said += perform(site, AddPreparation(data, args.preparation, args.late_because), *given).said
    return tuple(dict.fromkeys(row.batch for row in rows))


def sign(args: Namespace) -> int:
    """Sign one's own share."""
    return do(args, SignShare(tuple(args.runs)))


def list_all(args: Namespace) -> int:
    """Every run and its state."""
    columns = ("run", "state", "version", "element", "method", "instrument", "measured_at", "usable")
    with reading(args) as (_, view):
        rows = [[row[column] for column in columns] for row in view.rows("run")]
    return show.table(args, columns, rows, name="runs")


def show_one(args: Namespace) -> int:
    """One run; with --changes what it changes against the version reviewed before, and nothing else."""
    from benchseal.desk.rereading import absent_lines  # noqa: PLC0415

    with reading(args) as (site, view):
        row = _row(view, args.run)
        if args.changes:
            return _changes(args, view, row)
        corrected, signatures = corrected_of(view, subjects_of_run(view, row)), signatures_of_results(view, row)
        work = load(view, RunWork, row["work"])
        lots = {each["sample"]: each["lot"] for each in view.rows("sample")}
        run = load(view, Run, row["bound"])
        operator = run.document.facts.operator
        unread = absent_lines(view, site.ledger, args.run, run)
        around = run_lines(view, row)
        due = shares_due(view, row) if row["state"] == "submitted" else {}
    said = [
        f"{row['run']}, version {row['version']}, {row['state']}",
        f"{row['element']} by {row['method']} on {row['instrument']}, {row['measured_at']}"
        + (f", operator {operator}" if operator else ""),
        *around,
        *_curve_words(work),
        "checks:",
        *(f"  {_check_words(each)}" for each in work.checks),
        *_lost_words(work),
        "results:",
        *(
            f"  {each.sample} (lot {lots.get(each.sample, '?')}) {each.element} {each.quantity.replace('_', ' ')}"
            f"{stated_as(each.basis, each.expressed_as)}: "
            f"{outcome_words(each.outcome, unit_shown(each.unit))}"
            + (f", {each.verdict}" if each.verdict != "none" else "")
            for each in work.results
        ),
        *(("samples of its batches without a reading:", *unread) if unread else ()),
        *work.findings,
        *(("changed since first entry:",) if corrected else ()),
        *(f"  {line}" for line in corrected_lines(corrected)),
        *_signature_words(signatures),
        *(f"has not signed their share: {person}, who {' and '.join(did)}" for person, did in due.items()),
    ]
    from benchseal.records.shape import plain_of  # noqa: PLC0415

    shares = {person: [*did] for person, did in due.items()}
    data = {"corrected": [plain_of(each) for each in corrected], "signatures": signatures, "shares_due": shares}
    return show.lines(
        args, said, {"run": row, "work": plain_of(work), "unread": [one.strip() for one in unread], **data}
    )


def _changes(args: Namespace, view: Reading, row: Row) -> int:
    from benchseal.records.shape import plain_of  # noqa: PLC0415

    change = version_change(view, row)
    if change is None:
        return show.lines(args, ["There is no reviewed version before this one."], {"run": row, "changes": {}})
    return show.lines(args, change_lines(change), {"run": row, "changes": plain_of(change)})


def _signature_words(signatures: list[dict[str, Any]]) -> list[str]:
    """Since which version the signatures of each result hold: told where not all are of one."""
    if len({each["version"] for each in signatures}) < 2:
        return []
    by_version: dict[int, list[dict[str, Any]]] = {}
    for each in signatures:
        by_version.setdefault(each["version"], []).append(each)
    return [
        "signatures in force:",
        *(
            f"  since version {version}: {_samples(each['sample'] for each in found)}, "
            + "; ".join(f"{one['person']} {one['meaning']} {one['at']}" for one in found[0]["signatures"])
            for version, found in sorted(by_version.items())
        ),
    ]


def _samples(names: Iterable[str]) -> str:
    return ", ".join(dict.fromkeys(names))


def _curve_words(work: RunWork) -> list[str]:
    curve = work.calibration
    coefficients = ", ".join(f"b{place} {shortened(value)}" for place, value in enumerate(curve.coefficients))
    from benchseal.compute.run_words import residual_words  # noqa: PLC0415

    fit = f"{residual_words(curve, shortened(curve.residual_sd))}, r² {shortened(curve.r_squared, 6)}"
    return [
        f"curve: {curve.model.replace('_', ' ')}, weights {curve.weighting}, {curve.n} points, {coefficients}",
        f"  {fit}, standards {curve.lowest} to {curve.highest} {unit_shown(curve.unit)}",
        *(_stored_words(use, unit_shown(curve.unit)) for use in curve.stored),
    ]


def _stored_words(use: StoredUse, unit: str) -> str:
    at = f"position {use.position} ({use.nominal} {unit}), blank position {use.blank_position}"
    factor = f"{shortened(use.factor)}, its standard uncertainty {shortened(use.u_factor, 2)}"
    return f"  of {use.run}, version {use.version}, {use.measured_at}; net signals times {factor}; {at}"


def _check_words(check: CheckVerdict) -> str:
    found = f", found {shortened(check.found)} {unit_shown(check.unit)}" if check.found else ""
    limits = {
        (False, False): "",
        (True, False): f" (at least {check.low})",
        (False, True): f" (at most {check.high})",
        (True, True): f" ({check.low} to {check.high})",
    }[bool(check.low), bool(check.high)]
    why = f": {check.why}" if check.why else ""
    return f"{check.rule}: {check.verdict.replace('_', ' ')}{found}{limits}{why}"


def _lost_words(work: RunWork) -> list[str]:
    """Positions without a result, those with the same reason in one line."""
    by_reason: dict[str, list[int]] = {}
    for each in work.voided:
        by_reason.setdefault(each.why, []).append(each.position)
    return [f"no result from position {_ranges(places)}: {why}" for why, places in by_reason.items()]


def _ranges(places: list[int]) -> str:
    runs: list[list[int]] = []
    for place in sorted(places):
        if runs and place == runs[-1][1] + 1:
            runs[-1][1] = place
        else:
            runs.append([place, place])
    return ", ".join(str(first) if first == last else f"{first} to {last}" for first, last in runs)


def shortened(text: str, digits: int = 4) -> str:
    """A number of record for the screen; the record keeps all its digits."""
    return plain(round_to_significant(decimal_of(text), digits, "half_even")) if text else text


def explain(args: Namespace) -> int:
    """The worked calculation."""
    from benchseal.compute.explain import explain as worked  # noqa: PLC0415
    from benchseal.compute.explain_around import Around  # noqa: PLC0415
    from benchseal.records.shape import plain_of  # noqa: PLC0415

    asked = _asked_draws(args)
    with reading(args) as (site, view):
        row, of = _row(view, args.run), sample_of_lot(view, args.sample)
        work = load(view, RunWork, row["work"])
        results = [each for each in work.results if each.sample == of["sample"]]
        if not results:
            what = f"{args.run} has no result of {of['sample']}."
            raise Stopped(Refusal("run.no-result", args.run, what, "See `benchseal sample show`."))
        specification = load(view, Specification, results[0].specification.digest)
        run = load(view, Run, row["bound"])
        around = Around(row["run"], run, work, specification, of["sample"], of["lot"])
        drawn = _drawn(view, site.ledger, around, asked)
    data = {"run": row["run"], "sample": of["sample"], "lot": of["lot"], "calibration": plain_of(work.calibration)}
    said = (*worked(around), *drawn[0])
    data |= {"lines": list(said), "results": [plain_of(each) for each in results]}
    return show.lines(args, said, data | ({"monte_carlo": drawn[1]} if asked else {}))


def _asked_draws(args: Namespace) -> Asked | None:
    """Trials and seed of a cross-check; None where none was asked for."""
    if args.monte_carlo is None and args.seed is None:
        return None
    from benchseal.compute.cross_check import asked_draws  # noqa: PLC0415

    asked = asked_draws(args.monte_carlo, args.seed)
    if isinstance(asked, tuple):
        raise Stopped(*asked)
    return asked


def _drawn(
    view: Reading, ledger: str, around: Around, asked: Asked | None
) -> tuple[list[str], list[dict[str, object]]]:
    """Lines and values of the cross-check of each result; nothing where none was asked for."""
    if asked is None:
        return [], []
    from benchseal.compute.explain_cross_check import cross_check_lines, cross_check_values  # noqa: PLC0415
    from benchseal.desk.cross_checks import drawn_again  # noqa: PLC0415

    found = drawn_again(view, ledger, around, asked)
    return [line for pair in found for line in cross_check_lines(*pair)], [cross_check_values(*pair) for pair in found]


def recalculate(args: Namespace) -> int:
    """Calculate again."""
    return do(args, RecalculateRun(args.run, args.reason, args.gap_because))


def submit(args: Namespace) -> int:
    """Submit."""
    return do(args, SubmitRuns(tuple(args.runs)))


def accept(args: Namespace) -> int:
    """Accept."""
    return do(args, AcceptRuns(tuple(args.runs)))


def return_(args: Namespace) -> int:
    """Return."""
    return do(args, ReturnRuns(tuple(args.runs), args.reason))


def cancel(args: Namespace) -> int:
    """Cancel: analyst first, then reviewer."""
    return do(args, CancelRun(args.run, args.reason), 2)


def reopen(args: Namespace) -> int:
    """Reopen: analyst first, then whoever consents."""
    return do(args, ReopenRun(args.run, args.reason), 2)


def outcome_words(outcome: Outcome, unit: str) -> str:
    """A result in one phrase."""
    match outcome:
        case Quantified():
            return f"{outcome.value_text} ± {outcome.expanded_text} {unit} (k = {outcome.k})"
        case BelowLimit():
            return f"{outcome.value_text} {unit}"
        case NotReportable():
            return f"no value: {outcome.why}"


def _row(view: Reading, run: str) -> Row:
    row = view.row("run", run=run)
    if row is None:
        raise Stopped(Refusal("run.unknown", run, "there is no such run.", "See `benchseal run list`."))
    return row
