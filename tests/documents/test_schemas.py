"""The shipped schemas: well formed, described, and judged alike by the judge and the quick yes."""

from __future__ import annotations

import copy
import json
import math
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from benchseal.documents.judge import schema_of, shape_faults
from benchseal.documents.quick import quick_yes

if TYPE_CHECKING:
    from collections.abc import Iterator

ROOT = Path(__file__).parents[2]
SAMPLES = ROOT / "fixtures" / "schemas"
_SCHEMAS = sorted(path.name.removesuffix(".schema.json") for path in (ROOT / "schemas").glob("*.schema.json"))
_JSON_SAMPLES = sorted(SAMPLES.glob("*/*.json"))
_GOOD = [path for path in _JSON_SAMPLES if path.stem == "good"]

# Defect in a sample's name to the code of its problem.
_CODE = {
    "key-missing": "documents.key-missing",
    "key-unknown": "documents.key-unknown",
    "word-unknown": "documents.value-unknown",
    "decimal-comma": "documents.value-unfit",
    "decimal-exponent": "documents.value-unfit",
    "decimal-as-number": "documents.value-unfit",
    "decimal-line-end": "documents.value-unfit",
    "decimal-not-a-number": "documents.value-unfit",
    "digest-short": "documents.value-unfit",
    "digest-capital": "documents.value-unfit",
    "date-other-order": "documents.value-unfit",
    "time-without-day": "documents.value-unfit",
    "whole-number-as-text": "documents.value-un",
    "reading-number": "documents.value-unfit",
}


@pytest.mark.parametrize("name", _SCHEMAS)
def test_schema_is_one(name: str) -> None:
    Draft202012Validator.check_schema(schema_of(name))


@pytest.mark.parametrize("name", [name for name in _SCHEMAS if name != "profile"])
def test_every_property_is_described(name: str) -> None:
    lacking = [path for path, part in _properties(schema_of(name)) if not part.get("description")]
    assert lacking == []


def _properties(schema: dict[str, Any]) -> Iterator[tuple[str, dict[str, Any]]]:
    for holder in (schema, *schema.get("$defs", {}).values()):
        for name, part in holder.get("properties", {}).items():
            yield f"{holder.get('title', '')}.{name}", part


@pytest.mark.parametrize("name", [name for name in _SCHEMAS if name != "profile"])
def test_every_schema_has_good_and_bad_samples(name: str) -> None:
    stems = {path.stem for path in (SAMPLES / name).iterdir()}
    assert "good" in stems
    assert len(stems) >= 3


@pytest.mark.parametrize("path", _JSON_SAMPLES, ids=lambda path: f"{path.parent.name}-{path.stem}")
def test_json_samples(path: Path) -> None:
    faults = shape_faults(path.parent.name, json.loads(path.read_text(encoding="utf-8")))
    if path.stem == "good":
        assert faults == ()
    else:
        assert [fault.code for fault in faults if fault.code.startswith(_CODE[path.stem.removeprefix("bad-")])] != []


_NASTY: tuple[object, ...] = (
    None, True, 0, -1, 10**30, 0.5, math.nan, math.inf, "", "0,5", "1e3", "0.50", "0.5\n", "\n", "ab" * 32, "AB" * 32,
    "Pb", "Pb\n", [], [[]], {}, {"Pb": "1"}, {"pb": "1"}, "x" * 5000, "2026-03-02", "2026-03-02T09:14:05",
)  # fmt: skip


def _places(value: object, path: tuple[str | int, ...] = ()) -> list[tuple[str | int, ...]]:
    found = [path]
    if isinstance(value, dict):
        for key, part in value.items():
            found += _places(part, (*path, key))
    if isinstance(value, list):
        for key, part in enumerate(value):
            found += _places(part, (*path, key))
    return found


def _changed(value: Any, path: tuple[str | int, ...], new: object) -> Any:  # noqa: ANN401  JSON of any shape
    if not path:
        return new
    value = copy.deepcopy(value)
    at = value
    for key in path[:-1]:
        at = at[key]
    at[path[-1]] = new
    return value


@given(st.data())
def test_the_quick_yes_says_only_what_the_judge_says(data: st.DataObject) -> None:
    """One fast path rule: it may only say yes; plain jsonschema is asked whether it was right."""
    path = data.draw(st.sampled_from(_GOOD))
    good = json.loads(path.read_text(encoding="utf-8"))
    place = data.draw(st.sampled_from(_places(good)))
    value = _changed(good, place, data.draw(st.sampled_from(_NASTY)))
    schema = schema_of(path.parent.name)
    if quick_yes(schema)(value):
        assert Draft202012Validator(schema).is_valid(value)
        assert list(Draft202012Validator(schema).iter_errors(value)) == []


@pytest.mark.parametrize("path", _GOOD, ids=lambda path: path.parent.name)
def test_the_quick_yes_is_not_idle(path: Path) -> None:
    """It leaves to the judge only a choice of records (oneOf), a fact of any shape, and words that are numbers."""
    left_to_the_judge = {"evidence", "run-work", "ledger-entry"}
    good = json.loads(path.read_text(encoding="utf-8"))
    assert quick_yes(schema_of(path.parent.name))(good) == (path.parent.name not in left_to_the_judge)


@pytest.mark.parametrize(
    "schema",
    [
        pytest.param({"type": "string", "format": "date"}, id="keyword it does not know"),
        pytest.param({"type": "number"}, id="type it does not know"),
        pytest.param({"$ref": "#/$defs/lost"}, id="reference to nothing"),
        pytest.param(
            {"$ref": "#/$defs/a", "maxLength": 1, "$defs": {"a": {"type": "string"}}}, id="reference and more"
        ),
        pytest.param({"type": "string", "pattern": "a"}, id="pattern for a part"),
        pytest.param({"type": "string", "pattern": "^a|b$"}, id="pattern with two ends"),
        pytest.param({"enum": [1, True]}, id="words that are no text"),
        pytest.param(True, id="no object"),
    ],
)
def test_the_quick_yes_does_not_guess(schema: Any) -> None:  # noqa: ANN401  a schema of any shape
    yes = quick_yes(schema if isinstance(schema, dict) else {"type": "array", "items": schema})
    assert not any(yes(value) for value in ("a", "b", 1, True, [1], "2026-03-02"))


@pytest.mark.parametrize(("value", "shown"), [(True, "true"), (False, "false"), (None, "nothing"), (5, "5")])
def test_a_value_is_shown_as_a_file_writes_it(value: object, shown: str) -> None:
    """Python's own words for them stand in no file."""
    faults = shape_faults("customer-row", {"customer": "ardlea", "name": "x", "contact": "x", "address": value})
    assert [fault.what.partition(";")[0] for fault in faults] == [f"address is {shown}"]
    unknown = shape_faults("profile", {"kind": value})
    assert [fault.what for fault in unknown if fault.path == ("kind",)] == [f"kind is {shown}; due: one of 'profile'."]


def test_all_faults_at_once_in_words() -> None:
    value = {"customer": "Ardlea!", "nane": "x", "address": 5}
    texts = [f"{fault.what} {fault.remedy}" for fault in shape_faults("customer-row", value)]
    assert any("Did you mean 'name'?" in text for text in texts)
    assert any("'name' is missing" in text for text in texts)
    assert any("'contact' is missing" in text for text in texts)
    assert any("address is 5; due: text" in text for text in texts)
    assert any("customer is 'Ardlea!'" in text for text in texts)
