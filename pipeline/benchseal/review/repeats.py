"""What another result of a sample under investigation is: planned, and by which plan, or unplanned, and why.

A plan is signed before its first reading, names sample, analyst and number, and is never stretched (FDA guidance on
out-of-specification results, IV.B: the number of retests is fixed in advance and not adjusted to what they give).
Whatever fits no plan is kept, shown, and never reported.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from benchseal.records.investigation import PlanKind, ResultKind

# Which plans may be read by in which state of the investigation.
_IN_FORCE: Final[Mapping[str, frozenset[PlanKind]]] = {
    "open": frozenset({"hypothesis"}),
    "phase 1": frozenset({"hypothesis"}),
    "repeat planned": frozenset({"repeat"}),
    "retest planned": frozenset({"retest", "resample"}),
}


@dataclass(frozen=True, slots=True)
class Planned:
    """A signed plan. readings: how many it allows. done: how many of its results stand already."""

    number: str
    kind: PlanKind
    sample: str
    analyst: str
    signed_at: str
    readings: int
    done: int


@dataclass(frozen=True, slots=True)
class Measured:
    """A new result: of which sample, by whom (empty: not known), when its run began (UTC, corrected)."""

    sample: str
    analyst: str
    measured_at: str


@dataclass(frozen=True, slots=True)
class Classed:
    """What a result is. plan: number of the plan it belongs to, or empty; why: words, for an unplanned one."""

    kind: ResultKind
    plan: str
    why: str


def classify(state: str, plans: Sequence[Planned], measured: Measured) -> Classed:
    """What ``measured`` is to an investigation in ``state``; plans: those signed and not replaced, oldest first."""
    allowed = _IN_FORCE.get(state, frozenset())
    in_force = [plan for plan in plans if plan.kind in allowed]
    if not in_force:
        return Classed("unplanned", "", f"no plan allows it; the investigation is {state}")
    of_sample = [plan for plan in in_force if plan.sample == measured.sample]
    if not of_sample:
        return Classed("unplanned", "", f"{_kinds(in_force)} planned of {in_force[-1].sample}, not {measured.sample}")
    plan = of_sample[-1]
    objection = _objection(plan, measured)
    return Classed("unplanned", "", objection) if objection else Classed(plan.kind, plan.number, "")


def _objection(plan: Planned, measured: Measured) -> str:
    if moment(measured.measured_at) < moment(plan.signed_at):
        return f"its run began at {measured.measured_at}, before the {plan.kind} plan was signed at {plan.signed_at}"
    if plan.analyst and measured.analyst != plan.analyst:
        found = measured.analyst or "somebody the record does not name"
        return f"{found} measured it; the {plan.kind} plan names {plan.analyst}"
    if plan.done >= plan.readings:
        return f"the {plan.kind} plan fixed {plan.readings}; this is number {plan.done + 1}"
    return ""


def moment(at: str) -> str:
    """A time as it can be compared as text, to the millisecond; a whole second counts from its beginning."""
    plain = at.removesuffix("Z")
    whole, _, part = plain.partition(".")
    return f"{whole}.{part:0<3}"


def _kinds(plans: Sequence[Planned]) -> str:
    kinds = dict.fromkeys(plan.kind for plan in plans)
    return f"{' and '.join(kinds)} {'is' if len(kinds) == 1 else 'are'}"
