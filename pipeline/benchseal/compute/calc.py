"""``calc``: one calculation on typed numbers, by the functions the pipeline uses.

A request that cannot be read gives Problems, all of them. One that can be read always gets its answer: every
promised key is there, and a refusal stands in the place of a value that must not be given.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from benchseal.compute.calc_answer import Json, clean, refused
from benchseal.compute.calc_calibration import answer_calibration, answer_standard_addition
from benchseal.compute.calc_content import answer_content, answer_uncertainty
from benchseal.compute.calc_limits import answer_detection_limit, answer_outlier, answer_statistics
from benchseal.compute.calc_request import KINDS, problems_of
from benchseal.compute.calc_verdict import (
    answer_conformity,
    answer_drift,
    answer_recovery,
    answer_rounding,
    answer_rpd,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from benchseal.problems import Problem

SCHEMA_VERSION = 1

_ANSWERS: dict[str, Callable[[Mapping[str, Json]], dict[str, Json]]] = {
    "calibration": answer_calibration,
    "standard_addition": answer_standard_addition,
    "detection_limit": answer_detection_limit,
    "outlier": answer_outlier,
    "statistics": answer_statistics,
    "conformity": answer_conformity,
    "rounding": answer_rounding,
    "uncertainty": answer_uncertainty,
    "content": answer_content,
    "drift": answer_drift,
    "recovery": answer_recovery,
    "rpd": answer_rpd,
}
if tuple(_ANSWERS) != KINDS:
    raise AssertionError("each kind has a schema and an answer")


def answer(request: object) -> dict[str, Json] | tuple[Problem, ...]:
    """The answer to one request (parsed JSON), or every Problem of the request with its JSON path.

    The answer holds only finite floats, integers, text, booleans, arrays and objects. It carries ``kind`` and
    ``schema_version``; where nothing at all could be computed it also carries ``refused`` itself.
    """
    problems = problems_of(request)
    if problems:
        return problems
    if not isinstance(request, dict):
        raise AssertionError("problems_of lets only objects through")  # noqa: TRY004  our bug
    return {"kind": request["kind"], "schema_version": SCHEMA_VERSION, **_body(request["kind"], request)}


def _body(kind: str, request: Mapping[str, Json]) -> dict[str, Json]:
    """What the kind answers. Numbers that leave the range of floats are refused, each or, failing that, all."""
    try:
        with np.errstate(all="ignore"):
            body = clean(_ANSWERS[kind](request))
    except ArithmeticError:
        return refused("no_finite_value")
    if not isinstance(body, dict):
        raise AssertionError("an answer is an object")  # noqa: TRY004  our bug
    return body
