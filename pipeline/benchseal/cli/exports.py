"""Deliveries to other systems."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple, cast

from benchseal.cli import show
from benchseal.cli.event_log import logged
from benchseal.cli.opened import admitted, file_bytes, reading, site_of
from benchseal.cli.secrets_in import credentials
from benchseal.desk import acknowledging, deliveries, delivery_plan, delivery_trial
from benchseal.desk.acting import Receipt
from benchseal.desk.acts_deliveries import AcknowledgeDelivery, CloseDelivery, MoveDelivery, PlanDelivery, SettleRows
from benchseal.desk.clock import stamp
from benchseal.desk.destinations import require_folder, require_outside
from benchseal.desk.perform import perform
from benchseal.export.edge_cases import tried
from benchseal.problems import NotDone, Notice, Problem, Stopped

if TYPE_CHECKING:
    from argparse import Namespace
    from collections.abc import Iterator

    from benchseal.cli.event_log import EventLog
    from benchseal.desk.admission import Credentials
    from benchseal.desk.site import Site
    from benchseal.export.edge_cases import Tried


def preview(args: Namespace) -> int:
    """What the next delivery would hold, each cell with its field."""
    with reading(args) as (site, view):
        cells = delivery_plan.preview_profile(view, args.profile, stamp(site.clock()))
    rows = [
        (number, cell.title, cell.field or "(fixed text)", cell.text if cell.problem is None else str(cell.problem))
        for number, row in enumerate(cells, start=1)
        for cell in row
    ]
    return show.table(args, ("row", "column", "field", "text"), rows, name="cells")


def check(args: Namespace) -> int:
    """What a profile makes of results that no demonstration has."""
    given = Path(args.profile)
    if given.suffix in {".yaml", ".yml"}:
        read = delivery_plan.profile_of_file(file_bytes(args.profile), given.name)
        with reading(args) as (_, view):
            profile, nobody = read, delivery_plan.chosen_of_nobody(view, read)
    else:
        with reading(args) as (_, view):
            profile, _ref = delivery_plan.profile_in_force(view, args.profile)
            nobody = delivery_plan.chosen_of_nobody(view, profile)
    if args.cells:
        cells = [cell for case in tried(profile) for cell in _cells(case)]
        return show.table(args, ("case", "outcome", "column", "field", "text"), cells, name="cells")
    rows = [(case.case, "refused" if why else "written", why) for case in tried(profile) for why in _whys(case)]
    rows += [("(choose)", "remark", why) for why in nobody]
    return show.table(args, ("case", "outcome", "why"), rows, name="cases")


def _cells(case: Tried) -> Iterator[tuple[str, ...]]:
    """Each cell of a case; where one cannot be written, or the row as a whole, why: then the case is refused."""
    outcome = "refused" if case.problems else "written"
    for cell in case.cells:
        why = "" if cell.problem is None else f"{cell.problem.code}: {cell.problem.what}"
        yield case.case, outcome, cell.title, cell.field, why or cell.text
    said = {str(cell.problem) for cell in case.cells if cell.problem is not None}
    for one in case.problems:
        if str(one) not in said:
            yield case.case, outcome, "(row)", "", f"{one.code}: {one.what}"


def _whys(case: Tried) -> list[str]:
    """One line for each problem, with its column; one empty line for none."""
    return [f"{one.code}: {_column(one.where)}{one.what}" for one in case.problems] or [""]


def _column(where: str) -> str:
    """The column of a cell, or the segment of a message; nothing of a row as a whole."""
    _, _, title = where.partition(", column ")
    if title:
        return f"column {title}: "
    _, mark, segment = where.rpartition("), ")
    return f"{segment}: " if mark else ""


def run(args: Namespace) -> int:
    """Plan what is new, then put down all that is planned, also what an earlier run left."""
    with logged(args.log, "export", profile=args.profile) as log:
        log.exit = _run(args, log)
    return log.exit


def _run(args: Namespace, log: EventLog) -> int:
    to = _to(args)
    failed: list[str] = []
    said: list[str] = []
    made = []
    notices: list[Notice] = []
    with site_of(args) as site:
        if args.dry_run:
            admitted(args, site)
            tried_out = delivery_trial.tried_out(site, args.profile, to)
            log.write("tried", rows=int(str(tried_out.data["rows"])))
            return show.receipt(args, tried_out)
        given = credentials(args, site)
        if to:
            require_folder(to)
        earlier = {one.delivery: one for one in delivery_trial.waiting(site, args.profile)}
        fixed, nothing, refused = _plan(args, site, to, given, log)
        notices += refused
        for one in delivery_trial.waiting(site, args.profile):
            delivery = one.delivery
            try:
                done = deliveries.finish(site, delivery)
            except Stopped as stop:  # one folder that is away does not hold up the others
                notices += delivery_trial.still_waits(one, stop.notices)
                log.write("failed", delivery=delivery, codes=[each.code for each in stop.notices])
                failed.append(delivery)
                continue
            log.write("delivered", delivery=delivery, rows=int(str(done.data["rows"])))
            if delivery in earlier:
                said.append(delivery_trial.went_there(one, str(Path(to).resolve()) if to else ""))
            said += done.said
            made.append(done.data)
        with site.store.reading() as view:
            alarms = acknowledging.alarms(view, site.clock(), args.profile)
        for alarm in alarms:
            log.write("alarm", delivery=alarm.where, code=alarm.code)
        notices += alarms
    words = delivery_trial.planned_words({one: line for one, (line, _) in fixed.items()}, nothing, failed)
    if refused:
        words.append("What is new, or the rest of it, was not planned; what waited is tried all the same.")
    rows = sum(count for _, count in fixed.values())
    return show.receipt(args, Receipt((*words, *said), {"deliveries": [*made], "new_rows": rows}, tuple(notices)))


class _Planned(NamedTuple):
    """fixed: by delivery, what its plan says, and its rows. said: where there was nothing new. refused: what is new."""

    fixed: dict[str, tuple[str, int]]
    said: tuple[str, ...]
    refused: tuple[Notice, ...]


def _plan(args: Namespace, site: Site, to: str, given: tuple[Credentials, ...], log: EventLog) -> _Planned:
    """Put what is new on record as planned. Raises Stopped where nothing waits that could be finished all the same."""
    fixed: dict[str, tuple[str, int]] = {}
    said: tuple[str, ...] = ()
    more, waited = True, bool(delivery_trial.waiting(site, args.profile))
    while more:
        try:
            planned = perform(site, PlanDelivery(args.profile, to), *given)
        except NotDone as stop:  # what is planned has its bytes and its place: it does not wait for what is new
            if not (waited or fixed) or any(one.code == delivery_plan.NOT_IN_FORCE for one in stop.notices):
                raise
            log.problems(stop.notices)
            return _Planned(fixed, (), stop.notices)
        more = bool(planned.data["more"])
        each_planned = cast("list[dict[str, object]]", planned.data["planned"])
        said = () if each_planned else planned.said
        for each, line in zip(each_planned, planned.said if each_planned else (), strict=True):
            delivery, rows = str(each["delivery"]), int(str(each["rows"]))
            fixed[delivery] = line, rows
            log.write("planned", delivery=delivery, rows=rows)
    return _Planned(fixed, said, ())


def _to(args: Namespace) -> str:
    """The folder of ``--to``; empty where it is not given, never where it is given empty. Raises Stopped."""
    if args.to is None:
        return ""
    if not args.to.strip():
        what, remedy = "it names no folder.", "Name one, or leave --to out for the place of the profile."
        raise Stopped(Problem("delivery.to-empty", "--to", what, remedy))
    return str(args.to)


def again(args: Namespace) -> int:
    """The same bytes under the same name."""
    to = _to(args)
    if to:
        require_outside(to)
    with site_of(args) as site:
        admitted(args, site)
        return show.receipt(args, deliveries.put_down(site, args.delivery, to))


def acknowledge(args: Namespace) -> int:
    """What a receiver says of a delivery."""
    data = file_bytes(args.file)
    with site_of(args) as site:
        act = AcknowledgeDelivery(data, Path(args.file).name)
        return show.receipt(args, perform(site, act, *credentials(args, site)))


def settle(args: Namespace) -> int:
    """What was done about rows a receiver did not take."""
    with site_of(args) as site:
        act = SettleRows(args.delivery, tuple(args.row), args.reason)
        return show.receipt(args, perform(site, act, *credentials(args, site)))


def move(args: Namespace) -> int:
    """Another place for a delivery that is not done."""
    to = _to(args)
    with site_of(args) as site:
        act = MoveDelivery(args.delivery, to, args.reason)
        return show.receipt(args, perform(site, act, *credentials(args, site)))


def close(args: Namespace) -> int:
    """The end of a planned delivery whose place does not come back."""
    with site_of(args) as site:
        act = CloseDelivery(args.delivery, args.arrived == "yes", args.confirmed_by, args.reason)
        return show.receipt(args, perform(site, act, *credentials(args, site)))


def list_all(args: Namespace) -> int:
    """Every delivery; or every row that a receiver did not take and nobody acted on yet."""
    with reading(args) as (_, view):
        if args.held:
            said = ("delivery_id", "row_no", "result_id", "revision", "reason")
            held = [row | {"row_no": str(int(row["row_no"]))} for row in acknowledging.held(view)]
            return show.table(args, said, [[row[column] for column in said] for row in held], name="held")
        columns = ("delivery_id", "profile", "state", "rows", "produced_at", "file", "destination")
        rows = [[row[column] for column in columns] for row in view.rows("delivery")]
    return show.table(args, columns, rows, name="deliveries")
