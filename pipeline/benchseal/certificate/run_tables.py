"""Tables of a run's report: readings, curve, results, what gives none. Each from the record, nothing calculated.

Numbers of the record are printed with all their digits where a reviewer may calculate with them.
"""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal
from typing import TYPE_CHECKING, Final

from benchseal.certificate import wording
from benchseal.certificate.figures_run import FLAGS, left_out_because
from benchseal.certificate.language import signal_unit
from benchseal.certificate.run_report import Column, Facts, Table
from benchseal.records.quantities import unit_shown
from benchseal.records.results import BelowLimit, NotReportable, Quantified

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from benchseal.records.corrections import RunCorrections
    from benchseal.records.results import Calibration, Outcome, RunWork, WorkedResult
    from benchseal.records.run import Run, RunDocument

LEVELS: Final = "Standards on the curve"
COEFFICIENTS: Final = "Coefficients of the curve, with their covariance"
READINGS: Final = "Raw readings, as the file has them"
RESULTS: Final = "Results"
SHARES: Final = "Contributions to the uncertainty of each result"
VOIDED: Final = "Positions that give no result"
_TENTH: Final = Decimal("0.1")
ORIGINS: Final = "What the results were made from"


def conditions(run: Run, named: str) -> Facts:
    """What the run was measured with: the file's facts, the method's settings. named: element and wavelength."""
    facts, method = run.document.facts, run.method
    stated = method.conditions
    injection = stated.injection_ul or facts.injection_ul
    rows = (
        ("measured", named),
        ("technique", wording.TECHNIQUES[facts.technique]),
        (
            "signal",
            f"{facts.signal_is.replace('_', ' ')}, {signal_unit(facts.signal_unit)}; {stated.signal_form}".rstrip("; "),
        ),
        ("slit", f"{method.slit_nm} nm"),
        ("background correction", facts.background_correction),
        ("flame", ", ".join(filter(None, (stated.flame.replace("_", " "), stated.stoichiometry, stated.burner)))),
        ("injection", f"{injection} µL" if injection else ""),
        ("modifier", stated.modifier),
        ("reductant, pre-reduction", ", ".join(filter(None, (stated.reductant, stated.pre_reduction)))),
        ("additions", ", ".join(filter(None, (stated.releasing_agent, stated.ionisation_buffer)))),
        ("acid of the standards", f"{stated.acid}{f', {stated.acid_percent} %' if stated.acid_percent else ''}"),
        ("instrument", f"{run.instrument}, serial number {facts.instrument_serial}"),
        ("operator in the file", facts.operator),
        ("file", f"{run.document.source_name}, {run.document.source_bytes} bytes, from line {facts.line}"),
        ("standard lots", ", ".join(run.standard_lots)),
        *(("operating condition", text) for text in method.operating_conditions),
    )
    return Facts(tuple((label, text) for label, text in rows if text))


def readings_table(run: Run, as_read: RunDocument, corrections: RunCorrections, held: Mapping[int, str]) -> Table:
    """One row a reading. as_read: before anything was put right. held: position to what the solution was."""
    readings, solutions = run.document.readings, run.document.solutions
    timed, background = any(readings.taken_at), any(readings.background)
    columns = [
        Column("position", 7, figures=True),
        Column("label", 13),
        Column("solution", 20 if timed or background else 30),
        Column("dilution", 7, figures=True),
        Column("line", 6, figures=True),
        Column("reading", 7, figures=True),
        Column("as read", 11, figures=True),
        *((Column("background", 11, figures=True),) if background else ()),
        *((Column("read at", 9),) if timed else ()),
    ]
    columns.append(Column("flag, why", 100 - sum(column.share for column in columns)))
    rows = []
    for place, position in enumerate(solutions.position):
        first, count = solutions.first_reading[place], solutions.reading_count[place]
        why = left_out_because(position, corrections)
        for row in range(first, first + count):
            begins = row == first
            rows.append(
                (
                    str(position) if begins else "",
                    _label(as_read, run.document, place) if begins else "",
                    held.get(position, "") if begins else "",
                    solutions.dilution[place] if begins and solutions.dilution[place] not in {"", "1"} else "",
                    str(readings.line[row]),
                    str(readings.replicate[row]),
                    readings.as_read[row],
                    *((readings.background[row],) if background else ()),
                    *((readings.taken_at[row].partition("T")[2],) if timed else ()),
                    _flag(readings.flag[row], why),
                )
            )
    return Table(READINGS, tuple(columns), tuple(rows))


