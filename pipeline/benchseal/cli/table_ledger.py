"""Commands of the trail."""

from __future__ import annotations

from benchseal.cli.words import Command

_PAPER = (
    "--paper",
    {"choices": ("a4", "letter"), "default": "", "help": "size of its pages (a4, or what the rules of the site say)"},
)
_CSV = ("--csv", {"default": "", "metavar": "FILE", "help": "write the entries to this file instead"})

LEDGER_COMMANDS: tuple[Command, ...] = (
    Command(
        ("ledger", "show"),
        "the history of one subject",
        "session",
        "ledger:show_one",
        "benchseal ledger show run/R-00001",
        (
            (
                "subject",
                {
                    "metavar": "SUBJECT",
                    "help": "run/R-00001, certificate/…, sample/…, or just the number; 'all' for everything",
                },
            ),
            (
                "--since-my-review",
                {"action": "store_true", "help": "only what came after you last reviewed it (`ledger review`)"},
            ),
            ("--changes", {"action": "store_true", "help": "what each entry changed, old and new"}),
        ),
    ),
    Command(
        ("ledger", "find"),
        "entries by who, act, day, subject and text",
        "session",
        "ledger:find_some",
        "benchseal ledger find --who p-ines.brandt --act run.calculated --from 2026-03-01 --text lamp",
        (
            ("--who", {"default": "", "metavar": "USER_ID", "help": "who did it"}),
            (
                "--act",
                {"default": "", "metavar": "KIND", "help": "kind: run.submitted, or run for all of runs"},
            ),
            ("--subject", {"default": "", "metavar": "SUBJECT", "help": "what it is about"}),
            ("--from", {"default": "", "dest": "since", "metavar": "DAY", "help": "from this day on (UTC)"}),
            ("--to", {"default": "", "dest": "until", "metavar": "DAY", "help": "up to this day (UTC)"}),
            ("--text", {"default": "", "metavar": "TEXT", "help": "in subject, reason or facts"}),
            _CSV,
        ),
    ),
    Command(
        ("ledger", "review"),
        "sign that the entries about a subject were looked at",
        "signature",
        "ledger:review",
        "benchseal ledger review run/R-00001 --list 1a2b3c4d --comment 'one recalculation, explained'",
        (
            ("subject", {"metavar": "SUBJECT", "help": "run/R-00001, certificate/…, sample/…"}),
            ("--list", {"required": True, "metavar": "FIGURES", "help": "what `ledger show` ends with"}),
            ("--comment", {"required": True, "metavar": "TEXT", "help": "what was found; it goes on record"}),
        ),
    ),
    Command(
        ("report", "lot"),
        "everything about one lot: sample, portions, runs, holds, certificates, deliveries",
        "session",
        "ledger:of_one_lot",
        "benchseal report lot FW-26-031",
        (
            ("lot", {"metavar": "LOT", "help": "lot, customer/lot, or sample number"}),
            _CSV,
            ("--pdf", {"default": "", "metavar": "FILE", "help": "write its timeline as PDF to this new file"}),
            _PAPER,
        ),
    ),
    Command(
        ("report", "run"),
        "one run whole for its reviewer, as PDF: results, checks, curve, readings, calculations, changes",
        "session",
        "reports:run",
        "benchseal report run R-00001 --pdf R-00001.pdf",
        (
            ("run", {"metavar": "RUN", "help": "run number, such as R-00001"}),
            ("--pdf", {"required": True, "metavar": "FILE", "help": "a new file"}),
            _PAPER,
        ),
    ),
    Command(
        ("report", "trail"),
        "the trail of one subject as PDF and CSV with a manifest: who, when, why, old and new",
        "session",
        "reports:trail",
        "benchseal report trail run/R-00001 --out trail-R-00001",
        (
            ("subject", {"metavar": "SUBJECT", "help": "run/R-00001, certificate/…, sample/…, or just the number"}),
            ("--out", {"required": True, "metavar": "DIR", "help": "a new folder"}),
            _PAPER,
        ),
    ),
    Command(
        ("ledger", "checkpoint"),
        "sign the ledger's head as it is now; keep the file elsewhere",
        "session",
        "ledger:checkpoint",
        "benchseal ledger checkpoint --out head.json",
        (
            ("--out", {"default": "", "metavar": "FILE", "help": "write it here instead of printing it"}),
            (
                "--since",
                {
                    "type": int,
                    "metavar": "ENTRIES",
                    "help": "with the proof that it begins with the ledger of so many entries, for a witness",
                },
            ),
        ),
    ),
    Command(
        ("ledger", "witness"),
        "on another machine: accept a head that begins with the last one seen, and countersign it",
        "nothing",
        "ledger:witness",
        "benchseal ledger witness head.json --trust trust.json --state witness",
        (
            ("checkpoint", {"metavar": "CHECKPOINT", "help": "what `ledger checkpoint` wrote"}),
            ("--trust", {"required": True, "metavar": "FILE", "help": "what the laboratory handed out"}),
            (
                "--state",
                {"required": True, "metavar": "DIR", "help": "the witness's own folder; made at the first call"},
            ),
            ("--out", {"default": "", "metavar": "FILE", "help": "write the countersigned head here"}),
        ),
    ),
)
