"""An opinion through the command line: given, listed, printed, taken back. All invented."""

from __future__ import annotations

import pikepdf
import pytest
from tests.journeys.commands import ANALYST, APPROVER, SECOND_APPROVER, Line
from tests.journeys.test_keeping import good, stopped

from benchseal.certificate.page_text import page_texts

GIVE = ("opinion", "give", "A-4", "--text", "The lot is like the one before", "--basis", "results of A-1")


@pytest.mark.clause("17025 7.8.7")
def test_an_opinion_is_given_listed_and_printed_as_one(line: Line) -> None:
    assert good(line(*GIVE, "--json", by=(SECOND_APPROVER,)))["opinion"] == "O-0001"
    listed = line("opinion", "list", by=(ANALYST,))
    assert "given" in listed.out
    assert "results of A-1" in listed.out
    number = str(good(line("certificate", "draft", "A-4", "--json", by=(ANALYST,)))["number"])
    good(line("certificate", "approve", number, "--json", by=(APPROVER,)))
    good(line("certificate", "release", number, "--json", by=(APPROVER,)))
    pdf = line.site / "certificates" / f"{number}.pdf"
    with pikepdf.open(pdf) as opened:
        text = " ".join(" ".join(page_texts(opened)).split())
    assert "Opinion: The lot is like the one before. Based on: results of A-1. Expressed by" in text
    assert line("verify", str(pdf)).code == 0
    withdrawn = line("opinion", "withdraw", "O-0001", "--reason", "no longer held", "--json", by=(APPROVER,))
    good(withdrawn)
    assert "withdrawn" in line("opinion", "list", by=(ANALYST,)).out
    assert line("verify", str(pdf)).code == 0, "what was printed stays what it is"


@pytest.mark.refuses("17025 7.8.7")
def test_an_analyst_expresses_none(line: Line) -> None:
    stopped(line(*GIVE, by=(ANALYST,)), "act.role")
