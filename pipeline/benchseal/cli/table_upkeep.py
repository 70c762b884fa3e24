"""Commands of operations."""

from __future__ import annotations

from benchseal.cli.words import NOUNS, SECOND, Command

_BACKUP = ("file", {"metavar": "FILE", "help": "a backup, such as heron-2026-03-02.zip"})

UPKEEP_COMMANDS: tuple[Command, ...] = (
    Command(
        ("backup", "make"),
        "write a backup of the site to one new file, while others go on working",
        "session",
        "upkeep:make",
        "benchseal backup make heron-2026-03-02.zip",
        (("file", {"metavar": "FILE", "help": "a new file, on another disk"}), SECOND),
    ),
    Command(
        ("backup", "test"),
        "restore a backup elsewhere, verify it whole, and compare it with this site",
        "session",
        "upkeep:test",
        "benchseal backup test heron-2026-03-02.zip",
        (_BACKUP, SECOND),
    ),
    Command(
        ("restore",),
        NOUNS["restore"],
        "nothing",
        "upkeep:restore",
        "benchseal restore heron-2026-03-02.zip site-again",
        (_BACKUP, ("folder", {"metavar": "DIR", "help": "a new or an empty folder; nothing is ever overwritten"})),
    ),
    Command(("doctor",), NOUNS["doctor"], "session", "upkeep:doctor", "benchseal doctor"),
    Command(("status",), NOUNS["status"], "session", "upkeep:status", "benchseal status"),
)
