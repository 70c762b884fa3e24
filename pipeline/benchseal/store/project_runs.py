"""Derived rows of files and runs: what follows from each of their entries."""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

from benchseal.records.canonical import canonical_bytes, parse_canonical
from benchseal.records.same_readings import figures_of
from benchseal.store.changes import Change, Clear, Put
from benchseal.store.project_rows import Facts, contribution, correction, counted, name_of, signed

if TYPE_CHECKING:
    from benchseal.records.canonical import Json
    from benchseal.records.entries import Entry
    from benchseal.store.project_rows import Projection, ReadObject


def _file_refused(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    facts = cast("Facts", entry.facts)
    values: dict[str, str | int] = {"name": facts["name"], "state": "refused", "report": entry.digests["report"]}
    return (Put("source_file", {"sha256": entry.digests["raw"]}, values),)


def _file_tried(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    facts = cast("Facts", entry.facts)
    values: dict[str, str | int] = {name: facts[name] for name in ("name", "runs", "problems", "lost")}
    values |= {"sha256": entry.digests["raw"], "report": entry.digests["report"]}
    return (Put("trial", {"event": f"{entry.seq:09d}"}, {**values, "person": entry.actor, "at": entry.at}),)


def _run_repeated(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    """Who said which of two files of one run stands. instead_of stands in facts where it turned one round."""
    facts = cast("Facts", entry.facts)
    values: dict[str, str | int] = {name: facts[name] for name in ("name", "stands")}
    values |= {"run": name_of(entry), "sha256": entry.digests["raw"], "beside": " ".join(facts["beside"])}
    values |= {"person": entry.actor, "at": entry.at, "reason": entry.reason}
    return (Put("run_repeat", {"event": f"{entry.seq:09d}"}, {**values, "instead_of": facts.get("instead_of", 0)}),)


def _run_ingested(entry: Entry, read: ReadObject) -> tuple[Change, ...]:
    facts = cast("Facts", entry.facts)
    run = name_of(entry)
    head = Put(
        "run",
        {"run": run},
        {
            **{name: facts[name] for name in ("element", "method", "instrument", "measured_at")},
            "state": "draft",
            "source_sha256": entry.digests["raw"],
            "document": entry.digests["document"],
            "version": 0,
            "reviewed_version": 0,
        },
    )
    accepted = Put("source_file", {"sha256": entry.digests["raw"]}, {"name": facts["name"], "state": "accepted"})
    parts = sorted({made for name, made in entry.digests.items() if name.startswith("part_")})
    return (
        accepted,
        *(Put("source_part", {"part": part, "raw": entry.digests["raw"]}, {}) for part in parts),
        head,
        counted("run", facts),
        _figures(entry, read),
        *_portions(run, facts),
        *(contribution(f"run/{run}", person, "operate") for person in sorted({entry.actor, facts["operator"]} - {""})),
        *_work(entry, read),
    )


def _figures(entry: Entry, read: ReadObject) -> Put:
    bound = cast("Facts", parse_canonical(read(entry.digests["bound"])))
    figures = figures_of(bound["document"]["readings"]["signal"])
    return Put("run_figures", {"run": name_of(entry)}, {"figures": " ".join(figures)})


def _portions(run: str, facts: Facts) -> tuple[Change, ...]:
    return tuple(
        Put("run_portion", {"run": run, "batch": batch, "portion": portion}) for batch, portion in facts["portions"]
    )


def _work(entry: Entry, read: ReadObject) -> tuple[Change, ...]:
    """Columns and result rows that name the run's calculation."""
    run = name_of(entry)
    work = cast("Facts", parse_canonical(read(entry.digests["work"])))
    values: dict[str, str | int] = {
        "bound": entry.digests["bound"],
        "work": entry.digests["work"],
        "bench": entry.digests.get("bench", ""),
        "usable": int(work["usable"]),
    }
    rows = tuple(_result(run, place, result) for place, result in enumerate(work["results"]))
    return (Put("run", {"run": run}, values), Clear("result", {"run": run}), *rows, _calculation(entry, work, read))


def _result(run: str, place: int, result: Facts) -> Put:
    outcome = result["outcome"]
    return Put(
        "result",
        {"run": run, "place": f"{place:05d}"},
        {
            **{
                name: result[name]
                for name in ("result_id", "sample", "element", "quantity", "unit", "verdict", "comment_required")
            },
            "outcome": outcome["kind"],
            "value_text": outcome.get("value_text", ""),
            "expanded_text": outcome.get("expanded_text", ""),
            "why": outcome.get("why", ""),
        },
    )


def _calculation(entry: Entry, work: Facts, read: ReadObject) -> Put:
    """Checks and curve of one calculation, for questions over time; rows of a run's earlier calculations stay."""
    bound = cast("Facts", parse_canonical(read(entry.digests["bound"])))
    lots = [*bound["standard_lots"], "", ""]
    checks = [{name: value for name, value in check.items() if name != "source"} for check in work["checks"]]
    return Put(
        "calculation",
        {"run": name_of(entry), "work": entry.digests["work"]},
        {
            "method": bound["method"]["id"],
            "method_value": bound["method_ref"]["digest"],
            "instrument": bound["instrument"],
            "measured_at": bound["measured_at"],
            "lot": lots[0],
            "second_lot": lots[1],
            "calibration": canonical_bytes(work["calibration"]).decode(),
            "checks": canonical_bytes(cast("Json", checks)).decode(),
        },
    )


def _run_calculated(entry: Entry, read: ReadObject) -> tuple[Change, ...]:
    return (*_work(entry, read), contribution(entry.subject, entry.actor, "enter"))


def _run_submitted(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    facts = cast("Facts", entry.facts)
    values: dict[str, str | int] = {
        "state": "submitted",
        "version": facts["version"],
        "manifest": entry.digests["manifest"],
        "packet": entry.digests["packet"],
    }
    fixed = {name: entry.digests.get(name, "") for name in ("manifest", "packet", "bound", "work", "bench")}
    return (
        Put("run", {"run": name_of(entry)}, values),
        _version(entry, {**fixed}),
        *signed(facts, "submit", entry.subject, contributes=True),
    )


def _share_signed(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    facts = cast("Facts", entry.facts)
    key = {"run": name_of(entry), "version": f"{facts['version']:04d}", "person": entry.actor}
    row = Put("run_share", key, {"packet": entry.digests["packet"], "at": entry.at})
    return (row, *signed(facts, "share", entry.subject))


def _version(entry: Entry, values: dict[str, str | int]) -> Put:
    facts = cast("Facts", entry.facts)
    return Put("run_version", {"run": name_of(entry), "version": f"{facts['version']:04d}"}, values)


def _run_reviewed(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    facts = cast("Facts", entry.facts)
    values: dict[str, str | int] = {
        "state": "reviewed",
        "reviewed_version": facts["version"],
        "reviewed_manifest": entry.digests["manifest"],
        "reviewed_packet": entry.digests["packet"],
        "reviewed_work": entry.digests["work"],
        "reviewed_bound": entry.digests["bound"],
        "correcting": 0,
    }
    return (
        Put("run", {"run": name_of(entry)}, values),
        _version(entry, {"reviewed_packet": entry.digests["packet"]}),
        *signed(facts, "accept", entry.subject),
    )


def _run_state(state: str, act: str, **values: str | int) -> Projection:
    def rows(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
        change = Put("run", {"run": name_of(entry)}, {"state": state, **values})
        return (change, *signed(cast("Facts", entry.facts), act, entry.subject))

    return rows


def _run_corrected(entry: Entry, read: ReadObject) -> tuple[Change, ...]:
    """A run calculated again for a correction, of its own or of something it rests on."""
    facts, run = cast("Facts", entry.facts), name_of(entry)
    values: dict[str, str | int] = {"state": facts["state"], "correcting": facts["correcting"]}
    if "corrections" in entry.digests:
        values["corrections"] = entry.digests["corrections"]
    return (
        Put("run", {"run": run}, values),
        Clear("run_portion", {"run": run}),
        *_portions(run, facts),
        *_work(entry, read),
        contribution(entry.subject, entry.actor, facts["act"]),
        *((correction(entry),) if facts["changes"] else ()),
    )


RUNS: dict[str, Projection] = {
    "file.refused": _file_refused,
    "file.tried": _file_tried,
    "run.ingested": _run_ingested,
    "run.repeated": _run_repeated,
    "run.calculated": _run_calculated,
    "run.corrected": _run_corrected,
    "run.submitted": _run_submitted,
    "run.share_signed": _share_signed,
    "run.returned": _run_state("returned", "return"),
    "run.reviewed": _run_reviewed,
    "run.reopened": _run_state("reopened", "reopen", correcting=0),
    "run.cancelled": _run_state("cancelled", "cancel"),
}
