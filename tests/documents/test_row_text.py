"""A record written as a sheet row reads back as itself."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchseal.documents.row_text import row_text, sheet_of
from benchseal.documents.sheets import read_preparation, read_samples, read_standard_lots
from benchseal.records.preparation import Addition, DilutionStep, Portion
from benchseal.records.registers import SampleRow, StandardLot

PORTION = Portion(
    portion="A-1/1",
    batch="B, 1",
    kind="sample",
    sample="S-00001",
    elements=("Pb", "Cd"),
    volume_ml="25.0",
    prepared_by="p-ana.keel",
    prepared_at="2026-03-02T08:00:00",
    mass_g="0.5",
    dilutions={"Cd": (DilutionStep("1", "10"), DilutionStep("2", "50")), "Pb": (DilutionStep("5", "100"),)},
)


@given(
    st.from_regex(r"(0|[1-4]?[1-9])\.[0-9]{1,4}[1-9]", fullmatch=True),
    st.sampled_from([{}, {"Pb": (Addition("A-1/1", "0"), Addition("a", "5"), Addition("b", "7"), Addition("c", "9"))}]),
)
def test_a_preparation_row_reads_back(mass: str, additions: dict[str, tuple[Addition, ...]]) -> None:
    row = Portion(
        **{**{name: getattr(PORTION, name) for name in PORTION.__slots__}, "mass_g": mass, "additions": additions}
    )
    if additions:
        row = Portion(**{**{name: getattr(row, name) for name in row.__slots__}, "dilutions": {}})
    assert read_preparation(sheet_of([row_text(row)]), "row") == (row,)


@pytest.mark.parametrize("words", ["one bag, torn", 'said "intact"', "ä ß"])
def test_words_of_a_sample_read_back(words: str) -> None:
    row = SampleRow("L-1", "powder", "ardlea", "spec", "", words, "closed", "1", "2026-03-01", "", "", "")
    assert read_samples(sheet_of([row_text(row)]), "row") == (row,)


def test_a_standard_lot_reads_back() -> None:
    lot = StandardLot(
        "L-2", "Pb", "calibration", "998", "mg/L", "0.2", "a maker", "C-1", "2026-01-01", "2027-01-01", "1000"
    )
    assert read_standard_lots(sheet_of([row_text(lot)]), "row") == (lot,)
