"""Labels of a plan's tubes: which are printed, on which form, and which of them once more and why."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from benchseal.desk.acting import Receipt, as_json
from benchseal.desk.in_force import in_force
from benchseal.desk.plans import load_plan, plan_row
from benchseal.desk.reading import load
from benchseal.documents.reading import ControlledDocument, read_document
from benchseal.planning.tubes import shared_labels, tubes_of
from benchseal.problems import Problem, Refusal, Stopped
from benchseal.records.label_form import LabelForm
from benchseal.records.shape import record_bytes
from benchseal.shipped import starter

if TYPE_CHECKING:
    from benchseal.desk.acting import Acting
    from benchseal.desk.acts_plans import PrintLabels
    from benchseal.planning.tubes import Tube
    from benchseal.store.protocol import Reading


@dataclass(frozen=True, slots=True)
class Printed(Receipt):
    """What goes on paper: the form, the tubes in order, and the number of this printing."""

    form: LabelForm | None = None
    tubes: tuple[Tube, ...] = ()
    copy: int = 0


def print_labels(acting: Acting, act: PrintLabels) -> Printed:
    """Choose the tubes, and put on record that their labels are printed."""
    plan, row = load_plan(acting.tx, act.plan), plan_row(acting.tx, act.plan)
    every = tubes_of(plan)
    unknown = [label for label in act.tubes if label not in {tube.label for tube in every}]
    if unknown:
        what = f"the plan has no tube {', '.join(unknown)}."
        raise Stopped(Problem("plan.tube-unknown", act.plan, what, "See `benchseal plan show`."))
    chosen = tuple(tube for tube in every if not act.tubes or tube.label in act.tubes)
    earlier = acting.tx.rows("plan_labels", plan=act.plan)
    before = {label for one in earlier for label in one["tubes"].split(" ")}
    again = [label for label in dict.fromkeys(tube.label for tube in chosen) if label in before]
    if again and not act.reason.strip():
        what = f"labels of {_few(again)} were printed before."
        remedy = "Say why with --reason: two tubes with one label are a mix-up waiting; destroy the old labels."
        raise Stopped(Refusal("plan.labels-again", act.plan, what, remedy))
    name, form = _form(acting.tx, act)
    copy = len(earlier) + 1
    acting.write(
        "plan.labels_printed",
        f"plan/{act.plan}",
        facts={
            "copy": copy,
            "form": name,
            "tubes": as_json([tube.label for tube in chosen]),
            "again": as_json(again),
        },
        digests={"record": row["record"], "form": acting.tx.keep(record_bytes(form))},
        reason=act.reason.strip() if again else "",
    )
    said = f"{len(chosen)} label{'s' if len(chosen) != 1 else ''} of {act.plan} on {name}, printing {copy}"
    said += f"; once more: {_few(again)}." if again else "."
    lines = [said]
    if shared := shared_labels(chosen):
        lines.append(
            f"More than one tube is called {_few(list(shared))}: an earlier version planned them so. Tell them"
        )
        lines[-1] += " apart by the line under the label, or make the plan anew."
    return Printed(tuple(lines), {"plan": act.plan, "copy": copy, "again": as_json(again)}, (), form, chosen, copy)


def _form(view: Reading, act: PrintLabels) -> tuple[str, LabelForm]:
    """The form and how the record names it. Raises Stopped."""
    if not act.form:
        name = f"tubes-{act.paper}"
        found = read_document(starter(f"labels/{name}.yaml").encode(), name)
        if not isinstance(found, ControlledDocument) or not isinstance(found.value, LabelForm):
            raise AssertionError(f"the shipped form {name} is none")
        return f"{name} (shipped)", found.value
    row = in_force(view, "label_form", act.form)
    if isinstance(row, str):
        what = f"no label form {act.form} is in force: {row}."
        raise Stopped(Problem("plan.form-unknown", act.form, what, "See `benchseal document list`."))
    return f"{row['id']}@{row['version']}", load(view, LabelForm, row["value"])


def _few(labels: list[str], most: int = 5) -> str:
    more = f" and {len(labels) - most} more" if len(labels) > most else ""
    return ", ".join(labels[:most]) + more
