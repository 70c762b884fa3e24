"""``calc``: whatever is sent gets Problems or an answer of strict JSON."""

from __future__ import annotations

import json
from collections import Counter
from functools import cache
from typing import TYPE_CHECKING, Any, cast

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchseal.compute.calc import answer
from benchseal.compute.calc_request import KINDS
from benchseal.shipped import schema

from .asking import GOOD, strict

if TYPE_CHECKING:
    from collections.abc import Callable

extreme = st.one_of(
    st.floats(allow_nan=True, allow_infinity=True),
    st.integers(-(10**120), 10**120),
    st.sampled_from(["1e30", "-1e-30", "1e29", "0", "-0", ".5", "5.", "+1", "ND", "<1", "< 1e29", "1e-29", "", "x"]),
    st.booleans(),
    st.none(),
)
json_values = st.recursive(extreme, lambda inner: st.lists(inner, max_size=6), max_leaves=12)
keys = sorted({key for kind in KINDS for key in json.loads(schema(f"calc/{kind}"))["properties"]} - {"kind"})


def is_answered(request: dict[str, Any]) -> bool:
    """Whether ``request`` got an answer, which is strict JSON, rather than Problems, of which there is at least one."""
    found = answer(request)
    if isinstance(found, dict):
        strict(found)
        assert found["kind"] == request["kind"]
        return True
    assert found
    assert all(problem.code.startswith("calc.") for problem in found)
    return False


@settings(deadline=None, max_examples=300)
@given(st.sampled_from(KINDS), st.dictionaries(st.sampled_from(keys), json_values, max_size=6), st.booleans())
def test_whatever_is_sent_gets_problems_or_a_strict_answer(kind: str, more: dict[str, Any], on_good: bool) -> None:
    is_answered({"kind": kind, **(GOOD[kind][0] if on_good else {}), **more})


# Requests that fit the schema of their kind, of the meanest numbers it lets through: both ends of the range, zero,
# equal and nearly equal values, steps of one unit in the last place, text with zeros, lists of length 0 and 1.
# They come from pools of which a third are few numbers, so that equal ones meet. A list is drawn as bytes, each the
# place of a number in its pool: that is several times quicker than to draw each number, and shrinks as well.
Number = float | str
ENDS: tuple[Number, ...] = (1e-30, 1e30, 1e15, 1e-15, "1e29", "0.00000000000000000000000000001")
NEAR: tuple[Number, ...] = (1, 2, 3, 7, 0.1, 1 + 2**-52, 1e16, 1e16 + 2, "1.000", "1.0000000000000000000000000001")
FAR: tuple[Number, ...] = tuple(float(f"{digits}e{power}") for power in range(-30, 27, 4) for digits in (1, 27, 9999))
POSITIVE = (*NEAR * 4, *ENDS * 3, *FAR, *(digits / 100 for digits in range(3, 300, 17)))
ZEROS: tuple[Number, ...] = (0, 0.0, "0.00") * 5
NEGATIVE: tuple[Number, ...] = tuple(f"-{one}" if isinstance(one, str) else -one for one in (*FAR, *ENDS, *NEAR, 0.0))
PROBABLE: tuple[Number, ...] = (0.95, 0.05, 0.01, 0.1, 0.5, "1e-12", 1e-11, 1 - 1e-12, "0.999999999999", 0.3, 0.99)
POOLS: dict[str, tuple[Number, ...]] = {
    "decimal": (*POSITIVE, *ZEROS, *NEGATIVE),
    "decimal-plain": (*POSITIVE, *ZEROS, *NEGATIVE),
    "decimal-or-below": (*POSITIVE, *ZEROS, *NEGATIVE, *(f"<{one}" for one in (*ENDS, *NEAR)), "< 0.010"),
    "decimal-positive": POSITIVE,
    "decimal-not-negative": (*POSITIVE, *ZEROS),
    "probability": PROBABLE,
    "risk": (1e-12, 0.001, "0.01", 0.05, 0.1, "0.25", 0.4999999, 0.01),
    "fraction": (0, 0.1, 1e-30, 1 - 2**-53, "0.5", 0.07, 0.99),
    "count": (1, 2, 3, 10, "7", 1_000_000),
    "draws": (1000,),
    "seed": (0, 1, 2**32 - 1),
    "places": (0, 1, 2, 3, 12),
    "steps": (1, 2),
    "plans": (1, 5, 50),
}
BYTE = 256
if max(map(len, POOLS.values())) > BYTE:
    raise AssertionError("a byte names each number of a pool")


