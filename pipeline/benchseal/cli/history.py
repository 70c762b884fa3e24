"""Questions over time: control charts of checks and of sensitivity, and plain lists of runs and acts."""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

from benchseal.cli import show
from benchseal.cli.history_words import broken_finding, chart_json, chart_lines, compared_json, compared_lines, moved_by
from benchseal.cli.instruments import event_lines
from benchseal.cli.opened import admitted, reading, site_of, write_file
from benchseal.compute.history_chart import against_history, newest_broken, shown_part
from benchseal.desk.acting import Receipt
from benchseal.desk.histories import (
    Asked,
    acts_of,
    check_series,
    require_instrument,
    require_method,
    require_person,
    runs_of,
    sensitivity_series,
)
from benchseal.desk.in_force import bring_in_force
from benchseal.desk.instrument_time import events_of
from benchseal.problems import Refusal, Stopped
from benchseal.records.canonical import digest
from benchseal.records.shape import plain_of

if TYPE_CHECKING:
    from argparse import Namespace
    from collections.abc import Iterable, Sequence

    from benchseal.compute.control_chart import RuleSet
    from benchseal.compute.history_chart import Against, Chart
    from benchseal.desk.histories import Series
    from benchseal.problems import Notice
    from benchseal.records.canonical import Json
    from benchseal.store.protocol import Row

_RUN_COLUMNS = ("run", "measured_at", "state", "version", "element", "method", "instrument", "usable")
_VERSION_COLUMNS = ("version", "state", "author", "approver", "title")
_ACT_COLUMNS = ("entry", "at", "act", "subject", "signed_as")


def check(args: Namespace) -> int:
    """Charts of checks, one for each rule and instrument."""
    asked = _asked(args, args.rule)
    if args.pdf:
        return _on_paper(args, asked)
    with reading(args) as (_, view):
        series = check_series(view, asked, _sets(args))
    parts = _parts(series, asked)
    said = () if args.json else [line for one, part in parts for line in ("", *chart_lines(one, part, asked.method))]
    charts: list[Json] = [chart_json(one, part) for one, part in parts] if args.json else []
    return _charts(args, said, charts, _broken(parts))


def _on_paper(args: Namespace, asked: Asked) -> int:
    """The charts as a PDF instead of signs; findings and their exit code are the same."""
    from benchseal.certificate.chart_page import render_charts  # noqa: PLC0415
    from benchseal.cli.reports import require_new  # noqa: PLC0415
    from benchseal.desk.check_charts import charts_page  # noqa: PLC0415
    from benchseal.desk.renderer import rendered  # noqa: PLC0415
    from benchseal.desk.site_rules import rules_in_force  # noqa: PLC0415

    require_new(args.pdf)
    with site_of(args) as site:
        person = admitted(args, site).person
        bring_in_force(site)
        with site.store.reading() as view:
            parts = _parts(check_series(view, asked, _sets(args)), asked)
            if not parts or not any(chart.stretches for _, chart in parts):
                what = "no value with a number fits the question, so there is nothing to draw."
                raise Stopped(Refusal("history.no-chart", asked.method, what, "Ask for more; no file was written."))
            page = charts_page(site, view, asked, _sets(args), parts, person=person)
            paper = args.paper or rules_in_force(view).paper or "a4"
    data = rendered(render_charts, page, paper)
    write_file(args.pdf, data)
    told: dict[str, Json] = {
        "method": asked.method,
        "charts": [chart_json(one, part) for one, part in parts],
        "file": args.pdf,
        "sha256": digest(data),
    }
    said = f"{args.pdf} holds {len(parts)} chart{'s' if len(parts) > 1 else ''} of checks by {asked.method}."
    return show.receipt(args, Receipt((said,), told, tuple(_broken(parts))))


