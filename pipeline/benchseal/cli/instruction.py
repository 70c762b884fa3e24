"""``report how-to-check``: the sheet for customers, with the fingerprint they compare by telephone."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from benchseal import __version__
from benchseal.cli import show
from benchseal.cli.opened import write_file
from benchseal.cli.verify import trust_of_command
from benchseal.problems import Problem, Stopped
from benchseal.records.canonical import digest

if TYPE_CHECKING:
    from argparse import Namespace
    from datetime import date

    from benchseal.certificate.instruction import Sheet
    from benchseal.records.printed_form import Language
    from benchseal.verify.trust import Trust


def how_to_check(args: Namespace) -> int:
    """Write the sheet."""
    from benchseal.certificate.instruction import render_instruction  # noqa: PLC0415
    from benchseal.desk.clock import system_clock  # noqa: PLC0415
    from benchseal.desk.renderer import rendered  # noqa: PLC0415

    if Path(args.pdf).exists():
        what = "a file of that name is there; nothing is ever overwritten."
        raise Stopped(Problem("report.exists", args.pdf, what, "Name a new file."))
    trust, where = trust_of_command(args)
    if trust is None:
        what = "no trust file is named, and none lies in the site."
        raise Stopped(Problem("report.no-trust", "report how-to-check", what, "Name one with --trust."))
    now = system_clock()
    data = rendered(render_instruction, sheet_of(trust, now.date(), args.language), args.paper, now)
    write_file(args.pdf, data)
    said = [f"{args.pdf} tells customers of {trust.laboratory} how to check a certificate, trust from {where}."]
    return show.lines(args, said, {"file": args.pdf, "trust": where, "sha256": digest(data)})


def sheet_of(trust: Trust, made_on: date, language: Language = "en") -> Sheet:
    """What the sheet says under this trust: the fingerprint in force, or that there is none."""
    from benchseal.certificate.instruction import sheet_for  # noqa: PLC0415
    from benchseal.certificate.language import Words  # noqa: PLC0415
    from benchseal.records.printed_form import USUAL_DATES, USUAL_FORM  # noqa: PLC0415

    words = Words(replace(USUAL_FORM, language=language, date=USUAL_DATES[language]))
    in_force = [seal.fingerprint for seal in trust.seals if seal.until_entry is None and seal.revoked is None]
    others = len(trust.seals) - len(in_force)
    return sheet_for(
        words,
        laboratory=trust.laboratory,
        program=f"benchseal {__version__}",
        made_on=made_on,
        prints=in_force,
        earlier=others,
    )
