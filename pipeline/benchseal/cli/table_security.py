"""Commands of security."""

from __future__ import annotations

from benchseal.cli.words import REASON, SECOND, Command

_COMMENT = ("--comment", {"required": True, "metavar": "TEXT", "help": "what was found and done; it goes on record"})

SECURITY_COMMANDS: tuple[Command, ...] = (
    Command(
        ("event", "list"),
        "security events: accounts that locked themselves, resets, a clock that went back",
        "session",
        "security:events",
        "benchseal event list --open",
        (("--open", {"action": "store_true", "help": "only those not acknowledged by both"}),),
    ),
    Command(
        ("event", "acknowledge"),
        "say that security events were seen and what was done about them",
        "session",
        "security:acknowledge",
        "benchseal event acknowledge 153 --comment 'she had the old keyboard; nothing else'",
        (
            ("events", {"nargs": "+", "type": int, "metavar": "EVENT", "help": "numbers, as `event list` has them"}),
            _COMMENT,
            SECOND,
        ),
    ),
    Command(
        ("clock", "confirm"),
        "say that this machine's clock is right after it went back",
        "signature",
        "security:confirm_clock",
        "benchseal clock confirm --reason 'time service restored; compared with the radio clock'",
        (REASON, SECOND),
    ),
    Command(
        ("access", "list"),
        "accounts and roles as a review signs them",
        "session",
        "security:access",
        "benchseal access list",
    ),
    Command(
        ("access", "rights"),
        "which role may do which act, as first or second person, and with or without a signature",
        "session",
        "security:matrix",
        "benchseal access rights --csv rights.csv",
        (("--csv", {"default": "", "metavar": "FILE", "help": "write the matrix to this file instead"}),),
    ),
    Command(
        ("access", "log"),
        "who looked at what, and when; and which entry of the ledger notes that day",
        "session",
        "security:reads",
        "benchseal access log --text R-00001 --from 2026-03-01",
        (
            ("--who", {"default": "", "metavar": "USER_ID", "help": "who looked; 'nobody' where no one was asked"}),
            ("--from", {"default": "", "dest": "since", "metavar": "DAY", "help": "from this day on (UTC)"}),
            ("--to", {"default": "", "dest": "until", "metavar": "DAY", "help": "up to this day (UTC)"}),
            ("--text", {"default": "", "metavar": "TEXT", "help": "in the command or in what was asked for"}),
            ("--csv", {"default": "", "metavar": "FILE", "help": "write the reads to this file instead"}),
        ),
    ),
    Command(
        ("access", "review"),
        "sign that accounts and roles were looked at and are right",
        "signature",
        "security:review",
        "benchseal access review --list 1a2b3c4d --comment 'all as it should be'",
        (("--list", {"required": True, "metavar": "FIGURES", "help": "what `access list` ends with"}), _COMMENT),
    ),
)
