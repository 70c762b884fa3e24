"""What a further result is: planned only where every word of a signed plan fits, else unplanned, with its reason."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchseal.review.cycles import INVESTIGATION
from benchseal.review.repeats import Measured, Planned, classify, moment

PLAN = Planned("1", "retest", "S-00001", "p-ben", "2026-03-02T10:00:00.500Z", 2, 0)
FITS = Measured("S-00001", "p-ben", "2026-03-02T10:00:01Z")


@pytest.mark.parametrize(
    ("state", "plan", "measured", "kind", "says"),
    [
        ("retest planned", PLAN, FITS, "retest", ""),
        ("retest planned", replace(PLAN, done=1), FITS, "retest", ""),
        ("retest planned", replace(PLAN, done=2), FITS, "unplanned", "fixed 2; this is number 3"),
        ("retest planned", PLAN, replace(FITS, measured_at="2026-03-02T10:00:00Z"), "unplanned", "before the retest"),
        ("retest planned", PLAN, replace(FITS, analyst="p-ana"), "unplanned", "p-ana measured it"),
        ("retest planned", PLAN, replace(FITS, analyst=""), "unplanned", "the record does not name"),
        ("retest planned", PLAN, replace(FITS, sample="S-00002"), "unplanned", "not S-00002"),
        ("retest planned", replace(PLAN, kind="resample"), FITS, "resample", ""),
        ("retest planned", replace(PLAN, kind="hypothesis"), FITS, "unplanned", "no plan allows it"),
        ("phase 2", PLAN, FITS, "unplanned", "no plan allows it"),
        ("evaluation", PLAN, FITS, "unplanned", "no plan allows it"),
        ("closed", PLAN, FITS, "unplanned", "no plan allows it"),
        ("phase 1", replace(PLAN, kind="hypothesis"), FITS, "hypothesis", ""),
        ("phase 1", replace(PLAN, kind="hypothesis", analyst=""), replace(FITS, analyst=""), "hypothesis", ""),
        ("repeat planned", replace(PLAN, kind="repeat"), FITS, "repeat", ""),
        ("repeat planned", PLAN, FITS, "unplanned", "no plan allows it"),
    ],
)
def test_each_word_of_a_plan_counts(state: str, plan: Planned, measured: Measured, kind: str, says: str) -> None:
    found = classify(state, [plan], measured)
    assert found.kind == kind
    assert (found.plan == "1") == (kind != "unplanned")
    assert says in found.why
    assert bool(found.why) == (kind == "unplanned")


def test_of_two_plans_for_one_sample_the_later_counts() -> None:
    later = replace(PLAN, number="2", analyst="p-cleo", signed_at="2026-03-03T10:00:00.000Z")
    assert classify("retest planned", [PLAN, later], FITS).kind == "unplanned"
    on_time = Measured("S-00001", "p-cleo", "2026-03-03T11:00:00Z")
    assert classify("retest planned", [PLAN, later], on_time).plan == "2"


TIMES = st.integers(min_value=0, max_value=59).map(lambda second: f"2026-03-02T10:00:{second:02d}Z")
PLANS = st.builds(
    Planned,
    st.just("1"),
    st.sampled_from(["hypothesis", "retest", "resample", "repeat"]),
    st.sampled_from(["S-1", "S-2"]),
    st.sampled_from(["", "p-a", "p-b"]),
    TIMES,
    st.integers(1, 3),
    st.integers(0, 4),
)


@given(
    st.sampled_from(sorted(INVESTIGATION.states)),
    st.lists(PLANS, max_size=3),
    st.builds(Measured, st.sampled_from(["S-1", "S-2", "S-3"]), st.sampled_from(["", "p-a", "p-b"]), TIMES),
)
@pytest.mark.refuses("OOS IV.B")
def test_no_plan_is_ever_stretched(state: str, plans: list[Planned], measured: Measured) -> None:
    numbered = [replace(plan, number=str(nth)) for nth, plan in enumerate(plans, start=1)]
    found = classify(state, numbered, measured)
    if found.kind == "unplanned":
        assert found.why
        return
    plan = numbered[int(found.plan) - 1]
    assert (plan.kind, plan.sample) == (found.kind, measured.sample)
    assert plan.analyst in {"", measured.analyst}
    assert plan.done < plan.readings
    assert moment(measured.measured_at) >= moment(plan.signed_at)
    assert state in {"open", "phase 1", "repeat planned", "retest planned"}


@pytest.mark.parametrize(
    ("earlier", "later"),
    [
        ("2026-03-02T10:00:00Z", "2026-03-02T10:00:00.500Z"),
        ("2026-03-02T10:00:00.050Z", "2026-03-02T10:00:00.500Z"),
        ("2026-03-02T10:00:00.999Z", "2026-03-02T10:00:01Z"),
    ],
)
def test_times_compare_to_the_millisecond(earlier: str, later: str) -> None:
    assert moment(earlier) < moment(later)
