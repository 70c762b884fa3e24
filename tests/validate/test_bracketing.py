"""Bracket standards in a file: what holds, and one change for each rule that must stop it."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import pytest
from tests.validate.test_check import DOCUMENT, KNOWN, METHOD, METHOD_REF, _both, _codes, _column

from benchseal.records.run import PRESENTED_KINDS, Run
from benchseal.validate.check import check_run

if TYPE_CHECKING:
    from tests.validate.test_check import Change

    from benchseal.records.known import Known

PLACES = [index for index, kind in enumerate(DOCUMENT.solutions.kind) if kind == "check_blank"][:2]
FIRST = PLACES[0]
LEVEL = METHOD.standards[-2]


def known(bracketing: str = "required") -> Known:
    plan: dict[str, Any] = {"bracketing": bracketing, "bracketing_window_percent": "20", "bracketing_source": "test"}
    method = replace(METHOD, calibration=replace(METHOD.calibration, **plan))
    return replace(KNOWN, methods=((METHOD_REF, method),))


def _standard(label: str = "BS", nominal: str = "12.5", dilution: str = "1") -> Change:
    """A check blank of the file becomes a bracket standard."""
    columns = {"kind": "bracket_standard", "label": label, "nominal": nominal, "dilution": dilution}
    return _both(*(_column("solutions", name, FIRST, value) for name, value in columns.items()))


@pytest.mark.parametrize(("label", "nominal"), [("BS", "12.5"), (LEVEL.label, ""), (LEVEL.label, LEVEL.concentration)])
def test_a_standard_whose_concentration_is_known(label: str, nominal: str) -> None:
    run = check_run(_standard(label, nominal)(DOCUMENT), known())
    assert isinstance(run, Run), [str(problem) for problem in run]
    assert run.portion[FIRST] == ("", "")
    assert run.standard_lots[0]


_DEFECTS: dict[str, tuple[Change, Known, list[str]]] = {
    "a method that reads from its curve": (_standard(), known(""), ["bracket-unplanned"]),
    "no bracket standard at all": (_both(), known(), ["bracket-missing"]),
    "nothing says what it holds": (_standard(nominal=""), known(), ["bracket-nominal"]),
    "a zero standard": (_standard(nominal="0.0"), known(), ["bracket-nominal"]),
    "another concentration than the method's": (_standard(LEVEL.label, "3.3"), known(), ["nominal-differs"]),
    "diluted at the instrument": (_standard(dilution="2"), known(), ["dilution-of-check"]),
}


@pytest.mark.parametrize("defect", _DEFECTS)
def test_each_defect(defect: str) -> None:
    change, at_site, codes = _DEFECTS[defect]
    assert _codes(change(DOCUMENT), at_site) == codes


def test_the_words_name_both_sides() -> None:
    found = check_run(_standard(LEVEL.label, "3.3")(DOCUMENT), known())
    assert isinstance(found, tuple)
    assert f"{LEVEL.label} is 3.3 in the file; the method says {LEVEL.concentration}" in found[0].what
    (lacking,) = check_run(DOCUMENT, known())  # type: ignore[misc]
    assert "no bracket standard" in lacking.what
    assert "two groups of bracket standards" in lacking.remedy


def test_a_file_of_blanks_alone_needs_no_bracket_standards() -> None:
    presented = [nth for nth, kind in enumerate(DOCUMENT.solutions.kind) if kind in PRESENTED_KINDS]
    blanks = _both(*(_column("solutions", "kind", nth, "method_blank") for nth in presented))
    assert "bracket-missing" not in _codes(blanks(DOCUMENT), known())