def sensitivity(args: Namespace) -> int:
    """Charts of sensitivity, one for each instrument, and the newest value against its own history."""
    asked = _asked(args, "")
    with reading(args) as (_, view):
        series = sensitivity_series(view, asked, _sets(args))
    parts = _parts(series, asked)
    said: list[str] = []
    charts: list[Json] = []
    found: list[Notice] = [*_broken(parts)]
    for one, part in parts:
        against = _against(one, part)
        found += [] if against is None else moved_by(one, part, against)
        if args.json:
            charts.append({**chart_json(one, part), **compared_json(part, against)})
        else:
            said += ["", *chart_lines(one, part, asked.method), *compared_lines(part, against)]
    return _charts(args, said, charts, found)


def instrument(args: Namespace) -> int:
    """Runs measured on one instrument, and what happened to it."""
    with reading(args) as (_, view):
        require_instrument(view, args.instrument)
        rows = runs_of(view, instrument=args.instrument)
        events = events_of(view, args.instrument)
    if not events:
        return show.table(args, _RUN_COLUMNS, [[row[name] for name in _RUN_COLUMNS] for row in rows], name="runs")
    said = [*_table(_RUN_COLUMNS, rows), *event_lines(events)]
    return show.lines(args, said, {"runs": _plain(_RUN_COLUMNS, rows), "events": [plain_of(one) for one in events]})


def method(args: Namespace) -> int:
    """Versions of a method and the runs measured by it."""
    with reading(args) as (_, view):
        versions = require_method(view, args.method)
        rows = runs_of(view, method=args.method)
    said = [
        f"{args.method} version {row['version']}, {row['state']}: {row['title']} (by {row['author']}, "
        f"approved by {row['approver'] or 'nobody yet'})"
        for row in versions
    ]
    said += ["", *_table(_RUN_COLUMNS, rows)]
    listed = [{name: str(row[name]) for name in _VERSION_COLUMNS} for row in versions]
    return show.lines(args, said, {"method": args.method, "versions": listed, "runs": _plain(_RUN_COLUMNS, rows)})


def person(args: Namespace) -> int:
    """Acts of one person: entries they made or signed."""
    with reading(args) as (_, view):
        acts = acts_of(view, require_person(view, args.person))
    return show.table(args, _ACT_COLUMNS, acts, name="acts")


def _asked(args: Namespace, rule: str) -> Asked:
    return Asked(args.method, rule, args.instrument, args.lot, args.first, args.last)


def _sets(args: Namespace) -> Sequence[RuleSet]:
    both: tuple[RuleSet, ...] = ("western_electric", "nelson")
    return both if args.run_rules == "both" else (cast("RuleSet", args.run_rules),)


def _parts(series: Iterable[Series], asked: Asked) -> list[tuple[Series, Chart]]:
    """Each chart as far as it was asked for; those without a value there are left out."""
    parts = [(one, shown_part(one.chart, asked.shows)) for one in series]
    return [(one, part) for one, part in parts if part.values]


def _against(one: Series, part: Chart) -> Against | Refusal | None:
    """The newest value shown against all before it, shown or not; None where none has a number."""
    if part.newest < 0:
        return None
    return against_history(one.chart, one.chart.values.index(part.values[part.newest]), one.where)


def _broken(parts: Iterable[tuple[Series, Chart]]) -> list[Notice]:
    found = [(one, part, newest_broken(part)) for one, part in parts]
    return [broken_finding(one, part, broken) for one, part, broken in found if broken]


def _charts(args: Namespace, said: Sequence[str], charts: list[Json], found: Sequence[Notice]) -> int:
    """Exit 10, an honest finding, where the newest value of a chart breaks a rule or lies far from its history."""
    nothing = () if said or charts else (f"No value of {args.method} fits the question.",)
    return show.receipt(args, Receipt((*said[1:], *nothing), {"method": args.method, "charts": charts}, tuple(found)))


def _plain(columns: Sequence[str], rows: Sequence[Row]) -> list[Json]:
    return [{name: str(row[name]) for name in columns} for row in rows]


def _table(columns: Sequence[str], rows: Sequence[Row]) -> list[str]:
    cells = [columns, *([str(row[name]) for name in columns] for row in rows)]
    widths = [max(len(row[place]) for row in cells) for place in range(len(columns))]
    return ["  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip() for row in cells]
