"""Commands of questions over time."""

from __future__ import annotations

from benchseal.cli.words import Command

_METHOD = ("--method", {"required": True, "metavar": "ID", "help": "identifier of a method"})
_RULE = ("--rule", {"default": "", "metavar": "RULE", "help": "one check of the method; without it all of them"})
_NARROWED = (
    ("--instrument", {"default": "", "metavar": "ID", "help": "one instrument; without it a chart for each"}),
    ("--lot", {"default": "", "metavar": "LOT", "help": "show values under this standard lot only"}),
    ("--from", {"dest": "first", "default": "", "metavar": "DAY", "help": "show values from this day on (UTC)"}),
    ("--to", {"dest": "last", "default": "", "metavar": "DAY", "help": "show values up to this day (UTC)"}),
    (
        "--run-rules",
        {
            "choices": ("western_electric", "nelson", "both"),
            "default": "western_electric",
            "help": "which run rules are looked for",
        },
    ),
)

_ON_PAPER = (
    ("--pdf", {"default": "", "metavar": "FILE", "help": "write the charts here as a PDF instead of printing them"}),
    ("--paper", {"choices": ("a4", "letter"), "default": "", "help": "size of the PDF; else as the site's rules say"}),
)

HISTORY_COMMANDS: tuple[Command, ...] = (
    Command(
        ("history", "check"),
        "control charts of a method's checks over runs, limits frozen for each standard lot",
        "session",
        "history:check",
        "benchseal history check --method lead-furnace --rule check-standard",
        (_METHOD, _RULE, *_NARROWED, *_ON_PAPER),
    ),
    Command(
        ("history", "sensitivity"),
        "slope and characteristic concentration or mass over runs, and the newest against its history",
        "session",
        "history:sensitivity",
        "benchseal history sensitivity --method lead-furnace",
        (_METHOD, *_NARROWED),
    ),
    Command(
        ("history", "instrument"),
        "every run measured on an instrument, and what happened to it",
        "session",
        "history:instrument",
        "benchseal history instrument furnace-1",
        (("instrument", {"metavar": "INSTRUMENT", "help": "identifier of an instrument"}),),
    ),
    Command(
        ("history", "method"),
        "every version of a method and every run measured by it",
        "session",
        "history:method",
        "benchseal history method lead-furnace",
        (("method", {"metavar": "METHOD", "help": "identifier of a method"}),),
    ),
    Command(
        ("history", "person"),
        "all that a person did or signed",
        "session",
        "history:person",
        "benchseal history person p-ana.keel",
        (("person", {"metavar": "USER_ID", "help": "as `benchseal person list` has it"}),),
    ),
)
