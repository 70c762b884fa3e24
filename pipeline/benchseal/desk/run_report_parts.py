"""The chapters of a run's report: what stands in each, in reading order."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from benchseal.certificate import wording
from benchseal.certificate.figures import calibration_data, check_data, limit_pictures, shares_data
from benchseal.certificate.figures_run import over_run_data, standards_left_out
from benchseal.certificate.present_runs import fit_line
from benchseal.certificate.run_check_tables import CHECKS, checks_table, rules_table, statistics_table
from benchseal.certificate.run_report import (
    TEXT_WIDTH,
    Calculation,
    Column,
    Figure,
    Item,
    Part,
    Table,
    Words,
)
from benchseal.certificate.run_tables import (
    LEVELS,
    READINGS,
    RESULTS,
    SHARES,
    coefficients_table,
    conditions,
    levels_table,
    origins_table,
    readings_table,
    results_table,
    shares_table,
    voided_table,
)
from benchseal.compute.run_gaps import number_findings
from benchseal.desk.changed import version_change
from benchseal.desk.plan_differences import against_plans
from benchseal.desk.unmeasured import unread
from benchseal.pictures.against_limit import limit_picture
from benchseal.pictures.calibration import calibration_picture
from benchseal.pictures.check_chart import check_picture
from benchseal.pictures.over_run import over_run_picture
from benchseal.pictures.shares import shares_picture
from benchseal.records.elements import element_name

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from benchseal.desk.changed import Corrected
    from benchseal.pictures.against_limit import LimitData
    from benchseal.records.corrections import RunCorrections
    from benchseal.records.preparation import Portion
    from benchseal.records.results import CheckVerdict, RunWork, WorkedResult
    from benchseal.records.run import Run, RunDocument
    from benchseal.store.protocol import Reading, Row

CHANGES = "Recorded values changed after their first entry"
UNCHANGED = "Nothing it rests on was changed since it was first entered."
VERSIONS = "Results of this version that differ from those reviewed before"
DOCUMENTS = "Controlled documents used"
OBJECTS = "Records this report is made from"
_CURVE = TEXT_WIDTH * 0.62
_BESIDE = TEXT_WIDTH * 0.46
_LONGEST_NAME = 28
_LEAST_VALUES = 2  # of a rule, for a chart


@dataclass(frozen=True, slots=True)
class Gathered:
    """The records of one run. as_read: the document as the file was; portions by batch and label; lots by sample."""

    row: Row
    run: Run
    as_read: RunDocument
    work: RunWork
    corrections: RunCorrections
    portions: Mapping[tuple[str, str], Portion]
    lots: dict[str, str]

    @property
    def named(self) -> str:
        """``Lead, 283.3 nm``."""
        method = self.run.method
        return f"{wording.capital(element_name(method.element))}, {method.wavelength_nm} nm"

    def portion_at(self, place: int) -> Portion | None:
        """The preparation of a solution; None for calibration and checks."""
        return self.portions.get(self.run.portion[place])

    def lot_of(self, result: WorkedResult) -> str:
        """How a picture calls a result: by lot, shortened where it is long, else by sample."""
        name = self.lots.get(result.sample) or result.sample
        return name if len(name) <= _LONGEST_NAME else f"{name[: _LONGEST_NAME - 1]}…"


def conditions_part(of: Gathered) -> Part:
    """What was measured, how, and what the program found to say."""
    items: list[Item] = [conditions(of.run, of.named)]
    findings = (*of.work.findings, *number_findings(of.run))
    if findings:
        items.append(Words(tuple(dict.fromkeys(findings))))
    if reagents := _reagents(of):
        items.append(Words(reagents))
    return Part("Conditions and findings", tuple(items))


def _reagents(of: Gathered) -> tuple[str, ...]:
    """Lots of reagents as the preparation sheet has them, with the portions they went into."""
    used: dict[str, list[str]] = {}
    for one in of.portions.values():
        if one.reagent_lots:
            used.setdefault(one.reagent_lots, []).append(f"{one.batch}/{one.portion}")
    return tuple(f"Reagents of {wording.listed(portions)}: {lots}" for lots, portions in used.items())


def plan_part(view: Reading, of: Gathered) -> Part:
    """What was done otherwise than planned; empty where no plan was made for what the run measured."""
    items: list[Item] = []
    columns = (Column("position", 10, figures=True), Column("otherwise than planned", 90))
    for plan, found in against_plans(view, of.run):
        rows = tuple((str(one.position) if one.position else "", one.words) for one in found)
        title = f"Plan {plan.plan}, batch {plan.batch}"
        items.append(Table(title, columns, rows) if rows else Words((f"{title}: measured as planned.",)))
    return Part("Against the plan", tuple(items))


def results_part(of: Gathered) -> Part:
    """Results with their pictures, what they were made from, what has none."""
    results = of.work.results
    if not results:
        return Part("Results", (Words(("The run gives no results.",)),))
    items: list[Item] = [results_table(results, of.lots)]
    for data in limit_pictures(results, of.lot_of):
        caption = (
            f"{data.subject}, {data.quantity} against its limit. Circle and whiskers: value ± U; empty bar: below the "
            "quantification limit; long line: limit; short line and light band: acceptance limit and guard band."
        )
        items.append(_limit_figure(data, caption))
    budgets = [one for one in results if one.contributions]
    items += [_share_figure(of, one) for one in budgets]
    items += [shares_table(budgets, of.lots)] if budgets else []
    items.append(origins_table(of.work, of.lots))
    voided = voided_table(of.work)
    return Part("Results", (*items, *((voided,) if voided else ())))


def _limit_figure(data: LimitData, caption: str) -> Item:
    try:
        return Figure("against_limit", limit_picture(data, TEXT_WIDTH), caption, RESULTS)
    except ValueError:  # values of very many figures
        return Words((f"{data.subject} is not drawn against its limit: its values leave no room. See the table.",))


def _share_figure(of: Gathered, result: WorkedResult) -> Figure:
    named = f"{of.lot_of(result)}, {result.quantity.replace('_', ' ')}"
    caption = f"{named}: shares of the variance of its uncertainty, largest first."
    return Figure("shares", shares_picture(shares_data(result, named), _BESIDE), caption, SHARES, half=True)


def checks_part(of: Gathered) -> Part:
    """Every verdict, every rule, a chart for each rule judged more than once, drift and blanks."""
    figures = [
        Figure(
            "check_chart",
            picture := check_picture(check_data(own, f"{rule} of run {of.row['run']}"), TEXT_WIDTH, 115.0),
            f"{rule} over the run. A circle passed; a cross did not, and its words stand beside it.",
            CHECKS,
            picture.notes,
        )
        for rule, own in _charted(of.work.checks)
    ]
    rules = rules_table(of.work.checks, of.run.method)
    return Part("Checks", (checks_table(of.work.checks, of.run.method), *figures, *_over_run(of), rules))


def _charted(checks: Sequence[CheckVerdict]) -> Iterator[tuple[str, list[CheckVerdict]]]:
    """Rules whose verdicts are each about one solution of the laboratory's own, and more than one has a number."""
    by_rule: dict[str, list[CheckVerdict]] = {}
    for one in checks:
        if one.found and len(one.positions) == 1 and not one.made_on_sample and one.check != "calibration":
            by_rule.setdefault(one.rule, []).append(one)
    yield from ((rule, own) for rule, own in by_rule.items() if len(own) >= _LEAST_VALUES)


