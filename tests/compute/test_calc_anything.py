"""``calc``: whatever is sent gets Problems or an answer of strict JSON."""

from __future__ import annotations

import json
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from benchseal.compute.calc import answer
from benchseal.compute.calc_request import KINDS
from benchseal.shipped import schema

from .asking import GOOD, ask, strict

extreme = st.one_of(
    st.floats(allow_nan=True, allow_infinity=True),
    st.integers(-(10**120), 10**120),
    st.sampled_from(["1e30", "-1e-30", "1e29", "0", "-0", ".5", "5.", "+1", "ND", "<1", "< 1e29", "1e-29", "", "x"]),
    st.booleans(),
    st.none(),
)
json_values = st.recursive(extreme, lambda inner: st.lists(inner, max_size=6), max_leaves=12)
keys = sorted({key for kind in KINDS for key in json.loads(schema(f"calc/{kind}"))["properties"]} - {"kind"})


@settings(deadline=None, max_examples=300)
@given(st.sampled_from(KINDS), st.dictionaries(st.sampled_from(keys), json_values, max_size=6), st.booleans())
def test_whatever_is_sent_gets_problems_or_a_strict_answer(kind: str, more: dict[str, Any], on_good: bool) -> None:
    request = {"kind": kind, **(GOOD[kind][0] if on_good else {}), **more}
    found = answer(request)
    if isinstance(found, dict):
        strict(found)
    else:
        assert found
        assert all(problem.code.startswith("calc.") for problem in found)


SIZES: list[float | str] = [0, 1, -1, 1e-30, 1e30, -1e30, 1e15, 1e-15, 3, 0.1, "1e29", 7, 1e16, 1 + 2**-52, 2]
sizes = st.sampled_from(SIZES)
arrays = st.lists(sizes, min_size=0, max_size=12)


@settings(deadline=None, max_examples=100)
@given(st.data())
def test_numbers_of_any_size_give_strict_answers(data: st.DataObject) -> None:
    n = data.draw(st.integers(0, 9))
    x, y = (data.draw(st.lists(sizes, min_size=n, max_size=n)) for _ in range(2))
    pick = data.draw
    pair = st.lists(st.lists(sizes, min_size=2, max_size=2), min_size=2, max_size=2)
    ask(
        "calibration",
        model=pick(st.sampled_from(["line", "line_through_zero", "quadratic"])),
        weighting=pick(st.sampled_from(["none", "1/x", "1/x2"])),
        variance=pick(st.sampled_from(["estimated", "known"])),
        x=x,
        y=y,
        samples=[{"y": one} for one in pick(arrays)],
        predict_at=pick(arrays),
    )
    ask("standard_addition", added=x, y=y)
    ask("detection_limit", rule="calibration_line", x=x, y=y)
    ask("detection_limit", rule="mdl", spiked=pick(arrays), blanks=pick(arrays))
    ask("outlier", test=pick(st.sampled_from(["grubbs", "dixon"])), values=x)
    ask("statistics", values=pick(arrays))
    ask(
        "drift",
        check_blank=pick(pair),
        check_standard=pick(pair),
        samples=pick(st.lists(st.tuples(sizes, sizes).map(list))),
    )
    ask("recovery", found=pick(sizes), added=pick(sizes), native=pick(sizes))
    ask("rpd", a=pick(sizes), b=pick(sizes))
    positive = st.sampled_from([one for one in SIZES if float(one) > 0])
    ask(
        "uncertainty",
        terms=[{"name": str(n), "u": u, "df": pick(positive)} for n, u in enumerate(pick(st.lists(positive)))],
    )
    ask(
        "content",
        solution_mg_per_l=pick(sizes),
        volume_ml=pick(positive),
        mass_g=pick(positive),
        dilution=pick(positive),
        u_mass=pick(positive),
    )
