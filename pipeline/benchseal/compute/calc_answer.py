"""What a ``calc`` answer is made of: numbers in, JSON values and refusals out."""

from __future__ import annotations

from decimal import Context, Decimal
from fractions import Fraction
from math import isfinite
from typing import TYPE_CHECKING, Self, TypeAlias

if TYPE_CHECKING:
    from collections.abc import Iterable

    from benchseal.compute.fit import Fit

Json: TypeAlias = "bool | int | float | str | list[Json] | dict[str, Json] | None"

EXACT = Context(prec=420)  # sums of numbers of 64 characters between 1e-30 and 1e30 stay exact

_WORDS: dict[str, tuple[str, str]] = {
    "too_few": ("there are too few values", "Give more values."),
    "too_many": (
        "there are more values than the test has tabled limits for",
        "Use at most 10 values, or Grubbs' test.",
    ),
    "too_few_points": (
        "there are not more points than coefficients",
        "Measure more standards, or use a simpler model.",
    ),
    "not_finite": ("a value is not a finite number", "Correct the value."),
    "x_negative": (
        "a concentration is negative and the weighting divides by it",
        "Correct it, or change the weighting.",
    ),
    "weight_at_zero": (
        "the weighting divides by x and a point has x = 0",
        "Leave the blank level out, or use another weighting; the point is never dropped silently.",
    ),
    "level_readings_few": (
        "a level has a single reading, so its scatter is not known",
        "Read each level several times, better 5 than 2; or use a variance function.",
    ),
    "level_without_scatter": (
        "the readings of a level do not scatter, which would give it an infinite weight",
        "Give unrounded readings, or use a variance function.",
    ),
    "weight_not_positive": (
        "a weight is not above zero",
        "Give each point a weight above zero, or leave the point out.",
    ),
    "x_not_spread": ("there are fewer different x than coefficients", "Use standards at more levels."),
    "undetermined": ("the points do not determine the coefficients", "Spread the standards, or use a simpler model."),
    "not_fitted": ("the points could not be fitted", "See the refusal of the coefficients."),
    "not_rising": (
        "the curve does not rise over the whole range of the standards",
        "Reject this calibration; check the standards and their order.",
    ),
    "slope_not_significant": (
        "the slope is not distinguishable from zero at this confidence (g >= 1)",
        "Calibrate again with a wider range or less scatter.",
    ),
    "no_root": ("the curve never reaches this reading", "Dilute and read again, or check the reading."),
    "over_range": ("the sample lies above the highest standard", "Dilute and read again."),
    "below_lowest": (
        "the sample lies below the lowest standard",
        "Report it as below the lowest standard, or calibrate lower.",
    ),
    "no_weight": ("the weights are given and the sample has none", "Give the weight of one reading of the sample."),
    "no_reading": ("the reading is not a number", "Correct the reading."),
    "no_interval": ("the curve bends away before the interval ends", "Use standards closer to the sample."),
    "no_spread": ("the values do not scatter, so nothing can be judged by their scatter", "Give unrounded values."),
    "no_scatter": ("the fit leaves no scatter to compare with", "Give unrounded readings."),
    "zero_x": ("a percent error is not defined at x = 0", "Judge this point by its residual."),
    "zero_mean": ("a relative figure is not defined at mean zero", "Use the standard deviation."),
    "all_equal": ("all y are equal, so r squared is not defined", "Check the readings."),
    "no_blank_number": ("no blank gave a number", "Use the limit from the spiked samples; no blank limit applies."),
    "no_blanks": ("no blanks were given", "Give the results of method blanks."),
    "limit_above_standards": (
        "the limit lies above the highest standard, where nothing was measured",
        "Use standards that reach beyond the limit, or lower the scatter.",
    ),
    "no_quantification": ("no content reaches this relative uncertainty", "Lower the scatter, or ask less."),
    "alpha_not_tabled": (
        "the test has no critical value at this alpha",
        "Use 0.10, 0.05 or 0.01 two-sided, or half of them one-sided.",
    ),
    "u_missing": ("the standard uncertainty is missing", "Give u."),
    "u_zero": (
        "a probability is not defined for an uncertainty of zero",
        "Give the standard uncertainty of the value.",
    ),
    "unusable_specification": (
        "the guard bands leave nothing between the limits",
        "Use a measurement with a smaller uncertainty, or another decision rule.",
    ),
    "limit_above_upper": (
        "the reporting limit lies above the acceptance limit, so nothing can be stated",
        "Measure with a lower reporting limit.",
    ),
    "limit_above_lower": (
        "a result below a reporting limit cannot be tested against a lower limit",
        "Measure with a lower reporting limit; half the limit or zero is never put in its place.",
    ),
    "too_many_digits": ("the text would have more than 50 digits", "Ask for fewer digits."),
    "expanded_not_positive": (
        "the uncertainty is zero, so it names no place to round to",
        "Give u above zero, or decimals.",
    ),
    "df_below_one": ("the effective degrees of freedom are below one", "Give more readings for the largest term."),
    "zero_u": ("all contributions are zero", "Give the standard uncertainties."),
    "added_zero": ("nothing was added", "Give the added amount."),
    "mean_not_positive": ("the mean of the pair is not above zero", "Judge the pair by its absolute difference."),
    "positions_equal": ("the second check does not come after the first", "Give each pair in the order measured."),
    "no_sensitivity": ("the check standard does not read above the check blank", "Check both; nothing is corrected."),
    "not_bracketed": (
        "the sample does not lie between the checks",
        "Measure a check after it, or leave it uncorrected.",
    ),
    "too_few_blanks": ("there are fewer than 10 readings of blanks", "Read at least 10 blanks."),
    "no_blank_scatter": (
        "the blanks do not scatter: signals that were zeroed or clipped say nothing of the noise",
        "Read blanks without zeroing between them and with negative signals kept, or confirm a lowest level.",
    ),
    "too_few_levels": (
        "fewer than 3 levels have 2 readings or more",
        "Read at least 3 levels, each 2 times or more.",
    ),
    "no_scatter_at_zero": (
        "the readings at x = 0 do not scatter, so the constant part cannot be found",
        "Read the zero without zeroing or clipping, or leave the level out.",
    ),
    "addition_not_seen": (
        "the signal with the addition is not above the signal without it",
        "Check both; add about as much as the sample holds.",
    ),
    "outside_brackets": ("the reading lies outside those of the two standards", "Use a standard on each side of it."),
    "brackets_wide": ("a standard lies farther from the sample than the window", "Use standards closer to the sample."),
    "reference_outside": (
        "the standard lies outside the range of the stored curve",
        "Use a standard in the upper half of the range.",
    ),
    "factor_outside": ("the factor lies outside the window", "Calibrate again."),
    "no_signal": ("the net signal is not above zero", "Check the standard and the instrument."),
    "base_too_few": (
        "the base period has fewer than 10 values",
        "Collect at least 10 values before limits are drawn; 20 or more are recommended.",
    ),
    "base_too_long": ("the base period has more values than there are", "Give all values of the base period."),
    "rounds_to_zero": ("nothing is left of the limit at these decimals", "Ask for more decimals."),
    "formula_unfit": (
        "the formula gives no factor",
        "Write it with symbols, counts and round brackets, such as Pb(NO3)2, and name an element of it.",
    ),
    "nothing_to_dilute": ("the solution needs no dilution", "Read it as it is."),
    "no_dilution_plan": (
        "this ware brings the solution nowhere near the middle of the range in so many steps",
        "Allow two steps, add pipettes or flasks, or dilute in more steps.",
    ),
    "no_moment": (
        "with so few degrees of freedom the distribution has no such figure",
        "Use the interval, or measure more.",
    ),
    "draws_without_value": (
        "more than one draw in a thousand has no value: the curve need not rise, or a divisor need not be above zero",
        "Lower the uncertainties; such a result is not fit for use.",
    ),
    "too_few_draws": (
        "the ends of the interval are not known well enough to compare them",
        "Ask for more draws, up to 2000000.",
    ),
    "no_finite_value": (
        "the value leaves the range of numbers",
        "Use a unit in which the numbers are of ordinary size.",
    ),
}


