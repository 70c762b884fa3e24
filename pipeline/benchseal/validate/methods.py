"""Which approved method a run was measured by, and whether the file agrees with it."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from benchseal.problems import Problem
from benchseal.records.quantities import decimal_of, unit_factor, unit_shown
from benchseal.validate.places import at_run, at_solution, nearest

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from benchseal.records.known import Known
    from benchseal.records.method import Method
    from benchseal.records.quantities import PlainDecimal
    from benchseal.records.run import DocumentRef, RunDocument, RunFacts

_STATE_IT = "Have the export write it, or state it in a new version of the layout (`stated`), if it was measured so."
_MEASURE_AGAIN = "Measure with the settings of the approved method, or have a new version of the method approved."

_SAME_UNIT = (
    "Enter the concentrations at the instrument in the method's unit. Let a new version of the layout say by `words` "
    "which unit a text that is not known means for nominal_unit, or mark a column ignored whose unit is not meant."
)


def method_of(document: RunDocument, known: Known) -> tuple[DocumentRef, Method] | list[Problem]:
    """The method the file names; where the file names none, the only one for element, technique and wavelength.

    Where several share the name, element, technique and wavelength tell them apart; where none of them fits, what
    differs whichever is meant is said.
    """
    facts = document.facts
    named = [(ref, method) for ref, method in known.methods if facts.method_name in method.file_names]
    if len(named) > 1:
        same_line = [(ref, method) for ref, method in named if _same_line(facts, method)]
        if not same_line and (differing := _differing(document, [method for _, method in named])):
            return differing
        named = same_line
    unnamed = () if facts.method_name else known.methods
    fitting = named or [(ref, method) for ref, method in unnamed if _same_line(facts, method)]
    if len(fitting) == 1:
        return fitting[0]
    asked = f"'{facts.method_name}' ({facts.element}, {facts.technique}, {facts.wavelength_nm} nm)"
    if fitting:
        names = ", ".join(ref.id for ref, _ in fitting)
        what = f"More than one approved method fits {asked}: {names}."
        return [Problem("validate.method-several", at_run(document), what, "Name the method at the instrument.")]
    near = nearest(facts.method_name, (name for _, method in known.methods for name in method.file_names))
    what = f"No approved method fits {asked}. Names known: {near}."
    remedy = "Name an approved method at the instrument, or have this method approved."
    return [Problem("validate.method-unknown", at_run(document), what, remedy)]


def _differing(document: RunDocument, methods: list[Method]) -> list[Problem]:
    """Every setting in which the file differs from each of the methods, with what each requires."""
    found = [{problem.code: problem for problem in method_problems(document, method)} for method in methods]
    return [
        replace(problem, what=" ".join(dict.fromkeys(each[code].what for each in found)))
        for code, problem in found[0].items()
        if all(code in each for each in found)
    ]


def _same_line(facts: RunFacts, method: Method) -> bool:
    same_wavelength = decimal_of(facts.wavelength_nm) == decimal_of(method.wavelength_nm)
    return (facts.element, facts.technique) == (method.element, method.technique) and same_wavelength


def method_problems(document: RunDocument, method: Method) -> Iterator[Problem]:
    """Every fact of the file that is not what the method requires."""
    facts = document.facts
    if decimal_of(facts.wavelength_nm) != decimal_of(method.wavelength_nm):
        yield _differs(document, method, "wavelength_nm", f"{facts.wavelength_nm} nm", f"{method.wavelength_nm} nm")
    for name in ("element", "technique", "background_correction"):
        found, required = getattr(facts, name), getattr(method, name)
        if found != required:
            yield _differs(document, method, name, found, required)
    if facts.signal_is == "instrument_concentration" != method.signal_is:
        what = f"The file holds concentrations only; method {method.id} requires {method.signal_is}."
        remedy = "Export the readings themselves, so that the calibration can be calculated."
        yield Problem("validate.concentration-only", at_run(document), what, remedy)
    elif facts.signal_is != method.signal_is:
        yield _differs(document, method, "signal_is", facts.signal_is, method.signal_is)
    elif facts.signal_unit != method.signal_unit:
        yield _differs(document, method, "signal_unit", facts.signal_unit, method.signal_unit)
    yield from _settings(document, method)


def given_unit_problems(document: RunDocument, method: Method, given_in: Mapping[str, str]) -> Iterator[Problem]:
    """Concentrations the file gives its standards in another unit than the method's: the same figures say another."""
    columns = document.solutions
    index = next((nth for nth, text in enumerate(columns.nominal) if text), None)
    if index is None or given_unit_fits(document.facts.element, method, given_in):
        return
    unit = given_in.get(document.facts.element) or given_in[""]
    what = f"The file gives concentrations in {unit_shown(unit)}; method {method.id} has them in "
    what += f"{unit_shown(method.solution_unit)}."
    yield Problem("validate.nominal-unit-differs", at_solution(document, index), what, _SAME_UNIT)


def given_unit_fits(element: str, method: Method, given_in: Mapping[str, str]) -> bool:
    """Whether concentrations given in a file are in the method's unit, or the layout knows no unit of them."""
    unit = given_in.get(element) or given_in.get("", "")
    try:
        return not unit or unit_factor(unit, method.solution_unit) == 1
    except ValueError:
        return False


def _settings(document: RunDocument, method: Method) -> Iterator[Problem]:
    """Settings few files state: what is stated must be the method's, numbers as numbers."""
    facts, due = document.facts, method.conditions
    if not _same_number(facts.slit_nm, method.slit_nm):
        yield _differs(document, method, "slit", f"{facts.slit_nm} nm", _with_unit(method.slit_nm, "nm"))
    if facts.flame and facts.flame != due.flame:
        yield _differs(document, method, "flame", facts.flame, due.flame)
    if facts.signal_form and facts.signal_form != due.signal_form:
        yield _differs(document, method, "signal_form", facts.signal_form, due.signal_form)
    if not _same_number(facts.injection_ul, due.injection_ul):
        yield _differs(document, method, "injection", f"{facts.injection_ul} uL", _with_unit(due.injection_ul, "uL"))


def _same_number(stated: PlainDecimal, due: PlainDecimal) -> bool:
    return not stated or (due != "" and decimal_of(stated) == decimal_of(due))


def _with_unit(number: PlainDecimal, unit: str) -> str:
    return f"{number} {unit}" if number else ""


def _differs(document: RunDocument, method: Method, name: str, found: str, required: str) -> Problem:
    what = f"{name} is {found or 'not stated'}; method {method.id} requires {required or 'nothing'}."
    remedy = _MEASURE_AGAIN if found else _STATE_IT
    return Problem(f"validate.{name.replace('_', '-')}-differs", at_run(document), what, remedy)
