"""The command line: arguments in, one desk call, text and exit code out.

``--help`` and wrong usage import the standard library only; everything else is imported inside the command.
"""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

from benchseal.problems import EXIT_FAULT, EXIT_INTERRUPTED, Stopped, exit_code

if TYPE_CHECKING:
    import argparse


def main(argv: list[str] | None = None) -> int:
    """Run one command; its exit code."""
    from benchseal.cli.parser import parse  # noqa: PLC0415  keeps ``import benchseal.cli`` small

    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(encoding="utf-8", errors="backslashreplace")
    args = parse(sys.argv[1:] if argv is None else argv)
    try:
        return _run(args)
    except Stopped as stop:
        from benchseal.cli.show import notices  # noqa: PLC0415

        notices(args, stop.notices)
        return exit_code(stop.notices)
    except KeyboardInterrupt:
        print("interrupted; nothing is half written", file=sys.stderr)
        return EXIT_INTERRUPTED
    except BrokenPipeError:
        sys.stderr.close()
        return EXIT_FAULT
    except Exception as fault:
        if args.verbose:
            raise
        words = f"{type(fault).__name__}: {fault}"
        print(f"fault of this program, not of your input: {words}. Run again with -v and report it.", file=sys.stderr)
        return EXIT_FAULT


def _run(args: argparse.Namespace) -> int:
    from importlib import import_module  # noqa: PLC0415

    module, _, name = args.function.partition(":")
    result: int = getattr(import_module(f"benchseal.cli.{module}"), name)(args)
    return result
