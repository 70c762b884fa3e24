"""Commands of accounts."""

from __future__ import annotations

from benchseal.cli.words import REASON, SECOND, Command

_PERSON = ("person", {"metavar": "USER_ID", "help": "whose account"})
_CHECK = ("--identity-check", {"required": True, "metavar": "TEXT", "help": "who checked the identity, how and when"})

PEOPLE_COMMANDS: tuple[Command, ...] = (
    Command(
        ("person", "role"),
        "give somebody a role or take it away; never one's own",
        "session",
        "accounts:role",
        "benchseal person role ines.brandt --give reviewer --reason 'trained on 2 March'",
        (
            _PERSON,
            ("--give", {"default": "", "metavar": "ROLE", "help": "the role to give"}),
            ("--take", {"default": "", "metavar": "ROLE", "help": "the role to take away"}),
            REASON,
            SECOND,
        ),
    ),
    Command(
        ("person", "disable"),
        "close an account at once; its user id is never given again",
        "session",
        "accounts:disable",
        "benchseal person disable ines.brandt --reason 'left the laboratory'",
        (_PERSON, REASON, SECOND),
    ),
    Command(
        ("person", "enable"),
        "open a closed account; it signs only after `person confirm`",
        "session",
        "accounts:enable",
        "benchseal person enable ines.brandt --reason 'back from leave'",
        (_PERSON, REASON, SECOND),
    ),
    Command(
        ("person", "password"),
        "take a new password of your own",
        "signature",
        "accounts:password",
        "benchseal person password",
    ),
    Command(
        ("person", "reset"),
        "give somebody a password for once; signing waits for `person confirm`",
        "session",
        "accounts:reset",
        "benchseal person reset ines.brandt --reason 'forgotten'",
        (_PERSON, REASON, SECOND),
    ),
    Command(
        ("person", "confirm"),
        "sign that somebody's identity was checked again, so that they can sign",
        "signature",
        "accounts:confirm",
        "benchseal person confirm ines.brandt --identity-check 'passport seen by Jonas Wick on 2 March'",
        (_PERSON, _CHECK),
    ),
    Command(
        ("recovery", "make"),
        "make an envelope of two halves for the day no approver can confirm",
        "signatures",
        "accounts:recovery_make",
        "benchseal recovery make --custodian 'Ada Brook' --custodian 'Notary Hale'",
        (
            (
                "--custodian",
                {"required": True, "action": "append", "metavar": "NAME", "help": "who keeps a half; twice"},
            ),
        ),
    ),
    Command(
        ("recovery", "use"),
        "confirm somebody with both halves of the envelope, in place of an approver",
        "signature",
        "accounts:recovery_use",
        "benchseal recovery use ruth.calloway --identity-check 'passport seen' --reason 'the only approver'",
        (_PERSON, _CHECK, REASON, SECOND),
    ),
    Command(
        ("recovery", "check"),
        "try whether both halves would open the envelope, and put it on record",
        "signature",
        "accounts:recovery_check",
        "benchseal recovery check",
        (SECOND,),
    ),
    Command(
        ("exception", "add"),
        "let one person do what two would do elsewhere, for a time, with a check instead",
        "signatures",
        "exceptions:add",
        "benchseal exception add reviewer_is_approver --person ruth.calloway --until 2026-09-30 "
        "--check 'a colleague of the sister laboratory reads every tenth certificate' --reason 'two people'",
        (
            (
                "kind",
                {"metavar": "KIND", "help": "reviewer_is_approver or administrator_with_content_role"},
            ),
            ("--person", {"required": True, "metavar": "USER_ID", "help": "for whom it holds"}),
            ("--until", {"required": True, "metavar": "DATE", "help": "the last day it holds, as 2026-09-30"}),
            ("--check", {"required": True, "metavar": "TEXT", "help": "what is done in place of the second person"}),
            REASON,
        ),
    ),
    Command(
        ("exception", "list"),
        "every exception, in force or ended, with what is done instead",
        "session",
        "exceptions:list_all",
        "benchseal exception list",
    ),
)
