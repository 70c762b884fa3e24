"""Drafts made from files nobody has described. The shapes are generated here; none is one an instrument writes."""

from __future__ import annotations

from dataclasses import dataclass, replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchseal.documents.reading import read_document
from benchseal.documents.rules_layout import layout_faults
from benchseal.ingest.accounting import accounted
from benchseal.ingest.draft import Draft, proposed
from benchseal.ingest.draft_text import draft_yaml
from benchseal.ingest.lines import text_lines
from benchseal.ingest.picture import LETTERS, picture_html, picture_text
from benchseal.records.run import DocumentRef, RunDocument

REF = DocumentRef("draft", 0, "0" * 64)
HEADERS = {
    "en": {"label": "Sample ID", "replicate": "Rep", "signal": "Abs", "sd": "SD", "taken_at": "Time"},
    "de": {"label": "Probe", "replicate": "Wdh", "signal": "Extinktion", "sd": "RSD", "taken_at": "Uhrzeit"},
}
KEYS = {
    "en": ("Serial number: TQ-4", "Technique: graphite furnace", "Element: Pb 283.3 nm", "Date: 2026-03-12 09:10:00"),
    "de": ("Seriennummer: TQ-4", "Technik: Graphitrohr", "Element: Blei 283.3 nm", "Datum: 12.03.2026 09:10:00"),
}
BETWEEN = {"semicolon": ";", "tab": "\t", "bar": "|", "places": ""}


@dataclass(frozen=True)
class Shape:
    """A file and what a person reads in it."""

    data: bytes
    labels: list[str]
    signals: list[str]


@st.composite
def shapes(draw: st.DrawFn) -> Shape:
    """Head of keys, one table of one reading a row, perhaps a line that closes it."""
    tongue, between = draw(st.sampled_from(sorted(HEADERS))), BETWEEN[draw(st.sampled_from(sorted(BETWEEN)))]
    encoding = draw(st.sampled_from(["utf-8", "utf-16", "cp437", "cp1252"]))
    comma = between not in ("", ",") and draw(st.booleans()) and tongue == "de"
    names = [name for name in HEADERS[tongue] if name in {"label", "replicate", "signal"} or draw(st.booleans())]
    count = draw(st.integers(2, 6))
    numbers = draw(st.lists(st.integers(1, 1999), min_size=count, max_size=count))
    labels = ["Blank", "Std 1", "Std 2", *(f"Ware {nth}/a" for nth in range(1, 9))][:count]
    signals = [f"{number / 1000:.3f}" for number in numbers]
    rows = [[HEADERS[tongue][name] for name in names]]
    for label, signal in zip(labels, signals, strict=True):
        cells = {"label": label, "replicate": "1", "signal": signal, "sd": "1.2", "taken_at": "09:12:33"}
        rows.append([cells[name] for name in names])
    lines = [*KEYS[tongue], ""]
    if between:
        lines += [between.join(row) for row in rows]
    else:
        lines += ["".join(cell.ljust(14) for cell in row).rstrip() for row in rows]
    lines += ["End of the list"] if draw(st.booleans()) else []
    text = "\n".join(lines) + "\n"
    if comma:
        text = text.replace(".", ",").replace("12,03,2026", "12.03.2026")
    return Shape(text.encode(encoding), labels, signals)


def _draft(data: bytes) -> Draft:
    draft = proposed(data, "x.txt", "draft")
    assert isinstance(draft, Draft), draft
    return draft


def _runs(data: bytes, draft: Draft) -> tuple[RunDocument, ...]:
    return accounted(data, "x.txt", draft.layout, REF).documents


@given(shapes())
def test_a_plain_file_is_read_by_its_draft(shape: Shape) -> None:
    draft = _draft(shape.data)
    told = accounted(shape.data, "x.txt", draft.layout, REF)
    assert list(told.problems) == [], draft_yaml(draft, "x.txt", ())
    (run,) = told.documents
    assert (run.solutions.label, run.readings.signal) == (tuple(shape.labels), tuple(shape.signals))
    assert (run.facts.element, run.facts.wavelength_nm, run.facts.technique) == ("Pb", "283.3", "furnace")
    assert run.facts.started_at == "2026-03-12T09:10:00"
    assert list(layout_faults(draft.layout)) == []


