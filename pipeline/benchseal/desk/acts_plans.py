"""Acts on run plans: as values, and who may do them."""

from __future__ import annotations

from dataclasses import dataclass

from benchseal.desk.act_row import ANALYST, ActRow, anyone


@dataclass(frozen=True, slots=True)
class MakePlan:
    """Make a run plan. methods: identifiers, in the order of their runs. data, source: the sheet of samples.

    batch: of the preparation, empty for the plan's own number. drawn_ml: by the instrument for one reading, or empty.
    """

    methods: tuple[str, ...]
    data: bytes
    source: str
    batch: str = ""
    drawn_ml: str = ""


@dataclass(frozen=True, slots=True)
class PrintLabels:
    """Print labels of a plan's tubes. tubes: labels, none named: all. reason: why, where one was printed before.

    form: identifier of a label form in force, or empty for the one of ``paper`` that comes with the program.
    """

    plan: str
    tubes: tuple[str, ...] = ()
    form: str = ""
    paper: str = "a4"
    reason: str = ""


PLANS: tuple[ActRow, ...] = (
    ActRow(
        MakePlan,
        "plan make",
        anyone(ANALYST),
        ("plan.made",),
        "plans:make_plan",
        "from methods and samples: what to prepare and in which order to measure it",
    ),
    ActRow(
        PrintLabels,
        "plan labels",
        anyone(ANALYST),
        ("plan.labels_printed",),
        "plan_labels:print_labels",
        "labels of a plan's tubes as PDF; printing one again needs a reason",
    ),
)
