"""Training facts on a day."""

from __future__ import annotations

import pytest

from benchseal.review.training import TrainingFact, trained, trainers

METHOD = "method/lead-furnace@2"
FACT = TrainingFact("T-00001", "p-ana.keel", METHOD, "2026-03-02", "2027-03-01", may_train=False, withdrawn_on="")


@pytest.mark.parametrize(
    ("day", "holds"),
    [("2026-03-01", False), ("2026-03-02", True), ("2027-03-01", True), ("2027-03-02", False)],
)
def test_a_fact_counts_from_its_first_to_its_last_day(day: str, *, holds: bool) -> None:
    assert trained([FACT], "p-ana.keel", METHOD, day) is holds


@pytest.mark.refuses("P11 11.10(i)")
@pytest.mark.parametrize(
    ("person", "subject"),
    [
        pytest.param("p-ben.marsh", METHOD, id="of another person"),
        pytest.param("p-ana.keel", "method/lead-furnace@1", id="of another version"),
        pytest.param("p-ana.keel", "method/lead-furnace@22", id="of a version that begins alike"),
        pytest.param("p-ana.keel", "role/reviewer", id="of another subject"),
    ],
)
def test_a_fact_is_of_one_person_and_one_subject(person: str, subject: str) -> None:
    assert not trained([FACT], person, subject, "2026-06-01")


def test_a_withdrawn_fact_counts_until_the_day_before() -> None:
    gone = TrainingFact("T-00002", "p-ana.keel", METHOD, "2026-03-02", "2027-03-01", True, "2026-06-10")
    assert trained([gone], "p-ana.keel", METHOD, "2026-06-09")
    assert not trained([gone], "p-ana.keel", METHOD, "2026-06-10")
    assert trainers([gone], METHOD, "2026-06-09") == {"p-ana.keel"}
    assert trainers([gone, FACT], METHOD, "2026-06-10") == frozenset()
