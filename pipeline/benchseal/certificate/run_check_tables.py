"""The checks of a run's report: every verdict with its limit, every rule with what is formed and where it is from."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from benchseal.certificate import wording
from benchseal.certificate.run_report import Column, Table
from benchseal.certificate.run_tables import ranges
from benchseal.records.expected_units import expected_unit
from benchseal.records.quantities import unit_shown

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.records.method import CheckRule, Method
    from benchseal.records.results import CheckVerdict, Diagnostic, JudgedKind

CHECKS: Final = "Checks, as judged"
RULES: Final = "Rules of the checks"
STATISTICS: Final = "Statistics of the curve that judge nothing by themselves"
VERDICTS: Final = {"pass": "pass", "fail": "fails", "not_evaluated": "not evaluated"}
# What is formed of the readings; c is a concentration in the solution read. As in the manual, "Checks".
FORMULAS: Final[dict[JudgedKind, str]] = {
    "calibration": "of the fitted curve",
    "replicates": "100 s / mean of the readings of one solution",
    "second_source": "100 c / expected, or c",
    "check_standard": "100 c / expected, or c",
    "check_blank": "c; its size is judged",
    "method_blank": "c before extra dilution; its size is judged",
    "control_sample": "100 found / added",
    "reference_material": "100 found / certified; zeta (found - certified) / √(u² + u_cert²); E_n the same with U",
    "spike": "100 (found - native share) / added",
    "portions_agree": "100 (greatest - smallest) / mean; near the quantification limit in % of that limit",
    "lowest_level": "100 c / expected",
    "post_spike": "100 (found - native) / added",
    "spikes_agree": "100 (greatest - smallest) / mean of the spiked portions",
    "dilution_test": "100 diluted / original, each times its dilution",
    "return_to_zero": "c; its size is judged",
    "sensitivity": "100 x 0.0044 / b1 / usual characteristic concentration or mass",
    "acid_match": "100 acid of the portion / acid of the standards",
}
# Rules of the curve: each has a figure of its own.
_OF_THE_CURVE: Final = {
    "calibration.levels": "levels read without a loss",
    "calibration.error_lowest": "100 (read back - c) / c, lowest level",
    "calibration.error": "100 (read back - c) / c, the worst of the others",
    "calibration.r_squared": "r²",
    "calibration.rse": "relative standard error, %",
    "calibration.rising": "rises over the whole range",
    "calibration.through_zero": "b0 of the free line, against half its 95 % interval",
    "calibration.factor": "factor of the one-standard correction",
    "calibration.confirmed": "checks after the one-standard correction",
}


def checks_table(checks: Sequence[CheckVerdict], method: Method) -> Table:
    """Every verdict, in the order it was judged; why one is no pass stands beside it."""
    columns = (
        Column("rule", 18),
        Column("positions", 13),
        Column("expected", 11, figures=True),
        Column("found", 14, figures=True),
        Column("limit", 18),
        Column("verdict, why", 26),
    )
    return Table(CHECKS, columns, tuple(_verdict(one, method) for one in checks))


def _verdict(one: CheckVerdict, method: Method) -> tuple[str, ...]:
    unit = unit_shown(one.unit)
    expects = unit_shown(expected_unit(one.check, method.solution_unit, furnace=method.technique == "furnace"))
    found = f"{wording.short_against(one.found, one.low, one.high, digits=4)} {unit}".rstrip() if one.found else ""
    return (
        one.rule,
        ranges(one.positions),
        f"{wording.short(one.expected, 6)} {expects}" if one.expected else "",
        found,
        wording.interval(one.low, one.high, one.unit),
        ": ".join(filter(None, (VERDICTS[one.verdict], one.why))),
    )


def rules_table(checks: Sequence[CheckVerdict], method: Method) -> Table:
    """Each rule met in the run or asked for by the method: what is formed, when, and its source."""
    columns = (Column("rule", 18), Column("formed", 30), Column("asked for", 20), Column("source", 32))
    asked = {rule.id: rule for rule in method.checks}
    met = {one.rule: one for one in checks}
    rows = [
        (name, _OF_THE_CURVE.get(name) or FORMULAS[one.check], _when(asked.get(name)), one.source)
        for name, one in met.items()
    ]
    rows += [
        (rule.id, FORMULAS[rule.check], f"{_when(rule)}; nothing of it was judged".lstrip("; "), rule.source)
        for rule in method.checks
        if rule.id not in met
    ]
    return Table(RULES, columns, tuple(rows))


def _when(rule: CheckRule | None) -> str:
    if rule is None:
        return "in every run"
    parts = (
        {"any": "", "first": "the first one", "later": "the later ones"}[rule.when],
        f"at most {rule.every} solutions between two" if rule.every else "",
        "one closes the run" if rule.at_end else "",
        "brackets" if rule.brackets else "",
        "required" if rule.required else "where it was read",
        "" if rule.confirmed else "text of the source not read when entered",
    )
    return ", ".join(filter(None, parts))


def statistics_table(found: Sequence[Diagnostic]) -> Table | None:
    """Statistics about the form of the curve; None where there are none."""
    if not found:
        return None
    columns = (
        Column("statistic", 15),
        Column("value", 11, figures=True),
        Column("critical", 11, figures=True),
        Column("degrees of freedom", 11, figures=True),
        Column("what it says", 30),
        Column("source", 22),
    )
    rows = (
        (
            one.name.replace("_", " "),
            wording.short(one.statistic, 4) if one.statistic else "not defined",
            wording.short(one.critical, 4) if one.critical else "",
            f"{one.df1}, {one.df2}" if one.df1 else "",
            one.why,
            one.source,
        )
        for one in found
    )
    return Table(STATISTICS, columns, tuple(rows))
