"""One certificate's life up to release: draft, approve, return, discard, sign the release.

Sealing, which follows a signed release and needs no password, is in ``sealing.py``.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.certificate.evidence import content_bytes, with_signatures
from benchseal.certificate.wording import WORDING
from benchseal.desk.acting import Receipt, as_json
from benchseal.desk.asked import already, of_original
from benchseal.desk.drafting import gather
from benchseal.desk.exceptions import exceptions_in_force
from benchseal.desk.gathering import look_for
from benchseal.desk.given_opinions import opinions_of
from benchseal.desk.investigation_patterns import of_lot
from benchseal.desk.printed_by import (
    require_customer_unchanged,
    require_letterhead_unchanged,
    require_template_unchanged,
)
from benchseal.desk.reading import load, read_signature, sample_of_lot
from benchseal.desk.rehearsing import rehearse
from benchseal.desk.reportable import require_still_reportable
from benchseal.desk.runs import require_reason, run_contributors
from benchseal.desk.seal_in_force import require_seal_valid
from benchseal.desk.series import require_series
from benchseal.desk.signers import require_signers_printable, signatures_of_packets
from benchseal.desk.standing import stands
from benchseal.desk.sums import sum_lines
from benchseal.desk.trail import require_trails_reviewed
from benchseal.problems import Finding, Refusal, Stopped
from benchseal.records.evidence import Evidence
from benchseal.records.manifest import Manifest
from benchseal.records.people import Role
from benchseal.records.registers import Sample
from benchseal.records.results import CALCULATION_RULES
from benchseal.records.said import some
from benchseal.records.shape import record_bytes, record_digest
from benchseal.records.signatures import Meaning
from benchseal.review.cycles import CERTIFICATE, decide
from benchseal.review.duty import Situation

if TYPE_CHECKING:
    from benchseal.desk.acting import Acting
    from benchseal.desk.acts_certificates import (
        ApproveCertificate,
        DiscardCertificate,
        DraftCertificate,
        ReleaseCertificate,
        ReturnCertificate,
    )
    from benchseal.desk.drafting import Gathered
    from benchseal.records.evidence import EvidenceRun
    from benchseal.records.signatures import Signature
    from benchseal.store.protocol import Reading, Row


def draft_certificate(acting: Acting, act: DraftCertificate) -> Receipt:
    """Gather the reviewed results of a lot and reserve a number. Raises Stopped with every blocker."""
    view = acting.tx
    sample_row = sample_of_lot(view, act.lot)
    asked = of_original(view, sample_row)
    if refusals := already(view, sample_row):
        raise Stopped(*refusals, *look_for(view, sample_row, asked, act.comment)[0])
    return write_draft(acting, gather(acting, sample_row, asked, act.comment, simplified=act.simplified))


def write_draft(acting: Acting, gathered: Gathered) -> Receipt:
    """Put a draft on record, its number reserved."""
    facts = gathered.content.certificate
    content = acting.tx.keep(content_bytes(gathered.content))
    acting.write(
        "certificate.drafted",
        f"certificate/{facts.number}",
        facts={
            "kind": facts.kind,
            "sample": facts.sample.sample,
            "lot": facts.sample.row.lot,
            "customer": facts.customer.customer,
            "first": facts.first,
            "replaces": facts.replaces,
            "year": gathered.year,
            "count": gathered.count,
            "runs": as_json(
                [
                    {"run": run.run, "version": run.version, "manifest": record_digest(run.manifest)}
                    for run in gathered.content.runs
                ]
            ),
        },
        digests={"content": content},
    )
    seen = [f"Look first: {one.where}: {one.what}" for one in of_lot(acting.tx, facts.sample.sample)]
    what = f"{facts.number} is drafted for lot {facts.sample.row.lot}: {some(len(gathered.content.results), 'result')}"
    said = (
        f"{what}, {facts.conclusion}.",
        *sum_lines(gathered.content.sums),
        *seen,
        "An approver who had no part in its runs can now approve it.",
    )
    return Receipt(said, {"number": facts.number, "content": content, "conclusion": facts.conclusion})


def discard_certificate(acting: Acting, act: DiscardCertificate) -> Receipt:
    """Give up a draft."""
    require_reason(act.reason, "certificate discard")
    allowed(acting, act.number, "discard")
    acting.write("certificate.discarded", f"certificate/{act.number}", reason=act.reason)
    return Receipt((f"{act.number} is discarded. The number is not used again.",), {"number": act.number})


def approve_certificate(acting: Acting, act: ApproveCertificate) -> Receipt:
    """Sign the content. What it rests on must still be what it was when it was drafted."""
    row = allowed(acting, act.number, "approve")
    _require_unchanged(acting.tx, row)
    require_still_reportable(acting.tx, row)
    rehearse(load(acting.tx, Evidence, row["content"]))
    require_trails_reviewed(acting.tx, [one["run"] for one in acting.tx.rows("certificate_run", number=act.number)])
    subject = f"certificate/{act.number}"
    signature = acting.sign(acting.first, Role.APPROVER, Meaning.APPROVED, subject, version=1, digest=row["content"])
    acting.write("certificate.approved", subject, facts={"signature": signature}, digests={"content": row["content"]})
    require_signers_printable(signatures_for(acting.tx, row))  # what it refuses, undoes this
    return Receipt((f"{act.number} is approved. It can now be released.",), {"number": act.number})


def return_certificate(acting: Acting, act: ReturnCertificate) -> Receipt:
    """Take an approval back; the certificate is a draft again."""
    require_reason(act.reason, "certificate return")
    row = allowed(acting, act.number, "return")
    subject = f"certificate/{act.number}"
    signature = acting.sign(acting.first, Role.APPROVER, Meaning.RETURNED, subject, version=1, digest=row["content"])
    acting.write("certificate.returned", subject, facts={"signature": signature}, reason=act.reason)
    return Receipt((f"{act.number} is a draft again.",), {"number": act.number})


def release_certificate(acting: Acting, act: ReleaseCertificate) -> Receipt:
    """Fix the evidence and sign the release; from here sealing can be resumed without a password."""
    row = allowed(acting, act.number, "release")
    require_seal_valid(acting.site, acting.tx, act.number, acting.moment)
    _require_unchanged(acting.tx, row)
    require_still_reportable(acting.tx, row)
    content = load(acting.tx, Evidence, row["content"])
    signed = with_signatures(content, signatures_for(acting.tx, row))
    kept = acting.tx.keep(record_bytes(signed))
    subject = f"certificate/{act.number}"
    signature = acting.sign(acting.first, Role.APPROVER, Meaning.RELEASED, subject, version=1, digest=kept)
    acting.write("certificate.sealing", subject, facts={"signature": signature}, digests={"evidence": kept})
    release = read_signature(acting.tx.rows("signature", digest=kept)[0])
    require_signers_printable([release])  # what it refuses, undoes this
    rehearse(signed, release)  # and so does this
    return Receipt((f"The release of {act.number} is signed.",), {"number": act.number, "evidence": kept})


def allowed(acting: Acting, number: str, step: str) -> Row:
    """The certificate's row, if the person acting may do ``step`` now. Raises Stopped."""
    row = acting.tx.row("certificate", number=number)
    if row is None:
        raise Stopped(
            Refusal("certificate.unknown", number, "there is no such certificate.", "See `benchseal certificate list`.")
        )
    decided = decide(CERTIFICATE, step, _situation(acting, row), acting.first.person)
    if isinstance(decided, Refusal):
        raise Stopped(decided)
    return row


