"""Life cycles: every pair of state and act, and separation of duty over the whole history."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchseal.problems import Refusal
from benchseal.review.cycles import CERTIFICATE, CYCLES, DELIVERY, DOCUMENT, RUN, Cycle, decide
from benchseal.review.duty import CONTRIBUTING, Situation

PEOPLE = ("p-ana", "p-ben", "p-cleo")


def situation(state: str, **known: dict[str, tuple[str, ...]]) -> Situation:
    return Situation("run R-00001", state, **known)


@pytest.mark.clause("P11 11.10(f)")
@pytest.mark.refuses("P11 11.10(f)")
@pytest.mark.parametrize("cycle", CYCLES, ids=lambda cycle: cycle.name)
def test_only_the_table_moves_a_state(cycle: Cycle) -> None:
    for state in cycle.states:
        for act in (*cycle.acts, "no such act"):
            decided = decide(cycle, act, situation(state), "p-ana")
            if (state, act) in cycle.moves:
                assert decided == cycle.moves[state, act]
            else:
                assert isinstance(decided, Refusal)
                assert decided.code == f"{cycle.name}.wrong-state"
                assert decided.remedy


@pytest.mark.parametrize("cycle", CYCLES, ids=lambda cycle: cycle.name)
def test_every_state_can_be_reached(cycle: Cycle) -> None:
    reached, open_ends = {cycle.first}, [cycle.first]
    while open_ends:
        state = open_ends.pop()
        new = {after for (before, _), after in cycle.moves.items() if before == state} - reached
        reached |= new
        open_ends += new
    assert reached == cycle.states


@pytest.mark.refuses("P11 11.10(f)")
@pytest.mark.parametrize(
    ("state", "act"),
    [
        pytest.param("cancelled", "submit", id="a cancelled run comes back"),
        pytest.param("draft", "accept", id="a draft is reviewed before it is submitted"),
        pytest.param("reviewed", "submit", id="a reviewed run is submitted again without being reopened"),
        pytest.param("reviewed", "cancel", id="a reviewed run is cancelled"),
        pytest.param("submitted", "recalculate", id="content changes while it is under review"),
    ],
)
def test_refused_run_moves(state: str, act: str) -> None:
    assert isinstance(decide(RUN, act, situation(state), "p-ana"), Refusal)


@pytest.mark.refuses("P11 11.10(f)", "17025 7.8.1.1")
@pytest.mark.parametrize(
    ("state", "act"),
    [
        pytest.param("draft", "release", id="released without approval"),
        pytest.param("released", "approve", id="approved after release"),
        pytest.param("released", "discard", id="a released certificate is discarded"),
        pytest.param("withdrawn", "release", id="a withdrawn certificate is released again"),
        pytest.param("sealing", "return", id="taken back after the release was signed"),
    ],
)
def test_refused_certificate_moves(state: str, act: str) -> None:
    assert isinstance(decide(CERTIFICATE, act, situation(state), "p-ana"), Refusal)


@pytest.mark.refuses("P211.194(a)(8)", "P11 11.10(g)")
@given(st.sampled_from(sorted(CONTRIBUTING)), st.sampled_from(["accept", "return"]), st.sampled_from(PEOPLE))
def test_whoever_contributed_never_reviews(deed: str, act: str, person: str) -> None:
    decided = decide(RUN, act, situation("submitted", contributors={person: (deed,)}), person)
    assert isinstance(decided, Refusal)
    assert decided.code == "duty.own-work"
    assert deed in decided.what


@pytest.mark.clause("P211.194(a)(8)")
@given(st.dictionaries(st.sampled_from(PEOPLE), st.just(("operate",))), st.sampled_from(PEOPLE))
def test_review_is_decided_by_the_history_alone(contributors: dict[str, tuple[str, ...]], person: str) -> None:
    decided = decide(RUN, "accept", situation("submitted", contributors=contributors), person)
    assert isinstance(decided, Refusal) == (person in contributors)


@pytest.mark.refuses("P11 11.10(g)")
def test_the_reviewer_does_not_approve() -> None:
    known = situation("draft", checkers={"p-ben": ("review",)})
    assert isinstance(decide(CERTIFICATE, "approve", known, "p-ben"), Refusal)
    assert decide(CERTIFICATE, "approve", known, "p-cleo") == "approved"


@pytest.mark.clause("P11 11.10(k)(2)")
@pytest.mark.refuses("P11 11.10(k)(2)", "A11 10")
def test_an_author_does_not_approve_their_document() -> None:
    known = situation("draft", contributors={"p-ana": ("author",)})
    assert isinstance(decide(DOCUMENT, "approve", known, "p-ana"), Refusal)
    assert decide(DOCUMENT, "approve", known, "p-ben") == "approved"


def test_a_state_that_does_not_fit_is_said_with_those_that_would() -> None:
    again = decide(DELIVERY, "accept in part", Situation("delivery D-1", "planned"), "p-x")
    assert isinstance(again, Refusal)
    assert again.what == "it is planned; 'accept in part' is for one that is done, partly accepted or rejected."
