"""A file that is to use the curve of an earlier run: what must hold of both, and what is copied."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

from benchseal.problems import Problem
from benchseal.records.quantities import decimal_of
from benchseal.records.run import PRESENTED_KINDS, StoredCurve, StoredSolution
from benchseal.validate.instrument_state import corrected
from benchseal.validate.places import at_run, at_solution

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from benchseal.records.known import Known, Lent
    from benchseal.records.method import Method
    from benchseal.records.quantities import PlainDecimal
    from benchseal.records.registers import StandardLot
    from benchseal.records.run import DocumentRef, Run, RunDocument

CALIBRATES = frozenset({"calibration_blank", "standard"})
_CALIBRATE = "Measure a calibration with the samples."
_READ_AGAIN = "Read one correction standard with a calibration blank beside it before the first sample; export again."


def lent_to(document: RunDocument, known: Known) -> Lent | None:
    """The run whose curve was named for this element, or None."""
    return next((lent for lent in known.lent if lent.run.method.element == document.facts.element), None)


def curve_copied(lent: Lent) -> StoredCurve:
    """Every reading the curve of ``lent`` is fitted to."""
    return stored_curve(lent.number, lent.version, lent.work, lent.run)


def stored_curve(number: str, version: int, work: str, run: Run) -> StoredCurve:
    """The calibration of ``run`` as a later run keeps it; ``verify --all`` makes it again to compare."""
    columns, readings = run.document.solutions, run.document.readings
    solutions = []
    for place, kind in enumerate(columns.kind):
        first = columns.first_reading[place]
        rows = slice(first, first + columns.reading_count[place])
        if kind in CALIBRATES:
            solutions.append(
                StoredSolution(
                    position=columns.position[place],
                    label=columns.label[place],
                    kind=kind,
                    nominal=columns.nominal[place],
                    signals=readings.signal[rows],
                    lines=readings.line[rows],
                )
            )
    return StoredCurve(number, version, work, run.document.source_sha256, run.measured_at, tuple(solutions))


def lender_problems(document: RunDocument, found: tuple[DocumentRef, Method], lent: Lent) -> Iterator[Problem]:
    """Why the curve of ``lent`` cannot be used for this file, whenever it was measured."""
    ref, method = found
    if not method.stored_curve.valid_hours:
        what = f"Method {method.id} does not allow the curve of an earlier run ({lent.number} is named)."
        remedy = f"{_CALIBRATE[:-1]}, or have a version of the method approved that allows it."
        yield _problem(document, "validate.curve-not-allowed", what, remedy)
    if lent.state != "reviewed":
        what = f"{lent.number} is {lent.state}; a curve is used from a reviewed run only."
        yield _problem(document, "validate.curve-not-reviewed", what, "Have it reviewed first, or name another run.")
    elif not (lent.usable and lent.good):
        what = (
            f"{lent.number} is reviewed but not usable: {'a check' if lent.good else 'its calibration'} failed there."
        )
        yield _problem(document, "validate.curve-unusable", what, f"Name another run. {_CALIBRATE}")
    if lent.run.stored_curve:
        what = f"{lent.number} uses the curve of {lent.run.stored_curve[0].run} itself; it has none to lend."
        yield _problem(
            document, "validate.curve-lent-on", what, f"Name {lent.run.stored_curve[0].run}, if it is young enough."
        )
    other = lent.run.method_ref
    if other != ref:
        what = f"{lent.number} was measured by {other.id} version {other.version}; this file by {ref.id} version "
        what += f"{ref.version}."
        yield _problem(document, "validate.curve-method", what, f"Name a run of the same version. {_CALIBRATE}")


def used_problems(
    document: RunDocument, method: Method, known: Known, lots: Sequence[StandardLot], here: tuple[str, str] | None
) -> Iterator[Problem]:
    """Instrument, lot and age of the curve lent to the file. here: instrument and UTC time of this file, where known.

    Times are held against each other as the checks of the instrument's clock correct them.
    """
    lent = lent_to(document, known)
    if lent is None:
        return
    if lots and lent.run.standard_lots[:1] != (lots[0].lot,):
        what = f"{lent.number} was calibrated with lot {lent.run.standard_lots[0]}; in use now is {lots[0].lot}."
        yield _problem(document, "validate.curve-lot", what, _CALIBRATE)
    if here is None:
        return
    instrument, moment = here
    if lent.run.instrument != instrument:
        what = f"{lent.number} was measured on {lent.run.instrument}; this file on {instrument}."
        yield _problem(document, "validate.curve-instrument", what, f"Name a run of {instrument}. {_CALIBRATE}")
    events = known.instrument_events.get(instrument, ())
    first, second = (corrected(shown, events) for shown in (lent.run.measured_at, moment))
    apart_s = (datetime.fromisoformat(second) - datetime.fromisoformat(first)).total_seconds()
    if apart_s < 0:
        what = f"{lent.number} was measured at {first}, after this file ({second})."
        yield _problem(document, "validate.curve-later", what, f"Name an earlier run. {_CALIBRATE}")
    elif method.stored_curve.valid_hours and apart_s > decimal_of(method.stored_curve.valid_hours) * 3600:
        what = f"{lent.number} was measured at {first}, this file at {second}; method {method.id} allows "
        what += f"{method.stored_curve.valid_hours} hours between them."
        yield _problem(document, "validate.curve-old", what, f"Name a younger run. {_CALIBRATE}")


def correction_problems(document: RunDocument, method: Method, lent: Lent) -> Iterator[Problem]:
    """Calibration solutions of a file that is to use an earlier curve: a correction standard, its blank, no others."""
    kinds = document.solutions.kind
    for index, kind in enumerate(kinds):
        if kind == "standard":
            what = f"{document.solutions.label[index]} is a standard; the file is to use the curve of {lent.number}."
            remedy = "Leave the name of the other run out, or calibrate in one of the two ways only."
            yield Problem("validate.curve-standards", at_solution(document, index), what, remedy)
    standards = [index for index, kind in enumerate(kinds) if kind == "correction_standard"]
    blanks = [index for index, kind in enumerate(kinds) if kind == "calibration_blank"]
    if len(standards) != 1:
        what = f"The file has {len(standards)} correction standards; to use the curve of {lent.number} it needs one."
        yield _problem(document, "validate.correction-standards", what, _READ_AGAIN)
        return
    index = standards[0]
    if len(blanks) != 1 or abs(blanks[0] - index) != 1:
        what = f"The file has {len(blanks)} calibration blanks; directly beside the correction standard it needs one."
        yield _problem(document, "validate.correction-blank", what, _READ_AGAIN)
    before = [place for place, kind in enumerate(kinds[: max(index, *blanks, 0)]) if kind in PRESENTED_KINDS]
    if before:
        what = f"{document.solutions.label[before[0]]} was presented before the correction standard and its blank."
        yield Problem("validate.correction-late", at_solution(document, before[0]), what, _READ_AGAIN)
    yield from _nominal(document, method, lent, index)
    for place in (index, *blanks):
        yield from _read_plainly(document, place)


def _nominal(document: RunDocument, method: Method, lent: Lent, index: int) -> Iterator[Problem]:
    """What the correction standard holds: the method's concentration under its label, else the one printed."""
    label, printed = document.solutions.label[index], document.solutions.nominal[index]
    level = next((one.concentration for one in method.standards if one.label == label), "")
    where, unit = at_solution(document, index), method.solution_unit
    if level and printed and decimal_of(level) != decimal_of(printed):
        what = f"{label} is {printed} in the file; the method says {level} {unit}."
        yield Problem("validate.nominal-differs", where, what, "Correct the entry at the instrument.")
    holds = level or printed
    if not holds:
        what = f"Nothing says what {label} holds: it is no standard of {method.id}, and the file prints nothing."
        remedy = "Name it as a standard of the method, or enter its concentration at the instrument."
        yield Problem("validate.correction-nominal", where, what, remedy)
        return
    held = [_holds(lent, place) for place, kind in enumerate(lent.run.document.solutions.kind) if kind in CALIBRATES]
    levels = [decimal_of(text) for text in held if text]
    if not lent.run.stored_curve and levels and not min(levels) <= decimal_of(holds) <= max(levels):
        span = f"{min(levels)} to {max(levels)}"
        what = f"{label} holds {holds} {unit}; the curve of {lent.number} goes from {span} {unit}."
        yield Problem("validate.correction-outside", where, what, "Use a standard of the middle or upper range.")


