"""Two values compared: every difference is told, once, in an order that never changes; equal ones tell nothing."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchseal.documents.compare import Difference, differences

_TEXT = st.text("ab\n", max_size=4)
_VALUES = st.recursive(
    _TEXT | st.integers(0, 3) | st.booleans() | st.none(),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.sampled_from("abc") | st.just("id"), inner, max_size=3)
    ),
    max_leaves=8,
)


@given(_VALUES, _VALUES)
def test_something_is_told_exactly_when_the_two_differ(old: Any, new: Any) -> None:  # noqa: ANN401  JSON of any shape
    found = differences(old, new)
    assert bool(found) == (not _alike(old, new))
    assert all(each.lines or each.old != each.new for each in found)


def _alike(old: Any, new: Any) -> bool:  # noqa: ANN401  JSON of any shape
    """Equal as JSON: true is not 1."""
    return repr(_sorted(old)) == repr(_sorted(new))


def _sorted(value: Any) -> Any:  # noqa: ANN401  JSON of any shape
    if isinstance(value, dict):
        return {key: _sorted(value[key]) for key in sorted(value)}
    return [_sorted(each) for each in value] if isinstance(value, list) else value


@given(_VALUES, _VALUES)
def test_the_other_way_round_the_same_fields_differ(old: Any, new: Any) -> None:  # noqa: ANN401  JSON of any shape
    there, back = differences(old, new), differences(new, old)
    assert [(each.path, each.old, each.new) for each in there] == [(each.path, each.new, each.old) for each in back]


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        pytest.param({"a": "1", "b": "2"}, {"b": "3", "a": "1"}, [("b", "2", "3")], id="a field changed"),
        pytest.param({}, {"b": "3"}, [("b", None, "3")], id="a field more"),
        pytest.param({"b": 3}, {}, [("b", "3", None)], id="a field less"),
        pytest.param({"b": [1]}, {"b": [True]}, [("b", "[1]", "[true]")], id="a number became a flag"),
        pytest.param({"b": 3}, {"b": "3"}, [("b", "3", "3")], id="a number became text") ,
        pytest.param({"b": ""}, {"b": "0.0"}, [("b", "", "0.0")], id="nothing became zero"),
        pytest.param(
            {"s": [{"label": "S1", "c": "1"}, {"label": "S2", "c": "2"}]},
            {"s": [{"label": "S0", "c": "0"}, {"label": "S1", "c": "1"}, {"label": "S2", "c": "2.0"}]},
            [("s[S0]", None, '{"c":"0","label":"S0"}'), ("s[S2].c", "2", "2.0")],
            id="a line put in before others",
        ),
        pytest.param(
            {"s": [{"id": "a"}, {"id": "b"}]},
            {"s": [{"id": "b"}, {"id": "a"}]},
            [("s (order)", "a, b", "b, a")],
            id="only the order",
        ),
        pytest.param(
            {"r": [{"element": "Zn", "quantity": "content", "upper": "1"}]},
            {"r": [{"element": "Zn", "quantity": "content", "upper": "2"}]},
            [("r[Zn, content].upper", "1", "2")],
            id="a limit of one element",
        ),
        pytest.param(
            {"s": [{"x": "1"}, {"x": "1"}]}, {"s": [{"x": "1"}, {"x": "2"}]}, [("s[0002].x", "1", "2")], id="no names"
        ),
    ],
)  # fmt: skip
def test_what_is_told(old: Any, new: Any, said: list[tuple[str, str | None, str | None]]) -> None:  # noqa: ANN401
    assert [(each.path, each.old, each.new) for each in differences(old, new)] == said


def test_a_text_is_compared_line_by_line() -> None:
    (found,) = differences({"text": "one\ntwo\nthree\nfour\n"}, {"text": "one\ntwo\n3\nfour\n"})
    assert found.lines == ("@@ -2,3 +2,3 @@", " two", "-three", "+3", " four")


def test_words_of_a_list_are_compared_line_by_line() -> None:
    (found,) = differences({"cautions": ["wear gloves", "close the hood"]}, {"cautions": ["close the hood"]})
    assert "-wear gloves" in found.lines


def test_a_difference_as_people_read_it() -> None:
    assert Difference("a.b", None, "").said() == ("a.b: (nothing) -> ''",)
    assert Difference("t", "x\ny", "x", ("-y",)).said() == ("t:", "  -y")
