"""Lists judged all at once: the same yes as plain jsonschema gives, whatever stands in them."""

from __future__ import annotations

import re
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from benchseal.documents.quick import quick_yes

DECIMAL = {"type": "string", "pattern": r"^(-?[0-9]+(\.[0-9]+)?)?$", "maxLength": 6}
ITEMS: list[dict[str, Any]] = [
    DECIMAL,
    {"type": "string", "pattern": "^(0|[1-9][0-9]{0,2})$"},
    {"type": "string", "minLength": 1, "maxLength": 3},
    {"type": "integer", "minimum": 1, "maximum": 3},
    {"enum": ["", "missing"]},
    {"type": "string", "pattern": "^[^x]*$"},  # a line end fits: each item must be asked alone
    {"type": "string", "pattern": r"^.\.$"},
    {"type": "string", "pattern": r"^\s*$"},
]
TEXT = st.sampled_from(["", "0", "1.5", "-2", "1\n2", "1\n", "\n", "x", "a\nb", "missing", "01", "999", "1234567", "٣"])
ANY = (
    TEXT | st.text(max_size=4) | st.sampled_from([1, 2, 0, 4, True, False, 1.0, None, 2.5]) | st.lists(TEXT, max_size=1)
)


@given(item=st.sampled_from(ITEMS), values=st.lists(TEXT, max_size=4) | st.lists(ANY, max_size=4), named=st.booleans())
def test_a_yes_to_a_list_is_a_yes_to_each_item(item: dict[str, Any], values: list[object], *, named: bool) -> None:
    items = {"$ref": "#/$defs/one"} if named else item
    schema = {"type": "array", "items": items, "$defs": {"one": item}}
    if quick_yes(schema)(values):
        assert all(_fits(item, value) for value in values)


@pytest.mark.parametrize(
    ("values", "due"),
    [(["0.5", "", "-1"], True), (["0.5\n1"], False), (["1", 1], False), (["1", "1234567"], False), ([], True)],
)
def test_decimals(values: list[object], *, due: bool) -> None:
    assert quick_yes({"type": "array", "items": DECIMAL})(values) is due


def _fits(schema: dict[str, Any], value: object) -> bool:
    """As the judge has it: ``$`` is the very end of a text, not also the place before a last line end."""
    whole = re.compile(schema.get("pattern", "^(?s:.*)$")[1:-1])
    return Draft202012Validator(schema).is_valid(value) and (not isinstance(value, str) or bool(whole.fullmatch(value)))
