"""Solutions of the deeper checks against the method: lowest level, rinses, first and later ones, background."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import pytest
from tests.validate.test_check import DOCUMENT, KNOWN, METHOD, METHOD_REF

from benchseal.records.method import CheckRule
from benchseal.records.run import Run
from benchseal.validate.check import check_run

if TYPE_CHECKING:
    from benchseal.problems import Problem
    from benchseal.records.known import Known
    from benchseal.records.run import RunDocument

# In the sample file CHK is solution 8 and CHK0 solution 9 (counted from 0), A-1/1 solution 13; two readings each.
LOWEST = CheckRule("lowest", "lowest_level", "percent", "70", "130", "test", confirmed=False)
RINSE = CheckRule("rinse", "return_to_zero", "solution", "-1", "1", "test", confirmed=False)


def known(*rules: CheckRule, limit: str = "") -> Known:
    """The method with these rules beside its own, and with or without a limit of the background."""
    conditions = replace(METHOD.conditions, largest_background=limit)
    method = replace(METHOD, checks=(*METHOD.checks, *rules), conditions=conditions)
    return replace(KNOWN, methods=((METHOD_REF, method),))


def document(solution: dict[str, str], index: int = 8) -> RunDocument:
    """The sample file with one solution otherwise."""
    columns: dict[str, Any] = {}
    for name, value in solution.items():
        column = list(getattr(DOCUMENT.solutions, name))
        column[index] = value
        columns[name] = tuple(column)
    return replace(DOCUMENT, solutions=replace(DOCUMENT.solutions, **columns))


def problems(found: Run | tuple[Problem, ...]) -> dict[str, str]:
    """Code to words of every problem; nothing for a run."""
    if isinstance(found, Run):
        return {}
    return {problem.code.removeprefix("validate."): str(problem) for problem in found}


def test_the_sample_file_is_good() -> None:
    assert problems(check_run(DOCUMENT, known(LOWEST, RINSE, limit="1.0"))) == {}


@pytest.mark.parametrize(
    ("solution", "rules", "code"),
    [
        pytest.param({"kind": "lowest_level", "nominal": "1.0"}, [LOWEST], "", id="at the lowest level"),
        pytest.param({"kind": "lowest_level", "nominal": ""}, [LOWEST], "", id="nominal not printed"),
        pytest.param({"kind": "lowest_level", "nominal": "1.00"}, [LOWEST], "", id="another number of places"),
        pytest.param({"kind": "lowest_level", "nominal": "2.5"}, [LOWEST], "nominal-differs", id="another level"),
        pytest.param(
            {"kind": "lowest_level", "nominal": "0.8"}, [replace(LOWEST, expected="0.8")], "", id="as the rule says"
        ),
        pytest.param(
            {"kind": "lowest_level", "nominal": "1.0"},
            [replace(LOWEST, expected="0.8")],
            "nominal-differs",
            id="not as the rule says",
        ),
        pytest.param({"kind": "lowest_level", "nominal": "1.0"}, [], "check-unplanned", id="no such rule"),
        pytest.param(
            {"kind": "lowest_level", "nominal": "1.0", "dilution": "2"}, [LOWEST], "dilution-of-check", id="diluted"
        ),
        pytest.param({"kind": "rinse", "nominal": ""}, [], "", id="rinse that nobody judges"),
        pytest.param({"kind": "rinse", "nominal": "9", "dilution": "3"}, [], "", id="rinse with odd entries"),
        pytest.param({"kind": "rinse", "nominal": "0"}, [RINSE], "", id="rinse that is judged"),
        pytest.param({"kind": "rinse", "nominal": "9"}, [RINSE], "nominal-differs", id="rinse that is a standard"),
        pytest.param({"kind": "rinse", "nominal": "", "dilution": "3"}, [RINSE], "dilution-of-check", id="thin rinse"),
    ],
)
def test_check_solutions_are_those_of_the_method(solution: dict[str, str], rules: list[CheckRule], code: str) -> None:
    assert list(problems(check_run(document(solution), known(*rules)))) == ([code] if code else [])


def test_both_sides_are_shown_once() -> None:
    """Two rules for the first and the later ones expect the same solution."""
    own = next(rule for rule in METHOD.checks if rule.check == "check_standard")
    pair = replace(own, id="first", when="first", every=0, at_end=False), replace(own, id="later", when="later")
    rest = tuple(rule for rule in METHOD.checks if rule.check != "check_standard")
    method = replace(METHOD, checks=(*pair, *rest))
    found = problems(check_run(document({"nominal": "9.9"}), replace(KNOWN, methods=((METHOD_REF, method),))))
    assert "9.9 in the file; the method says 10.0 ug/L." in found["nominal-differs"]


def test_a_solution_spiked_after_preparation_is_a_portion() -> None:
    assert "sample-unknown" in problems(
        check_run(document({"kind": "post_spiked_sample", "label": "A-1/9"}, 13), known())
    )
    assert "sample-kind" in problems(check_run(document({"kind": "post_spiked_sample"}, 13), known()))
    row = replace(KNOWN.portions["A-1/1"][0], kind="post_spiked_sample")
    prepared = replace(known(), portions={**KNOWN.portions, "A-1/1": (row,)})
    run = check_run(document({"kind": "post_spiked_sample"}, 13), prepared)
    assert isinstance(run, Run)
    assert run.portion[13] == ("P-031", "A-1/1")


def without_background(keep: int = 0) -> RunDocument:
    """The sample file whose readings come without background, but for the first ``keep``."""
    found = DOCUMENT.readings.background
    kept = tuple(text if row < keep else "" for row, text in enumerate(found))
    return replace(DOCUMENT, readings=replace(DOCUMENT.readings, background=kept))


def test_a_file_without_any_background_is_refused_where_the_method_judges_it() -> None:
    found = problems(check_run(without_background(), known(limit="1.0")))
    assert list(found) == ["background-missing"]
    assert "method lead-furnace allows at most 1.0" in found["background-missing"]


@pytest.mark.parametrize(("keep", "limit"), [(0, ""), (1, "1.0"), (1000, "1.0")])
def test_a_file_with_some_or_without_need_is_taken(keep: int, limit: str) -> None:
    assert problems(check_run(without_background(keep), known(limit=limit))) == {}
