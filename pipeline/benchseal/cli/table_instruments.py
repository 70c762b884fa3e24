"""Commands of instruments' events, of training, and of typed values a second person confirms."""

from __future__ import annotations

from benchseal.cli.words import LATE, REASON, Command

_KINDS = (
    "clock_check",
    "service",
    "qualification",
    "calibration_due",
    "lamp",
    "tube",
    "out_of_service",
    "back_in_service",
    "original_record",
)

_INSTRUMENT = ("instrument", {"metavar": "INSTRUMENT", "help": "identifier of an instrument"})

INSTRUMENT_COMMANDS: tuple[Command, ...] = (
    Command(
        ("instrument", "event"),
        "put on record what happens to an instrument: clock checks, services, lamps, tubes, in and out of service",
        "session",
        "instruments:event",
        "benchseal instrument event furnace-1 --kind clock_check --seen 2026-03-02T08:15:40 --true 2026-03-02T08:15:05",
        (
            _INSTRUMENT,
            ("--kind", {"required": True, "choices": _KINDS, "help": "what happened"}),
            ("--text", {"default": "", "metavar": "TEXT", "help": "what was done, or where the original record lives"}),
            ("--at", {"default": "", "metavar": "TIME", "help": "when, in the instrument's zone; without it now"}),
            ("--by", {"default": "", "metavar": "WHO", "help": "who did or saw it; without it you"}),
            ("--until", {"default": "", "metavar": "DAY", "help": "last day a calibration or qualification holds"}),
            ("--seen", {"default": "", "metavar": "TIME", "help": "what the instrument's clock showed"}),
            ("--true", {"default": "", "metavar": "TIME", "help": "what time it was"}),
            ("--set-right", {"action": "store_true", "help": "the clock was put right at this check"}),
            ("--part", {"default": "", "metavar": "PART", "help": "which lamp or tube"}),
            ("--count", {"default": "", "metavar": "NUMBER", "help": "its counter"}),
            ("--unit", {"default": "", "metavar": "UNIT", "help": "what the counter counts: h, mA h, firings"}),
            LATE,
        ),
    ),
    Command(
        ("instrument", "show"),
        "one instrument: its state, its clock, and everything that happened to it",
        "session",
        "instruments:show_one",
        "benchseal instrument show furnace-1",
        (_INSTRUMENT,),
    ),
    Command(
        ("preparation", "list"),
        "preparation rows and standard lots with the values typed into them, and who confirmed them",
        "session",
        "confirmations:list_all",
        "benchseal preparation list --open",
        (("--open", {"action": "store_true", "help": "only those a second person has not confirmed"}),),
    ),
    Command(
        ("preparation", "confirm"),
        "say that weighings and dilutions somebody else typed are those of the original record",
        "session",
        "confirmations:confirm_preparation",
        "benchseal preparation confirm TR-01/Y-1",
        (("rows", {"nargs": "+", "metavar": "ROW", "help": "BATCH/PORTION, or a label that stands once"}),),
    ),
    Command(
        ("standard", "confirm"),
        "say that the values somebody else typed are those of the standard's certificate",
        "session",
        "confirmations:confirm_standard",
        "benchseal standard confirm SA-Pb-28",
        (("lots", {"nargs": "+", "metavar": "LOT", "help": "standard lots"}),),
    ),
    Command(
        ("training", "add"),
        "put on record that somebody else is trained for a method, a role or an instrument",
        "session",
        "training:add",
        "benchseal training add ana.keel --for method/lead-furnace --until 2027-02-28 --evidence 'course sheet 14'",
        (
            ("person", {"metavar": "USER_ID", "help": "who is trained; never you"}),
            (
                "--for",
                {
                    "dest": "subject",
                    "required": True,
                    "metavar": "SUBJECT",
                    "help": "method/ID (the version in force), method/ID@2, role/reviewer, instrument/ID",
                },
            ),
            ("--until", {"required": True, "metavar": "DAY", "help": "last day it holds"}),
            ("--since", {"default": "", "metavar": "DAY", "help": "first day it holds; without it today"}),
            ("--evidence", {"required": True, "metavar": "TEXT", "help": "what shows it: course, test, observed runs"}),
            ("--trainer", {"action": "store_true", "help": "may also enter it for others (an approver says so)"}),
            LATE,
        ),
    ),
    Command(
        ("training", "list"),
        "training facts, and which held on a day",
        "session",
        "training:list_all",
        "benchseal training list --person ana.keel --as-of 2026-03-02",
        (
            ("--person", {"default": "", "metavar": "USER_ID", "help": "of one person"}),
            ("--as-of", {"default": "", "metavar": "DAY", "help": "only those that held on this day"}),
        ),
    ),
    Command(
        ("training", "withdraw"),
        "take a training fact back from now on",
        "session",
        "training:withdraw",
        "benchseal training withdraw T-00003 --reason 'method changed'",
        (("training", {"metavar": "NUMBER", "help": "as `training list` has it"}), REASON),
    ),
)
