"""The uncertainty of a worked result: its contributions with their shares as bars, and how they make one number."""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal
from typing import TYPE_CHECKING, Final

from benchseal.compute.explain_layout import STEP, formula, prose, said, table
from benchseal.compute.explain_portion import Product
from benchseal.compute.run_budget_bracketing import sharing
from benchseal.records.quantities import unit_shown
from benchseal.records.results import BelowLimit, Quantified

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.compute.explain_around import Around
    from benchseal.records.method import Glassware
    from benchseal.records.quantities import PlainDecimal
    from benchseal.records.results import Contribution, WorkedPortion, WorkedResult

_IN: Final = STEP + STEP
BAR: Final = "#"  # one sign wide everywhere, and any terminal has it
LONGEST_BAR: Final = 30
VALIDATED: Final = "validated uncertainty"
# The one group whose degrees of freedom are those of the curve; what the others have no end of them.
ADDITIONS: Final = "additions line"  # each portion's own, with its own degrees of freedom
BRACKETING: Final = "between two standards"  # with the degrees of freedom of the bracket standards' readings
# With the degrees of freedom of the scatter of each.
DRIFT_STANDARDS, DRIFT_BLANKS = "drift correction, check standards", "drift correction, check blanks"
REGRESSION: Final = ("reading noise", "calibration curve", "method blank, reading noise", "one-standard correction")
STATED: Final = frozenset(
    {
        *("standard lot", "standard lot and its dilution", "glassware", "dilution", "volume", "area", "weighing"),
        *("moisture", "mean unit mass", "recovery"),
    }
)


def budget_lines(of: Around, result: WorkedResult) -> Iterator[str]:
    """The section of the uncertainty; nothing for a result without one."""
    if not result.contributions:
        return
    unit = unit_shown(result.unit)
    at = "at the quantification limit" if isinstance(result.outcome, BelowLimit) else "of the value"
    yield ""
    yield from prose(f"Uncertainty {at}: standard uncertainties in {unit}, and their shares of the variance")
    yield from table([_row(one) for one in result.contributions], _IN, right=frozenset({2}))
    yield from _plan(of)
    if result.contributions[0].name == VALIDATED:
        yield from _validated(of, result)
    if any(one.name == ADDITIONS for one in result.contributions):
        yield from _additions(of, result)
    if any(one.name == BRACKETING for one in result.contributions):
        yield from _bracketed(of, result)
    if isinstance(result.outcome, Quantified):
        yield from _combined(of, result, result.outcome)


def bar(share_percent: PlainDecimal) -> str:
    """A bar of at most ``LONGEST_BAR`` signs for 100 percent, to the nearest sign."""
    signs = Decimal(share_percent) * LONGEST_BAR / 100
    return BAR * int(signs.quantize(Decimal(1), rounding=ROUND_HALF_UP))


def _row(one: Contribution) -> tuple[str, str, str, str]:
    share = Decimal(one.share_percent).quantize(Decimal("0.1"), rounding=ROUND_HALF_UP)
    return one.name, one.u, f"{share or '<0.1'} %", bar(one.share_percent)


def _plan(of: Around) -> Iterator[str]:
    plan = of.method.uncertainty
    if plan.s0 and plan.s1_percent:
        words = f"found by validation: s0 {plan.s0} {of.unit} in the solution, s1 {plan.s1_percent} % of the value"
    else:
        stated = (
            ("weighing", plan.mass_g, " g"),
            ("balance linearity", plan.balance_linearity_g, " g"),
            ("volume", plan.volume_percent, " %"),
            ("dilution step", plan.dilution_step_percent, " %"),
            ("area", plan.area_percent, " %"),
            ("recovery", plan.recovery_percent, " %"),
        )
        parts = [f"{name} {text}{unit}" for name, text, unit in stated if text and Decimal(text)]
        parts += [f"{_piece(one)} ± {one.tolerance_ml} mL" for one in plan.glassware]
        words = f"stated by the method: {', '.join(parts)}" if parts else ""
    if words:
        yield from prose(words, _IN)
    yield from said("source", plan.source, _IN)


def _piece(one: Glassware) -> str:
    """``flask 100 A``, also where the name holds the kind already."""
    return one.name if one.kind in one.name.lower().split() else f"{one.kind} {one.name}"


def _validated(of: Around, result: WorkedResult) -> Iterator[str]:
    """The mean over portions of sqrt((s0 carried to the sample)^2 + (s1 size)^2), as ``run_budget`` takes it."""
    used = [one for one in result.portions if not one.why]
    each = [_validated_part(of, result, one) for one in used]
    mean = each[0] if len(each) == 1 else f"({' + '.join(each)}) / {len(each)}"
    what = "quantification limit" if isinstance(result.outcome, BelowLimit) else "value"
    yield from prose(f"of each portion √((s0 carried to the sample)² + (s1 x its {what})²), then the mean", _IN)
    yield from formula(VALIDATED, mean, f"{result.contributions[0].u} {unit_shown(result.unit)}", indent=_IN)


def _validated_part(of: Around, result: WorkedResult, one: WorkedPortion) -> str:
    plan = of.method.uncertainty
    size = one.quantification_limit if isinstance(result.outcome, BelowLimit) else one.value.removeprefix("-")
    constant = Product(of, result, one).numbers(plan.s0)
    return f"√(({constant})² + ({plan.s1_percent}/100 x {size})²)"


