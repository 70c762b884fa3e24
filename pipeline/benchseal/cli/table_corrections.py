"""Commands of corrections."""

from __future__ import annotations

from benchseal.cli.words import NUMBER, REASON, Command

_EFFECT = (
    "--effect",
    {
        "default": "",
        "metavar": "FIGURES",
        "help": "the figures the effect ended with when it was shown; without them it is shown and nothing changes",
    },
)
_DRY_RUN = ("--dry-run", {"action": "store_true", "help": "show the effect only, whatever else is given"})
_SET = (
    "--set",
    {
        "action": "append",
        "required": True,
        "dest": "sets",
        "metavar": "NAME=VALUE",
        "help": "column of the sheet and what it should say; once for each",
    },
)
_RUN = ("run", {"metavar": "RUN", "help": "run number"})
_POSITION = ("position", {"metavar": "POSITION", "help": "position in the run"})

CORRECTION_COMMANDS: tuple[Command, ...] = (
    Command(
        ("preparation", "correct"),
        "put a weighing or dilution right; says first which results it changes",
        "signatures",
        "corrections:preparation",
        "benchseal preparation correct TR-01/T-B2/2 --set mass_g=0.5023 --reason 'two figures were exchanged'",
        (("subject", {"metavar": "ROW", "help": "BATCH/LABEL"}), _SET, REASON, _EFFECT, _DRY_RUN),
    ),
    Command(
        ("standard", "correct"),
        "put a standard lot right; says first which results it changes",
        "signatures",
        "corrections:standard",
        "benchseal standard correct SA-Pb-28 --set value=998 --reason 'the certificate says 998 mg/L'",
        (("subject", {"metavar": "LOT", "help": "standard lot"}), _SET, REASON, _EFFECT, _DRY_RUN),
    ),
    Command(
        ("sample", "correct"),
        "put the words of a register line right; says first which certificates print them",
        "signatures",
        "corrections:sample",
        "benchseal sample correct S-00001 --set 'condition=intact, sealed' --reason 'read from the receipt note'",
        (
            ("subject", {"metavar": "SAMPLE_OR_LOT", "help": "sample number, lot, or customer/lot"}),
            _SET,
            REASON,
            _EFFECT,
            _DRY_RUN,
        ),
    ),
    Command(
        ("recipient", "correct"),
        "enter another name, address or contact of a customer; says first which drafts print the old one",
        "signatures",
        "corrections:customer",
        "benchseal recipient correct ardlea --set 'address=4 Quay Street, Ardlea' --reason 'moved, letter of 2 March'",
        (
            ("subject", {"metavar": "CUSTOMER", "help": "identifier of the customer"}),
            _SET,
            REASON,
            _EFFECT,
            _DRY_RUN,
        ),
    ),
    Command(
        ("run", "relabel"),
        "say of which sample a position is; says first which results it changes",
        "signatures",
        "corrections:relabel",
        "benchseal run relabel R-00003 19 --sample S-00003 --also 21=S-00002 --reason 'two tubes were exchanged'",
        (
            _RUN,
            _POSITION,
            (
                "--sample",
                {
                    "required": True,
                    "metavar": "SAMPLE[:LABEL]",
                    "help": "sample the position is of; its label where the sample has several portions",
                },
            ),
            (
                "--also",
                {
                    "action": "append",
                    "default": [],
                    "metavar": "POSITION=SAMPLE[:LABEL]",
                    "help": "another position put right with it, such as the other of two tubes exchanged",
                },
            ),
            REASON,
            _EFFECT,
            _DRY_RUN,
        ),
    ),
    Command(
        ("run", "exclude"),
        "leave a position out for a cause that was found; says first which results it changes",
        "signatures",
        "corrections:exclude",
        "benchseal run exclude R-00003 19 --cause uptake --reason 'air bubble seen in the uptake tube'",
        (
            _RUN,
            _POSITION,
            (
                "--cause",
                {
                    "required": True,
                    "metavar": "CAUSE",
                    "help": "what was found: wrong-solution, uptake, instrument, contaminated, preparation",
                },
            ),
            REASON,
            _EFFECT,
            _DRY_RUN,
        ),
    ),
    Command(
        ("run", "not-measured"),
        "say why a sample prepared for a run was not measured in it",
        "signatures",
        "corrections:not_measured",
        "benchseal run not-measured R-00003 S-00004 --cause not-presented --reason 'the cup was left out'",
        (
            _RUN,
            ("sample", {"metavar": "SAMPLE_OR_LOT", "help": "sample number, lot, or customer/lot"}),
            (
                "--cause",
                {
                    "required": True,
                    "metavar": "CAUSE",
                    "help": "not-enough, container, preparation, unfit, instrument, not-presented, other-run or "
                    "withdrawn",
                },
            ),
            REASON,
            _EFFECT,
            _DRY_RUN,
        ),
    ),
    Command(
        ("run", "rejudge"),
        "calculate and judge a run by the documents in force now; says first which results it changes",
        "signatures",
        "corrections:rejudge",
        "benchseal run rejudge R-00003 --document specification/mineral-lozenge --reason 'the limit was typed wrong'",
        (
            _RUN,
            (
                "--document",
                {
                    "action": "append",
                    "default": [],
                    "dest": "documents",
                    "metavar": "KIND/ID",
                    "help": "only this method or specification in its version in force; once for each; else all",
                },
            ),
            REASON,
            _EFFECT,
            _DRY_RUN,
        ),
    ),
    Command(
        ("certificate", "justify"),
        "sign why an issued certificate may stand after a correction",
        "signature",
        "corrections:justify",
        "benchseal certificate justify C-2026-00001 --reason 'the value printed is the same'",
        (NUMBER, REASON),
    ),
)
