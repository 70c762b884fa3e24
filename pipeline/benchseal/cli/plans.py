"""Run plans: made, shown, printed, and labels of their tubes."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING

from benchseal.cli import show
from benchseal.cli.opened import file_bytes, reading, site_of, write_file
from benchseal.cli.secrets_in import credentials
from benchseal.desk.acts_plans import MakePlan, PrintLabels
from benchseal.desk.perform import perform
from benchseal.desk.plans import load_plan, plan_row
from benchseal.planning.sheet import sheet_text
from benchseal.problems import Problem, Stopped, Trouble
from benchseal.records.quantities import unit_shown
from benchseal.records.shape import plain_of

if TYPE_CHECKING:
    from argparse import Namespace

    from benchseal.desk.site import Site
    from benchseal.records.plan import PlannedRun, PlannedSolution
    from benchseal.store.protocol import Reading


def make(args: Namespace) -> int:
    """Make a plan; with --out its papers."""
    if args.out:
        _require_room(Path(args.out))
    with site_of(args) as site:
        act = MakePlan(tuple(args.method), file_bytes(args.samples), args.samples, args.batch, args.drawn_ml)
        done = perform(site, act, *credentials(args, site))
        if args.out:
            number = str(done.data["plan"])
            _new_folder(args.out, number)
            with site.store.reading() as view:
                _papers(
                    site, view, number, f"{args.out}/{number}-plan.pdf", f"{args.out}/{number}-preparation.csv", args
                )
    return show.receipt(args, done)


def list_all(args: Namespace) -> int:
    """Every plan."""
    columns = ("plan", "batch", "methods", "person", "at")
    with reading(args) as (_, view):
        rows = [[row[column] for column in columns] for row in view.rows("plan")]
    return show.table(args, columns, rows, name="plans")


def show_one(args: Namespace) -> int:
    """One plan in words, and its papers where asked for."""
    require_new(args.pdf, args.sheet)
    with reading(args) as (site, view):
        row, plan = plan_row(view, args.plan), load_plan(view, args.plan)
        printed = view.rows("plan_labels", plan=args.plan)
        _papers(site, view, args.plan, args.pdf, args.sheet, args)
    said = [
        f"{plan.plan}: batch {plan.batch}, made {row['at']} by {row['person']}",
        *(f"  {one.portion}  {one.kind.replace('_', ' ')} {one.sample}".rstrip() for one in plan.portions),
        *(line for run in plan.runs for line in _run_lines(run)),
        *(f"labels, printing {int(one['copy'])}: {_printing(one)}" for one in printed),
    ]
    return show.lines(args, said, {"plan": plain_of(plan), "labels": printed})


def labels(args: Namespace) -> int:
    """Labels as PDF, their printing on record."""
    from benchseal.certificate.plan_page import render_labels  # noqa: PLC0415  heavy
    from benchseal.desk.plan_labels import Printed  # noqa: PLC0415
    from benchseal.desk.renderer import rendered  # noqa: PLC0415

    require_new(args.pdf)
    with site_of(args) as site:
        act = PrintLabels(args.plan, tuple(args.tube), args.form, args.paper, args.reason)
        done = perform(site, act, *credentials(args, site))
        if not isinstance(done, Printed) or done.form is None:
            raise AssertionError("printing labels says what goes on paper")
        with site.store.reading() as view:
            at = str(view.rows("plan_labels", plan=args.plan)[-1]["at"])
    lines = [(tube.label, tube.what, tube.of) for tube in done.tubes]
    title = f"Labels of {args.plan}, printing {done.copy}"
    write_file(args.pdf, rendered(render_labels, done.form, lines, f"{at[:19]}Z", title))
    return show.receipt(args, done)


def _papers(site: Site, view: Reading, number: str, pdf: str, sheet: str, args: Namespace) -> None:  # noqa: PLR0913, PLR0917
    if pdf:
        from benchseal.certificate.plan_page import render_plan  # noqa: PLC0415  heavy
        from benchseal.desk.plan_paper import plan_page  # noqa: PLC0415
        from benchseal.desk.renderer import rendered  # noqa: PLC0415

        write_file(pdf, rendered(render_plan, plan_page(site, view, number), args.paper))
    if sheet:
        write_file(sheet, sheet_text(load_plan(view, number).portions).encode())


def _run_lines(run: PlannedRun) -> list[str]:
    known = f"signals expected from the curve of {run.expected_from}" if run.expected_from else "signals not known"
    return [
        f"{run.element} by {run.method.id}, version {run.method.version}; {known}",
        *(f"  not planned: {words}" for words in run.not_planned),
        *(_solution_line(run, one) for one in run.solutions),
    ]


def _solution_line(run: PlannedRun, one: PlannedSolution) -> str:
    holds = f", {one.concentration} {unit_shown(run.solution_unit)}" if one.concentration else ""
    signal = f", expected {one.signal} {run.signal_unit}" if one.signal else ""
    diluted = f", diluted {one.dilution} times" if one.dilution != "1" else ""
    return f"  {one.position:>4}  {one.label}  {one.kind.replace('_', ' ')}{holds}{diluted}{signal}"


def _printing(row: dict[str, object]) -> str:
    count = show.some(len(str(row["tubes"]).split(" ")), "tube")
    again = f"; once more {row['again']}: {row['reason']}" if row["again"] else ""
    return f"{count} on {row['form']}, {row['at']} by {row['person']}{again}"


def require_new(*names: str) -> None:
    """Raise Stopped where a file of one of these names is there."""
    for name in names:
        if name and Path(name).exists():
            what = "a file of that name is there; nothing is ever overwritten."
            raise Stopped(Problem("report.exists", name, what, "Name a new file."))


def _require_room(folder: Path) -> None:
    """Raise Stopped where the folder is there, or cannot be made: before a plan is on record, and nothing is left."""
    if os.path.lexists(folder):
        raise Stopped(_there(str(folder)))
    above = next((each for each in folder.absolute().parents if each.exists()), folder.absolute())
    if not above.is_dir() or not os.access(above, os.W_OK | os.X_OK):
        what = f"nothing can be written into {above}."
        raise Stopped(Trouble("report.not-made", str(folder), what, "Look at the disk and its rights; try again."))


def _new_folder(name: str, plan: str) -> None:
    try:
        Path(name).mkdir(parents=True)
    except FileExistsError:
        raise Stopped(_there(name)) from None
    except OSError as fault:
        what = f"it could not be written: {fault.strerror or fault}. {plan} is on record."
        remedy = f"Look at the disk; print it with `benchseal plan show {plan} --pdf FILE --sheet FILE`."
        raise Stopped(Trouble("report.not-made", name, what, remedy)) from None


def _there(name: str) -> Problem:
    what = "it is there already; nothing is ever overwritten."
    return Problem("report.exists", name, what, "Name a folder that is not there yet.")
