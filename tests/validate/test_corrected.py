"""What people put right in a run document: labels and positions left out, the file's own text beside."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from tests.compute.making import Shot, pair, run_of, samples, standards

from benchseal.records.corrections import AS_READ, Excluded, Relabelled, RunCorrections
from benchseal.validate.corrected import corrected

if TYPE_CHECKING:
    from benchseal.records.run import RunDocument


def document() -> RunDocument:
    return run_of((*standards(), *pair(), *samples(("A", "B")), Shot("sample", "C"), *pair())).document


def test_nothing_put_right_is_the_same_document() -> None:
    read = document()
    assert corrected(read, AS_READ) is read


@pytest.mark.clause("17025 7.5.2")
def test_a_label_put_right_changes_label_and_kind_of_that_position_alone() -> None:
    read = document()
    position = read.solutions.position[read.solutions.label.index("B")]
    put = corrected(read, RunCorrections("run-corrections/1", labels=(Relabelled(position, "B2", "duplicate"),)))
    place = read.solutions.position.index(position)
    assert (put.solutions.label[place], put.solutions.kind[place]) == ("B2", "duplicate")
    others = [nth for nth in range(len(read.solutions.label)) if nth != place]
    assert [put.solutions.label[nth] for nth in others] == [read.solutions.label[nth] for nth in others]
    assert put.readings == read.readings


@pytest.mark.clause("17025 7.5.2")
def test_a_position_left_out_keeps_its_text_as_read_and_no_number() -> None:
    read = document()
    place = read.solutions.label.index("B")
    put = corrected(
        read, RunCorrections("run-corrections/1", excluded=(Excluded(read.solutions.position[place], "uptake"),))
    )
    rows = range(
        read.solutions.first_reading[place], read.solutions.first_reading[place] + read.solutions.reading_count[place]
    )
    assert len(rows) > 0
    for row in range(len(read.readings.signal)):
        left_out = row in rows
        assert (put.readings.flag[row] == "excluded") == left_out
        assert put.readings.signal[row] == ("" if left_out else read.readings.signal[row])
    assert put.readings.as_read == read.readings.as_read
