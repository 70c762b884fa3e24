"""Commands of controlled documents and policies."""

from __future__ import annotations

from benchseal.cli.words import REASON, Command

DOCUMENT_COMMANDS: tuple[Command, ...] = (
    Command(
        ("document", "add"),
        "bring in a version of a method, specification, reading layout, export profile, policy or the site's rules",
        "session",
        "documents:add",
        "benchseal document add lead-furnace.yaml",
        (("files", {"nargs": "+", "metavar": "FILE", "help": "YAML files"}),),
    ),
    Command(
        ("document", "approve"),
        "put a document in force, today or from a later day; its author cannot",
        "signature",
        "documents:approve",
        "benchseal document approve method/lead-furnace --effective 2026-04-01",
        (
            ("id", {"metavar": "ID", "help": "identifier, with its kind where two share it"}),
            (
                "--effective",
                {"default": "", "metavar": "DATE", "help": "the day it counts from, as 2026-04-01; without it today"},
            ),
            (
                "--seen",
                {
                    "default": "",
                    "metavar": "FIGURES",
                    "help": "what `document compare` ended with; refused if it changed",
                },
            ),
        ),
    ),
    Command(
        ("document", "compare"),
        "what differs between two versions, or between the one in force and the latest",
        "session",
        "documents:compare_two",
        "benchseal document compare lead-furnace@1 lead-furnace@2",
        (("ids", {"nargs": "+", "metavar": "ID[@VERSION]", "help": "two versions; or one document"}),),
    ),
    Command(
        ("document", "review"),
        "sign that a document in force was looked at again and is right as it stands",
        "signature",
        "documents:review",
        "benchseal document review lead-furnace --comment 'nothing changed in the standard it follows'",
        (
            ("id", {"metavar": "ID", "help": "identifier, with its kind where two share it"}),
            ("--comment", {"required": True, "metavar": "TEXT", "help": "what was looked at; it goes on record"}),
        ),
    ),
    Command(
        ("document", "withdraw"),
        "take a document out of use; records made with it keep naming it",
        "signature",
        "documents:withdraw",
        "benchseal document withdraw lead-furnace --reason 'the furnace is gone'",
        (
            ("id", {"metavar": "ID[@VERSION]", "help": "the version in force, or the one named"}),
            REASON,
        ),
    ),
    Command(
        ("document", "list"),
        "every version of every document",
        "session",
        "documents:list_all",
        "benchseal document list --due",
        (("--due", {"action": "store_true", "help": "only those in force that are due for review"}),),
    ),
    Command(
        ("document", "show"),
        "a document as it was brought in",
        "session",
        "documents:show_one",
        "benchseal document show lead-furnace@1",
        (
            ("id", {"metavar": "ID[@VERSION]", "help": "identifier; the latest version without @"}),
            ("--pdf", {"metavar": "FILE", "help": "of a template: write the pages made of invented figures here"}),
        ),
    ),
    Command(
        ("policy", "list"),
        "policies in force, and who has not acknowledged them",
        "session",
        "policies:list_all",
        "benchseal policy list",
    ),
    Command(
        ("policy", "show"),
        "the text of the version in force, with the figures to give",
        "session",
        "policies:show_one",
        "benchseal policy show SIGNING",
        (("id", {"metavar": "ID", "help": "identifier of a policy in force"}),),
    ),
    Command(
        ("policy", "acknowledge"),
        "say that you have read a policy and will keep it",
        "signature",
        "policies:acknowledge",
        "benchseal policy acknowledge SIGNING --seen 1a2b3c4d",
        (
            ("id", {"metavar": "ID", "help": "identifier of a policy in force"}),
            ("--seen", {"required": True, "metavar": "FIGURES", "help": "what `policy show` ends with"}),
        ),
    ),
)
