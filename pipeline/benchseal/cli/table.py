"""The command table: words, what it says, arguments, and the function that does it. A static table on purpose.

What acts say here is generated from ``desk/acts.py``; a test holds the two equal, so that help needs no import.
"""

from __future__ import annotations

from typing import Any, NamedTuple


class Command(NamedTuple):
    """One command. needs: ``nothing``, ``site``, ``session`` (signed in or password), ``signature``, ``signatures``."""

    words: tuple[str, ...]
    says: str
    needs: str
    function: str
    example: str
    arguments: tuple[tuple[str, dict[str, Any]], ...] = ()


_REASON = ("--reason", {"required": True, "metavar": "TEXT", "help": "why; it goes on record"})
_FILE = ("file", {"metavar": "FILE", "help": "CSV or .xlsx"})
_RUNS = ("runs", {"nargs": "+", "metavar": "RUN", "help": "run numbers, such as R-00001"})
_NUMBER = ("number", {"metavar": "NUMBER", "help": "certificate number"})

NOUNS: dict[str, str] = {
    "demo": "make a site with an invented laboratory and take it the whole way",
    "init": "make an empty site with two named people",
    "sign-in": "open a short session for reading and for acts that are not signed",
    "sign-out": "close the session",
    "document": "controlled documents: methods, specifications, reading layouts, export profiles",
    "recipient": "customers, who receive certificates",
    "instrument": "instruments",
    "standard": "standard lots",
    "sample": "the sample register",
    "preparation": "weighings and dilutions",
    "ingest": "bring in instrument files, each whole or not at all",
    "run": "one run's life, from draft to reviewed",
    "certificate": "one certificate's life, from draft to released",
    "verify": "check certificates from outside (FILE), or a whole site from inside (--all)",
    "ledger": "the trail of every act",
    "person": "people and roles",
    "export": "deliveries to other systems",
    "rebuild": "make the derived rows again from the ledger",
    "calc": "one calculation on typed numbers, with the functions the pipeline uses",
}

