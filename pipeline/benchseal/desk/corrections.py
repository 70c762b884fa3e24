"""Corrections done: what a person was shown, no more and no less, in one transaction."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.desk.acting import Acting, Receipt, as_json
from benchseal.desk.acts_corrections import (
    Correct,
    CorrectCustomer,
    CorrectPreparation,
    CorrectSample,
    CorrectStandard,
    ExcludePositions,
    NoteNotMeasured,
    RejudgeRun,
    RelabelPositions,
)
from benchseal.desk.citing import touch
from benchseal.desk.correcting import Plan, Wanted, plan
from benchseal.desk.exceedances import Noted, note_results
from benchseal.desk.intake import kept_work, portions_of_run
from benchseal.desk.preliminary_told import holders_of
from benchseal.desk.runs import require_reason
from benchseal.desk.trained import today, training_refusals
from benchseal.problems import Refusal, Stopped
from benchseal.records.corrections import EFFECT_FIGURES
from benchseal.records.people import Role
from benchseal.records.preparation import Portion
from benchseal.records.registers import Customer, Sample
from benchseal.records.shape import plain_of, record_bytes
from benchseal.records.signatures import Meaning

if TYPE_CHECKING:
    from benchseal.desk.correcting import RunPlan
    from benchseal.records.canonical import Json
    from benchseal.records.corrections import CertificateEffect

KINDS: dict[type[Correct], str] = {
    CorrectPreparation: "preparation",
    CorrectStandard: "standard",
    CorrectSample: "sample",
    CorrectCustomer: "customer",
    RelabelPositions: "relabel",
    ExcludePositions: "exclude",
    NoteNotMeasured: "not_measured",
    RejudgeRun: "rejudge",
}


def wanted_by(act: Correct) -> Wanted:
    """The correction an act asks for."""
    return Wanted(KINDS[type(act)], act.subject, act.sets, act.reason)


def correct(acting: Acting, act: Correct) -> Receipt:
    """Do one correction. Raises Stopped where its effect is not the one that was shown."""
    require_reason(act.reason, act.subject)
    made = plan(acting.tx, acting.site.ledger, acting.at, wanted_by(act))
    _require_shown(made, act)
    _require_consent(acting, made)
    _require_trained(acting, made)
    effect = acting.tx.keep(record_bytes(made.effect))
    _write_record(acting, act, made, effect)
    _sign(acting, act, effect)
    noted = [_write_run(acting, act, one, made) for one in made.runs]
    for certificate in made.effect.certificates:
        touch(acting, certificate, {"effect": effect}, act.reason)
    said = [f"{made.effect.subject} is corrected: {_counted(len(made.effect.results))} changed."]
    said += [f"{one.run} is {one.becomes}." for one in made.effect.runs]
    said += [_told(one) for one in made.effect.certificates]
    said += [line for one in noted for line in one.said]
    said += holders_of(acting.tx, {one.result_id for one in made.effect.results})
    data: dict[str, Json] = {"effect": plain_of(made.effect), "figures": made.figures, "done": True}
    return Receipt(tuple(said), data, tuple(notice for one in noted for notice in one.notices))


def _counted(results: int) -> str:
    return {0: "no result", 1: "1 result"}.get(results, f"{results} results")


def _told(one: CertificateEffect) -> str:
    """What to do with a certificate: a draft stands in the way of another until it is discarded."""
    if one.becomes != "draft again":
        return f"{one.number}: {one.becomes}."
    discard = f"`benchseal certificate discard {one.number}`"
    return f"{one.number} no longer fits: discard it ({discard}), then draft it again once all is reviewed."


def _require_shown(made: Plan, act: Correct) -> None:
    if len(act.effect) < EFFECT_FIGURES:
        what = "what it changes was not seen first."
        remedy = f"Ask for it without --effect, then give the {EFFECT_FIGURES} figures it ends with."
        raise Stopped(Refusal("correction.effect-unseen", act.subject, what, remedy))
    if act.effect != made.figures:
        what = f"it would now change something else: shown was {act.effect}, it is {made.figures}."
        raise Stopped(Refusal("correction.effect-changed", act.subject, what, "Look at the effect again."))


def _require_consent(acting: Acting, made: Plan) -> None:
    if not made.effect.needs_consent:
        return
    if len(acting.who) == 1:
        what = "something signed loses its force by it, or an investigation is about the lot."
        remedy = "A reviewer or approver consents: give a second user id and password."
        raise Stopped(Refusal("correction.consent-needed", made.effect.subject, what, remedy))
    if acting.who[0].person == acting.who[1].person:
        what = "the analyst and the person who consents are the same."
        raise Stopped(Refusal("duty.same-checker", made.effect.subject, what, "A second person has to consent."))


def _require_trained(acting: Acting, made: Plan) -> None:
    """Where the site asks for training: whoever corrects is trained for the method of every run it changes."""
    person, day = acting.first.person, today(acting.tx, acting.at)
    refusals = [
        refusal
        for one in made.runs
        for refusal in training_refusals(
            acting.tx,
            person,
            f"method/{one.worked.run.method_ref.id}@{one.worked.run.method_ref.version}",
            day,
            f"run {one.row['run']}",
        )
    ]
    if refusals:
        raise Stopped(*dict.fromkeys(refusals))


def _write_record(acting: Acting, act: Correct, made: Plan, effect: str) -> None:
    """The entry of a corrected row; what is put right in a run stands in that run's own entry."""
    record = made.proposal.record
    if record is None:
        return
    facts: dict[str, Json] = {"changes": as_json([plain_of(one) for one in made.effect.changes])}
    if isinstance(record, Portion):
        kind, row = "preparation.corrected", acting.tx.row("portion", batch=record.batch, portion=record.portion)
        facts |= {"batch": record.batch, "portion": record.portion, "sample": record.sample}
        facts |= {"prepared_by": record.prepared_by, "version": int(row["version"]) + 1 if row else 1}
    elif isinstance(record, Sample):
        kind = "sample.corrected"
        facts |= {"lot": record.row.lot, "product": record.row.product}
    elif isinstance(record, Customer):
        kind = "customer.corrected"
        facts |= {"name": record.name}
    else:
        kind = "standard_lot.corrected"
    digests = {"record": acting.tx.keep(record_bytes(record)), "effect": effect}
    acting.write(kind, made.effect.subject, facts=facts, digests=digests, reason=act.reason)


