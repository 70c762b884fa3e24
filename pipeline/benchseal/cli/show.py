"""What a command prints: data on standard output, talk on standard error, one JSON object with ``--json``."""

from __future__ import annotations

import json
import sys
from typing import TYPE_CHECKING, Any

from benchseal.problems import EXIT_DONE, PAGE_OF_INPUT, Notice, exit_code
from benchseal.records.said import some as some  # noqa: PLC0414  the same
from benchseal.records.shown import one_line as one_line  # noqa: PLC0414  the commands take it from here

if TYPE_CHECKING:
    from argparse import Namespace
    from collections.abc import Iterable, Sequence

    from benchseal.desk.acting import Receipt

SCHEMA_VERSION = 1


def receipt(args: Namespace, done: Receipt) -> int:
    """Print what an act gave back; its exit code."""
    code = exit_code(done.notices)
    if args.json:
        as_json(args, {**done.data, "said": list(done.said)}, done.notices, code)
        return code
    if not args.quiet:
        for line in done.said:
            print(one_line(line))
    spoken(args, done.notices)
    return code


def notices(args: Namespace, found: Sequence[Notice]) -> None:
    """Print what stopped a command: one line each on standard error."""
    if args.json:
        as_json(args, {}, found, exit_code(tuple(found)))
        return
    spoken(args, found)


def spoken(args: Namespace, found: Sequence[Notice]) -> None:
    """Each notice in one line on standard error; where one is of what came in, the page that describes such codes."""
    for notice in found:
        print(one_line(str(notice)), file=sys.stderr, flush=True)
    page = next((each.page for each in found if each.page == PAGE_OF_INPUT), "")
    if page and exit_code(tuple(found)) and not args.quiet:
        print(f"What to do about each code stands in {page}.", file=sys.stderr, flush=True)


def as_json(args: Namespace, data: dict[str, Any], found: Sequence[Notice] = (), code: int = EXIT_DONE) -> None:
    """One JSON object on standard output."""
    problems = [each.told for each in found]
    whole = {"schema_version": SCHEMA_VERSION, "command": args.command, "exit": code, **data, "problems": problems}
    print(json.dumps(whole, ensure_ascii=False, indent=2))


def table(args: Namespace, columns: Sequence[str], rows: Iterable[Sequence[object]], *, name: str = "rows") -> int:
    """A table: aligned columns, nothing drawn. With ``--json`` a list of objects under ``name``."""
    listed = [[str(cell) if args.json else one_line(str(cell)) for cell in row] for row in rows]
    if args.json:
        as_json(args, {name: [dict(zip(columns, row, strict=True)) for row in listed]})
        return EXIT_DONE
    widths = [max(len(title), *(len(row[place]) for row in listed), 0) for place, title in enumerate(columns)]
    for row in ([*columns], *listed) if listed else ([*columns],):
        print("  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip())
    if not listed and not args.quiet:
        print("none", file=sys.stderr)
    return EXIT_DONE


def lines(args: Namespace, text: Sequence[str], data: dict[str, Any] | None = None) -> int:
    """Plain lines, or ``data`` with ``--json``."""
    if args.json:
        as_json(args, data if data is not None else {"lines": list(text)})
    else:
        for line in text:
            print(one_line(line))
    return EXIT_DONE
