"""A customer without an address does not come in; one that moves has another from then on, and issued papers stay."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from tests.journeys.commands import ADMINISTRATOR, ANALYST, APPROVER
from tests.journeys.test_corrections import certificates, done, good, refused, shown, whole

if TYPE_CHECKING:
    from pathlib import Path

    from tests.journeys.commands import Answer, Line

CORRIGAN = ("recipient", "correct", "corrigan", "--reason", "moved, by their letter", "--set")
ADDRESS = (*CORRIGAN, "address=9 New Wharf, Tern Quay")


def added(line: Line, folder: Path, rows: str) -> Answer:
    sheet = folder / "customers.csv"
    sheet.write_text(f"customer,name,address,contact\n{rows}", encoding="utf-8")
    return line("recipient", "add", str(sheet), by=(ANALYST,))


@pytest.mark.refuses("17025 7.8.2.1")
@pytest.mark.parametrize(
    ("name", "address", "cell"), [("Fell Works", "  ", 3), ("Fell Works", "", 3), (" ", "1 Ford", 2)]
)
def test_a_customer_without_name_or_address_does_not_come_in(
    line: Line, tmp_path: Path, name: str, address: str, cell: int
) -> None:
    before = line.kept()
    answer = added(line, tmp_path, f"fell,{name},{address},\n")
    refused(answer, "documents.cell-empty" if cell == 3 else "documents.value-unfit")
    assert f"line 2, cell {cell} ({'name' if cell == 2 else 'address'})" in answer.err
    assert line.kept() == before


def test_one_row_is_one_row_and_one_known_already_is_told_how_to_change(line: Line, tmp_path: Path) -> None:
    assert added(line, tmp_path, "fell,Fell Works,1 Ford,\n").out == "1 customer row is on record: fell.\n"
    again = added(line, tmp_path, "fell,Fell Works,2 Ford,\n")
    refused(again, "customer.already")
    assert "benchseal recipient correct" in again.err
    two = added(line, tmp_path, "moor,Moor Works,1 Ford,\nbrae,Brae Works,1 Ford,\n")
    assert two.out == "2 customer rows are on record: moor, brae.\n"


@pytest.mark.clause("P11 11.10(e)", "17025 7.5.2")
def test_a_customer_moves(line: Line) -> None:
    released = {number: row for number, row in certificates(line).items() if row["state"] == "released"}
    draft = str(good(line("certificate", "draft", "B-2", "--json", by=(ANALYST,)))["number"])
    approved = str(good(line("certificate", "draft", "B-3", "--json", by=(ANALYST,)))["number"])
    assert {certificates(line)[number]["customer"] for number in (draft, approved)} == {"corrigan"}
    good(line("certificate", "approve", approved, "--json", by=(APPROVER,)))
    effect = shown(line, *ADDRESS)["effect"]
    assert (effect["results"], effect["runs"]) == ([], [])
    assert [(one["number"], one["becomes"]) for one in effect["certificates"]] == [
        (draft, "draft again"),
        (approved, "draft again"),
    ]
    done(line, *ADDRESS, by=(ANALYST, APPROVER))
    now = certificates(line)
    assert (now[draft]["state"], now[approved]["state"]) == ("draft", "draft")
    assert {number: now[number] for number in released} == released  # neither flagged nor changed
    refused(line("certificate", "approve", draft, by=(APPROVER,)), "certificate.customer-changed")
    good(line("certificate", "discard", draft, "--reason", "the customer moved", "--json", by=(ANALYST,)))
    again = str(good(line("certificate", "draft", "B-2", "--json", by=(ANALYST,)))["number"])
    good(line("certificate", "approve", again, "--json", by=(APPROVER,)))
    good(line("certificate", "release", again, "--json", by=(APPROVER,)))
    said = line("certificate", "show", again, by=(ANALYST,)).out
    assert "customer/corrigan, address: " in said
    assert "-> 9 New Wharf, Tern Quay (entry " in said
    assert whole(line)


def test_another_contact_touches_no_certificate(line: Line) -> None:
    good(line("certificate", "draft", "B-2", "--json", by=(ANALYST,)))
    said = line(*CORRIGAN, "contact=lab@corrigan.example", by=(ANALYST,)).out
    assert "no result changes.\n" in said
    assert "untouched" not in said
    assert done(line, *CORRIGAN, "contact=lab@corrigan.example", by=(ANALYST,))["effect"]["certificates"] == []
    listed = good(line("recipient", "list", "--json", by=(ANALYST,)))["customers"]
    assert "lab@corrigan.example" in {row["contact"] for row in listed}


@pytest.mark.refuses("17025 7.5.2")
def test_what_is_no_correction_of_a_customer_is_refused(line: Line) -> None:
    because = ("--reason", "moved, by their letter")
    refused(line("recipient", "correct", "nobody", "--set", "address=1", *because, by=(ANALYST,)), "customer.unknown")
    refused(line(*CORRIGAN, "customer=other", by=(ANALYST,)), "correction.which")
    refused(line(*CORRIGAN, "address= ", by=(ANALYST,)), "documents.cell-empty")
    figures = shown(line, *ADDRESS)["figures"]
    refused(line(*ADDRESS, "--effect", "0" * 16, by=(ANALYST,)), "correction.effect-changed")
    refused(line(*ADDRESS, "--effect", figures, by=(ADMINISTRATOR,)), "act.role")


def test_a_draft_that_no_longer_fits_is_told_to_be_discarded_first(line: Line) -> None:
    number = str(good(line("certificate", "draft", "B-2", "--json", by=(ANALYST,)))["number"])
    figures = shown(line, *ADDRESS)["figures"]
    said = line(*ADDRESS, "--effect", figures, by=(ANALYST,)).out
    assert (
        f"{number} no longer fits: discard it (`benchseal certificate discard {number}`), then draft it again" in said
    )
