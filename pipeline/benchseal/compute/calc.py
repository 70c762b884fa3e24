"""``calc``: one calculation on typed numbers, by the functions the pipeline uses.

A request that cannot be read gives Problems, all of them. One that can be read always gets its answer: every
promised key is there, and a refusal stands in the place of a value that must not be given.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

import numpy as np

from benchseal.compute.calc_answer import Json, clean, refused
from benchseal.compute.calc_defaults import completed, taken
from benchseal.compute.calc_request import KINDS, problems_of

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from benchseal.problems import Problem

SCHEMA_VERSION = 1

# The module of this room that answers each kind, by its function answer_KIND. Only the one asked for is loaded.
_ANSWERS: dict[str, str] = {
    "calibration": "calc_calibration",
    "standard_addition": "calc_more_standards",
    "detection_limit": "calc_limits",
    "outlier": "calc_limits",
    "statistics": "calc_limits",
    "conformity": "calc_verdict",
    "rounding": "calc_verdict",
    "uncertainty": "calc_content",
    "content": "calc_content",
    "drift": "calc_verdict",
    "recovery": "calc_verdict",
    "rpd": "calc_verdict",
    "variance_function": "calc_more_standards",
    "single_addition": "calc_more_standards",
    "bracketing": "calc_more_standards",
    "one_standard": "calc_more_standards",
    "characteristic": "calc_more_standards",
    "control_chart": "calc_more_quality",
    "score": "calc_more_quality",
    "pde_limit": "calc_more_quality",
    "species": "calc_more_quality",
    "dilution_plan": "calc_more_dilution",
    "monte_carlo": "calc_monte_carlo",
}
if tuple(_ANSWERS) != KINDS:
    raise AssertionError("each kind has a schema and an answer")


def answer(request: object) -> dict[str, Json] | tuple[Problem, ...]:
    """The answer to one request (parsed JSON), or every Problem of the request with its JSON path.

    The answer holds only finite floats, integers, text, booleans, arrays and objects. It carries ``kind`` and
    ``schema_version``; where nothing at all could be computed it also carries ``refused`` itself. ``defaults_taken``
    holds what was taken for keys the request leaves out.
    """
    problems = problems_of(request)
    if problems:
        return problems
    if not isinstance(request, dict):
        raise AssertionError("problems_of lets only objects through")  # noqa: TRY004  our bug
    kind = request["kind"]
    return {
        "kind": kind,
        "schema_version": SCHEMA_VERSION,
        **_body(kind, completed(request)),
        **taken(request),
    }


def _body(kind: str, request: Mapping[str, Json]) -> dict[str, Json]:
    """What the kind answers. Numbers that leave the range of floats are refused, each or, failing that, all."""
    try:
        with np.errstate(all="ignore"):
            body = clean(_answering(kind)(request))
    except ArithmeticError:
        return refused("no_finite_value")
    if not isinstance(body, dict):
        raise AssertionError("an answer is an object")  # noqa: TRY004  our bug
    return body


def _answering(kind: str) -> Callable[[Mapping[str, Json]], dict[str, Json]]:
    module = import_module(f"benchseal.compute.{_ANSWERS[kind]}")
    found: Callable[[Mapping[str, Json]], dict[str, Json]] = getattr(module, f"answer_{kind}")
    return found