def _holds(data: bytes) -> None:
    draft = proposed(data, "x.txt", "draft")
    if not isinstance(draft, Draft):
        assert draft, "a refusal says why"
        return
    lines = text_lines(data, draft.layout.file.encoding, "x.txt", draft.layout.file.printer_codes)
    assert isinstance(lines, list)
    told = accounted(data, "x.txt", draft.layout, REF)
    for run in told.documents:
        readings = run.readings
        for line, column, text in zip(readings.line, readings.column, readings.as_read, strict=True):
            stands = lines[line - 1].lstrip("\f")  # a page break before a line is no column of it
            assert stands[column - 1 :].startswith(text), "a reading stands where it is said to stand"
    assert read_document(draft_yaml(draft, "x.txt", told.lines).encode(), "d.yaml")
    assert len(picture_html(told, "x")) > len(told.lines)
    assert len(list(picture_text(told))) >= len(told.lines)


_WORDS = st.sampled_from(
    ["Sample", "Abs", "Probe", "Ext", "Mean", "SD", "Rep", "Pb", "Pb 283.3", "Conc", "0.12", "0,12", "1", "S1", "over",
     "09:10", "2026-03-12", "Element:", "Blei", "---", "A", "nm", "µ", '"', "\f", "\x1bE", "Position", "Pos", ""]
)  # fmt: skip


@given(st.lists(st.lists(_WORDS, max_size=5), max_size=12), st.sampled_from([";", "\t", ",", "|", " ", "   "]))
def test_no_draft_claims_what_is_not_there(rows: list[list[str]], between: str) -> None:
    _holds("\n".join(between.join(row) for row in rows).encode())


@given(st.binary(max_size=200))
def test_bytes_of_any_kind_give_a_draft_or_a_reason(data: bytes) -> None:
    _holds(data)


@given(shapes())
def test_the_yaml_is_the_layout(shape: Shape) -> None:
    draft = _draft(shape.data)
    read = read_document(draft_yaml(draft, "x.txt", ()).encode(), "d.yaml")
    assert not isinstance(read, tuple), read
    assert read.value == draft.layout


def test_each_guess_says_sure_or_please_check_and_why() -> None:
    text = "Serial: 3\nDate: 02/03/2026 10:00\nSample;Abs;Remark\nS1;0.1;x\nS2;0.2;y\n"
    draft = _draft(text.encode())
    written = draft_yaml(draft, "x.txt", ())
    assert "# please check: '02/03/2026': day or month may stand first" in written
    assert "# sure: its header 'Abs' is in the list of words for signal" in written
    assert "{fact: technique, value: '?', because: '?'}" in written, "what the file does not say is left open"
    refused = read_document(written.encode(), "d.yaml")
    assert isinstance(refused, tuple)
    assert {each.code for each in refused} == {"documents.layout-open"}


def test_day_first_is_sure_only_where_a_day_is_above_twelve() -> None:
    for day, form, sure in (("13/02/2026", "DD/MM/YYYY", True), ("02/13/2026", "MM/DD/YYYY", True),
                            ("02/03/2026", "DD/MM/YYYY", False)):  # fmt: skip
        draft = _draft(f"Date: {day} 10:00\nSample;Abs\nS1;0.1\n".encode())
        assert (draft.layout.file.date_form, draft.remarks["file.date_form"][0]) == (form, sure)


def test_sections_of_elements_become_runs() -> None:
    part = "Element: {} {} nm\nProbe   Soll  Ext    RSD\n               A      %\n" + "-" * 24 + "\n"
    rows = "Blind   0     0.001  1.0\nStd 1   1.0   0.100  1.1\nWare b        0.050  0.9\n"
    text = "Seriennummer: 4\nTechnik: Flamme\nDatum: 13.03.2026 10:00\n\n"
    text += part.format("Blei", "283.3") + rows + "\n" + part.format("Cadmium", "228.8") + rows
    runs = _runs(text.encode(), _draft(text.encode()))
    assert [run.facts.element for run in runs] == ["Pb", "Cd"]
    assert [run.solutions.label for run in runs] == [("Blind", "Std 1", "Ware b")] * 2
    assert [run.solutions.nominal for run in runs] == [("0", "1.0", "")] * 2


def test_elements_beside_each_other_means_and_words_among_numbers() -> None:
    text = (
        "ID\tPb 283.3\tCd 228.8\tDate/Time\nBlank\t0.1\tover\t13/12/2026 10:11:12\nS1\t0.3\t0.4\t13/12/2026 10:12:12\n"
    )
    runs = _runs(text.encode("utf-16"), _draft(text.encode("utf-16")))
    assert [run.readings.signal for run in runs] == [("0.1", "0.3"), ("", "0.4")]
    assert runs[1].readings.flag == ("over_range", "")
    text = "Sample;Rep;Abs\nS1;1;0.1\nS1;2;0.2\nS1;Mean;0.15\nS1;SD;0.05\n"
    draft = _draft(text.encode())
    (run,) = _runs(text.encode(), draft)
    assert (run.readings.signal, run.means.mean) == (("0.1", "0.2"), ("0.15",))
    roles = [line.role for line in accounted(text.encode(), "x", draft.layout, REF).lines]
    assert roles[4] == "dropped"


