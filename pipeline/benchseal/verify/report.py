"""What the outside check found, in one word, and then check by check."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final, Literal, TypeAlias

from benchseal.problems import EXIT_DONE, EXIT_INTEGRITY, EXIT_SETTINGS

if TYPE_CHECKING:
    from collections.abc import Iterable

    from benchseal.pictures.rosette import Rosette

Word: TypeAlias = Literal["GENUINE", "ALTERED", "UNKNOWN"]

EXITS: Final[dict[Word, int]] = {"GENUINE": EXIT_DONE, "ALTERED": EXIT_INTEGRITY, "UNKNOWN": EXIT_SETTINGS}
MEANS: Final[dict[Word, str]] = {
    "GENUINE": "sealed by a key you trust, unchanged since, and every result comes out again from its readings",
    "ALTERED": "it contradicts itself or its seal; do not use it, ask the laboratory for the file it issued",
    "UNKNOWN": "nothing was found to be false, but not everything could be checked",
}
_NOTICE_GENUINE: Final = "a notice of withdrawal, sealed by a key you trust, and signed in the laboratory's ledger"


@dataclass(frozen=True, slots=True)
class Check:
    """One thing looked at. holds: None where it could not be decided, which is never the same as yes.

    sentences: what is said, sentence by sentence, where that is several; else empty.
    """

    name: str
    holds: bool | None
    said: str
    sentences: tuple[str, ...] = field(default=(), compare=False)

    @property
    def line(self) -> str:
        """One line for people."""
        answer = {True: "yes", False: "NO", None: "open"}[self.holds]
        return f"{answer:<5}{self.name}: {self.said}"


@dataclass(frozen=True, slots=True)
class Report:
    """One file looked at from outside.

    number, laboratory, ledger, sample, conclusion, sealed_by, sealed_at, evidence_sha256: as the file states them;
    empty while the seal is not known to hold. sealed_sha256: of the file. rosette: drawn from the evidence digest, to
    be compared by eye with the page. withdraws: of a notice of withdrawal, the SHA-256 of the sealed file it takes
    back.
    """

    checks: tuple[Check, ...]
    number: str = ""
    laboratory: str = ""
    sample: str = ""
    conclusion: str = ""
    sealed_by: str = ""
    sealed_at: str = ""
    evidence_sha256: str = ""
    unsealed_sha256: str = ""
    sealed_sha256: str = ""
    rosette: Rosette | None = None
    withdraws: str = ""
    ledger: str = ""

    @property
    def word(self) -> Word:
        """One check that fails makes a file ALTERED; one that is open leaves it UNKNOWN; no check at all as well."""
        if any(check.holds is False for check in self.checks):
            return "ALTERED"
        return "GENUINE" if self.checks and all(check.holds for check in self.checks) else "UNKNOWN"

    @property
    def means(self) -> str:
        """The word in plain words."""
        return _NOTICE_GENUINE if self.withdraws and self.word == "GENUINE" else MEANS[self.word]

    @property
    def exit_code(self) -> int:
        """0, 6 or 3."""
        return EXITS[self.word]

    def lines(self) -> tuple[str, ...]:
        """The report for people: the word first, then what file this is, then each check."""
        about = (
            ("notice" if self.withdraws else "certificate", self.number),
            ("laboratory", self.laboratory),
            ("sample", self.sample),
            ("says", self.conclusion),
            ("sealed", " by ".join(part for part in (self.sealed_at, self.sealed_by) if part)),
            ("evidence", self.evidence_sha256),
            ("withdraws the file", self.withdraws),
        )
        named = [f"     {name}: {text}" for name, text in about if text]
        return (self.word, f"     {self.means}", *named, *(check.line for check in self.checks))


def exit_code_of(reports: Iterable[Report]) -> int:
    """Of several files: 6 if one is ALTERED, else 3 if one is UNKNOWN, else 0. No file at all is 3."""
    words = {report.word for report in reports}
    worst: Word = "ALTERED" if "ALTERED" in words else "GENUINE" if words == {"GENUINE"} else "UNKNOWN"
    return EXITS[worst]
