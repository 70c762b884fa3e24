"""Names of elements: the same wherever the program names one."""

from __future__ import annotations

from benchseal.export.analytes import ANALYTES
from benchseal.records.elements import ELEMENT_NAMES, SYMBOLS, element_name
from benchseal.records.species import ATOMIC_WEIGHTS


def test_certificates_and_exports_name_elements_alike() -> None:
    assert {symbol: name for symbol, (name, _) in ANALYTES.items()} == ELEMENT_NAMES


def test_an_unlisted_symbol_stands_for_itself() -> None:
    assert (element_name("Pb"), element_name("Xx")) == ("lead", "Xx")


def test_every_symbol_in_use_is_an_element() -> None:
    assert len(SYMBOLS) == 118
    assert {*ELEMENT_NAMES, *ATOMIC_WEIGHTS} <= SYMBOLS
