"""What was changed after its first entry, and what a version of a run changes against the one before."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, cast

from benchseal.desk.reading import load
from benchseal.desk.standing import bases_at, reviewed_versions, signed_since
from benchseal.records.canonical import parse_canonical
from benchseal.records.corrections import ResultChange, RunBench, ValueChange
from benchseal.records.evidence import Evidence
from benchseal.records.manifest import Manifest, ResultBasis
from benchseal.records.results import RunWork
from benchseal.review.effects import check_changes, compared, result_changes

if TYPE_CHECKING:
    from collections.abc import Iterable

    from benchseal.store.protocol import Reading, Row


@dataclass(frozen=True, slots=True)
class Corrected:
    """One recorded value changed after its first entry: of what, by whom, when and why."""

    subject: str
    entry: int
    person: str
    at: str
    reason: str
    name: str
    old: str
    new: str


@dataclass(frozen=True, slots=True)
class VersionChange:
    """A version of a run against the reviewed one before it. untouched: results that keep their signatures."""

    before: int
    after: int
    results: tuple[ResultChange, ...]
    checks: tuple[ValueChange, ...]
    untouched: int
    corrected: tuple[Corrected, ...]


def corrected_of(view: Reading, subjects: Iterable[str], after: int = 0) -> tuple[Corrected, ...]:
    """Every correction of these subjects, oldest first. after: entries later than this one only."""
    rows = [row for subject in dict.fromkeys(subjects) for row in view.rows("correction", subject=subject)]
    return tuple(
        Corrected(
            row["subject"],
            int(row["entry"]),
            row["person"],
            row["at"],
            row["reason"],
            change["name"],
            change["old"],
            change["new"],
        )
        for row in sorted(rows, key=lambda row: str(row["entry"]))
        if int(row["entry"]) > after
        for change in cast("list[dict[str, str]]", parse_canonical(row["changes"].encode()))
    )


def subjects_of_run(view: Reading, row: Row) -> list[str]:
    """A run and all it rests on, as subjects of entries."""
    bench = load(view, RunBench, row["bench"])
    portions = [f"portion/{one.batch}/{one.name}" for one in bench.portions]
    return [f"run/{row['run']}", *portions, *(f"standard/{one.name}" for one in bench.lots)]


def subjects_of_certificate(view: Reading, row: Row) -> list[str]:
    """What a certificate shows that people enter: its sample, runs, their preparations and standards."""
    content = load(view, Evidence, row["content"])
    return [
        f"sample/{row['sample']}",
        f"customer/{row['customer']}",
        *(f"run/{run.run}" for run in content.runs),
        *(f"portion/{one.batch}/{one.portion}" for one in content.portions),
        *(f"standard/{lot.lot}" for lot in content.standard_lots),
    ]


def version_change(view: Reading, row: Row) -> VersionChange | None:
    """What stands now against what was reviewed before; None where there is no version before."""
    versions = reviewed_versions(view, row["run"])
    if row["state"] == "reviewed":
        versions = versions[:-1]
    if not versions:
        return None
    last = versions[-1]
    old = bases_at(view, row["run"], last["bound"], last["work"], last["bench"])
    found = compared(old, bases_at(view, row["run"], row["bound"], row["work"], row["bench"]))
    lots = {one["sample"]: str(one["lot"]) for one in view.rows("sample")}
    before, now = (load(view, RunWork, name).checks for name in (last["work"], row["work"]))
    running = row["state"] in {"submitted", "reviewed"}
    return VersionChange(
        before=int(last["version"]),
        after=int(row["version"]) + (0 if running else 1),
        results=result_changes(row["run"], found, lots),
        checks=check_changes(before, now),
        untouched=len(found.untouched),
        corrected=corrected_of(view, subjects_of_run(view, row), int(last["seq"])),
    )


def signatures_of_results(view: Reading, row: Row) -> list[dict[str, Any]]:
    """For each result of the last reviewed version: the version whose signatures it stands on, and who signed."""
    if not row["reviewed_manifest"]:
        return []
    since = signed_since(view, row["run"])
    found = []
    for name in load(view, Manifest, row["reviewed_manifest"]).results:
        result, version = load(view, ResultBasis, name).result, since[name]
        signers = [
            {"person": one["person"], "meaning": one["meaning"], "at": one["at"]}
            for packet in (version["packet"], version["reviewed_packet"])
            for one in view.rows("signature", digest=packet)
            if one["meaning"] in {"performed", "reviewed"}
        ]
        found.append(
            {
                "result_id": result.result_id,
                "sample": result.sample,
                "digest": name,
                "version": int(version["version"]),
                "signatures": signers,
            }
        )
    return found
