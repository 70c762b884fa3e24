"""The sums again, from the results that are shown, by the function the laboratory sums with."""

from __future__ import annotations

from dataclasses import fields
from typing import TYPE_CHECKING

from benchseal.compute.sums import Addend, worked_sum
from benchseal.records.results import NotReportable
from benchseal.verify.parts import run_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.records.evidence import Evidence
    from benchseal.records.sums import WorkedSum


def sum_differences(evidence: Evidence) -> Iterator[str]:
    """Each sum comes out of the results shown as it is stated; each is one the specification asks for."""
    asked = {one.id: one for one in evidence.specification.sums}
    addends = []
    for basis in evidence.results:
        run = run_of(evidence, basis)
        if run is not None:  # else the look at the manifests names it
            addends.append(Addend(basis.result, run.method.uncertainty.coverage_factor))
    for stated in evidence.sums:
        if stated.name not in asked:
            yield f"sum {stated.name}: the specification asks for no such sum."
            continue
        sample = evidence.certificate.sample.sample
        again = worked_sum(evidence.ledger, sample, asked[stated.name], evidence.specification_ref, addends)
        if again != stated:
            yield _difference(stated, again)


def _difference(stated: WorkedSum, again: WorkedSum) -> str:
    if stated.outcome != again.outcome:
        return f"sum {stated.name}: stated is {_said(stated)}, its parts give {_said(again)}."
    names = [field.name for field in fields(again) if getattr(again, field.name) != getattr(stated, field.name)]
    return f"sum {stated.name} comes out otherwise ({', '.join(name.replace('_', ' ') for name in names)})."


def _said(one: WorkedSum) -> str:
    outcome = one.outcome
    return f"no value: {outcome.why}" if isinstance(outcome, NotReportable) else outcome.value_text
