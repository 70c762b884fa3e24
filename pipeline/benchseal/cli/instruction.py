"""``report how-to-check``: the sheet for customers, with the fingerprint they compare by telephone."""

from __future__ import annotations

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

    from benchseal.certificate.instruction import Sheet
    from benchseal.verify.trust import Trust

_THEN = {
    "GENUINE": "It says what the laboratory released.",
    "ALTERED": "",
    "UNKNOWN": "The lines marked open say what is missing: a trust file, a key, or another version of benchseal.",
}


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
    data = rendered(render_instruction, sheet_of(trust, f"{now.day} {now:%B %Y}"), args.paper, now)
    write_file(args.pdf, data)
    said = [f"{args.pdf} tells customers of {trust.laboratory} how to check a certificate, trust from {where}."]
    return show.lines(args, said, {"file": args.pdf, "trust": where, "sha256": digest(data)})


def sheet_of(trust: Trust, made_on: str) -> Sheet:
    """What the sheet says under this trust: the fingerprint in force, or that there is none."""
    from benchseal.certificate.instruction import Sheet, in_groups  # noqa: PLC0415
    from benchseal.verify.report import MEANS  # noqa: PLC0415

    in_force = [seal for seal in trust.seals if seal.until_entry is None and seal.revoked is None]
    others = len(trust.seals) - len(in_force)
    said = f"{others} earlier one{' stands' if others == 1 else 's stand'} in the trust file." if others else ""
    return Sheet(
        laboratory=trust.laboratory,
        program=f"benchseal {__version__}",
        made_on=made_on,
        prints=tuple(in_groups(seal.fingerprint) for seal in in_force) or ("none is in force: ask the laboratory",),
        prints_said=said,
        words=tuple((word, f"{means[0].upper()}{means[1:]}.", _THEN[word]) for word, means in MEANS.items()),
    )
