"""Commands of deliveries to other systems."""

from __future__ import annotations

from benchseal.cli.words import Command

EXPORT_COMMANDS: tuple[Command, ...] = (
    Command(
        ("export", "preview"),
        "what the next delivery of a profile would hold, each cell with its field",
        "session",
        "exports:preview",
        "benchseal export preview comma-utf8",
        (("profile", {"metavar": "PROFILE", "help": "identifier of an export profile in force"}),),
    ),
    Command(
        ("export", "check"),
        "what a profile makes of results that are seldom met: below limits, negative, withdrawn, odd texts",
        "session",
        "exports:check",
        "benchseal export check comma-utf8",
        (
            (
                "profile",
                {"metavar": "PROFILE", "help": "a profile in force, or a file of one to be tried"},
            ),
            ("--cells", {"action": "store_true", "help": "every cell of every case"}),
        ),
    ),
    Command(
        ("export", "run"),
        "deliver released results that were not delivered yet",
        "session",
        "exports:run",
        "benchseal export run comma-utf8 --to outbox",
        (
            ("profile", {"metavar": "PROFILE", "help": "identifier of an export profile in force"}),
            ("--to", {"default": None, "metavar": "DIR", "help": "a folder (the profile's place, else SITE/outbox)"}),
            ("--dry-run", {"action": "store_true", "help": "deliver nothing; look whether the place would take it"}),
            ("--log", {"default": "", "metavar": "FILE", "help": "add a JSON line for each event to this file"}),
        ),
    ),
    Command(
        ("export", "again"),
        "write a delivery again: the same bytes under the same name",
        "session",
        "exports:again",
        "benchseal export again D-00001 --to outbox",
        (
            ("delivery", {"metavar": "DELIVERY", "help": "delivery number"}),
            ("--to", {"default": None, "metavar": "DIR", "help": "destination folder (as before)"}),
        ),
    ),
    Command(
        ("export", "move"),
        "name another place for a delivery that could not be put down",
        "session",
        "exports:move",
        "benchseal export move D-00001 --reason 'the share was given up'",
        (
            ("delivery", {"metavar": "DELIVERY", "help": "delivery number"}),
            (
                "--to",
                {
                    "default": None,
                    "metavar": "FOLDER",
                    "help": "a folder; without it the place of its profile as it is now",
                },
            ),
            ("--reason", {"required": True, "metavar": "TEXT", "help": "why it goes elsewhere"}),
        ),
    ),
    Command(
        ("export", "acknowledge"),
        "put on record what a receiver says of a delivery",
        "session",
        "exports:acknowledge",
        "benchseal export acknowledge D-00001.json",
        (("file", {"metavar": "FILE", "help": "the receiver's file, JSON or four columns of text"}),),
    ),
    Command(
        ("export", "settle"),
        "say what was done about rows that a receiver did not take",
        "session",
        "exports:settle",
        "benchseal export settle D-00001 --row 3 --reason 'entered by hand there'",
        (
            ("delivery", {"metavar": "DELIVERY", "help": "delivery number"}),
            (
                "--row",
                {"action": "append", "type": int, "default": [], "metavar": "N", "help": "row of the file (all)"},
            ),
            ("--reason", {"required": True, "metavar": "TEXT", "help": "what was done"}),
        ),
    ),
    Command(
        ("export", "close"),
        "note a planned delivery as arrived, or give it up, where its place does not come back",
        "signature",
        "exports:close",
        "benchseal export close D-00002 --arrived no --confirmed-by 'Ida Brook, by letter' --reason 'server gone'",
        (
            ("delivery", {"metavar": "DELIVERY", "help": "delivery number"}),
            (
                "--arrived",
                {
                    "required": True,
                    "choices": ("yes", "no"),
                    "help": "whether its receiver holds it, by whatever way; no: its results are due again",
                },
            ),
            (
                "--confirmed-by",
                {"required": True, "metavar": "TEXT", "help": "who of the receiver said so, and by what way"},
            ),
            ("--reason", {"required": True, "metavar": "TEXT", "help": "why its place does not come back"}),
        ),
    ),
    Command(
        ("export", "list"),
        "every delivery and its state",
        "session",
        "exports:list_all",
        "benchseal export list",
        (("--held", {"action": "store_true", "help": "rows that a receiver did not take and nobody acted on yet"}),),
    ),
)
