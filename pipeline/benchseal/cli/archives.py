"""``certificate archive``: what an issued certificate is checked with, in one file beside it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.cli import show
from benchseal.cli.opened import file_bytes, reading, write_file

if TYPE_CHECKING:
    from argparse import Namespace


def make(args: Namespace) -> int:
    """Write the zip."""
    from benchseal.desk.archives import make_archive  # noqa: PLC0415

    answers = {name: file_bytes(name) for name in args.revocation}
    with reading(args) as (site, view):
        data = make_archive(site, view, args.number, answers)
    write_file(args.out, data)
    said = [f"Written to {args.out}. Check it anywhere: benchseal verify --archive {args.out} --trust trust.json"]
    return show.lines(args, said, {"file": args.out, "bytes": len(data), "answers": len(answers)})
