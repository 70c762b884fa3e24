"""More than four hundred malformed files: each is refused whole, with its own code at its own place."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from tests.ingest import malformed_cells as inside
from tests.ingest import malformed_files as whole

from benchseal.ingest.reader import read_file, recognise
from benchseal.problems import Problem

if TYPE_CHECKING:
    from tests.ingest.malformed import Case

    from benchseal.records.layout import Layout
    from benchseal.records.run import DocumentRef

FAMILIES = (
    whole.encodings, whole.control_signs, whole.not_text, whole.archives, whole.empty, whole.cut, whole.lost_lines,
    whole.doubled_lines, whole.headers, inside.cells_wrong, inside.dates, inside.times, inside.numbers,
    inside.numbers_of_prints, inside.ambiguous, inside.signs, inside.labels, inside.words, inside.elements,
    inside.counts, inside.noise, inside.long_lines, inside.pages, inside.kinds,
)  # fmt: skip
CASES = [case for family in FAMILIES for case in family()]


def test_there_are_enough_and_no_two_are_the_same() -> None:
    assert len({(case.layout, case.data) for case in CASES}) >= 400
    assert len({case.name for case in CASES}) == len(CASES)


@pytest.mark.parametrize("case", CASES, ids=[case.name.encode("ascii", "backslashreplace").decode() for case in CASES])
def test_malformed(case: Case, layouts: dict[str, tuple[DocumentRef, Layout]]) -> None:
    ref, layout = layouts[case.layout]
    found = read_file(case.data, "given.txt", layout, ref)
    assert found
    told = []
    for item in found:
        assert isinstance(item, Problem)
        assert item.what
        assert item.remedy
        told.append((item.code, item.where))
    assert (f"ingest.{case.code}", f"given.txt, {case.place}" if case.place else "given.txt") in told, told
    recognise(case.data, list(layouts.values()))  # it may know the file or not; it never fails
