"""Guesses by what cells and lines hold, not by what they are called: each with a case that must not be guessed so."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from benchseal.ingest.accounting import Accounted, accounted
from benchseal.ingest.draft import Draft, proposed
from benchseal.ingest.reader import read_file
from benchseal.records.run import DocumentRef, RunDocument

if TYPE_CHECKING:
    from benchseal.records.layout import Layout

REF = DocumentRef("draft", 0, "0" * 64)
HEAD = "Serial: TQ-4\nTechnique: flame\nElement: Pb 283.3\nDate: 2026-03-12 09:10:00\n"


def _draft(text: str) -> Draft:
    draft = proposed(text.encode(), "x.txt", "draft")
    assert isinstance(draft, Draft), draft
    return draft


def _told(text: str) -> Accounted:
    return accounted(text.encode(), "x.txt", _draft(text).layout, REF)


def _means(text: str) -> dict[str, str]:
    return {column.header: column.means for column in _draft(text).layout.table.columns}


TABLE = (
    "q1;Name;q2;q3;q4;q5;Abs\n"
    "1;Blank;xa;0;1;1;0.001\n1;Blank;xa;0;1;2;0.002\n"
    "2;Std 1;xb;0.5;1;1;0.051\n2;Std 1;xb;0.5;1;2;0.052\n3;Std 2;xb;1.0;1;1;0.101\n3;Std 2;xb;1.0;1;2;0.102\n"
    "4;Check 1;xc;1.0;1;1;0.099\n4;Check 1;xc;1.0;1;2;0.098\n5;W/1;xd;;5;1;0.044\n5;W/1;xd;;5;2;0.045\n"
)


def test_columns_nobody_can_know_by_name() -> None:
    found = _means(HEAD + TABLE)
    assert found == {"q1": "position", "Name": "label", "q2": "kind", "q3": "nominal", "q4": "dilution",
                     "q5": "replicate", "Abs": "signal"}  # fmt: skip
    (run,) = _told(HEAD + TABLE).documents
    assert run.solutions.kind == ("calibration_blank", "standard", "standard", "check_standard", "sample")
    assert run.solutions.nominal == ("0", "0.5", "1.0", "1.0", "")
    assert run.solutions.dilution == ("1", "1", "1", "1", "5")
    remarks = _draft(HEAD + TABLE).remarks
    assert not any(remarks[f"table.columns.{nth}"][0] for nth in (0, 2, 3, 4, 5)), "none of these is sure"


@pytest.mark.parametrize(
    ("old", "new", "header"),
    [
        pytest.param(";xd;;5;", ";xd;0.4;5;", "q3", id="a sample with a concentration: calculated, not given"),
        pytest.param("2;Std 1;xb;0.5;1;2", "2;Std 1;xb;0.6;1;2", "q3", id="two concentrations of one standard"),
        pytest.param("1;Blank;xa;0;", "1;Blank;xa;0.01;", "q3", id="a blank that is not zero"),
        pytest.param("3;Std 2;xb", "3;Std 2;xa", "q2", id="a code of blanks that a standard bears"),
        pytest.param("4;Check 1;xc;1.0;1;", "4;Check 1;xc;1.0;2;", "q4", id="a check that is diluted"),
        pytest.param("2;Std 1;xb;0.5;1;1;", "2;Std 1;xb;0.5;1;3;", "q5", id="readings out of order"),
        pytest.param("3;Std 2", "9;Std 2", "q1", id="positions with a gap"),
    ],
)
def test_what_is_not_guessed(old: str, new: str, header: str) -> None:
    assert old in TABLE
    assert _means(HEAD + TABLE.replace(old, new))[header] == "ignored"


def test_a_code_that_is_also_a_word_for_spreads_keeps_its_rows() -> None:
    """``CV`` may be a check; only a row below readings of the same solution is one of spreads."""
    text = HEAD + "Name;Type;Rep;Abs\nBlank;B;1;0.001\nStd 1;S;1;0.1\nQC 1;CV;1;0.099\nQC 1;CV;2;0.098\nW/1;P;1;0.05\n"
    told = _told(text)
    assert [len(run.readings.signal) for run in told.documents] == [5]
    assert told.documents[0].solutions.kind == ("calibration_blank", "standard", "check_standard", "sample")
    assert "dropped" not in {line.role for line in told.lines}


def test_a_row_of_spreads_is_dropped_by_its_cell_only() -> None:
    text = HEAD + "Name;Rep;Abs\nSD 7;1;0.1\nSD 7;2;0.2\nSD 7;Mean;0.15\nSD 7;SD;0.05\nW/1;1;0.3\nW/1;2;0.4\n"
    told = _told(text)
    assert [run.readings.signal for run in told.documents] == [("0.1", "0.2", "0.3", "0.4")]
    assert [line.text for line in told.lines if line.role == "dropped"] == ["SD 7;SD;0.05"]


def test_readings_of_a_turned_table_stand_in_their_own_line() -> None:
    told = _told(HEAD + "Sample;Blank;S1\nAbs;0.1;0.2\n")
    (run,) = told.documents
    assert run.readings.line == (6, 6)
    assert run.readings.column == (5, 9)


def test_a_refused_cell_of_a_turned_table_is_named_by_its_own_line() -> None:
    draft = _draft(HEAD + "Sample;Blank;S1\nSoll;0;1.0\nAbs;0.1;0.2\n")
    text = HEAD + "Sample;Blank;S1\nSoll;0;1.x\nAbs;0.1;0.2\n"
    told = accounted(text.encode(), "x.txt", draft.layout, REF)
    assert [(each.code, each.where) for each in told.problems] == [
        ("ingest.number-unreadable", "x.txt, line 6, column 8")
    ]


@pytest.mark.parametrize(
    ("line", "facts"),
    [
        ("bench 2 / TQ-118 / flame", {"instrument_serial": "TQ-118", "technique": "flame"}),
        ("shown; extinktion; Pb; 283,3", {"element": "Pb", "wavelength_nm": "283.3", "signal_is": "absorbance"}),
        ("of 2026.03.14 at line Zn 213.9 | hydride", {"element": "Zn", "technique": "hydride"}),
        ("graphite furnace XQ-22", {"technique": "furnace", "instrument_serial": "XQ-22"}),
    ],
)
def test_facts_of_a_line_without_a_key(line: str, facts: dict[str, str]) -> None:
    comma = "," in line
    text = line + "\nStart: 2026-03-14 09:10:00\nSample;Abs\nBlank;0.001\nStd 1;0.101\n"
    told = _told(text.replace("0.", "0,") if comma else text)
    (run,) = told.documents
    assert {name: getattr(run.facts, name) for name in facts} == facts


@pytest.mark.parametrize("line", ["flame photometry is not meant here", "Pb and Cd in ware", "form 7", "In 2026"])
def test_a_line_that_says_nothing_is_no_fact(line: str) -> None:
    draft = _draft(f"{line}\n{HEAD}Sample;Abs\nBlank;0.001\n")
    assert not draft.layout.head[0].needed
    assert "(?P<" not in draft.layout.head[0].line


def test_a_serial_number_with_its_key_goes_before_a_likely_one() -> None:
    text = "List AB-1234\nSerial: TQ-4\nTechnique: flame\nElement: Pb 283.3\nDate: 2026-03-12 09:10:00\n"
    (run,) = _told(text + "Sample;Abs\nBlank;0.001\n").documents
    assert run.facts.instrument_serial == "TQ-4"


@pytest.mark.parametrize(("header", "cells"), [("Tag", "xa"), ("Factor", "low"), ("Time", "early")])
def test_a_header_the_cells_contradict_is_not_believed(header: str, cells: str) -> None:
    """``Tag`` is a day in German; a column of words under it is none."""
    text = f"{HEAD}Sample;{header};Abs\nBlank;{cells};0.001\nStd 1;{cells};0.101\n"
    draft = _draft(text)
    assert draft.layout.table.columns[1].means == "ignored"
    assert "its cells are none" in draft.remarks["table.columns.1"][1]


def test_names_printed_once_are_carried_down_and_to_be_checked() -> None:
    text = HEAD + "No;Name;Rep;Abs\n1;Blank;1;0.001\n;;2;0.002\n2;Std 1;1;0.101\n;;2;0.102\n"
    (run,) = _told(text).documents
    assert (run.solutions.label, run.solutions.reading_count) == (("Blank", "Std 1"), (2, 2))
    draft = _draft(text)
    assert [column.carried for column in draft.layout.table.columns] == [True, True, False, False]
    assert [draft.remarks[f"table.columns.{nth}"][0] for nth in range(4)] == [False, False, True, True]


def test_one_blank_name_is_not_carried() -> None:
    """A name that lacks beside a position is a name that lacks."""
    told = _told(HEAD + "No;Name;Rep;Abs\n1;Blank;1;0.001\n2;;1;0.002\n3;Std 1;1;0.101\n")
    assert [each.code for each in told.problems] == ["ingest.label-missing"]


PRINT = "BENCH PRINT TQ-77   sheet {} of 2\n"
ROWS = "No  Name     Rep  Abs\n 1  Blank      1  0.001\n 2  Std 1      1  0.101\n"
MORE = " 3  Ware/1     1  0.051\n 4  Ware/2     1  0.052\n"


@pytest.mark.parametrize("again", [True, False], ids=["header again", "header once"])
def test_pages_of_a_print(again: bool) -> None:
    head = "Technique: flame\nElement: Pb 283.3\nDate: 2026-03-12 09:10:00\n"
    more = ROWS.split("\n", maxsplit=1)[0] + "\n" + MORE if again else MORE
    text = PRINT.format(1) + head + ROWS + "\f" + PRINT.format(2) + more + "end of print\n"
    draft, told = _draft(text), _told(text)
    assert list(told.problems) == []
    (page,) = draft.layout.pages
    assert (len(page.heading), page.repeats_header) == (1, again)
    assert told.documents[0].facts.instrument_serial == "TQ-77"
    assert told.documents[0].readings.signal == ("0.001", "0.101", "0.051", "0.052")
    lost = accounted(text.replace("sheet 2 of 2", "sheet 3 of 2").encode(), "x.txt", draft.layout, REF)
    assert {each.code for each in lost.problems} == {"ingest.page-missing"}


def test_a_drawn_line_of_its_own_closes_the_file() -> None:
    text = HEAD + "-----\nSample;Abs\n-----\nBlank;0.001\nStd 1;0.101\n=====\n"
    draft = _draft(text)
    told = accounted(text.encode(), "x.txt", draft.layout, REF)
    assert (list(told.problems), told.lines[9].role) == ([], "last line")
    cut = accounted(text.removesuffix("=====\n").encode(), "x.txt", draft.layout, REF)
    assert {each.code for each in cut.problems} == {"ingest.cut-off"}
    alike = text.replace("=====", "-----")
    assert _draft(alike).layout.last_line == "", "a line as others in the table cannot tell the end"


FIXTURES = Path(__file__).parents[2] / "fixtures" / "instrument-text"


@pytest.mark.parametrize("path", sorted(FIXTURES.glob("*/good-*.txt")), ids=lambda path: path.stem)
def test_files_written_before_the_drafts(path: Path, layouts: dict[str, tuple[DocumentRef, Layout]]) -> None:
    """Every number, name, concentration and element as the hand-written layout reads them; nothing read is dropped.

    Technique and codes nobody can know are left open, so the draft is refused until somebody says them.
    """
    data = path.read_bytes()
    ref, layout = layouts[path.parent.name]
    due = read_file(data, path.name, layout, ref)
    draft = proposed(data, path.name, "draft")
    assert isinstance(draft, Draft)
    told = accounted(data, path.name, draft.layout, REF)
    assert len(told.documents) == len(due)
    for read, run in zip(told.documents, due, strict=True):
        assert isinstance(run, RunDocument)
        assert read.solutions.label == run.solutions.label
        assert read.solutions.nominal == run.solutions.nominal
        assert (read.readings.signal, read.readings.flag) == (run.readings.signal, run.readings.flag)
        assert (read.readings.line, read.readings.column) == (run.readings.line, run.readings.column)
        assert (read.facts.element, read.facts.wavelength_nm) == (run.facts.element, run.facts.wavelength_nm)
        assert (read.facts.started_at, read.facts.signal_is) == (run.facts.started_at, run.facts.signal_is)
        assert read.facts.instrument_serial == run.facts.instrument_serial
        assert read.facts.signal_unit == run.facts.signal_unit
    assert {line.role for line in told.lines if any(f" {nth} of" in line.says for nth in "123")} <= {"row"}
    assert {each.code for each in told.problems} <= {"ingest.word-unknown", "ingest.kind-unknown"}
    assert any("Columns that hold numbers are ignored: " in what for what in draft.open)
    assert any("Nothing tells which kinds of solution these codes are" in what for what in draft.open)
    assert told.problems


def test_rows_of_another_table_are_listed_and_not_dropped() -> None:
    told = _told(HEAD + "Sample;Abs\nBlank;0.001\nStd 1;0.101\nStd 2;0.201\nsecond list\nWare;x;0.5\nend\n")
    assert [line.text for line in told.lines if line.role == "row"][-2:] == ["Std 2;0.201", "Ware;x;0.5"]
    assert {each.code for each in told.problems} == {"ingest.row-unfit"}, "it stands in the table and does not fit"


def test_a_line_of_the_head_is_no_table_though_it_looks_like_a_header() -> None:
    text = "Serial,TQ-4\nTechnique,flame\nElement,Pb\nLine,283.3\nDate,2026-03-12 09:10:00\n"
    (run,) = _told(text + "Sample,Rep,Abs\nBlank,1,0.001\nStd 1,1,0.101\n").documents
    assert (run.facts.element, run.solutions.label) == ("Pb", ("Blank", "Std 1"))


def test_columns_that_have_the_means_beside_them_are_the_readings() -> None:
    text = HEAD + "Sample;u1;u2;Mean\nBlank;0.001;0.003;0.002\nStd 1;0.101;0.104;0.102\n"
    assert _means(text) == {"Sample": "label", "u1": "signal", "u2": "signal", "Mean": "mean"}
    other = _draft(text.replace("0.102", "0.302").replace("0.002", "0.202"))
    assert [column.means for column in other.layout.table.columns[1:3]] == ["ignored", "ignored"]


def test_codes_nobody_knows_are_left_open() -> None:
    text = HEAD + "Sample;Type;Rep;Abs\nA1;S;1;0.1\nA2;B;1;0.001\nA3;zq;1;0.3\nA4;zq;1;0.3\nA5;zw;1;0.2\n"
    draft = _draft(text)
    assert [(rule.means, rule.code) for rule in draft.layout.kinds] == [
        ("standard", "S"),
        ("calibration_blank", "B"),
        ("sample", "zq"),
    ]
    assert any("codes are: zw." in what for what in draft.open)
    assert {each.code for each in _told(text).problems} == {"ingest.kind-unknown"}


def test_the_code_taken_for_samples_says_how_many_rows_bear_it() -> None:
    rows = "".join(f"A{nth};S;1;0.{nth:02}\n" for nth in range(1, 19))
    draft = _draft(HEAD + f"Sample;Type;Rep;Abs\n{rows}B1;B;1;0.001\nQ1;CH;1;0.3\nQ2;CH;1;0.3\nQ3;CX;1;0.3\n")
    (why,) = [why for key, (_, why) in draft.remarks.items() if key.startswith("kinds.") and "'CH'" in why]
    assert "most rows" not in why
    assert "(2 of 22 rows bear it), nor 'CX'" in why


def test_the_column_taken_for_signals_is_not_called_the_only_one_that_differs() -> None:
    text = HEAD + "Sample;Type;u1;u2\nBlank;B;0.001;1\nStd 1;S;0.101;12\nStd 2;S;0.202;17\nA;P;0.111;19\n"
    draft = _draft(text)
    assert [one.means for one in draft.layout.table.columns] == ["label", "kind", "signal", "ignored"]
    assert draft.remarks["table.columns.2"] == (
        False,
        (
            "the only column no header tells that holds numbers with decimals, differing from row to row; "
            "column 4 also differs"
        ),
    )


@pytest.mark.parametrize(
    ("area", "height"), [("Peak area", "Peak height"), ("Int. Abs", "Peak height"), ("Flaeche", "Hoehe")]
)
def test_of_areas_and_heights_both_are_named_and_why_one_is_taken(area: str, height: str) -> None:
    text = HEAD + f"Sample;Rep;{height};{area}\nBlank;1;0.001;0.002\nStd 1;1;0.101;0.202\nStd 2;1;0.201;0.402\n"
    draft = _draft(text)
    assert [one.means for one in draft.layout.table.columns][2:] == ["ignored", "signal"]
    for nth in (2, 3):
        sure, why = draft.remarks[f"table.columns.{nth}"]
        assert not sure
        assert why.startswith(f"area ('{area}') and height ('{height}') stand beside each other; the area is taken")


@pytest.mark.parametrize(
    ("day", "form", "sure"),
    [
        ("19-Nov-26", "DD-MMM-YY", True),
        ("19-Nov-2026", "DD-MMM-YYYY", True),
        ("19 Nov 2026", "DD MMM YYYY", True),
        ("09-11-2026", "DD-MM-YYYY", False),
        ("11-19-2026", "MM-DD-YYYY", True),
    ],
)
def test_days_with_a_named_month_are_no_numbers(day: str, form: str, sure: bool) -> None:
    draft = _draft(HEAD.replace("2026-03-12", day) + TABLE)
    assert (draft.layout.file.date_form, draft.remarks["file.date_form"][0]) == (form, sure)
    (run,) = accounted(HEAD.replace("2026-03-12", day).encode() + TABLE.encode(), "x", draft.layout, REF).documents
    assert run.facts.started_at[:8] == "2026-11-"


QUOTED = (
    '"Serial";"TQ-4"\n"User";"maren.holt"\n"Wavelength";"253.7 nm"\n"Element";"Hg"\n"Mode";"Cold vapour"\n'
    '"Date";"2026-03-12 09:10:00"\n"Sample";"Abs"\n"Blank";"0.001"\n"Std 1";"0.101"\n'
)


def test_quoted_keys_are_keys() -> None:
    (run,) = _told(QUOTED).documents
    facts = run.facts
    assert (facts.instrument_serial, facts.operator, facts.wavelength_nm) == ("TQ-4", "maren.holt", "253.7")
    assert (facts.element, facts.technique, facts.started_at) == ("Hg", "cold_vapour", "2026-03-12T09:10:00")
    assert not _told(QUOTED.replace('"TQ-4"', '"TQ-5"')).problems, "no text of this file is frozen"


@pytest.mark.parametrize(
    "line",
    [
        "Bench TQ-41 / oper. maren.holt",
        "Instrument S/N: TQ-41    Analyst: maren.holt",
        "Gerät TQ-41; Bearbeiter: maren.holt",
    ],
)
def test_whoever_measured_is_read_beside_another_fact(line: str) -> None:
    text = HEAD.replace("Serial: TQ-4", line) + "Sample;Abs\nBlank;0.001\nStd 1;0.101\n"
    (run,) = _told(text).documents
    assert (run.facts.operator, run.facts.instrument_serial) == ("maren.holt", "TQ-41")


@pytest.mark.parametrize("line", ["User manual 7 applies", "analyst class", "operators are trained"])
def test_a_word_for_people_alone_names_nobody(line: str) -> None:
    text = line + "\n" + HEAD + "Sample;Abs\nBlank;0.001\n"
    draft = _draft(text)
    assert "(?P<operator>" not in draft.layout.head[0].line
    assert any("understood gives operator" in what for what in draft.open)


@pytest.mark.parametrize("line", ["line nm,228.8", "resonance 228.8 nm", "set to nm: 228.8"])
def test_a_wavelength_is_read_by_its_unit(line: str) -> None:
    text = HEAD.replace("Element: Pb 283.3", f"Element: Cd\n{line}") + "Sample;Abs\nBlank;0.001\n"
    (run,) = _told(text).documents
    assert run.facts.wavelength_nm == "228.8"


@pytest.mark.parametrize("line", ["scan 190 nm to 900 nm", "window 0.7 nm", "gate 950 nm", "shelf 228.8"])
def test_other_numbers_are_no_wavelength_and_the_draft_says_where_to_look(line: str) -> None:
    draft = _draft(HEAD.replace("Element: Pb 283.3", f"Element: Cd\n{line}") + "Sample;Abs\nBlank;0.001\n")
    (nth,) = [nth for nth, one in enumerate(draft.layout.stated) if one.fact == "wavelength_nm"]
    why = draft.remarks[f"stated.{nth}"][1]
    assert "no line that is understood says it" in why
    assert "look first at line 4" in why


def test_a_turned_table_is_recognised_by_more_than_its_first_line() -> None:
    draft = _draft(HEAD + "cup,1,2\nsample,Blank,S1\ntype,B,S\nAbs,0.1,0.2\n")
    assert draft.layout.recognised_by[-3:] == (r"\s*cup\s*,.*", r"\s*sample\s*,.*", r"\s*type\s*,.*")
    assert not _told(HEAD + "cup,1,2\nsample,Blank,S1\ntype,B,S\nAbs,0.1,0.2\n").problems


def test_a_unit_beside_what_the_signal_is() -> None:
    (run,) = _told(HEAD + "shows,absorbance,Abs\nSample;Abs\nBlank;0.001\n").documents
    assert (run.facts.signal_is, run.facts.signal_unit) == ("absorbance", "A")


@pytest.mark.parametrize("header", ["Zeit", "Uhrzeit", "Time", "Datum"])
@pytest.mark.parametrize("day", ["12.03.2026", "2026-03-12"])
def test_days_with_times_are_read_so_whatever_their_header(header: str, day: str) -> None:
    text = f"Serial: TQ-4\nTechnique: flame\nElement: Pb 283.3\nSample;Abs;{header}\n"
    text += f"Blank;0.001;{day} 23:59:10\nStd 1;0.101;{day.replace('12', '13', 1)} 00:01:10\n"
    draft = _draft(text)
    assert draft.layout.table.columns[2].means == "day_time"
    (run,) = _told(text).documents
    assert run.readings.taken_at == ("2026-03-12T23:59:10", "2026-03-13T00:01:10")
    assert not any("started_" in what for what in draft.open)


def test_a_line_that_closes_a_table_at_fixed_places_does_not_blur_them() -> None:
    head = "Signal: Absorbance\nSlit 7\nInjected 20\n\n"
    rows = " 1  Blank      1  0.001\n 1  Blank      2  0.002\n 2  Std 1      1  0.101\n 2  Std 1      2  0.102\n"
    text = HEAD + head + "No  Name     Rep  Abs\n" + rows + "-- end of run, 4 readings of 2 solutions in all --\n"
    told = _told(text)
    assert [run.readings.signal for run in told.documents] == [("0.001", "0.002", "0.101", "0.102")]
    assert "count_readings" in _draft(text).layout.last_line
