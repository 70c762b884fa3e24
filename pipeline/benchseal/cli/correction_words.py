"""What a correction changes, in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.cli.show import some

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from benchseal.desk.changed import Corrected, VersionChange
    from benchseal.desk.correcting import Plan
    from benchseal.records.corrections import CertificateEffect, Effect, ResultChange, ValueChange


def effect_lines(made: Plan) -> list[str]:
    """The effect of a correction that was not done yet, and how it is done."""
    effect = made.effect
    said = [f"{effect.subject}, to be corrected:"]
    said += [f"  {one.name}: {one.old or 'nothing'} -> {one.new or 'nothing'}" for one in effect.changes]
    said.append(f"{count_line(effect)}.")
    said += result_lines(effect.results)
    for run in effect.runs:
        said.append(_run_line(run.run, run.state, run.becomes, run.version))
        said += check_lines(run.checks, f"{run.run}: ")
    said += [_certificate_line(one) for one in effect.certificates]
    said += [f"held from then on: lot {one}, until an investigation explains it" for one in effect.holds]
    said += [f"{one} is about this lot: what it holds of the sample stays held" for one in effect.investigations]
    said.append("Nothing was changed. To do it, give the same command with:")
    who = "the analyst, then a reviewer or approver who consents" if effect.needs_consent else "the analyst"
    said.append(f"  --effect {made.figures} (signed by {who})")
    return said


def count_line(effect: Effect) -> str:
    """``4 results of 1 lot change; 11 lots untouched``."""
    results, lots = len(effect.results), len(effect.lots_changed)
    changed = f"{some(results, 'result')} of {some(lots, 'lot')} change{'s' if results == 1 else ''}"
    if not results:
        changed = "no result changes"
        if not effect.lots_untouched:
            return changed
    return f"{changed}; {some(effect.lots_untouched, 'lot')} untouched"


def result_lines(results: Sequence[ResultChange]) -> Iterator[str]:
    """A line for each changed result, both sides; one whose value stays says so."""
    for one in results:
        where = f"  {one.run} {one.sample} (lot {one.lot}) {one.what}" if one.sample else f"  {one.run} {one.what}"
        value = f"{one.old} -> {one.new}" if one.old != one.new else f"{one.new}, the same; what it rests on changed"
        verdict = f"; {one.old_verdict} -> {one.new_verdict}" if one.old_verdict != one.new_verdict else ""
        yield f"{where}: {value}{verdict}"


def check_lines(checks: Sequence[ValueChange], of: str = "") -> Iterator[str]:
    """A line for each check judged otherwise."""
    yield from (f"  {of}check {one.name}: {one.old} -> {one.new}" for one in checks)


def change_lines(change: VersionChange) -> list[str]:
    """A version of a run against the reviewed one before: what a second review is about, and nothing else."""
    said = [f"version {change.after} against the reviewed version {change.before}:"]
    said += [f"  {line}" for line in corrected_lines(change.corrected)]
    said.append(f"{some(len(change.results), 'result')} changed; {change.untouched} keep their signatures.")
    said += result_lines(change.results)
    said += check_lines(change.checks)
    return said


def corrected_lines(corrected: Sequence[Corrected]) -> list[str]:
    """Values changed after their first entry: old, new, by whom, when, why."""
    return [
        f"{one.subject}, {one.name}: {one.old or 'nothing'} -> {one.new or 'nothing'} "
        f"(entry {one.entry}, {one.person}, {one.at}: {one.reason})"
        for one in corrected
    ]


def _run_line(run: str, state: str, becomes: str, version: int) -> str:
    if state == "reviewed":
        return f"{run} is reopened; its version {version} stays in force for the rest until this is reviewed"
    return f"{run} is {becomes} and calculated again"


def _certificate_line(one: CertificateEffect) -> str:
    if one.becomes == "draft again":
        back = "falls back to draft and" if one.state == "approved" else "no longer fits and"
        return f"certificate {one.number} ({one.state}) {back} has to be discarded and drafted again"
    if one.state == "sealing":
        return f"certificate {one.number} (sealing) is sealed as it was signed, and is flagged: {one.becomes} then"
    return f"certificate {one.number} ({one.state}) stands as issued and is flagged: must amend or justify"
