"""Many runs of a block against everything that must hold: which of them ``check_run`` is sure to find nothing in.

It only says yes, and it asks the rules themselves: what the file says as a whole is judged once for all runs that say
the same, a solution once for all that differ in nothing but their signals, a calibration once for all made of the same
solutions. Compared for each run are the rules about two solutions or two times. Where anything is found, or a method
asks for more (brackets, an earlier curve), the run is left to ``check_run``, which says what there is.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from functools import lru_cache
from itertools import accumulate
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import numpy as np

from benchseal.problems import Problem
from benchseal.records.keeping import kept_for
from benchseal.records.preparation import Portion
from benchseal.records.run import DocumentRef, MeanColumns, ReadingColumns, RunDocument, SolutionColumns
from benchseal.validate.additions import addition_problems
from benchseal.validate.bracketing import bracketing_problems
from benchseal.validate.many_means import means_fit
from benchseal.validate.methods import given_unit_fits, method_of, method_problems
from benchseal.validate.portions import normal_dilution, portions_of, unfit_portion
from benchseal.validate.registers import (
    instrument_of,
    instrument_problems,
    keeps_its_clock,
    lot_of,
    measured_at,
    same_lot_problems,
)
from benchseal.validate.shape import shape_problems
from benchseal.validate.solutions import calibration_problems, check_problems, replicate_problems
from benchseal.validate.stored import CALIBRATES, unplanned_problems

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from benchseal.records.block import Alike, Array, BlockRun, RunBlock
    from benchseal.records.known import Known
    from benchseal.records.method import Method
    from benchseal.records.registers import Instrument
    from benchseal.records.run import RunFacts
    from benchseal.validate.registers import Fold

_NO_DIGEST = "0" * 64
_NO_LAYOUT = DocumentRef("block", 1, _NO_DIGEST)
_NEVER = 0  # a day before every day there is, as a whole number YYYYMMDD
_STEP = timedelta(minutes=15)


def check_block(
    block: RunBlock, known: Known, *, fold: Fold = None, given_in: Mapping[str, str] | None = None
) -> tuple[bool, ...]:
    """For each run of a block whether ``check_run`` of its document gives a run. fold, given_in: as there."""
    sure = np.zeros(len(block.runs), dtype=bool)
    if known.lent:
        return tuple(sure.tolist())
    places = _Places(block)
    groups: dict[RunFacts, list[int]] = {}
    by_object: dict[int, list[int]] = {}  # most runs share their facts: equal ones are looked for among the few others
    for nth, run in enumerate(block.runs):
        by_object.setdefault(id(run.facts), []).append(nth)
    for indexes in by_object.values():
        groups.setdefault(block.runs[indexes[0]].facts, []).extend(indexes)
    for facts, indexes in groups.items():
        one = _Group(block, places, known, fold, facts)
        sure[indexes] = one.sure(np.array(indexes), given_in or {})
    return tuple((sure & means_fit(block)).tolist())


class _Places:
    """Of every solution of the runs of a block: which run it is of, and what it is."""

    def __init__(self, block: RunBlock) -> None:
        counts = block.solutions[:, 1] - block.solutions[:, 0]
        ends = np.cumsum(counts)
        index = np.repeat(block.solutions[:, 0] - (ends - counts), counts) + np.arange(int(counts.sum()))
        self.run = np.repeat(np.arange(len(counts)), counts)
        self.alike = block.alike[index]


class _Group:
    """The runs of a block that say the same of themselves."""

    def __init__(self, block: RunBlock, places: _Places, known: Known, fold: Fold, facts: RunFacts) -> None:
        self._block, self._places, self._known, self._fold, self._facts = block, places, known, fold, facts
        self._days: dict[tuple[str, bool], bool] = {}

    def sure(self, runs: Array, given_in: Mapping[str, str]) -> Array:
        """Whether each of these runs is sure."""
        begun = replace(self._facts, started_at=self._block.runs[runs[0]].started_at, line=1)
        document = _document(begun, ())
        found, instrument = method_of(document, self._known), instrument_of(document, self._known)
        if isinstance(found, list) or isinstance(instrument, Problem):
            return np.zeros(len(runs), dtype=bool)
        method = found[1]
        as_given = given_unit_fits(document.facts.element, method, given_in)
        if not as_given or not _is_ordinary(method) or any(method_problems(document, method)):
            return np.zeros(len(runs), dtype=bool)
        inside = np.isin(self._places.run, runs) if len(runs) < len(self._block.runs) else slice(None)
        run, alike = self._places.run[inside], self._places.alike[inside]
        kinds = np.array([one.kind in CALIBRATES for one in self._block.distinct])
        fine = np.zeros(len(self._block.runs), dtype=bool)
        fine[runs] = True
        fine[run[~self._fit(np.unique(alike), begun, method)[alike]]] = False
        fine[self._twice(run, alike)] = False
        second = np.zeros(len(fine), dtype=bool)
        second[run[np.array([one.kind == "second_source" for one in self._block.distinct])[alike]]] = True
        at = _bounds(run[kinds[alike]], len(fine))
        calibrating = alike[kinds[alike]]
        calibrated: dict[bytes, bool] = {}
        for nth in runs[fine[runs]].tolist():
            ids = calibrating[at[nth] : at[nth + 1]]
            if (key := ids.tobytes()) not in calibrated:
                standards = _document(begun, [self._block.distinct[one] for one in ids])
                calibrated[key] = not any(calibration_problems(standards, method))
            one = self._block.runs[nth]
            fine[nth] = calibrated[key] and self._in_time(one, instrument, method, bool(second[nth]))
        fine[runs] &= self._background(method)[runs]
        return fine[runs]

    # Solutions

    def _fit(self, used: Array, begun: RunFacts, method: Method) -> Array:
        """For each distinct solution whether the rules about a solution alone find nothing in it."""
        distinct = self._block.distinct
        fit = np.zeros(len(distinct), dtype=bool)
        solutions = [distinct[one] for one in used]
        if not self._faulty(solutions, begun, method):
            fit[used] = True
            return fit
        fit[used] = [not self._faulty([one], begun, method) for one in solutions]
        return fit

    def _faulty(self, solutions: Sequence[Alike], begun: RunFacts, method: Method) -> bool:
        document = replace(_document(begun, solutions), layout=self._block.layout)
        if shape_problems(document):
            return True
        document = _document(replace(begun, started_at=""), solutions)  # days are compared for each run
        portions = portions_of(document, self._known)
        return any(isinstance(portion, Problem) for portion in portions) or any(
            _problems(document, method, portions),
        )

    def _twice(self, run: Array, alike: Array) -> Array:
        """Runs with a solution read twice at one dilution, or prepared after it was read."""
        keys: dict[tuple[str, str], int] = {}
        key, prepared = [], []
        for portion, one in zip(self._portions(), self._block.distinct, strict=True):
            is_portion = isinstance(portion, Portion)
            name = (one.label, normal_dilution(one.dilution)) if is_portion else ("", "")
            key.append(keys.setdefault(name, len(keys)) if is_portion else -1)
            prepared.append(_day(portion.prepared_at) if isinstance(portion, Portion) else _NEVER)
        own = np.array(key)[alike]
        places = np.sort((run * (len(keys) + 1) + own)[own >= 0])
        twice = places[1:][places[1:] == places[:-1]] // (len(keys) + 1)
        days = np.array([_day(one.started_at) for one in self._block.runs])
        late = run[np.array(prepared)[alike] > days[run]]
        return np.concatenate((twice, late))

    def _portions(self) -> tuple[Portion | Problem | None, ...]:
        return portions_of(_document(self._facts, self._block.distinct), self._known)

    def _background(self, method: Method) -> Array:
        """Whether a run comes with background absorbances, where its method judges them."""
        if not method.conditions.largest_background:
            return np.ones(len(self._block.runs), dtype=bool)
        if "background" not in self._block.table.column_names:
            return np.zeros(len(self._block.runs), dtype=bool)
        column = self._block.table["background"]
        return np.array([column[int(row)].as_py() != "" for row in self._block.rows[:, 0]])

    # Days and times

    def _in_time(self, run: BlockRun, instrument: Instrument, method: Method, second: bool) -> bool:
        day = run.started_at[:10]
        if (day, second) not in self._days:
            self._days[day, second] = self._good_day(day, instrument, method, second)
        if not self._days[day, second]:
            return False
        last = (run.ended_at or run.started_at)[:10]
        quiet = not self._known.instrument_events.get(instrument.instrument)
        if quiet and _ends(day, last, instrument.zone) <= self._known.now[:19]:
            return True
        if run.ended_at and not keeps_its_clock(run.started_at, run.ended_at, instrument.zone):
            return False  # a reading between may be of an hour left out
        document = _document(replace(self._facts, started_at=run.started_at), (), run.ended_at)
        return isinstance(measured_at(document, instrument, self._known, self._fold), str)

    def _good_day(self, day: str, instrument: Instrument, method: Method, second: bool) -> bool:
        document = _document(replace(self._facts, started_at=f"{day}T00:00:00"), ())
        lots = [lot_of(document, method, self._known, "calibration")]
        if second:
            lots.append(lot_of(document, method, self._known, "second_source"))
        good = tuple(lot for lot in lots if not isinstance(lot, Problem))
        others = (*instrument_problems(document, instrument), *same_lot_problems(document, good))
        return len(good) == len(lots) and not others


def _is_ordinary(method: Method) -> bool:
    return not (method.calibration.bracketing or kept_for(method.digests_keep))


def _problems(
    document: RunDocument, method: Method, portions: tuple[Portion | Problem | None, ...]
) -> Iterable[Problem]:
    """What the rules about each solution alone say."""
    yield from check_problems(document, method)
    yield from bracketing_problems(document, method)
    yield from replicate_problems(document, method)
    yield from unplanned_problems(document)
    yield from addition_problems(document, method, portions)
    for index, portion in enumerate(portions):
        if isinstance(portion, Portion):
            yield from unfit_portion(document, index, portion)


def _document(facts: RunFacts, solutions: Sequence[Alike], last: str = "") -> RunDocument:
    """A document that holds these solutions, each with as many readings of nothing. last: when the last was taken."""
    counts = tuple(one.readings for one in solutions)
    ends = list(accumulate(counts, initial=0))
    total = ends[-1]
    each = tuple(range(1, total + 1))
    return RunDocument(
        "run-document/1", "block", _NO_DIGEST, 1, _NO_LAYOUT, facts,
        SolutionColumns(
            tuple(range(1, len(counts) + 1)), tuple(one.label for one in solutions),
            tuple(one.kind for one in solutions), tuple(one.nominal for one in solutions),
            tuple(one.dilution for one in solutions), tuple(ends[:-1]), counts,
        ),
        ReadingColumns(
            ("0",) * total, ("0",) * total, each, (1,) * total, each, (last,) if last else ("",) * total,
            ("",) * total, ("",) * total,
        ),
        MeanColumns((), (), ()),
    )  # fmt: skip


def _bounds(run: Array, count: int) -> list[int]:
    """Where the items of each run begin, and the end. run: rising."""
    return np.searchsorted(run, np.arange(count + 1)).tolist()  # type: ignore[no-any-return]  # arrays have no types here


@lru_cache(maxsize=4096)
def _day(text: str) -> int:
    return int(text[:10].replace("-", "")) if text else _NEVER


@lru_cache(maxsize=4096)
def _ends(first: str, last: str, zone_name: str) -> str:
    """UTC end of the last of some days in a zone; later than any time there is where its clocks change on them."""
    zone = ZoneInfo(zone_name)
    at, end = datetime.fromisoformat(first), datetime.fromisoformat(last) + timedelta(days=1)
    offset = at.replace(tzinfo=zone).utcoffset()
    while at <= end:
        if any(at.replace(tzinfo=zone, fold=fold).utcoffset() != offset for fold in (0, 1)):
            return "~"
        at += _STEP
    return f"{end.replace(tzinfo=zone).astimezone(UTC):%Y-%m-%dT%H:%M:%S}"
