"""The outside check for other programs: bytes in, one judgement out. No site, no file, no network, no clock.

    from pathlib import Path
    from benchseal.verify.judge import judge, read_trust_file

    trust = read_trust_file(Path("trust.json").read_bytes())
    judgement = judge(Path("C-2026-00001.pdf").read_bytes(), trust)
    judgement.word        # "GENUINE", "ALTERED" or "UNKNOWN"
    judgement.lines()     # what the command prints
    judgement.plain()     # the same as values for JSON

The command ``verify`` and the verification page say what is said here, so their sentences are the same. A wrong
certificate is never an exception: whatever is in the file, the answer is a judgement.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from benchseal.problems import EXIT_DONE, Problem
from benchseal.records.canonical import parse_json
from benchseal.verify.certificate import verify_certificate
from benchseal.verify.german import german_check, german_lines, in_german
from benchseal.verify.report import exit_code_of
from benchseal.verify.status import standing
from benchseal.verify.trust import read_trust

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from benchseal.records.canonical import Json
    from benchseal.records.status_file import StatusFile
    from benchseal.verify.report import Report, Word
    from benchseal.verify.status import Standing
    from benchseal.verify.trust import Trust


@dataclass(frozen=True, slots=True)
class Judgement:
    """What is said of one file. standing: what the laboratory's status file says of it; None where none was given."""

    report: Report
    standing: Standing | None = None

    @property
    def word(self) -> Word:
        """GENUINE, ALTERED or UNKNOWN."""
        return self.report.word

    def lines(self, language: str = "en") -> tuple[str, ...]:
        """For people: the word first, then the standing, what file this is, and each check. language: en or de."""
        word, *others = self.report.lines() if language == "en" else german_lines(self.report)
        said = () if self.standing is None else (self.standing.word.upper(), self.standing.said)
        shown = said if language == "en" else tuple(map(in_german, said))
        return (word, *([f"     {': '.join(shown)}"] if shown else []), *others)

    def line(self, language: str = "en") -> str:
        """One line, for one of many files: the first thing that does not hold, else what file it is; its standing."""
        report = self.report
        wrong = sorted((check for check in report.checks if not check.holds), key=lambda one: one.holds is None)
        if wrong:
            said = f"{wrong[0].name}: {wrong[0].said}" if language == "en" else german_check(wrong[0])
        else:
            says = report.conclusion if language == "en" else in_german(f"{report.conclusion}.").rstrip(".")
            said = f"{report.number}, {report.laboratory}, {report.sample}: {says}"
        if self.standing is None:
            return said
        word = self.standing.word.upper()
        return f"{word if language == 'en' else in_german(word)}; {said}"

    def plain(self) -> dict[str, Json]:
        """For programs: values that JSON holds. Texts about the file are empty while its seal is not known to hold."""
        report = self.report
        return {
            "word": report.word,
            "means": report.means,
            "certificate": report.number,
            "laboratory": report.laboratory,
            "sample": report.sample,
            "says": report.conclusion,
            "sealed_by": report.sealed_by,
            "sealed_at": report.sealed_at,
            "evidence_sha256": report.evidence_sha256,
            "file_sha256": report.sealed_sha256,
            "checks": [{"name": each.name, "holds": each.holds, "said": each.said} for each in report.checks],
            "standing": {"word": self.standing.word, "said": self.standing.said} if self.standing else None,
        }


def read_trust_file(data: bytes, where: str = "trust file") -> Trust | tuple[Problem, ...]:
    """What a laboratory handed out, or everything that is wrong with it. where: what problems call it."""
    try:
        value = parse_json(data)
    except ValueError as fault:
        return (Problem("verify.trust", where, f"it is not JSON: {fault}.", "Ask the laboratory for it again."),)
    return read_trust(value)


def judge(pdf: bytes, trust: Trust | None, status: StatusFile | None = None, *, redraw: bool = False) -> Judgement:
    """What is to be said of one file.

    status: as ``verify.status.read_status`` gives it, under the same trust. redraw: draw the page again too, which
    needs the renderer and takes longer.
    """
    report = verify_certificate(pdf, trust, redraw=redraw)
    return Judgement(report, standing(status, report.withdraws or report.sealed_sha256) if status is not None else None)


def judge_all(files: Iterable[bytes], trust: Trust | None, status: StatusFile | None = None) -> tuple[Judgement, ...]:
    """``judge`` of each file, in order."""
    return tuple(judge(pdf, trust, status) for pdf in files)


def exit_code(judgements: Sequence[Judgement]) -> int:
    """Of several: 6 if one is ALTERED, else 3 if one is UNKNOWN, else that of the worst standing, else 0."""
    code = exit_code_of([one.report for one in judgements])
    if code == EXIT_DONE:  # a file that is not genuine is not asked for its standing
        return max((one.standing.exit_code for one in judgements if one.standing is not None), default=EXIT_DONE)
    return code
