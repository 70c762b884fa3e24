"""The two files inside a certificate, read strictly, and how each look at them becomes a check."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, TypeAlias, TypeVar

from benchseal.certificate.evidence import content_digest_of
from benchseal.records.canonical import digest, parse_canonical
from benchseal.records.evidence import Evidence, Supplement
from benchseal.records.results import CALCULATION_RULES
from benchseal.records.shape import plain_of, record_of
from benchseal.shipped import ChangedTemplateError
from benchseal.verify.report import Check

if TYPE_CHECKING:
    from benchseal.records.canonical import Digest, Json
    from benchseal.verify.trust import Trust

EVIDENCE_SCHEMA: Final = "evidence/1"
SUPPLEMENT_SCHEMA: Final = "supplement/1"
_FAULTS_SAID: Final = 5


@dataclass(frozen=True, slots=True, eq=False)  # told apart as themselves: what follows from one is kept by it
class Case:
    """What is looked at: both files as records, the text of each page, and the trust.

    evidence_sha256: of the file. content_sha256: of what its approver signed.
    """

    evidence: Evidence
    supplement: Supplement
    evidence_sha256: Digest
    content_sha256: Digest
    pages: tuple[str, ...]
    trust: Trust


@dataclass(frozen=True, slots=True)
class Doubt:
    """Something that could not be decided; a fault is a plain sentence."""

    said: str


NOT_LOOKED_AT: Final = "it could not be looked at: what it rests on is missing, or of another form."
T = TypeVar("T")
Fault: TypeAlias = "str | Doubt"
Faults: TypeAlias = Iterator[Fault]


@dataclass(frozen=True, slots=True)
class Look:
    """One look: what it is called, what it finds wrong, and what is said when that is nothing."""

    name: str
    faults: Callable[[Case], Faults]
    good: Callable[[Case], str]


def look_at(case: Case, look: Look) -> Check:
    """The look as a check. Whatever breaks it half way is a fault of the file, never a traceback."""
    try:
        return check_of(look.name, tuple(look.faults(case)), look.good(case))
    except ChangedTemplateError:  # of this installation, and nothing about the file
        raise
    except Exception:  # noqa: BLE001  a hostile file can break any reader; saying so is the point
        return Check(look.name, holds=False, said=NOT_LOOKED_AT)


def check_of(name: str, found: tuple[Fault, ...], good: str) -> Check:
    """Faults outweigh doubts, doubts outweigh ``good``."""
    faults = tuple(one for one in found if isinstance(one, str))
    doubts = tuple(one.said for one in found if isinstance(one, Doubt))
    said = dict.fromkeys(faults or doubts)
    shown = list(said)[:_FAULTS_SAID]
    if len(said) > len(shown):
        shown.append(f"and {len(said) - len(shown)} more.")
    return Check(name, False if faults else None if doubts else True, " ".join(shown) or good, tuple(shown))


def read_contents(evidence: bytes, supplement: bytes) -> tuple[Evidence | None, Supplement | None, tuple[Check, ...]]:
    """Both files as records where they can be read, and the checks of their form."""
    found, first = _read(Evidence, EVIDENCE_SCHEMA, evidence, "evidence")
    added, second = _read(Supplement, SUPPLEMENT_SCHEMA, supplement, "supplement")
    return found, added, (first, second)


def _read(kind: type[T], schema: str, data: bytes, name: str) -> tuple[T | None, Check]:
    """One file: canonical, of a schema this program knows, and back to its own bytes."""
    try:
        value = parse_canonical(data)
    except ValueError as fault:
        return None, Check(name, holds=False, said=f"it is not canonical JSON ({fault}).")
    stated = value.get("schema") if isinstance(value, dict) else None
    if stated != schema:
        return None, _other_schema(name, stated, schema)
    try:
        record = record_of(kind, value)
    except ValueError as fault:
        return None, _other_form(name, value, f"it does not have the form of {schema} as known here ({fault})")
    if plain_of(record) != value:  # which would be of the same bytes, as those of the value are the file's
        return None, _other_form(name, value, "it does not read back to its own bytes")
    return record, Check(name, holds=True, said=f"canonical, in the form {schema}.")


def _other_form(name: str, value: Json, why: str) -> Check:
    """Fields that came later or went: that speaks of another program, not of a change of the file."""
    made_by = value.get("program", "") if isinstance(value, dict) else ""
    said = f"{why}; it may be of another time{f', it names {made_by}' if made_by else ''}. Use a benchseal of its time."
    return Check(name, holds=None, said=said)


def _other_schema(name: str, stated: Json, schema: str) -> Check:
    said = f"it states schema {stated!r}; this program reads {schema!r}. Use a benchseal of its time."
    return Check(name, holds=None, said=said)


def case_of(evidence: Evidence, supplement: Supplement, data: bytes, pages: tuple[str, ...], trust: Trust) -> Case:
    """Of both files as ``read_contents`` gives them. data: bytes of the evidence."""
    return Case(evidence, supplement, digest(data), content_digest_of(data, evidence), pages, trust)


def belongs(case: Case) -> Faults:
    """The supplement is that of this evidence."""
    if case.supplement.evidence_sha256 != case.evidence_sha256:
        yield f"the supplement is of evidence {case.supplement.evidence_sha256[:16]}…, not of this one."


def rules_known(case: Case) -> Faults:
    """The evidence states the rules this program calculates by, and so does everything in it."""
    stated = case.evidence.calculation_rules
    if stated != CALCULATION_RULES:
        yield Doubt(
            f"the evidence was calculated by rules {stated} ({case.evidence.program}); this program has rules "
            f"{CALCULATION_RULES}. Use a benchseal with rules {stated}."
        )
    named = {run.manifest.calculation_rules for run in case.evidence.runs}
    named |= {basis.result.calculation_rules for basis in case.evidence.results}
    named |= {one.calculation_rules for one in case.evidence.sums}
    if named != {stated}:
        yield f"the evidence states rules {stated}, its runs and results {', '.join(map(str, sorted(named)))}."
