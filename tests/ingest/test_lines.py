"""Bytes to lines: strict, each refused byte with its place."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from benchseal.ingest import lines as lines_module
from benchseal.ingest.lines import LONGEST_LINE, of_another_encoding, text_lines
from benchseal.problems import Problem

if TYPE_CHECKING:
    from benchseal.records.layout import Encoding


@pytest.mark.parametrize("line_end", ["\n", "\r\n", "\r"])
def test_every_line_end(line_end: str) -> None:
    assert text_lines(f"a{line_end}b{line_end}".encode(), "utf-8", "x") == ["a", "b", ""]


@pytest.mark.parametrize(
    ("data", "encoding", "text"),
    [
        ("µ°".encode(), "utf-8", "µ°"),
        (b"\xef\xbb\xbfa", "utf-8", "a"),
        (b"\xb5\xb0", "windows-1252", "µ°"),
        (b"\xe6\xf8", "cp850", "µ°"),
        (b"\xe6\xf8", "cp437", "µ°"),
        (b"\xa4", "iso-8859-15", "€"),
        (b"\xb5", "iso-8859-1", "µ"),
        ("µ°".encode("utf-16"), "utf-16", "µ°"),
        (b"\xfe\xff\x00a", "utf-16", "a"),
    ],
)
def test_code_pages(data: bytes, encoding: Encoding, text: str) -> None:
    assert text_lines(data, encoding, "x") == [text]


@pytest.mark.parametrize(
    ("data", "encoding", "code", "where"),
    [
        pytest.param(b"ab\ncd\xffe", "utf-8", "byte-undecodable", "x, line 2, column 3", id="not UTF-8"),
        pytest.param(b"\xc3", "utf-8", "byte-undecodable", "x, line 1, column 1", id="half a letter"),
        pytest.param(b"\xed\xa0\x80", "utf-8", "byte-undecodable", "x, line 1, column 1", id="half a surrogate pair"),
        pytest.param(b"a\x81", "windows-1252", "byte-undecodable", "x, line 1, column 2", id="not in the code page"),
        pytest.param(b"\x80", "ascii", "byte-undecodable", "x, line 1, column 1", id="not ASCII"),
        pytest.param("a".encode("utf-16-le"), "utf-16", "byte-undecodable", "x", id="UTF-16 without its mark"),
        pytest.param(b"\xff\xfea", "utf-16", "byte-undecodable", "x", id="half of UTF-16"),
        pytest.param("ab".encode("utf-16"), "windows-1252", "not-text", "x", id="UTF-16 not declared"),
        pytest.param(b"a\x1a", "utf-8", "control-sign", "x, line 1, column 2", id="control Z"),
        pytest.param(b"aaaaaaa\0", "utf-8", "control-sign", "x, line 1, column 8", id="one zero byte"),
        pytest.param("a\x85b".encode(), "utf-8", "control-sign", "x, line 1, column 2", id="next line sign"),
        pytest.param(b"a" * (LONGEST_LINE + 1), "utf-8", "line-too-long", "x, line 1", id="line too long"),
        pytest.param(b"", "utf-8", "file-empty", "x", id="nothing"),
        pytest.param(b" \r\n\t", "utf-8", "file-empty", "x", id="blanks"),
    ],
)
def test_refused(data: bytes, encoding: Encoding, code: str, where: str) -> None:
    found = text_lines(data, encoding, "x")
    assert isinstance(found, tuple)
    assert found[0].code == f"ingest.{code}"
    assert found[0].where == where


def test_every_byte_that_does_not_decode_is_named() -> None:
    found = text_lines(b"\xff\n\xfe\xfd", "utf-8", "x")
    assert [problem.where for problem in found if isinstance(problem, Problem)] == [
        "x, line 1, column 1",
        "x, line 2, column 1",
        "x, line 2, column 2",
    ]


def test_limits(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(lines_module, "LARGEST_FILE", 10)
    monkeypatch.setattr(lines_module, "MOST_LINES", 3)
    for data in (b"x" * 11, b"a\nb\nc\nd"):
        found = text_lines(data, "utf-8", "x")
        assert isinstance(found, tuple)
        assert found[0].code == "ingest.file-too-large"


@pytest.mark.parametrize("encoding", ["windows-1252", "iso-8859-1", "iso-8859-15", "cp850", "cp437"])
def test_utf_8_under_a_code_of_one_byte_is_told_with_its_line(encoding: Encoding) -> None:
    for line_end in ("\n", "\r\n", "\r"):
        found = of_another_encoding(f"a{line_end}b µg".encode(), encoding, "x")
        assert found is not None
        assert (found.code, found.where) == ("ingest.encoding-differs", "x, line 2")
    assert of_another_encoding(b"\xef\xbb\xbfa", encoding, "x") is not None
    assert of_another_encoding("b µg".encode(encoding), encoding, "x") is None
    assert of_another_encoding("b µg".encode(), "utf-8", "x") is None
