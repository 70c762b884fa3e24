"""Commands of qualification."""

from __future__ import annotations

from benchseal.cli.words import Command

_OWN = ("--pq", {"default": "", "metavar": "FILE", "help": "the laboratory's own examples too, a JSON file"})

QUALIFY_COMMANDS: tuple[Command, ...] = (
    Command(
        ("qualify", "iq"),
        "whether program, libraries, Python and the site's place are as they have to be",
        "session",
        "qualify:iq",
        "benchseal qualify iq",
    ),
    Command(
        ("qualify", "oq"),
        "published examples calculated here, and a laboratory taken the whole way in a folder of its own",
        "session",
        "qualify:oq",
        "benchseal qualify oq",
    ),
    Command(
        ("qualify", "pq"),
        "the laboratory's own examples with the results it expects",
        "session",
        "qualify:pq",
        "benchseal qualify pq own-examples.json",
        (("file", {"metavar": "FILE", "help": "a JSON file: what to ask of `calc`, and what is to come out"}),),
    ),
    Command(
        ("qualify", "all"),
        "all of it, as it would be signed",
        "session",
        "qualify:whole",
        "benchseal qualify all --pq own-examples.json",
        (_OWN, ("--out", {"default": "", "metavar": "FILE", "help": "write the whole report to this file, as JSON"})),
    ),
    Command(
        ("qualify", "sign"),
        "test again, and sign that the installation was tested as listed and may be used",
        "signatures",
        "qualify:sign",
        "benchseal qualify sign --list 1a2b3c4d --comment 'after the upgrade of March'",
        (
            ("--list", {"required": True, "metavar": "FIGURES", "help": "what `qualify all` ends with"}),
            ("--comment", {"required": True, "metavar": "TEXT", "help": "why now, and what of left out tests"}),
            _OWN,
        ),
    ),
    Command(
        ("qualify", "show"),
        "signed qualifications, the one of the version in use, and what changed since",
        "session",
        "qualify:shown",
        "benchseal qualify show",
        (("--out", {"default": "", "metavar": "FILE", "help": "write the last signed report to this file, as JSON"}),),
    ),
)
