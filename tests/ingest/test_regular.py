"""The quick way only says yes: whatever it reads, the exact reader reads alike, to the line and column."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import lru_cache
from typing import TYPE_CHECKING
from unittest.mock import patch

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests.ingest import malformed_cells, malformed_files
from tests.ingest.malformed import COMMA, END, PAGE, SEMI, good

from benchseal.documents.patterns import compiled
from benchseal.ingest import lines as lines_module
from benchseal.ingest import reader
from benchseal.ingest.lines import text_lines
from benchseal.ingest.plan import Plan, plan_of
from benchseal.ingest.reader import read_file
from benchseal.ingest.regular import regular_table
from benchseal.ingest.table import Table
from benchseal.ingest.walk import Section
from benchseal.problems import Problem
from benchseal.records.run import RunDocument

if TYPE_CHECKING:
    from benchseal.ingest.regular import Tables
    from benchseal.records.layout import Layout
    from benchseal.records.run import DocumentRef

Layouts = dict[str, tuple["DocumentRef", "Layout"]]
Read = tuple[RunDocument, ...] | tuple[Problem, ...]
BEGUN = "2026-03-02T09:14:05"
QUICK = settings(suppress_health_check=[HealthCheck.too_slow, HealthCheck.function_scoped_fixture])


@lru_cache(maxsize=8)
def without_shortcuts(layout: Layout) -> Plan:
    return replace(plan_of(layout), not_rows=())


def exactly(data: bytes, layout: Layout, ref: DocumentRef) -> Read:
    """Read line by line and row by row."""
    with patch.object(reader, "regular_table", lambda *_: None), patch.object(reader, "plan_of", without_shortcuts):
        return read_file(data, "x", layout, ref)


# ------------------------------------------------------------------ whole files


@pytest.mark.parametrize("name", [COMMA, SEMI, PAGE])
def test_good_files(name: str, layouts: Layouts) -> None:
    ref, layout = layouts[name]
    assert read_file(good(name), "x", layout, ref) == exactly(good(name), layout, ref)


@pytest.mark.parametrize("name", [COMMA, SEMI, PAGE])
def test_ordinary_files_go_the_quick_way(name: str, layouts: Layouts) -> None:
    """Else the test above compares nothing."""
    ref, layout = layouts[name]
    with patch.object(reader, "Table", None):
        assert all(isinstance(each, RunDocument) for each in read_file(good(name), "x", layout, ref))


def test_every_malformed_file_gets_the_same_problems(layouts: Layouts) -> None:
    families = (
        malformed_files.doubled_lines, malformed_files.lost_lines, malformed_files.cut, malformed_files.headers,
        malformed_cells.cells_wrong, malformed_cells.numbers, malformed_cells.signs, malformed_cells.times,
        malformed_cells.labels, malformed_cells.kinds, malformed_cells.pages, malformed_cells.noise,
    )  # fmt: skip
    for case in (each for family in families for each in family()):
        ref, layout = layouts[case.layout]
        assert read_file(case.data, "x", layout, ref) == exactly(case.data, layout, ref), case.name


@QUICK
@given(data=st.data(), name=st.sampled_from([COMMA, SEMI, PAGE]))
def test_a_mutated_file_is_read_alike(data: st.DataObject, name: str, layouts: Layouts) -> None:
    whole = good(name)
    for _ in range(data.draw(st.integers(1, 3))):
        at, cut = data.draw(st.integers(0, len(whole) - 1)), data.draw(st.sampled_from([0, 1, 2, 20]))
        signs = [
            b" ",
            b"\t",
            b";",
            b",",
            END,
            b"\f",
            b"-",
            b"0",
            b"9",
            b".",
            b"\xb5",
            b'"',
            b"\x1a",
            b"E5",
            b"00:00:00",
        ]
        whole = whole[:at] + data.draw(st.sampled_from(signs) | st.binary(max_size=3)) + whole[at + cut :]
    ref, layout = layouts[name]
    assert read_file(whole, "x", layout, ref) == exactly(whole, layout, ref)


@QUICK
@given(data=st.data(), name=st.sampled_from([COMMA, SEMI, PAGE]))
def test_lines_doubled_lost_or_moved_are_read_alike(data: st.DataObject, name: str, layouts: Layouts) -> None:
    lines = good(name).split(END)
    place = st.integers(0, len(lines) - 1)
    first, second = data.draw(place), data.draw(place)
    match data.draw(st.sampled_from(["doubled", "lost", "moved", "blank"])):
        case "doubled":
            lines.insert(second, lines[first])
        case "lost":
            del lines[first]
        case "moved":
            lines[first], lines[second] = lines[second], lines[first]
        case _:
            lines.insert(first, data.draw(st.sampled_from([b"", b"  ", b"\t", b"\xa0"])))
    ref, layout = layouts[name]
    whole = END.join(lines)
    assert read_file(whole, "x", layout, ref) == exactly(whole, layout, ref)


# ------------------------------------------------------------------ tables made from cells

NUMBER = st.sampled_from(
    ["0.1", "0", "-0", "-0.0", "12", "007", "-1.5", "1e3", ".5", "5.", "+1", "", "NaN", "9" * 65, "0,1"]
)
LABEL = st.sampled_from(["S0", "S1", "a b", " a", "Präp", "1E+05", "", "x" * 65, "CHK", "05-Mar"])
ROLE = st.sampled_from(["zero", "standard", "sample", "check", "nonsense", "late addition", ""])
CLOCK = st.sampled_from(["09:14:05", "09:15:00", "10:00:00", "23:59:59", "00:00:01", "9:15:00", "24:00:00", "", "x"])
WORDS = st.sampled_from(["above-top", "no-value", "0.2"])


def tables(plan: Plan, rows: list[str], columns: tuple[str, ...]) -> tuple[Tables | None, Tables, list[object]]:
    """What the quick and the exact way make of some rows, and what the exact one says."""
    named = {column.header: column for column in plan.layout.table.columns}
    section = Section(1, {}, tuple(named[name] for name in columns), header_seen=True, rows=list(enumerate(rows, 20)))
    said: list[object] = []
    exact = Table(plan, section, BEGUN, lambda *args, **more: said.append((args, more))).read()
    return regular_table(plan, section, BEGUN), exact, said


@st.composite
def long_rows(draw: st.DrawFn) -> list[str]:
    """Rows of the comma list: ordinary ones, and now and then a cell of any kind."""
    odd = draw(st.booleans())
    rows = []
    for position in range(1, draw(st.integers(1, 4)) + 1):
        who = [
            f"S{position}",
            draw(st.sampled_from(["zero", "standard", "sample"])),
            draw(st.sampled_from(["", "2.5"])),
        ]
        for nth in range(1, draw(st.integers(1, 3)) + 1):
            cells = [str(position), *who, "1", str(nth), f"0.{draw(st.integers(0, 9999)):04d}", "0.01", "09:20:00"]
            if odd and draw(st.integers(0, 5)) == 0:
                at = draw(st.integers(0, 8))
                kinds = [NUMBER, LABEL, ROLE, NUMBER, NUMBER, NUMBER, NUMBER | WORDS, NUMBER | WORDS, CLOCK]
                cells[at] = draw(kinds[at])
            rows.append(",".join(cells))
    return rows


@QUICK
@given(rows=long_rows())
def test_rows_of_one_reading_each(rows: list[str], layouts: Layouts) -> None:
    names = ("Place", "Name", "Role", "Given", "Thinned", "Reading", "Signal", "Ground", "Time")
    quick, exact, said = tables(plan_of(layouts[COMMA][1]), rows, names)
    assert quick is None or (quick == exact and said == [])


@QUICK
@given(data=st.data(), count=st.integers(1, 5), signals=st.integers(1, 3))
def test_rows_of_several_readings(data: st.DataObject, count: int, signals: int, layouts: Layouts) -> None:
    names = ("No.", "Tube", "Sort", "Set to", "Thinned", *("1st", "2nd", "3rd")[:signals], "Mean")
    rows = []
    for position in range(1, count + 1):
        cells = [str(position), f"A-{position}", "P", "", "1", *["0,1234"] * signals, "0,1"]
        if data.draw(st.integers(0, 4)) == 0:
            cells[data.draw(st.integers(0, len(cells) - 1))] = data.draw(NUMBER | LABEL | WORDS).replace(".", ",")
        rows.append(";".join(cells))
    quick, exact, said = tables(plan_of(layouts[SEMI][1]), rows, names)
    assert quick is None or (quick == exact and said == [])


# ------------------------------------------------------------------ the other shortcuts


@given(text=st.text(max_size=40))
def test_a_line_that_prints_holds_no_control_sign(text: str) -> None:
    assert not text.isprintable() or lines_module._UNFIT.search(text) is None  # noqa: SLF001  what it stands for


@given(line=st.text(max_size=30), more=st.text(max_size=3))
def test_what_was_remembered_of_a_line_is_what_a_fresh_look_finds(line: str, more: str) -> None:
    for text in ("Unit,(?P<signal_unit>[^,]+)", "(?P<a>.*),(?P<b>.?)"):
        pattern = compiled(text)
        for each in (line, f"Unit,{line}", line, f"Unit,{line}", f"Unit,{line}{more}"):
            compiled.cache_clear()
            kept, fresh = pattern.fullmatch(each), compiled(text).fullmatch(each)
            assert (kept is None) == (fresh is None)
            if kept is not None and fresh is not None:
                assert kept.groupdict() == fresh.groupdict()
                groups = [name for name, found in fresh.groupdict().items() if found is not None]
                assert [pattern.column(kept, name) for name in groups] == [
                    pattern.column(fresh, name) for name in groups
                ]


def test_no_more_is_remembered_than_is_said() -> None:
    pattern = compiled("remembered (?P<a>[0-9]+)")
    for number in range(1000):
        assert pattern.fullmatch(f"remembered {number}") is not None
    assert len(pattern._remembered) <= 256  # noqa: SLF001  memory is the point
    assert text_lines(b"x", "utf-8", "x") == ["x"]


@pytest.mark.parametrize("hour", ["refuse", "first", "second"])
@pytest.mark.parametrize("name", [COMMA, PAGE])
def test_times_that_are_put_back_are_read_alike(name: str, hour: str, layouts: Layouts) -> None:
    """Any one time of the file an hour, half an hour, or an hour and a second back."""
    ref, plain = layouts[name]
    layout = replace(plain, doubled_hour=hour)  # type: ignore[arg-type]  # its words
    text = good(name).decode(layout.file.encoding)
    clocks = list(re.finditer(r"\b(\d\d):(\d\d):(\d\d)\b", text))
    assert len(clocks) > 8
    for found in clocks[1 :: max(1, len(clocks) // 8)]:
        for back in (3600, 1800, 3601):
            seconds = sum(int(part) * each for part, each in zip(found.groups(), (3600, 60, 1), strict=True)) - back
            clock = f"{seconds // 3600:02}:{seconds // 60 % 60:02}:{seconds % 60:02}"
            data = (text[: found.start()] + clock + text[found.end() :]).encode(layout.file.encoding)
            assert read_file(data, "x", layout, ref) == exactly(data, layout, ref)
