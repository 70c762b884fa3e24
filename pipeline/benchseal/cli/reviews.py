"""Looking back: impact of a version, retention, periodic review."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

from benchseal.cli import show
from benchseal.cli.opened import admitted, reading, site_of
from benchseal.cli.secrets_in import credentials
from benchseal.desk.acts_periodic import SignPeriodic
from benchseal.desk.perform import perform
from benchseal.problems import EXIT_INTEGRITY
from benchseal.records.quantities import unit_shown
from benchseal.records.shape import plain_of

if TYPE_CHECKING:
    from argparse import Namespace

    from benchseal.desk.impact import Impact
    from benchseal.desk.site import Site
    from benchseal.records.canonical import Json
    from benchseal.upkeep.retention import Kept, Opened

_NOTHING_REMOVED = "Nothing was removed, ever: this program has no command that removes a record."


def impact(args: Namespace) -> int:
    """What one version calculated."""
    from benchseal.desk.impact import impact_of  # noqa: PLC0415  heavy, seldom needed

    with reading(args) as (_, view):
        found = impact_of(view, args.program)
    return show.lines(args, _impact_lines(found), plain_of(found))


def _impact_lines(found: Impact) -> list[str]:
    said = [
        f"benchseal {found.program} wrote entries {one.first} to {one.last or 'now'}, from {one.since} on"
        for one in found.periods
    ]
    lots = len({one.sample for one in found.results})
    results, certificates = show.some(len(found.results), "result"), show.some(len(found.certificates), "certificate")
    said.append(f"{results} of {show.some(lots, 'lot')}, {certificates}")
    for one in found.results:
        value, _, unit = one.value.rpartition(" ") if one.value != "no value" else (one.value, "", "")
        shown = f"{value} {unit_shown(unit)}" if unit else value
        said.append(
            f"  {one.run} version {one.version}, {one.state}: {one.sample} (lot {one.lot}) {one.element} "
            f"{one.quantity.replace('_', ' ')} {shown}"
        )
    for each in found.certificates:
        of = [f"runs {', '.join(each.runs)}"] if each.runs else []
        of += ["its page"] if each.page else []
        said.append(f"  {each.number}, {each.state}, lot {each.lot}: {' and '.join(of)}; {each.recipient}")
        said += [f"    delivered: {line}" for line in each.deliveries]
    return said


def retention(args: Namespace) -> int:
    """Classes of records, and the oldest of each opened where asked."""
    from benchseal.upkeep.retention import kept, open_oldest  # noqa: PLC0415  heavy, seldom needed

    with site_of(args) as site:
        admitted(args, site)
        with site.store.reading() as view:
            classes = kept(view)
        opened = open_oldest(site) if args.open_oldest else ()
    findings = [finding for one in opened for finding in one.findings]
    code = EXIT_INTEGRITY if findings else 0
    if args.json:
        listed: list[Json] = [plain_of(one) for one in classes]
        shown: list[Json] = [{**plain_of(one), "findings": len(one.findings)} for one in opened]
        show.as_json(args, {"classes": listed, "opened": shown}, findings, code)
        return code
    for finding in findings:
        print(show.one_line(str(finding)), file=sys.stderr)
    return show.lines(args, [*map(_kept_line, classes), *map(_opened_line, opened), _NOTHING_REMOVED]) or code


def _kept_line(one: Kept) -> str:
    until = f"kept until {one.keep_from} to {one.keep_until}" if one.keep_until else "no time of keeping is set"
    until += f", {one.by_expiry} of them by the expiry of a lot" if one.by_expiry else ""
    return f"{one.name}: {one.subjects}, from {one.first[:10]} to {one.last[:10]}; {until}; oldest {one.oldest}"


def _opened_line(one: Opened) -> str:
    state = show.some(len(one.findings), "finding") if one.findings else "whole and readable"
    held = f"{show.some(one.entries, 'entry')}, {show.some(one.objects, 'object')}"
    return f"opened {one.subject} of {one.at[:10]}: {held}, {state}"


def periodic(args: Namespace) -> int:
    """The report of the period, as it would be signed."""
    from benchseal.desk.periodic import listed, report_of  # noqa: PLC0415  seldom needed

    with site_of(args) as site:
        admitted(args, site)
        amiss = _amiss(site)
        with site.store.reading() as view:
            report = report_of(view, view.size(), amiss)
            failures = len(view.rows("sign_in_failure"))
    figures = listed(report)
    said = [*_report_lines(report), f"failed sign-ins counted at the moment: {failures}", f"list {figures}"]
    return show.lines(args, said, {**report, "failed_sign_ins_now": failures, "list": figures})


def _report_lines(report: dict[str, Json]) -> list[str]:
    said = [f"entries {report['since']} to {report['upto']}, {report['from']} to {report['to']}"]
    said += [f"program {one['program']}, from entry {one['first']} on" for one in _dicts(report["programs"])]
    last = report["last"] if isinstance(report["last"], dict) else {}
    said += [f"last {what}: {at or 'never'}" for what, at in last.items()]
    said.append(f"letter about electronic signatures: {report['signature_letter'] or 'none is named'}")
    counts = report["counts"] if isinstance(report["counts"], dict) else {}
    said += ["counted:", *(f"  {kind}: {count}" for kind, count in counts.items())]
    for title in ("incidents", "changes"):
        lines = [
            f"  {one['entry']}  {one['at']}  {one['kind']}  {one['subject']}"
            + (f": {one['reason']}" if one["reason"] else "")
            for one in _dicts(report[title])
        ]
        said += [f"{title}:", *(lines or ["  none"])]
    amiss = report["amiss"] if isinstance(report["amiss"], list) else []
    return [*said, "open and overdue (`benchseal doctor` says more):", *(f"  {one}" for one in amiss or ["none"])]


def _dicts(value: Json) -> list[dict[str, Json]]:
    return [one for one in value if isinstance(one, dict)] if isinstance(value, list) else []


def sign(args: Namespace) -> int:
    """Sign the report that was looked at."""
    with site_of(args) as site:
        given = credentials(args, site)
        act = SignPeriodic(args.list, _amiss(site), args.comment)
        return show.receipt(args, perform(site, act, *given))


def _amiss(site: Site) -> tuple[str, ...]:
    """Code and place of everything the doctor finds; not its words, which change by the minute."""
    from benchseal.upkeep.doctor import examine  # noqa: PLC0415  seldom needed

    return tuple(f"{one.code} {one.where}" for one in examine(site))
