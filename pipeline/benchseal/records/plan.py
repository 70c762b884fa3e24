"""A run plan: what is to be prepared and in which order it is to be measured, settled before measuring."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal, TypeAlias

from benchseal.records.method import Technique
from benchseal.records.preparation import DilutionStep, Portion
from benchseal.records.quantities import PlainDecimal
from benchseal.records.run import DocumentRef, SolutionKind

RowKind: TypeAlias = Literal["sample", "control_sample", "reference_material"]


@dataclass(frozen=True, slots=True)
class PlanRow:
    """One line of the sheet a plan is made from: a sample, or a control or reference material of the laboratory.

    sample: number of a sample, empty for the laboratory's own. portions: how many, each its own tube. spikes: spiked
    portions; empty: as the methods want. methods: which of the plan's methods, none named: all. volume_ml, dilutions,
    added_ug, expected_ug_per_g, u_expected_ug_per_g: as on the preparation sheet, where they are known beforehand;
    added_ug of a sample is what its spiked portions are to get.
    """

    sample: str
    volume_ml: PlainDecimal
    kind: RowKind = "sample"
    portions: PlainDecimal = "1"
    spikes: PlainDecimal = ""
    methods: tuple[str, ...] = ()
    dilutions: dict[str, tuple[DilutionStep, ...]] = field(default_factory=dict)
    added_ug: dict[str, PlainDecimal] = field(default_factory=dict)
    expected_ug_per_g: dict[str, PlainDecimal] = field(default_factory=dict)
    u_expected_ug_per_g: dict[str, PlainDecimal] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class PlannedSolution:
    """One solution at its place. label: of its tube and of the instrument's file.

    concentration: due in the solution measured, in the method's unit, empty where nobody knows it. dilution: extra, at
    the instrument. signal: expected, to three digits, empty where not_known says why. rules: of the method, for which
    it is read; none for calibration and samples.
    """

    position: int
    kind: SolutionKind
    label: str
    batch: str
    sample: str
    concentration: PlainDecimal
    dilution: PlainDecimal
    signal: PlainDecimal
    not_known: str
    rules: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PlannedRun:
    """One method's solutions in order. readings: of each solution. expected_from: the run whose curve says the signals.

    acid, acid_percent: of every solution. drawn_ml: for one reading, empty where nobody stated it. not_planned: what
    the method has rules for that this plan leaves out, and why.
    """

    method: DocumentRef
    title: str
    element: str
    technique: Technique
    solution_unit: str
    signal_unit: str
    readings: int
    acid: str
    acid_percent: PlainDecimal
    drawn_ml: PlainDecimal
    expected_from: str
    solutions: tuple[PlannedSolution, ...]
    not_planned: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class RunPlan:
    """The whole. reminders, cautions: words for people; local rules prevail.

    portions: rows of the preparation sheet as far as they are known before anything is weighed; their preparer and
    time are empty.
    """

    schema: Literal["run-plan/1"]
    plan: str
    batch: str
    runs: tuple[PlannedRun, ...]
    portions: tuple[Portion, ...]
    reminders: tuple[str, ...]
    cautions: tuple[str, ...]

    def run_of(self, method: str) -> PlannedRun | None:
        """The planned run of a method, by its identifier; None where the plan has none."""
        return next((run for run in self.runs if run.method.id == method), None)
