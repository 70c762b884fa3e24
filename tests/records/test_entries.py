"""A ledger entry and its bytes."""

from __future__ import annotations

import json
import unicodedata
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchseal.records.entries import Entry, entry_body, read_entry

_WORDS = st.text(st.characters(codec="utf-8", categories=["L", "N", "P", "Zs"]), max_size=20).filter(
    lambda text: unicodedata.is_normalized("NFC", text)
)
_DIGESTS = st.binary(min_size=32, max_size=32).map(bytes.hex)
_ENTRIES = st.builds(
    Entry,
    seq=st.integers(1, 2**53 - 1),
    kind=st.just("run.submitted"),
    at=st.just("2026-03-02T08:14:05.250Z"),
    actor=_WORDS,
    subject=_WORDS,
    reason=_WORDS,
    facts=st.dictionaries(st.sampled_from(["runs", "role"]), _WORDS | st.integers(0, 9) | st.lists(_WORDS, max_size=2)),
    digests=st.dictionaries(st.sampled_from(["manifest", "method"]), _DIGESTS),
    v=st.just(1),
)


@given(_ENTRIES)
def test_reading_is_the_inverse(entry: Entry) -> None:
    assert read_entry(entry_body(entry)) == entry


_PLAIN: dict[str, Any] = json.loads(entry_body(Entry(1, "a.b", "2026-03-02T08:14:05.250Z", "p-x", "run/R-00001")))


@pytest.mark.parametrize(
    "value",
    [
        pytest.param({**_PLAIN, "v": 2}, id="version of the future"),
        pytest.param({**_PLAIN, "colour": "blue"}, id="field more"),
        pytest.param({key: part for key, part in _PLAIN.items() if key != "reason"}, id="field less"),
        pytest.param([_PLAIN], id="a list"),
        pytest.param("entry", id="a text"),
    ],
)
def test_not_an_entry(value: object) -> None:
    body = json.dumps(value, sort_keys=True, separators=(",", ":")).encode()
    with pytest.raises(ValueError, match="not a ledger entry"):
        read_entry(body)
