"""The command that answers a browser."""

from __future__ import annotations

from benchseal.cli.words import Command

SERVE_COMMANDS: tuple[Command, ...] = (
    Command(
        ("serve",),
        "the verification page for a browser: a file is dropped, the verdict is said; nothing is stored",
        "site",
        "serve:serve",
        "benchseal serve --trust trust.json",
        (
            (
                "--trust",
                {
                    "default": "",
                    "metavar": "FILE",
                    "help": "what the laboratory handed out (BENCHSEAL_TRUST, else the site's trust.json)",
                },
            ),
            ("--status", {"default": "", "metavar": "FILE", "help": "the laboratory's status file"}),
            ("--host", {"default": "127.0.0.1", "metavar": "ADDRESS", "help": "where it listens (127.0.0.1)"}),
            ("--port", {"default": 8321, "type": int, "metavar": "N", "help": "its port (8321); 0 for any free one"}),
        ),
    ),
)
