"""The English of a certificate: one key a sentence or word. ``words_de`` holds the same keys with the same places.

A word in braces is put in where the page is made; ``certificate.language`` says the keys.
"""

# ruff: noqa: RUF001  true signs and dashes are what is printed

from __future__ import annotations

from typing import Final

from benchseal.certificate.words_en_codes import CODES_EN
from benchseal.certificate.words_en_papers import PAPERS_EN

_LABELS: Final = {
    "label/accreditation": "Accreditation",
    "label/address": "Address",
    "label/background": "Background",
    "label/calibration": "calibration",
    "label/comments": "Comments and notes",
    "label/conclusion": "Conclusion",
    "label/condition": "Condition",
    "label/customer": "Customer",
    "label/customer_sample": "Customer’s sample",
    "label/decision_rule": "Decision rule",
    "label/deviations": "Deviations from the methods",
    "label/expiry": "Expiry",
    "label/external": "Results of external providers",
    "label/first_certificate": "First certificate",
    "label/foot": "Foot",
    "label/grade": "Grade",
    "label/issued": "Issued",
    "label/item": "Item",
    "label/laboratory": "Laboratory",
    "label/lot": "Lot",
    "label/manufacturer": "Manufacturer",
    "label/measured": "Measured",
    "label/opinion": "Opinion",
    "label/opinions": "Opinions",
    "label/product": "Product",
    "label/quantity_received": "Quantity received",
    "label/received": "Received",
    "label/retest": "Retest",
    "label/sample_number": "Sample number",
    "label/sampled": "Sampled",
    "label/sampling": "Sampling",
    "label/specification": "Specification",
    "label/stated": "Stated by the customer",
    "label/uncertainty": "Uncertainty",
    "column/check": "Check",
    "column/determined": "Determined",
    "column/found": "Found",
    "column/limit": "Limit",
    "column/limits": "Limits",
    "column/method": "Method",
    "column/result": "Result ± expanded uncertainty",
    "column/rule": "Rule and verdict",
    "column/text": "Text",
    "column/there": "There",
    "column/verdict": "Verdict",
    "column/here": "Here",
    "heading/changes": "What changed against certificate {number}",
    "heading/check": "How to check this file",
    "heading/held": "Where this is held",
    "heading/known": "How it was measured",
    "heading/limits": "Limits and cautions",
    "lead/known": (
        "Circles: standards. Line and light band: fitted curve ± 2 standard uncertainties; below it, residuals. "
        "Then the checks of that run: found, limits, verdict."
    ),
    "mark/DRAFT": "DRAFT",
    "mark/PRELIMINARY": "PRELIMINARY",
    "mark/notice": "{mark}: not sealed, not a certificate. Figures may change.",
    "page/digest": "Evidence digest (SHA-256)",
    "page/end": "End of certificate {number}",
    "page/end_unsealed": "End of {mark} {number}",
    "page/ledger": "Ledger {ledger}, head: {size} entries, root {root}",
    "page/made": "Made with {program}, calculation rules {rules}",
    "page/measured_at": "Measured at: {place}",
    "page/of": "of",
    "page/page": "page",
    "page/rosette": "Drawn from the evidence digest: an aid to the eye, not a proof",
    "page/rosette_sentence": "Figure of closed curves drawn from the evidence digest {start}.",
    "page/signature": "signature {start}",
    "page/subject": "{product}, lot {lot}",
    "page/verify": (
        "Run “benchseal verify FILE.pdf” with the laboratory’s trust file. It works without a network and without us: "
        "it checks the seal, reads the readings attached to this file, calculates the results again and compares them "
        "with this page. The seal breaks if one byte changes. A printed copy cannot be checked this way; ask for the "
        "file."
    ),
    "title/certificate": "Certificate of analysis",
    "title/supplement": "Supplement to a certificate of analysis",
}

