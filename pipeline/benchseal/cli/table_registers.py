"""Commands of sites, people and registers."""

from __future__ import annotations

from benchseal.cli.words import FILE, LATE, NOUNS, REASON, SECOND, Command

REGISTER_COMMANDS: tuple[Command, ...] = (
    Command(
        ("demo",),
        NOUNS["demo"],
        "nothing",
        "demo:demo",
        "benchseal demo demo-site",
        (
            ("folder", {"nargs": "?", "default": "demo-site", "metavar": "DIR", "help": "a new folder (demo-site)"}),
            ("--later", {"action": "store_true", "help": "go on: nickel ordered later, one certificate withdrawn"}),
        ),
    ),
    Command(
        ("init",),
        NOUNS["init"],
        "nothing",
        "site:init",
        "benchseal init site --answers answers.json",
        (
            ("folder", {"metavar": "DIR", "help": "a new or an empty folder"}),
            (
                "--answers",
                {"required": True, "metavar": "FILE", "help": "JSON: laboratory and founders (see the manual)"},
            ),
            (
                "--secret-fd",
                {"metavar": "N", "type": int, "help": "read each founder's password, a line each, from this pipe"},
            ),
        ),
    ),
    Command(("sign-in",), NOUNS["sign-in"], "signature", "people:sign_in", "benchseal sign-in --site site"),
    Command(("sign-out",), NOUNS["sign-out"], "site", "people:sign_out", "benchseal sign-out"),
    Command(
        ("recipient", "add"),
        "bring in customers",
        "session",
        "registers:add_customers",
        "benchseal recipient add customers.csv",
        (FILE,),
    ),
    Command(("recipient", "list"), "every customer", "session", "registers:list_customers", "benchseal recipient list"),
    Command(
        ("instrument", "add"),
        "bring in instruments",
        "session",
        "registers:add_instruments",
        "benchseal instrument add instruments.csv",
        (FILE,),
    ),
    Command(
        ("instrument", "list"), "every instrument", "session", "registers:list_instruments", "benchseal instrument list"
    ),
    Command(
        ("standard", "add"),
        "bring in standard lots",
        "session",
        "registers:add_standards",
        "benchseal standard add standards.csv",
        (FILE,),
    ),
    Command(
        ("standard", "list"), "every standard lot", "session", "registers:list_standards", "benchseal standard list"
    ),
    Command(
        ("sample", "add"),
        "bring in rows of the sample register (also: recipient, instrument, standard)",
        "session",
        "registers:add_samples",
        "benchseal sample add samples.csv",
        (
            FILE,
            LATE,
            (
                "--profile",
                {"default": "", "metavar": "ID", "help": "import profile by which another system's file is read"},
            ),
            (
                "--separate-because",
                {"default": "", "metavar": "TEXT", "help": "why rows much like a sample on record are other samples"},
            ),
        ),
    ),
    Command(("sample", "list"), "every sample", "session", "registers:list_samples", "benchseal sample list"),
    Command(
        ("sample", "show"),
        "one sample: its register line, portions and results",
        "session",
        "registers:show_sample",
        "benchseal sample show S-00001",
        (("sample", {"metavar": "SAMPLE_OR_LOT", "help": "sample number, lot, or customer/lot"}),),
    ),
    Command(
        ("preparation", "add"),
        "bring in weighings and dilutions",
        "session",
        "registers:add_preparation",
        "benchseal preparation add trace-batch.csv",
        (
            FILE,
            LATE,
            (
                "--balance",
                {"default": "", "metavar": "FILE", "help": "the balance's own file: its masses count as not typed"},
            ),
            (
                "--balance-layout",
                {"default": "", "metavar": "ID", "help": "balance layout that reads it; without it a CSV with columns"},
            ),
        ),
    ),
    Command(
        ("person", "unlock"),
        "let somebody locked out try again",
        "session",
        "people:unlock",
        "benchseal person unlock ines.brandt --reason 'identity checked at the desk'",
        (("person", {"metavar": "USER_ID", "help": "who is locked out"}), REASON, SECOND),
    ),
)
