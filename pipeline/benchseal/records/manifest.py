"""What a signature on a run holds: digests of parts, not one digest of a container (decision record 0001).

Correcting one mass changes the digests of the results that depend on it, and no others; so only those need
submitting and reviewing again.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from benchseal.records.canonical import Digest
from benchseal.records.results import WorkedResult


@dataclass(frozen=True, slots=True)
class ResultBasis:
    """One result with the digests of all it depends on; its own digest stands in the manifest.

    solutions: block-tree leaves of its portions' solutions. checks: of the calibration and of the laboratory's own
    checks. portions: preparation rows, as far as they are about its element. lots: standard lots. blind: keyed hash
    of result_id, so that nobody can find out by guessing which result a digest stands for.
    """

    schema: Literal["result-basis/1"]
    result: WorkedResult
    solutions: tuple[Digest, ...]
    calibration: Digest
    checks: tuple[Digest, ...]
    portions: tuple[Digest, ...]
    lots: tuple[Digest, ...]
    blind: Digest


@dataclass(frozen=True, slots=True)
class Manifest:
    """What submitting fixes for one version of one run.

    block_root: RFC 6962 root over one salted leaf for each solution, in order, then one for the run's facts.
    results: digests of ``ResultBasis``, in the order of the run's results. supersedes: manifest before, or empty.
    """

    schema: Literal["manifest/1"]
    run: str
    version: int
    calculation_rules: int
    run_document: Digest
    block_root: Digest
    calibration: Digest
    checks: tuple[Digest, ...]
    results: tuple[Digest, ...]
    supersedes: str


@dataclass(frozen=True, slots=True)
class PacketRun:
    """One run of a packet."""

    run: str
    version: int
    manifest: Digest


@dataclass(frozen=True, slots=True)
class Packet:
    """What one signature on one or several runs covers.

    act: ``submit``, ``share``, ``accept``, ``return``, ``cancel``.
    """

    schema: Literal["packet/1"]
    act: str
    runs: tuple[PacketRun, ...]
