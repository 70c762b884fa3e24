"""The worked examples that come with the program are those of ``fixtures/published``, and hold here."""

from __future__ import annotations

import json
import re
from typing import Any

import pytest

from benchseal.compute.worked_examples import Example, compare, examples_of
from benchseal.shipped import starter

from .published import case, dataset, figures

EXAMPLES = {one.id: one for one in examples_of(json.loads(starter("qualification/worked-examples.json")))}


def numbers(value: Any) -> list[str]:  # noqa: ANN401  JSON of any shape
    """Every number of a source, as text: those with which an example's are compared."""
    if isinstance(value, dict):
        return [one for part in value.values() for one in numbers(part)]
    if isinstance(value, list):
        return [one for part in value for one in numbers(part)]
    if isinstance(value, str) and (short := re.fullmatch(r"[0-9]+[.]([0-9]+)[(]([0-9]+)[)]", value)):
        return [value.partition("(")[0], f"0.{short[2].zfill(len(short[1]))}"]  # 4.751(97): u in the last places
    if isinstance(value, str):
        return [part.strip("()+-/ ") for part in value.replace("(", " (").split()] + [value]
    return [] if value is None or isinstance(value, bool) else [str(value), str(-value)]


SOURCES: dict[str, tuple[Any, Any]] = {
    "nist-norris": ((found := dataset("nist_strd_linear", "Norris")), found["certified"]),
    "nist-pontius": ((found := dataset("nist_strd_linear", "Pontius")), found["certified"]),
    "nist-noint1": ((found := dataset("nist_strd_linear", "NoInt1")), found["certified"]),
    "nist-michelso": ((found := dataset("nist_strd_univariate", "Michelso")), found["certified"]),
    "quam-a5-cadmium": ((found := figures("quam_a5_cadmium")), found["published"]),
    "harvey-calibration": ((found := case("harvey_unweighted")), found["published"]),
    "ts28037-equal": ((found := case("ts28037_unknown_common_u")), found["published"]),
    "ts28037-weighted": ((found := case("ts28037_unequal_known_u")), found["published"]),
    "din-32645": ((found := figures("detection_limit_examples")["din32645"]), found["published"]),
    "epa-mdl": ((found := figures("detection_limit_examples")["mdl"]), found["published"]),
    "nist-grubbs": ((found := figures("outlier_nist")), found["published"]),
    "harvey-dixon": ((found := figures("outlier_example")), found["published"]),
    "gum-g41": ((found := figures("gum_effective_df")["g4"]), found["published"]),
    "miller-additions": ((found := figures("standard_addition_example")), found["published"]),
}


def test_each_shipped_example_has_its_source() -> None:
    assert EXAMPLES.keys() == SOURCES.keys()


@pytest.mark.clause("A11 4", "17025 7.11.2")
@pytest.mark.parametrize("example", EXAMPLES.values(), ids=lambda one: one.id)
def test_each_shipped_example_is_the_published_one_and_holds_here(example: Example) -> None:
    data, published = SOURCES[example.id]
    known = [float(one) for one in numbers(published) if _is_number(one)]
    for expected in example.expect:
        if "equals" not in expected:
            assert float(expected["printed" if "printed" in expected else "value"]) in known, expected["at"]
    every = set(numbers(data))
    for name in ("x", "y", "values", "spiked", "added"):
        assert {str(one) for one in example.ask.get(name, [])} <= every, name
    assert [each for each in compare(example) if not each.holds] == []


def _is_number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True


def test_weights_and_samples_of_the_examples_follow_from_their_sources() -> None:
    assert EXAMPLES["ts28037-weighted"].ask["weights"] == [1 / u**2 for u in case("ts28037_unequal_known_u")["u_y"]]
    read = figures("quam_a5_cadmium")["calibration"]["sample_absorbances_two_readings"]
    assert EXAMPLES["quam-a5-cadmium"].ask["samples"] == [{"y": sum(read) / 2, "readings": 2}]
    terms = EXAMPLES["gum-g41"].ask["terms"]
    of = figures("gum_effective_df")["g4"]
    assert [(one["u"], one["df"]) for one in terms] == list(zip(of["u_percent"], of["df"], strict=True))
