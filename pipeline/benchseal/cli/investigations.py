"""Investigations of results outside their limit."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from benchseal.cli import investigation_words as words
from benchseal.cli import show
from benchseal.cli.opened import do, file_bytes, reading
from benchseal.desk.acts_investigations import (
    AnswerLine,
    CloseInvestigation,
    EvaluateResults,
    ExtendInvestigation,
    FindCause,
    FindNoCause,
    InvalidateResult,
    NoteTold,
    PlanReadings,
    RefuseCause,
    StateAsAnalyst,
)
from benchseal.desk.case_facts import facts_of
from benchseal.desk.cases import ENDED, age_days, allowed_days, case_of, every_case, overdue
from benchseal.desk.investigation_patterns import of_site
from benchseal.desk.reading import all_entries
from benchseal.problems import EXIT_DONE, EXIT_FINDING, Problem, Stopped

if TYPE_CHECKING:
    from argparse import Namespace

_COLUMNS = ("investigation", "state", "lot", "element", "value", "limit", "working days", "overdue", "waits for")
_LONGEST_SUFFIX = 6


class _Given(NamedTuple):
    """Evidence as it was given: bytes, and the file's name where it was a file."""

    evidence: bytes
    evidence_name: str


def list_all(args: Namespace) -> int:
    """Every investigation, its age, and whom it waits for."""
    if args.patterns:
        return _patterns(args)
    with reading(args) as (site, view):
        now = site.clock()
        cases = [case for case in every_case(view) if not (args.open and case.state in ENDED)]
        rows = [
            (
                case.name,
                case.row["outcome"] or case.state,
                case.row["lot"],
                case.row["element"],
                words.value(case.results[0]),
                case.row["limit_text"],
                age_days(view, case, now),
                f"over {allowed_days(view, case)}" if overdue(view, case, now) else "",
                case.waits_for,
            )
            for case in cases
        ]
    return show.table(args, _COLUMNS, rows, name="investigations")


def _patterns(args: Namespace) -> int:
    """Failed checks that coincide with exceedances, or come again. Exit 10 where there are any."""
    with reading(args) as (_, view):
        found = of_site(view)
    data = [each.told for each in found]
    show.lines(args, [str(each) for each in found] or ["No pattern."], {"patterns": data})
    return EXIT_FINDING if found else EXIT_DONE


def show_one(args: Namespace) -> int:
    """One investigation: its results, questions with facts and answers, plans, and whom it waits for."""
    with reading(args) as (site, view):
        case = case_of(view, args.investigation)
        said = words.case_lines(view, case, facts_of(view, case), site.clock())
        data = words.case_json(view, case, facts_of(view, case), site.clock())
    return show.lines(args, said, data)


def report(args: Namespace) -> int:
    """The whole of one investigation as text, with its timeline."""
    with reading(args) as (site, view):
        case = case_of(view, args.investigation)
        entries = [one for one in all_entries(view) if one.subject == f"investigation/{case.name}"]
        said = words.report_lines(view, case, facts_of(view, case), entries, site.clock())
        data = words.case_json(view, case, facts_of(view, case), site.clock())
    return show.lines(args, said, {**data, "timeline": words.timeline(entries)})


def answer(args: Namespace) -> int:
    """Answer one line."""
    return do(args, AnswerLine(args.investigation, args.line, args.answer, *_given(args.evidence)))


def statement(args: Namespace) -> int:
    """The analyst's statement."""
    return do(args, StateAsAnalyst(args.investigation, args.text, args.reason))


def notified(args: Namespace) -> int:
    """Who was told, and how."""
    return do(args, NoteTold(args.investigation, args.who, args.how))


def plan(args: Namespace) -> int:
    """A plan of readings to come."""
    kinds = [kind for kind in ("hypothesis", "retest", "resample", "repeat") if getattr(args, kind) is not None]
    if len(kinds) != 1:
        what = f"{len(kinds)} kinds of plan are named."
        remedy = "Give one of --hypothesis, --retest, --resample, --repeat."
        raise Stopped(Problem("investigation.plan-kind", args.investigation, what, remedy))
    (kind,) = kinds
    number = {"hypothesis": args.readings, "repeat": 1, "retest": args.retest, "resample": args.resample}[kind]
    rationale = args.hypothesis if kind == "hypothesis" else args.repeat if kind == "repeat" else args.rationale
    rule = args.rule or ("as the original test" if kind == "repeat" else "")
    act = PlanReadings(
        args.investigation,
        kind,
        number,
        _person(args.analyst),
        args.sample,
        rule,
        rationale,
        args.same_analyst_reason,
        *_given(args.evidence),
    )
    return do(args, act)


def cause(args: Namespace) -> int:
    """A laboratory error with its evidence."""
    given = _given(args.evidence)
    return do(args, FindCause(args.investigation, args.category, args.cause, *given, tuple(args.also)))


def refuse_cause(args: Namespace) -> int:
    """Send a cause back."""
    return do(args, RefuseCause(args.investigation, args.reason))


def invalidate(args: Namespace) -> int:
    """Accept a cause."""
    return do(args, InvalidateResult(args.investigation, args.reason))


def no_cause(args: Namespace) -> int:
    """No error was found."""
    return do(args, FindNoCause(args.investigation, args.conclusion))


def evaluate(args: Namespace) -> int:
    """Weigh the results."""
    return do(args, EvaluateResults(args.investigation, args.text))


def close(args: Namespace) -> int:
    """Decide."""
    return do(args, CloseInvestigation(args.investigation, args.outcome, args.conclusion))


def extend(args: Namespace) -> int:
    """Hold another lot with it."""
    return do(args, ExtendInvestigation(args.investigation, args.lot, args.reason))


def _given(text: str) -> _Given:
    """A file where one of this name is there, else the text itself. Raises Stopped for the name of a missing file."""
    path = Path(text)
    if text and len(text) < 4096 and "\n" not in text and path.is_file():
        return _Given(file_bytes(text), path.name)
    looks_like_one = " " not in text and 1 < len(path.suffix) <= _LONGEST_SUFFIX
    return _Given(file_bytes(text), path.name) if looks_like_one else _Given(text.encode(), "")


def _person(text: str) -> str:
    return text if not text or text.startswith("p-") else f"p-{text}"
