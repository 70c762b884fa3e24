"""The command line: arguments in, one desk call, text and exit code out.

``--help`` and wrong usage import the standard library only; everything else is imported inside the command.
"""

from __future__ import annotations

import contextlib
import os
import sys
from typing import TYPE_CHECKING

from benchseal.problems import EXIT_BUSY, EXIT_FAULT, EXIT_INTERRUPTED, EXIT_PIPE, Stopped, Trouble, exit_code

if TYPE_CHECKING:
    import argparse

    from benchseal.problems import Notice


def main(argv: list[str] | None = None) -> int:
    """Run one command; its exit code."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(encoding="utf-8", errors="backslashreplace")
    try:
        try:
            return _answered(sys.argv[1:] if argv is None else argv)
        finally:
            _flush()  # what a reader who went does not take shows here, not at the end of the interpreter
    except BrokenPipeError:
        _drop_output()
        return EXIT_PIPE
    except OSError as fault:  # of help, or of what a command that was refused says
        _drop_output()
        print(f"output.failed: standard output: it cannot be written: {fault.strerror or fault}.", file=sys.stderr)
        return EXIT_BUSY


def _answered(argv: list[str]) -> int:
    """Exit code of a command whose answer is said. Raises BrokenPipeError, and SystemExit after help or wrong usage."""
    from benchseal.cli.parser import parse  # noqa: PLC0415  keeps ``import benchseal.cli`` small

    args = parse(argv)
    try:
        code = _run(args)
        _flush()  # a full disk shows here, while it can still be said
    except Stopped as stop:
        return _stopped(args, stop.notices)
    except KeyboardInterrupt:
        print("interrupted; nothing is half written", file=sys.stderr)
        return EXIT_INTERRUPTED
    except BrokenPipeError:
        raise
    except OSError as fault:
        _drop_output()
        what, remedy = f"{fault.strerror or fault}.", "What was done stands: see `benchseal ledger show all`."
        place = str(fault.filename or "standard output")
        return _stopped(args, (Trouble("output.failed", place, f"it cannot be written or read: {what}", remedy),))
    except Exception as fault:
        if args.verbose:
            raise
        words = f"{type(fault).__name__}: {fault}"
        print(f"fault of this program, not of your input: {words}. Run again with -v and report it.", file=sys.stderr)
        return EXIT_FAULT
    return code


def _flush() -> None:
    if sys.stdout is not None:
        sys.stdout.flush()


def _stopped(args: argparse.Namespace, found: tuple[Notice, ...]) -> int:
    from benchseal.cli.show import notices  # noqa: PLC0415

    notices(args, found)
    return exit_code(found)


def _drop_output() -> None:
    """Nobody takes the output any more: send what is left nowhere, or the interpreter complains at its end."""
    for stream in (sys.stdout, sys.stderr):
        try:
            stream.flush()
        except (OSError, ValueError, AttributeError):
            with contextlib.suppress(OSError, ValueError, AttributeError):
                os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())


def _run(args: argparse.Namespace) -> int:
    from importlib import import_module  # noqa: PLC0415

    # Our matrices have three columns: threads of the linear algebra library cost more than they give.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    module, _, name = args.function.partition(":")
    result: int = getattr(import_module(f"benchseal.cli.{module}"), name)(args)
    return result