def refused(word: str, detail: str = "") -> dict[str, Json]:
    """The refusal ``word`` of the table as it stands in the place of a value."""
    what, remedy = _WORDS[word]
    said = f"{what}: {detail}" if detail else what
    return {"refused": {"code": f"calc.{word.replace('_', '-')}", "what": said, "remedy": remedy}}


def all_refused(keys: Iterable[str], word: str, detail: str = "") -> dict[str, Json]:
    """Every key refused, and the answer itself as well."""
    refusal = refused(word, detail)
    return {**dict.fromkeys(keys, refusal), **refusal}


def counted(word: str, found: int, needed: int, of: str) -> str:
    """The detail of a refusal for too few, ``found 3, needed 7 values``; empty for a refusal of another kind."""
    return f"found {found}, needed {needed} {of}" if "too_few" in word else ""


def points_detail(of: Fit) -> str:
    """The detail of a refusal for too few points of a curve; empty where its fault is another one, or none."""
    return counted(of.faults[0] or "", of.n, len(of.powers) + 1, "points")


class Typed(float):
    """A JSON number that keeps its literal, since 0.30 as a limit has two places."""

    literal: str

    def __new__(cls, literal: str) -> Self:
        """Of the text of a JSON number."""
        made = super().__new__(cls, literal)
        made.literal = literal
        return made


def decimal(value: Json) -> Decimal:
    """Exact Decimal of a number of the request: text and typed literals keep their digits."""
    if isinstance(value, bool) or not isinstance(value, (int, float, str)):
        raise AssertionError("the schema lets only numbers through")  # noqa: TRY004  our bug
    return Decimal(literal_of(value) if isinstance(value, float) else value)


def literal_of(value: float) -> str:
    """The digits of a float: as typed, else the shortest that give it back."""
    return value.literal if isinstance(value, Typed) else repr(value)


def number(value: Json) -> float:
    """Nearest float of a number of the request."""
    return float(decimal(value))


def numbers(value: Json) -> list[float]:
    """Nearest floats of an array of numbers."""
    return [number(one) for one in items(value)]


def fraction(value: Json) -> Fraction:
    """Exact ratio of a number of the request."""
    return Fraction(decimal(value))


def fractions(value: Json) -> list[Fraction]:
    """Exact ratios of an array of numbers."""
    return [fraction(one) for one in items(value)]


def share(percent: Json) -> Fraction:
    """A percentage of the request as exact share of 1."""
    return fraction(percent) / 100


def items(value: Json) -> list[Json]:
    """An array of the request; an absent one is empty."""
    if value is None:
        return []
    if not isinstance(value, list):
        raise AssertionError("the schema lets only arrays through")  # noqa: TRY004  our bug
    return value


def shifted(values: list[Decimal]) -> tuple[Decimal, list[float]]:
    """The first value, and all values less it, subtracted exactly: no digit is lost to a large common part."""
    return values[0], [float(EXACT.subtract(value, values[0])) for value in values]


def clean(value: Json) -> Json:
    """``value`` with a refusal for each number that is not finite, and without negative zeros."""
    if isinstance(value, dict):
        return {key: clean(one) for key, one in value.items()}
    if isinstance(value, list):
        return [clean(one) for one in value]
    if isinstance(value, float):
        return float(value) + 0.0 if isfinite(value) else refused("no_finite_value")
    return value
