"""Gathering what patterns are looked for in: results without a value, and checks that failed."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, cast

from benchseal.compute.voided import outside, would_have_been
from benchseal.desk.cases import line_of, value_text
from benchseal.desk.reading import load, result_of
from benchseal.desk.standing import portions_in
from benchseal.records.canonical import parse_canonical
from benchseal.records.corrections import RunBench
from benchseal.records.run import Run
from benchseal.records.specification import Specification
from benchseal.review.patterns import Failed, Voided, patterns

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.problems import Finding
    from benchseal.records.results import WorkedResult
    from benchseal.records.specification import Requirement
    from benchseal.store.protocol import Reading, Row

# A result is voided by a check; over range or not prepared is no pattern of checks.
_BY_CHECK = (
    "additions.",
    "blank.",
    "bracket",
    "calibration.",
    "carry-over.",
    "drift.",
    "reading.background",
    "reading.contradicted",
    "reading.scatter",
    "run.",
)


def of_site(view: Reading) -> tuple[Finding, ...]:
    """Every pattern of the site."""
    return patterns(list(_voided(view, view.rows("result", outcome="not_reportable"))), _failed(view))


def of_lot(view: Reading, sample: str) -> tuple[Finding, ...]:
    """Patterns of one sample: to be seen before anything of it is approved."""
    rows = view.rows("result", outcome="not_reportable", sample=sample)
    return patterns(list(_voided(view, rows)), ())


def _voided(view: Reading, rows: list[Row]) -> Iterator[Voided]:
    for row in rows:
        run = view.row("run", run=row["run"])
        result = result_of(view, row)
        if run is None or result is None or result.outcome.kind != "not_reportable":
            continue
        if not result.outcome.code.startswith(_BY_CHECK):
            continue
        asked = _requirement(view, result)
        bound = load(view, Run, run["bound"])
        would = (
            ""
            if asked is None
            else would_have_been(
                result, asked, bound.method.solution_unit, portions_in(view, load(view, RunBench, run["bench"]))
            )
        )
        sample = view.row("sample", sample=result.sample)
        after = _after(view, row, run["measured_at"])
        yield Voided(
            run=row["run"],
            lot=str(sample["lot"]) if sample is not None else "",
            line=line_of(result),
            why=result.outcome.why,
            would_be=would,
            outside=bool(would) and asked is not None and outside(would, asked),
            after="" if after is None else after[0],
            after_text="" if after is None else value_text(after[1]),
            after_outside=after is not None and after[1].verdict in {"fail", "conditional fail"},
        )


def _requirement(view: Reading, result: WorkedResult) -> Requirement | None:
    """The line of the specification the result was judged by."""
    specification = load(view, Specification, result.specification.digest)
    wanted = (result.element, result.quantity, result.basis, result.expressed_as)
    return next(
        (
            one
            for one in specification.requirements
            if (one.element, one.quantity, one.basis, one.expressed_as) == wanted
        ),
        None,
    )


def _after(view: Reading, row: Row, measured_at: str) -> tuple[str, WorkedResult] | None:
    """The first later result of the same line that has a value, with its run."""
    found = []
    for other in view.rows("result", result_id=row["result_id"]):
        run = view.row("run", run=other["run"])
        if run is None or run["state"] == "cancelled" or other["outcome"] == "not_reportable":
            continue
        result = result_of(view, other)
        if run["measured_at"] > measured_at and result is not None:
            found.append((run["measured_at"], other["run"], result))
    return min(found, key=lambda one: one[:2])[1:] if found else None


def _failed(view: Reading) -> Iterator[Failed]:
    """Failed checks of the calculation in force of every run that was not cancelled."""
    for row in view.rows("run"):
        if row["state"] == "cancelled":
            continue
        kept = view.row("calculation", run=row["run"], work=row["work"])
        checks = parse_canonical(kept["checks"].encode()) if kept is not None else []
        for check in cast("list[dict[str, Any]]", checks):
            if check["verdict"] == "fail":
                yield Failed(row["run"], row["instrument"], check["rule"])