def _label(as_read: RunDocument, document: RunDocument, place: int) -> str:
    """The label in force, and what the file said where that was put right."""
    now, then = document.solutions.label[place], as_read.solutions.label[place]
    return now if now == then else f"{now} (file: {then})"


def _flag(flag: str, why: str) -> str:
    return ": ".join(filter(None, (FLAGS.get(flag, flag), why if flag == "excluded" else "")))


def levels_table(found: Calibration) -> Table:
    """Every standard on the curve, with residual and error."""
    unit, signal = unit_shown(found.unit), signal_unit(found.signal_unit)
    at = f"position in {found.stored[0].run}" if found.stored else "position"
    columns = (
        Column("standard", 13),
        Column(at, 9, figures=True),
        Column(f"c, {unit}", 9, figures=True),
        Column(f"mean reading, {signal}", 17, figures=True),
        Column(f"on the curve, {signal}", 17, figures=True),
        Column(f"residual, {signal}", 18, figures=True),
        Column(f"read back, {unit}", 9, figures=True),
        Column("error, %", 8, figures=True),
    )
    rows = (
        (
            level.label,
            str(level.position),
            level.concentration,
            wording.printed(level.mean_signal),
            wording.printed(level.fitted_signal),
            wording.printed(level.residual),
            wording.short(level.back_calculated, 5) if level.back_calculated else "",
            wording.short(level.error_percent, 4) if level.error_percent else "",
        )
        for level in found.levels
    )
    return Table(LEVELS, columns, tuple(rows))


def coefficients_table(found: Calibration) -> Table:
    """b0, b1 and b2 with standard errors; covariance row by row."""
    names = ("b1",) if len(found.coefficients) == 1 else ("b0", "b1", "b2")[: len(found.coefficients)]
    share = 54.0 / max(1, len(names))
    columns = (
        Column("coefficient", 10),
        Column("value", 18, figures=True),
        Column("standard error", 18, figures=True),
        *(Column(f"covariance with {name}", share, figures=True) for name in names),
    )
    rows = tuple(
        (name, wording.printed(value), error or "not defined", *(wording.printed(text) for text in row))
        for name, value, error, row in zip(
            names, found.coefficients, found.standard_errors, found.covariance, strict=True
        )
    )
    return Table(COEFFICIENTS, columns, rows)


def results_table(results: Sequence[WorkedResult], lots: Mapping[str, str]) -> Table:
    """Value, U, limits and verdict of each result."""
    columns = (
        Column("sample, lot", 15),
        Column("quantity", 16),
        Column("result ± U", 26),
        Column("limit", 13),
        Column("acceptance limit", 10, figures=True),
        Column("rule and verdict", 20),
    )
    return Table(RESULTS, columns, tuple(_result(one, lots) for one in results))


def _result(one: WorkedResult, lots: Mapping[str, str]) -> tuple[str, ...]:
    verdict = wording.VERDICTS[one.verdict][0]
    if isinstance(one.outcome, NotReportable):
        verdict = f"{verdict} ({one.outcome.code})"
    probability = f"; conforms with probability {one.probability}" if one.probability else ""
    comment = f"; to be commented on: {one.comment_required}" if one.comment_required else ""
    accepted = [
        wording.short(moved, 4)
        for moved, limit in ((one.acceptance_lower, one.lower), (one.acceptance_upper, one.upper))
        if moved and moved != limit
    ]
    rule = wording.RULES[one.rule] if one.lower or one.upper else ""
    return (
        ", ".join(filter(None, (one.sample, lots.get(one.sample, "")))),
        f"{one.quantity.replace('_', ' ')}, {one.basis}{f', as {one.expressed_as}' if one.expressed_as else ''}",
        outcome_words(one.outcome, one.unit),
        wording.interval(one.lower, one.upper, one.unit),
        " to ".join(accepted),
        f"{rule}: {verdict}{probability}{comment}".lstrip(": "),
    )


