"""Pictures of one run for its reviewer: standards left out, readings over the order of the run."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING, Final

from benchseal.certificate import wording
from benchseal.pictures.calibration import Standard
from benchseal.pictures.over_run import SHAPES, Kind, OverRunData, Read
from benchseal.records.corrections import EXCLUSION_CAUSES
from benchseal.records.quantities import unit_shown

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from benchseal.records.corrections import RunCorrections
    from benchseal.records.results import RunWork
    from benchseal.records.run import Run, RunDocument

FLAGS: Final = {
    "over_range": "over range, no number",
    "missing": "no reading",
    "excluded": "left out",
}
_BLANKS: Final = {
    "calibration_blank": "calibration blank",
    "check_blank": "check blank",
    "method_blank": "method blank",
    "rinse": "rinse",
}
_ZERO: Final = "zero standard"


def left_out_because(position: int, corrections: RunCorrections) -> str:
    """Why a person left out a position, in words; empty where nobody did."""
    return next((EXCLUSION_CAUSES[one.cause] for one in corrections.excluded if one.position == position), "")


def standards_left_out(
    run: Run, as_read: RunDocument, work: RunWork, corrections: RunCorrections
) -> tuple[tuple[Standard, ...], tuple[str, ...]]:
    """Standards that are no point of the curve: those with a number as the file has it, and words about the others."""
    levels = {standard.label: standard.concentration for standard in run.method.standards}
    used = {level.position for level in work.calibration.levels}
    solutions = run.document.solutions
    drawn: list[Standard] = []
    told: list[str] = []
    for place, (position, label, kind) in enumerate(
        zip(solutions.position, solutions.label, solutions.kind, strict=True)
    ):
        if kind != "standard" or position in used or work.calibration.stored or label not in levels:
            continue
        why = left_out_because(position, corrections) or _flagged(run, place) or "no point of the curve"
        numbers = [float(text) for text in _signals(as_read, place)]
        if numbers:
            drawn.append(Standard(float(levels[label]), sum(numbers) / len(numbers), why))
        else:
            told.append(f"{label} at position {position} is not drawn: {why}")
    return tuple(drawn), tuple(told)


def over_run_data(run: Run, work: RunWork, kinds: Sequence[str], named: str) -> OverRunData | None:
    """Readings of check standards of the commonest concentration, and of blanks; None where neither was read.

    kinds: of the solutions, those of prepared ones as their preparation has them.
    """
    standards = _check_standards(run, kinds)
    blanks = tuple(_blank_kinds(run, kinds))
    if not standards[1] and not blanks:
        return None
    area = work.calibration.signal_unit.endswith("s")
    steps = [
        (portion.position, step) for result in work.results for portion in result.portions for step in portion.drift
    ]
    spans = {at: (float(step.blank), float(step.blank) + float(step.span)) for at, step in steps if step.blank}
    return OverRunData(
        subject=named,
        signal="integrated absorbance" if area else "absorbance",
        unit="s" if area else "",
        named=standards[0],
        standards=standards[1],
        blanks=blanks,
        standard_line=tuple(Read(at, spans[at][1]) for at in sorted(spans)) if standards[1] else (),
        blank_line=tuple(Read(at, spans[at][0]) for at in sorted(spans)) if blanks else (),
    )


def _check_standards(run: Run, kinds: Sequence[str]) -> tuple[str, tuple[Read, ...]]:
    solutions = run.document.solutions
    places = [place for place, kind in enumerate(kinds) if kind == "check_standard"]
    counted = Counter(solutions.nominal[place] for place in places)
    if not counted:
        return "", ()
    nominal = counted.most_common(1)[0][0]
    own = [place for place in places if solutions.nominal[place] == nominal]
    stated = {rule.expected for rule in run.method.checks if rule.check == "check_standard" and rule.expected}
    concentration = nominal or (stated.pop() if len(stated) == 1 else "")
    unit = unit_shown(run.method.solution_unit)
    tail = f" {wording.printed(concentration)} {unit}" if concentration else ""
    return f"check standard{tail}", tuple(_reads(run, own))


def _blank_kinds(run: Run, kinds: Sequence[str]) -> Iterator[Kind]:
    """At most as many kinds as there are shapes, in the order of the table."""
    zero = {standard.label for standard in run.method.standards if float(standard.concentration) == 0.0}
    solutions = run.document.solutions
    by_name: dict[str, list[int]] = {name: [] for name in (_ZERO, *_BLANKS.values())}
    for place, (label, kind) in enumerate(zip(solutions.label, kinds, strict=True)):
        name = _ZERO if kind == "standard" and label in zero else _BLANKS.get(kind, "")
        if name:
            by_name[name].append(place)
    found = [Kind(name, reads) for name, places in by_name.items() if (reads := tuple(_reads(run, places)))]
    yield from found[: len(SHAPES)]


def _reads(run: Run, places: Iterable[int]) -> Iterator[Read]:
    """Readings that are numbers."""
    for place in places:
        position = run.document.solutions.position[place]
        yield from (Read(position, float(text)) for text in _signals(run.document, place))


def _signals(document: RunDocument, place: int) -> list[str]:
    first, count = document.solutions.first_reading[place], document.solutions.reading_count[place]
    return [text for text in document.readings.signal[first : first + count] if text]


def _flagged(run: Run, place: int) -> str:
    first, count = run.document.solutions.first_reading[place], run.document.solutions.reading_count[place]
    flags = [flag for flag in run.document.readings.flag[first : first + count] if flag]
    return FLAGS.get(flags[0], flags[0]) if flags else ""
