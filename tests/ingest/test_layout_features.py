"""What a layout can say beyond the three shipped ones."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from benchseal.documents.rules_layout import layout_faults
from benchseal.ingest.facts import _FactReader
from benchseal.ingest.plan import plan_of
from benchseal.ingest.reader import read_file
from benchseal.ingest.walk import Fact, Walk
from benchseal.problems import Problem
from benchseal.records.layout import (
    Column,
    KindRule,
    Layout,
    LineRule,
    ReadingNumbers,
    SectionForm,
    Stated,
    TableForm,
)
from benchseal.records.run import DocumentRef, RunDocument

REF = DocumentRef("small", 1, "0" * 64)
Layouts = dict[str, tuple[DocumentRef, "Layout"]]

if TYPE_CHECKING:
    from collections.abc import Callable

HEAD = "Pb 283.3 2026-03-02 09:00:00\n"
END = "end\nclosed\n"


@pytest.fixture
def small(layouts: Layouts) -> Layout:
    """A layout that knows no position, and takes the kind from the label."""
    base = layouts["comma-list"][1]
    head = r"(?P<element>[A-Z][a-z]?) (?P<wavelength_nm>\S+) (?P<started_date>\S+) (?P<started_time>\S+)"
    stated = {"technique": "furnace", "instrument_serial": "TQ-1", "signal_is": "absorbance", "signal_unit": "A"}
    layout = replace(
        base,
        id="small",
        file=replace(base.file, quote='"'),
        recognised_by=("Pb .*",),
        head=(LineRule(head),),
        section=SectionForm("", "end"),
        table=TableForm((Column("Name", "label"), Column("No", "replicate"), Column("Signal", "signal"))),
        kinds=(
            KindRule("calibration_blank", label="S0"),
            KindRule("standard", label="S[1-9]"),
            KindRule("sample", label=".+/.+"),
        ),
        last_line="closed",
        stated=tuple(Stated(fact, value) for fact, value in stated.items()),
        words=(),
        drop_lines=("-+",),
    )
    assert list(layout_faults(layout)) == []
    return layout


def _run(text: str, layout: Layout) -> RunDocument:
    (run,) = read_file(text.encode(), "x", layout, REF)
    assert isinstance(run, RunDocument), run
    return run


def _codes(text: str, layout: Layout) -> list[str]:
    return [item.code for item in read_file(text.encode(), "x", layout, REF) if isinstance(item, Problem)]


TABLE = 'Name,No,Signal\nS0,1,0.001\nS0,2,0.002\nS1,1,0.1\n"A, ""b""/1",1,0.2\nA/2,1,0.3\nA/2,1,0.4\n'


def test_stated_facts_quotes_and_kinds_by_label(small: Layout) -> None:
    run = _run(HEAD + TABLE + END, small)
    assert (run.facts.technique, run.facts.instrument_serial) == ("furnace", "TQ-1")
    assert run.solutions.label == ("S0", "S1", 'A, "b"/1', "A/2", "A/2"), "a new first reading begins a new solution"
    assert run.solutions.kind == ("calibration_blank", "standard", "sample", "sample", "sample")
    assert run.solutions.position == (1, 2, 3, 4, 5)
    assert run.solutions.dilution == ("1",) * 5
    assert run.readings.column[3] == 16


def test_settings_may_be_stated_or_read(small: Layout) -> None:
    stated = (*small.stated, Stated("signal_form", "integrated"), Stated("slit_nm", "0.70"))
    layout = replace(small, head=(*small.head, LineRule("drop (?P<injection_ul>.*)", needed=False)), stated=stated)
    assert list(layout_faults(layout)) == []
    facts = _run(HEAD + "drop 20\n" + TABLE + END, layout).facts
    assert (facts.signal_form, facts.slit_nm, facts.injection_ul, facts.flame) == ("integrated", "0.70", "20", "")
    assert _run(HEAD + TABLE + END, layout).facts.injection_ul == ""
    assert _codes(HEAD + "drop twenty\n" + TABLE + END, layout) == ["ingest.number-unreadable"]
    wrong = replace(small, stated=(*small.stated, Stated("flame", "candle")))
    assert [fault.code for fault in layout_faults(wrong)] == ["documents.layout-term-unknown"]
    assert _codes(HEAD + TABLE + END, wrong) == ["ingest.word-unknown"]


def test_dropped_lines_are_accounted_for(small: Layout) -> None:
    run = _run(HEAD + "-----\n" + TABLE.replace("S1,", "--\nS1,") + END, small)
    assert len(run.readings.signal) == 6
    assert _codes(HEAD + TABLE + END, replace(small, drop_lines=())) == []
    assert _codes(HEAD + "---\n" + TABLE + END, replace(small, drop_lines=())) == ["ingest.line-unread"]


_DEFECTS: dict[str, tuple[Callable[[str], str], str]] = {
    "quote left open": (lambda text: text.replace('/1"', "/1"), "ingest.row-unfit"),
    "sign behind a quote": (lambda text: text.replace('/1"', '/1"x'), "ingest.row-unfit"),
    "quote inside": (lambda text: text.replace("S1,", 'S"1,'), "ingest.row-unfit"),
    "no kind for this label": (lambda text: text.replace("A/2", "Z9"), "ingest.kind-unknown"),
    "reading number missing": (lambda text: text.replace("S1,1", "S1,"), "ingest.reading-order"),
    "reading number is a word": (lambda text: text.replace("S1,1", "S1,one"), "ingest.reading-order"),
    "label too long": (lambda text: text.replace("A/2", "A/" + "2" * 70), "ingest.label-too-long"),
    "element that is none": (lambda text: text.replace("Pb", "P"), ""),
    "wavelength that is none": (lambda text: text.replace("283.3", "28x3"), "ingest.number-unreadable"),
    "time that is none": (lambda text: text.replace("09:00:00", "9h"), "ingest.time-unreadable"),
    "no solutions": (lambda _: HEAD + "Name,No,Signal\n" + END, "ingest.section-empty"),
    "nothing but the head": (lambda _: HEAD, "ingest.section-missing"),
    "line after the end": (lambda text: text + "more\n", "ingest.line-unread"),
}


@pytest.mark.parametrize("defect", _DEFECTS)
def test_defects(defect: str, small: Layout) -> None:
    change, code = _DEFECTS[defect]
    codes = _codes(change(HEAD + TABLE + END), small)
    assert (code in codes) if code else codes == [], codes


def test_a_fact_longer_than_the_record_allows(small: Layout) -> None:
    layout = replace(
        small,
        head=(*small.head, LineRule("serial (?P<operator>.*)")),
        stated=(*small.stated, Stated("method_name", "M")),
    )
    text = HEAD + "serial " + "9" * 300 + "\n" + TABLE + END
    assert _codes(text, layout) == ["ingest.fact-unreadable"]


def test_utf_16_when_it_is_declared(small: Layout) -> None:
    layout = replace(small, file=replace(small.file, encoding="utf-16"))
    found = read_file((HEAD + TABLE + END).encode("utf-16"), "x", layout, REF)
    assert isinstance(found[0], RunDocument)


def test_the_same_bytes_give_the_same_document(small: Layout) -> None:
    assert _run(HEAD + TABLE + END, small) == _run(HEAD + TABLE + END, small)


def _sections(layout: Layout, counts: ReadingNumbers) -> Layout:
    """``small`` with a section for each element and a column of numbers."""
    columns = (*layout.table.columns, Column("Count", "reading_number", needed=False))
    opening, head = layout.head[0].line, LineRule("(?P<started_date>[0-9]{4}-.*) (?P<started_time>.*)")
    assert opening.startswith("(?P<element>")
    changed = replace(
        layout,
        head=(head,),
        recognised_by=(r"\d{4}-.*",),
        section=SectionForm(r"(?P<element>[A-Z][a-z]?) (?P<wavelength_nm>\S+)", "end"),
        table=TableForm(columns),
        reading_numbers=counts,
    )
    assert list(layout_faults(changed)) == []
    return changed


def _numbered(*sections: tuple[int, ...]) -> str:
    text = "2026-03-02 09:00:00\n"
    for nth, numbers in enumerate(sections):
        rows = "".join(f"S{place},1,0.1,{number}\n" for place, number in enumerate(numbers))
        text += f"{('Pb', 'Cd', 'Zn')[nth]} 283.{nth}\nName,No,Signal,Count\n{rows}end\n"
    return text + "closed\n"


_COUNTED: dict[str, tuple[ReadingNumbers, tuple[tuple[int, ...], ...], int]] = {
    "on through the sections": ("running", ((5, 6), (7, 8)), 0),
    "with numbers left out": ("running", ((5, 9), (12, 40)), 0),
    "again at 1 with a section, and nothing says so": ("running", ((1, 2), (1, 2)), 1),
    "again at 1 with a section of a counter for each file": ("each_file", ((1, 2), (1, 2)), 1),
    "again at 1 with a section, as the layout says": ("each_section", ((1, 2), (1, 2)), 0),
    "twice in one section": ("each_section", ((1, 1), (1, 2)), 1),
    "down in each of two sections": ("running", ((9, 8), (7, 8)), 2),
}


@pytest.mark.parametrize("case", _COUNTED)
def test_reading_numbers_of_sections(case: str, small: Layout) -> None:
    counts, sections, problems = _COUNTED[case]
    layout = _sections(small, counts)
    found = read_file(_numbered(*sections).encode(), "x", layout, REF)
    assert [one.code for one in found if isinstance(one, Problem)] == ["ingest.reading-number-order"] * problems
    if not problems:
        documents = [one for one in found if isinstance(one, RunDocument)]
        assert tuple(tuple(map(int, one.readings.number)) for one in documents) == sections


def test_a_section_may_lack_the_column(small: Layout) -> None:
    text = _numbered((5, 6), (7, 8)).replace(
        "Cd 283.1\nName,No,Signal,Count\nS0,1,0.1,7\nS1,1,0.1,8", "Cd 283.1\nName,No,Signal\nS0,1,0.1\nS1,1,0.1"
    )
    found = read_file(text.encode(), "x", _sections(small, "running"), REF)
    assert [one.readings.number for one in found if isinstance(one, RunDocument)] == [("5", "6"), ()]


@pytest.mark.parametrize("text", ["0.70", "0,70"])
@pytest.mark.parametrize("mark", [".", ","])
def test_numbers_stated_by_the_layout_do_not_follow_the_mark_of_the_file(small: Layout, text: str, mark: str) -> None:
    """A number the layout states is its own text; the file's mark is asked of what the file writes."""
    stated = (*small.stated, Stated("slit_nm", text))
    form = replace(small.file, decimal_mark=mark, thousands_mark="", separator=";")  # type: ignore[arg-type]
    plan = plan_of(replace(small, stated=stated, file=form))
    walk = Walk(plan, "x")
    fact = Fact(text, 1, 1, of_layout=True)
    reader = _FactReader(plan, {"slit_nm": fact}, 1, walk)
    assert (reader.number("slit_nm", needed=False), walk.problems) == ("0.70", [])
    of_file = _FactReader(plan, {"slit_nm": Fact("0.70", 1, 1)}, 1, walk)
    assert bool(of_file.number("slit_nm", needed=False)) == (mark == ".")
