"""A correction for drift in a worked calculation: every check pair, then each corrected reading, numbers put in.

B1 and S1 are the blank and the net check standard of the first pair, B2 and S2 of the second, and so on; B and S are
those at a sample, f its share of the way between two pairs, Ac its corrected reading.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from benchseal.compute.explain_layout import STEP, counted, formula, heading, prose, put, said, spans
from benchseal.compute.run_curve import points_of
from benchseal.compute.run_drift import drift_of, time_of
from benchseal.compute.run_numbers import mean_text, ratio_text
from benchseal.compute.run_signals import signals_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from benchseal.compute.explain_around import Around
    from benchseal.compute.run_drift import Drifted, Pair, Side, Step
    from benchseal.records.quantities import PlainDecimal
    from benchseal.records.results import DriftStep, WorkedPortion

_IN: Final = STEP + STEP


def pair_lines(of: Around) -> Iterator[str]:
    """The section of the check pairs; nothing where the method does not correct for drift."""
    found = _drifted(of)
    if found is None:
        return
    yield from heading("Check pairs, by which readings are corrected for drift")
    if not found.pairs:
        yield from prose("No check standard was read together with a check blank after the calibration.")
    for number, pair in enumerate(found.pairs, start=1):
        yield from _pair(of, found, number, pair)
    if found.steps:
        yield from _scatter(of, found)
    limit = of.method.drift.largest_percent
    yield from prose(f"Limit: a pair around a sample has drifted by at most {limit} % from the first pair")
    yield from said("source of the correction for drift", of.method.drift.source, _IN)


def drift_lines(of: Around, one: WorkedPortion, step: DriftStep) -> Iterator[str]:
    """Below a portion's readings: where it stands between its pairs, and the corrected reading."""
    found, unit = _drifted(of), of.work.calibration.signal_unit
    if found is None:  # a record that says so of a method that does not
        return
    own = found.steps[of.run.document.solutions.position.index(one.position)]
    first, last = own.before + 1, own.after + 1
    where = f"between pair {first} (positions {spans(step.before)}) and pair {last} (positions {spans(step.after)})"
    yield from prose(f"corrected for drift {where}; f: share of the way, by {step.along}", _IN)
    yield from formula("f", _way(of, found, own, one.position), step.at, indent=_IN)
    ends = [(ratio_text(pair.blank.mean), ratio_text(pair.span)) for pair in _pair_of(found, own)]
    (b1, s1), (b2, s2) = ends
    yield from formula("B", _letters("B", first, last), _between(b1, b2, step.at), f"{step.blank} {unit}", indent=_IN)
    yield from formula("S", _letters("S", first, last), _between(s1, s2, step.at), f"{step.span} {unit}", indent=_IN)
    yield from formula("F", "S1 / S", f"{step.first_span} / {step.span}", step.factor, indent=_IN)
    net = f"({put(one.mean_signal)} - {put(step.blank)})"
    numbers = f"{put(step.first_blank)} + {net} x {step.factor}"
    yield from formula("Ac", "B1 + (A - B) F", numbers, f"{step.corrected} {unit}", indent=_IN)
    share = ratio_text(own.net_share)
    yield from formula("r", "(A - B) / S", f"{net} / {step.span}", share, indent=_IN)
    parts = [_weighed(own, step, [side(pair) for pair in found.pairs]) for side in (_standard, _blank)]
    numbers = f"√(({put(share)} x {step.sd_standard})² x ({parts[0]}) + "
    numbers += f"((1 - {put(share)}) x {step.sd_blank})² x ({parts[1]}))"
    yield from formula("u(Ac)", numbers, f"{step.u_corrected} {unit}", indent=_IN)
    yield from prose("what the readings of the checks add to the uncertainty of Ac", _IN + STEP)


def _drifted(of: Around) -> Drifted | None:
    read = signals_of(of.run)
    return drift_of(of.run, {}, read, points_of(of.run, read))


def _pair(of: Around, found: Drifted, number: int, pair: Pair) -> Iterator[str]:
    unit = of.work.calibration.signal_unit
    yield from prose(f"Pair {number}, positions {spans(pair.positions)}{', the first one' if number == 1 else ''}")
    yield from _solutions(of, pair.standard, "check standard")
    yield from _solutions(of, pair.blank, "check blank")
    blank, span = ratio_text(pair.blank.mean), ratio_text(pair.span)
    yield from formula(f"B{number}", _mean(of, pair.blank), f"{blank} {unit}", indent=_IN)
    standard = _mean(of, pair.standard)
    yield from formula(f"S{number}", f"{standard} - {put(blank)}", f"{span} {unit}", indent=_IN)
    first = found.pairs[0].span
    if number > 1 and first > 0:
        numbers = f"100 x ({put(span)} - {ratio_text(first)}) / {ratio_text(first)}"
        yield from formula("drift", numbers, f"{ratio_text(100 * (pair.span - first) / first)} %", indent=_IN)


