"""Which version of a run each of its results stands in, and what a correction under way still changes.

A run reopened for a correction keeps its last reviewed version in force for every result the correction leaves alone.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.certificate.blocks import block_tree, result_bases
from benchseal.desk.reading import load
from benchseal.ledger.blocks import SECRET_BYTES
from benchseal.records.corrections import RunBench
from benchseal.records.manifest import Manifest, ResultBasis
from benchseal.records.preparation import Portion
from benchseal.records.registers import StandardLot
from benchseal.records.results import RunWork
from benchseal.records.run import Run
from benchseal.review.effects import Compared, compared

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.records.canonical import Digest
    from benchseal.store.protocol import Reading, Row

_NO_SECRET = bytes(SECRET_BYTES)  # two sides compared with each other, and never shown


def portions_in(view: Reading, bench: RunBench) -> dict[tuple[str, str], Portion]:
    """The preparation rows a calculation rested on, by batch and label."""
    return {(one.batch, one.name): load(view, Portion, one.record) for one in bench.portions}


def portions_now(view: Reading, run: str) -> dict[tuple[str, str], Portion]:
    """Every preparation row a run measured, by batch and label, as in force now."""
    found = {}
    for key in view.rows("run_portion", run=run):
        row = view.row("portion", batch=key["batch"], portion=key["portion"])
        if row is not None:
            found[key["batch"], key["portion"]] = load(view, Portion, row["record"])
    return found


def lots_now(view: Reading, run: Run) -> list[StandardLot]:
    """The standard lots a run rests on, in the run's order, as in force now."""
    rows = (view.row("standard_lot", lot=lot) for lot in run.standard_lots)
    return [load(view, StandardLot, row["record"]) for row in rows if row is not None]


def lots_in(view: Reading, bench: RunBench, run: Run) -> list[StandardLot]:
    """The standard lots a calculation rested on, in the run's order."""
    lots = {one.name: one.record for one in bench.lots}
    return [load(view, StandardLot, lots[name]) for name in run.standard_lots]


def bases_of(  # noqa: PLR0913, PLR0917  what a basis is made from
    number: str,
    run: Run,
    work: RunWork,
    portions: dict[tuple[str, str], Portion],
    lots: Sequence[StandardLot],
    secret: bytes = _NO_SECRET,
) -> tuple[ResultBasis, ...]:
    """Each result with the digests of all it rests on; without the run's secret good for comparing only."""
    return result_bases(work, block_tree(number, run, secret), portions, lots, secret)


def bases_at(view: Reading, number: str, bound: Digest, work: Digest, bench: Digest) -> tuple[ResultBasis, ...]:
    """``bases_of`` for a calculation on record."""
    run, rested = load(view, Run, bound), load(view, RunBench, bench)
    return bases_of(number, run, load(view, RunWork, work), portions_in(view, rested), lots_in(view, rested, run))


def reviewed_versions(view: Reading, number: str) -> list[Row]:
    """Every reviewed version of a run, oldest first."""
    return [row for row in view.rows("run_version", run=number) if row["reviewed_packet"]]


def under_way(view: Reading, row: Row) -> Compared | None:
    """What the calculation of now changes against the last reviewed one; None where the run was never reviewed."""
    versions = reviewed_versions(view, row["run"])
    if not versions:
        return None
    last = versions[-1]
    before = bases_at(view, row["run"], last["bound"], last["work"], last["bench"])
    return compared(before, bases_at(view, row["run"], row["bound"], row["work"], row["bench"]))


def stands(view: Reading, row: Row, result_id: str) -> bool:
    """Whether a result of a run's last reviewed version is in force: reviewed, or left alone by its correction."""
    if row["state"] == "reviewed":
        return True
    if not row["correcting"] or row["state"] == "cancelled":
        return False
    found = under_way(view, row)
    return found is not None and result_id not in found.changed_ids


def version_for(view: Reading, number: str, bases: Sequence[Digest]) -> Row:
    """The version of a run a certificate draws on, so that results left alone keep the signatures they have.

    The first that was signed with these results, if what it shows beside them is still so: every check on the
    laboratory's own solutions and on this sample's, and the verdict of those on others'. Else the last reviewed one.
    """
    versions = reviewed_versions(view, number)
    samples = {load(view, ResultBasis, name).result.sample for name in bases}
    shown = _shown_checks(view, versions[-1], samples)
    for row in versions:
        if set(bases) <= set(load(view, Manifest, row["manifest"]).results):
            return row if _shown_checks(view, row, samples) == shown else versions[-1]
    raise AssertionError("the last reviewed version holds what it is asked for")


def _shown_checks(view: Reading, version: Row, samples: set[str]) -> list[tuple[str, object]]:
    """The checks of a version as a certificate of these samples prints them."""
    run, portions = load(view, Run, version["bound"]), portions_in(view, load(view, RunBench, version["bench"]))
    own = {
        position
        for position, key in zip(run.document.solutions.position, run.portion, strict=True)
        if key not in portions or portions[key].sample in {"", *samples}
    }
    return [
        (check.rule, check.verdict if check.made_on_sample and not set(check.positions) <= own else check)
        for check in load(view, RunWork, version["work"]).checks
    ]


def signed_since(view: Reading, number: str) -> dict[Digest, Row]:
    """For each result of a run's last reviewed version: the version since which its signatures hold."""
    found: dict[Digest, Row] = {}
    for row in reviewed_versions(view, number):
        results = load(view, Manifest, row["manifest"]).results
        found = {name: found.get(name, row) for name in results}
    return found
