"""The English for codes of the record, family by family, and of checks and pictures: part of ``words_en``."""

from __future__ import annotations

from typing import Final

from benchseal.records.elements import ELEMENT_NAMES

_CHECKS: Final = {
    "check/acid_match": "acid",
    "check/calibration": "calibration",
    "check/check_blank": "check blank",
    "check/check_standard": "check standard",
    "check/control_sample": "control sample",
    "check/dilution_test": "dilution test",
    "check/lowest_level": "lowest level",
    "check/method_blank": "method blank",
    "check/portions_agree": "portions differ",
    "check/post_spike": "spike in digest",
    "check/reference_material": "reference",
    "check/replicates": "scatter",
    "check/return_to_zero": "return to zero",
    "check/second_source": "second source",
    "check/sensitivity": "sensitivity",
    "check/spike": "spike recovery",
    "check/spikes_agree": "spikes differ",
    "check_near/portions_agree": "portions, of limit",
    "check_near/spikes_agree": "spikes, of limit",
    "check_order/first": "first {name}",
    "check_order/later": "later {name}",
    "check_score/e_n": "{name}, E_n",
    "check_score/zeta": "{name}, zeta",
    "checked/failed": "{found} ({failed} of {all})",
    "checked/met": "met",
    "checked/not_judged": "not judged",
    "checked/not_met": "not met",
    "checked/not_read": "not read",
    "checked/open": "{found}, {count} not judged",
    "checked/range": "{low} to {high}",
    "checked/sample_scatter": "scatter, sample",
}

# As budgets name their lines (compute/run_budget.py).
_COVERED: Final = (
    *("additions line", "area", "between two standards", "calibration curve", "dilution"),
    *("drift correction, check blanks", "drift correction, check standards", "glassware", "mean unit mass"),
    *("method blank, reading noise", "method blanks, scatter", "moisture", "one-standard correction"),
    *("reading noise", "recovery", "standard lot", "standard lot and its dilution"),
    *("volume", "weighing"),
)

_FAMILIES: Final = {
    "basis/as received": "as received",
    "basis/dry": "on dry basis",
    "basis_named/as received": "as received",
    "basis_named/dry": "dry",
    "bound/lower_bound": "lower bound",
    "bound/medium_bound": "medium bound",
    "bound/upper_bound": "upper bound",
    "bound_sentence/lower_bound": "values below the quantification limit counted as zero",
    "bound_sentence/medium_bound": "values below the quantification limit counted as half of it",
    "bound_sentence/upper_bound": "values below the quantification limit counted as that limit in full",
    **{f"covers/{name}": name for name in _COVERED},
    "covers/validated uncertainty": "what validation of the method found",
    "fraction/dissolved": "dissolved",
    "fraction/released": "released",
    "fraction/total": "total",
    "line/amount_per_unit": "amount per unit",
    "line/concentration": "concentration",
    "line/content": "content",
    "line/percent_of_claim": "of claim",
    "line/release_per_area": "release per area",
    "mark_named/DRAFT": "draft",
    "mark_named/PRELIMINARY": "preliminary",
    "model/line": "line",
    "model/line_through_zero": "line through zero",
    "model/quadratic": "parabola",
    "model_named/line": "a straight line",
    "model_named/line_through_zero": "a straight line through zero",
    "model_named/quadratic": "a parabola",
    "picture/absorbance": "absorbance",
    "picture/area": "integrated absorbance",
    "picture/concentration": "concentration",
    "picture/residual": "residual",
    "picture/sentence": (
        "Calibration of {subject}, {model}: {count} standards from {low} to {high} {unit}, {signal} from {least} to "
        "{most}; largest residual {residual} at {at} {unit}; no standard left out."
    ),
    "role/analyst": "analyst",
    "role/approver": "quality approver",
    "role/reviewer": "reviewer",
    "rule/beyond_doubt": "beyond doubt",
    "rule/guarded": "guarded",
    "rule/guarded_5": "guarded, 5 %",
    "rule/nonbinary": "four verdicts",
    "rule/pharma": "rounded",
    "rule/simple": "simple",
    "rule_sentence/beyond_doubt": (
        "a result does not comply only when it exceeds the limit by more than its expanded uncertainty U"
    ),
    "rule_sentence/guarded": (
        "guarded acceptance: a result complies when it keeps at least its expanded uncertainty U away from the limit"
    ),
    "rule_sentence/guarded_5": (
        "guarded acceptance: a result complies when it keeps at least {factor} standard uncertainties away from "
        "the limit, which keeps the risk of a wrong acceptance at or below 5 %"
    ),
    "rule_sentence/nonbinary": (
        "guard bands of U on both sides of the limit: a result within one complies, or does not comply, conditionally"
    ),
    "rule_sentence/pharma": (
        "the result is rounded once to the places of the limit as written and then compared with it; "
        "the uncertainty is stated but does not move the limit"
    ),
    "rule_sentence/simple": (
        "simple acceptance: the unrounded result is compared with the limit; "
        "the uncertainty is stated but does not move the limit"
    ),
    "technique/cold_vapour": "cold vapour",
    "technique/flame": "flame",
    "technique/furnace": "graphite furnace",
    "technique/hydride": "hydride",
    "unit/day": "day",
    "verdict/conditional fail": "does not comply, conditionally",
    "verdict/conditional pass": "complies conditionally",
    "verdict/fail": "does not comply",
    "verdict/none": "no statement",
    "verdict/not_judged": "not judged",
    "verdict/pass": "complies",
    "weighting/1/s2": "weights 1/s²",
    "weighting/1/x": "weights 1/x",
    "weighting/1/x2": "weights 1/x²",
    "weighting/none": "unweighted",
    "weighting/variance_function": "weights by a variance function",
}

CODES_EN: Final[dict[str, str]] = {
    **_CHECKS,
    **_FAMILIES,
    **{f"element/{symbol}": name for symbol, name in ELEMENT_NAMES.items()},
}