def _solutions(of: Around, side: Side, kind: str) -> Iterator[str]:
    """Each solution as it was read; its mean where several are averaged."""
    columns, signals, unit = of.run.document.solutions, signals_of(of.run), of.work.calibration.signal_unit
    for place in side.places:
        lines, texts = signals.lines[place], signals.texts[place]
        where = f"{'line' if len(set(lines)) == 1 else 'lines'} {spans(lines)} of {of.file}" if lines else of.file
        words = f"{kind} {columns.label[place]}, position {columns.position[place]}, {where}"
        yield from prose(f"{words}: readings {', '.join(texts)} {unit}", _IN)
        if len(side.places) > 1:
            yield from formula("mean reading", _sum(texts), f"{mean_text(texts)} {unit}", indent=_IN)


def _mean(of: Around, side: Side) -> str:
    """In numbers: of the readings of one solution, or of the means of several."""
    texts = signals_of(of.run).texts
    if len(side.places) == 1:
        return _sum(texts[side.places[0]])
    return _sum([mean_text(texts[place]) for place in side.places])


def _sum(texts: Sequence[PlainDecimal]) -> str:
    return f"({' + '.join(put(text) for text in texts)}) / {len(texts)}"


def _scatter(of: Around, found: Drifted) -> Iterator[str]:
    """Scatter of one reading about the mean of its solution, pooled over the pairs."""
    step = next((one.drift[0] for one in of.portions if one.drift), None)
    if step is None:
        return
    texts, unit = signals_of(of.run).texts, of.work.calibration.signal_unit
    yield from prose("s of one reading about the mean of its solution, pooled: of check standards, of check blanks")
    for name, side, sd, df in (
        ("s standards", _standard, step.sd_standard, step.df_standard),
        ("s blanks", _blank, step.sd_blank, step.df_blank),
    ):
        own = [texts[place] for pair in found.pairs for place in side(pair).places]
        squares = " + ".join(f"({put(text)} - {put(mean_text(one))})²" for one in own for text in one)
        yield from formula(name, f"√(({squares}) / {df})", f"{sd} {unit}", indent=_IN)
        yield from prose(f"{counted(len(own), 'solution')}, {counted(df, 'degree')} of freedom", _IN + STEP)


def _way(of: Around, found: Drifted, own: Step, position: int) -> str:
    """Share of the way in numbers: positions, or seconds since the pair before."""
    before, after = _pair_of(found, own)
    if own.along == "position":
        start, end = (_mean_position(pair) for pair in (before, after))
        return f"({position} - {start}) / ({end} - {start})"
    now = time_of(of.run, (of.run.document.solutions.position.index(position),))
    if now is None or before.at_time is None or after.at_time is None:
        raise AssertionError("a share by time has times")
    since, whole = (ratio_text(one - before.at_time) for one in (now, after.at_time))
    return f"{since} / {whole}"


def _mean_position(pair: Pair) -> str:
    return f"({' + '.join(map(str, pair.positions))}) / {len(pair.positions)}"


def _letters(letter: str, first: int, last: int) -> str:
    return f"{letter}{first} + ({letter}{last} - {letter}{first}) f"


def _between(start: PlainDecimal, end: PlainDecimal, at: PlainDecimal) -> str:
    return f"{put(start)} + ({put(end)} - {put(start)}) x {at}"


def _weighed(own: Step, step: DriftStep, sides: Sequence[Side]) -> str:
    """Sum over pairs of w² and the share of one reading's variance in the pair's mean, in numbers."""
    weights = {own.before: f"({step.factor} x (1 - {step.at}))²", own.after: f"({step.factor} x {step.at})²"}
    weights[0] = "1" if own.before else f"(1 - {step.factor} x (1 - {step.at}))²"
    return " + ".join(f"{weights[at]} x {_share(sides[at])}" for at in sorted(weights))


def _share(side: Side) -> str:
    parts = [f"1/({len(side.values) ** 2} x {len(own)})" for own in side.values]
    return parts[0] if len(parts) == 1 else f"({' + '.join(parts)})"


def _pair_of(found: Drifted, own: Step) -> tuple[Pair, Pair]:
    return found.pairs[own.before], found.pairs[own.after]


def _standard(pair: Pair) -> Side:
    return pair.standard


def _blank(pair: Pair) -> Side:
    return pair.blank
