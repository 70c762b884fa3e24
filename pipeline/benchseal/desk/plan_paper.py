"""A run plan as a view for paper: reminders first, then what to prepare, then the order of each run."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal import __version__
from benchseal.certificate.plan_page import PlanPage
from benchseal.certificate.run_report import Column, Facts, Part, Table, Words
from benchseal.desk.plans import load_plan, plan_row
from benchseal.identity.statements import local_time
from benchseal.planning.tubes import ready_of
from benchseal.planning.volumes import taken_of
from benchseal.records.quantities import unit_shown

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from benchseal.desk.site import Site
    from benchseal.records.plan import PlannedRun, PlannedSolution, RunPlan
    from benchseal.records.preparation import Portion
    from benchseal.store.protocol import Reading

_PREPARE = (
    Column("tube", 11),
    Column("what", 15),
    Column("sample, lot", 16),
    Column("for", 8),
    Column("to mL", 7, figures=True),
    Column("then diluted", 13),
    Column("addition or content due", 17),
    Column("weighed g / done by", 13),
)
_ORDER = (
    Column("place", 6, figures=True),
    Column("tube", 12),
    Column("what", 16),
    Column("sample", 11),
    Column("holds", 10, figures=True),
    Column("diluted", 7, figures=True),
    Column("expected", 10, figures=True),
    Column("for the rules", 20),
    Column("seen", 8),
)
_READY = (
    Column("tube", 18),
    Column("what", 32),
    Column("holds", 20, figures=True),
    Column("times read", 12, figures=True),
    Column("at least mL", 18, figures=True),
)

_TAKEN = (
    Column("tube", 16),
    Column("solution", 20),
    Column("taken, mL", 32),
    Column("together mL", 12, figures=True),
    Column("made up mL", 12, figures=True),
    Column("", 8),
)


def plan_page(site: Site, view: Reading, number: str) -> PlanPage:
    """The plan of this number. Raises Stopped where there is none."""
    row, plan = plan_row(view, number), load_plan(view, number)
    own = view.row("site", ledger=site.ledger) or {}
    zone = str(own.get("zone", "UTC"))
    person = view.row("person", person=row["person"])
    lots = {each["sample"]: str(each["lot"]) for each in view.rows("sample")}
    name = person["printed_name"] if person else row["person"]
    return PlanPage(
        title="Run plan",
        subject=number,
        laboratory=str(own.get("name", "")),
        address=str(own.get("address", "")).replace("\n", ", "),
        program=f"benchseal {__version__}",
        made_at=f"{str(row['at'])[:19]}Z",
        about=(
            ("batch", plan.batch),
            ("runs", ", ".join(f"{run.element} by {run.method.id}, version {run.method.version}" for run in plan.runs)),
            ("made", f"{local_time(str(row['at']), zone)} by {name}"),
        ),
        parts=(
            Part("Reminders and cautions", (Words(plan.reminders), Words(plan.cautions))),
            Part("To prepare", (_prepare(plan, lots), *_volumes(plan))),
            *(part for run in plan.runs for part in _run(run)),
        ),
    )


def _prepare(plan: RunPlan, lots: Mapping[str, str]) -> Table:
    rows = tuple(_portion(one, lots) for one in plan.portions)
    return Table(f"Portions of batch {plan.batch}; masses and names go on the preparation sheet", _PREPARE, rows)


def _volumes(plan: RunPlan) -> Iterator[Table]:
    """Solutions several runs draw from, and those of which there is too little; no table where there is neither."""
    rows = tuple(
        (
            one.label,
            one.what,
            ", ".join(f"{method} {volume}" for method, volume in one.by),
            one.total_ml,
            one.made_up_ml or "open",
            "too little" if one.short else "",
        )
        for one in taken_of(plan)
    )
    if rows:
        yield Table("Taken by several runs, or more than is made up; what tubes keep comes on top", _TAKEN, rows)


def _portion(one: Portion, lots: Mapping[str, str]) -> tuple[str, ...]:
    steps = "; ".join(
        f"{element} {' '.join(f'{step.aliquot_ml}/{step.final_ml}' for step in own)}"
        for element, own in one.dilutions.items()
    )
    added = [f"{element} {amount} µg" for element, amount in one.added_ug.items()]
    added += [f"{element} {content} µg/g" for element, content in one.expected_ug_per_g.items()]
    due = "as added" if one.kind in {"spiked_sample", "post_spiked_sample", "control_sample"} else ""
    return (
        one.portion,
        one.kind.replace("_", " ") + (f" of {one.spike_of}" if one.spike_of else ""),
        f"{one.sample}, {lots.get(one.sample, '?')}" if one.sample else "",
        " ".join(one.elements),
        one.volume_ml,
        steps,
        "; ".join(added) or due,
        "",
    )


def _run(run: PlannedRun) -> Iterator[Part]:
    named = f"{run.element} by {run.method.id}"
    acid = f"{run.acid}, {run.acid_percent} % (v/v), in every solution" if run.acid_percent else "as the method says"
    drawn = f"{run.drawn_ml} mL a reading" if run.drawn_ml else "not stated: volumes below stay open"
    facts = (
        ("method", f"{run.title}, version {run.method.version}"),
        ("readings of each", str(run.readings)),
        ("acid", acid),
        ("taken by the instrument", drawn),
        ("expected signals", f"from the curve of {run.expected_from}" if run.expected_from else "not known"),
        *(("not planned", words) for words in run.not_planned),
    )
    order = tuple(_solution(run, one) for one in run.solutions)
    ready = tuple(
        (
            one.label,
            one.kind.replace("_", " "),
            _holds(run, one.concentration),
            str(one.times),
            one.least_ml,
        )
        for one in ready_of(run)
    )
    yield Part(
        f"Run: {named}",
        (
            Facts(facts),
            Table(
                f"Solutions to have ready for {named}; what a tube keeps and a sampler wastes comes on top",
                _READY,
                ready,
            ),
            Table(f"Order of reading, {named}; expected in {run.signal_unit}", _ORDER, order),
        ),
    )


def _solution(run: PlannedRun, one: PlannedSolution) -> tuple[str, ...]:
    return (
        str(one.position),
        one.label,
        one.kind.replace("_", " "),
        one.sample,
        _holds(run, one.concentration),
        one.dilution if one.dilution != "1" else "",
        one.signal or "unknown",
        ", ".join(one.rules),
        "",
    )


def _holds(run: PlannedRun, concentration: str) -> str:
    return f"{concentration} {unit_shown(run.solution_unit)}" if concentration else ""
