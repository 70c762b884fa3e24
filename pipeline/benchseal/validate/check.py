"""Run documents to runs: everything that must hold before a number is calculated, and every problem at once."""

from __future__ import annotations

from dataclasses import replace
from types import MappingProxyType
from typing import TYPE_CHECKING

from benchseal.problems import Problem
from benchseal.records.preparation import Portion
from benchseal.records.run import Run
from benchseal.validate.additions import addition_problems
from benchseal.validate.bracketing import bracketing_problems
from benchseal.validate.keeping import keeping_problems
from benchseal.validate.methods import given_unit_problems, method_of, method_problems
from benchseal.validate.portions import portion_problems, portions_of
from benchseal.validate.registers import (
    Fold,
    clock_changed,
    instrument_of,
    instrument_problems,
    lot_of,
    measured_at,
    put_back_problems,
    reading_time_problems,
    same_lot_problems,
)
from benchseal.validate.shape import shape_problems
from benchseal.validate.solutions import (
    background_problems,
    calibration_problems,
    check_problems,
    mean_problems,
    replicate_problems,
)
from benchseal.validate.stored import (
    correction_problems,
    curve_copied,
    lender_problems,
    lent_to,
    unplanned_problems,
    used_problems,
)

if TYPE_CHECKING:
    from collections.abc import Mapping

    from benchseal.records.known import Known, Lent
    from benchseal.records.method import Method
    from benchseal.records.registers import Instrument, StandardLot
    from benchseal.records.run import DocumentRef, RunDocument

_NO_UNITS: Mapping[str, str] = MappingProxyType({})


def check_run(
    document: RunDocument, known: Known, *, fold: Fold = None, given_in: Mapping[str, str] = _NO_UNITS
) -> Run | tuple[Problem, ...]:
    """The run a document is, or every problem in it.

    fold: 0 or 1 where the document's layout says which of two equal local hours its clock means (``doubled_hour``
    first or second); None where it says ``refuse``. given_in: ``unit_spellings.given_units`` of that layout.
    """
    problems = list(shape_problems(document))
    if problems:
        return tuple(problems)
    moment = _instrument_and_time(document, known, fold, problems)
    found, lent = method_of(document, known), lent_to(document, known)
    if isinstance(found, list):
        problems.extend(found)
    portions = portions_of(document, known)
    lots: tuple[StandardLot, ...] = ()
    if not isinstance(found, list):
        problems.extend(_against_method(document, found, lent))
        problems.extend(given_unit_problems(document, found[1], given_in))
        problems.extend(addition_problems(document, found[1], portions))
        if moment is not None:
            problems.extend(keeping_problems(document, found[1], portions, moment, known))
        lots = _lots(document, found[1], known, problems)
        if lent is not None:
            here = None if moment is None else (moment[0].instrument, moment[1])
            problems.extend(used_problems(document, found[1], known, lots, here))
    problems.extend(mean_problems(document))
    problems.extend(portion_problems(document, portions))
    if problems or moment is None or isinstance(found, list):
        return tuple(problems)
    run = _bound(document, found, moment, portions, lots)
    return run if lent is None else replace(run, stored_curve=(curve_copied(lent),))


def _bound(
    document: RunDocument,
    found: tuple[DocumentRef, Method],
    moment: tuple[Instrument, str],
    portions: tuple[Portion | Problem | None, ...],
    lots: tuple[StandardLot, ...],
) -> Run:
    ref, method = found
    instrument, at = moment
    return Run(
        document=document,
        method=method,
        method_ref=ref,
        instrument=instrument.instrument,
        measured_at=at,
        portion=tuple((item.batch, item.portion) if isinstance(item, Portion) else ("", "") for item in portions),
        hidden=(False,) * len(portions),
        standard_lots=tuple(lot.lot for lot in lots),
        clock_changed=clock_changed(document, instrument),
    )


def _instrument_and_time(
    document: RunDocument, known: Known, fold: Fold, problems: list[Problem]
) -> tuple[Instrument, str] | None:
    instrument = instrument_of(document, known)
    if isinstance(instrument, Problem):
        problems.append(instrument)
        return None
    problems.extend(instrument_problems(document, instrument))
    moment = measured_at(document, instrument, known, fold)
    if isinstance(moment, Problem):
        problems.append(moment)
        return None
    problems.extend(reading_time_problems(document, instrument))
    problems.extend(put_back_problems(document, instrument, fold))
    return instrument, moment


def _against_method(document: RunDocument, found: tuple[DocumentRef, Method], lent: Lent | None) -> tuple[Problem, ...]:
    method = found[1]
    if lent is None:
        calibrated = (*calibration_problems(document, method), *unplanned_problems(document))
    else:
        calibrated = (*lender_problems(document, found, lent), *correction_problems(document, method, lent))
    return (
        *method_problems(document, method),
        *calibrated,
        *check_problems(document, method),
        *bracketing_problems(document, method),
        *replicate_problems(document, method),
        *background_problems(document, method),
    )


def _lots(document: RunDocument, method: Method, known: Known, problems: list[Problem]) -> tuple[StandardLot, ...]:
    if not document.facts.started_at:
        return ()
    found = [lot_of(document, method, known, "calibration")]
    if "second_source" in document.solutions.kind:
        found.append(lot_of(document, method, known, "second_source"))
    problems.extend(item for item in found if isinstance(item, Problem))
    lots = tuple(item for item in found if not isinstance(item, Problem))
    problems.extend(same_lot_problems(document, lots))
    return lots
