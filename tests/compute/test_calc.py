"""``calc``: each kind answers with what it promises, and text keeps its digits."""

from __future__ import annotations

import json
from typing import Any, cast

import pytest
from jsonschema import Draft202012Validator

from benchseal.compute.calc_answer import refused
from benchseal.compute.calc_request import KINDS
from benchseal.shipped import schema

from .asking import GOOD, X, Y, ask, problems


def test_every_kind_has_a_good_request() -> None:
    assert tuple(GOOD) == KINDS


@pytest.mark.parametrize("kind", KINDS)
def test_each_kind_answers_with_the_promised_keys(kind: str) -> None:
    request, keys = GOOD[kind]
    found = ask(kind, **request)
    assert (found["kind"], found["schema_version"]) == (kind, 1)
    assert keys <= set(found)
    assert "refused" not in json.dumps({key: found[key] for key in keys - {"back_calculated_percent_error"}})


@pytest.mark.parametrize("kind", KINDS)
def test_each_schema_is_a_described_schema(kind: str) -> None:
    text = json.loads(schema(f"calc/{kind}"))
    Draft202012Validator.check_schema(text)
    assert text["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    assert text["description"]
    assert all("description" in one for name, one in text["properties"].items() if name != "kind")


@pytest.mark.parametrize("kind", KINDS)
def test_each_missing_unknown_or_mistyped_key_is_named(kind: str) -> None:
    request, _ = GOOD[kind]
    required = json.loads(schema(f"calc/{kind}"))["required"]
    found = problems({"kind": kind, "colour": 1})
    assert ("calc.key-unknown", "$.colour") in found
    for key in required:
        if key != "kind":
            assert ("calc.key-missing", f"$.{key}") in found
            wrong = problems({"kind": kind, **request, key: True})
            assert any(where == f"$.{key}" for _, where in wrong), (key, wrong)


def test_a_wholly_refused_answer_says_so_itself() -> None:
    found = ask("calibration", model="line", x=[1], y=[1])
    assert found["refused"] == found["coefficients"]["refused"] == found["df"]["refused"]
    assert found["n"] == 1
    assert "refused" not in ask("calibration", model="line", x=X, y=Y)


def test_text_keeps_its_digits() -> None:
    """As floats these three differ by nothing the last places could show."""
    values = [f"{10**20 + n}.5" for n in (1, 2, 3)]
    assert ask("statistics", values=values)["sd"] == 1.0
    assert ask("conformity", rule="pharma", value="0.505", upper="0.50")["rounded"] == "0.51"
    assert ask("conformity", rule="simple", value=f"0.{'3' * 30}4", upper=f"0.{'3' * 30}")["verdict"] == "fail"


def test_numbers_and_text_of_the_same_value_agree() -> None:
    for kind, (request, _) in GOOD.items():
        assert ask(kind, **request) == ask(kind, **cast("dict[str, Any]", _as_text(request)))


def _as_text(value: object) -> object:
    if isinstance(value, dict):
        return {key: _as_text(one) for key, one in value.items()}
    if isinstance(value, list):
        return [_as_text(one) for one in value]
    return repr(value) if isinstance(value, (int, float)) and not isinstance(value, bool) else value


def test_infinite_degrees_of_freedom_are_a_word() -> None:
    found = ask("uncertainty", terms=[{"name": "a", "u": 1}])
    assert found["df_effective"] == "infinite"
    assert round(found["k"], 6) == 1.959964


def test_moisture_names_the_basis() -> None:
    base = {"solution_mg_per_l": 1, "volume_ml": 50, "mass_g": 1}
    assert (ask("content", **base)["mg_per_kg"], ask("content", **base)["basis"]) == (50.0, "as received")
    dry = ask("content", **base, moisture_fraction="0.5")
    assert (dry["mg_per_kg"], dry["basis"]) == (100.0, "dry")


def test_rounding_with_u_and_places() -> None:
    found = ask("rounding", value="0.26017", u="0.01784", decimals=2)
    assert (found["text"], found["value_text"], found["expanded_text"]) == ("0.26", "0.26", "0.04")


def test_an_over_range_sample_shows_its_estimate_only_in_words() -> None:
    found = ask("calibration", model="line", x=X, y=Y, samples=[{"y": 0.9}])["samples"][0]
    assert set(found) == {"refused"}
    assert "about 4." in found["refused"]["what"]


def test_each_refusal_has_words_and_no_number_escapes() -> None:
    with pytest.raises(KeyError):
        refused("a-word-nobody-wrote")
