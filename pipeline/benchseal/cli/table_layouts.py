"""Commands of reading layouts."""

from __future__ import annotations

from benchseal.cli.table_ingest import ONE_RUN
from benchseal.cli.words import Command

LAYOUT_COMMANDS: tuple[Command, ...] = (
    Command(
        ("layout", "propose"),
        "a first draft of a reading layout from a file, each guess marked sure or please check",
        "session",
        "propose:propose",
        "benchseal layout propose furnace-1.txt furnace-2.txt --out my-furnace.yaml --picture my-furnace.html",
        (
            ("files", {"nargs": "+", "metavar": "FILE", "help": "text files; made from the first, tried on all"}),
            ("--out", {"required": True, "metavar": "DRAFT.yaml", "help": "where the draft goes; its name is the id"}),
            (
                "--picture",
                {"metavar": "FILE.html", "help": "the first file, each line coloured by what it is taken for"},
            ),
        ),
    ),
    Command(
        ("layout", "try"),
        "files line by line, with what a layout takes each line for and reads from it",
        "session",
        "layouts:try_out",
        "benchseal layout try my-furnace.yaml furnace-1.txt furnace-2.txt",
        (
            ("layout", {"metavar": "LAYOUT", "help": "YAML file, or ID or ID@VERSION of one that came in"}),
            ("files", {"nargs": "+", "metavar": "FILE", "help": "instrument text files"}),
            ONE_RUN,
        ),
    ),
    Command(
        ("layout", "survey"),
        "which of many files a layout and the rules of the site would take; nothing comes in",
        "session",
        "layouts:survey",
        "benchseal layout survey my-furnace old-exports",
        (
            ("layout", {"metavar": "LAYOUT", "help": "YAML file, or ID or ID@VERSION of one that came in"}),
            ("files", {"nargs": "+", "metavar": "FILE", "help": "instrument text files, or folders of them"}),
        ),
    ),
    Command(
        ("layout", "sample"),
        "keep a file and what a layout reads from it; later versions must read the same",
        "session",
        "layouts:sample",
        "benchseal layout sample my-furnace furnace-1.txt",
        (
            ("layout", {"metavar": "ID", "help": "reading layout; its latest version reads the file"}),
            ("files", {"nargs": "+", "metavar": "FILE", "help": "instrument text file; several are parts of one run"}),
            (
                "--reason",
                {"default": "", "metavar": "TEXT", "help": "why another reading than the one kept is right"},
            ),
        ),
    ),
    Command(
        ("layout", "test"),
        "read every file kept with a layout again, by its latest version or the one named",
        "session",
        "layouts:test",
        "benchseal layout test my-furnace@2",
        (("layout", {"metavar": "ID[@VERSION]", "help": "reading layout"}),),
    ),
)
