"""Corrections: what was put right in a run, what a calculation rested on, and the effect a person sees beforehand."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final, Literal

from benchseal.records.canonical import Digest
from benchseal.records.run import SolutionKind
from benchseal.records.shape import LEFT_OUT_WHEN_EMPTY

EFFECT_FIGURES = 16  # of the digest of an effect, by which a person names what was shown

# Causes for which a reading may be left out: each is a finding about the work, none is about the value.
EXCLUSION_CAUSES: dict[str, str] = {
    "wrong-solution": "another solution was presented",
    "uptake": "air or a blockage in the uptake",
    "instrument": "a fault of the instrument, seen or logged",
    "contaminated": "the solution was contaminated or spilled",
    "preparation": "a fault of the preparation, seen or logged",
}


OTHER_RUN: Final = "other-run"

# Causes for which a sample was not measured (common practice, no source).
NOT_MEASURED_CAUSES: dict[str, str] = {
    "not-enough": "not enough of it",
    "container": "its container was broken or had leaked",
    "preparation": "lost or spoiled in preparation",
    "unfit": "not fit to be measured",
    "instrument": "the instrument failed",
    "not-presented": "it was not presented to the instrument",
    OTHER_RUN: "it was read in another run",
    "withdrawn": "the customer took the order back",
}


@dataclass(frozen=True, slots=True)
class Relabelled:
    """A position whose label in the file was wrong: the label it should have borne, and the kind of that portion."""

    position: int
    label: str
    kind: SolutionKind


@dataclass(frozen=True, slots=True)
class Excluded:
    """A position left out, and the cause that was found (``EXCLUSION_CAUSES``)."""

    position: int
    cause: str


@dataclass(frozen=True, slots=True)
class Unmeasured:
    """A sample prepared for the run that was not measured in it: the cause (``NOT_MEASURED_CAUSES``) and the reason.

    cause: empty in records from before there were causes.
    """

    sample: str
    reason: str
    cause: str = field(default="", metadata=LEFT_OUT_WHEN_EMPTY)

    @property
    def words(self) -> str:
        """Cause and reason as people read them."""
        return f"{NOT_MEASURED_CAUSES[self.cause]}: {self.reason}" if self.cause else self.reason


@dataclass(frozen=True, slots=True)
class RunCorrections:
    """Everything put right in one run, in order of position or sample; the file stays as it was read."""

    schema: Literal["run-corrections/1"]
    labels: tuple[Relabelled, ...] = ()
    excluded: tuple[Excluded, ...] = ()
    unmeasured: tuple[Unmeasured, ...] = ()


AS_READ = RunCorrections("run-corrections/1")


@dataclass(frozen=True, slots=True)
class BenchRow:
    """One preparation row or standard lot a calculation rested on; batch is empty for a lot. record: its digest."""

    batch: str
    name: str
    record: Digest


@dataclass(frozen=True, slots=True)
class RunBench:
    """The preparation rows and standard lots one calculation of a run rested on, each as it then was."""

    schema: Literal["run-bench/1"]
    portions: tuple[BenchRow, ...]
    lots: tuple[BenchRow, ...]


@dataclass(frozen=True, slots=True)
class ValueChange:
    """One recorded value before and after, as text; empty where there was or is none."""

    name: str
    old: str
    new: str


@dataclass(frozen=True, slots=True)
class ResultChange:
    """One result before and after. old, new: value of record with what is reported, or why there is no value.

    A result whose text stays the same still changes when something it rests on does.
    """

    run: str
    sample: str
    lot: str
    result_id: str
    what: str
    old: str
    new: str
    old_verdict: str
    new_verdict: str


@dataclass(frozen=True, slots=True)
class RunEffect:
    """What becomes of one run. checks: those judged otherwise or with another value, old and new in words."""

    run: str
    version: int
    state: str
    becomes: str
    manifest: str
    changed: int
    untouched: int
    checks: tuple[ValueChange, ...]


@dataclass(frozen=True, slots=True)
class CertificateEffect:
    """What becomes of one certificate that cites a changed result or prints what is corrected."""

    number: str
    state: str
    becomes: Literal["draft again", "must amend or justify"]


@dataclass(frozen=True, slots=True)
class Effect:
    """All that a correction changes. lots_changed, lots_untouched: of the runs it touches. holds: lots newly held.

    investigations: those about the lot a sample bore or shall bear, where its lot is what is corrected.
    """

    schema: Literal["correction-effect/1"]
    subject: str
    changes: tuple[ValueChange, ...]
    runs: tuple[RunEffect, ...]
    results: tuple[ResultChange, ...]
    certificates: tuple[CertificateEffect, ...]
    holds: tuple[str, ...]
    lots_changed: tuple[str, ...]
    lots_untouched: int
    investigations: tuple[str, ...] = ()

    @property
    def needs_consent(self) -> bool:
        """Whether a signature in force loses its force for something, or an investigation is about the lot's name.

        Then a second person has to agree.
        """
        signed = any(one.state in {"approved", "sealing", "released"} for one in self.certificates)
        return signed or any(one.state == "reviewed" for one in self.runs) or bool(self.investigations)
