"""Commands of certificates after their release: amended, supplemented, withdrawn, and who has them."""

from __future__ import annotations

from benchseal.cli.words import NUMBER, REASON, Command

_COMMENT = (
    "--comment",
    {"default": "", "metavar": "TEXT", "help": "on borderline results, where one is required; it is printed"},
)
_PRINTED_REASON = ("--reason", {"required": True, "metavar": "TEXT", "help": "why; it is printed on the certificate"})
_TO = ("--to", {"required": True, "metavar": "NAME", "help": "whom: name and function"})
_HOW = ("--how", {"required": True, "metavar": "TEXT", "help": "by what way, such as 'mail of 14 May'"})
_PRINT_OUT = ("--out", {"required": True, "metavar": "FILE", "help": "write what is to be printed here"})

CERTIFICATE_COMMANDS: tuple[Command, ...] = (
    Command(
        ("certificate", "status-file"),
        "a signed list of sealed files: in force, superseded, withdrawn; for whoever checks one",
        "session",
        "certificates:status_file",
        "benchseal certificate status-file --customer ardlea --out status.json",
        (
            ("--customer", {"default": "", "metavar": "ID", "help": "only theirs, with numbers; else all, by SHA-256"}),
            ("--out", {"required": True, "metavar": "FILE", "help": "write it here"}),
        ),
    ),
    Command(
        ("certificate", "archive"),
        "what an issued certificate is checked with years later, in one zip file beside it",
        "session",
        "archives:make",
        "benchseal certificate archive C-2026-00001 --revocation authority.crl --out C-2026-00001.zip",
        (
            NUMBER,
            (
                "--revocation",
                {
                    "nargs": "+",
                    "default": [],
                    "metavar": "FILE",
                    "help": "answers of authorities on revocation, made after the sealing: CRL or OCSP",
                },
            ),
            ("--out", {"required": True, "metavar": "FILE", "help": "write it here"}),
        ),
    ),
    Command(
        ("certificate", "amend"),
        "draft the certificate that replaces an issued one, with every change marked",
        "session",
        "certificates:amend",
        "benchseal certificate amend C-2026-00001 --reason 'the mass of portion W-2 was corrected'",
        (NUMBER, _PRINTED_REASON, _COMMENT),
    ),
    Command(
        ("certificate", "supplement"),
        "draft a certificate of what was determined later, beside an issued one",
        "session",
        "certificates:supplement",
        "benchseal certificate supplement C-2026-00001 --reason 'nickel was ordered on 3 May'",
        (NUMBER, _PRINTED_REASON, _COMMENT),
    ),
    Command(
        ("certificate", "withdraw"),
        "sign that an issued certificate is taken back, and who is to be told",
        "signature",
        "papers:withdraw",
        "benchseal certificate withdraw C-2026-00001 --reason 'the sample was of another lot'",
        (NUMBER, REASON),
    ),
    Command(
        ("certificate", "print"),
        "a numbered paper copy of an issued certificate; for whom and why is on record",
        "session",
        "papers:print_copy",
        "benchseal certificate print C-2026-00001 --to 'J. Reed' --reason 'batch folder' --out print.pdf",
        (NUMBER, _TO, REASON, _PRINT_OUT),
    ),
    Command(
        ("certificate", "sent"),
        "put on record who was given an issued certificate, and how",
        "session",
        "certificates:sent",
        "benchseal certificate sent C-2026-00001 --to 'J. Reed, purchasing' --how 'mail of 14 May'",
        (NUMBER, _TO, _HOW),
    ),
    Command(
        ("certificate", "told"),
        "put on record that somebody was told of a replaced or withdrawn certificate",
        "session",
        "certificates:told",
        "benchseal certificate told C-2026-00001 --to 'J. Reed, purchasing' --how 'by telephone'",
        (NUMBER, _TO, _HOW),
    ),
)
