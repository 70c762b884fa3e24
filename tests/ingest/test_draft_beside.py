"""Tables side by side, counters headed as names, counted headers and codes to a printer: nothing of them is sure."""

from __future__ import annotations

import pytest

from benchseal.ingest.accounting import accounted
from benchseal.ingest.draft import Draft, proposed
from benchseal.ingest.guess_text import guess_printer_codes
from benchseal.records.run import DocumentRef

HEAD = "Serial: TQ-4\nTechnique: flame\nElement: Pb   Wavelength: 283.3 nm\nStarted: 2026-03-12 09:10:00\n\n"


def _draft(text: str) -> Draft:
    draft = proposed(text.encode(), "x.txt", "draft")
    assert isinstance(draft, Draft), draft
    return draft


def _rows(separator: str = ",") -> str:
    """Six rows of two solutions each, beside each other."""
    rows = []
    for nth in range(1, 7):
        here, there = (f"0.{100 * nth + one:04d}" for one in (3, 57))
        rows.append(separator.join([str(nth), f"Y-{nth}", here, str(nth + 6), f"Y-{nth + 6}", there]))
    return "\n".join(rows) + "\nEnd\n"


def _means(draft: Draft) -> list[tuple[str, bool]]:
    """What each column means, and whether that is sure."""
    columns = enumerate(draft.layout.table.columns)
    return [(column.means, draft.remarks[f"table.columns.{nth}"][0]) for nth, column in columns]


@pytest.mark.parametrize("titles", ["Pos,Name,Abs,Pos,Name,Abs", "Pos,Name,Abs,Nr,Ident,Abs"])
def test_a_signal_of_a_table_beside_another_is_none_of_its_readings(titles: str) -> None:
    draft = _draft(HEAD + titles + "\n" + _rows())
    assert _means(draft)[:3] == [("position", True), ("label", True), ("signal", True)]
    assert _means(draft)[5] == ("ignored", False)
    assert any("From column 4 (" in said and "side by side" in said for said in draft.open)


def test_readings_beside_each_other_are_no_table_beside_another() -> None:
    draft = _draft(HEAD + "Pos,Name,Abs 1,Abs 2\n" + "".join(f"{n},Y-{n},0.{n}01,0.{n}02\n" for n in range(1, 6)))
    assert [means for means, _ in _means(draft)] == ["position", "label", "signal", "signal"]
    assert not any("side by side" in said for said in draft.open)


@pytest.mark.parametrize("separator", [",", ";", "\t"])
def test_rows_below_headers_nobody_knows_never_go_into_the_head(separator: str) -> None:
    text = HEAD + separator.join(["Pos A", "Name A", "Abs A", "Pos B", "Name B", "Abs B"]) + "\n" + _rows(separator)
    draft = _draft(text)
    assert any(said.startswith("Lines 7 to 12 look like rows of readings") for said in draft.open)
    assert not any("Y-" in rule.line for rule in draft.layout.head)
    told = accounted(text.encode(), "x.txt", draft.layout, DocumentRef("draft", 0, "0" * 64))
    assert {number for number in range(7, 13) if any(f"line {number}" in each.where for each in told.problems)} == {
        *range(7, 13)
    }


def test_a_counter_headed_as_a_position_is_not_surely_the_name() -> None:
    rows = "".join(f"{nth}  Y-{nth:02d}  R{rep}  0.{nth}{rep}11\n" for nth in range(1, 7) for rep in (1, 2))
    draft = _draft(HEAD + "Cup  Ident  No  Abs\n" + rows)
    columns = {column.header: column.means for column in draft.layout.table.columns}
    assert (columns["Ident"], columns["No"]) == ("label", "ignored")
    assert not any(sure for nth, (_, sure) in enumerate(_means(draft)) if nth in {1, 2})


def test_names_headed_as_a_position_are_to_be_checked() -> None:
    draft = _draft(HEAD + "No;Type;Abs\n" + "".join(f"Y-{n};SMP;0.{n}01\n" for n in range(1, 6)))
    assert _means(draft)[0] == ("label", False)


def test_headers_that_count_readings_are_no_unit() -> None:
    rows = "".join(f"{n};Y-{n};0.{n}01;0.{n}02;0.{n}03\n" for n in range(1, 6))
    draft = _draft(HEAD + "Pos;Name;A(1);A(2);A(3)\n" + rows)
    assert [means for means, _ in _means(draft)].count("signal") == 3
    assert [one.value for one in draft.layout.stated if one.fact == "signal_unit"] == ["A"]


@pytest.mark.parametrize(
    ("data", "codes"),
    [
        (b"\x1bE\x1b&l0OLOG", ("1b266c304f", "1b45")),
        (b"\x1b[0mLOG\x1b[1;4mPb", ("1b5b306d", "1b5b313b346d")),
        (b"\x1b@LOG\x1bEPb\x0f", ("0f", "1b40", "1b45")),
        (b"\x1b&LOG", ("1b",)),
    ],
)
def test_codes_to_a_printer_are_whole(data: bytes, codes: tuple[str, ...]) -> None:
    assert guess_printer_codes(data, "utf-8") == codes
