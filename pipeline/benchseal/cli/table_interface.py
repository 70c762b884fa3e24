"""Commands on tokens of the reading interface."""

from __future__ import annotations

from benchseal.cli.words import REASON, SECOND, Command

INTERFACE_COMMANDS: tuple[Command, ...] = (
    Command(
        ("token", "make"),
        "let one system read released results or certificates, for a time; its secret is shown once",
        "signatures",
        "interface:make",
        "benchseal token make 'results system of Bramley Works' --scope results certificates --customer BRAMLEY "
        "--until 2026-12-31 --reason 'their order of 2 March'",
        (
            ("system", {"metavar": "NAME", "help": "which system of whom"}),
            (
                "--scope",
                {"required": True, "nargs": "+", "metavar": "WHAT", "help": "results, certificates, or both"},
            ),
            (
                "--customer",
                {"nargs": "+", "default": [], "metavar": "CUSTOMER", "help": "of these customers only (every one)"},
            ),
            ("--until", {"required": True, "metavar": "DAY", "help": "the last day, UTC; at most 366 days on"}),
            REASON,
        ),
    ),
    Command(
        ("token", "list"),
        "every token: which system, what it may read, until when, and whether it is good",
        "session",
        "interface:list_all",
        "benchseal token list",
    ),
    Command(
        ("token", "revoke"),
        "let a token open nothing from now on",
        "signature",
        "interface:revoke",
        "benchseal token revoke SY-00001 --reason 'the system was replaced'",
        (("token", {"metavar": "TOKEN", "help": "its number, such as SY-00001; not its secret"}), REASON, SECOND),
    ),
)
