"""Commands for those outside: the check, the page that answers a browser, and the sheet for customers."""

from __future__ import annotations

from benchseal.cli.words import NOUNS, Command

_TRUST = (
    "--trust",
    {
        "default": "",
        "metavar": "FILE",
        "help": "what the laboratory handed out (BENCHSEAL_TRUST, else the site's trust.json)",
    },
)

SERVE_COMMANDS: tuple[Command, ...] = (
    Command(
        ("verify",),
        NOUNS["verify"],
        "site",
        "verify:verify",
        "benchseal verify C-2026-00001.pdf --trust trust.json",
        (
            ("files", {"nargs": "*", "metavar": "FILE.pdf", "help": "certificates; no site is needed for these"}),
            _TRUST,
            (
                "--status",
                {
                    "default": "",
                    "metavar": "FILE",
                    "help": "the laboratory's status file: says whether a certificate was superseded or withdrawn",
                },
            ),
            (
                "--redraw",
                {"action": "store_true", "help": "draw each page again too and compare its bytes: takes longer"},
            ),
            ("--language", {"default": "en", "choices": ("en", "de"), "help": "in which language to explain"}),
            ("--copy", {"default": "", "metavar": "DIR", "help": "check an inspection copy; no site is needed"}),
            ("--archive", {"default": "", "metavar": "FILE", "help": "check archive material; no site is needed"}),
            ("--all", {"action": "store_true", "help": "check the whole site"}),
            (
                "--against",
                {
                    "nargs": "+",
                    "default": [],
                    "metavar": "CHECKPOINT_OR_PDF",
                    "help": "with --all: checkpoints kept elsewhere, or issued certificates",
                },
            ),
        ),
    ),
    Command(
        ("report", "how-to-check"),
        "a sheet of one page for customers: how to check a certificate, with the fingerprint to compare",
        "site",
        "instruction:how_to_check",
        "benchseal report how-to-check --pdf how-to-check.pdf --paper letter",
        (
            ("--pdf", {"required": True, "metavar": "FILE", "help": "a new file"}),
            ("--paper", {"choices": ("a4", "letter"), "default": "a4", "help": "size of its page (a4)"}),
            ("--language", {"default": "en", "choices": ("en", "de"), "help": "of the sheet (en)"}),
            _TRUST,
        ),
    ),
    Command(
        ("serve",),
        "the verification page for a browser: a file is dropped, the verdict is said; nothing is stored",
        "site",
        "serve:serve",
        "benchseal serve --trust trust.json",
        (
            _TRUST,
            ("--status", {"default": "", "metavar": "FILE", "help": "the laboratory's status file"}),
            (
                "--interface",
                {"action": "store_true", "help": "also let systems with a token read this site, under /v1/"},
            ),
            ("--host", {"default": "127.0.0.1", "metavar": "ADDRESS", "help": "where it listens (127.0.0.1)"}),
            ("--port", {"default": 8321, "type": int, "metavar": "N", "help": "its port (8321); 0 for any free one"}),
        ),
    ),
)
