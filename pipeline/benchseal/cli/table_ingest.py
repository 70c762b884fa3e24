"""The command that brings in instrument files, by name or from a watched folder."""

from __future__ import annotations

from benchseal.cli.words import LATE, NOUNS, Command

GAP_BECAUSE = (
    "--gap-because",
    {"default": "", "metavar": "TEXT", "help": "what explains a gap in the reading numbers; it goes on record"},
)

_SETTLE = "with --watch: how long a file must stay as it is before it is read (10)"
_EVERY = "with --watch: how long between two looks (5)"


def seconds(text: str) -> float:
    """Seconds from 0 to an hour; argparse says so where it is none."""
    found = float(text)
    if not 0 <= found <= 3600:  # also what is no number
        raise ValueError(text)
    return found


INGEST_COMMANDS: tuple[Command, ...] = (
    Command(
        ("ingest",),
        NOUNS["ingest"],
        "session",
        "runs:ingest",
        "benchseal ingest lead-furnace.txt --preparation trace-batch.csv",
        (
            ("files", {"nargs": "*", "metavar": "FILE", "help": "instrument text files"}),
            (
                "--layout",
                {"default": "", "metavar": "ID", "help": "reading layout; without it the one that recognises the file"},
            ),
            (
                "--preparation",
                {"default": "", "metavar": "FILE", "help": "preparation sheet of these files, brought in first if new"},
            ),
            (
                "--curve-of",
                {
                    "action": "append",
                    "default": [],
                    "metavar": "RUN",
                    "help": "reviewed run whose curve the file uses, corrected by one standard; once for each element",
                },
            ),
            GAP_BECAUSE,
            LATE,
            (
                "--stands",
                {
                    "choices": ("earlier", "both"),
                    "default": "",
                    "help": "where a run of the file is here already from other bytes: which stands",
                },
            ),
            ("--stands-because", {"default": "", "metavar": "TEXT", "help": "why; it goes on record"}),
            ("--watch", {"default": "", "metavar": "DIR", "help": "bring in what comes into this folder, until ended"}),
            ("--once", {"action": "store_true", "help": "with --watch: what lies there now, then end"}),
            ("--settle-seconds", {"type": seconds, "default": 10.0, "metavar": "S", "help": _SETTLE}),
            ("--every-seconds", {"type": seconds, "default": 5.0, "metavar": "S", "help": _EVERY}),
            (
                "--log",
                {"default": "", "metavar": "FILE", "help": "with --watch: add a JSON line for each event to this file"},
            ),
        ),
    ),
)
