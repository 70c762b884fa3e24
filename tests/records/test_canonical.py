"""Canonical bytes equal RFC 8785 in our domain; outside it nothing has canonical bytes."""

from __future__ import annotations

import unicodedata

import pytest
import rfc8785
from hypothesis import given
from hypothesis import strategies as st

from benchseal.records.canonical import Json, canonical_bytes, digest, parse_canonical, parse_json

_LARGEST = 2**53 - 1
_TEXT = st.text(st.characters(exclude_categories=["Cs"])).map(lambda text: unicodedata.normalize("NFC", text))
_KEYS = st.text(st.characters(max_codepoint=127), max_size=8)
_VALUES: st.SearchStrategy[Json] = st.recursive(
    st.none() | st.booleans() | st.integers(-_LARGEST, _LARGEST) | _TEXT,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(_KEYS, inner, max_size=4),
    max_leaves=20,
)


@given(_VALUES)
def test_canonical_bytes_are_those_of_rfc_8785(value: Json) -> None:
    """Reference implementation: the package rfc8785."""
    assert canonical_bytes(value) == rfc8785.dumps(value)


@given(_VALUES)
def test_parsing_is_the_inverse(value: Json) -> None:
    assert parse_canonical(canonical_bytes(value)) == value


def test_the_key_order_of_rfc_8785_3_2_3_for_ascii_keys() -> None:
    """RFC 8785 section 3.2.3 sorts by UTF-16 code units; for ASCII keys that is the order of the signs."""
    assert canonical_bytes({"b": 1, "B": 2, "1": 3, "\r": 4}) == b'{"\\r":4,"1":3,"B":2,"b":1}'


def test_digest_of_the_empty_message() -> None:
    """FIPS 180-4 example values (NIST CSRC): SHA-256 of the empty message."""
    assert digest(b"") == "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"


@pytest.mark.parametrize(
    ("value", "part"),
    [
        pytest.param({"a": 0.5}, "float", id="measured number that is not text"),
        pytest.param([_LARGEST + 1], "integer", id="integer beyond 2**53 - 1"),
        pytest.param({"ä": 1}, "ASCII", id="key that is not ASCII"),
        pytest.param({1: 1}, "ASCII", id="key that is no text"),
        pytest.param("e\u0301", "NFC", id="text not in NFC"),
        pytest.param("\ud800", "surrogate", id="half a surrogate pair"),
        pytest.param({"a": [{"b": b"x"}]}, "bytes", id="bytes deep inside"),
        pytest.param((1,), "tuple", id="tuple"),
    ],
)
def test_outside_the_domain(value: Json, part: str) -> None:
    with pytest.raises(ValueError, match=part):
        canonical_bytes(value)


@pytest.mark.parametrize(
    "data",
    [
        pytest.param(b'{"b":1,"a":2}', id="keys out of order"),
        pytest.param(b'{"a": 1}', id="blank"),
        pytest.param(b'{"a":1.0}', id="number with a point"),
        pytest.param(b'"\\u0041"', id="needless escape"),
        pytest.param(b'{"a":1,"a":1}', id="key twice"),
        pytest.param(b"NaN", id="not a number"),
        pytest.param(b"1e999", id="infinite"),
        pytest.param(b"[" * 100_000, id="nested too deeply"),
        pytest.param(b"\xff", id="not UTF-8"),
        pytest.param(b"", id="nothing"),
        pytest.param(b"1" * 5000, id="five thousand figures"),
    ],
)
def test_bytes_that_are_not_canonical(data: bytes) -> None:
    with pytest.raises(ValueError):  # noqa: PT011  each has its own words
        parse_canonical(data)


@given(st.binary(max_size=200))
def test_any_bytes_parse_or_are_refused(data: bytes) -> None:
    try:
        value = parse_json(data)
    except ValueError:
        return
    assert value is None or isinstance(value, bool | int | float | str | list | dict)


@pytest.mark.parametrize(
    "text", [r'"\ud800"', r'["a", {"b": "x\uDFFFy"}]', r'{"\udc00": 1}', r'"\udc00\ud800"', r'"\ud83d"']
)
def test_half_a_surrogate_pair_is_no_text(text: str) -> None:
    """RFC 7493 (I-JSON), 2.1: strings must not include surrogates that are no pair."""
    for data in (text, text.encode()):
        with pytest.raises(ValueError, match="half a surrogate pair"):
            parse_json(data)
    assert parse_json(r'"\ud83d\ude00 \\ud800"') == "\U0001f600 \\ud800"
