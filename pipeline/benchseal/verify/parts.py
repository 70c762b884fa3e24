"""The parts of the evidence against each other: documents, block trees, manifests, bases of results."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.certificate.blocks import leaf_of, result_basis, root_of_leaves
from benchseal.certificate.due import simplified_fault
from benchseal.records.ids import result_id
from benchseal.records.run import PRESENTED_KINDS
from benchseal.records.shape import record_digest
from benchseal.records.species import stated_as

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from benchseal.records.evidence import Evidence, EvidenceRun
    from benchseal.records.manifest import ResultBasis
    from benchseal.records.preparation import Portion
    from benchseal.verify.contents import Case, Faults


def documents(case: Case) -> Faults:
    """Method and specification are the approved versions that are named; sample, customer and standards fit."""
    evidence = case.evidence
    facts, ref = evidence.certificate, evidence.specification_ref
    if record_digest(evidence.specification) != ref.digest or evidence.specification.id != ref.id:
        yield f"the specification shown is not {ref.id} version {ref.version} by its digest."
    if disagreed := simplified_fault(evidence):
        yield disagreed
    if facts.sample.row.specification != ref.id:
        yield f"sample {facts.sample.sample} names specification {facts.sample.row.specification}, shown is {ref.id}."
    if facts.sample.row.customer != facts.customer.customer:
        yield f"sample {facts.sample.sample} is of customer {facts.sample.row.customer}, not {facts.customer.customer}."
    for run in evidence.runs:
        method = run.facts.method
        if record_digest(run.method) != method.digest or run.method.id != method.id:
            yield f"{run.run}: the method shown is not {method.id} version {method.version} by its digest."
        if (run.method.element, run.method.signal_is) != (run.facts.facts.element, run.facts.facts.signal_is):
            yield f"{run.run}: the method shown is for another element or another kind of signal."
    yield from _letterhead(evidence)
    if [(one.id, record_digest(one)) for one in evidence.template] != [
        (ref.id, ref.digest) for ref in evidence.template_ref
    ]:
        yield "the template shown is not the version named, by its digest."
    wanted = {lot for run in evidence.runs for lot in run.facts.standard_lots}
    if wanted != {lot.lot for lot in evidence.standard_lots} or len(wanted) != len(evidence.standard_lots):
        yield "the standard lots shown are not those of the runs."


def _letterhead(evidence: Evidence) -> Iterator[str]:
    """The letterhead is the version named, and the laboratory is the one it names."""
    laboratory = evidence.certificate.laboratory
    named = [(ref.id, ref.digest) for ref in evidence.letterhead_ref]
    if [(one.id, record_digest(one)) for one in evidence.letterhead] != named:
        yield "the letterhead shown is not the version named, by its digest."
    for one in evidence.letterhead:
        if (one.laboratory, one.address) != (laboratory.name, laboratory.address):
            yield f"the letterhead is of {one.laboratory}, the certificate of {laboratory.name}."


def readings(case: Case) -> Faults:
    """Every solution shown is a leaf of its run's block tree, and the tree has the root that was signed."""
    evidence = case.evidence
    numbers = [run.run for run in evidence.runs]
    if len(set(numbers)) != len(numbers):
        yield "a run is shown twice."
    for run in evidence.runs:
        for fault in _tree(run):
            yield f"{run.run}: {fault}"
    for run in evidence.runs:
        for fault in _ownership(run, portions_of(evidence), evidence.certificate.sample.sample):
            yield f"{run.run}: {fault}"
    for portion in evidence.portions:
        if portion.sample not in {"", evidence.certificate.sample.sample}:
            yield f"portion {portion.portion} is of sample {portion.sample}, which this certificate is not about."


