"""Run plans: made from what is in force and registered, kept with the sheet they were made from."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.desk.acting import Receipt, as_json
from benchseal.desk.in_force import in_force
from benchseal.desk.reading import load
from benchseal.documents.sheets import read_plan_rows, row_places
from benchseal.planning.agreed import remarks_on
from benchseal.planning.make import Asked, PastCurve, plan_of
from benchseal.planning.reminders import digests_of
from benchseal.planning.volumes import taken_of
from benchseal.problems import Problem, Refusal, Stopped
from benchseal.records.ids import plan_number
from benchseal.records.method import Method
from benchseal.records.plan import PlanRow, RunPlan
from benchseal.records.quantities import decimal_of, is_plain_decimal
from benchseal.records.registers import Sample
from benchseal.records.results import RunWork
from benchseal.records.run import DocumentRef, Run
from benchseal.records.said import some
from benchseal.records.shape import record_bytes
from benchseal.records.specification import Specification

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from benchseal.desk.acting import Acting
    from benchseal.desk.acts_plans import MakePlan
    from benchseal.store.protocol import Reading, Row

_MOST_REMARKS = 20
_MOST_SAID = 10  # tubes with too little; the paper lists all


def make_plan(acting: Acting, act: MakePlan) -> Receipt:
    """Make a plan and put it on record with its sheet."""
    view = acting.tx
    read = read_plan_rows(act.data, act.source)
    rows = tuple(row for row in read if isinstance(row, PlanRow))
    problems = [one for one in read if isinstance(one, Problem)]
    methods, lacking = _methods(view, act.methods)
    count = acting.count("plan")
    number = plan_number(count)
    batch = act.batch.strip() or number
    problems += [*lacking, *_unknown_samples(view, act, rows), *_batch_taken(view, batch), *_drawn(act)]
    if problems:
        raise Stopped(*problems)
    curves = {method.id: curve for _, method in methods for curve in _last_curve(view, method)}
    asked = Asked(number, f"P{count}", batch, methods, rows, curves, act.drawn_ml)
    plan = plan_of(asked)
    if not isinstance(plan, RunPlan):
        raise Stopped(*plan)
    acting.write(
        "plan.made",
        f"plan/{number}",
        facts={"count": count, "batch": batch, "methods": as_json([method.id for _, method in methods])},
        digests={"record": view.keep(record_bytes(plan)), "sheet": view.keep(act.data)},
    )
    earlier = _alike(view, plan)
    said = [f"{number}: batch {batch}, {some(len(plan.portions), 'portion')} to prepare."]
    said += [
        line for run in plan.runs for line in _about(run.element, run.method.id, len(run.solutions), run.not_planned)
    ]
    said += [f"  {line}" for _, method in methods for line in digests_of(method)]
    short = [one.words for one in taken_of(plan) if one.short]
    said += [f"  too little: {words}" for words in short[:_MOST_SAID]]
    if len(short) > _MOST_SAID:
        said.append(f"  too little: {len(short) - _MOST_SAID} more; its PDF lists them all.")
    beside = [*_not_used(act, methods), *remarks_on(plan, [method for _, method in methods], rows, _agreed(view, rows))]
    said += [f"  remark: {line}" for line in beside[:_MOST_REMARKS]]
    if len(beside) > _MOST_REMARKS:
        said.append(f"  {len(beside) - _MOST_REMARKS} more remarks; --json has them all.")
    said.append(f"Print it with `benchseal plan show {number} --pdf FILE`, its sheet with --sheet FILE.")
    said += [f"{one} plans the same samples by the same methods; both stand." for one in earlier]
    return Receipt(
        tuple(said),
        {
            "plan": number,
            "batch": batch,
            "portions": len(plan.portions),
            "planned_before": as_json(earlier),
            "too_little": as_json(short),
            "remarks": as_json(beside),
        },
    )


def _agreed(view: Reading, rows: tuple[PlanRow, ...]) -> dict[str, Specification | str]:
    """The specification in force of each sample; or why there is none."""
    found: dict[str, Specification | str] = {}
    for sample in {row.sample for row in rows if row.sample}:
        registered = view.row("sample", sample=sample)
        name = load(view, Sample, registered["record"]).row.specification if registered else ""
        document = in_force(view, "specification", name)
        found[sample] = (
            f"its specification {name} is not in force"
            if isinstance(document, str)
            else load(view, Specification, document["value"])
        )
    return found


def _alike(view: Reading, plan: RunPlan) -> list[str]:
    """Earlier plans of the same methods, whatever their versions, and the same samples: two people, or one twice."""
    return [
        row["plan"]
        for row in view.rows("plan")
        if row["plan"] != plan.plan and _asked(load(view, RunPlan, row["record"])) == _asked(plan)
    ]


def _asked(plan: RunPlan) -> tuple[set[str], set[str]]:
    return {run.method.id for run in plan.runs}, {one.sample for one in plan.portions if one.sample}


def plan_row(view: Reading, number: str) -> Row:
    """The row of a plan. Raises Stopped where there is none."""
    row = view.row("plan", plan=number)
    if row is None:
        raise Stopped(Refusal("plan.unknown", number, "there is no such plan.", "See `benchseal plan list`."))
    return row


def load_plan(view: Reading, number: str) -> RunPlan:
    """A plan as it was made. Raises Stopped."""
    return load(view, RunPlan, plan_row(view, number)["record"])


def _about(element: str, method: str, solutions: int, left_out: tuple[str, ...]) -> Iterator[str]:
    yield f"  {element} by {method}: {some(solutions, 'solution')} in order"
    yield from (f"    not planned: {words}" for words in left_out)


def _methods(
    view: Reading, names: tuple[str, ...]
) -> tuple[tuple[tuple[DocumentRef, Method], ...], tuple[Problem, ...]]:
    """The methods in force of these identifiers, each once, and a problem for each that is not."""
    found, problems = [], []
    for name in dict.fromkeys(names):
        row = in_force(view, "method", name)
        if isinstance(row, str):
            what = f"it is not in force: {row}."
            problems.append(Problem("plan.method-unknown", name, what, "See `benchseal document list`."))
        else:
            ref = DocumentRef(row["id"], int(row["version"]), row["value"])
            found.append((ref, load(view, Method, row["value"])))
    return tuple(found), tuple(problems)


def _unknown_samples(view: Reading, act: MakePlan, rows: tuple[PlanRow, ...]) -> Iterator[Problem]:
    if not rows:
        return
    places = row_places("plan", act.data, act.source)
    for row, place in zip(rows, places, strict=True):
        if row.sample and view.row("sample", sample=row.sample) is None:
            what = f"sample {row.sample} is not registered."
            yield Problem("plan.sample-unknown", place, what, "See `benchseal sample list`.")


def _batch_taken(view: Reading, batch: str) -> Iterator[Problem]:
    """A batch belongs to one plan, and what was prepared before a plan was made is none of it."""
    if view.rows("portion", batch=batch) or view.rows("plan", batch=batch):
        what = "portions of this batch are on record, or another plan has it."
        yield Problem("plan.batch-taken", batch, what, "Give the batch another name, or leave --batch out.")


def _drawn(act: MakePlan) -> Iterator[Problem]:
    text = act.drawn_ml
    if text and not (is_plain_decimal(text) and decimal_of(text) > 0):
        what = f"{text!r} is no number of millilitres above zero."
        yield Problem("plan.drawn", "--drawn-ml", what, "Write it as 2.5, or leave it out.")


def _not_used(act: MakePlan, methods: Sequence[tuple[DocumentRef, Method]]) -> Iterator[str]:
    """That the volume given is not that of methods which inject their own."""
    own = [method for _, method in methods if method.conditions.injection_ul]
    if act.drawn_ml and own:
        each = ", ".join(f"{method.id} ({method.conditions.injection_ul} µL)" for method in own)
        of = "every method has" if len(own) == len(methods) else "these methods have"
        yield f"--drawn-ml {act.drawn_ml} is not used, {of} an injection volume: {each}."


def _last_curve(view: Reading, method: Method) -> Iterator[PastCurve]:
    """The curve of the last reviewed run of a method, of its own standards and usable; nothing where there is none."""
    rows = [row for row in view.rows("run", method=method.id) if row["state"] == "reviewed"]
    for row in sorted(rows, key=lambda one: str(one["measured_at"]), reverse=True):
        work, run = load(view, RunWork, row["reviewed_work"]), load(view, Run, row["reviewed_bound"])
        same = (run.method.standards, run.method.signal_is) == (method.standards, method.signal_is)
        if work.usable and same and not work.calibration.stored:
            yield PastCurve(str(row["run"]), work.calibration)
            return
