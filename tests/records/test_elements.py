"""Names of elements: the same wherever the program names one."""

from __future__ import annotations

from benchseal.export.analytes import ANALYTES
from benchseal.records.elements import ELEMENT_NAMES, element_name


def test_certificates_and_exports_name_elements_alike() -> None:
    assert {symbol: name for symbol, (name, _) in ANALYTES.items()} == ELEMENT_NAMES


def test_an_unlisted_symbol_stands_for_itself() -> None:
    assert (element_name("Pb"), element_name("Xx")) == ("lead", "Xx")
