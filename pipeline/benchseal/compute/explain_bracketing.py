"""Portions read between two standards in a worked calculation: every standard read, its scatter, then each portion.

c1, A1 and u1 are of the standard below a sample, c2, A2 and u2 of the one above, uA of the sample's mean reading.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from benchseal.compute.explain_layout import STEP, counted, formula, heading, prose, put, said, spans
from benchseal.compute.run_bracketing import held_by, not_used
from benchseal.compute.run_numbers import mean_text
from benchseal.compute.run_signals import signals_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.compute.explain_around import Around
    from benchseal.compute.run_signals import Signals
    from benchseal.records.quantities import PlainDecimal
    from benchseal.records.results import Bracket, BracketStandard, WorkedPortion

_IN: Final = STEP + STEP


def standard_lines(of: Around) -> Iterator[str]:
    """The section of the bracket standards; nothing where the method does not read between standards."""
    plan = of.method.calibration
    if not plan.bracketing:
        return
    yield from heading("Standards read around the samples")
    used, signals = [], signals_of(of.run)
    for place, position in _places(of):
        name = not_used(of.run.document.solutions.label[place], position)
        why = next((text.removeprefix(name) for text in of.work.findings if text.startswith(name)), "")
        yield from _one(of, signals, place, why)
        if not why:
            used.append(place)
    yield from _scatter(of, signals, used)
    limits = f"a standard lies at most {plan.bracketing_window_percent} % of the value away from it"
    if plan.bracketing_change_percent:
        limits += f"; read before and after a sample it changes by at most {plan.bracketing_change_percent} %"
    yield from prose(f"Limits: {limits}")
    yield from said("source of the rules of bracketing", plan.bracketing_source, _IN)


def bracket_lines(of: Around, one: WorkedPortion, bracket: Bracket) -> Iterator[str]:
    """From the sample's mean reading, which stands above, to the concentration in the solution and its uncertainty."""
    unit = of.work.calibration.signal_unit
    for which, name, standard in (("below", "A1", bracket.low), ("above", "A2", bracket.high)):
        at = f"positions {spans(standard.positions)}"
        number = name[1:]
        yield from prose(
            f"c{number}, the standard {which}: {standard.label}, {standard.concentration} {of.unit}, {at}", _IN
        )
        yield from formula(name, _mean(of, one, standard), f"{standard.mean_signal} {unit}", indent=_IN)
    low, high, a = bracket.low, bracket.high, put(one.mean_signal)
    c1, c2, a1, a2 = low.concentration, high.concentration, put(low.mean_signal), put(high.mean_signal)
    numbers = f"{c1} + ({c2} - {c1}) x ({a} - {a1}) / ({a2} - {a1})"
    value = f"{one.solution_value} {of.unit}"
    yield from formula("c", "c1 + (c2 - c1) (A - A1) / (A2 - A1)", numbers, value, indent=_IN)
    yield from _uncertainty(of, one, bracket)


def _uncertainty(of: Around, one: WorkedPortion, bracket: Bracket) -> Iterator[str]:
    unit, low, high = of.work.calibration.signal_unit, bracket.low, bracket.high
    for name, standard in (("u1", low), ("u2", high)):
        numbers = f"{bracket.sd} x √({_shares(of, one, standard)})"
        yield from formula(name, numbers, f"{standard.u_signal} {unit}", indent=_IN)
    yield from formula("uA", f"{bracket.sd} / √({len(one.signals)})", f"{bracket.u_sample} {unit}", indent=_IN)
    c1, c2, a1, a2 = low.concentration, high.concentration, put(low.mean_signal), put(high.mean_signal)
    per_signal, a = f"({c2} - {c1}) / ({a2} - {a1})", put(one.mean_signal)
    numbers = f"{per_signal} x {bracket.u_sample}"
    own = f"{bracket.u_from_sample} {of.unit}"
    yield from formula("from the sample", "(c2 - c1) / (A2 - A1) x uA", numbers, own, indent=_IN)
    letters = "(c2 - c1) / (A2 - A1) x √(((A2 - A) / (A2 - A1) x u1)² + ((A - A1) / (A2 - A1) x u2)²)"
    first = f"(({a2} - {a}) / ({a2} - {a1}) x {low.u_signal})²"
    second = f"(({a} - {a1}) / ({a2} - {a1}) x {high.u_signal})²"
    numbers = f"{per_signal} x √({first} + {second})"
    common = f"{bracket.u_from_standards} {of.unit}"
    yield from formula("from the standards", letters, numbers, common, indent=_IN)
    both = f"√({bracket.u_from_sample}² + {bracket.u_from_standards}²)"
    yield from formula("u(c)", both, f"{one.u_solution} {of.unit}", indent=_IN)


