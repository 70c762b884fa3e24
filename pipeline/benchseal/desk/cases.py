"""Reading investigations: one case with all that belongs to it, what its results say now, and whom it waits for."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Final
from zoneinfo import ZoneInfo

from benchseal.desk.clock import moment_of
from benchseal.desk.reading import result_of
from benchseal.desk.runs import run_contributors
from benchseal.desk.site_rules import rules_in_force
from benchseal.problems import Refusal, Stopped
from benchseal.records.entries import read_entry
from benchseal.records.investigation import CaseAnswer, CaseRecord, CaseResult, lines_of
from benchseal.records.shape import record_digest
from benchseal.review.duty import Situation
from benchseal.review.repeats import Planned
from benchseal.review.working_days import working_days

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from benchseal.records.results import WorkedResult
    from benchseal.store.protocol import Reading, Row

ENDED: Final = frozenset({"closed", "told"})
EXCEEDS: Final = frozenset({"fail", "conditional fail"})
TELL_DAYS: Final = 1  # "at once" is overdue from the second working day on; ours

_OTHER_SIDE: Final[Mapping[str, tuple[str, str]]] = {
    "assess": ("decide", "decision"),
    "decide": ("assess", "assessment"),
}

# Whose move it is, by state.
_WAITS_FOR: Final[Mapping[str, str]] = {
    "open": "a reviewer to answer its checklist",
    "phase 1": "a reviewer: a cause with evidence, or none",
    "cause found": "an approver: the cause accepted or sent back",
    "invalidated": "an approver to plan the repeat",
    "repeat planned": "the repeat, reviewed, then an approver to close it",
    "phase 2": "an approver to plan retests, or a reviewer to evaluate without",
    "retest planned": "the planned results, reviewed, then a reviewer to evaluate",
    "evaluation": "an approver to decide it",
    "to tell": "somebody to tell the customer and say so",
    "closed": "nobody",
    "told": "nobody",
}


@dataclass(frozen=True, slots=True)
class Case:
    """One investigation: its row, and the rows of its results, answers, plans and holds."""

    row: Row
    results: tuple[Row, ...]
    answers: Mapping[str, Row]
    plans: tuple[Row, ...]
    holds: tuple[Row, ...]

    @property
    def name(self) -> str:
        """Its number."""
        return str(self.row["investigation"])

    @property
    def state(self) -> str:
        """Its state."""
        return str(self.row["state"])

    @property
    def waits_for(self) -> str:
        """Whose move it is, in words."""
        return _WAITS_FOR[self.state]

    def in_force(self, *kinds: str) -> list[Row]:
        """Plans that were not replaced, oldest first."""
        return [plan for plan in self.plans if plan["state"] == "in force" and plan["kind"] in kinds]

    def of_plan(self, plan: Row) -> list[Row]:
        """Results that came by a plan, whatever became of them."""
        return [one for one in self.results if one["plan"] == plan["plan"]]

    def unanswered(self, phase: int) -> list[str]:
        """Lines of a phase nobody answered yet."""
        asked = lines_of(1) if phase == 1 else lines_of(2)
        return [line.name for line in asked if line.name not in self.answers]


def case_of(view: Reading, investigation: str) -> Case:
    """The case with this number. Raises Stopped."""
    row = view.row("investigation", investigation=investigation)
    if row is None:
        what = "there is no such investigation."
        raise Stopped(Refusal("investigation.unknown", investigation, what, "See `benchseal investigation list`."))
    return _case(view, row)


def every_case(view: Reading) -> list[Case]:
    """All of them, by number."""
    return [_case(view, row) for row in view.rows("investigation")]


def open_cases(view: Reading) -> list[Case]:
    """Those not closed, by number."""
    return [_case(view, row) for row in view.rows("investigation") if row["state"] not in ENDED]


def _case(view: Reading, row: Row) -> Case:
    key = {"investigation": row["investigation"]}
    return Case(
        row=row,
        results=tuple(sorted(view.rows("investigation_result", **key), key=lambda one: (one["seq"], one["run"]))),
        answers={one["line"]: one for one in view.rows("investigation_answer", **key)},
        plans=tuple(sorted(view.rows("investigation_plan", **key), key=lambda one: int(one["plan"]))),
        holds=tuple(view.rows("hold", **key)),
    )


def rows_about(view: Reading, table: str, sample: Row, **where: str | int) -> list[Row]:
    """Rows of ``investigation`` or ``hold`` about a sample: under the lot it bears, or its own under whatever name.

    A lot's name can be put right; what was found of the sample stays found.
    """
    found = view.rows(table, lot=sample["lot"], customer=sample["customer"], **where)
    return found + [row for row in view.rows(table, sample=sample["sample"], **where) if row["lot"] != sample["lot"]]


def line_of(result: WorkedResult) -> str:
    """The line of a specification a result answers, whichever sample of a lot it is of."""
    parts = (result.element, result.fraction, result.quantity, result.basis, result.expressed_as)
    return ", ".join(part.replace("_", " ") for part in parts if part)


def sum_line(name: str) -> str:
    """The line of a sum, by its identifier in the specification."""
    return f"sum {name}"


def is_sum(case: Case) -> bool:
    """Whether a case is of a sum, which has no readings of its own."""
    return str(case.row["line"]).startswith("sum ")


def result_digest(result: WorkedResult) -> str:
    """Which calculation of a result: another reading, mass, method or limit gives another digest."""
    return record_digest(result)


def now_of(view: Reading, mark: Row) -> WorkedResult | None:
    """What a result of an investigation is by its run's calculation in force; None where it gives none any more."""
    run = view.row("run", run=mark["run"])
    if run is None or run["state"] == "cancelled":
        return None
    return result_of(view, mark)


