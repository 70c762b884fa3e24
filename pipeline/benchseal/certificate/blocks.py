"""A run cut into parts that can be shown apart: its block tree, the bases of its results, and the manifest.

Made at submit by the desk, made again by ``verify`` from what the evidence shows; pure in both places.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from benchseal.ledger.blocks import blind, held_tree, position_salt, salted_leaf
from benchseal.records.evidence import LeafFacts, LeafReading, LeafSolution
from benchseal.records.manifest import Manifest, ResultBasis
from benchseal.records.results import CALCULATION_RULES
from benchseal.records.shape import record_bytes, record_digest

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from benchseal.records.canonical import Digest
    from benchseal.records.preparation import Portion
    from benchseal.records.registers import StandardLot
    from benchseal.records.results import Calibration, CheckVerdict, RunWork, WorkedPortion, WorkedResult
    from benchseal.records.run import Run

FACTS_PLACE = "facts"


@dataclass(frozen=True, slots=True)
class Blocks:
    """The block tree of one run: for each solution in order its content and salt, then the facts.

    leaves: hexadecimal, the facts' leaf last. root: over all leaves.
    """

    solutions: tuple[LeafSolution, ...]
    salts: tuple[Digest, ...]
    facts: LeafFacts
    facts_salt: Digest
    leaves: tuple[Digest, ...]
    root: Digest


def block_tree(run_id: str, run: Run, secret: bytes) -> Blocks:
    """Cut a run into salted leaves. ``secret``: the run's own 32 bytes, known to the site alone."""
    solutions = leaf_solutions(run)
    facts = leaf_facts(run_id, run)
    salts = [position_salt(secret, str(solution.position)) for solution in solutions]
    facts_salt = position_salt(secret, FACTS_PLACE)
    leaves = [leaf_of(salt, solution) for salt, solution in zip(salts, solutions, strict=True)]
    leaves.append(leaf_of(facts_salt, facts))
    return Blocks(
        solutions,
        tuple(salt.hex() for salt in salts),
        facts,
        facts_salt.hex(),
        tuple(leaves),
        root_of_leaves(leaves),
    )


def leaf_of(salt: bytes, content: LeafSolution | LeafFacts) -> Digest:
    """Leaf of one solution or of the facts."""
    return salted_leaf(salt, record_bytes(content)).hex()


def root_of_leaves(leaves: Sequence[Digest]) -> Digest:
    """RFC 6962 root over the leaves in order."""
    return held_tree([bytes.fromhex(leaf) for leaf in leaves]).root.hex()


def leaf_solutions(run: Run) -> tuple[LeafSolution, ...]:
    """Each solution of a run as the block tree holds it."""
    solutions = run.document.solutions
    made = []
    for place, position in enumerate(solutions.position):
        first = solutions.first_reading[place]
        rows = range(first, first + solutions.reading_count[place])
        batch, portion = run.portion[place]
        made.append(
            LeafSolution(
                position=position,
                label=solutions.label[place],
                kind=solutions.kind[place],
                nominal=solutions.nominal[place],
                dilution=solutions.dilution[place],
                batch=batch,
                portion=portion,
                readings=tuple(_leaf_reading(run, row) for row in rows),
            )
        )
    return tuple(made)


def _leaf_reading(run: Run, row: int) -> LeafReading:
    """One reading, with what a method needs to be calculated again only where it needs it.

    Its background where that is judged, its time where signals are corrected for drift along time.
    """
    readings, judged = run.document.readings, run.method.conditions.largest_background
    timed = run.method.drift.largest_percent and not run.clock_changed
    return LeafReading(
        replicate=readings.replicate[row],
        line=readings.line[row],
        signal=readings.signal[row],
        flag=readings.flag[row],
        background=readings.background[row] if judged else "",
        taken_at=readings.taken_at[row] if timed else "",
    )


def leaf_facts(run_id: str, run: Run) -> LeafFacts:
    """The run's facts as the block tree holds them."""
    document = run.document
    return LeafFacts(
        run=run_id,
        source_sha256=document.source_sha256,
        layout=document.layout,
        method=run.method_ref,
        facts=document.facts,
        instrument=run.instrument,
        measured_at=run.measured_at,
        standard_lots=run.standard_lots,
        solutions=len(document.solutions.position),
        stored_curve=run.stored_curve,
    )


def result_basis(  # noqa: PLR0913  everything a result rests on, by name
    result: WorkedResult,
    *,
    leaves: Mapping[int, Digest],
    calibration: Calibration,
    checks: Sequence[CheckVerdict],
    portions: Mapping[tuple[str, str], Portion],
    lots: Sequence[StandardLot],
    blind: Digest,
) -> ResultBasis:
    """One result with the digests of all it depends on. leaves: by position, at least those of its portions.

    Checks made on customers' samples are left out: a result does not rest on them, and they may be somebody else's. Of
    a preparation row counts what it says of this element: correcting the dilution for another one changes nothing here.
    """
    own = [check for check in checks if not check.made_on_sample]
    measured = [portion for portion in result.portions if portion.position]
    return ResultBasis(
        schema="result-basis/1",
        result=result,
        solutions=tuple(dict.fromkeys(leaves[position] for position in _rests_on(measured))),
        calibration=record_digest(calibration),
        checks=tuple(record_digest(check) for check in own),
        portions=tuple(record_digest(portions[row.batch, row.portion].only(result.element)) for row in result.portions),
        lots=tuple(record_digest(lot) for lot in lots),
        blind=blind,
    )


def _rests_on(portions: Sequence[WorkedPortion]) -> Iterator[int]:
    """Their own solutions, then the standards between which some were read and the checks some were corrected by."""
    yield from (position for portion in portions for position in portion.positions)
    yield from (position for portion in portions for position in portion.standards)


def result_bases(
    work: RunWork,
    blocks: Blocks,
    portions: Mapping[tuple[str, str], Portion],
    lots: Sequence[StandardLot],
    secret: bytes,
) -> tuple[ResultBasis, ...]:
    """The basis of every result of a run, in order."""
    leaves = {solution.position: leaf for solution, leaf in zip(blocks.solutions, blocks.leaves, strict=False)}
    return tuple(
        result_basis(
            result,
            leaves=leaves,
            calibration=work.calibration,
            checks=work.checks,
            portions=portions,
            lots=lots,
            blind=blind(secret, result.result_id),
        )
        for result in work.results
    )


def run_manifest(  # noqa: PLR0913, PLR0917  the parts a manifest names
    run_id: str, version: int, run: Run, work: RunWork, blocks: Blocks, bases: Sequence[ResultBasis], supersedes: str
) -> Manifest:
    """What submitting fixes."""
    return Manifest(
        schema="manifest/1",
        run=run_id,
        version=version,
        calculation_rules=CALCULATION_RULES,
        run_document=record_digest(run.document),
        block_root=blocks.root,
        calibration=record_digest(work.calibration),
        checks=tuple(record_digest(check) for check in work.checks),
        results=tuple(record_digest(basis) for basis in bases),
        supersedes=supersedes,
    )
