"""A look at an instrument file before it comes in: everything is calculated and nothing is a result.

That somebody looked is on record with the bytes: readings that were seen and left are an inspector's first question.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from benchseal.compute.reread import reread
from benchseal.desk.acting import Receipt, as_json
from benchseal.desk.intake import Trial, about_run, kept_parts, try_file
from benchseal.desk.plan_differences import plan_lines
from benchseal.desk.repeats import repeats_of
from benchseal.desk.rereading import beside
from benchseal.desk.same_readings import sharing
from benchseal.desk.texts import kept_notices
from benchseal.problems import Finding
from benchseal.records.canonical import canonical_bytes, digest
from benchseal.records.results import NotReportable

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.compute.reread import Reread
    from benchseal.desk.acting import Acting
    from benchseal.desk.acts_runs import CheckFile
    from benchseal.desk.bench import Worked
    from benchseal.records.canonical import Json

_AGAIN = "Read again what the list names, now, while the solutions and the instrument are as they are."
_DONE = "Nothing has to be read again for it: the list says why, and where a value stands. Look at the failed checks."
_SAID = "Nothing has to be read again for it. See whether what is said was meant."


@dataclass(frozen=True, slots=True)
class Tried(Receipt):
    """What is said of a file that was looked at, each run it would give, and what each leaves to be read again."""

    runs: tuple[Worked, ...] = ()
    lists: tuple[Reread, ...] = ()


def check_file(acting: Acting, act: CheckFile) -> Tried:
    """Read, validate and calculate a file; keep its bytes and what was found. Raises Stopped for none."""
    tried = try_file(acting, act)
    told = [_told(worked) for worked in tried.runs]
    lists = tuple(
        reread(worked.run, worked.work, beside(acting.tx, acting.site.ledger, "", worked.run, worked.work))
        for worked in tried.runs
    )
    report: dict[str, Json] = {
        "schema": "trial-report/1",
        "source": act.source,
        "problems": kept_notices(tried.problems),
        "runs": as_json(told),
    }
    raw = acting.tx.keep(act.data)
    acting.write(
        "file.tried",
        f"file/{raw[:16]}",
        facts={
            "name": act.source,
            "runs": len(tried.runs),
            "problems": len(tried.problems),
            "lost": sum(len(one["lost"]) for one in told),
        },
        digests={"raw": raw, "report": acting.tx.keep(canonical_bytes(report)), **kept_parts(acting, act)},
    )
    said = [
        line
        for worked in tried.runs
        for line in (
            *about_run(worked.run.method.element, worked.run, worked.work),
            *plan_lines(acting.tx, worked.run),
        )
    ]
    if tried.problems:
        count = f"{len(tried.problems)} problem{'s' * (len(tried.problems) != 1)}"
        said.append(f"{act.source} would be refused: {count}.")
    said += _seen_before(acting, act, tried)
    said.append("Nothing came in. That it was looked at, and its bytes, are on record.")
    notices = (*tried.problems, *_findings(tried.runs, told, lists))
    return Tried(tuple(said), {"file": raw, "runs": as_json(told)}, notices, tried.runs, lists)


def _seen_before(acting: Acting, act: CheckFile, tried: Trial) -> list[str]:
    """That these bytes, or a run of the file from other bytes, are on record: what bringing it in would meet."""
    raw = digest(act.data)
    known = acting.tx.row("source_file", sha256=raw)
    said = []
    if known is not None and known["state"] == "accepted":
        said.append(f"The same bytes came in before, as {known['name']}.")
    runs = [worked.run for worked in tried.runs]
    shared = sharing(acting.tx, runs)
    for repeat in repeats_of(acting.tx, act, runs, shared):
        run = f"Run {repeat.earlier['run']} ({repeat.earlier['state']})"
        said.append(f"{run} {repeat.words}: `ingest` will ask which of them stands.")
    for own, same in zip(runs, shared, strict=True):
        said += (f"{own.method.element}: {one.words}" for one in same)
    return said


def _told(worked: Worked) -> dict[str, list[str] | str]:
    """One run in words a record keeps: results without a value, checks that failed, findings about the whole."""
    work = worked.work
    return {
        "method": worked.run.method.id,
        "element": worked.run.method.element,
        "instrument": worked.run.instrument,
        "measured_at": worked.run.measured_at,
        "results": [one.result_id for one in work.results if not isinstance(one.outcome, NotReportable)],
        "lost": [one.result_id for one in work.results if isinstance(one.outcome, NotReportable)],
        "failed": [check.rule for check in work.checks if check.verdict == "fail"],
        "findings": list(work.findings),
    }


def _findings(
    runs: Sequence[Worked], told: list[dict[str, list[str] | str]], lists: Sequence[Reread]
) -> tuple[Finding, ...]:
    """One for each run that lost something: it decides the exit code. What is to be done is what the list says."""
    return tuple(
        Finding(
            "run.check-lost",
            f"{one['element']} by {one['method']}",
            _what(one, absent),
            (_DONE if one["lost"] or one["failed"] or absent else _SAID) if found.is_done else _AGAIN,
        )
        for one, found, absent in zip(told, lists, map(_absent_words, runs, lists), strict=True)
        if one["lost"] or one["failed"] or one["findings"] or absent
    )


def _what(one: dict[str, list[str] | str], absent: str) -> str:
    """What was lost and what failed; where neither is, what else it says. absent: samples nobody read, or empty."""
    if one["lost"] or one["failed"]:
        lost = _count(len(one["lost"]), "result has", "results have")
        return f"{lost} no value, {_count(len(one['failed']), 'check', 'checks')} failed{absent}."
    whole = "No result lacks a value" if one["results"] else "It gives no result"
    known = f"; to be known: {'; '.join(one['findings'])}" if one["findings"] else ""
    return f"{whole}, and no check failed{absent}{known}."


def _absent_words(worked: Worked, found: Reread) -> str:
    """Samples of which nothing was read and no other run has a value: they have no result that could be lost."""
    with_result = {one.sample for one in worked.work.results}
    samples = {one.sample for one in found.open if not one.positions and one.sample not in with_result}
    return f", {_count(len(samples), 'sample was', 'samples were')} not read at all" if samples else ""


def _count(count: int, one: str, several: str) -> str:
    return f"{count} {one if count == 1 else several}"
