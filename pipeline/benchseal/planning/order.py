"""The order in which a method's solutions are read, so that a run measured so has every check its rules ask for.

Calibration, second source, check pair, lowest level; method blank, controls and references; then sample by sample,
with a check pair before a bracket grows too long and one at the end. A rinse comes after the standards and before each
sample (where: common practice, no source).
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from decimal import Decimal
from itertools import groupby
from typing import TYPE_CHECKING

from benchseal.planning.wanted import SHORT, families, rules_of, shares
from benchseal.records.plan import PlannedSolution
from benchseal.records.run import PRESENTED_KINDS

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from benchseal.planning.portions import Foreseen
    from benchseal.planning.wanted import Family
    from benchseal.records.method import CheckKind, Method
    from benchseal.records.preparation import Portion
    from benchseal.records.quantities import PlainDecimal
    from benchseal.records.run import SolutionKind

DILUTION_TEST = "5"  # times: EPA 7000B and 7010, 9.8.2
_ASKED: dict[str, tuple[CheckKind, ...]] = {
    "method_blank": ("method_blank",),
    "control_sample": ("control_sample",),
    "reference_material": ("reference_material",),
    "duplicate": ("portions_agree",),
    "spiked_sample": ("spike", "spikes_agree"),
    "post_spiked_sample": ("post_spike",),
}


@dataclass(slots=True)
class _Row:
    """What was put in order so far. since: presented solutions since the last check of each family.

    mark: begins the labels of checks and rinses, of which no other run has one.
    """

    method: Method
    mark: str
    found: list[PlannedSolution] = field(default_factory=list)
    since: dict[Family, int] = field(default_factory=dict)
    times: dict[SolutionKind, int] = field(default_factory=dict)

    def put(self, kind: SolutionKind, label: str, concentration: PlainDecimal, rules: tuple[str, ...] = ()) -> None:
        """One of the laboratory's own solutions, under its whole label."""
        self._add(PlannedSolution(0, kind, label, "", "", concentration, "1", "", "", rules))

    def present(self, portion: Portion, rules: tuple[str, ...], dilution: PlainDecimal = "1") -> None:
        """A portion, after the checks that are due before it."""
        self.check(lambda family: bool(family.every) and self.since[family] >= family.every)
        blank = "0" if portion.kind == "method_blank" else ""
        kind: SolutionKind = portion.kind
        self._add(
            PlannedSolution(0, kind, portion.portion, portion.batch, portion.sample, blank, dilution, "", "", rules)
        )

    def check(self, due: Callable[[Family], bool]) -> None:
        """Every check solution of a pair, where one of them is ``due``: they belong together (standard, then blank)."""
        pair = [family for family in self.since if family.every or family.closes]
        if any(due(family) for family in pair):
            for family in pair:
                self.read(family)

    def read(self, family: Family) -> None:
        """One check solution; its bracket begins anew."""
        nth = self.times[family.kind] = self.times.get(family.kind, 0) + 1
        self.since[family] = 0
        self.put(family.kind, f"{self.mark}-{SHORT[family.kind]}-{nth}", family.concentration, family.rules)

    def _add(self, one: PlannedSolution) -> None:
        self.found.append(replace(one, position=len(self.found) + 1))
        if one.kind in PRESENTED_KINDS:
            self.since = {family: count + 1 for family, count in self.since.items()}


def solutions_of(method: Method, foreseen: Sequence[Foreseen], mark: str) -> tuple[PlannedSolution, ...]:
    """Every solution of one method in order. foreseen: portions it measures, in the order they are read.

    mark: of the plan and run. Standards have the labels the method gives them, since a file must name them so.
    """
    row = _Row(method, mark)
    for standard in method.standards:
        zero = not Decimal(standard.concentration)
        row.put("calibration_blank" if zero else "standard", standard.label, standard.concentration)
    rinse = rules_of(method, "return_to_zero")
    if rinse:
        row.put("rinse", f"{mark}-RINSE", "0", rinse)
    for family in families(method):
        row.read(family)
    lowest = [rule for rule in method.checks if rule.check == "lowest_level"]
    if lowest:
        level = lowest[0].expected or method.lowest_level
        row.put("lowest_level", f"{mark}-LL", level, tuple(rule.id for rule in lowest))
    _portions(row, [one.portion for one in foreseen], rinse)
    row.check(lambda family: family.closes and row.since[family] > 0)
    return tuple(row.found)


def _portions(row: _Row, portions: Sequence[Portion], rinse: tuple[str, ...]) -> None:
    samples = list(dict.fromkeys(one.sample for one in portions if one.sample))
    diluted = [samples[place] for place in shares(row.method, "dilution_test", len(samples))]
    for sample, own in groupby(portions, key=lambda one: one.sample):
        if sample and rinse:
            row.put("rinse", f"{row.mark}-RINSE", "0", rinse)
        for portion in own:
            row.present(portion, rules_of(row.method, *_ASKED.get(portion.kind, ())))
            if portion.kind == "sample" and sample in diluted:
                row.present(portion, rules_of(row.method, "dilution_test"), DILUTION_TEST)
