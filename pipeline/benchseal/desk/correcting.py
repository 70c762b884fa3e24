"""What a correction would change, found by making every calculation that may rest on it again. Changes nothing."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from benchseal.desk import proposals, unmeasured
from benchseal.desk.bench import Worked, corrections_of, known_at, worked_again
from benchseal.desk.cases import rows_about
from benchseal.desk.citing import touched
from benchseal.desk.clock import moment_of
from benchseal.desk.exceedances import to_open
from benchseal.desk.lending import borrowers
from benchseal.desk.reading import load
from benchseal.desk.registers import future_problems
from benchseal.desk.standing import bases_at, bases_of
from benchseal.problems import Problem, Refusal, Stopped
from benchseal.records.corrections import (
    EFFECT_FIGURES,
    Effect,
    ResultChange,
    RunCorrections,
    RunEffect,
)
from benchseal.records.preparation import Portion
from benchseal.records.registers import Sample, StandardLot
from benchseal.records.results import RunWork
from benchseal.records.shape import record_digest
from benchseal.review.cycles import RUN, decide
from benchseal.review.duty import Situation
from benchseal.review.effects import Compared, check_changes, compared, result_changes

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping, Sequence

    from benchseal.desk.proposals import Proposal
    from benchseal.records.known import Known
    from benchseal.records.manifest import ResultBasis
    from benchseal.store.protocol import Reading, Row

_PROPOSED: Final[dict[str, Callable[[Reading, str, Sequence[str]], Proposal]]] = {
    "preparation": proposals.preparation,
    "standard": proposals.standard,
    "sample": proposals.sample,
    "customer": proposals.customer,
    "relabel": proposals.relabel,
    "rejudge": proposals.rejudge,
}
_BY_REASON: Final[dict[str, Callable[[Reading, str, Sequence[str], str], Proposal]]] = {
    "exclude": proposals.exclude,
    "not_measured": unmeasured.not_measured,
}
_DAYS = frozenset({"prepared_at", "received_on", "sampled_on"})


@dataclass(frozen=True, slots=True)
class Wanted:
    """A correction as it is asked for.

    kind: ``preparation``, ``standard``, ``sample``, ``customer``, ``relabel``, ``exclude``, ``not_measured``,
    ``rejudge``. subject: row, lot, sample, customer or run. sets: as each kind writes them.
    """

    kind: str
    subject: str
    sets: tuple[str, ...]
    reason: str


@dataclass(frozen=True, slots=True)
class RunPlan:
    """One run as the correction leaves it."""

    row: Row
    worked: Worked
    corrections: RunCorrections
    found: Compared
    effect: RunEffect


@dataclass(frozen=True, slots=True)
class Plan:
    """A correction ready to be done: what is proposed, what it changes, and each run calculated again."""

    proposal: Proposal
    effect: Effect
    runs: tuple[RunPlan, ...]

    @property
    def figures(self) -> str:
        """The first figures of the effect's digest, by which a person names what was shown."""
        return record_digest(self.effect)[:EFFECT_FIGURES]


def plan(view: Reading, ledger: str, at: str, wanted: Wanted) -> Plan:
    """Everything a correction would change. at: entry time. Raises Stopped where it cannot be made."""
    proposal = _proposal(view, wanted)
    _require_past(view, proposal, at)
    known = known_at(view, at, proposal.instead)
    plans = [one for name in proposal.runs if (one := _run_plan(view, known, ledger, proposal, name)) is not None]
    lots = {row["sample"]: str(row["lot"]) for row in view.rows("sample")}
    results = [change for one in plans for change in result_changes(one.row["run"], one.found, lots)]
    changed = {one.row["run"]: one.found.changed_ids for one in plans}
    effect = Effect(
        schema="correction-effect/1",
        subject=proposal.subject,
        changes=proposal.changes,
        runs=tuple(one.effect for one in plans),
        results=tuple(results),
        certificates=tuple(touched(view, changed, proposal.certificates_of, proposal.drafts_of)),
        holds=tuple(dict.fromkeys(_holds(view, plans, lots))),
        lots_changed=_names(results, lots),
        lots_untouched=_untouched(plans, results),
        investigations=tuple(_investigations(view, proposal)),
    )
    return Plan(proposal, effect, tuple(plans))


def _proposal(view: Reading, wanted: Wanted) -> Proposal:
    if wanted.kind in _BY_REASON:
        return _BY_REASON[wanted.kind](view, wanted.subject, wanted.sets, wanted.reason)
    return _PROPOSED[wanted.kind](view, wanted.subject, wanted.sets)


def _require_past(view: Reading, proposal: Proposal, at: str) -> None:
    problems = [
        problem
        for one in proposal.changes
        if one.name in _DAYS
        for problem in future_problems(view, moment_of(at), proposal.subject, one.name, one.new)
    ]
    if problems:
        raise Stopped(*problems)