def stands(view: Reading, mark: Row) -> bool:
    """Whether a result has a value that counts: not voided, its run not cancelled."""
    now = now_of(view, mark)
    return now is not None and now.outcome.kind != "not_reportable"


def reviewed(view: Reading, mark: Row) -> bool:
    """Whether the run of a result is reviewed."""
    run = view.row("run", run=mark["run"])
    return run is not None and run["state"] == "reviewed"


def planned(view: Reading, case: Case) -> list[Planned]:
    """Plans of a case in force, with how many of their results stand."""
    return [
        Planned(
            number=plan["plan"],
            kind=plan["kind"],
            sample=plan["sample"],
            analyst=plan["analyst"],
            signed_at=plan["signed_at"],
            readings=int(plan["readings"]),
            done=sum(stands(view, one) for one in case.of_plan(plan)),
        )
        for plan in case.in_force("hypothesis", "retest", "resample", "repeat")
    ]


def incomplete(view: Reading, case: Case) -> list[Planned]:
    """Retest and resample plans whose number is not reached by results of reviewed runs."""
    found = []
    for plan, one in zip(case.in_force("retest", "resample"), _counted(view, case), strict=True):
        done = sum(stands(view, mark) and reviewed(view, mark) for mark in case.of_plan(plan))
        if done < one.readings:
            found.append(one)
    return found


def _counted(view: Reading, case: Case) -> list[Planned]:
    return [one for one in planned(view, case) if one.kind in {"retest", "resample"}]


def contributors(view: Reading, case: Case) -> dict[str, tuple[str, ...]]:
    """Who had a part in the original, or in what was read by a plan: they assess and decide nothing of it."""
    return _parts(view, [mark for mark in case.results if mark["kind"] == "original" or mark["plan"]])


def hands_on(view: Reading, case: Case) -> frozenset[str]:
    """Who measured, prepared or changed the original; typing a standard's certificate is no hand on it."""
    parts = _parts(view, [mark for mark in case.results if mark["kind"] == "original"])
    return frozenset(person for person, acts in parts.items() if set(acts) != {"enter"})


def _parts(view: Reading, marks: Sequence[Row]) -> dict[str, tuple[str, ...]]:
    found: dict[str, set[str]] = {}
    for run in dict.fromkeys(str(mark["run"]) for mark in marks):
        for person, acts in run_contributors(view, run).items():
            found.setdefault(person, set()).update(acts)
    return {person: tuple(sorted(acts)) for person, acts in found.items()}


def situation(view: Reading, case: Case, act_as: str) -> Situation:
    """What is known when somebody acts. act_as: ``assess`` or ``decide``, which are two people's; or neither."""
    other, words = _OTHER_SIDE.get(act_as, ("", ""))
    rows = view.rows("contribution", subject=f"investigation/{case.name}", act=other) if other else []
    checkers = {row["person"]: (words,) for row in rows}
    return Situation(f"investigation {case.name}", case.state, contributors(view, case), checkers)


def record_of_case(view: Reading, case: Case, step: str, text: str, **said: str) -> CaseRecord:
    """What a signature on ``step`` covers: category, outcome, evidence where the step has them."""
    return CaseRecord(
        schema="investigation-record/1",
        investigation=case.name,
        step=step,
        text=text,
        category=said.get("category", ""),
        outcome=said.get("outcome", ""),
        evidence=said.get("evidence", ""),
        answers=tuple(
            CaseAnswer(name, one["answer"], one["evidence"], one["person"])
            for name, one in sorted(case.answers.items())
        ),
        results=tuple(_as_it_stands(view, one) for one in case.results),
        plans=tuple(plan["record"] for plan in case.plans),
    )


def _as_it_stands(view: Reading, mark: Row) -> CaseResult:
    now = now_of(view, mark)
    value, verdict = (mark["value_text"], mark["verdict"]) if now is None else (value_text(now), now.verdict)
    return CaseResult(mark["run"], mark["kind"], mark["plan"], mark["sample"], value, verdict, mark["why"])


def value_text(result: WorkedResult) -> str:
    """The value as reported, or empty."""
    return "" if result.outcome.kind == "not_reportable" else result.outcome.value_text


def registered_at(view: Reading, sample: Row) -> str:
    """When a sample was registered."""
    return read_entry(next(iter(view.entries(int(sample["seq"]))))[1]).at


def age_days(view: Reading, case: Case, now: datetime) -> int:
    """Working days since it was opened, until it was closed or until now, in the site's zone."""
    site = next(iter(view.rows("site")), None)
    zone = ZoneInfo(site["zone"]) if site else UTC
    until = moment_of(case.row["closed_at"]) if case.row["closed_at"] else now
    return working_days(moment_of(case.row["opened_at"]).astimezone(zone).date(), until.astimezone(zone).date())


def allowed_days(view: Reading, case: Case) -> int:
    """How many working days it may take: a rule of the site; to tell a customer, one."""
    return TELL_DAYS if case.row["means"] == "notify" else rules_in_force(view).investigation_working_days


def overdue(view: Reading, case: Case, now: datetime) -> bool:
    """Whether it is open longer than it may be."""
    return case.state not in ENDED and age_days(view, case, now) > allowed_days(view, case)
