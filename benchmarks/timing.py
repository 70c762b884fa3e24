"""What the benchmarks share: the time of one process, the machine's load, and a plain table."""

# ruff: noqa: INP001

from __future__ import annotations

import os
import subprocess
import time
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Sequence


class Spent(NamedTuple):
    """Wall time and processor time of one process. cpu_s is 0 where the system does not tell."""

    wall_s: float
    cpu_s: float


def spent(command: Sequence[str]) -> Spent:
    """What one process takes from start to end. Raises CalledProcessError when it fails.

    Byte code may be kept, as anywhere the program is used: the first run of a command is slower and is not counted.
    """
    env = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    before, started = os.times(), time.perf_counter()
    subprocess.run(command, check=True, capture_output=True, env=env, stdin=subprocess.DEVNULL)  # noqa: S603  our own
    wall_s, after = time.perf_counter() - started, os.times()
    cpu_s = after.children_user + after.children_system - before.children_user - before.children_system
    return Spent(wall_s, cpu_s)


def load_words() -> str:
    """Load average of the last minute and the number of processors: what a time is worth."""
    load = f"{os.getloadavg()[0]:.2f}" if hasattr(os, "getloadavg") else "unknown"
    return f"{load} on {os.cpu_count()} processors"


def table(titles: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """Aligned columns."""
    widths = [max(len(title), *(len(row[place]) for row in rows)) for place, title in enumerate(titles)]
    lines = [titles, *rows]
    return "\n".join(
        "  ".join(cell.ljust(width) for cell, width in zip(line, widths, strict=True)).rstrip() for line in lines
    )