def _tree(run: EvidenceRun) -> Iterator[str]:
    facts, count = run.facts, len(run.leaves) - 1
    if (facts.run, facts.solutions) != (run.run, count):
        yield f"its facts speak of {facts.run} with {facts.solutions} solutions, shown are {count} leaves."
    if leaf_of(bytes.fromhex(run.facts_salt), facts) != run.leaves[-1]:
        yield "its facts are not those of its block tree."
    if root_of_leaves(run.leaves) != run.manifest.block_root:
        yield "its leaves do not give the root that was signed."
    last = 0
    for shown in run.clear:
        position = shown.solution.position
        if not last < position <= count:
            yield f"position {position} is out of order."
        elif leaf_of(bytes.fromhex(shown.salt), shown.solution) != run.leaves[position - 1]:
            yield f"position {position} is not what was signed: its readings, label or preparation differ."
        last = max(last, position)


def _ownership(run: EvidenceRun, portions: Mapping[tuple[str, str], Portion], sample: str) -> Iterator[str]:
    """Nothing of another customer is shown, and every prepared solution has its preparation row."""
    for shown in run.clear:
        solution = shown.solution
        key = (solution.batch, solution.portion)
        if key == ("", ""):
            if solution.kind in {"sample", "duplicate", "spiked_sample", "post_spiked_sample"}:
                yield f"position {solution.position} shows a sample without its preparation."
        elif key not in portions:
            yield f"position {solution.position} shows a portion whose preparation is not shown."
        elif portions[key].sample not in {"", sample} and solution.kind in PRESENTED_KINDS:
            yield f"position {solution.position} shows a solution of another sample."


def manifests(case: Case) -> Faults:
    """Calibration, checks and results are those whose digests were signed, and rest on what is shown."""
    evidence = case.evidence
    for run in evidence.runs:
        manifest = run.manifest
        if (manifest.run, manifest.version) != (run.run, run.version):
            yield f"{run.run}: its manifest is of {manifest.run}, version {manifest.version}, not {run.version}."
        if record_digest(run.calibration) != manifest.calibration:
            yield f"{run.run}: its calibration is not the one that was signed."
        if tuple(map(record_digest, run.checks)) != manifest.checks:
            yield f"{run.run}: its checks are not all of those that were signed, in their order."
    seen: set[str] = set()
    for basis in evidence.results:
        stated = stated_as(basis.result.basis, basis.result.expressed_as)
        name = f"{basis.result.element} ({basis.result.quantity.replace('_', ' ')}{stated})"
        if basis.result.result_id in seen:
            yield f"{name} is given twice."
        seen.add(basis.result.result_id)
        for fault in _basis(evidence, basis):
            yield f"{name}: {fault}"
    holders = [run_of(evidence, each) for each in evidence.results]
    idle = [run.run for run in evidence.runs if not any(holder is run for holder in holders)]
    if idle:
        yield f"no result is of {', '.join(idle)}."


def _basis(evidence: Evidence, basis: ResultBasis) -> Iterator[str]:
    result, run = basis.result, run_of(evidence, basis)
    number = result_id(
        evidence.ledger,
        result.sample,
        result.element,
        result.fraction,
        result.basis,
        result.quantity,
        result.expressed_as,
    )
    if result.sample != evidence.certificate.sample.sample:
        yield f"it is of sample {result.sample}."
    if result.result_id != number:
        yield "its identifier is not that of this sample, element, quantity and basis."
    if run is None:
        yield "no run shown holds it: its digest is in none of the manifests that were signed."
        return
    if result.method != run.facts.method or result.specification != evidence.specification_ref:
        yield "it names another method or specification than its run and certificate."
    lots = {lot.lot: lot for lot in evidence.standard_lots}
    again = result_basis(
        result,
        leaves=dict(enumerate(run.leaves[:-1], start=1)),
        calibration=run.calibration,
        checks=run.checks,
        portions=portions_of(evidence),
        lots=[lots[name] for name in run.facts.standard_lots],
        blind=basis.blind,
    )
    if again != basis:
        yield "it does not rest on the solutions, checks, preparation and standards that are shown."


def run_of(evidence: Evidence, basis: ResultBasis) -> EvidenceRun | None:
    """The run whose manifest holds a result."""
    name = record_digest(basis)
    return next((run for run in evidence.runs if name in run.manifest.results), None)


def portions_of(evidence: Evidence) -> dict[tuple[str, str], Portion]:
    """Preparation rows by batch and label."""
    return {(portion.batch, portion.portion): portion for portion in evidence.portions}
