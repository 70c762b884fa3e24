"""Sentences of a certificate that stand beside its results: stored curves, exceptions, opinions, checks."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from benchseal.certificate.language import ENGLISH, local
from benchseal.certificate.present_runs import made_elsewhere

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.certificate.language import Words
    from benchseal.records.evidence import Evidence
    from benchseal.records.opinions import SignedOpinion

_FACTOR_DIGITS: Final = 4


def notes_on_curves(evidence: Evidence, words: Words = ENGLISH) -> Iterator[str]:
    """Where a run used the curve of an earlier one: of which and of which day, and what corrected it."""
    for run in evidence.runs:
        for use in run.calibration.stored:
            on = words.day(local(use.measured_at, evidence.certificate.laboratory.zone))
            factor = words.short(use.factor, _FACTOR_DIGITS)
            name = words.substance(run.method.element)
            yield words.say("curve/note", name=name, run=run.run, use=use.run, day=on, factor=factor)


def notes_on_exceptions(evidence: Evidence, words: Words = ENGLISH) -> Iterator[str]:
    """Where one person may review and approve: by which exception, until when, and what is done instead."""
    for signed in evidence.exceptions:
        record = signed.exception
        names = words.listed([one.statement.printed_name for one in signed.signatures])
        until, check = words.day_of(record.until), ended(record.compensating_check)
        yield words.say("exception/note", exception=record.exception, names=names, day=until, check=check)


def opinion(signed: SignedOpinion, zone: str, words: Words = ENGLISH) -> str:
    """An opinion in full: what it is, its basis, whose it is and of which day (ISO/IEC 17025, 7.8.7)."""
    statement = signed.signature.statement
    return words.say(
        "opinion/said",
        text=ended(signed.opinion.text),
        basis=ended(signed.opinion.basis),
        name=statement.printed_name,
        role=words.word("role", statement.role),
        day=words.day(local(statement.at, zone)),
    )


def ended(text: str) -> str:
    """A text in one line, with a full stop at its end."""
    line = " ".join(text.split())
    return line if line.endswith(".") else f"{line}."


def notes_on_checks(evidence: Evidence, words: Words = ENGLISH) -> Iterator[str]:
    """What a mark or a failed check in a panel means for the readings around it."""
    if any(made_elsewhere(run) for run in evidence.runs):
        yield words.say("note/elsewhere")
    failed = [
        rule
        for run in evidence.runs
        for rule in run.method.checks
        if any(check.verdict == "fail" and check.rule == rule.id for check in run.checks)
    ]
    if any(rule.brackets for rule in failed):
        yield words.say("note/bracket")
    if any(rule.check == "return_to_zero" for rule in failed):
        yield words.say("note/rinse")
