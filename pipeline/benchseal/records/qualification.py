"""What a qualification says: the installation as it was found, and each test with what was due and what came out.

It holds no time and no path, so that the same installation gives the same bytes again: the figures that are signed are
those of the report somebody looked at. When and by whom stands in its entries.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

from benchseal.records.canonical import Digest, canonical_bytes, digest
from benchseal.records.shape import plain_of

Part: TypeAlias = Literal["installation", "operation", "own examples"]
TestOutcome: TypeAlias = Literal["passed", "failed", "left out"]
Verdict: TypeAlias = Literal["passed", "failed", "incomplete"]


@dataclass(frozen=True, slots=True)
class InstalledFile:
    """One file that came with the program: its name inside the package, SHA-256 of its bytes."""

    name: str
    sha256: Digest


@dataclass(frozen=True, slots=True)
class InstalledPackage:
    """One library the program stands on. sha256: of the list of its files, as it was installed; empty without one."""

    name: str
    version: str
    sha256: str


@dataclass(frozen=True, slots=True)
class Installation:
    """What is installed here. lock_sha256: of the lock file that came with the program."""

    program: str
    calculation_rules: int
    python: str
    system: str
    lock_sha256: str
    files: tuple[InstalledFile, ...]
    packages: tuple[InstalledPackage, ...]

    @property
    def figures(self) -> Digest:
        """Its digest: another program, library, Python or machine gives another one."""
        return digest(canonical_bytes(plain_of(self)))


@dataclass(frozen=True, slots=True)
class QualificationTest:
    """One test. asks: what it is for, with the clause or source. why: where it failed or was left out."""

    part: Part
    id: str
    asks: str
    expected: str
    found: str
    outcome: TestOutcome
    why: str = ""


@dataclass(frozen=True, slots=True)
class Qualification:
    """A whole qualification. verdict: ``incomplete`` where a test was left out and none failed."""

    schema: Literal["qualification/1"]
    installation: Installation
    tests: tuple[QualificationTest, ...]
    verdict: Verdict


def verdict_of(tests: tuple[QualificationTest, ...]) -> Verdict:
    """The verdict tests give; none at all is no pass."""
    outcomes = {one.outcome for one in tests}
    if "failed" in outcomes:
        return "failed"
    return "incomplete" if "left out" in outcomes or not outcomes else "passed"