def _sign(acting: Acting, act: Correct, effect: str) -> None:
    """Analyst and, where needed, whoever consents sign the effect they were shown."""
    subject = f"correction/{effect[:EFFECT_FIGURES]}"
    for who, kind in zip(acting.who, ("correction.made", "correction.consented"), strict=False):
        role, meaning = Role.ANALYST, Meaning.PERFORMED
        if kind == "correction.consented":
            role = Role.REVIEWER if Role.REVIEWER in who.roles else Role.APPROVER
            meaning = Meaning.RETURNED
        signature = acting.sign(who, role, meaning, subject, version=1, digest=effect)
        acting.write(
            kind,
            subject,
            facts={"signature": signature},
            digests={"effect": effect},
            reason=act.reason,
            actor=who.person,
        )


def _write_run(acting: Acting, act: Correct, one: RunPlan, made: Plan) -> Noted:
    number = one.effect.run
    own = isinstance(act, RelabelPositions | ExcludePositions | NoteNotMeasured)
    changes = made.effect.changes if own or isinstance(act, RejudgeRun) else ()
    digests = {**kept_work(acting, one.worked), "effect": acting.tx.keep(record_bytes(made.effect))}
    if own:
        digests["corrections"] = acting.tx.keep(record_bytes(one.corrections))
    acting.write(
        "run.corrected",
        f"run/{number}",
        facts={
            "act": "exclude" if isinstance(act, ExcludePositions) else "change",
            "state": one.effect.becomes,
            "correcting": int(one.row["state"] == "reviewed" or bool(one.row["correcting"])),
            "changes": as_json([plain_of(change) for change in changes]),
            "portions": portions_of_run(one.worked),
        },
        digests=digests,
        reason=act.reason,
    )
    return note_results(acting, number, one.worked.run, one.worked.work)