def _additions(of: Around, result: WorkedResult) -> Iterator[str]:
    """The portions' own lines together: u of each solution carried to the sample, in squares, over their number."""
    u = next(one.u for one in result.contributions if one.name == ADDITIONS)
    parts = [part for part, _ in _own_lines(of, result)]
    puts = f"√({' + '.join(f'({part})²' for part in parts)})"
    yield from formula(ADDITIONS, puts, f"{u} {unit_shown(result.unit)}", indent=_IN)


def _own_lines(of: Around, result: WorkedResult) -> list[tuple[str, int]]:
    """Of each portion with its own line, what it puts into the mean, in numbers, and its degrees of freedom."""
    used = [one for one in result.portions if not one.why]
    share = f" / {len(used)}" if len(used) > 1 else ""
    return [
        (f"{Product(of, result, one).numbers(one.u_solution)}{share}", one.series[0].df) for one in used if one.series
    ]


def _bracketed(of: Around, result: WorkedResult) -> Iterator[str]:
    """Portions read between two standards: of each its own readings, and of those that share standards their sum."""
    used = [one for one in result.portions if not one.why]
    read = [(one, one.bracket[0]) for one in used if one.bracket]
    share = f" / {len(used)}" if len(used) > 1 else ""

    def carried(place: int, text: PlainDecimal) -> str:
        return f"{Product(of, result, read[place][0]).numbers(text)}{share}"

    squares = [f"({carried(place, bracket.u_from_sample)})²" for place, (_, bracket) in enumerate(read)]
    for together in sharing([bracket for _, bracket in read]):
        common = " + ".join(carried(place, read[place][1].u_from_standards) for place in together)
        squares.append(f"({common})²")
    u = next(one.u for one in result.contributions if one.name == BRACKETING)
    yield from formula(BRACKETING, f"√({' + '.join(squares)})", f"{u} {unit_shown(result.unit)}", indent=_IN)
    words = (
        "the samples' readings in squares; what standards put in is common to the portions that share readings of them"
    )
    yield from prose(words, _IN + STEP)


def _between(result: WorkedResult) -> list[tuple[str, int]]:
    """The term of portions read between two standards, and its degrees of freedom."""
    df = next((one.bracket[0].df for one in result.portions if one.bracket), 0)
    return [(one.u, df) for one in result.contributions if one.name == BRACKETING]


def _drift(result: WorkedResult) -> list[tuple[str, int]]:
    """The terms of the checks by which signals were corrected for drift, and their degrees of freedom."""
    step = next((one.drift[0] for one in result.portions if one.drift and not one.why), None)
    if step is None:
        return []
    degrees = {DRIFT_STANDARDS: step.df_standard, DRIFT_BLANKS: step.df_blank}
    return [(one.u, degrees[one.name]) for one in result.contributions if one.name in degrees]


def _combined(of: Around, result: WorkedResult, outcome: Quantified) -> Iterator[str]:
    unit = unit_shown(result.unit)
    squares = " + ".join(f"{one.u}²" for one in result.contributions)
    yield from formula("u", f"√({squares})", f"{outcome.u} {unit}", indent=_IN)
    yield from _degrees(of, result, outcome)
    yield from formula("k", outcome.k, indent=_IN)
    yield from prose("the coverage factor the method states, whatever the degrees of freedom", _IN + STEP)
    up = f"{outcome.expanded_text} {unit}, rounded up"
    yield from formula("U", "k u", f"{outcome.k} x {outcome.u} {unit}", up, indent=_IN)


def _degrees(of: Around, result: WorkedResult, outcome: Quantified) -> Iterator[str]:
    if not outcome.df:
        yield from prose("nothing limits the degrees of freedom", _IN)
        return
    group = [one for one in result.contributions if one.name in REGRESSION]
    others = {one.name for one in result.contributions} - {
        *(*REGRESSION, ADDITIONS, BRACKETING, DRIFT_STANDARDS, DRIFT_BLANKS)
    }
    lines = [*_own_lines(of, result), *_between(result), *_drift(result)]
    degrees = of.work.calibration.df
    name, words = "effective degrees of freedom", f"{outcome.df}, cut downwards"
    if others <= STATED:
        numbers = " + ".join(f"{one.u}²" for one in group)
        parts = [f"({numbers})² / {degrees}"] if group else []
        parts += [f"({part})⁴ / {df}" for part, df in lines]
        members = [f"{outcome.u}⁴ / ({' + '.join(parts)})", words]
        if not lines:
            letters = " + ".join(f"{one.name}²" for one in group)
            members.insert(0, f"u⁴ / (({letters})² / {degrees})")
        yield from formula(name, *members, indent=_IN)
    else:
        yield from prose(f"{name} {words}", _IN)
    curve = f"readings and curve are one group with the {degrees} degrees of freedom of the curve; " if group else ""
    own = "each line of additions has its own; " if any(one.name == ADDITIONS for one in result.contributions) else ""
    own += "what was read between two standards has those of the standards' readings; " if _between(result) else ""
    own += "what corrects for drift has those of the checks' readings; " if _drift(result) else ""
    scatter = "the scatter of several blanks has its own; " if others - STATED else ""
    yield from prose(
        f"by Welch and Satterthwaite (JCGM 100, G.4): {curve}{own}{scatter}what is stated is taken as known",
        _IN + STEP,
    )