def signatures_for(view: Reading, row: Row) -> list[Signature]:
    """Signatures the evidence holds: performed and reviewed on its runs' packets, approved on its content."""
    content = load(view, Evidence, row["content"])
    approved = view.rows("signature", digest=row["content"], meaning=Meaning.APPROVED.value)
    return [*signatures_of_packets(view, content), *map(read_signature, approved)]


def _situation(acting: Acting, row: Row) -> Situation:
    """Who contributed and who reviewed; an exception in force that the certificate prints lets its reviewer through."""
    view = acting.tx
    contributors: dict[str, tuple[str, ...]] = {}
    checkers: dict[str, tuple[str, ...]] = {}
    for run in view.rows("certificate_run", number=row["number"]):
        contributors.update(run_contributors(view, run["run"]))
    for entry in view.rows("contribution", subject=f"sample/{row['sample']}", act="change"):
        contributors[entry["person"]] = (*contributors.get(entry["person"], ()), "change")
    content = load(view, Evidence, row["content"])
    for packet in content.packets:
        for signed in view.rows("signature", digest=record_digest(packet), meaning=Meaning.REVIEWED.value):
            checkers[signed["person"]] = ("review",)
    held = exceptions_in_force(view, acting.site, acting.moment, "reviewer_is_approver")
    for signed_by_two in content.exceptions:
        record = signed_by_two.exception
        if held.get(record.person, {}).get("exception") == record.exception:
            checkers.pop(record.person, None)
    return Situation(f"certificate {row['number']}", row["state"], contributors, checkers)


def _require_unchanged(view: Reading, row: Row) -> None:
    """Results cited and sample still are as drafted, and this program prints and calculates as the one that did it."""
    content = load(view, Evidence, row["content"])
    drafted, here = (content.wording, content.calculation_rules), (WORDING, CALCULATION_RULES)
    if drafted != here:
        what = f"it was drafted with wording and calculation rules {drafted}, this program has {here}."
        raise Stopped(
            Finding("certificate.program-changed", row["number"], what, "Discard this draft and draft it again.")
        )
    where, remedy = str(row["number"]), "Discard this draft and draft the certificate again once all is reviewed."
    sample = view.row("sample", sample=row["sample"])
    if sample is None or load(view, Sample, sample["record"]) != content.certificate.sample:
        what = f"what is recorded of sample {row['sample']} changed since the certificate was drafted."
        raise Stopped(Finding("certificate.sample-changed", where, what, remedy))
    require_customer_unchanged(view, content)
    if content.opinions != opinions_of(view, row["sample"]):
        what = f"an opinion on sample {row['sample']} was given or withdrawn since the certificate was drafted."
        raise Stopped(Finding("certificate.opinions-changed", where, what, remedy))
    require_letterhead_unchanged(view, content)
    require_template_unchanged(view, content)
    changed = [run.run for run in content.runs if not _as_reviewed(view, content, run)]
    if changed:
        what = f"{', '.join(changed)} changed since the certificate was drafted."
        raise Stopped(Finding("certificate.run-changed", where, what, remedy))
    require_series(view, content)


def _as_reviewed(view: Reading, content: Evidence, run: EvidenceRun) -> bool:
    """Whether every result a certificate cites of a run is in force by the same digest."""
    now = view.row("run", run=run.run)
    if now is None or not now["reviewed_manifest"]:
        return False
    in_force = set(load(view, Manifest, now["reviewed_manifest"]).results)
    cited = {record_digest(basis): basis for basis in content.results}
    own = {name: basis for name, basis in cited.items() if name in run.manifest.results}
    return set(own) <= in_force and all(stands(view, now, basis.result.result_id) for basis in own.values())