def outcome_words(outcome: Outcome, unit: str) -> str:
    """``0.067 ± 0.020 µg/g (k = 2, 17 degrees of freedom)``, ``< 0.050 µg/g``, or why there is none."""
    match outcome:
        case Quantified():
            degrees = f", {outcome.df} degrees of freedom" if outcome.df else ""
            tail = f"{unit_shown(unit)} (k = {outcome.k}{degrees})"
            return f"{wording.printed(outcome.value_text)} ± {outcome.expanded_text} {tail}"
        case BelowLimit():
            return f"{wording.printed(outcome.value_text)} {unit_shown(unit)}"
        case NotReportable():
            return f"no result: {outcome.why}"


def origins_table(work: RunWork, lots: Mapping[str, str]) -> Table:
    """Every portion behind every result: lines of the file, mean, concentration, content, or why it is not used."""
    unit = unit_shown(work.calibration.unit)
    columns = (
        Column("sample, lot", 15),
        Column("portion", 13),
        Column("position", 8, figures=True),
        Column("lines", 10),
        Column("mean reading", 15, figures=True),
        Column(f"c, {unit}", 15, figures=True),
        Column("value or why not", 24),
    )
    rows = (
        (
            ", ".join(filter(None, (result.sample, lots.get(result.sample, "")))),
            f"{portion.portion}, {portion.batch}",
            ", ".join(map(str, portion.positions)),
            ranges(portion.lines),
            wording.printed(portion.mean_signal),
            wording.printed(portion.solution_value),
            portion.why or f"{wording.printed(portion.value)} {unit_shown(result.unit)}",
        )
        for result in work.results
        for portion in result.portions
    )
    return Table(ORIGINS, columns, tuple(rows))


def shares_table(results: Sequence[WorkedResult], lots: Mapping[str, str]) -> Table:
    """Every contribution of every result that has an uncertainty."""
    columns = (
        Column("sample, lot", 20),
        Column("quantity", 22),
        Column("contribution", 26),
        Column("u", 20, figures=True),
        Column("share, %", 12, figures=True),
    )
    return Table(SHARES, columns, tuple(_shares(results, lots)))


def _shares(results: Sequence[WorkedResult], lots: Mapping[str, str]) -> Iterator[tuple[str, ...]]:
    for result in results:
        for nth, one in enumerate(result.contributions):
            yield (
                ", ".join(filter(None, (result.sample, lots.get(result.sample, "")))) if not nth else "",
                f"{result.quantity.replace('_', ' ')}, {unit_shown(result.unit)}" if not nth else "",
                one.name,
                one.u,
                _share(one.share_percent),
            )


def _share(percent: str) -> str:
    """As the pictures and worked calculations have it: to a tenth of a percent."""
    cut = Decimal(percent).quantize(_TENTH, rounding=ROUND_HALF_UP)
    return str(cut) if cut else "< 0.1"


def voided_table(work: RunWork) -> Table | None:
    """Positions without a result, those with one reason together; None where every one gives one."""
    by_why: dict[tuple[str, str], list[int]] = {}
    for one in work.voided:
        by_why.setdefault((one.code, one.why), []).append(one.position)
    if not by_why:
        return None
    columns = (Column("positions", 24), Column("reason", 18), Column("why", 58))
    return Table(VOIDED, columns, tuple((ranges(places), code, why) for (code, why), places in by_why.items()))


def ranges(places: Sequence[int]) -> str:
    """``4 to 6, 9``: every number once, neighbours run together."""
    runs: list[list[int]] = []
    for place in sorted(set(places)):
        if runs and place == runs[-1][-1] + 1:
            runs[-1].append(place)
        else:
            runs.append([place])
    return ", ".join(str(own[0]) if len(own) == 1 else f"{own[0]} to {own[-1]}" for own in runs)