def some_of(pool: tuple[Number, ...], least: int, most: int) -> st.SearchStrategy[list[Number]]:
    """Lists of numbers of a pool."""
    return st.binary(min_size=least, max_size=most).map(lambda drawn: [pool[one * len(pool) // BYTE] for one in drawn])


LINKED = ({"x", "y", "weights"}, {"added", "y"}, {"variances", "n"}, {"values", "lots"})
ORDERED = (("lower", "upper"), ("range_low", "range_high"))
FORMULAS = ("CaCO3", "Ca", "SiO2", "Ca(OH)2", "", "Xx2", "(((", "Fe99999", "O0", "H2.5", "caco3")


@cache
def schema_of(kind: str) -> dict[str, Any]:
    return cast("dict[str, Any]", json.loads(schema(f"calc/{kind}")))


def value_of(own: dict[str, Any], length: int | None = None) -> st.SearchStrategy[Any]:
    """What fits a schema of this room; arrays of ``length`` where it is given. Names are few, so that they repeat."""
    if "enum" in own:
        return st.sampled_from(own["enum"])
    if "if" in own and "const" in own["if"]:  # a word, or what else the place takes
        return st.one_of(st.just(own["if"]["const"]), value_of(own["else"]))
    if own["type"] == "array":
        least, most = own.get("minItems", 0), min(own.get("maxItems", 9), 9)
        size = (least, most) if length is None else (length, length)
        pool = POOLS.get(own["items"].get("format", ""))
        if pool is not None:
            return some_of(pool, *size)
        return st.lists(value_of(own["items"]), min_size=size[0], max_size=size[1])
    if own["type"] == "object":
        return uncertain(own) if "distribution" in own["properties"] else object_of(own)
    plain = {
        "boolean": st.booleans(),
        "integer": st.integers(own.get("minimum", -60), own.get("maximum", 60)),
        "string": st.sampled_from(("a", "b", "Ca", "O", "\u00b5")),
    }
    return st.sampled_from(POOLS[own["format"]]) if "format" in own else plain[own["type"]]


@cache
def value_at(kind: str, key: str, length: int | None) -> st.SearchStrategy[Any]:
    """As ``value_of`` the key's schema, made once."""
    return st.sampled_from(FORMULAS) if key == "formula" else value_of(schema_of(kind)["properties"][key], length)


def object_of(own: dict[str, Any]) -> st.SearchStrategy[dict[str, Any]]:
    needed, all_of = set(own.get("required", ())), own["properties"]
    return st.fixed_dictionaries(
        {key: value_of(one) for key, one in all_of.items() if key in needed},
        optional={key: value_of(one) for key, one in all_of.items() if key not in needed},
    )


def uncertain(own: dict[str, Any]) -> st.SearchStrategy[dict[str, Any]]:
    """A value with one of the four distributions, and what each of them goes with."""
    parts = {key: value_of(one) for key, one in own["properties"].items()}
    base = {key: parts[key] for key in own["required"]}
    return st.one_of(
        st.fixed_dictionaries(base, optional={"u": parts["u"]}),
        *(
            st.fixed_dictionaries({**base, "distribution": st.just(word), **{key: parts[key] for key in more}})
            for word, more in (("rectangular", ("half_width",)), ("triangular", ("u",)), ("student", ("u", "df")))
        ),
    )


# Where keys go together in a way that a schema says by conditions: words that are fixed, keys needed, keys allowed.
Shape = tuple[dict[str, Any], tuple[str, ...], tuple[str, ...]]
CURVE = ("samples", "predict_at", "confidence", "variance")
SHAPES: dict[str, tuple[Shape, ...]] = {
    "calibration": (
        ({}, ("model", "x", "y"), CURVE),
        *(({"weighting": word}, ("model", "x", "y"), CURVE) for word in ("1/x", "1/x2", "1/s2")),
        ({"weighting": "variance_function"}, ("model", "x", "y", "s0", "k"), CURVE),
        ({"weighting": "given"}, ("model", "x", "y", "weights"), CURVE),
    ),
    "detection_limit": (
        ({"rule": "mdl"}, ("spiked",), ("blanks",)),
        ({"rule": "mdl_pooled"}, ("variances", "n"), ()),
        ({"rule": "calibration_line"}, ("x", "y"), ("alpha", "beta", "m", "k")),
        *(({"rule": rule}, (one, "slope"), ()) for rule in ("iupac", "ich") for one in ("blank_signals", "s")),
        ({"rule": "iupac"}, ("s", "slope", "dilution"), ()),
    ),
    "rounding": (
        ({}, ("value", "decimals"), ("mode", "u", "k")),
        ({}, ("value", "significant"), ("mode",)),
        ({}, ("value", "u"), ("mode", "k")),
    ),
    "monte_carlo": (
        ({"measurement": "sum", "draws": 1000}, ("seed", "terms"), ()),
        ({"measurement": "content", "draws": 1000}, ("seed", "model", "x", "y", "reading"), ("recovery", "standards")),
        (
            {"measurement": "content", "draws": 1000, "weighting": "1/x"},
            ("seed", "model", "x", "y", "reading", "blank", "blank_was", "volume_ml", "mass_g"),
            ("moisture", "dilution"),
        ),
    ),
}


@cache
def shapes_of(kind: str) -> tuple[Shape, ...]:
    """By the table, or one for each branch of the schema's own choice between keys."""
    if kind in SHAPES:
        return SHAPES[kind]
    own = schema_of(kind)
    branches = [set(one["required"]) for one in own.get("oneOf", own.get("anyOf", [{"required": []}]))]
    together = {key: set(others) for key, others in own.get("dependentRequired", {}).items()}
    found: list[Shape] = []
    for branch in branches:
        needed = (branch | set(own["required"])) - {"kind"}
        needed |= {other for key in needed for other in together.get(key, ())}
        rivals = set().union(*branches) - needed if "oneOf" in own else set()
        rest = set(own["properties"]) - needed - rivals - {"kind"}
        allowed = {key for key in rest if together.get(key, set()) <= needed}
        found.append(({}, tuple(sorted(needed)), tuple(sorted(allowed))))
        found.append(({}, tuple(sorted(needed)), ()))
    return tuple(found)


@st.composite
def requests(draw: Callable[[st.SearchStrategy[Any]], Any], kind: str) -> dict[str, Any]:
    words, needed, allowed = draw(st.sampled_from(shapes_of(kind)))
    chosen = [*needed, *(key for key in allowed if draw(st.booleans()))]
    linked = next((group for group in LINKED if len(group & set(chosen)) > 1), set())
    length = draw(st.integers(0, 9)) if linked else None
    request = {"kind": kind, **words}
    for key in chosen:
        request[key] = draw(value_at(kind, key, length if key in linked else None))
    put_right(request)
    return request


def put_right(request: dict[str, Any]) -> None:
    """What a schema cannot say: ends in order, names once each, checks one after the other, replicates at a level."""
    for low, high in ORDERED:
        if low in request and high in request:
            request[low], request[high] = sorted((request[low], request[high]), key=float)
    for place, term in enumerate(request.get("terms", ())):
        term["name"] = f"{term['name']}{place}"
    if request["kind"] == "drift":
        for check in ("check_blank", "check_standard"):
            request[check] = sorted(request[check], key=lambda pair: float(pair[0]))
    if request["kind"] == "variance_function":
        request["x"] = [request["x"][place - place % 3] for place in range(len(request["x"]))]


# The kinds that are questions about a run come first in KINDS; the others have tests of their own beside these.
ABOUT_RUNS = KINDS[: KINDS.index("rpd") + 1]
CASES = [
    *(pytest.param(kind, 500 if kind in ABOUT_RUNS else 150, id=kind) for kind in KINDS),
    *(pytest.param(kind, 20_000, id=f"{kind}, long", marks=pytest.mark.long) for kind in KINDS),
]


@pytest.mark.parametrize(("kind", "examples"), CASES)
def test_numbers_of_any_size_give_strict_answers(kind: str, examples: int) -> None:
    """Most requests must get past the schema, so that it is the calculation that is tried."""
    count: Counter[bool] = Counter()

    @settings(deadline=None, max_examples=examples, database=None)
    @given(requests(kind))
    def each(request: dict[str, Any]) -> None:
        count[is_answered(request)] += 1

    each()
    assert count[True] > 3 * count[False]


PATTERNS: dict[str, Callable[[int], Number]] = {
    "equal": lambda _: "0.1",
    "two in turn": lambda place: 1 + place % 2,
    "rising": lambda place: place,
    "one far away": lambda place: 1e30 if place == 7 else 1,
    "both ends": lambda place: (1e-30, 1e30, -1e30)[place % 3],
}


@pytest.mark.parametrize("n", [pytest.param(500, id="500"), pytest.param(10_000, id="10000", marks=pytest.mark.long)])
@pytest.mark.parametrize("pattern", PATTERNS.values(), ids=list(PATTERNS))
def test_many_values_give_strict_answers(pattern: Callable[[int], Number], n: int) -> None:
    """As many as a list may hold, in the long campaign."""
    values, places = [pattern(place) for place in range(n)], list(range(n))
    requests_of_many: list[tuple[str, dict[str, Any]]] = [
        ("statistics", {"values": values}),
        ("outlier", {"test": "grubbs", "values": values}),
        ("detection_limit", {"rule": "mdl", "spiked": values, "blanks": values}),
        ("detection_limit", {"rule": "calibration_line", "x": places, "y": values}),
        ("calibration", {"model": "quadratic", "x": places, "y": values, "predict_at": values}),
        ("calibration", {"model": "line", "x": values, "y": places, "samples": [{"y": one} for one in values[:300]]}),
        ("standard_addition", {"added": places, "y": values}),
        ("variance_function", {"x": [place // 3 for place in places], "y": values}),
        ("control_chart", {"values": values, "base_first": 20, "rules": "both"}),
        (
            "drift",
            {
                "check_blank": [[0, 0], [n, 0]],
                "check_standard": [[0, 1], [n, 2]],
                "samples": [list(pair) for pair in enumerate(values)],
            },
        ),
    ]
    for kind, request in requests_of_many:
        assert is_answered({"kind": kind, **request}), kind
