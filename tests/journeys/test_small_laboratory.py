"""A laboratory of few: one person reviews and approves by exception, an administrator works with a second's word."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import pytest
from tests.journeys.commands import ADMINISTRATOR, ANALYST, APPROVER, REVIEWER, SECOND_APPROVER
from tests.journeys.test_documents import good, stopped

if TYPE_CHECKING:
    from tests.journeys.commands import Line

CHECK = "a colleague of the sister laboratory reads every tenth certificate"


def excepted(line: Line, kind: str, person: str, *by: str) -> None:
    until = f"{datetime.now(UTC) + timedelta(days=90):%Y-%m-%d}"
    words = ("exception", "add", kind, "--person", person, "--until", until, "--check", CHECK)
    good(line(*words, "--reason", "two people", "--json", by=by or (APPROVER, ADMINISTRATOR)))


def reviewed(line: Line) -> None:
    """Lot C-1 measured, submitted, and reviewed by the approver, who was given that role too."""
    good(line("person", "role", APPROVER, "--give", "reviewer", "--reason", "two people", by=(ADMINISTRATOR,)))
    came = good(line("ingest", str(line.inbox("flame-ware.txt")), "--json", by=(ANALYST,))).json
    runs = [run for file in came["files"] for run in file["runs"]]
    good(line("run", "submit", *runs, by=(ANALYST,)))
    good(line("run", "accept", *runs, by=(APPROVER,)))


def drafted(line: Line) -> str:
    return str(good(line("certificate", "draft", "C-1", "--json", by=(ANALYST,))).json["number"])


@pytest.mark.clause("P11 11.10(g)")
def test_one_person_reviews_approves_and_releases_by_exception_and_the_page_says_so(line: Line) -> None:
    excepted(line, "reviewer_is_approver", APPROVER)
    reviewed(line)
    number = drafted(line)
    good(line("certificate", "approve", number, by=(APPROVER,)))
    released = good(line("certificate", "release", number, "--json", by=(APPROVER,))).json
    checked = line("verify", released["file"], "--json")
    assert checked.json["certificates"][0]["word"] == "GENUINE"
    assert "by exception E-0001" in line("verify", released["file"], "-v").out
    (row,) = good(line("exception", "list", "--json", by=(REVIEWER,))).json["exceptions"]
    assert (row["state"], row["person"], row["instead"]) == ("in force", APPROVER, CHECK)
    assert line("verify", "--all").code == 0


@pytest.mark.refuses("P11 11.10(g)")
def test_without_one_the_reviewer_approves_nothing(line: Line) -> None:
    reviewed(line)
    stopped(line("certificate", "approve", drafted(line), by=(APPROVER,)), "duty.same-checker")


@pytest.mark.refuses("P11 11.10(g)")
def test_an_exception_the_draft_does_not_print_lets_nobody_through(line: Line) -> None:
    reviewed(line)
    number = drafted(line)
    excepted(line, "reviewer_is_approver", APPROVER)
    stopped(line("certificate", "approve", number, by=(APPROVER,)), "duty.same-checker")
    good(line("certificate", "discard", number, "--reason", "drafted before the exception", by=(ANALYST,)))
    good(line("certificate", "approve", drafted(line), by=(APPROVER,)))


@pytest.mark.refuses("P11 11.10(g)")
def test_an_exception_for_another_person_lets_nobody_through(line: Line) -> None:
    excepted(line, "reviewer_is_approver", SECOND_APPROVER)
    reviewed(line)
    stopped(line("certificate", "approve", drafted(line), by=(APPROVER,)), "duty.same-checker")


def test_an_administrator_who_measures_administers_with_a_second_person(line: Line) -> None:
    give = ("person", "role", ADMINISTRATOR, "--give", "analyst", "--reason", "two people")
    lend = ("person", "role", SECOND_APPROVER, "--give", "administrator", "--reason", "two people")
    stopped(line(*lend, by=(ADMINISTRATOR,)), "duty.administrator-content")
    for person in (SECOND_APPROVER, ADMINISTRATOR):
        excepted(line, "administrator_with_content_role", person)
    good(line(*lend, by=(ADMINISTRATOR,)))  # Sil alone is no analyst yet
    stopped(line(*give, by=(SECOND_APPROVER,)), "duty.second-person")
    good(line(*give, "--second", by=(SECOND_APPROVER, ADMINISTRATOR)))
    unlock = ("person", "unlock", ANALYST, "--reason", "she asked")
    stopped(line(*unlock, by=(ADMINISTRATOR,)), "duty.second-person")
    stopped(line(*unlock, "--second", by=(ADMINISTRATOR, ANALYST)), "act.role")
    good(line(*unlock, "--second", by=(ADMINISTRATOR, APPROVER)))
    new = ("person", "add", "flora.weir", "--name", "Flora Weir", "--role", "auditor", "--identity-check", "seen")
    second = line.secrets(APPROVER)
    word = "rain on a tin roof again"
    good(line(*new, "--second", by=(ADMINISTRATOR,), more=(word, *second)))
    assert line("verify", "--all").code == 0
