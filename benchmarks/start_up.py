"""How long ``benchseal --help`` takes, against an interpreter that does nothing: the median ratio of interleaved pairs.

    .venv/bin/python -m benchmarks.start_up [--pairs 21] [--check]

Each pair runs ``python -c pass`` and ``python -m benchseal --help``, one after the other, so that a busy moment of the
machine weighs on both. ``--check`` exits 1 when the median ratio is above the goal.
"""

# ruff: noqa: INP001, T201  scripts that print

from __future__ import annotations

import argparse
import statistics
import sys

from benchmarks.timing import load_words, spent, table

GOAL_RATIO = 6.0


def main() -> int:
    """Measure, print, compare."""
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--pairs", type=int, default=21)
    options.add_argument("--check", action="store_true", help="exit 1 above the goal")
    asked = options.parse_args()
    python = sys.executable
    nothing, commands = (
        [python, "-c", "pass"],
        {
            "--help": [python, "-m", "benchseal", "--help"],
            "ingest --help": [python, "-m", "benchseal", "ingest", "--help"],
        },
    )
    for command in (nothing, *commands.values()):
        spent(command)  # byte code and disk cache warm
    before = load_words()
    rows, worst = [], 0.0
    for name, command in commands.items():
        pairs = [(spent(nothing).wall_s, spent(command).wall_s) for _ in range(asked.pairs)]
        ratio = statistics.median(own / floor for floor, own in pairs)
        floor_s, own_s = (statistics.median(column) for column in zip(*pairs, strict=True))
        rows.append((f"benchseal {name}", f"{own_s:.3f}", f"{floor_s:.3f}", f"{ratio:.2f}", f"{GOAL_RATIO:.0f}"))
        worst = max(worst, ratio)
    print(table(("command", "median s", "python -c pass, s", "median ratio", "goal at most"), rows))
    load = f"load average before {before}, after {load_words()}"
    print(f"{asked.pairs} pairs each; {load}; Python {sys.version.split()[0]}")
    return int(asked.check and worst > GOAL_RATIO)


if __name__ == "__main__":
    sys.exit(main())
