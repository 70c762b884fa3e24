"""Training facts: entered by an approver, or by somebody trained to train for it, never for oneself."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from benchseal.desk.acting import Receipt
from benchseal.desk.late import late_problems, local_moment, note_late
from benchseal.desk.people import somebody
from benchseal.desk.runs import require_reason
from benchseal.desk.trained import facts_of, today
from benchseal.problems import Problem, Refusal, Stopped
from benchseal.records.ids import training_number
from benchseal.records.people import Role
from benchseal.review.training import trainers

if TYPE_CHECKING:
    from benchseal.desk.acting import Acting
    from benchseal.desk.acts_training import AddTraining, WithdrawTraining
    from benchseal.store.protocol import Reading

COMMAND = "training add"


def add_training(acting: Acting, act: AddTraining) -> Receipt:
    """Put one fact on record."""
    person = str(somebody(acting, act.person)["person"])
    if person == acting.first.person:
        what, remedy = "nobody enters their own training.", "Another approver, or whoever trained them, enters it."
        raise Stopped(Refusal("training.own", person, what, remedy))
    now = today(acting.tx, acting.at)
    problems: list[Problem] = []
    subject, version = training_subject(acting.tx, act.subject, problems)
    since, until = (
        _day(option, text, problems) for option, text in (("--since", act.since or now), ("--until", act.until))
    )
    if since and until and since > until:
        what = f"it would end on {until}, before it begins on {since}."
        problems.append(Problem("training.days", COMMAND, what, "Put the days right."))
    if not act.evidence.strip():
        problems.append(
            Problem("training.evidence", COMMAND, "no evidence is named.", "Say what shows it: --evidence.")
        )
    happened = local_moment(acting.tx, since) if since else acting.moment
    problems += late_problems(acting, COMMAND, happened, act.late_because)
    if problems:
        raise Stopped(*problems)
    _require_trainer(acting, act, subject, now)
    count = acting.count("training")
    number = training_number(count)
    entry = acting.write(
        "training.added",
        f"training/{number}",
        facts={
            "count": count,
            "person": person,
            "subject": subject,
            "version": version,
            "since": since,
            "until": until,
            "may_train": act.trainer,
        },
        reason=act.evidence.strip(),
    )
    note_late(acting, entry, f"training/{number}", happened, act.late_because)
    said = f"{number}: {person} is trained for {subject} from {since} to {until}."
    return Receipt((said,), {"training": number, "person": person, "subject": subject, "until": until})


def withdraw_training(acting: Acting, act: WithdrawTraining) -> Receipt:
    """Take a fact back; it counts no more from today on."""
    require_reason(act.reason, "training withdraw")
    row = acting.tx.row("training", training=act.training)
    if row is None:
        what, remedy = "there is no such fact.", "See `benchseal training list`."
        raise Stopped(Refusal("training.unknown", act.training, what, remedy))
    if row["withdrawn_at"]:
        what = f"it was withdrawn at {row['withdrawn_at']}."
        raise Stopped(Refusal("training.withdrawn", act.training, what, "Nothing needs to be done."))
    acting.write("training.withdrawn", f"training/{act.training}", reason=act.reason)
    said = f"{act.training}: {row['person']} is no more trained for {row['subject']} from today on."
    return Receipt((said,), {"training": act.training})


def training_subject(view: Reading, text: str, problems: list[Problem]) -> tuple[str, int]:
    """What is typed as subject in its kept form, and the version of a method; notes a problem where it is none."""
    kind, _, name = text.partition("/")
    name, _, typed = name.partition("@")
    if kind == "role" and name in set(Role) and not typed:
        return f"role/{name}", 0
    if kind == "instrument" and view.row("instrument", instrument=name) is not None and not typed:
        return f"instrument/{name}", 0
    if kind == "method":
        wanted = {"version": typed} if typed else {"state": "approved"}
        row = view.row("document", kind="method", id=name, **wanted)
        if row is not None:
            return f"method/{name}@{row['version']}", int(row["version"])
    what = f"{text!a} is no method in force, no role and no instrument here."
    problems.append(
        Problem("training.subject", COMMAND, what, "Write method/ID, method/ID@2, role/reviewer or instrument/ID.")
    )
    return "", 0


def _require_trainer(acting: Acting, act: AddTraining, subject: str, day: str) -> None:
    who = acting.first
    if Role.APPROVER in who.roles:
        return
    remedy = "An approver enters it, or gives you the training to train with --trainer."
    if act.trainer:
        what = f"{who.person} is no approver; only an approver says who may train."
        raise Stopped(Refusal("training.not-trainer", subject, what, remedy))
    if who.person not in trainers(facts_of(acting.tx, subject=subject), subject, day):
        what = f"{who.person} is no approver and not trained to train for it."
        raise Stopped(Refusal("training.not-trainer", subject, what, remedy))


def _day(option: str, text: str, problems: list[Problem]) -> str:
    try:
        return date.fromisoformat(text).isoformat()
    except ValueError:
        problems.append(Problem("training.days", option, f"{text!a} is no day.", "Write it as 2026-03-02."))
        return ""
