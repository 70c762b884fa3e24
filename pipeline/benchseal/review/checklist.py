"""What the record itself says to each question of an investigation's checklist: facts, never an answer."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping, Sequence

    from benchseal.records.preparation import Portion
    from benchseal.records.registers import Instrument, StandardLot
    from benchseal.records.results import CheckVerdict, RunWork, WorkedPortion, WorkedResult
    from benchseal.records.run import Run

_BLANKS = frozenset({"check_blank", "method_blank", "return_to_zero"})
_CALIBRATION = frozenset({"calibration", "second_source", "lowest_level", "sensitivity"})


@dataclass(frozen=True, slots=True)
class Evidenced:
    """The original result with all it was made from, as it stood when the investigation was opened.

    analyst: who measured, or empty. facts: further lines by question, from registers (training, clock checks).
    """

    run: Run
    work: RunWork
    result: WorkedResult
    portions: Mapping[tuple[str, str], Portion]
    lots: Sequence[StandardLot]
    instrument: Instrument | None
    analyst: str
    facts: Mapping[str, tuple[str, ...]]


def prefilled(of: Evidenced) -> dict[str, tuple[str, ...]]:
    """Question to what is on record about it; a question the record says nothing about has no lines."""
    made = {name: tuple(lines(of)) for name, lines in _LINES.items()}
    return {name: (*made.get(name, ()), *of.facts.get(name, ())) for name in (*made, *of.facts)}


def _calibration(of: Evidenced) -> Iterator[str]:
    curve = of.work.calibration
    yield f"{curve.model}, {curve.n} points, {curve.lowest} to {curve.highest} {curve.unit}, RSE {curve.rse_percent} %"
    for lot in of.lots:
        purpose = lot.purpose.replace("_", " ")
        yield f"standard lot {lot.lot} ({purpose}): in use from {lot.in_use_from}, expires {lot.expires_on}"
    yield from _checks(of, _CALIBRATION)


def _others(of: Evidenced) -> Iterator[str]:
    yield from _checks(of, frozenset(check.check for check in of.work.checks) - _BLANKS - _CALIBRATION)


def _blanks(of: Evidenced) -> Iterator[str]:
    yield from _checks(of, _BLANKS)
    for portion in of.result.portions:
        before = _before(of, portion)
        if before:
            yield f"position {portion.position} ({portion.portion}) was read after {before}"
        if portion.blank_value:
            yield f"{portion.portion}: blank taken off {portion.blank_value}"


def _before(of: Evidenced, portion: WorkedPortion) -> str:
    """What was presented just before, with its signals: memory of a high one is a known error."""
    columns = of.run.document.solutions
    if portion.position not in columns.position:
        return ""
    place = columns.position.index(portion.position)
    if place == 0:
        return ""
    first, count = columns.first_reading[place - 1], columns.reading_count[place - 1]
    signals = of.run.document.readings.signal[first : first + count]
    kind = columns.kind[place - 1].replace("_", " ")
    return f"{columns.label[place - 1]} ({kind}): {' '.join(one or '-' for one in signals)}"


def _dilution(of: Evidenced) -> Iterator[str]:
    for portion in of.result.portions:
        steps = ", ".join(f"{step.aliquot_ml} to {step.final_ml} mL" for step in portion.steps) or "none"
        extra = "" if portion.extra_dilution == "1" else f", at the instrument {portion.extra_dilution}"
        whole = f"whole factor {portion.dilution}"
        yield f"{portion.portion}: made up to {portion.volume_ml} mL; steps {steps}{extra}; {whole}"


def _preparation(of: Evidenced) -> Iterator[str]:
    for portion in of.result.portions:
        entered = of.portions.get((portion.batch, portion.portion))
        by = f"; prepared by {entered.prepared_by} at {entered.prepared_at}" if entered is not None else ""
        amount = (
            f"{portion.mass_g} g" if portion.mass_g else f"{portion.area_dm2} dm2" if portion.area_dm2 else "liquid"
        )
        value = f"{portion.value} {of.result.unit}" if portion.value else portion.why
        yield f"{portion.portion} of batch {portion.batch}: {amount}{by}; gives {value}"


def _mix_up(of: Evidenced) -> Iterator[str]:
    for portion in of.result.portions:
        lines = ", ".join(map(str, portion.lines)) or "none"
        signals = " ".join(portion.signals) or "none"
        yield f"{portion.portion} at position {portion.position}, file lines {lines}, signals {signals}"


def _instrument(of: Evidenced) -> Iterator[str]:
    facts, known = of.run.document.facts, of.instrument
    since = f", in service from {known.in_service_from}, clock in {known.zone}" if known is not None else ""
    yield f"{of.run.instrument}, serial {facts.instrument_serial}{since}; run began {of.run.measured_at}"
    flagged = sum(bool(flag) for flag in of.run.document.readings.flag)
    yield f"{flagged} of {len(of.run.document.readings.flag)} readings are flagged over range or missing"
    for portion in of.result.portions:
        if portion.rsd_percent:
            yield f"{portion.portion}: readings agree within RSD {portion.rsd_percent} %"


def _procedure(of: Evidenced) -> Iterator[str]:
    method = of.run.method_ref
    yield f"method {method.id}, version {method.version}; measured by {of.analyst or 'somebody not on record'}"
    yield from of.work.findings


def _calculation(of: Evidenced) -> Iterator[str]:
    outcome = of.result.outcome
    if outcome.kind == "quantified":
        yield f"value of record {outcome.value}, u {outcome.u}, reported {outcome.value_text} ± {outcome.expanded_text}"
    yield f"calculation rules {of.result.calculation_rules}; judged by rule {of.result.rule}: {of.result.verdict}"


def _checks(of: Evidenced, kinds: frozenset[str]) -> Iterator[str]:
    for check in of.work.checks:
        if check.check in kinds and not check.made_on_sample:
            yield _check(check)


def _check(check: CheckVerdict) -> str:
    where = f" at {', '.join(map(str, check.positions))}" if check.positions else ""
    limits = f" ({check.low or '…'} to {check.high or '…'} {check.unit})" if check.low or check.high else ""
    found = f": {check.found}{limits}" if check.found else ""
    return f"{check.rule}{where}{found}: {check.verdict.replace('_', ' ')}"


_LINES: dict[str, Callable[[Evidenced], Iterator[str]]] = {
    "procedure": _procedure,
    "calibration": _calibration,
    "checks": _others,
    "blanks": _blanks,
    "dilution": _dilution,
    "preparation": _preparation,
    "mix-up": _mix_up,
    "instrument": _instrument,
    "calculation": _calculation,
}
