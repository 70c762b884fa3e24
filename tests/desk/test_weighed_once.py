"""One weighing is of one portion. All invented."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from tests.desk.putting import APPROVER, FLAME, TRACE, do
from tests.desk.test_accounts import refused
from tests.desk.test_confirmations import HEAD, SHEET, corrected, portion
from tests.desk.test_training import stopped

from benchseal.desk.acts_documents import AddDocument, ApproveDocument
from benchseal.desk.acts_registers import AddPreparation
from benchseal.shipped import starter

if TYPE_CHECKING:
    from tests.conftest import Stage

OTHER = SHEET.replace(b"QQ-01", b"QQ-02")
BALANCE = b"portion,mass_g,weighed_at\nQ-1,1.0120,2026-01-10T08:50:00\n"
UNTIMED = b"portion,mass_g\nQ-1,1.0120\n"


def weighed(sheet: bytes, balance: bytes, layout: str = "") -> AddPreparation:
    return AddPreparation(sheet, "sheet.csv", balance=balance, balance_source="b.csv", balance_layout=layout)


@pytest.mark.refuses("A11 6")
def test_one_weighing_of_two_rows_is_of_neither_and_both_are_named(stage: Stage) -> None:
    both = SHEET + OTHER.removeprefix(HEAD)
    for sheet in (both, both.replace(b",1.0120", b",")):  # typed, and left to the balance
        path = "a-folder-with-a-long-name/and-another-within/sheet.csv"
        ((code, words),) = stopped(stage, replace(weighed(sheet, UNTIMED), source=path), FLAME)
        assert code == "balance.ambiguous"
        assert f"{path}, line 2 (batch QQ-01), {path}, line 3 (batch QQ-02)" in words
    do(stage, AddPreparation(both, "sheet.csv"), FLAME)  # without the balance both are typed
    assert all("mass_g 1.0120" in portion(stage, f"{batch}/Q-1").words for batch in ("QQ-01", "QQ-02"))


@pytest.mark.refuses("A11 6")
@pytest.mark.parametrize("balance", [BALANCE, UNTIMED])
def test_a_weighing_another_portion_on_record_took_is_not_taken_again(stage: Stage, balance: bytes) -> None:
    do(stage, weighed(SHEET, balance), FLAME)
    ((code, words),) = stopped(stage, weighed(OTHER, balance), TRACE)
    assert code == "balance.taken"
    assert "QQ-01/Q-1" in words
    assert "line 2, portion Q-1" in words
    assert refused(lambda: do(stage, weighed(SHEET, balance), FLAME)) == "preparation.already"  # its own is no other
    do(stage, AddPreparation(OTHER.replace(b"QQ-02", b"QQ-03"), "sheet.csv"), FLAME)
    assert "mass_g 1.0120" in portion(stage, "QQ-03/Q-1").words


@pytest.mark.refuses("A11 6")
def test_a_weighing_stays_taken_when_its_portion_is_corrected(stage: Stage) -> None:
    do(stage, weighed(SHEET, BALANCE), FLAME)
    corrected(stage, "QQ-01/Q-1", "mass_g=1.0210", TRACE)
    assert refused(lambda: do(stage, weighed(OTHER, BALANCE), FLAME)) == "balance.taken"


@pytest.mark.refuses("A11 6")
def test_a_weighing_in_a_longer_file_is_the_same_by_its_time_and_mass(stage: Stage) -> None:
    do(stage, weighed(SHEET, BALANCE), FLAME)
    longer = BALANCE + b"Q-2,0.9987,2026-01-10T08:55:00\n"
    assert refused(lambda: do(stage, weighed(OTHER, longer), FLAME)) == "balance.taken"
    do(stage, weighed(OTHER.replace(b"Q-1,", b"Q-2,").replace(b"1.0120", b""), longer), FLAME)  # the file goes on
    again = longer.replace(b"Q-1,1.0120,2026-01-10T08:50:00", b"Q-1,1.0120,2026-01-10T08:51:00")
    do(stage, weighed(OTHER, again), FLAME)  # the same label and mass, weighed at another time
    assert "mass_g" not in portion(stage, "QQ-02/Q-1").words


@pytest.mark.refuses("A11 6")
def test_a_weighing_of_a_print_is_the_same_in_a_longer_print(stage: Stage) -> None:
    do(stage, AddDocument(starter("balances/bench-balance.yaml").encode(), "b.yaml"), FLAME)
    do(stage, ApproveDocument("balance_layout/bench-balance"), APPROVER)
    printed = b"Weighing list\nApparatus WB-2044\nLabel Q-1\nNet 1012.0 mg\nAt 2026-01-10 08:50\n"
    do(stage, weighed(SHEET, printed, "bench-balance"), FLAME)
    longer = printed + b"---\nLabel Q-2\nNet 0.9987 g\n"
    assert refused(lambda: do(stage, weighed(OTHER, longer, "bench-balance"), FLAME)) == "balance.taken"
    do(stage, weighed(OTHER, longer.replace(b"08:50", b"08:51"), "bench-balance"), FLAME)
