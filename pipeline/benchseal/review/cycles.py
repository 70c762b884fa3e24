"""Life cycles as one table type: ``(state, act) -> state``. What is not in a table does not happen.

A guard looks at who acted before and may refuse; states alone never let one person do both sides. Every pair
of state and act is property-tested.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias

from benchseal.problems import Refusal
from benchseal.review.duty import CHECKED_BY_ANOTHER, Situation

if TYPE_CHECKING:
    from collections.abc import Mapping

    from benchseal.review.duty import Guard

State: TypeAlias = str
Act: TypeAlias = str


@dataclass(frozen=True, slots=True)
class Cycle:
    """One life cycle. first: the state a new one has. guards: what else an act needs, by act."""

    name: str
    first: State
    moves: Mapping[tuple[State, Act], State]
    guards: Mapping[Act, tuple[Guard, ...]]

    @property
    def states(self) -> frozenset[State]:
        """Every state of the table."""
        return frozenset({self.first, *self.moves.values(), *(state for state, _ in self.moves)})

    @property
    def acts(self) -> frozenset[Act]:
        """Every act of the table."""
        return frozenset(act for _, act in self.moves)


def decide(cycle: Cycle, act: Act, situation: Situation, person: str) -> State | Refusal:
    """The state after ``person`` does ``act``, or why not."""
    after = cycle.moves.get((situation.state, act))
    if after is None:
        return Refusal(
            f"{cycle.name}.wrong-state",
            situation.subject,
            f"it is {situation.state}; '{act}' is for one that is {_or(_states_before(cycle, act))}.",
            "Look at its history with `benchseal ledger show`, then choose the act that fits.",
        )
    for guard in cycle.guards.get(act, ()):
        refusal = guard(situation, person)
        if refusal is not None:
            return refusal
    return after


def _states_before(cycle: Cycle, act: Act) -> list[State]:
    return sorted(state for state, known in cycle.moves if known == act)


def _or(words: list[str]) -> str:
    if not words:
        return "in another life cycle"
    return " or ".join(filter(None, (", ".join(words[:-1]), words[-1])))


RUN = Cycle(
    name="run",
    first="draft",
    moves={
        ("draft", "recalculate"): "draft",
        ("returned", "recalculate"): "returned",
        ("reopened", "recalculate"): "reopened",
        ("draft", "correct"): "draft",
        ("returned", "correct"): "returned",
        ("reopened", "correct"): "reopened",
        ("reviewed", "correct"): "reopened",
        ("draft", "submit"): "submitted",
        ("returned", "submit"): "submitted",
        ("reopened", "submit"): "submitted",
        ("submitted", "sign"): "submitted",
        ("submitted", "accept"): "reviewed",
        ("submitted", "return"): "returned",
        ("reviewed", "reopen"): "reopened",
        ("draft", "cancel"): "cancelled",
        ("returned", "cancel"): "cancelled",
        ("reopened", "cancel"): "cancelled",
    },
    guards={
        "accept": (CHECKED_BY_ANOTHER,),
        "return": (CHECKED_BY_ANOTHER,),
    },
)

CERTIFICATE = Cycle(
    name="certificate",
    first="draft",
    moves={
        ("draft", "approve"): "approved",
        ("draft", "discard"): "discarded",
        ("approved", "return"): "draft",
        ("approved", "release"): "sealing",
        ("sealing", "seal"): "released",
        ("sealing", "refuse"): "draft",  # by the program: its page would not pass
        ("draft", "touch"): "draft",
        ("approved", "touch"): "draft",
        ("sealing", "touch"): "sealing",
        ("released", "touch"): "released",
        ("released", "justify"): "released",
        ("released", "amend"): "released",
        ("withdrawn", "amend"): "withdrawn",
        ("released", "supplement"): "released",
        ("released", "supersede"): "superseded",
        ("released", "withdraw"): "withdrawn",
    },
    guards={
        "approve": (CHECKED_BY_ANOTHER,),
        "release": (CHECKED_BY_ANOTHER,),
        "justify": (CHECKED_BY_ANOTHER,),
    },
)

DOCUMENT = Cycle(
    name="document",
    first="draft",
    moves={
        ("draft", "approve"): "approved",
        ("draft", "approve for later"): "waiting",
        ("waiting", "begin"): "approved",
        ("approved", "review"): "approved",
        ("approved", "supersede"): "superseded",
        ("draft", "withdraw"): "withdrawn",
        ("waiting", "withdraw"): "withdrawn",
        ("approved", "withdraw"): "withdrawn",
    },
    guards={
        "approve": (CHECKED_BY_ANOTHER,),
        "approve for later": (CHECKED_BY_ANOTHER,),
        "review": (CHECKED_BY_ANOTHER,),
    },
)

_ASSESSED = (
    "answer",
    "answer outside",
    "plan hypothesis",
    "find cause",
    "refuse cause",
    "invalidate",
    "plan repeat",
    "find no cause",
    "plan retest",
    "plan resample",
    "evaluate",
    "close",
    "close invalidated",
    "extend",
)

# The laboratory phase, then either a documented error or the full investigation: FDA guidance on out-of-specification
# results, III to V; 21 CFR 211.192. A cause may be found late, but never while retests are half done.
INVESTIGATION = Cycle(
    name="investigation",
    first="open",
    moves={
        **{(state, "answer"): "phase 1" for state in ("open", "phase 1")},
        **{(state, "state"): "phase 1" for state in ("open", "phase 1")},
        **{(state, "plan hypothesis"): "phase 1" for state in ("open", "phase 1")},
        **{(state, "find cause"): "cause found" for state in ("phase 1", "phase 2", "evaluation")},
        ("cause found", "refuse cause"): "phase 1",
        ("cause found", "invalidate"): "invalidated",
        **{(state, "plan repeat"): "repeat planned" for state in ("invalidated", "repeat planned")},
        **{(state, "close invalidated"): "closed" for state in ("invalidated", "repeat planned")},
        ("phase 1", "find no cause"): "phase 2",
        **{(state, "answer outside"): state for state in ("phase 2", "retest planned", "evaluation")},
        **{(state, "plan retest"): "retest planned" for state in ("phase 2", "retest planned")},
        **{(state, "plan resample"): "retest planned" for state in ("phase 2", "retest planned")},
        **{(state, "evaluate"): "evaluation" for state in ("phase 2", "retest planned")},
        ("evaluation", "close"): "closed",
        **{
            (state, act): state
            for act in ("extend", "tell")
            for state in (
                "open",
                "phase 1",
                "cause found",
                "invalidated",
                "repeat planned",
                "phase 2",
                "retest planned",
                "evaluation",
            )
        },
    },
    guards=dict.fromkeys(_ASSESSED, (CHECKED_BY_ANOTHER,)),
)

# A result outside its limit that the customer is told of at once: nothing is held, and nothing else is asked for.
NOTICE = Cycle(name="notice", first="to tell", moves={("to tell", "tell"): "told"}, guards={})

# What the receiver says may be worse at first than later; once everything is taken it stays taken.
_ANSWERS = {"accept": "accepted", "accept in part": "partly accepted", "reject": "rejected"}
DELIVERY = Cycle(
    name="delivery",
    first="planned",
    moves={
        ("planned", "finish"): "done",
        ("planned", "move"): "planned",
        ("planned", "give up"): "given up",
        **dict.fromkeys([("planned", "note as arrived"), ("given up", "note as arrived")], "done"),
        **{
            (state, answer): then
            for state in ("done", "partly accepted", "rejected")
            for answer, then in _ANSWERS.items()
        },
    },
    guards={},
)

CYCLES = (RUN, CERTIFICATE, DOCUMENT, DELIVERY, INVESTIGATION, NOTICE)