def _over_run(of: Gathered) -> Iterator[Figure]:
    kinds = [
        portion.kind if (portion := of.portion_at(place)) else kind
        for place, kind in enumerate(of.run.document.solutions.kind)
    ]
    data = over_run_data(of.run, of.work, kinds, of.named)
    if data is None:
        return
    caption = "Drift and blanks over the order of the run, every reading as read."
    if data.standards:
        caption += " Broken line: mean of the first check standard."
    if data.standard_line or data.blank_line:
        caption += " Full line: between the checks, by which signals were corrected for drift."
    yield Figure("over_run", over_run_picture(data, TEXT_WIDTH, 190.0), caption, READINGS)


def curve_part(of: Gathered) -> Part:
    """The picture, the numbers of the curve, its statistics."""
    found = of.work.calibration
    squared = f"; r² {found.r_squared}" if found.r_squared else ""
    relative = f"; relative standard error {found.rse_percent} %" if found.rse_percent else ""
    lines = [
        (
            f"{wording.capital(fit_line(found))}; {found.df} degrees of freedom; "
            f"residual standard deviation {found.residual_sd or 'not defined'}{squared}{relative}."
        ),
        *([f"Why this form of the curve: {found.chosen_because}."] if found.chosen_because else []),
        *(f"The curve is that of run {one.run}, version {one.version}; factor {one.factor}." for one in found.stored),
    ]
    items: list[Item] = [Words(tuple(lines)), _curve_figure(of)]
    items += [coefficients_table(found), levels_table(found)]
    statistics = statistics_table(found.diagnostics)
    return Part("Calibration", (*items, *((statistics,) if statistics else ())))


def _curve_figure(of: Gathered) -> Item:
    drawn, told = standards_left_out(of.run, of.as_read, of.work, of.corrections)
    try:
        data = calibration_data(of.work.calibration, of.named, drawn)
    except ValueError:  # all standards of one concentration
        return Words(("The curve is not drawn: it has no two levels.", *told))
    picture = calibration_picture(data, _CURVE, 220.0)
    caption = (
        "Calibration with residuals. Circles: standards of the fit, each the mean of its readings; light band: curve "
        "± 2 standard uncertainties, from the covariance of its coefficients."
    )
    if drawn:
        caption += " Broken circles: left out of the fit, with the reason."
    return Figure("calibration", picture, caption, LEVELS, (*picture.notes, *told))


