"""Gates of training: asked at the moment of an act, where the rules of the site want training."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.desk.clock import moment_of
from benchseal.desk.late import site_zone
from benchseal.desk.site_rules import rules_in_force
from benchseal.problems import Refusal
from benchseal.records.people import Role
from benchseal.review.training import TrainingFact, trained, trainers

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.store.protocol import Reading, Row


def facts_of(view: Reading, **where: str) -> list[TrainingFact]:
    """Training facts on record, in order."""
    return [_fact(view, row) for row in view.rows("training", **where)]


def today(view: Reading, at: str) -> str:
    """The laboratory's day of an entry time or a UTC time."""
    return moment_of(at).astimezone(site_zone(view)).date().isoformat()


def training_refusals(view: Reading, person: str, subject: str, day: str, where: str) -> Iterator[Refusal]:
    """That ``person`` has no training for ``subject`` on ``day``, and who can enter it; nothing where none is asked."""
    if rules_in_force(view).training != "required":
        return
    facts = facts_of(view, subject=subject)
    if trained(facts, person, subject, day):
        return
    last = max((one.until for one in facts if one.person == person), default="")
    what = f"{person} has no training for {subject} on record for {day}" + (
        f"; the last held until {last}." if last else "."
    )
    able = sorted({*_approvers(view), *trainers(facts, subject, day)} - {person})
    who = f"{' or '.join(able)} can enter it: `benchseal training add`." if able else "Nobody else can enter it yet."
    yield Refusal("training.missing", where, what, who)


def role_refusals(view: Reading, person: str, role: str, at: str, where: str) -> Iterator[Refusal]:
    """That whoever signs as reviewer or approver is not trained for the role."""
    if role in {Role.REVIEWER, Role.APPROVER}:
        yield from training_refusals(view, person, f"role/{role}", today(view, at), where)


def _approvers(view: Reading) -> set[str]:
    active = {row["person"] for row in view.rows("person", active=1)}
    return {row["person"] for row in view.rows("role", role=Role.APPROVER, active=1)} & active


def _fact(view: Reading, row: Row) -> TrainingFact:
    withdrawn = today(view, row["withdrawn_at"]) if row["withdrawn_at"] else ""
    return TrainingFact(
        row["training"], row["person"], row["subject"], row["since"], row["until"], bool(row["may_train"]), withdrawn
    )
