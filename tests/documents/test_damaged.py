"""Texts a spreadsheet damaged are refused, whichever file they came in; names a laboratory gives are not."""

from __future__ import annotations

import pytest
from tests.documents.test_imported import ROWS, codes, file
from tests.documents.test_signs import book_of, csv_of

from benchseal.documents.sheets import read_samples
from benchseal.problems import Problem

ERRORS = ["#REF!", "#N/A", "#VALUE!", "#DIV/0!", "#NAME?", "#NUM!", "#NULL!", "#WERT!"]
DAMAGED = [
    "1,00E+05", "1.00E+05", "1E+05", "05. Mrz", "05.Mrz", "5-Mar", "05-Mar-26", "Mar-26", "Mrz 26", "Dez 2026",
    "05-mars", "5-janv.", "05-févr.-26", "03-ene", "05-mrt-2026", "mars-05", "déc.-26", "'007", "'A-1",
    "2026-03-05 00:00:00", "2026-03-05T00:00:00", "05.03.2026 00:00", "3/5/2026 0:00", "####",
]  # fmt: skip
NAMES = [
    "MAR-01", "1E5", "1E-5A", "007", "05-MAR", "MAR26", "Mara-26", "A-1", "#1", "L#12", "N/A", "REF!", "2026-03-05",
    "2026-03-05 10:30:00", "5-3", "05.03", "Mar", "1,00", "00:00:00", "#REF", "05. Charge", "Mai 7",
    "mars", "lot-mars", "1-out", "2-set", "out-05", "marsh-05", "05-marsh", "5'-3", "7'",
]  # fmt: skip


def found(data: bytes) -> list[tuple[str, str]]:
    return [(one.code, one.where) for one in read_samples(data, "s") if isinstance(one, Problem)]


@pytest.mark.parametrize("text", ERRORS)
@pytest.mark.parametrize("column", ["lot", "description", "received_on"])
def test_what_a_failed_formula_shows_is_no_text(text: str, column: str) -> None:
    for data in (csv_of(**{column: text}), book_of(**{column: text})):
        assert [code for code, _ in found(data)] == ["documents.cell-not-text"]
    assert codes(file(ROWS.replace("L-1", text))) == [("documents.cell-not-text", "o, line 3, cell 1")]


@pytest.mark.parametrize("text", DAMAGED)
def test_what_a_spreadsheet_made_of_a_name_is_refused(text: str) -> None:
    for data in (csv_of(lot=text), book_of(lot=text)):
        assert [code for code, _ in found(data)] == ["documents.cell-damaged"]
    assert [code for code, _ in codes(file(ROWS.replace("L-1", text)))] == ["documents.cell-damaged"]


@pytest.mark.parametrize("text", NAMES)
def test_names_of_a_laboratory_stay_names(text: str) -> None:
    for data in (csv_of(lot=text), book_of(lot=text)):
        assert found(data) == []
    assert codes(file(ROWS.replace("L-1", text))) == []


@pytest.mark.parametrize("text", ["Mar 2026", "05. Mrz", "delivered 05. Mrz"])
def test_words_of_people_may_be_a_month(text: str) -> None:
    assert found(csv_of(condition=text)) == []
