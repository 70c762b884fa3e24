"""Reading a ``calc`` request: its JSON Schema, its bounds, and what a schema cannot say; all Problems at once."""

from __future__ import annotations

import json
import re
from decimal import Decimal
from functools import cache
from math import inf
from typing import TYPE_CHECKING, Any, cast

from jsonschema import Draft202012Validator, FormatChecker

from benchseal.compute.calc_answer import decimal, literal_of
from benchseal.compute.monte_carlo import LEAST_DRAWS, MOST_DRAWS
from benchseal.problems import Problem
from benchseal.records.quantities import is_plain_decimal, plain
from benchseal.shipped import schema

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping

    from jsonschema.exceptions import ValidationError

KINDS = (
    "calibration", "standard_addition", "detection_limit", "outlier", "statistics", "conformity", "rounding",
    "uncertainty", "content", "drift", "recovery", "rpd", "variance_function", "single_addition", "bracketing",
    "one_standard", "characteristic", "control_chart", "score", "pde_limit", "species", "dilution_plan",
    "monte_carlo",
)  # fmt: skip
MOST_VALUES = 50_000
_DEEPEST = 8
_TEXT = re.compile(r"[+-]?([0-9]+(\.[0-9]*)?|\.[0-9]+)([eE][+-]?[0-9]{1,3})?\Z")
# Products of four such numbers, squared, stay far inside the range of floats.
_SMALLEST, _LARGEST = Decimal("1e-30"), Decimal("1e30")
_EQUAL_LENGTHS = (("x", "y"), ("x", "weights"), ("added", "y"), ("variances", "n"), ("values", "lots"))
_ORDERED = (("lower", "upper"), ("range_low", "range_high"))


def problems_of(request: object) -> tuple[Problem, ...]:
    """Every Problem of ``request``, in the order of their places; none when it can be answered."""
    unfit = next(_unfit(request, "$", 0), None) or _too_many(request)
    if unfit:
        return (unfit,)
    if not isinstance(request, dict):
        return (_problem("not-an-object", "$", "the request is not a JSON object", 'Write {"kind": ...}.'),)
    kind = request.get("kind")
    if kind not in KINDS:
        said = "kind is missing" if kind is None else f"{_shown(kind)} is not a kind"
        return (_problem("kind-unknown", "$.kind", f"{said}; known: {', '.join(KINDS)}", "Name one of these kinds."),)
    errors = sorted(
        _validator(kind).iter_errors(request), key=lambda error: [str(step) for step in error.absolute_path]
    )
    found = tuple(problem for error in errors for problem in _of_schema(error))
    return tuple(dict.fromkeys(found)) or tuple(_across(request))


def _unfit(value: object, where: str, depth: int) -> Iterator[Problem]:
    """What no message could safely quote: not JSON, nested too deeply, whole numbers of absurd size."""
    if depth > _DEEPEST:
        yield _problem("too-deep", where[:200], f"the request is nested more than {_DEEPEST} deep", "Flatten it.")
    elif isinstance(value, dict):
        for key, one in value.items():
            if not isinstance(key, str):
                yield _problem("not-json", where[:200], "a key is not text", "Send JSON.")
            else:
                yield from _unfit(one, f"{where}.{_ascii(key)}", depth + 1)
    elif isinstance(value, list):
        for place, one in enumerate(value):
            yield from _unfit(one, f"{where}[{place}]", depth + 1)
    elif isinstance(value, int) and not isinstance(value, bool):
        if value.bit_length() > 400:
            yield _problem("number-out-of-bounds", where[:200], "the number is too large", _BOUNDS["decimal"])
    elif not isinstance(value, (str, float, bool, type(None))):
        yield _problem("not-json", where[:200], f"a {type(value).__name__} is not a JSON value", "Send JSON.")


def _too_many(request: object) -> Problem | None:
    count, waiting = 0, [request]
    while waiting:
        value = waiting.pop()
        count += 1
        if isinstance(value, (dict, list)):
            waiting.extend(value.values() if isinstance(value, dict) else value)
        if count > MOST_VALUES:
            said = f"the request holds more than {MOST_VALUES} values"
            return _problem("too-many-values", "$", said, "Send fewer values.")
    return None