def _holds(lent: Lent, place: int) -> PlainDecimal:
    label = lent.run.document.solutions.label[place]
    return next((one.concentration for one in lent.run.method.standards if one.label == label), "")


def _read_plainly(document: RunDocument, index: int) -> Iterator[Problem]:
    """Undiluted, and with numbers only: they calibrate."""
    solutions, where = document.solutions, at_solution(document, index)
    label, dilution = solutions.label[index], solutions.dilution[index]
    if decimal_of(dilution) != 1:
        what = f"{label} has an extra dilution of {dilution}; calibration and checks have none."
        yield Problem("validate.dilution-of-check", where, what, _READ_AGAIN)
    first = solutions.first_reading[index]
    if "over_range" in document.readings.flag[first : first + solutions.reading_count[index]]:
        what = f"A reading of {label} is over range: it cannot calibrate."
        yield Problem("validate.standard-over-range", where, what, _READ_AGAIN)


def unplanned_problems(document: RunDocument) -> Iterator[Problem]:
    """A correction standard in a file that is calibrated by its own standards."""
    for index, kind in enumerate(document.solutions.kind):
        if kind == "correction_standard":
            label = document.solutions.label[index]
            what = f"{label} is a correction standard, and no run is named whose curve it corrects."
            remedy = "Name the run with --curve-of, or correct the entry at the instrument."
            yield Problem("validate.correction-unplanned", at_solution(document, index), what, remedy)


def _problem(document: RunDocument, code: str, what: str, remedy: str) -> Problem:
    return Problem(code, at_run(document), what, remedy)
