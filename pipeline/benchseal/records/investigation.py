"""What an investigation of a result outside its limit consists of: its questions, its plans, what is signed of it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal, TypeAlias

from benchseal.records.canonical import Digest

PlanKind: TypeAlias = Literal["hypothesis", "retest", "resample", "repeat"]
ResultKind: TypeAlias = Literal["original", "earlier", "hypothesis", "retest", "resample", "repeat", "unplanned"]

CONFIRMED: Final = "confirmed"
INCONCLUSIVE: Final = "inconclusive"
INVALIDATED: Final = "invalidated"
OUTCOMES: Final = (CONFIRMED, INCONCLUSIVE, INVALIDATED)

# What a laboratory error can be. "other" needs the same evidence.
CATEGORIES: Final = (
    "calculation",
    "contamination",
    "dilution",
    "instrument",
    "mix-up",
    "reading",
    "sample-handling",
    "standard",
    "weighing",
    "other",
)


@dataclass(frozen=True, slots=True)
class Line:
    """One question of the checklist. phase: in which it has to be answered."""

    name: str
    asks: str
    phase: Literal[1, 2]


# The laboratory phase: FDA guidance on out-of-specification results, section III; the wording is ours.
LINES: Final = (
    Line("solutions", "Are the digests, dilutions and standards still kept, and where? If not, why not?", 1),
    Line("procedure", "Did the analyst follow the method, and was anything unusual seen?", 1),
    Line("calibration", "Was the calibration right: standards, their lots, the curve?", 1),
    Line("checks", "Do the check standards, control samples and spikes speak for this result?", 1),
    Line("blanks", "Do the blanks speak for this result? Could it be contamination or memory?", 1),
    Line("dilution", "Are volumes and dilutions as written, and written as done?", 1),
    Line("preparation", "Are the masses right and confirmed, was the portion whole, was nothing lost or added?", 1),
    Line("mix-up", "Can sample, portion, tube or position have been mistaken for another?", 1),
    Line("instrument", "Was the instrument in order: lamp, tube or burner, background, signals, its clock?", 1),
    Line("training", "Was the analyst trained for this method?", 1),
    Line("calculation", "Is the calculation right from the readings to the result?", 1),
    Line(
        "production", "What did the review outside the laboratory find? Name its report, or say why there is none.", 2
    ),
)


@dataclass(frozen=True, slots=True)
class PlanRecord:
    """A plan as it is signed, before anything is read by it.

    number: from 1 within the investigation. readings: how many results it allows and demands; one run gives one.
    sample: the original, or the new one of a resample plan. rule: how results will be judged. evidence: digest of what
    shows that a resample is needed, or empty.
    """

    schema: Literal["investigation-plan/1"]
    investigation: str
    number: int
    kind: PlanKind
    sample: str
    readings: int
    analyst: str
    rule: str
    rationale: str
    same_analyst_reason: str
    evidence: str


@dataclass(frozen=True, slots=True)
class CaseAnswer:
    """One answered line, with the digest of its evidence."""

    line: str
    answer: str
    evidence: Digest
    person: str


@dataclass(frozen=True, slots=True)
class CaseResult:
    """One result that belongs to the investigation, as it stood when the record was signed."""

    run: str
    kind: ResultKind
    plan: str
    sample: str
    value_text: str
    verdict: str
    why: str


@dataclass(frozen=True, slots=True)
class CaseRecord:
    """What a signature on a step of an investigation covers: the step's own words, and everything known by then."""

    schema: Literal["investigation-record/1"]
    investigation: str
    step: str
    text: str
    category: str
    outcome: str
    evidence: str
    answers: tuple[CaseAnswer, ...]
    results: tuple[CaseResult, ...]
    plans: tuple[Digest, ...]


def lines_of(phase: Literal[1, 2]) -> tuple[Line, ...]:
    """The questions of one phase."""
    return tuple(line for line in LINES if line.phase == phase)