_SENTENCES: Final = {
    "caution/items": "The results relate only to the items tested.",
    "caution/part": (
        "This certificate may not be reproduced except in full without the written approval of the laboratory."
    ),
    "caution/release": "This certificate reports results. It does not release goods for use or sale.",
    "changed/against": "Changed against {number}.",
    "changed/limit": "limit {limit}",
    "changed/new": "Not in {number}.",
    "conclusion/all_both": "both results comply with the specification",
    "conclusion/all_both_limited": "both results with a limit comply with the specification",
    "conclusion/all_many": "all {count} results comply with the specification",
    "conclusion/all_many_limited": "all {count} results with a limit comply with the specification",
    "conclusion/all_one": "the result complies with the specification",
    "conclusion/all_one_limited": "the result with a limit complies with the specification",
    "conclusion/complies_many": "{names} comply with the specification",
    "conclusion/complies_one": "{names} complies with the specification",
    "conclusion/complies_counted": "{count} results comply with the specification",
    "conclusion/conditional_counted": "{count} results comply conditionally",
    "conclusion/conditional_many": "{names} comply conditionally",
    "conclusion/conditional_one": "{names} complies conditionally",
    "conclusion/fails_counted": "{count} results do not comply with the specification",
    "conclusion/fails_many": "{names} do not comply with the specification",
    "conclusion/fails_one": "{names} does not comply with the specification",
    "conclusion/informative": "no limit is specified for {names}",
    "conclusion/in_table": "which they are, the table says in each row",
    "conclusion/informative_counted": "no limit is specified for {count} results",
    "conclusion/no_limits": "No limits are specified; no statement of conformity is made.",
    "conclusion/unsaid": "no statement of conformity is made for {names}",
    "conclusion/unsaid_counted": "no statement of conformity is made for {count} results",
    "curve/elsewhere": "concentrations as the instrument calculated them; calibration not recomputable",
    "curve/fit": "{model}, {weighting} · n = {n}",
    "curve/note": (
        "{name}, run {run}: read on the curve of run {use} of {day}; signals less the blank were multiplied by "
        "{factor}, found from one standard read in run {run}."
    ),
    "curve/of_run": "curve of run {run}",
    "curve/sd": "residual sd {sd}",
    "curve/weighted_sd": "weighted residual sd {sd}",
    "date/days": "{first} to {last}",
    "decision/line": "{names}: {rule}.",
    "decision/line_counted": "{count} results, in the table with “{mark}”: {rule}.",
    "decision/none": "none: the specification sets no limit.",
    "decision/singles": (
        "Each portion of {names} is compared with a limit of its own in the same way, without an uncertainty; one "
        "outside makes the result not comply."
    ),
    "decision/singles_counted": (
        "Each portion of the {count} results whose rows name a limit of single portions is compared with it in the "
        "same way, without an uncertainty; one outside makes the result not comply."
    ),
    "detail/additions": "by standard additions",
    "detail/below_detection": "below the detection limit {limit} too",
    "detail/between": "read between two standards",
    "detail/bound": "{bound}: {sentence}",
    "detail/bound_here": "here {names}",
    "detail/bound_nothing": "here none",
    "detail/detected": "detected, above the detection limit {limit}",
    "detail/drift": "corrected for drift",
    "detail/exposure": "limit from: permitted daily exposure (PDE) {exposure}; daily dose {dose} g",
    "detail/lost": "portion {portion}: {why}",
    "detail/moisture": "moisture taken out: {moistures} %",
    "detail/none_quantified": "no part reached its quantification limit",
    "detail/of_portions": "{said}, portion {portions}",
    "detail/portions": "portions {values} {unit}",
    "detail/single_inside": "all within",
    "detail/single_open": "{portion} not judged",
    "detail/single_outside": "{portion} ({value}) outside",
    "detail/singles": "limit of single portions {limit}: {found}",
    "exception/note": (
        "By exception {exception}, signed by {names} and valid until {day}, one person may review and approve here. "
        "Instead: {check}"
    ),
    "item/stated_claim": "label claim of one {unit}",
    "item/stated_designation": "designation of the sample",
    "item/stated_expiry": "expiry",
    "item/stated_first": "first certificate",
    "item/stated_grade": "grade",
    "item/stated_manufacturer": "manufacturer",
    "item/stated_retest": "retest date",
    "item/stated_lot": "lot",
    "item/stated_product": "product",
    "item/stated_sampling": "date of sampling",
    "limit/between": "{lower} to {upper}",
    "limit/lower": "not less than {lower}",
    "limit/none": "no limit",
    "limit/of_claim": "% of claim",
    "limit/upper": "not more than {upper}",
    "list/and": " and ",
    "list/comma": ", ",
    "name/as": "as {substance}",
    "name/as_received": "{name} as received",
    "name/sum": "the sum of {elements}",
    "none": "none",
    "note/bracket": "Where a check that brackets readings was not met, none of the readings it brackets was used.",
    "note/comment": "Comment: {comment}",
    "note/elsewhere": "* made on another sample of the batch; not recomputable from this file.",
    "note/rinse": "Where a rinse did not return to zero, the reading directly after it was not used.",
    "opinion/said": "{text} Based on: {basis} Expressed by {name}, {role}, on {day}.",
    "quantity/as": "{quantity}, as {substance}",
    "quantity/mass_fraction": "{fraction}, mass fraction, {basis}",
    "quantity/of_claim": "of claim, {claim} mg",
    "quantity/on_basis": "{fraction}, {basis}",
    "quantity/per_area": "released per area",
    "quantity/per_unit": "{fraction}, per {unit}",
    "relation/amends": "Amends and replaces certificate {number}: {reason}",
    "relation/part": "Reports some lines of the specification; the others are reported by {others}.",
    "relation/supplements": "Supplements certificate {number}: {reason}",
    "run/all": "all {count} runs",
    "run/heading": "{element}, {nm} nm",
    "run/one": "run {run}",
    "run/panel": "run {run}, {technique}, {day}",
    "run/several": "runs {runs}",
    "table/checks": "Checks of {heading}, {run}",
    "table/checks_below": "Its {count} checks stand in a table below.",
    "table/checks_part": "Checks of {heading}, {run}: checks {first} to {last} of {count}",
    "table/results_part": "Results {first} to {last} of {count}",
    "note/simplified": (
        "Simplified form, as agreed with the customer ({agreement}): calibrations, checks and conditions of "
        "measurement are not printed. They are attached to the sealed file, and the laboratory has them ready."
    ),
    "sampling/by": "Sampled by {who}; the results apply to the sample as received.",
    "sampling/customer": "the customer",
    "sampling/laboratory": "Sampled by the laboratory.",
    "sampling/plan": "Sampled by the laboratory: {plan}.",
    "sampling/unknown": "Who sampled is not on record; the results apply to the sample as received.",
    "sampling/unknown_before_4": "The laboratory did not sample; the results apply to the sample as received.",
    "signed/approved": "I approve these results for this certificate.",
    "signed/calculated": "I calculated and submitted {runs} as recorded.",
    "signed/measured": "I measured {runs} as recorded.",
    "signed/prepared": "I prepared portions for {runs} as recorded.",
    "signed/prepared_measured": "I prepared portions for {runs} and measured as recorded.",
    "signed/released": "I release these results to the customer.",
    "signed/reviewed": "I reviewed readings, calculations and checks of {runs}.",
    "signed/share": "I did my share of {runs} as recorded.",
    "signed/zone_unknown": "{zone} is not known here",
    "specification/named": "{title}, {id} version {version}",
    "sum/bounds": "{name} ({parts})",
    "sum/method": "sum of rows above",
    "sum/named": "Sum of {elements}",
    "sum/below": "Before a sum, “<” stands before the sum of these limits.",
    "sum/independent": "U of a sum combines those of its parts as independent of each other.",
    "uncertainty/95": ", which gives a level of confidence of about 95 %",
    "uncertainty/below": "“<” stands before the quantification limit of the method for the portions measured.",
    "uncertainty/covers": "It covers: {parts}. It does not cover sampling.",
    "uncertainty/k": "k = {k}",
    "uncertainty/k_several": "k as stated beside it",
    "uncertainty/recovery": "No value is corrected for recovery.",
    "uncertainty/u": "U, after ±, is the expanded uncertainty with coverage factor {k}{level}.",
    "uncorrected/at": "{element} at {nm} nm",
    "uncorrected/because": "for {element} the method says: {reason}",
    "uncorrected/one": (
        "{lines} was measured without background correction, so whatever else absorbs there was read with it"
    ),
    "uncorrected/several": (
        "{lines} were measured without background correction, so whatever else absorbs there was read with them"
    ),
    "uncorrected/vapour": "organic and other vapours that absorb at {nm} nm would be read as mercury",
}

# Not from the locale: a certificate reads the same on every machine.
_MONTHS: Final = (
    *("January", "February", "March", "April", "May", "June"),
    *("July", "August", "September", "October", "November", "December"),
)
_COUNTS: Final = (
    *("no", "one", "two", "three", "four", "five", "six"),
    *("seven", "eight", "nine", "ten", "eleven", "twelve"),
)

EN: Final[dict[str, str]] = {
    **_LABELS,
    **_SENTENCES,
    **CODES_EN,
    **PAPERS_EN,
    **{f"month/{number}": name for number, name in enumerate(_MONTHS, start=1)},
    **{f"count/{number}": name for number, name in enumerate(_COUNTS)},
}
