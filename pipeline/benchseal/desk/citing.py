"""Certificates that cite results of a run: found when the results become others, and told what that means for them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.desk.reading import load
from benchseal.problems import Refusal, Stopped
from benchseal.records.corrections import CertificateEffect
from benchseal.records.evidence import Evidence
from benchseal.records.shape import record_digest
from benchseal.review.cycles import CERTIFICATE, decide
from benchseal.review.duty import Situation

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from benchseal.desk.acting import Acting
    from benchseal.records.canonical import Digest
    from benchseal.store.protocol import Reading, Row

_NOT_RELEASED = frozenset({"draft", "approved"})
_IN_FORCE = _NOT_RELEASED | {"sealing", "released"}


def touched(
    view: Reading, changed: Mapping[str, frozenset[str]], sample: str = "", drafts_of: str = ""
) -> Iterator[CertificateEffect]:
    """Certificates in force that cite a changed result, or are of the sample named.

    changed: run to identifiers of results. drafts_of: a customer whose certificates not yet released are taken too.
    """
    for row in view.rows("certificate"):
        if row["state"] not in _IN_FORCE:
            continue
        own_draft = drafts_of and row["customer"] == drafts_of and row["state"] in _NOT_RELEASED
        if own_draft or (sample and row["sample"] == sample) or _cites(view, row, changed):
            signed = row["state"] in {"sealing", "released"}
            yield CertificateEffect(row["number"], row["state"], "must amend or justify" if signed else "draft again")


def touch(acting: Acting, effect: CertificateEffect, digests: dict[str, Digest], reason: str) -> None:
    """A draft or an approved certificate is drafted again; an issued one is flagged and stays as it is."""
    state = decide(CERTIFICATE, "touch", Situation(f"certificate {effect.number}", effect.state), "")
    if isinstance(state, Refusal):
        raise Stopped(state)
    acting.write(
        "certificate.touched",
        f"certificate/{effect.number}",
        facts={"was": effect.state, "state": state, "flag": effect.becomes},
        digests=digests,
        reason=reason,
    )


def _cites(view: Reading, row: Row, changed: Mapping[str, frozenset[str]]) -> bool:
    cited = [one["run"] for one in view.rows("certificate_run", number=row["number"]) if changed.get(one["run"])]
    if not cited:
        return False
    content = load(view, Evidence, row["content"])
    results = {record_digest(basis): basis.result.result_id for basis in content.results}
    return any(
        results[name] in changed[run.run]
        for run in content.runs
        if run.run in cited
        for name in run.manifest.results
        if name in results
    )
