"""Opinions and interpretations: given by an approver on reviewed results, with their basis (ISO/IEC 17025, 7.8.7)."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.desk.acting import Receipt
from benchseal.desk.gathering import look
from benchseal.desk.reading import sample_of_lot
from benchseal.desk.runs import require_reason
from benchseal.problems import Problem, Refusal, Stopped
from benchseal.records.opinions import Opinion
from benchseal.records.people import Role
from benchseal.records.said import some
from benchseal.records.shape import record_bytes
from benchseal.records.signatures import Meaning

if TYPE_CHECKING:
    from benchseal.desk.acting import Acting
    from benchseal.desk.acts_opinions import GiveOpinion, WithdrawOpinion


def give_opinion(acting: Acting, act: GiveOpinion) -> Receipt:
    """Sign an opinion on the results of a lot that are reviewed now. The next draft of its certificate prints it."""
    lacking = [
        Problem("opinion.empty", f"--{name}", f"the {name} is empty.", "Say the opinion, and what it is based on.")
        for name, text in (("text", act.text), ("basis", act.basis))
        if not text.strip()
    ]
    if lacking:
        raise Stopped(*lacking)
    row = sample_of_lot(acting.tx, act.lot)
    sample = str(row["sample"])
    _, found = look(acting.tx, row)
    if not found:
        what = "no result of it is reviewed: there is nothing an opinion could be about."
        raise Stopped(Refusal("opinion.no-results", f"lot {row['lot']}", what, "Have its runs reviewed first."))
    count = acting.count("opinion")
    record = Opinion(
        schema="opinion/1",
        opinion=f"O-{count:04d}",
        sample=sample,
        person=acting.first.person,
        text=act.text.strip(),
        basis=act.basis.strip(),
        results=tuple(dict.fromkeys(one.basis for one in found)),
    )
    kept, subject = acting.tx.keep(record_bytes(record)), f"opinion/{record.opinion}"
    signature = acting.sign(acting.first, Role.APPROVER, Meaning.APPROVED, subject, version=1, digest=kept)
    facts = {"count": count, "sample": sample, "lot": row["lot"], "signature": signature}
    acting.write("opinion.given", subject, facts=facts, digests={"opinion": kept})
    said = f"{record.opinion} is given on {some(len(record.results), 'result')} of lot {row['lot']}."
    return Receipt((said, "A certificate drafted from now on prints it."), {"opinion": record.opinion})


def withdraw_opinion(acting: Acting, act: WithdrawOpinion) -> Receipt:
    """Take an opinion back. What was printed with it stays printed; a draft with it has to be drafted again."""
    require_reason(act.reason, "opinion withdraw")
    row = acting.tx.row("opinion", opinion=act.opinion)
    if row is None or row["state"] != "given":
        what = "there is no such opinion." if row is None else "it was taken back before."
        raise Stopped(Refusal("opinion.unknown", act.opinion, what, "See `benchseal opinion list`."))
    acting.write("opinion.withdrawn", f"opinion/{act.opinion}", reason=act.reason)
    return Receipt((f"{act.opinion} is withdrawn.",), {"opinion": act.opinion})
