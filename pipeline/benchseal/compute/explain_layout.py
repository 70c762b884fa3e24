"""How a worked calculation is set on a page: prose, tables, formulas on lines of at most ``WIDTH`` signs."""

from __future__ import annotations

import re
from textwrap import wrap
from typing import TYPE_CHECKING, Final

from benchseal.records.quantities import unit_factor, unit_shown

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence


WIDTH: Final = 110
STEP: Final = 2  # signs of one indentation
_HANG: Final = 4  # a line that goes on is set in by so much more
_LONGEST_NAME: Final = 12  # of what stands left of "=" on the same line
_BEFORE_OPERATOR: Final = re.compile(r" (?=[-+x/] )")


def prose(text: str, indent: int = STEP) -> Iterator[str]:
    """Words on as many lines as they need."""
    first, rest = " " * indent, " " * (indent + _HANG)
    yield from wrap(text, WIDTH, initial_indent=first, subsequent_indent=rest, break_on_hyphens=False)


def said(label: str, text: str, indent: int = STEP) -> Iterator[str]:
    """``label: text``; nothing where there is no text."""
    if text.strip():
        yield from prose(f"{label}: {text}", indent)


def heading(text: str) -> Iterator[str]:
    """A section begins."""
    yield ""
    yield from prose(text, 0)


def formula(name: str, *members: str, indent: int = STEP) -> Iterator[str]:
    """``name = member = member``, each member on a line of its own, its sign of equality below the one before.

    A member too long for its line is broken before an operator.
    """
    before, own = " " * indent, list(members)
    place = before + " " * (len(name) + 1)
    if len(name) > _LONGEST_NAME:
        yield f"{before}{name}"
        place = before + " " * STEP
    else:
        first, *rest = _broken(own.pop(0), len(place) + 2)
        yield f"{before}{name} = {first}"
        yield from (f"{place}{' ' * _HANG}{part}" for part in rest)
    for member in own:
        first, *rest = _broken(member, len(place) + 2)
        yield f"{place}= {first}"
        yield from (f"{place}{' ' * _HANG}{part}" for part in rest)


def _broken(member: str, begins_at: int) -> Iterator[str]:
    room = WIDTH - begins_at
    line = ""
    for part in _BEFORE_OPERATOR.split(member):
        longer = f"{line} {part}" if line else part
        if line and len(longer) > room:
            yield line
            line, room = part, WIDTH - begins_at - _HANG + 2
        else:
            line = longer
    yield line


def table(rows: Sequence[Sequence[str]], indent: int = STEP, right: frozenset[int] = frozenset()) -> Iterator[str]:
    """Aligned columns two signs apart; ``right`` numbers those whose ends stand below each other.

    A row too wide goes on in the next line.
    """
    for lines in table_rows(rows, indent, right):
        yield from lines


def table_rows(
    rows: Sequence[Sequence[str]], indent: int = STEP, right: frozenset[int] = frozenset()
) -> Iterator[tuple[str, ...]]:
    """As ``table``, the lines of each row apart, so that something may be said below a row."""
    columns = max((len(row) for row in rows), default=0)
    wide = [max(len(row[place]) for row in rows if place < len(row)) for place in range(columns)]
    for row in rows:
        cells = (
            cell.rjust(wide[place]) if place in right else cell.ljust(wide[place]) for place, cell in enumerate(row)
        )
        line = (" " * indent + "  ".join(cells)).rstrip()
        yield (line,) if len(line) <= WIDTH else tuple(_folded(line, indent))


def _folded(line: str, indent: int) -> Iterator[str]:
    """A long row broken at a blank, the blanks between its columns kept where they are."""
    cut = line.rfind(" ", indent + 1, WIDTH + 1)
    cut = WIDTH if cut < 0 or not line[:cut].strip() else cut
    yield line[:cut].rstrip()
    yield from prose(line[cut:], indent + _HANG)


def put(number: str) -> str:
    """A number, with its unit or without, where a formula has a letter: in brackets below zero."""
    return f"({number})" if number.startswith("-") else number


def turned(unit: str, to: str) -> str:
    """`` x 1/1000 (µg/L to mg/L)``: the exact factor between two units, left out when it is 1."""
    factor = unit_factor(unit, to)
    return "" if factor == 1 else f" x {factor} ({unit_shown(unit)} to {unit_shown(to)})"


def spans(numbers: Sequence[int]) -> str:
    """``26``, ``54 to 56``, ``4 to 6, 9``: every number once, neighbours run together."""
    runs: list[list[int]] = []
    for number in sorted(set(numbers)):
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    return ", ".join(str(own[0]) if len(own) == 1 else f"{own[0]} to {own[-1]}" for own in runs)


def counted(count: int, one: str, many: str = "") -> str:
    """``1 reading``, ``3 readings``."""
    return f"{count} {one if count == 1 else many or one + 's'}"
