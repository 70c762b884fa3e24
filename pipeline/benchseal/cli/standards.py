"""Working standards made from a lot."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING

from benchseal.cli import show
from benchseal.cli.opened import admitted, file_bytes, site_of, write_file
from benchseal.cli.plans import require_new
from benchseal.desk.in_force import bring_in_force

if TYPE_CHECKING:
    from argparse import Namespace


def worksheet(args: Namespace) -> int:
    """The worksheet in words, and as PDF where asked for."""
    from benchseal.certificate.plan_page import render_plan  # noqa: PLC0415  heavy
    from benchseal.desk.renderer import rendered  # noqa: PLC0415
    from benchseal.desk.working_standards import Wanted, worksheet_lines, worksheet_page  # noqa: PLC0415
    from benchseal.desk.working_standards import worksheet as made  # noqa: PLC0415

    require_new(args.pdf)
    ware = file_bytes(args.ware) if args.ware else b""
    asking = Wanted(args.lot, args.method, tuple(args.at), args.least_ml, ware, args.ware)
    with site_of(args) as site:
        who = admitted(args, site)
        bring_in_force(site)
        with site.store.reading() as view:
            method, found = made(site, view, asking)
            if args.pdf:
                page = worksheet_page(site, view, method, found, who.printed_name)
                write_file(args.pdf, rendered(render_plan, page, args.paper))
    return show.lines(args, list(worksheet_lines(found)), asdict(found))
