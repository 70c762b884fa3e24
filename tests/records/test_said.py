"""One and several of something."""

from __future__ import annotations

from benchseal.records.said import some, some_are


def test_one_is_no_plural() -> None:
    assert [some(count, "portion") for count in (0, 1, 2)] == ["0 portions", "1 portion", "2 portions"]
    assert [some(count, "entry") for count in (1, 2)] == ["1 entry", "2 entries"]
    assert [some_are(count, "file") for count in (1, 2)] == ["1 file is", "2 files are"]