def readings_part(of: Gathered) -> Part:
    """Every reading with its line of the file."""
    facts = of.run.document
    held = {position: _held(of, place) for place, position in enumerate(facts.solutions.position)}
    words = f"From {facts.source_name}, SHA-256 {facts.source_sha256}. Lines are those of the file, from 1."
    excluded = [f"Position {one.position} was left out: {one.cause}." for one in of.corrections.excluded]
    told = [(unread(of.run, of.portions.values(), one.sample), one) for one in of.corrections.unmeasured]
    unmeasured = [f"Sample {named} was not measured: {one.words}." for named, one in told if named]
    said = Words((words, *(excluded or ["No position was left out."]), *unmeasured))
    return Part("Raw readings", (said, readings_table(of.run, of.as_read, of.corrections, held)))


def _held(of: Gathered, place: int) -> str:
    """``sample S-00001, lot A-1``; ``method blank``."""
    portion = of.portion_at(place)
    if portion is None:
        return of.run.document.solutions.kind[place].replace("_", " ")
    lot = of.lots.get(portion.sample, "")
    kind = portion.kind.replace("_", " ")
    return ", ".join(filter(None, (f"{kind} {portion.sample}".strip(), f"lot {lot}" if lot else "")))


def calculation_part(worked: Iterable[tuple[str, tuple[str, ...]]]) -> Part:
    """The worked calculations, as ``run explain`` prints them; the curve stands in its own chapter."""
    said = Words(("Each as benchseal run explain prints it, from the record; the curve, common to all, stands above.",))
    calculations = tuple(Calculation(title, lines) for title, lines in worked)
    return Part("Worked calculations", (said, *calculations) if calculations else ())


def changes_part(view: Reading, of: Gathered, corrected: Sequence[Corrected]) -> Part:
    """Whether anything was changed since it was entered: old, new, who, when, why; what that changed of results."""
    first = _changed(corrected) if corrected else Words((UNCHANGED,))
    return Part("Changes since entry", (first, *_between_versions(view, of)))


def _changed(corrected: Sequence[Corrected]) -> Table:
    columns = (
        Column("entry", 6, figures=True),
        Column("of", 18),
        Column("what", 16),
        Column("old", 13),
        Column("new", 13),
        Column("who, when (UTC)", 16),
        Column("why", 18),
    )
    rows = tuple(
        (str(one.entry), one.subject, one.name, one.old, one.new, f"{one.person}, {_minute(one.at)}", one.reason)
        for one in corrected
    )
    return Table(CHANGES, columns, rows)


def _between_versions(view: Reading, of: Gathered) -> Iterator[Table]:
    change = version_change(view, of.row)
    if change is not None and change.results:
        columns = (
            Column("sample, lot", 20),
            Column("result", 20),
            Column(f"version {change.before}", 30),
            Column(f"version {change.after}", 30),
        )
        rows = tuple(
            (
                f"{one.sample}, {one.lot}",
                one.what,
                f"{one.old}, {one.old_verdict}".rstrip(", "),
                f"{one.new}, {one.new_verdict}".rstrip(", "),
            )
            for one in change.results
        )
        yield Table(VERSIONS, columns, rows)


def documents_part(view: Reading, of: Gathered) -> Part:
    """Versions and digests of what was used, so that it can be asked for again."""
    used = [("method", of.run.method_ref), ("layout", of.run.document.layout)]
    used += [("specification", ref) for ref in dict.fromkeys(one.specification for one in of.work.results)]
    columns = (Column("kind", 13), Column("document", 22), Column("version", 8, figures=True), Column("approved", 17))
    rows = []
    for kind, ref in used:
        found = view.row("document", kind=kind, id=ref.id, version=str(ref.version)) or {}
        approved = f"{_minute(str(found.get('approved_at', '')))} {found.get('approver', '')}".strip()
        rows.append((kind, ref.id, str(ref.version), approved, ref.digest))
    documents = Table(DOCUMENTS, (*columns, Column("SHA-256", 40, digest=True)), tuple(rows))
    digest = Column("SHA-256", 68, digest=True)
    return Part("Documents and records used", (documents, Table(OBJECTS, (Column("record", 32), digest), _objects(of))))


def _objects(of: Gathered) -> tuple[tuple[str, str], ...]:
    names = (
        ("instrument file", "source_sha256"),
        ("readings as read", "document"),
        ("run as calculated", "bound"),
        ("calculation", "work"),
        ("preparation and standards", "bench"),
        ("corrections", "corrections"),
        ("manifest submitted", "manifest"),
        ("manifest reviewed", "reviewed_manifest"),
    )
    return tuple((label, str(of.row[name])) for label, name in names if of.row[name])


def _minute(at: str) -> str:
    return at[:16].replace("T", " ")