def test_a_turned_table() -> None:
    text = "Sample;Blank;S1;A/2\nAbs 1;0.1;0.2;0.3\nAbs 2;0.2;0.3;0.4\nRSD;1;2;3\n"
    (run,) = _runs(text.encode(), _draft(text.encode()))
    assert (run.solutions.label, run.readings.signal[:2]) == (("Blank", "S1", "A/2"), ("0.1", "0.2"))


def test_a_name_cut_by_chance_is_not_shortened() -> None:
    """All names of this file have a blank at the same place; the column of names still is one."""
    text = "Sample      Abs\nSoil a1     0.1\nSoil b2     0.2\n"
    (run,) = _runs(text.encode(), _draft(text.encode()))
    assert run.solutions.label == ("Soil a1", "Soil b2")


def test_signs_of_the_file_do_no_harm_in_the_picture() -> None:
    text = "<script>x</script>\nSample;Abs\n<b>;0.1\n"
    draft = _draft(text.encode())
    told = accounted(text.encode(), "x", draft.layout, REF)
    page = picture_html(told, "<x>")
    assert "<script>" not in page
    assert "&lt;script&gt;" in page
    assert "<b>;" not in page


def test_every_role_has_a_letter_of_its_own() -> None:
    letters = [letter for letter, _, _ in LETTERS.values()]
    assert len(set(letters)) == len(letters)


@pytest.mark.parametrize("text", ["only words\n", "Sample;Abs\n", "1;2\n3;4\n"])
def test_a_file_without_a_table_gives_an_honest_draft(text: str) -> None:
    draft = _draft(text.encode())
    assert any("No table" in what for what in draft.open)
    assert list(layout_faults(replace(draft.layout, stated=()))), "such a draft cannot be put in force as it is"


@pytest.mark.parametrize("data", [b"", b"\n\n"])
def test_an_empty_file_is_refused(data: bytes) -> None:
    refused = proposed(data, "x.txt", "draft")
    assert isinstance(refused, tuple)
    assert [each.code for each in refused] == ["ingest.file-empty"]


@pytest.mark.parametrize(
    ("data", "code"), [(b"%PDF-1.7\n", "ingest.not-text"), (b"PK\x03\x04" + b"a" * 40, "ingest.archive")]
)
def test_what_is_no_text_is_called_by_its_name(data: bytes, code: str) -> None:
    refused = proposed(data, "x.txt", "draft")
    assert isinstance(refused, tuple)
    assert [each.code for each in refused] == [code]


def test_facts_in_one_line_and_codes_of_a_printer() -> None:
    text = "\x1bE\nPb 283.3 nm  2026-03-12 10:00\nPOS  SAMPLE    ABS    TIME\n  1  BLANK    0.001   10:01\n\f\n"
    text += "  2  STD_1    0.101   10:02\nEND\n\x1a"
    draft = _draft(text.encode())
    told = accounted(text.encode(), "x", draft.layout, REF)
    (run,) = told.documents
    assert (run.facts.element, run.facts.wavelength_nm, run.facts.started_at) == ("Pb", "283.3", "2026-03-12T10:00:00")
    assert run.solutions.kind == ("calibration_blank", "standard")
    assert [line.number for line in told.lines if line.role == "no place"] == []
    assert "printer_codes: ['1a', '1b45']" in draft_yaml(draft, "x", ())


@pytest.mark.parametrize("text", ["Sample;Remark\nS1;0.12\n", "SD;RSD\n0.1;0.12\n"])
def test_a_table_without_signals_or_names_is_read_as_nothing_and_says_so(text: str) -> None:
    draft = _draft(text.encode())
    told = accounted(text.encode(), "x", draft.layout, REF)
    assert (told.documents, [each.code for each in told.problems]) == ((), ["ingest.section-empty"])
    assert draft.open


