"""Rules of the site: what one laboratory demands of its own work. One controlled document, its identifier RULES.

Every default is what holds where no such document is in force: no gate, and the ages ``doctor`` always counted.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final, Literal, TypeAlias

from benchseal.records.quantities import PlainDecimal
from benchseal.records.shape import LEFT_OUT_WHEN_EMPTY

RULES_ID: Final = "RULES"
MONTH_DAYS: Final = 30.5  # ages of months are counted in days
Demand: TypeAlias = Literal["required", "not_required"]
Paper: TypeAlias = Literal["", "letter"]
SecondLook: TypeAlias = Literal["second_person", "not_required"]
TypedQuantity: TypeAlias = Literal[
    "mass_g", "area_dm2", "unit_mass_g", "volume_ml", "dilution_factor", "standard_value"
]


@dataclass(frozen=True, slots=True)
class TypedRange:
    """A range check the laboratory has validated: a typed value of this quantity inside it needs no second person.

    low, high: both included; of ``dilution_factor`` of one step, of ``standard_value`` in the lot's own unit.
    """

    quantity: TypedQuantity
    low: PlainDecimal
    high: PlainDecimal


@dataclass(frozen=True, slots=True)
class TimeStampRule:
    """An authority for time-stamps (RFC 3161), asked when a certificate is sealed.

    url: where it is asked, http or https. certificate: PEM of what is trusted, its own certificate or one above it.
    seconds: how long it is waited for. policy: dotted, of its time-stamps; empty takes any.
    """

    url: str
    certificate: str
    seconds: int = 10
    policy: str = ""


@dataclass(frozen=True, slots=True)
class SiteRules:
    """Rules of one site. A number of 0 and an empty decimal mean: not demanded.

    training: nobody performs a method without training on its version in force, on record. typed_values: a second
    person confirms masses, dilutions and standards typed by hand. late_entry_hours: work put on record later than
    this after it was done needs a reason. access_review_months: longest time between two reviews of accounts and
    roles. periodic_review_months: the same of the whole system, document_review_months: of a document in force.
    investigation_working_days: an investigation open longer is named. retention_years: how long records are kept
    after the last act on them. clock_tolerance_seconds: how far an instrument's clock may be off at a check.
    backup_days, restore_test_days, checkpoint_days: largest age of the last backup, of the last one restored and
    found whole, of the last signed head. stock_deviation_percent: how far two stocks of an element may differ.
    typed_ranges: range checks that stand in for the second person, at most one a quantity. trail_review: no certificate
    is approved before the trail of each of its runs was reviewed. performers_sign: no run is accepted before everybody
    who prepared, measured or changed something of it signed it as performed. signature_letter, signature_letter_on:
    reference and day of the letter by which the laboratory told an authority that its electronic signatures are meant
    to equal handwritten ones (21 CFR 11.100(c)), or words that none is due; both empty: not said. paper: size of the
    pages of certificates and reports, A4 where it is empty. time_stamps: whom a seal is shown to for a time-stamp, in
    the order they are asked until one answers; none asks nobody. without_time_stamp: whether a certificate is sealed
    without one where none of them answers; empty: it waits.
    """

    kind: Literal["site_rules"] = "site_rules"
    id: Literal["RULES"] = "RULES"
    title: str = "Rules of the site"
    training: Demand = "not_required"
    typed_values: SecondLook = "not_required"
    late_entry_hours: int = 0
    access_review_months: int = 6
    periodic_review_months: int = 0
    document_review_months: int = 0
    investigation_working_days: int = 20
    retention_years: int = 0
    clock_tolerance_seconds: int = 0
    backup_days: int = 7
    restore_test_days: int = 90
    checkpoint_days: int = 1
    stock_deviation_percent: PlainDecimal = ""
    typed_ranges: tuple[TypedRange, ...] = field(default=(), metadata=LEFT_OUT_WHEN_EMPTY)
    trail_review: Literal["", "required"] = field(default="", metadata=LEFT_OUT_WHEN_EMPTY)
    performers_sign: Literal["", "required"] = field(default="", metadata=LEFT_OUT_WHEN_EMPTY)
    signature_letter: str = field(default="", metadata=LEFT_OUT_WHEN_EMPTY)
    signature_letter_on: str = field(default="", metadata=LEFT_OUT_WHEN_EMPTY)
    paper: Paper = field(default="", metadata=LEFT_OUT_WHEN_EMPTY)
    time_stamps: tuple[TimeStampRule, ...] = field(default=(), metadata=LEFT_OUT_WHEN_EMPTY)
    without_time_stamp: Literal["", "allowed"] = field(default="", metadata=LEFT_OUT_WHEN_EMPTY)


# Key of a gate to what is not asked while it is open, in words that follow "open:".
_GATES: Final = {
    "training": "nobody is asked for training",
    "typed_values": "typed values need no second person",
    "late_entry_hours": "late entries need no reason",
    "periodic_review_months": "the system is never due for review",
    "document_review_months": "documents are never due for review",
    "retention_years": "no time of keeping is set",
    "clock_tolerance_seconds": "clocks of instruments are not judged",
    "stock_deviation_percent": "stocks are not compared",
    "trail_review": "trails need no review before approval",
    "performers_sign": "only who submits signs as performed",
    "signature_letter": "no letter about electronic signatures is named",
}


def open_gates(rules: SiteRules) -> tuple[str, ...]:
    """What these rules do not demand, a few words each, in fixed order."""
    return tuple(words for key, words in _GATES.items() if getattr(rules, key) in {"not_required", 0, ""})
