"""What stands around the results of one sample in one run, and is asked for while they are explained."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from benchseal.records.quantities import unit_shown

if TYPE_CHECKING:
    from benchseal.records.method import Method
    from benchseal.records.results import RunWork, WorkedPortion, WorkedResult
    from benchseal.records.run import Run
    from benchseal.records.specification import Requirement, Specification


@dataclass(frozen=True, slots=True)
class Around:
    """One sample in one run. number: of the run. work: made from ``run``. specification: the version judged by."""

    number: str
    run: Run
    work: RunWork
    specification: Specification
    sample: str
    lot: str

    @property
    def method(self) -> Method:
        """The method of the run."""
        return self.run.method

    @property
    def file(self) -> str:
        """The instrument file."""
        return self.run.document.source_name

    @property
    def unit(self) -> str:
        """Unit of every concentration in a solution, as people read it."""
        return unit_shown(self.work.calibration.unit)

    @property
    def results(self) -> tuple[WorkedResult, ...]:
        """The sample's results, in the order of the specification."""
        return tuple(one for one in self.work.results if one.sample == self.sample)

    @property
    def portions(self) -> tuple[WorkedPortion, ...]:
        """Every reading of the sample's portions and every portion not read: the same rows stand in each result."""
        return self.results[0].portions if self.results else ()

    def requirement(self, result: WorkedResult) -> Requirement:
        """The line of the specification that a result serves; StopIteration where the record holds none."""
        key = (result.element, result.quantity, result.basis, result.expressed_as)
        return next(
            one
            for one in self.specification.requirements
            if (one.element, one.quantity, one.basis, one.expressed_as) == key
        )