def test_leaders_between_key_and_value_and_the_time_of_a_row() -> None:
    text = "Protokoll Nr. 41\nGerät ....... FR-1\nElement ____ Cd\nLinie ------ 228,8 nm\nVerfahren .. Rohr\n"
    text += "Auswertung ..... Peakfläche\nVerfahren ..... Graphitrohr\nDatum ..... 17.11.2026\nBeginn .... 23:50:00\n"
    text += "Nr;Probe;Messung 1;Messung 2;Uhrzeit\n1;A;0,1;0,2;23:55:00\n2;B;0,3;0,4;00:05:00\nEnde\n"
    draft = _draft(text.encode())
    told = accounted(text.replace("Nr. 41", "Nr. 42").replace("....... FR", "... FR").encode(), "x", draft.layout, REF)
    (run,) = told.documents
    facts = run.facts
    assert (facts.instrument_serial, facts.element, facts.wavelength_nm, facts.technique) == (
        "FR-1",
        "Cd",
        "228.8",
        "furnace",
    )
    assert (facts.signal_form, facts.started_at) == ("integrated", "2026-11-17T23:50:00")
    assert run.readings.taken_at == ("2026-11-17T23:55:00",) * 2 + ("2026-11-18T00:05:00",) * 2
    assert [line.number for line in told.lines if line.role == "no place"] == []


COUNTED = """Serial number: TQ-4
Technique: furnace
Element: Pb 283.3 nm
Date: 2026-03-12 09:10:00

No;Sample ID;Rep;Abs
1;Blank;1;0.001
1;Blank;2;0.002
2;Std 1;1;0.051
2;Std 1;2;0.052
3;Ware 1/a;1;0.031
3;Ware 1/a;2;0.032
"""


@pytest.mark.parametrize(
    ("below", "ends", "last"),
    [
        ("Readings: 6\nEnd\n", r"Readings: +(?P<count_readings>[0-9]+)\s*", r"End\s*"),
        ("Solutions: 3\nEnd\n", r"Solutions: +(?P<count_solutions>[0-9]+)\s*", r"End\s*"),
        ("Samples: 3\nRows: 6\nEnd\n", r"Rows: +(?P<count_readings>[0-9]+)\s*", r"End\s*"),
        ("End of 6 in all\n", "", r"End +of +(?P<count_readings>[0-9]+) +in +all\s*"),
        ("Total 3\n", "", r"Total +(?P<count_solutions>[0-9]+)\s*"),
        ("Samples: 2\nEnd\n", "", r"End\s*"),  # not what was read: samples without blanks, perhaps
        ("Lamp: 6\nEnd\n", "", r"End\s*"),  # speaks of nothing that is counted
        ("Rows 6 of 9\nEnd\n", "", r"End\s*"),
    ],
)
def test_counts_below_the_table_are_compared_from_now_on(below: str, ends: str, last: str) -> None:
    data = (COUNTED + below).encode()
    draft = proposed(data, "counted.txt", "counted")
    assert isinstance(draft, Draft)
    assert (draft.layout.section.ends, draft.layout.last_line) == (ends, last)
    assert set(draft.remarks) >= {f"drop_lines.{nth}" for nth in range(len(draft.layout.drop_lines))}
    assert not set(draft.remarks) & {f"drop_lines.{nth}" for nth in range(len(draft.layout.drop_lines), 9)}
    assert accounted(data, "counted.txt", draft.layout, REF).problems == ()
    shorter = data.replace(b"3;Ware 1/a;1;0.031\n3;Ware 1/a;2;0.032\n", b"")
    found = accounted(shorter, "counted.txt", draft.layout, REF).problems
    assert [each.code for each in found] == (["ingest.count-differs"] if "count_" in ends + last else [])


@pytest.mark.parametrize(
    ("above", "rule"),
    [
        ("# 6 readings\n", r"#\ +(?P<count_readings>[0-9]+)\ +readings\s*"),
        ("Rows,6\n", r"Rows,(?P<count_readings>[0-9]+)\s*"),
        ("Solutions: 3\n", r"Solutions:\ +(?P<count_solutions>[0-9]+)\s*"),
        ("Samples: 2\n", ""),  # not what was read
        ("Rack 6\n", ""),  # speaks of nothing that is counted
    ],
)
def test_counts_above_the_table_are_compared_from_now_on(above: str, rule: str) -> None:
    data = COUNTED.replace("\nNo;Sample", f"{above}\nNo;Sample", 1).encode()
    draft = proposed(data, "counted.txt", "counted")
    assert isinstance(draft, Draft)
    told = [(nth, one.line) for nth, one in enumerate(draft.layout.head) if "count_" in one.line]
    assert [line.replace(r"\ ", " ") for _, line in told] == ([rule.replace(r"\ ", " ")] if rule else [])
    assert all(not draft.remarks[f"head.{nth}"][0] and draft.layout.head[nth].needed for nth, _ in told)
    shorter = data.replace(b"3;Ware 1/a;1;0.031\n3;Ware 1/a;2;0.032\n", b"")
    found = accounted(shorter, "counted.txt", draft.layout, REF).problems
    assert [each.code for each in found] == (["ingest.count-differs"] if rule else [])