_BOUNDS = {
    "decimal": "Write zero, or a number between 1e-30 and 1e30 in size.",
    "decimal-plain": "Write zero, or a number between 1e-30 and 1e30, of at most 64 characters without an exponent.",
    "decimal-or-below": "Write zero, a number between 1e-30 and 1e30, or < and such a number; at most 64 characters.",
    "decimal-positive": "Write a number above zero, between 1e-30 and 1e30.",
    "decimal-not-negative": "Write zero, or a number between 1e-30 and 1e30.",
    "probability": "Write a number above 0 and below 1, such as 0.95.",
    "risk": "Write a number above 0 and below 0.5, such as 0.05: at 0.5 a limit would be nothing.",
    "fraction": "Write a number from 0 to below 1.",
    "count": "Write a whole number from 1 to 1000000.",
    "draws": "Write a whole number from 1000 to 2000000.",
    "seed": "Write a whole number from 0 to 4294967295.",
    "places": "Write a whole number from 0 to 12.",
    "steps": "Write 1 or 2.",
    "plans": "Write a whole number from 1 to 50.",
}

_FOREIGN = {
    ",'": "Write a point as decimal mark, and no mark between thousands.",
    "\u2212\u2013\u2010\u2011": "Write the minus sign as a plain hyphen.",
}
_SIZES = {
    "minItems": "at least {} of them",
    "maxItems": "at most {} of them",
    "minLength": "at least {} signs",
    "maxLength": "at most {} signs",
    "minimum": "{} or more",
    "maximum": "{} or less",
}
_KEYS = "Give the keys of one of these, as the manual's page 'calc' shows, and no others."


def _readable(value: object) -> Decimal | None:
    """Decimal within the range of numbers, or None. NaN and infinities of a lenient JSON reader are not."""
    if isinstance(value, bool) or not isinstance(value, (int, float, str)):
        return None
    if isinstance(value, float) and not -inf < value < inf:
        return None
    text = literal_of(value) if isinstance(value, float) else value
    if isinstance(text, str) and (len(text) > 64 or not _TEXT.match(text)):
        return None
    exact = decimal(value)
    return exact if exact == 0 or _SMALLEST <= exact.copy_abs() <= _LARGEST else None


def _is_plain(value: object) -> bool:
    exact = _readable(value)
    return exact is not None and is_plain_decimal(plain(exact))


def _is_or_below(value: object) -> bool:
    if isinstance(value, str) and value.startswith("<"):
        rest = value[1:].strip(" ")
        exact = _readable(rest)
        return exact is not None and exact > 0 and _is_plain(rest)
    return _is_plain(value)


def _bounded(accepts: Callable[[Decimal], bool]) -> Callable[[object], bool]:
    def check(value: object) -> bool:
        exact = _readable(value)
        return exact is not None and accepts(exact)

    return check


def _whole(least: int, most: int) -> Callable[[object], bool]:
    return _bounded(lambda exact: least <= exact <= most and exact == exact.to_integral_value())


_FORMATS: dict[str, Callable[[object], bool]] = {
    "decimal": _bounded(lambda _: True),
    "decimal-plain": _is_plain,
    "decimal-or-below": _is_or_below,
    "decimal-positive": _bounded(lambda exact: exact > 0),
    "decimal-not-negative": _bounded(lambda exact: exact >= 0),
    "probability": _bounded(lambda exact: Decimal("1e-12") <= exact <= 1 - Decimal("1e-12")),
    "risk": _bounded(lambda exact: Decimal("1e-12") <= exact < Decimal("0.5")),
    "fraction": _bounded(lambda exact: 0 <= exact < 1),
    "count": _whole(1, 1_000_000),
    "draws": _whole(LEAST_DRAWS, MOST_DRAWS),
    "seed": _whole(0, 2**32 - 1),
    "places": _whole(0, 12),
    "steps": _whole(1, 2),
    "plans": _whole(1, 50),
}


