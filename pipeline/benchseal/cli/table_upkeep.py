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
        ("copy",),
        NOUNS["copy"],
        "session",
        "upkeep:copy",
        "benchseal copy --certificate C-2026-00001 --out inspection-2026-03-02",
        (
            ("--run", {"nargs": "+", "default": [], "metavar": "RUN", "help": "runs, whole"}),
            ("--certificate", {"nargs": "+", "default": [], "metavar": "NUMBER", "help": "certificates"}),
            ("--lot", {"nargs": "+", "default": [], "metavar": "LOT", "help": "lots: everything about them"}),
            ("--out", {"required": True, "metavar": "DIR", "help": "a new folder; nothing is ever overwritten"}),
            (
                "--for-authority",
                {
                    "action": "store_true",
                    "help": "other customers' samples in the same runs and files in clear, not as digests",
                },
            ),
        ),
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
    Command(
        ("status",),
        NOUNS["status"],
        "session",
        "upkeep:status",
        "benchseal status",
        (("--prometheus", {"default": "", "metavar": "FILE", "help": "write the counts there as well, as metrics"}),),
    ),
)
