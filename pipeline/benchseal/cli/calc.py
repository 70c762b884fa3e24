"""``calc``: one question, one answer, no record touched."""

from __future__ import annotations

import json
import sys
from typing import TYPE_CHECKING

from benchseal.cli import show
from benchseal.cli.opened import file_bytes
from benchseal.problems import EXIT_DONE, Problem, Stopped, exit_code
from benchseal.records.canonical import parse_json

if TYPE_CHECKING:
    from argparse import Namespace

_LARGEST = 16 * 1024 * 1024


def calc(args: Namespace) -> int:
    """Answer one question."""
    from benchseal.compute.calc import answer  # noqa: PLC0415
    from benchseal.compute.calc_answer import Typed  # noqa: PLC0415

    data = sys.stdin.buffer.read(_LARGEST + 1) if args.file == "-" else file_bytes(args.file, _LARGEST)
    try:
        question = parse_json(data, Typed)
    except ValueError as fault:
        where = "standard input" if args.file == "-" else args.file
        raise Stopped(
            Problem("calc.not-json", where, f"it is not JSON: {fault}.", "See the manual, page 'calc'.")
        ) from None
    found = answer(question)
    if isinstance(found, tuple):
        show.notices(args, found)
        return exit_code(found)
    print(json.dumps(found, ensure_ascii=False, indent=2, allow_nan=False))
    return EXIT_DONE