COMMANDS: tuple[Command, ...] = (
    Command(
        ("demo",),
        NOUNS["demo"],
        "nothing",
        "demo:demo",
        "benchseal demo demo-site",
        (("folder", {"nargs": "?", "default": "demo-site", "metavar": "DIR", "help": "a new folder (demo-site)"}),),
    ),
    Command(
        ("init",),
        NOUNS["init"],
        "nothing",
        "site:init",
        "benchseal init site --answers answers.json --secret-fd 3 3<passwords",
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
        ("document", "add"),
        "bring in a new version of a method, specification, reading layout or export profile",
        "session",
        "documents:add",
        "benchseal document add lead-furnace.yaml",
        (("files", {"nargs": "+", "metavar": "FILE", "help": "YAML files"}),),
    ),
    Command(
        ("document", "approve"),
        "put a document in force; its author cannot",
        "signature",
        "documents:approve",
        "benchseal document approve method/lead-furnace",
        (("id", {"metavar": "ID", "help": "identifier, with its kind where two share it"}),),
    ),
    Command(
        ("document", "list"),
        "every version of every document",
        "session",
        "documents:list_all",
        "benchseal document list",
    ),
    Command(
        ("document", "show"),
        "a document as it was brought in",
        "session",
        "documents:show_one",
        "benchseal document show lead-furnace@1",
        (("id", {"metavar": "ID[@VERSION]", "help": "identifier; the latest version without @"}),),
    ),
    Command(
        ("recipient", "add"),
        "bring in customers",
        "session",
        "registers:add_customers",
        "benchseal recipient add customers.csv",
        (_FILE,),
    ),
    Command(("recipient", "list"), "every customer", "session", "registers:list_customers", "benchseal recipient list"),
    Command(
        ("instrument", "add"),
        "bring in instruments",
        "session",
        "registers:add_instruments",
        "benchseal instrument add instruments.csv",
        (_FILE,),
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
        (_FILE,),
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
        (_FILE,),
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
        (_FILE,),
    ),
    Command(
        ("ingest",),
        NOUNS["ingest"],
        "session",
        "runs:ingest",
        "benchseal ingest lead-furnace.txt --preparation trace-batch.csv",
        (
            ("files", {"nargs": "+", "metavar": "FILE", "help": "instrument text files"}),
            (
                "--layout",
                {"default": "", "metavar": "ID", "help": "reading layout; without it the one that recognises the file"},
            ),
            (
                "--preparation",
                {"default": "", "metavar": "FILE", "help": "preparation sheet of these files, brought in first if new"},
            ),
        ),
    ),
    Command(("run", "list"), "every run and its state", "session", "runs:list_all", "benchseal run list"),
    Command(
        ("run", "show"),
        "one run: calibration, checks, what was lost, results",
        "session",
        "runs:show_one",
        "benchseal run show R-00001",
        (("run", {"metavar": "RUN", "help": "run number"}),),
    ),
    Command(
        ("run", "explain"),
        "the worked calculation of a sample's results in a run, down to raw lines",
        "session",
        "runs:explain",
        "benchseal run explain R-00001 S-00001",
        (
            ("run", {"metavar": "RUN", "help": "run number"}),
            ("sample", {"metavar": "SAMPLE_OR_LOT", "help": "sample number or lot"}),
        ),
    ),
    Command(
        ("run", "recalculate"),
        "calculate a run again with what is in force now",
        "session",
        "runs:recalculate",
        "benchseal run recalculate R-00001 --reason 'method version 2'",
        (("run", {"metavar": "RUN", "help": "run number"}), _REASON),
    ),
    Command(
        ("run", "submit"),
        "sign runs as performed and hand them to a reviewer",
        "signature",
        "runs:submit",
        "benchseal run submit R-00001 R-00002",
        (_RUNS,),
    ),
    Command(
        ("run", "accept"),
        "sign runs as reviewed; nobody who contributed can",
        "signature",
        "runs:accept",
        "benchseal run accept R-00001 R-00002",
        (_RUNS,),
    ),
    Command(
        ("run", "return"),
        "return runs to the analyst with a reason",
        "signature",
        "runs:return_",
        "benchseal run return R-00001 --reason 'explain the blank'",
        (_RUNS, _REASON),
    ),
    Command(
        ("run", "cancel"),
        "cancel a run; analyst and reviewer both sign, and its data stay",
        "signatures",
        "runs:cancel",
        "benchseal run cancel R-00001 --reason 'wrong lamp'",
        (("run", {"metavar": "RUN", "help": "run number"}), _REASON),
    ),
    Command(
        ("certificate", "draft"),
        "draft the certificate of a lot from its reviewed results",
        "session",
        "certificates:draft",
        "benchseal certificate draft A-1",
        (
            ("lot", {"metavar": "LOT", "help": "lot, customer/lot, or sample number"}),
            (
                "--comment",
                {
                    "default": "",
                    "metavar": "TEXT",
                    "help": "on borderline results, where one is required; it is printed",
                },
            ),
        ),
    ),
    Command(
        ("certificate", "discard"),
        "give up a draft; the number stays used",
        "session",
        "certificates:discard",
        "benchseal certificate discard C-2026-00001 --reason 'wrong lot'",
        (_NUMBER, _REASON),
    ),
    Command(
        ("certificate", "approve"),
        "sign the content of a drafted certificate as approved",
        "signature",
        "certificates:approve",
        "benchseal certificate approve C-2026-00001",
        (_NUMBER,),
    ),
    Command(
        ("certificate", "return"),
        "take an approved certificate back to draft",
        "signature",
        "certificates:return_",
        "benchseal certificate return C-2026-00001 --reason 'address changed'",
        (_NUMBER, _REASON),
    ),
    Command(
        ("certificate", "release"),
        "sign the release; the certificate is then sealed",
        "signature",
        "certificates:release",
        "benchseal certificate release C-2026-00001",
        (_NUMBER,),
    ),
    Command(
        ("certificate", "list"),
        "every certificate and its state",
        "session",
        "certificates:list_all",
        "benchseal certificate list",
    ),
    Command(
        ("certificate", "show"),
        "one certificate; with --pdf its sealed file",
        "session",
        "certificates:show_one",
        "benchseal certificate show C-2026-00001 --pdf out.pdf",
        (_NUMBER, ("--pdf", {"default": "", "metavar": "FILE", "help": "write the sealed file here"})),
    ),
    Command(
        ("certificate", "why-not"),
        "what still keeps a lot from its certificate, and who can lift it",
        "session",
        "certificates:why_not",
        "benchseal certificate why-not A-2",
        (("lot", {"metavar": "LOT_OR_NUMBER", "help": "lot, customer/lot, sample number or certificate number"}),),
    ),
    Command(
        ("verify",),
        NOUNS["verify"],
        "site",
        "verify:verify",
        "benchseal verify C-2026-00001.pdf --trust trust.json",
        (
            ("files", {"nargs": "*", "metavar": "FILE.pdf", "help": "certificates; no site is needed for these"}),
            (
                "--trust",
                {
                    "default": "",
                    "metavar": "FILE",
                    "help": "what the laboratory handed out (BENCHSEAL_TRUST, else the site's trust.json)",
                },
            ),
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
        ),
    ),
    Command(
        ("ledger", "checkpoint"),
        "sign the ledger's head as it is now; keep the file elsewhere",
        "session",
        "ledger:checkpoint",
        "benchseal ledger checkpoint --out head.json",
        (("--out", {"default": "", "metavar": "FILE", "help": "write it here instead of printing it"}),),
    ),
    Command(
        ("person", "add"),
        "enrol a person",
        "session",
        "people:add",
        "benchseal person add ines.brandt --name 'Ines Brandt' --role analyst --identity-check 'passport seen by …'",
        (
            ("person", {"metavar": "USER_ID", "help": "for good; never given to anybody else"}),
            ("--name", {"required": True, "metavar": "TEXT", "help": "as signatures show it"}),
            (
                "--role",
                {
                    "required": True,
                    "action": "append",
                    "metavar": "ROLE",
                    "help": "analyst, reviewer, approver, administrator, auditor, service",
                },
            ),
            (
                "--identity-check",
                {"required": True, "metavar": "TEXT", "help": "who checked the identity, how and when"},
            ),
        ),
    ),
    Command(("person", "list"), "everybody ever enrolled", "session", "people:list_all", "benchseal person list"),
    Command(
        ("export", "preview"),
        "what the next delivery of a profile would hold, each cell with its field",
        "session",
        "exports:preview",
        "benchseal export preview results-comma",
        (("profile", {"metavar": "PROFILE", "help": "identifier of an export profile in force"}),),
    ),
    Command(
        ("export", "run"),
        "deliver released results that were not delivered yet",
        "session",
        "exports:run",
        "benchseal export run results-comma --to outbox",
        (
            ("profile", {"metavar": "PROFILE", "help": "identifier of an export profile in force"}),
            ("--to", {"default": "", "metavar": "DIR", "help": "destination folder (SITE/outbox)"}),
        ),
    ),
    Command(
        ("export", "again"),
        "write a delivery again: the same bytes under the same name",
        "session",
        "exports:again",
        "benchseal export again D-00001 --to outbox",
        (
            ("delivery", {"metavar": "DELIVERY", "help": "delivery number"}),
            ("--to", {"default": "", "metavar": "DIR", "help": "destination folder (as before)"}),
        ),
    ),
    Command(("export", "list"), "every delivery and its state", "session", "exports:list_all", "benchseal export list"),
    Command(("rebuild",), NOUNS["rebuild"], "session", "site:rebuild", "benchseal rebuild"),
    Command(
        ("calc",),
        NOUNS["calc"],
        "nothing",
        "calc:calc",
        "benchseal calc question.json",
        (("file", {"metavar": "FILE.json", "help": "one question, or - for standard input"}),),
    ),
)
