"""Several files of one run as one: bytes, lines, places, and what is no run."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchseal.ingest.joining import MOST_PARTS, joined, placed
from benchseal.ingest.lines import text_lines
from benchseal.problems import Finding, Problem

if TYPE_CHECKING:
    from benchseal.records.layout import Encoding

SIGNS = st.characters(codec="cp1252", exclude_categories=("Cc", "Zl", "Zp"), exclude_characters="\xa0")
LINES = st.lists(st.text(SIGNS, min_size=1, max_size=8), min_size=1, max_size=5)
ENCODINGS: tuple[tuple[Encoding, str, bytes], ...] = (
    ("utf-8", "utf-8", b""),
    ("windows-1252", "cp1252", b""),
    ("utf-16", "utf-16-le", b"\xff\xfe"),
    ("utf-16", "utf-16-be", b"\xfe\xff"),
)


def parts(*texts: str) -> list[tuple[str, bytes]]:
    return [(f"rack-{nth}.csv", text.encode()) for nth, text in enumerate(texts, 1)]


def codes(files: list[tuple[str, bytes]]) -> list[tuple[str, str]]:
    found = joined(files)
    assert isinstance(found, tuple)
    return [(each.code, each.where) for each in found]


@given(
    texts=st.lists(LINES, min_size=2, max_size=4, unique_by="\n".join),
    kind=st.sampled_from(ENCODINGS),
    end=st.sampled_from(["\n", "\r\n", "\r"]),
)
def test_every_line_of_a_part_is_found_again_in_it(
    texts: list[list[str]], kind: tuple[Encoding, str, bytes], end: str
) -> None:
    encoding, codec, mark = kind
    files = [(f"p{nth}", mark + "".join(line + end for line in lines).encode(codec)) for nth, lines in enumerate(texts)]
    whole = joined(files)
    assert not isinstance(whole, tuple)
    assert [part.data for part in whole.parts] == [data for _, data in files]
    read = text_lines(whole.data, encoding, "x")
    if isinstance(read, tuple):  # a sign the reader takes from nobody
        return
    due = [line for lines in texts for line in lines]
    assert read == [*due, ""]
    for number in range(1, len(due) + 1):
        where = placed(Problem("c", f"{whole.name}, line {number}, column 3", "w", "r"), whole.name, whole.parts).where
        name, line, column = where.split(", ")
        assert column == "column 3"
        part = next(part for part in whole.parts if part.name == name)
        alone = text_lines(part.data, encoding, "x")
        if isinstance(alone, tuple):  # nothing but blanks, alone
            continue
        assert alone[int(line.removeprefix("line ")) - 1] == due[number - 1]


def test_problems_of_any_room_and_lines_they_name_are_counted_in_the_part() -> None:
    whole = joined(parts("a\nb\n", "c\n", "d\n"))
    assert not isinstance(whole, tuple)
    run = placed(Finding("c", f"{whole.name}, run beginning at line 4", "w", "r"), whole.name, whole.parts)
    assert (run.where, type(run)) == ("rack-3.csv, run beginning at line 1", Finding)
    what = "element is 'at line 3' here and 'Pb' at line 3."
    also = placed(Problem("ingest.fact-contradicts", f"{whole.name}, line 4", what, "r"), whole.name, whole.parts)
    assert also.what == "element is 'at line 3' here and 'Pb' at line 1 of rack-2.csv."
    alone = Problem("c", "one.csv, line 4", "at line 3.", "r")
    assert placed(alone, "one.csv", ()) is alone


def test_the_name_says_where_each_part_begins() -> None:
    whole = joined(parts("a\nb\n", "c\n", "d\n"))
    assert not isinstance(whole, tuple)
    assert whole.name == "rack-1.csv + rack-2.csv from line 3 + rack-3.csv from line 4"
    assert whole.data == b"a\nb\nc\nd\n"


def test_a_mark_stands_at_the_beginning_alone() -> None:
    mark = b"\xef\xbb\xbf"
    whole = joined([("a", mark + b"1\n"), ("b", mark + b"2\n")])
    assert not isinstance(whole, tuple)
    assert whole.data == mark + b"1\n2\n"


@pytest.mark.parametrize(
    ("files", "due"),
    [
        (parts("a\n"), [("ingest.parts-count", "one run")]),
        ([], [("ingest.parts-count", "one run")]),
        (parts(*(f"{nth}\n" for nth in range(MOST_PARTS + 1))), [("ingest.parts-count", "one run")]),
        (parts("a\n", ""), [("ingest.file-empty", "rack-2.csv")]),
        (parts("a\n", "b\n", "a\n"), [("ingest.part-twice", "rack-3.csv")]),
        (parts("a\n") * 2, [("ingest.part-twice", "rack-1.csv")]),
        (parts("a\n", "b"), [("ingest.part-cut", "rack-2.csv")]),
        (
            [("a", b"x"), ("b", b"\xff\xfex\0\n\0")],
            [("ingest.part-cut", "a"), ("ingest.part-encoding", "b")],
        ),
        ([("a", b"\xff\xfex\0\n\0"), ("b", b"\xff\xfex\0y\0")], [("ingest.part-cut", "b")]),
        ([("a", b"\xfe\xff\0x\0\n"), ("b", b"\xfe\xff\0z\n\0")], [("ingest.part-cut", "b")]),
    ],
)
def test_what_is_no_run(files: list[tuple[str, bytes]], due: list[tuple[str, str]]) -> None:
    assert codes(files) == due


def test_problems_of_the_whole_keep_their_place() -> None:
    whole = joined(parts("a\n", "b\n"))
    assert not isinstance(whole, tuple)
    for where in (whole.name, "another.csv, line 2", f"{whole.name}, line x"):
        problem = Problem("c", where, "w", "r")
        assert placed(problem, whole.name, whole.parts) is problem
