"""Twelve invented shapes, each described by hand: what the generator put in is what is read, digit for digit."""

from __future__ import annotations

from dataclasses import replace

import pytest
from tests.shapes.made import SHAPES
from tests.shapes.reading import LAYOUTS, REASON, assert_read, by_hand, described, made, runs_read

from benchseal.documents.reading import read_document
from benchseal.ingest.reader import read_file, recognise
from benchseal.problems import Problem
from benchseal.records.layout import SignalWord
from benchseal.records.run import RunDocument

SEEDS = range(1, 9)


def test_each_shape_has_a_layout_and_each_layout_a_shape() -> None:
    assert {path.stem for path in LAYOUTS.glob("*.yaml")} == set(SHAPES)
    assert len(SHAPES) >= 12


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("name", SHAPES)
def test_what_was_put_in_is_read(name: str, seed: int) -> None:
    shape = made(name, seed)
    assert_read(name, shape, described(by_hand(name, shape.supplied)))


@pytest.mark.parametrize("name", SHAPES)
def test_each_file_is_known_by_its_own_layout_only(name: str) -> None:
    every = [described(by_hand(each, made(each, 1).supplied)) for each in SHAPES]
    for source, data in made(name, 3).files.items():
        found = recognise(data, [(known.ref, known.layout) for known in every], source)
        assert isinstance(found[0], type(every[0].ref)), found
        assert found[0].id == name.replace("_", "-")


@pytest.mark.parametrize("name", SHAPES)
def test_a_file_that_was_cut_off_is_refused(name: str) -> None:
    """Every shape closes itself: without its last line no file is read, wherever the cut is."""
    shape = made(name, 2)
    known = described(by_hand(name, shape.supplied))
    for source, data in shape.files.items():
        text = data.decode(_codec(known.layout.file.encoding))
        lines = text.splitlines(keepends=True)
        for kept in (len(lines) - 1, len(lines) // 2):
            cut = "".join(lines[:kept]).encode(_codec(known.layout.file.encoding))
            refused = read_file(cut, source, known.layout, known.ref)
            assert all(isinstance(each, Problem) for each in refused), kept


@pytest.mark.parametrize("name", SHAPES)
def test_a_figure_that_is_none_is_refused_with_its_place(name: str) -> None:
    """One letter in one reading: the file is refused, and the problem names that line."""
    shape = made(name, 2)
    known = described(by_hand(name, shape.supplied))
    source, data = next(iter(shape.files.items()))
    codec = _codec(known.layout.file.encoding)
    lines = data.decode(codec).split("\n")
    run = runs_read(data, source, known)[0]
    line, column, text = (run.readings.line[4], run.readings.column[4], run.readings.as_read[4])
    at = column - 1 + lines[line - 1].startswith("\f")
    assert lines[line - 1][at : at + len(text)] == text
    lines[line - 1] = f"{lines[line - 1][:at]}{text[:-1]}x{lines[line - 1][at + len(text) :]}"
    refused = read_file("\n".join(lines).encode(codec), source, known.layout, known.ref)
    assert any(f"line {line}, column {column}" in str(each) for each in refused if isinstance(each, Problem)), refused


def test_facts_nobody_supplied_are_refused() -> None:
    refused = read_document(by_hand("missing_facts", {}).encode(), "bare.yaml")
    assert isinstance(refused, tuple)
    assert [each.code for each in refused] == ["documents.layout-open"] * 10, "each fact, and why it is so"


def test_a_fact_supplied_without_its_reason_is_refused() -> None:
    """Where the layout asks for the reason. What is supplied is kept with it."""
    supplied = made("missing_facts", 1).supplied
    text = by_hand("missing_facts", supplied)
    refused = read_document(text.replace(f"because: '{REASON}'", "because: '?'", 1).encode(), "bare.yaml")
    assert isinstance(refused, tuple)
    assert [each.code for each in refused] == ["documents.layout-open"]
    stated = described(text).layout.stated
    assert {one.fact: (one.value, one.because) for one in stated} == {
        fact: (value, REASON) for fact, value in supplied.items()
    }


def test_no_concentration_given_is_a_word_only_where_it_means_missing() -> None:
    """``-`` in the column of concentrations given: none. As over range, or unknown, the file is refused."""
    shape = made("ragged_blanks", 1)
    known = described(by_hand("ragged_blanks", {}))
    ((source, data),) = shape.files.items()
    for words in ((), (replace(known.layout.signal_words[0], means="over_range"),)):
        refused = read_file(data, source, replace(known.layout, signal_words=words), known.ref)
        assert {each.code for each in refused if isinstance(each, Problem)} == {"ingest.number-unreadable"}


def test_a_word_means_the_same_in_regular_and_other_files() -> None:
    """A word that is a number, too: what a regular table is read by may not differ from what others are read by."""
    shape = made("missing_facts", 1)
    ((source, data),) = shape.files.items()
    known = described(by_hand("missing_facts", shape.supplied))
    layout = replace(known.layout, signal_words=(SignalWord("2.0", "missing"),))
    (read,) = read_file(data, source, layout, known.ref)
    assert isinstance(read, RunDocument)
    given = tuple("" if tube.given == "2.0" else tube.given for tube in shape.runs[0].tubes)
    assert read.solutions.nominal == given


def _codec(encoding: str) -> str:
    return {"windows-1252": "cp1252"}.get(encoding, encoding)
