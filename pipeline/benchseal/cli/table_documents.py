"""Commands of controlled documents and policies."""

from __future__ import annotations

from benchseal.cli.words import Command

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
        "put a document in force; its author cannot",
        "signature",
        "documents:approve",
        "benchseal document approve method/lead-furnace",
        (("id", {"metavar": "ID", "help": "identifier, with its kind where two share it"}),),
    ),
    Command(
        ("document", "list"),
        "every version of every document",
        "session",
        "documents:list_all",
        "benchseal document list",
    ),
    Command(
        ("document", "show"),
        "a document as it was brought in",
        "session",
        "documents:show_one",
        "benchseal document show lead-furnace@1",
        (("id", {"metavar": "ID[@VERSION]", "help": "identifier; the latest version without @"}),),
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
