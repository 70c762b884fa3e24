"""The same run in other bytes: a file whose run is here already waits until a person says which one stands, and why.

The same run: same instrument, element and line, begun at the same second; or the same readings, whatever else the file
says; or one of its files, byte for byte, whether that came in alone or as one of several. A cancelled run is no run
here any more: whoever wants the later file cancels the earlier run, with two signatures, and brings the file in. That a
run holds the readings of a cancelled one, its reviewer is told.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from itertools import zip_longest
from typing import TYPE_CHECKING, Final

from benchseal.desk.acting import as_json
from benchseal.desk.reading import load
from benchseal.desk.same_readings import Sharing, pairs_of_run
from benchseal.problems import Problem, Refusal, Stopped
from benchseal.records.canonical import digest
from benchseal.records.people import Role
from benchseal.records.quantities import decimal_of
from benchseal.records.run import Run
from benchseal.records.same_readings import shared_of
from benchseal.validate.places import at_run

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from benchseal.desk.acting import Acting
    from benchseal.desk.acts_runs import IngestFile
    from benchseal.store.protocol import Reading, Row

EARLIER: Final = "earlier"
BOTH: Final = "both"
_REMEDY = (
    "Say which stands with --stands earlier or --stands both, and why with --stands-because; "
    "or cancel the earlier run (benchseal run cancel), then bring this file in."
)
_OTHER = (
    "Name the files of one run only. Where this file belongs to both, say --stands both, and why with "
    "--stands-because; or cancel the earlier run (benchseal run cancel), then bring the files in."
)
_ALSO = "The same answer decides it."


@dataclass(frozen=True, slots=True)
class Repeat:
    """A run of a file and the earlier one it repeats.

    earlier: row of ``run``; before: what that run was bound to. shared: how much of its readings are the same, where
    they alone tell; None where instrument, element, line and start do. file: where the bytes of one file tell, that
    file; is_whole: those of every other file of this run are on record as well.
    """

    run: Run
    earlier: Row
    before: Run
    shared: Sharing | None = None
    file: str = ""
    is_whole: bool = True

    @property
    def words(self) -> str:
        """How this run is like the earlier one, in words."""
        if self.file:
            return f"has the bytes of {self.file}"
        return f"{'has the same readings' if self.shared else 'is the same run'} from another file"


def repeats_of(
    view: Reading, act: IngestFile, runs: Sequence[Run], shared: Sequence[Sequence[Sharing]]
) -> list[Repeat]:
    """Runs of a file that are here already from other bytes and not cancelled. shared: what ``sharing`` found."""
    raw = digest(act.data)
    found: list[Repeat] = []
    for run, shares in zip(runs, shared, strict=True):
        begun = list(_repeats(view, run, raw))
        known = {each.earlier["run"] for each in begun}
        found += begun
        found += (
            Repeat(run, one.row, load(view, Run, one.row["bound"]), one)
            for one in shares
            if one.shared.is_same and one.row["state"] != "cancelled" and one.row["run"] not in known
        )
    return found + list(_repeats_by_file(view, act, runs, {(id(one.run), one.earlier["run"]) for one in found}))


def _repeats_by_file(
    view: Reading, act: IngestFile, runs: Sequence[Run], known: set[tuple[int, str]]
) -> Iterator[Repeat]:
    """Runs of which one file came in before, as a whole or among those of a run; each earlier run once.

    known: pairs of runs that something else tells. An earlier run is named at those of its own element, else at all.
    """
    whole = _runs_with(view, digest(act.data))
    here = [(part.name, _runs_with(view, digest(part.data))) for part in act.parts]
    is_whole = bool(whole) or all(earlier for _, earlier in here)
    for name, earlier in (*here, (act.source, whole)):
        for row in earlier:
            of = [run for run in runs if run.method.element == row["element"]] or runs
            for run in of:
                if (id(run), row["run"]) not in known:
                    known.add((id(run), row["run"]))
                    yield Repeat(run, row, load(view, Run, row["bound"]), None, name, is_whole)


def _runs_with(view: Reading, made: str) -> list[Row]:
    """Runs not cancelled whose file has bytes of this digest, or one of whose files has them."""
    raws = (made, *(row["raw"] for row in view.rows("source_part", part=made)))
    found = (row for raw in raws for row in view.rows("run", source_sha256=raw))
    return [row for row in found if row["state"] != "cancelled"]


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
    pairs = [pairs_of_run(run) for run in runs]
    for place, run in enumerate(runs):
        key = (run.instrument, f"{run.method.element} {run.method.wavelength_nm}", run.measured_at)
        first, what = seen.setdefault(key, run), f"The run of {key[1]} nm begun at {key[2]} stands in this file already"
        if first is run:
            same = (nth for nth in range(place) if shared_of(pairs[nth], pairs[place]).is_same)
            first, what = runs[next(same, place)], "The readings of this run stand in this file already"
        if first is not run:
            what += f", from line {first.document.facts.line} on."
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


def undecided(acting: Acting, act: IngestFile, runs: Sequence[Run], repeats: Sequence[Repeat]) -> tuple[Problem, ...]:
    """A problem for each repeat nobody decided. Raises Stopped where there is none to decide, or it was decided."""
    if not repeats and act.stands:
        what = "no run of this file is here already."
        raise Stopped(Refusal("ingest.no-repeat", act.source, what, "Leave --stands out."))
    if not repeats:
        return ()
    if said := _earlier_stands(acting.tx, digest(act.data)):
        _require_other_person(acting, act, [*said.values()])
    if act.stands == EARLIER:
        _require_all_here(runs, repeats)
    if act.stands:
        return ()
    return tuple(_problem(acting.tx, act, each, _ALSO if nth else _REMEDY) for nth, each in enumerate(repeats))


def _earlier_stands(view: Reading, raw: str) -> dict[str, Row]:
    """The decision at each earlier run by which these bytes were left out; none where the last one says otherwise."""
    said = view.rows("run_repeat", sha256=raw)
    if not said or said[-1]["stands"] != EARLIER:
        return {}
    return {row["run"]: row for row in said if row["stands"] == EARLIER}


def _require_other_person(acting: Acting, act: IngestFile, said: Sequence[Row]) -> None:
    """Raise Stopped where bytes that were left out stay out: all but another person saying that both stand."""
    what = f"{_said_before(said)} and not this file: {said[-1]['reason']}."
    if act.stands != BOTH:
        raise Stopped(Refusal("ingest.already", act.source, what, "Nothing needs to be done."))
    if acting.first.person == said[-1]["person"]:
        remedy = "Another analyst brings it in with --stands both; or cancel the earlier run, then bring this file in."
        raise Stopped(Refusal("ingest.stands-own", act.source, f"{what} Nobody turns that round alone.", remedy))


def _said_before(said: Sequence[Row]) -> str:
    last = said[-1]
    runs = ", ".join(each["run"] for each in said if each["at"] == last["at"])
    return f"{last['person']} said at {last['at']} that {runs} stand{'' if ', ' in runs else 's'}"


def _require_all_here(runs: Sequence[Run], repeats: Sequence[Repeat]) -> None:
    """Raise Stopped where a file is to be left out that holds a run which is not here yet."""
    new = [run for run in runs if not any(each.run is run and each.is_whole for each in repeats)]
    if new:
        remedy = "Export those alone; or say --stands both, then cancel what is double."
        what = "this run is not here yet, and with --stands earlier nothing of the file comes in."
        raise Stopped(*(Refusal("ingest.stands-part", at_run(run.document), what, remedy) for run in new))


def _problem(view: Reading, act: IngestFile, repeat: Repeat, remedy: str) -> Problem:
    row, where = repeat.earlier, at_run(repeat.run.document)
    if repeat.shared is not None:
        what = f"{repeat.shared.words}; by chance that does not happen."
        return Problem("ingest.same-readings", where, what, remedy)
    if repeat.file:
        came = view.row("source_file", sha256=row["source_sha256"]) or {"name": "a file of that run"}
        what = f"The bytes of {repeat.file} came in before, in {came['name']}: run {row['run']} ({row['state']})."
        return Problem("ingest.same-part", where, what, remedy if repeat.is_whole or remedy == _ALSO else _OTHER)
    readings, files = _readings_differ(repeat), _files_differ(view.bytes_of(row["source_sha256"]), act.data)
    what = f"Run {row['run']} ({row['state']}) is the same run from another file: {readings}; {files}."
    return Problem("ingest.same-run", where, what, remedy)


def _readings_differ(repeat: Repeat) -> str:
    old, new = (_readings(each) for each in (repeat.before, repeat.run))
    if old == new:
        return "all readings are the same"
    most = max(len(old), len(new))
    differ = most - (Counter(old) & Counter(new)).total()
    if not differ:
        return "all readings are the same, in another order"
    moved = sum(one != other for one, other in zip_longest(old, new)) > differ
    return f"{differ} of {most} readings differ" + (", and others stand at other places" if moved else "")


def _readings(run: Run) -> list[tuple[str, int, str, str]]:
    """Name, number in its solution, value and flag of each reading, in order."""
    document = run.document
    counts = zip(document.solutions.label, document.solutions.reading_count, strict=True)
    numbered = [(label, nth) for label, count in counts for nth in range(count)]
    values = zip(numbered, document.readings.signal, document.readings.flag, strict=True)
    return [(*which, signal, flag) for which, signal, flag in values]


def _files_differ(old: bytes, new: bytes) -> str:
    """In which line two files differ first, or that only their line ends do."""
    lines = [data.replace(b"\r\n", b"\n").replace(b"\r", b"\n").rstrip(b"\n").split(b"\n") for data in (old, new)]
    if lines[0] == lines[1]:
        return "only the line ends of the files differ"
    pairs = zip_longest(*lines)
    return f"the files differ from line {next(nth for nth, (one, other) in enumerate(pairs, 1) if one != other)} on"


def note_decision(
    acting: Acting, act: IngestFile, repeats: Sequence[Repeat], made: Sequence[tuple[Run, str]]
) -> list[str]:
    """Put on record, at each earlier run, who says what stands and why; lines for people. made: the new runs."""
    because, said = act.stands_because.strip(), _earlier_stands(acting.tx, digest(act.data))
    stands: list[str] = []
    for earlier in dict.fromkeys(each.earlier["run"] for each in repeats):
        of = [each.run for each in repeats if each.earlier["run"] == earlier]
        beside = [number for run, number in made if any(run is one for one in of)]
        acting.write(
            "run.repeated",
            f"run/{earlier}",
            facts={"name": act.source, "stands": act.stands, "beside": as_json(beside)}
            | ({"instead_of": int(said[earlier]["event"])} if earlier in said else {}),
            digests={"raw": digest(act.data)},
            reason=because,
        )
        stands.append(f"{' and '.join((earlier, *beside))} stand" if beside else f"{earlier} stands alone")
    if not stands:
        return []
    lines = [f"On record, said by {acting.first.person}: {'; '.join(stands)}, because {because}."]
    if said:
        before = [*said.values()]
        lines.append(f"Before, {_said_before(before)} and not this file: {before[-1]['reason']}.")
    return lines
