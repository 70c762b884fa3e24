"""The same run in other bytes: a file whose run is here already waits until a person says which one stands, and why.

The same run: same instrument, element and line, begun at the same second. A cancelled run is no run here any more:
whoever wants the later file cancels the earlier run, with two signatures, and brings the file in.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import zip_longest
from typing import TYPE_CHECKING, Final

from benchseal.desk.acting import as_json
from benchseal.desk.reading import all_entries, load
from benchseal.problems import Problem, Refusal, Stopped
from benchseal.records.canonical import digest
from benchseal.records.people import Role
from benchseal.records.quantities import decimal_of
from benchseal.records.run import Run
from benchseal.validate.places import at_run

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from benchseal.desk.acting import Acting
    from benchseal.desk.acts_runs import IngestFile
    from benchseal.store.protocol import Reading, Row

EARLIER: Final = "earlier"
BOTH: Final = "both"
_REMEDY = (
    "Say which stands: the earlier alone with --stands earlier, each by itself with --stands both, and why with "
    "--stands-because; or cancel the earlier run (benchseal run cancel), then bring this file in."
)


@dataclass(frozen=True, slots=True)
class Repeat:
    """A run of a file and the earlier one it repeats. earlier: row of ``run``; before: what that run was bound to."""

    run: Run
    earlier: Row
    before: Run


def repeats_of(view: Reading, runs: Sequence[Run], raw: str) -> list[Repeat]:
    """Runs of a file that are here already from other bytes and not cancelled."""
    return [each for run in runs for each in _repeats(view, run, raw)]


def _repeats(view: Reading, run: Run, raw: str) -> Iterator[Repeat]:
    facts = {"instrument": run.instrument, "element": run.method.element, "measured_at": run.measured_at}
    for row in view.rows("run", **facts):
        if row["state"] != "cancelled" and row["source_sha256"] != raw:
            before = load(view, Run, row["bound"])
            if _same_line(before, run):
                yield Repeat(run, row, before)


def _same_line(one: Run, other: Run) -> bool:
    texts = [each.document.facts.wavelength_nm for each in (one, other)]
    return texts[0] == texts[1] or (all(texts) and decimal_of(texts[0]) == decimal_of(texts[1]))


def twice_in_file(runs: Sequence[Run]) -> Iterator[Problem]:
    """Runs of one file that are the same run: which of them stands nobody can say without the instrument."""
    seen: dict[tuple[str, str, str], Run] = {}
    for run in runs:
        key = (run.instrument, f"{run.method.element} {run.method.wavelength_nm}", run.measured_at)
        first = seen.setdefault(key, run)
        if first is not run:
            what = f"The run of {key[1]} nm begun at {key[2]} stands in this file already, from line "
            what += f"{first.document.facts.line} on."
            yield Problem("ingest.run-twice", at_run(run.document), what, "Export each run once.")


def require_words(acting: Acting, act: IngestFile) -> None:
    """Refuse a decision that is none: another word, no reason, or no person behind it. Raises Stopped."""
    if not (act.stands or act.stands_because):
        return
    if act.stands not in {EARLIER, BOTH}:
        what = f"--stands is '{act.stands}'; it must be {EARLIER} or {BOTH}."
        raise Stopped(Problem("ingest.stands", act.source, what, "Name one of them, and why with --stands-because."))
    if not act.stands_because.strip():
        what = "which of two files stands is said, and no reason."
        raise Stopped(Refusal("act.reason", act.source, what, "Say why with --stands-because."))
    if acting.first.roles <= {Role.SERVICE}:
        what = f"{acting.first.person} is a service; which of two files stands is for a person to say."
        raise Stopped(Refusal("ingest.stands-person", act.source, what, "An analyst brings this file in."))


def undecided(acting: Acting, act: IngestFile, repeats: Sequence[Repeat]) -> tuple[Problem, ...]:
    """A problem for each repeat nobody decided. Raises Stopped where there is none to decide, or it was decided."""
    if not repeats and act.stands:
        what = "no run of this file is here already."
        raise Stopped(Refusal("ingest.no-repeat", act.source, what, "Leave --stands out."))
    if act.stands or not repeats:
        return ()
    if said := _decided(acting.tx, digest(act.data)):
        raise Stopped(Refusal("ingest.already", act.source, said, "Nothing needs to be done."))
    return tuple(_problem(acting.tx, act, each) for each in repeats)


def _problem(view: Reading, act: IngestFile, repeat: Repeat) -> Problem:
    row, readings = repeat.earlier, _readings_differ(repeat)
    what = (
        f"Run {row['run']} ({row['state']}) is of the same instrument, element and start, from another file: "
        f"{readings}; the files differ from line {_first_line(view.bytes_of(row['source_sha256']), act.data)} on."
    )
    return Problem("ingest.same-run", at_run(repeat.run.document), what, _REMEDY)


def _readings_differ(repeat: Repeat) -> str:
    old, new = (_readings(each) for each in (repeat.before, repeat.run))
    if old == new:
        return "all readings are the same"
    differ = sum(one != other for one, other in zip_longest(old, new))
    return f"{differ} of {max(len(old), len(new))} readings differ"


def _readings(run: Run) -> list[tuple[str, str, str]]:
    """Name, value and flag of each reading, in order."""
    document = run.document
    counts = zip(document.solutions.label, document.solutions.reading_count, strict=True)
    labels = [label for label, count in counts for _ in range(count)]
    return list(zip(labels, document.readings.signal, document.readings.flag, strict=True))


def _first_line(old: bytes, new: bytes) -> int:
    """Number of the first line in which two files differ."""
    pairs = zip_longest(old.split(b"\n"), new.split(b"\n"))
    return next((number for number, (one, other) in enumerate(pairs, 1) if one != other), 1)


def _decided(view: Reading, raw: str) -> str:
    """That a person said of these bytes that the earlier run stands; empty where nobody did."""
    for entry in reversed(all_entries(view)):
        if entry.kind == "run.repeated" and entry.digests["raw"] == raw:
            run = entry.subject.partition("/")[2]
            return f"{entry.actor} said at {entry.at} that {run} stands and not this file: {entry.reason}."
    return ""


def note_decision(acting: Acting, act: IngestFile, repeats: Sequence[Repeat], runs: Sequence[str]) -> list[str]:
    """Put on record, at each earlier run, who says what stands and why; lines for people. runs: those made now."""
    earlier = list(dict.fromkeys(each.earlier["run"] for each in repeats))
    for run in earlier:
        acting.write(
            "run.repeated",
            f"run/{run}",
            facts={"name": act.source, "stands": act.stands, "beside": as_json(list(runs))},
            digests={"raw": digest(act.data)},
            reason=act.stands_because.strip(),
        )
    if not earlier:
        return []
    stands = f"{', '.join(earlier)} and {', '.join(runs)} stand" if runs else f"{', '.join(earlier)} alone"
    return [f"On record, said by {acting.first.person}: {stands}, because {act.stands_because.strip()}."]