@cache
def _validator(kind: str) -> Draft202012Validator:
    formats = FormatChecker(formats=())
    for name, check in _FORMATS.items():
        formats.checks(name)(check)
    return Draft202012Validator(json.loads(schema(f"calc/{kind}")), format_checker=formats)


def _of_schema(error: ValidationError) -> Iterator[Problem]:
    """Problems of one schema error; words are ours, so that a value is quoted only in short ASCII."""
    where, value, rule = _ascii(error.json_path), cast("Any", error.instance), cast("Any", error.validator_value)
    own = cast("Mapping[str, Any]", error.schema)
    match error.validator:
        case "required":
            missing = next(key for key in rule if key not in value and f"'{key}'" in error.message)
            yield _problem("key-missing", f"{where}.{missing}", "the key is missing", "Add it.")
        case "additionalProperties":
            for key in sorted(set(value) - set(own["properties"])):
                known = ", ".join(own["properties"])
                yield _problem("key-unknown", f"{where}.{_ascii(key)}", f"unknown key; known: {known}", "Remove it.")
        case "enum" if "propertyNames" in error.absolute_schema_path:
            yield _problem("key-unknown", f"{where}.{value}", "the key does not belong to this rule", "Remove it.")
        case "enum" | "const":
            known = ", ".join(_shown(one) for one in (rule if isinstance(rule, list) else [rule]))
            yield _problem(
                "word-unknown", where, f"{_shown(value)} is not known; known: {known}", "Write one of these."
            )
        case "type":
            kinds = " or ".join(rule) if isinstance(rule, list) else rule
            yield _problem("type-wrong", where, f"{_shown(value)} is not of type {kinds}", "Correct the value.")
        case "format":
            if not isinstance(value, (list, dict, bool, type(None))):  # the type is a Problem of its own
                said = f"{_shown(value)} is not accepted here"
                yield _problem("number-out-of-bounds", where, said, _misspelt(value) or _BOUNDS[rule])
        case "minItems" | "maxItems" | "minLength" | "maxLength" | "minimum" | "maximum":
            due = _SIZES[error.validator].format(rule)
            said = f"{_shown(value)} is not accepted here; due: {due}"
            yield _problem("number-out-of-bounds", where, said, "Correct the value.")
        case _:
            yield _problem("keys-do-not-fit", where, own.get("$comment", "the keys do not fit together"), _KEYS)


def _across(request: Mapping[str, object]) -> Iterator[Problem]:
    """What a schema cannot say."""
    for one, other in _EQUAL_LENGTHS:
        first, second = request.get(one), request.get(other)
        if isinstance(first, list) and isinstance(second, list) and len(first) != len(second):
            said = f"{other} has {len(second)} values and {one} has {len(first)}"
            yield _problem("lengths-differ", f"$.{other}", said, "Give one for each.")
    terms = request.get("terms")
    names = [term["name"] for term in terms] if isinstance(terms, list) else []
    for place, name in enumerate(names):
        if name in names[:place]:
            yield _problem("name-twice", f"$.terms[{place}].name", f"{_shown(name)} is named twice", "Name it apart.")
    for lower, upper in _ORDERED:
        low, high = _readable(request.get(lower)), _readable(request.get(upper))
        if low is not None and high is not None and low > high:
            said = f"the lower limit {_shown(request[lower])} exceeds the upper limit {_shown(request[upper])}"
            yield _problem("limits-crossed", f"$.{lower}", said, "Correct the limits.")


def _misspelt(value: object) -> str:
    """What to write in place of signs that a number elsewhere may have; never a guess at the number meant."""
    text = value if isinstance(value, str) else ""
    return next((remedy for signs, remedy in _FOREIGN.items() if any(sign in text for sign in signs)), "")


def _shown(value: object) -> str:
    text = json.dumps(value)
    return text if len(text) <= 60 else f"{text[:57]}..."


def _ascii(text: str) -> str:
    return json.dumps(text)[1:-1][:200]


def _problem(code: str, where: str, what: str, remedy: str) -> Problem:
    return Problem(f"calc.{code}", where, f"{what}.", remedy)
