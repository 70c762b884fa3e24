"""An issued certificate that may stand although something it rests on was corrected: said, and signed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.desk.acting import Receipt, as_json
from benchseal.desk.certificates import allowed
from benchseal.desk.runs import require_reason
from benchseal.problems import Refusal, Stopped
from benchseal.records.canonical import canonical_bytes
from benchseal.records.people import Role
from benchseal.records.signatures import Meaning

if TYPE_CHECKING:
    from benchseal.desk.acting import Acting
    from benchseal.desk.acts_corrections import JustifyCertificate
    from benchseal.store.protocol import Reading, Row

FLAG = "must amend or justify"


def justify_certificate(acting: Acting, act: JustifyCertificate) -> Receipt:
    """Lift the flag of an issued certificate. What was corrected must be reviewed: else nobody knows what it comes to.

    The signature covers the certificate's sealed file, the corrected results as they are reviewed now, and the reason.
    """
    require_reason(act.reason, "certificate justify")
    row = allowed(acting, act.number, "justify")
    if row["flag"] != FLAG:
        what = "nothing it rests on was corrected since it was issued, or that is settled."
        raise Stopped(Refusal("certificate.not-flagged", act.number, what, "Nothing needs to be done."))
    _require_settled(acting.tx, row)
    subject = f"certificate/{act.number}"
    kept = acting.tx.keep(
        canonical_bytes(
            {
                "schema": "justification/1",
                "certificate": act.number,
                "sealed": row["sealed"],
                "reason": act.reason,
                "runs": as_json(
                    [
                        {"run": run["run"], "cited": run["manifest"], "reviewed": now["reviewed_manifest"]}
                        for run, now in _runs(acting.tx, row)
                    ]
                ),
            }
        )
    )
    signature = acting.sign(acting.first, Role.APPROVER, Meaning.APPROVED, subject, version=1, digest=kept)
    acting.write(
        "certificate.justified",
        subject,
        facts={"signature": signature},
        digests={"justification": kept},
        reason=act.reason,
    )
    return Receipt((f"{act.number} stands; why is on record.",), {"number": act.number})


def flagged(view: Reading, sample_row: Row) -> list[Refusal]:
    """Issued certificates of a sample that rest on something corrected since."""
    what = "something it rests on was corrected after it was issued: it must be amended, or justified."
    remedy = "An approver looks at the corrected result, then signs `benchseal certificate justify`, or amends it."
    return [
        Refusal("certificate.flagged", str(row["number"]), what, remedy)
        for row in view.rows("certificate", sample=sample_row["sample"], flag=FLAG)
        if row["state"] in {"sealing", "released"}
    ]


def _require_settled(view: Reading, row: Row) -> None:
    """Raise Stopped while a run it cites is still being corrected."""
    waiting = [f"{now['run']} is {now['state']}" for _, now in _runs(view, row) if now["correcting"]]
    if waiting:
        what = f"{', '.join(waiting)}: what it comes to is not reviewed yet."
        raise Stopped(Refusal("certificate.correction-open", str(row["number"]), what, "Have it reviewed first."))


def _runs(view: Reading, row: Row) -> list[tuple[Row, Row]]:
    cited = view.rows("certificate_run", number=row["number"])
    found = [(one, view.row("run", run=one["run"])) for one in cited]
    return [(one, now) for one, now in found if now is not None]
