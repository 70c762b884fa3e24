"""One result drawn again through its whole model, input by input as ``run_budget.py`` counts them.

r = mean of (c D - blank) K, with what is common to portions drawn once: the curve, the standards' lot and dilutions, a
piece of glassware, a percentage of volumes, of a step, of the area, the balance's linearity, moisture, unit mass and
recovery. A stated standard uncertainty is drawn as normal, a tolerance of glassware as triangular, a range of
temperature and the linearity of a balance as rectangular (JCGM 101, 6.4, from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf, sqrt
from typing import TYPE_CHECKING, Literal, TypeAlias

import numpy as np

from benchseal.compute.monte_carlo import Uncertain
from benchseal.compute.redraw_solutions import Batch, concentrations
from benchseal.compute.run_budget import BY_MASS, BY_UNIT, Share
from benchseal.compute.run_ware import flask_for, pieces_for

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.random import Generator

    from benchseal.compute.arrays import Array
    from benchseal.compute.run_portions import Blank
    from benchseal.compute.run_work import Worked
    from benchseal.records.method import Glassware, UncertaintyPlan
    from benchseal.records.preparation import DilutionStep
    from benchseal.records.quantities import PlainDecimal
    from benchseal.records.specification import Requirement

NotCovered: TypeAlias = Literal["validated", "corrected_twice", "blank_by_additions", "no_portions"]
_EXPANSION_PER_KELVIN = 2.1e-4  # of water, as ``budget.u_of_volume`` takes it


@dataclass(frozen=True, slots=True, eq=False)
class Redraw:
    """The model of one result: the portions that count, and what they were made from."""

    worked: Worked
    requirement: Requirement
    shares: tuple[Share, ...]

    @property
    def plan(self) -> UncertaintyPlan:
        """What the method states of uncertainty."""
        return self.worked.chosen.method.uncertainty

    @property
    def not_covered(self) -> NotCovered | None:
        """Why this result has no model here; None where it has one."""
        if not self.shares:
            return "no_portions"
        if self.plan.s0 and self.plan.s1_percent:
            return "validated"
        if self.worked.stored is not None and self.worked.drifted is not None:
            return "corrected_twice"
        blank = self.shares[0].net.blank
        if blank is not None and any(not one.on_curve for one in blank.readings):
            return "blank_by_additions"
        return None

    @property
    def least_df(self) -> float:
        """Fewest degrees of freedom of any scatter drawn."""
        return min(self._degrees(), default=inf)

    def _degrees(self) -> Iterator[float]:
        solved, blank = self.worked.chosen.solved, self.shares[0].net.blank
        read = [share.net.measured for share in self.shares]
        if blank is not None or any(one.on_curve for one in read):
            yield solved.df
        yield from (one.series.df for one in read if one.series is not None)
        yield from (one.bracket.df for one in read if one.bracket is not None)
        if blank is not None and len(blank.readings) > 1:
            yield len(blank.readings) - 1
        if solved.drift is not None:
            yield from (df for df in (solved.drift.df_standards, solved.drift.df_blanks) if df)

    def values(self, n: int, source: Generator) -> Array:
        """``n`` draws of the result in its unit; NaN where a draw has none."""
        batch = Batch(n, source)
        total: Array = np.zeros(n)
        for share in self.shares:
            total = total + self._net(share, batch) * self._factor(share, batch)
        recovery = self._percent("recovery", self.plan.recovery_percent, batch)
        by_area = self.requirement.quantity == "release_per_area"
        area = self._percent("area", self.plan.area_percent, batch) if by_area else np.ones(n)
        sound = (recovery > 0) & (area > 0)
        common = self._standards(batch) / np.where(sound, recovery * area, np.nan)
        return total / len(self.shares) * common

    def _net(self, share: Share, batch: Batch) -> Array:
        """Before dilution, blank taken off. Where the blank was diluted alike, a step acts on the difference."""
        net = share.net
        gross = concentrations(self.worked, net.measured, batch) * float(net.dilution)
        steps = self._steps(share, batch)
        if net.blank is None:
            return gross * steps
        blank = self._blank(net.blank, batch)
        if self.worked.chosen.method.blank_subtraction == "undiluted":
            return gross * steps - blank
        return (gross - blank) * steps

    def _blank(self, blank: Blank, batch: Batch) -> Array:
        """One blank with its own readings; of several the mean with its scatter, and each portion's own blank part."""
        if len(blank.readings) == 1:
            only = blank.readings[0]
            return batch.once("blank", lambda: concentrations(self.worked, only, batch) * blank.dilutions[0])
        count = len(blank.readings)
        values = [one.x * dilution for one, dilution in zip(blank.readings, blank.dilutions, strict=True)]
        s = sqrt(_total([(value - blank.value) ** 2 for value in values]) / (count - 1))
        scattered = batch.spread("blanks", count - 1)
        middle = batch.once("blank", lambda: self._blank_mean(blank, batch) + scattered * batch.normal(s / sqrt(count)))
        return middle + scattered * batch.normal(s)

    def _blank_mean(self, blank: Blank, batch: Batch) -> Array:
        total: Array = np.zeros(batch.n)
        for one, dilution in zip(blank.readings, blank.dilutions, strict=True):
            total = total + concentrations(self.worked, one, batch, with_readings=False) * dilution
        return total / len(blank.readings)

    def _steps(self, share: Share, batch: Batch) -> Array:
        """Deviation of a portion's dilution, near 1."""
        total: Array = np.ones(batch.n)
        for place, step in enumerate(share.net.portion.dilutions.get(self.worked.chosen.element, ())):
            total = total * self._step(place, step, batch)
        if share.net.measured.extra != 1:
            total = total * self._percent("step at the instrument", self.plan.dilution_step_percent, batch)
        return total

    def _step(self, place: int, step: DilutionStep, batch: Batch, of: str = "") -> Array:
        """final/aliquot against its nominal value. of: the same piece used for something else is one of its own."""
        pieces = pieces_for(self.plan, step)
        if not pieces:
            return self._percent(f"step {of}{place}", self.plan.dilution_step_percent, batch)
        pipette, flask = (self._piece(piece, batch, of) for piece in pieces)
        return flask / pipette

    def _factor(self, share: Share, batch: Batch) -> Array:
        """Factor of a portion to the result's unit, with volume, mass, moisture and unit mass drawn."""
        asked, portion = self.requirement, share.net.portion
        factor: Array = np.full(batch.n, share.factor)
        if asked.quantity != "concentration":
            flask = flask_for(self.plan, portion.volume_ml)
            factor = factor * (
                self._piece(flask[0], batch) if flask else self._percent("volume", self.plan.volume_percent, batch)
            )
        if asked.quantity in BY_MASS:
            factor = factor / self._mass(float(portion.mass_g), batch)
        if asked.basis == "dry":
            factor = factor / self._dry_part(portion.moisture_percent, portion.u_moisture_percent, batch)
        if asked.quantity in BY_UNIT:
            unit = batch.once("unit mass", batch.normal)
            factor = factor * (1.0 + unit * (float(portion.u_unit_mass_g or "0") / float(portion.unit_mass_g)))
        return factor

    def _mass(self, mass_g: float, batch: Batch) -> Array:
        """A weighing against its value: its own repeatability, and linearity at both ends, the balance's."""
        own = batch.normal(float(self.plan.mass_g or "0"))
        u = float(self.plan.balance_linearity_g or "0") / sqrt(3.0)
        at_ends = [batch.once(("linearity", end), lambda: _drawn(batch, u, "rectangular")) for end in (0, 1)]
        mass = (mass_g + own + at_ends[1] - at_ends[0]) / mass_g
        return np.where(mass > 0, mass, np.nan)

    def _dry_part(self, moisture: PlainDecimal, u: PlainDecimal, batch: Batch) -> Array:
        dry, u_percent = 100.0 - float(moisture or "0"), float(u or "0")
        left = 1.0 - batch.once("moisture", batch.normal) * (u_percent / dry)
        return np.where(left > 0, left, np.nan)

    def _standards(self, batch: Batch) -> Array:
        """How true the standards are: the lot, and the dilutions from it, whose pipettes raise what flasks lower."""
        chosen = self.worked.chosen
        total = self._percent("lot", chosen.bench.lots[chosen.run.standard_lots[0]].u_percent, batch)
        for place, step in enumerate(self.plan.standard_steps):
            total = total / self._step(place, step, batch, "of standards ")
        return total

    def _percent(self, name: str, percent: PlainDecimal, batch: Batch) -> Array:
        """A relative deviation, near 1, common to all that bears its name."""
        return 1.0 + batch.once(("percent", name), lambda: batch.normal(float(percent or "0") / 100.0))

    def _piece(self, piece: Glassware, batch: Batch, of: str = "") -> Array:
        """What a piece of glassware holds against its nominal volume: the same whenever it is used."""
        nominal, warm = float(piece.nominal_ml), float(self.plan.temperature_half_range_k or "0")

        def drawn() -> Array:
            held = _drawn(batch, float(piece.tolerance_ml) / nominal / sqrt(6.0), "triangular")
            held = held + batch.normal(float(piece.s_fill_ml) / nominal)
            return held + _drawn(batch, warm * _EXPANSION_PER_KELVIN / sqrt(3.0), "rectangular")

        return 1.0 + batch.once(("piece", of, piece.name), drawn)


def _drawn(batch: Batch, u: float, shape: Literal["rectangular", "triangular"]) -> Array:
    return Uncertain(0.0, u, shape).draws(batch.n, batch.source)


def _total(values: Sequence[float]) -> float:
    total = 0.0
    for value in values:
        total = total + value
    return total
