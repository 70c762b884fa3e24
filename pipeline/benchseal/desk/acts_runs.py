"""Acts on runs, from the instrument's file to review: as values, and who may do them with which signature."""

from __future__ import annotations

from dataclasses import dataclass

from benchseal.desk.act_row import ANALYST, APPROVER, REVIEWER, SERVICE, ActRow, Signer, anyone, signing
from benchseal.ingest.joining import Part  # noqa: TC001  the types of acts are read at run time
from benchseal.records.signatures import Meaning


@dataclass(frozen=True, slots=True)
class IngestFile:
    """Bring in one instrument file, whole or not at all.

    layout: identifier, or empty to recognise it. curves: runs whose curves the file uses, at most one an element.
    gap_because: what explains a gap in the reading numbers, or empty. late_because: why it comes late, or empty.
    stands: of a run that is here already in other bytes, ``earlier`` or ``both``; stands_because: why; else empty.
    parts: the files of one run, where data is theirs joined; else none.
    """

    data: bytes
    source: str
    layout: str
    batches: tuple[str, ...]
    curves: tuple[str, ...] = ()
    gap_because: str = ""
    late_because: str = ""
    stands: str = ""
    stands_because: str = ""
    parts: tuple[Part, ...] = ()


@dataclass(frozen=True, slots=True)
class CheckFile(IngestFile):
    """Look at one instrument file as if it came in: its bytes are kept, the look is on record, and no run is made."""


@dataclass(frozen=True, slots=True)
class RecalculateRun:
    """Calculate a run again, with what is in force now. gap_because: as with ``IngestFile``, for gaps without one."""

    run: str
    reason: str
    gap_because: str = ""


@dataclass(frozen=True, slots=True)
class SubmitRuns:
    """Submit runs for review, as one packet."""

    runs: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SignShare:
    """Sign one's own share of submitted runs as performed: what one prepared, measured or changed."""

    runs: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class AcceptRuns:
    """Accept submitted runs after review, as one packet."""

    runs: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ReturnRuns:
    """Return submitted runs to the analyst."""

    runs: tuple[str, ...]
    reason: str


@dataclass(frozen=True, slots=True)
class CancelRun:
    """Cancel a run; its data stay and stay visible."""

    run: str
    reason: str


@dataclass(frozen=True, slots=True)
class ReopenRun:
    """Reopen a reviewed run for a correction: the analyst asks, a reviewer or approver consents and signs."""

    run: str
    reason: str


RUNS: tuple[ActRow, ...] = (
    ActRow(
        IngestFile,
        "ingest",
        anyone(ANALYST, SERVICE),
        ("run.ingested", "investigation.opened", "investigation.result", "file.refused", "late.noted", "run.repeated"),
        "intake:ingest_file",
        "bring in instrument files, each whole or not at all",
    ),
    ActRow(
        CheckFile,
        "run check",
        anyone(ANALYST, SERVICE),
        ("file.tried",),
        "trials:check_file",
        "at the instrument: what of a file stands and what is to be read again; no run is made",
    ),
    ActRow(
        RecalculateRun,
        "run recalculate",
        anyone(ANALYST),
        ("run.calculated", "investigation.opened", "investigation.result"),
        "intake:recalculate_run",
        "calculate a run again with what is in force now",
    ),
    ActRow(
        SubmitRuns,
        "run submit",
        signing(ANALYST, Meaning.PERFORMED),
        ("run.submitted",),
        "runs:submit_runs",
        "sign runs as performed and hand them to a reviewer",
    ),
    ActRow(
        SignShare,
        "run sign",
        signing(ANALYST, Meaning.PERFORMED),
        ("run.share_signed",),
        "runs:sign_share",
        "sign your own share of submitted runs as performed",
    ),
    ActRow(
        AcceptRuns,
        "run accept",
        signing(REVIEWER, Meaning.REVIEWED),
        ("run.reviewed", "certificate.touched", "investigation.opened", "investigation.result"),
        "sum_exceedances:accept_and_note",
        "sign runs as reviewed; nobody who contributed can",
    ),
    ActRow(
        ReturnRuns,
        "run return",
        signing(REVIEWER, Meaning.RETURNED),
        ("run.returned",),
        "runs:return_runs",
        "return runs to the analyst with a reason",
    ),
    ActRow(
        CancelRun,
        "run cancel",
        (*signing(ANALYST, Meaning.CANCELLED), *signing(REVIEWER, Meaning.CANCELLED)),
        ("run.cancelled",),
        "runs:cancel_run",
        "cancel a run; analyst and reviewer both sign, and its data stay",
    ),
    ActRow(
        ReopenRun,
        "run reopen",
        (Signer(frozenset({ANALYST}), Meaning.PERFORMED), Signer(frozenset({REVIEWER, APPROVER}), Meaning.RETURNED)),
        ("run.reopened",),
        "runs:reopen_run",
        "reopen a reviewed run for a correction; a reviewer or approver consents",
    ),
)
