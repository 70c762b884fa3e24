"""The invented instrument files: good ones read whole, each bad one gives the problem its name promises."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from benchseal.ingest.reader import read_file, recognise
from benchseal.problems import Problem
from benchseal.records.canonical import digest
from benchseal.records.run import DocumentRef, RunDocument

if TYPE_CHECKING:
    from benchseal.records.layout import Layout

FILES = Path(__file__).parents[2] / "fixtures" / "instrument-text"
_GOOD = sorted(FILES.glob("*/good-*.txt"))
Layouts = dict[str, tuple[DocumentRef, "Layout"]]


def _read(path: Path, layouts: Layouts) -> tuple[RunDocument, ...] | tuple[Problem, ...]:
    ref, layout = layouts[path.parent.name]
    return read_file(path.read_bytes(), path.name, layout, ref)


def _documents(path: Path, layouts: Layouts) -> tuple[RunDocument, ...]:
    found = _read(path, layouts)
    documents = tuple(item for item in found if isinstance(item, RunDocument))
    assert len(documents) == len(found), found
    return documents


def _only(found: tuple[object, ...]) -> Problem:
    (problem,) = found
    assert isinstance(problem, Problem)
    return problem


def test_comma_list(layouts: Layouts) -> None:
    path = FILES / "comma-list" / "good-lead.txt"
    (run,) = _documents(path, layouts)
    assert (run.facts.element, run.facts.wavelength_nm, run.facts.technique) == ("Pb", "283.3", "furnace")
    assert (run.facts.instrument_serial, run.facts.started_at) == ("TQ-F-0417", "2026-03-02T09:14:05")
    assert (run.facts.signal_unit, run.facts.background_correction) == ("A.s", "deuterium")
    assert run.source_sha256 == digest(path.read_bytes())
    assert run.source_bytes == path.stat().st_size
    assert run.layout == layouts["comma-list"][0]
    assert len(run.solutions.label) == 37
    assert run.solutions.reading_count == (3,) * 37
    assert run.solutions.nominal[:7] == ("0", "1", "2.5", "5", "10", "15", "20")
    assert run.means.mean == ()


def test_semicolon_sections(layouts: Layouts) -> None:
    zinc, magnesium = _documents(FILES / "semicolon-sections" / "good-zinc-magnesium.txt", layouts)
    assert (zinc.facts.element, magnesium.facts.element) == ("Zn", "Mg")
    assert (zinc.facts.started_at, magnesium.facts.started_at) == ("2026-03-02T10:05:30", "2026-03-02T11:20:00")
    assert (zinc.facts.line, magnesium.facts.line) == (7, 38)
    assert zinc.readings.as_read[:2] == ("0,0005", "0,0006")
    assert zinc.readings.signal[:2] == ("0.0005", "0.0006")
    assert zinc.means.mean[:2] == ("0.0006", "0.0714")
    assert len(zinc.means.mean) == len(zinc.solutions.label) == 22


def test_settings_a_file_states(layouts: Layouts) -> None:
    (lead,) = _documents(FILES / "comma-list" / "good-lead-settings.txt", layouts)
    facts = lead.facts
    assert (facts.slit_nm, facts.flame, facts.signal_form, facts.injection_ul) == ("0.70", "", "integrated", "20.0")
    zinc, magnesium = _documents(FILES / "semicolon-sections" / "good-zinc-magnesium-settings.txt", layouts)
    assert (zinc.facts.slit_nm, zinc.facts.flame) == ("0.70", "air_acetylene")
    assert (magnesium.facts.slit_nm, magnesium.facts.signal_form, magnesium.facts.injection_ul) == ("0.7", "", "")
    (silent,) = _documents(FILES / "comma-list" / "good-lead.txt", layouts)
    assert (silent.facts.slit_nm, silent.facts.flame, silent.facts.signal_form) == ("", "", "")


def test_page_print(layouts: Layouts) -> None:
    (run,) = _documents(FILES / "page-print" / "good-mercury.txt", layouts)
    assert run.facts.technique == "cold_vapour"
    assert len(run.solutions.label) == len(run.means.mean) == 38
    over = run.readings.flag.index("over_range")
    assert (run.readings.as_read[over], run.readings.signal[over]) == ("above-top", "")
    assert run.solutions.nominal[7:9] == ("5", ""), "a blank cell in a first row is blank, not carried"


@pytest.mark.parametrize("path", _GOOD, ids=lambda path: path.stem)
def test_each_reading_is_where_it_says(path: Path, layouts: Layouts) -> None:
    code_page = layouts[path.parent.name][1].file.encoding
    lines = path.read_bytes().decode({"windows-1252": "cp1252"}.get(code_page, code_page)).split("\r\n")
    for run in _documents(path, layouts):
        readings = run.readings
        for text, line, column in zip(readings.as_read, readings.line, readings.column, strict=True):
            found = lines[line - 1].lstrip("\f")[column - 1 :]
            assert found.startswith(text), (line, column)


@pytest.mark.parametrize("path", _GOOD, ids=lambda path: path.stem)
def test_exactly_its_own_layout_recognises_a_file(path: Path, layouts: Layouts) -> None:
    found = recognise(path.read_bytes(), list(layouts.values()))
    assert isinstance(found[0], DocumentRef)
    assert found[0].id == path.parent.name


def test_a_file_nobody_knows(layouts: Layouts) -> None:
    problem = _only(recognise((FILES / "bad-no-layout.txt").read_bytes(), list(layouts.values()), "other.txt"))
    assert (problem.code, problem.where) == ("ingest.layout-unknown", "other.txt")
    assert "Nearest" not in problem.what
    assert _only(recognise(b"", [])).code == "ingest.layout-unknown"


@pytest.mark.parametrize("path", _GOOD, ids=lambda path: path.stem)
def test_a_file_of_another_version_is_told_the_layout_it_is_near(path: Path, layouts: Layouts) -> None:
    """A changed figure in the line a layout is known by: the layout is named, its line, and the line that is there."""
    _, layout = layouts[path.parent.name]
    known = re.compile(layout.recognised_by[0])
    lines = path.read_bytes().decode(layout.file.encoding).split("\n")
    at = next(nth for nth, line in enumerate(lines) if known.fullmatch(line.strip("\r\f")))
    lines[at] = lines[at].rstrip("\r") + " of \x07 1987"
    problem = _only(recognise("\n".join(lines).encode(layout.file.encoding), list(layouts.values()), "other.txt"))
    assert f"Nearest is {path.parent.name}: no line is like '{layout.recognised_by[0]}'" in problem.what
    assert f"line {at + 1} is '" in problem.what
    assert problem.what.isprintable()


def test_a_file_two_layouts_know(layouts: Layouts) -> None:
    pair = [layouts["comma-list"], (DocumentRef("other", 1, "0" * 64), layouts["comma-list"][1])]
    problem = _only(recognise(_GOOD[0].read_bytes(), pair))
    assert problem.code == "ingest.layout-several"


# Every bad file: code and place of a problem it must give.
_BAD = {
    "comma-list/bad-byte-not-utf-8": ("byte-undecodable", "line 2, column 8"),
    "comma-list/bad-column-added": ("header-differs", "line 14"),
    "comma-list/bad-control-sign": ("control-sign", "line 21, column 4"),
    "comma-list/bad-count-differs": ("count-differs", "line 126, column 17"),
    "comma-list/bad-cut-off": ("cut-off", "line 72"),
    "comma-list/bad-cut-off-in-row": ("cut-off", "line 72"),
    "comma-list/bad-date-impossible": ("date-unreadable", "line 12, column 7"),
    "comma-list/bad-decimal-comma": ("row-unfit", "line 15"),
    "comma-list/bad-dilution-below-one": ("dilution-below-one", "line 45, column 23"),
    "comma-list/bad-empty": ("file-empty", "bad-empty.txt"),
    "comma-list/bad-header-renamed": ("header-differs", "line 14"),
    "comma-list/bad-kind-unknown": ("kind-unknown", "line 18, column 6"),
    "comma-list/bad-label-missing": ("label-missing", "line 45, column 4"),
    "comma-list/bad-last-line-missing": ("cut-off", "line 127"),
    "comma-list/bad-line-missing": ("line-missing", "line 13"),
    "comma-list/bad-line-unread": ("line-unread", "line 7"),
    "comma-list/bad-number-nan": ("number-unreadable", "line 15, column 17"),
    "comma-list/bad-number-word": ("number-unreadable", "line 15, column 17"),
    "comma-list/bad-page-break": ("page-break", "line 19"),
    "comma-list/bad-position-gap": ("position-gap", "line 57, column 1"),
    "comma-list/bad-quote-open": ("row-differs", "line 19"),
    "comma-list/bad-reading-missing-in-middle": ("reading-order", "line 58, column 20"),
    "comma-list/bad-row-short": ("row-unfit", "line 18"),
    "comma-list/bad-flame-unknown": ("word-unknown", "line 13, column 10"),
    "comma-list/bad-setting-twice": ("line-repeated", "line 15"),
    "comma-list/bad-slit-two-points": ("number-unreadable", "line 12, column 12"),
    "comma-list/bad-time-backwards": ("time-backwards", "line 16, column 30"),
    "comma-list/bad-two-solutions-one-position": ("row-differs", "line 19"),
    "comma-list/bad-utf-16-undeclared": ("not-text", "bad-utf-16-undeclared.txt"),
    "comma-list/bad-word-unknown": ("word-unknown", "line 8, column 13"),
    "page-print/bad-column-shifted": ("number-unreadable", "line 17, column 55"),
    "page-print/bad-header-not-repeated": ("page-heading", "line 63"),
    "page-print/bad-heading-of-other-print": ("fact-contradicts", "line 60, column 11"),
    "page-print/bad-last-page-missing": ("cut-off", "line 119"),
    "page-print/bad-mean-before-readings": ("mean-misplaced", "line 13"),
    "page-print/bad-page-missing": ("page-missing", "line 59, column 70"),
    "page-print/bad-page-twice": ("page-missing", "line 119, column 70"),
    "page-print/bad-unit-differs": ("units-differ", "line 12"),
    "semicolon-sections/bad-byte-undefined": ("byte-undecodable", "line 8, column 16"),
    "semicolon-sections/bad-count-differs": ("count-differs", "line 36, column 9"),
    "semicolon-sections/bad-cut-off": ("cut-off", "line 66"),
    "semicolon-sections/bad-cut-off-in-first-section": ("cut-off", "line 36"),
    "semicolon-sections/bad-date-impossible": ("date-unreadable", "line 4, column 5"),
    "semicolon-sections/bad-decimal-point": ("number-unreadable", "line 15, column 15"),
    "semicolon-sections/bad-line-repeated": ("line-repeated", "line 10"),
    "semicolon-sections/bad-nominal-negative": ("nominal-negative", "line 15, column 8"),
    "semicolon-sections/bad-page-850": ("line-unread", "line 1"),
    "semicolon-sections/bad-row-twice": ("position-gap", "line 25, column 1"),
    "semicolon-sections/bad-section-lost": ("count-differs", "line 38, column 13"),
    "semicolon-sections/bad-slit-decimal-point": ("line-unread", "line 12"),
    "semicolon-sections/bad-sections-mixed": ("cut-off", "line 36, column 6"),
}


def test_every_bad_file_has_its_line() -> None:
    assert {f"{path.parent.name}/{path.stem}" for path in FILES.glob("*/bad-*.txt")} == set(_BAD)


@pytest.mark.parametrize("name", _BAD)
def test_bad_file(name: str, layouts: Layouts) -> None:
    code, place = _BAD[name]
    found = _read(FILES / f"{name}.txt", layouts)
    hits = [item for item in found if isinstance(item, Problem) and item.code == f"ingest.{code}"]
    assert hits, found
    assert hits[0].where.endswith(place), hits[0]
    assert all(isinstance(item, Problem) for item in found)


@pytest.mark.parametrize(
    ("name", "codes"),
    [
        ("comma-list/bad-position-gap", ["ingest.position-gap", "ingest.count-differs"]),
        ("semicolon-sections/bad-row-twice", ["ingest.position-gap", "ingest.count-differs"]),
        pytest.param("semicolon-sections/bad-date-impossible", ["ingest.date-unreadable"], id="a line of two runs"),
    ],
)
def test_one_fault_is_one_problem(name: str, codes: list[str], layouts: Layouts) -> None:
    found = _read(FILES / f"{name}.txt", layouts)
    assert [item.code for item in found if isinstance(item, Problem)] == codes


def test_a_hint_names_the_other_decimal_mark(layouts: Layouts) -> None:
    problem = _only(_read(FILES / "semicolon-sections" / "bad-decimal-point.txt", layouts))
    assert "With decimal mark '.' it would be a number; the layout says ','." in problem.what


def test_problems_are_listed_to_a_limit(layouts: Layouts) -> None:
    ref, layout = layouts["comma-list"]
    found = read_file(b"Tern reading list,3\n" + b"noise\n" * 500, "x", layout, ref)
    assert len(found) == 51
    assert isinstance(found[-1], Problem)
    assert found[-1].code == "ingest.more-problems"


# Never a traceback, never a wrong yes


@given(data=st.binary(max_size=400), name=st.sampled_from(["comma-list", "semicolon-sections", "page-print"]))
def test_any_bytes_are_refused(data: bytes, name: str, layouts: Layouts) -> None:
    ref, layout = layouts[name]
    assert all(isinstance(item, Problem) for item in read_file(data, "x", layout, ref))
    recognise(data, list(layouts.values()))


@settings(suppress_health_check=[HealthCheck.too_slow])
@given(data=st.data(), path=st.sampled_from(_GOOD))
def test_a_mutated_file_is_read_or_refused(data: st.DataObject, path: Path, layouts: Layouts) -> None:
    good = path.read_bytes()
    at, cut = data.draw(st.integers(0, len(good) - 1)), data.draw(st.sampled_from([0, 1, 2, 20, 200]))
    put = data.draw(
        st.binary(max_size=4)
        | st.sampled_from([b'"', b";", b",", b"\r\n", b"\f", b"\0", b" ", b"\x1a", b"-", b"E5", b"\xb2"])
    )
    ref, layout = layouts[path.parent.name]
    found = read_file(good[:at] + put + good[at + cut :], "x", layout, ref)
    assert found
    assert len({isinstance(item, Problem) for item in found}) == 1


@given(data=st.data(), path=st.sampled_from(_GOOD))
def test_a_file_cut_anywhere_is_refused(data: st.DataObject, path: Path, layouts: Layouts) -> None:
    """Whatever is lost at the end, unless it is only the last line end."""
    good = path.read_bytes().rstrip(b"\r\n")
    at = data.draw(st.integers(1, len(good) - 1))
    ref, layout = layouts[path.parent.name]
    assert all(isinstance(item, Problem) for item in read_file(good[:at], "x", layout, ref))


@given(data=st.data(), path=st.sampled_from(_GOOD))
def test_a_line_lost_is_refused(data: st.DataObject, path: Path, layouts: Layouts) -> None:
    """A line that holds anything cannot go missing unseen.

    But for lines the layout says may be absent, and the last reading of a solution in a print that does not count its
    readings: that one ``validate`` finds by the method's count or the printed mean.
    """
    lines = path.read_bytes().split(b"\r\n")
    at = data.draw(st.sampled_from([index for index, line in enumerate(lines) if line.strip()]))
    may_be_absent = (b"Bench,", b"Room;", b"Slit", b"Flame", b"Taken as,", b"Drop in")
    if lines[at].startswith(may_be_absent) or b" mean " in lines[at] or lines[at][48:53] == b"    3":
        return
    ref, layout = layouts[path.parent.name]
    found = read_file(b"\r\n".join(lines[:at] + lines[at + 1 :]), "x", layout, ref)
    assert all(isinstance(item, Problem) for item in found), lines[at]
