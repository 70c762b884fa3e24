"""Sentences of a certificate that stand beside its results: stored curves, exceptions, opinions, checks."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from benchseal.certificate import wording
from benchseal.certificate.present_runs import made_elsewhere
from benchseal.records.elements import element_name

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.records.evidence import Evidence
    from benchseal.records.opinions import SignedOpinion

_FACTOR_DIGITS: Final = 4
_ELSEWHERE_NOTE: Final = "* made on another sample of the batch; not recomputable from this file."
_BRACKET_NOTE: Final = "Where a check that brackets readings was not met, none of the readings it brackets was used."
_RINSE_NOTE: Final = "Where a rinse did not return to zero, the reading directly after it was not used."


def notes_on_curves(evidence: Evidence) -> Iterator[str]:
    """Where a run used the curve of an earlier one: of which and of which day, and what corrected it."""
    for run in evidence.runs:
        for use in run.calibration.stored:
            on = wording.day(wording.local(use.measured_at, evidence.certificate.laboratory.zone))
            factor = wording.short(use.factor, _FACTOR_DIGITS)
            name = wording.capital(element_name(run.method.element))
            yield (
                f"{name}, run {run.run}: read on the curve of run {use.run} of {on}; signals less the blank were "
                f"multiplied by {factor}, found from one standard read in run {run.run}."
            )


def notes_on_exceptions(evidence: Evidence) -> Iterator[str]:
    """Where one person may review and approve: by which exception, until when, and what is done instead."""
    for signed in evidence.exceptions:
        record = signed.exception
        names = wording.listed([one.statement.printed_name for one in signed.signatures])
        yield (
            f"By exception {record.exception}, signed by {names} and valid until {wording.day_of(record.until)}, one "
            f"person may review and approve here. Instead: {ended(record.compensating_check)}"
        )


def opinion(signed: SignedOpinion, zone: str) -> str:
    """An opinion in full: what it is, its basis, whose it is and of which day (ISO/IEC 17025, 7.8.7)."""
    statement = signed.signature.statement
    on = wording.day(wording.local(statement.at, zone))
    whose = f"Expressed by {statement.printed_name}, {wording.ROLES.get(statement.role, statement.role)}, on {on}."
    return f"{ended(signed.opinion.text)} Based on: {ended(signed.opinion.basis)} {whose}"


def ended(text: str) -> str:
    """A text in one line, with a full stop at its end."""
    line = " ".join(text.split())
    return line if line.endswith(".") else f"{line}."


def notes_on_checks(evidence: Evidence) -> Iterator[str]:
    """What a mark or a failed check in a panel means for the readings around it."""
    if any(made_elsewhere(run) for run in evidence.runs):
        yield _ELSEWHERE_NOTE
    failed = [
        rule
        for run in evidence.runs
        for rule in run.method.checks
        if any(check.verdict == "fail" and check.rule == rule.id for check in run.checks)
    ]
    if any(rule.brackets for rule in failed):
        yield _BRACKET_NOTE
    if any(rule.check == "return_to_zero" for rule in failed):
        yield _RINSE_NOTE
