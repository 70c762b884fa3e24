"""Commands of looking back: what a version of the program touched, how long records are kept, the periodic review."""

from __future__ import annotations

from benchseal.cli.words import NOUNS, Command

REVIEW_COMMANDS: tuple[Command, ...] = (
    Command(
        ("impact",),
        NOUNS["impact"],
        "session",
        "reviews:impact",
        "benchseal impact --program 0.1.0",
        (("--program", {"required": True, "metavar": "VERSION", "help": "a version of this program"}),),
    ),
    Command(
        ("retention",),
        NOUNS["retention"],
        "session",
        "reviews:retention",
        "benchseal retention --open-oldest",
        (("--open-oldest", {"action": "store_true", "help": "open the oldest record of each class and check it"}),),
    ),
    Command(
        ("periodic",),
        NOUNS["periodic"],
        "session",
        "reviews:periodic",
        "benchseal periodic",
    ),
    Command(
        ("periodic", "sign"),
        "sign that the report of the period was looked at, and what is to follow",
        "signature",
        "reviews:sign",
        "benchseal periodic sign --list 412-1a2b3c4d --comment 'restore test to be done this week'",
        (
            ("--list", {"required": True, "metavar": "ENTRY-FIGURES", "help": "what `periodic` ends with"}),
            ("--comment", {"required": True, "metavar": "TEXT", "help": "what follows from it; it goes on record"}),
        ),
    ),
)