def _places(of: Around) -> Iterator[tuple[int, int]]:
    """Index and position of each bracket standard of the run."""
    columns = of.run.document.solutions
    for place, (kind, position) in enumerate(zip(columns.kind, columns.position, strict=True)):
        if kind == "bracket_standard":
            yield place, position


def _one(of: Around, signals: Signals, place: int, why: str) -> Iterator[str]:
    """One standard as it was read, and its mean."""
    columns, unit = of.run.document.solutions, of.work.calibration.signal_unit
    held, lines = held_by(of.method, columns.label[place], columns.nominal[place]), signals.lines[place]
    where = f"{'line' if len(set(lines)) == 1 else 'lines'} {spans(lines)} of {of.file}" if lines else of.file
    words = f"{columns.label[place]}, {held} {of.unit}, position {columns.position[place]}, {where}"
    texts = signals.texts[place]
    yield from prose(f"{words}: readings {', '.join(texts)} {unit}" if texts else f"{words}: no number was read")
    if why:
        yield from prose(f"not used: {why}", _IN)
    else:
        total = " + ".join(put(text) for text in texts)
        yield from formula("mean reading", f"({total}) / {len(texts)}", f"{mean_text(texts)} {unit}", indent=_IN)


def _scatter(of: Around, signals: Signals, used: list[int]) -> Iterator[str]:
    """Scatter of one reading about the mean of its solution, pooled over the standards used."""
    found = next((one.bracket[0] for result in of.work.results for one in result.portions if one.bracket), None)
    if found is None:
        return
    squares = [
        f"({put(text)} - {put(mean_text(own))})²" for own in map(signals.texts.__getitem__, used) for text in own
    ]
    many = f"{counted(len(used), 'standard')} read, {counted(found.df, 'degree')} of freedom"
    yield from prose(f"s of one reading about the mean of its solution, pooled: {many}")
    value = f"{found.sd} {of.work.calibration.signal_unit}"
    yield from formula("s", f"√(({' + '.join(squares)}) / {found.df})", value)


def _ends(of: Around, one: WorkedPortion, standard: BracketStandard) -> Iterator[list[tuple[PlainDecimal, int]]]:
    """Means and numbers of readings of a standard's solutions before a portion, then of those after it."""
    signals, columns = signals_of(of.run), of.run.document.solutions
    for after in (False, True):
        places = [columns.position.index(at) for at in standard.positions if (at > one.position) is after]
        yield [(mean_text(signals.texts[place]), len(signals.texts[place])) for place in places]


def _mean(of: Around, one: WorkedPortion, standard: BracketStandard) -> str:
    """``(0.0901 + 0.0897) / 2``; of several on one side their mean."""
    ends = []
    for own in _ends(of, one, standard):
        total = " + ".join(put(mean) for mean, _ in own)
        ends.append(f"({total}) / {len(own)}" if len(own) > 1 else total)
    return f"({' + '.join(ends)}) / 2"


def _shares(of: Around, one: WorkedPortion, standard: BracketStandard) -> str:
    """Share of the variance of one reading that each solution brings into the mean of both ends."""
    return " + ".join(f"1/({(2 * len(own)) ** 2} x {count})" for own in _ends(of, one, standard) for _, count in own)