def _run_plan(view: Reading, known: Known, ledger: str, proposal: Proposal, number: str) -> RunPlan | None:
    """One run calculated as proposed; None where it is cancelled, or nothing of it changes."""
    row = proposals.run_named(view, number)
    if row["state"] == "cancelled" and number not in proposal.own:
        return None
    put_right = corrections_of(view, row)
    corrections = proposal.own.get(number) or put_right
    worked = worked_again(view, known, row, corrections, proposal.instead, ledger=ledger, anew=proposal.anew)
    if isinstance(worked, tuple):
        raise Stopped(*_locked(row), *_unfit(number, worked))
    old = bases_at(view, number, row["bound"], row["work"], row["bench"])
    found = compared(old, _new_bases(view, proposal, row, worked))
    before = load(view, RunWork, row["work"])
    same = not found.changed and before == worked.work and record_digest(worked.run) == row["bound"]
    if same and number not in proposal.own:
        return None
    if locked := _locked(row):
        raise Stopped(*locked)
    if same and corrections == put_right:  # a statement about the run is its own entry, whatever it calculates
        return None
    becomes = decide(RUN, "correct", Situation(f"run {number}", row["state"]), "")
    if isinstance(becomes, Refusal):
        raise Stopped(becomes)
    _require_curve_kept(view, row, before, worked)
    effect = RunEffect(
        run=number,
        version=int(row["version"]),
        state=row["state"],
        becomes=becomes,
        manifest=row["reviewed_manifest"],
        changed=len(found.changed),
        untouched=len(found.untouched),
        checks=check_changes(before.checks, worked.work.checks),
    )
    return RunPlan(row, worked, corrections, found, effect)


def _new_bases(view: Reading, proposal: Proposal, row: Row, worked: Worked) -> tuple[ResultBasis, ...]:
    """Bases of what was calculated; proposed rows are not kept yet, so they are lent."""
    instead = proposal.instead
    portions = {
        (one.batch, one.name): instead.portions.get((one.batch, one.name)) or load(view, Portion, one.record)
        for one in worked.bench.portions
    }
    lots = {one.name: instead.lots.get(one.name) or load(view, StandardLot, one.record) for one in worked.bench.lots}
    in_order = [lots[name] for name in worked.run.standard_lots]
    return bases_of(row["run"], worked.run, worked.work, portions, in_order)


def _locked(row: Row) -> tuple[Refusal, ...]:
    """A run under review, or cancelled, is not changed: it stands in the way of what would change something of it."""
    state = row["state"]
    if state not in {"submitted", "cancelled"}:
        return ()
    remedy = "The reviewer returns it first: `benchseal run return`." if state == "submitted" else "It stays as it is."
    what = f"it is {state}; what it holds is not changed."
    return (Refusal("correction.under-review", str(row["run"]), what, remedy),)


def _unfit(number: str, problems: Sequence[Problem]) -> Iterator[Refusal | Problem]:
    what = "with this correction it cannot be calculated; nothing was changed."
    yield Refusal("correction.run-unfit", number, what, "See the problems named with it; else cancel the run first.")
    yield from problems


def _require_curve_kept(view: Reading, row: Row, before: RunWork, worked: Worked) -> None:
    """Later runs hold a copy of a curve that is lent: it cannot change under them."""
    using = borrowers(view, row)
    if using and before.calibration != worked.work.calibration:
        what = f"{', '.join(using)} {'uses' if len(using) == 1 else 'use'} its curve, which this changes."
        raise Stopped(Refusal("run.lent", str(row["run"]), what, "Cancel what uses it first."))


def _holds(view: Reading, plans: Sequence[RunPlan], lots: Mapping[str, str]) -> Iterator[str]:
    for one in plans:
        for result in to_open(view, one.row["run"], one.worked.run, one.worked.work):
            yield f"{lots.get(result.sample, result.sample)}, {result.element}"


def _investigations(view: Reading, proposal: Proposal) -> Iterator[str]:
    """Those about the lot a sample bears or is to bear, where its lot is what is corrected."""
    if not isinstance(proposal.record, Sample) or all(one.name != "lot" for one in proposal.changes):
        return
    now = view.row("sample", sample=proposal.record.sample)
    if now is None:
        raise AssertionError("a proposal is about a registered sample")
    after = {**now, "lot": proposal.record.row.lot}
    yield from sorted({row["investigation"] for of in (now, after) for row in rows_about(view, "investigation", of)})


def _names(results: Sequence[ResultChange], lots: Mapping[str, str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(lots.get(one.sample, "") or one.sample for one in results))


def _untouched(plans: Sequence[RunPlan], results: Sequence[ResultChange]) -> int:
    """How many samples of the touched runs have no changed result."""
    samples = {result.sample for one in plans for result in one.found.untouched if result.sample}
    return len(samples - {one.sample for one in results})
