"""A number outside its limits is told the limits."""

from __future__ import annotations

import pytest

from benchseal.documents.judge import _kind_due


@pytest.mark.parametrize(
    ("schema", "said"),
    [
        ({"type": "integer", "minimum": 1, "maximum": 400}, "a whole number from 1 to 400"),
        ({"type": "integer", "minimum": 1}, "a whole number from 1"),
        ({"type": "integer"}, "a whole number"),
        ({"type": "boolean"}, "true or false"),
    ],
)
def test_what_is_due_names_its_limits(schema: dict[str, object], said: str) -> None:
    assert _kind_due(schema) == said
