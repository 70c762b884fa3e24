"""Commands of investigations."""

from __future__ import annotations

from benchseal.cli.words import REASON, Command

_ID = ("investigation", {"metavar": "ID", "help": "investigation number, such as I-00001"})
_EVIDENCE = (
    "--evidence",
    {"required": True, "metavar": "FILE_OR_TEXT", "help": "what shows it: a file, whose bytes are kept, or a text"},
)
_CONCLUSION = ("--conclusion", {"required": True, "metavar": "TEXT", "help": "in words; it goes on record"})


def _number(name: str, says: str) -> tuple[str, dict[str, object]]:
    return (name, {"type": int, "default": None, "metavar": "N", "help": says})


def _text(name: str, says: str) -> tuple[str, dict[str, object]]:
    return (name, {"default": "", "metavar": "TEXT", "help": says})


INVESTIGATION_COMMANDS: tuple[Command, ...] = (
    Command(
        ("investigation", "list"),
        "results outside their limit that are or were investigated, their age, and whom they wait for",
        "session",
        "investigations:list_all",
        "benchseal investigation list --open",
        (
            ("--open", {"action": "store_true", "help": "only those not closed"}),
            (
                "--patterns",
                {"action": "store_true", "help": "instead: failed checks that coincide with exceedances or come again"},
            ),
        ),
    ),
    Command(
        ("investigation", "show"),
        "one investigation: results, questions with facts and answers, plans",
        "session",
        "investigations:show_one",
        "benchseal investigation show I-00001",
        (_ID,),
    ),
    Command(
        ("investigation", "answer"),
        "answer one line of an investigation's checklist, with evidence",
        "session",
        "investigations:answer",
        "benchseal investigation answer I-00001 dilution --answer 'as written' --evidence 'pipette log, page 12'",
        (
            _ID,
            ("line", {"metavar": "LINE", "help": "name of the line, as `investigation show` has it"}),
            ("--answer", {"required": True, "metavar": "TEXT", "help": "the answer"}),
            _EVIDENCE,
        ),
    ),
    Command(
        ("investigation", "statement"),
        "sign what the analyst has to say about the result",
        "signature",
        "investigations:statement",
        "benchseal investigation statement I-00001 --text 'the digest foamed, the second one did not'",
        (
            _ID,
            ("--text", {"required": True, "metavar": "TEXT", "help": "what was done and seen"}),
            _text("--reason", "why somebody else states in the analyst's place"),
        ),
    ),
    Command(
        ("investigation", "notified"),
        "say that the customer or the quality unit was told, and how",
        "session",
        "investigations:notified",
        "benchseal investigation notified I-00001 --who 'A. Brook, quality unit' --how 'telephone, 9:40'",
        (
            _ID,
            ("--who", {"required": True, "metavar": "TEXT", "help": "who was told"}),
            ("--how", {"required": True, "metavar": "TEXT", "help": "how and when"}),
        ),
    ),
    Command(
        ("investigation", "plan"),
        "sign a plan of further readings before the first of them",
        "signature",
        "investigations:plan",
        "benchseal investigation plan I-00001 --retest 3 --analyst ines.brandt --rule 'each result within the limit' "
        "--rationale 'enough left of the sample'",
        (
            _ID,
            ("--hypothesis", {"default": None, "metavar": "TEXT", "help": "what is to be tried; never reported"}),
            _number("--retest", "so many further results of the original sample"),
            _number("--resample", "so many results of a new sample; needs --sample and --evidence"),
            ("--repeat", {"default": None, "metavar": "TEXT", "help": "the original test again, after a cause; why"}),
            ("--readings", {"type": int, "default": 1, "metavar": "N", "help": "how many, of a hypothesis"}),
            _text("--analyst", "who will measure"),
            _text("--sample", "sample number; without it the original"),
            _text("--rule", "how the results will be judged"),
            _text("--rationale", "why so many, by whom, judged so"),
            _text("--same-analyst-reason", "why the analyst of the original measures again"),
            ("--evidence", {"default": "", "metavar": "FILE_OR_TEXT", "help": "that the original sample is unfit"}),
        ),
    ),
    Command(
        ("investigation", "cause"),
        "sign that a laboratory error made the result, with evidence",
        "signature",
        "investigations:cause",
        "benchseal investigation cause I-00001 --category dilution --cause 'diluted 1 to 5' --evidence bench-log.pdf",
        (
            _ID,
            (
                "--category",
                {
                    "required": True,
                    "metavar": "WORD",
                    "help": "calculation, contamination, dilution, instrument, mix-up, reading, sample-handling, "
                    "standard, weighing or other",
                },
            ),
            ("--cause", {"required": True, "metavar": "TEXT", "help": "the error, exactly"}),
            _EVIDENCE,
            (
                "--also",
                {"action": "append", "default": [], "metavar": "RUN", "help": "a further run the error explains"},
            ),
        ),
    ),
    Command(
        ("investigation", "refuse-cause"),
        "send a cause back that does not explain the result",
        "signature",
        "investigations:refuse_cause",
        "benchseal investigation refuse-cause I-00001 --reason 'the log shows the right dilution'",
        (_ID, REASON),
    ),
    Command(
        ("investigation", "invalidate"),
        "sign that the cause is accepted and the result set aside",
        "signature",
        "investigations:invalidate",
        "benchseal investigation invalidate I-00001 --reason 'the bench log proves it'",
        (_ID, REASON),
    ),
    Command(
        ("investigation", "no-cause"),
        "sign that the laboratory phase found no error",
        "signature",
        "investigations:no_cause",
        "benchseal investigation no-cause I-00001 --conclusion 'every line is in order'",
        (_ID, _CONCLUSION),
    ),
    Command(
        ("investigation", "evaluate"),
        "weigh the original and all further results, and sign it",
        "signature",
        "investigations:evaluate",
        "benchseal investigation evaluate I-00001 --text 'two of three retests are outside too'",
        (_ID, ("--text", {"required": True, "metavar": "TEXT", "help": "what the results say together"})),
    ),
    Command(
        ("investigation", "close"),
        "decide an investigation and sign it",
        "signature",
        "investigations:close",
        "benchseal investigation close I-00001 --outcome confirmed --conclusion 'the lot does not meet the limit'",
        (
            _ID,
            (
                "--outcome",
                {"required": True, "metavar": "WORD", "help": "confirmed, inconclusive, or invalidated"},
            ),
            _CONCLUSION,
        ),
    ),
    Command(
        ("investigation", "extend"),
        "hold another lot with an investigation",
        "session",
        "investigations:extend",
        "benchseal investigation extend I-00001 A-3 --reason 'digested in the same rotor'",
        (_ID, ("lot", {"metavar": "LOT", "help": "lot, customer/lot, or sample number"}), REASON),
    ),
    Command(
        ("report", "investigation"),
        "the whole of one investigation as text, with its timeline",
        "session",
        "investigations:report",
        "benchseal report investigation I-00001",
        (_ID,),
    ),
)
