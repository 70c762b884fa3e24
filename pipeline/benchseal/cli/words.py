"""What a command is, and the arguments several share. Standard library only."""

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


# How an argument is called that names a file or folder, or may: its name is what stands on the disk, letter for letter.
# Every other text is put in form as it is read (``cli/parser.py``).
NAMES_ON_DISK = frozenset(
    {
        "CHECKPOINT", "CHECKPOINT_OR_PDF", "DIR", "DRAFT.yaml", "FILE", "FILE.html", "FILE.json", "FILE.pdf",
        "FILE_OR_TEXT", "FOLDER", "LAYOUT", "PATH",
    }
)  # fmt: skip

REASON = ("--reason", {"required": True, "metavar": "TEXT", "help": "why; it goes on record"})
FILE = ("file", {"metavar": "FILE", "help": "CSV or .xlsx"})
SIMPLIFIED = (
    "--simplified",
    {"action": "store_true", "help": "in simplified form, where the specification names the agreement"},
)
SECOND = (
    "--second",
    {
        "action": "store_true",
        "help": "a second person agrees, as an exception asks for: their user id and password follow",
    },
)
LATE = ("--late-because", {"default": "", "metavar": "TEXT", "help": "why it comes on record late, where it does"})
RUNS = ("runs", {"nargs": "+", "metavar": "RUN", "help": "run numbers, such as R-00001"})
NUMBER = ("number", {"metavar": "NUMBER", "help": "certificate number"})

NOUNS: dict[str, str] = {
    "demo": "make a site with an invented laboratory and take it the whole way",
    "init": "make an empty site with two named people",
    "sign-in": "open a short session for reading and for acts that are not signed",
    "sign-out": "close the session",
    "document": "controlled documents: methods, specifications, reading layouts, export profiles, rules, policies",
    "layout": "reading layouts: tried on files, and kept with files they must go on reading",
    "policy": "texts of the laboratory that people read and acknowledge",
    "exception": "what a small laboratory lets one person do, signed by two, for a time",
    "recipient": "customers, who receive certificates",
    "instrument": "instruments, and what happens to them",
    "standard": "standard lots",
    "training": "who is trained for which method, role or instrument, and until when",
    "sample": "the sample register",
    "plan": "run plans: what to prepare and in which order to measure it, with sheet and labels",
    "preparation": "weighings and dilutions",
    "ingest": "bring in instrument files, each whole or not at all",
    "run": "one run's life, from draft to reviewed",
    "investigation": "what a result outside its limit asks for",
    "opinion": "opinions on results, signed by whoever may express them, printed with the certificate",
    "certificate": "one certificate's life, from draft to released",
    "verify": "check certificates from outside (FILE), or a whole site from inside (--all)",
    "serve": "the verification page for a browser: a file is dropped, the verdict is said; nothing is stored",
    "ledger": "the trail of every act",
    "report": "reports for reviewers and inspectors",
    "history": "questions over time: checks, sensitivity, instruments, methods, people",
    "impact": "every result and certificate that one version of this program calculated",
    "retention": "how long each class of records is kept; opens the oldest where asked",
    "periodic": "the report of a periodic review, and signing it",
    "qualify": "whether this installation is whole and works: tests, the signed record, what changed since",
    "person": "people and roles",
    "event": "security events, and who has seen them",
    "clock": "this machine's clock, after it went back",
    "access": "who has access, reviews of it, and who looked at what",
    "key": "the site's own keys: the seal's, and the one that signs the ledger's heads",
    "recovery": "the envelope that confirms somebody when no approver can",
    "token": "what lets another system read results and certificates through `serve --interface`",
    "export": "deliveries to other systems",
    "backup": "backups of the site: made while others work, tested by restoring them elsewhere",
    "copy": "an inspection copy of runs, certificates or lots in one folder that verifies by itself",
    "restore": "put a backup into a new folder; never over another site",
    "doctor": "what is amiss with the site, its people or its machine; changes nothing",
    "status": "the site in one line, for monitoring",
    "rebuild": "make the derived rows again from the ledger; brings a store of an earlier version to this one",
    "calc": "one calculation on typed numbers, with the functions the pipeline uses",
}
