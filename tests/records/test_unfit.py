"""What does not fit a record is said in plain words: no name of an exception, a type or a parser."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any, Literal

import pytest

from benchseal.records.canonical import parse_json
from benchseal.records.shape import record_of

NAMES = re.compile(r"[A-Z][a-z]+Error|typing|Literal|NoneType|unknown error|attribute|Expecting|codec|@ \\$")


@dataclass(frozen=True, slots=True)
class Line:
    """A line."""

    state: Literal["in force", "gone"]
    size: int


@dataclass(frozen=True, slots=True)
class Whole:
    """Lines under a name."""

    name: str
    lines: tuple[Line, ...]


GOOD = {"name": "a", "lines": [{"state": "gone", "size": 1}]}


def told(value: Any) -> str:  # noqa: ANN401  whatever a file holds
    with pytest.raises(ValueError, match=r".") as stop:
        record_of(Whole, value)
    assert not NAMES.search(str(stop.value))
    return str(stop.value)


def test_what_is_good_is_read() -> None:
    assert record_of(Whole, GOOD).lines[0].state == "gone"  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("value", "words"),
    [
        pytest.param(
            {**GOOD, "lines": [{"state": "in_force", "size": 1}]},
            "lines[0].state: 'in_force' is none of: in force, gone",
            id="an unknown word",
        ),
        pytest.param({"lines": []}, "name: it is missing", id="a key missing"),
        pytest.param({**GOOD, "more": 1}, "nobody knows more", id="a key nobody knows"),
        pytest.param({**GOOD, "name": 1}, "name: another kind of value is due, a text", id="a number for a text"),
        pytest.param(
            {**GOOD, "lines": [{"state": "gone", "size": "x"}]},
            "lines[0].size: another kind of value is due, a whole number",
            id="a text for a number",
        ),
        pytest.param({**GOOD, "lines": 3}, "lines: another kind of value is due", id="a number for a list"),
        pytest.param({**GOOD, "lines": [3]}, "lines[0]: another kind of value is due", id="a number for an object"),
        pytest.param(7, "another kind of value is due", id="no object at all"),
        pytest.param(None, "another kind of value is due", id="nothing"),
    ],
)
def test_what_does_not_fit_is_named_with_its_place(value: Any, words: str) -> None:  # noqa: ANN401
    assert told(value).startswith(words)


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "it is empty"),
        (b" \n", "it is empty"),
        (b'{"a": }', "line 1, sign 7 is not written as JSON"),
        (b'"\xff"', "it is no text in UTF-8"),
    ],
)
def test_what_is_no_json_is_said_by_its_place(data: bytes, words: str) -> None:
    with pytest.raises(ValueError, match=f"^{re.escape(words)}$"):
        parse_json(data)
