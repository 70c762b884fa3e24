"""Commands of run plans."""

from __future__ import annotations

from benchseal.cli.words import Command

_PLAN = ("plan", {"metavar": "PLAN", "help": "plan number, such as PL-00001"})
_PAPER = ("--paper", {"choices": ("a4", "letter"), "default": "a4", "help": "size of the pages (a4)"})

PLAN_COMMANDS: tuple[Command, ...] = (
    Command(
        ("plan", "make"),
        "from methods and samples: what to prepare and in which order to measure it",
        "session",
        "plans:make",
        "benchseal plan make --method zinc-flame --samples samples.csv --out plan",
        (
            (
                "--method",
                {"action": "append", "required": True, "metavar": "ID", "help": "a method in force; several: again"},
            ),
            ("--samples", {"required": True, "metavar": "FILE", "help": "CSV or .xlsx (see the manual)"}),
            ("--batch", {"default": "", "metavar": "NAME", "help": "batch of the preparation (the plan's number)"}),
            ("--drawn-ml", {"default": "", "metavar": "ML", "help": "taken by the instrument for one reading"}),
            ("--out", {"default": "", "metavar": "DIR", "help": "a new folder for the plan and its sheet"}),
            _PAPER,
        ),
    ),
    Command(("plan", "list"), "every run plan", "session", "plans:list_all", "benchseal plan list"),
    Command(
        ("plan", "show"),
        "one run plan and what was printed of it; as PDF, or its preparation sheet to fill in",
        "session",
        "plans:show_one",
        "benchseal plan show PL-00001 --pdf plan.pdf --sheet preparation.csv",
        (
            _PLAN,
            ("--pdf", {"default": "", "metavar": "FILE", "help": "write the plan as PDF"}),
            ("--sheet", {"default": "", "metavar": "FILE", "help": "write its preparation sheet as CSV"}),
            _PAPER,
        ),
    ),
    Command(
        ("plan", "labels"),
        "labels of a plan's tubes as PDF; printing one again needs a reason",
        "session",
        "plans:labels",
        "benchseal plan labels PL-00001 --pdf labels.pdf",
        (
            _PLAN,
            ("--pdf", {"required": True, "metavar": "FILE", "help": "a new file"}),
            (
                "--tube",
                {"action": "append", "default": [], "metavar": "LABEL", "help": "only this one; several: again"},
            ),
            ("--form", {"default": "", "metavar": "ID", "help": "a label form in force, in place of the shipped one"}),
            _PAPER,
            ("--reason", {"default": "", "metavar": "TEXT", "help": "why a label is printed once more"}),
        ),
    ),
    Command(
        ("standard", "worksheet"),
        "how to make working standards from a lot with the pipettes and flasks at hand, and how sure they are",
        "session",
        "standards:worksheet",
        "benchseal standard worksheet DW-Zn-26 --method zinc-flame --ware ware.csv --pdf standards.pdf",
        (
            ("lot", {"metavar": "LOT", "help": "a standard lot on record"}),
            ("--method", {"required": True, "metavar": "ID", "help": "its standards are made"}),
            (
                "--at",
                {"action": "append", "default": [], "metavar": "VALUE", "help": "other levels, in its unit; again"},
            ),
            (
                "--ware",
                {"default": "", "metavar": "FILE", "help": "pipettes and flasks at hand, in place of the method's"},
            ),
            ("--least-ml", {"default": "", "metavar": "ML", "help": "the last flask is at least as large"}),
            ("--pdf", {"default": "", "metavar": "FILE", "help": "write the worksheet as PDF"}),
            _PAPER,
        ),
    ),
)
