"""The form of the printed page by number, and the English of papers that are printed in English only.

A certificate is printed in the language its evidence names (``certificate.language``).
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, cast, get_args

from benchseal.certificate.language import DASH, ENGLISH, MINUS, capital, local, signal_unit
from benchseal.records.method import Technique
from benchseal.records.specification import DecisionRule

if TYPE_CHECKING:
    from collections.abc import Mapping

    from benchseal.certificate.view import Verdict as Kind
    from benchseal.records.results import Verdict

__all__ = ["DASH", "MINUS", "capital", "local", "signal_unit"]

WORDING: Final = 5  # changes when a word or form of the printed page may; evidence says which it was printed by
# Forms this program prints word for word: 4 differs from 3 in who sampled, 5 counts lines where 4 named every one.
REPRODUCED: Final = frozenset({3, 4, WORDING})
IN_PART: Final = frozenset({2})  # an earlier program's, whose evidence is still read: rows and facts are compared

VERDICT_KINDS: Final[dict[Verdict, Kind]] = {
    "pass": "complies",
    "fail": "fails",
    "conditional pass": "open",
    "conditional fail": "fails",
    "none": "open",
}


def _english(family: str, codes: object) -> dict[str, str]:
    return {code: ENGLISH.word(family, code) for code in cast("tuple[str, ...]", codes)}


TECHNIQUES: Final[Mapping[str, str]] = _english("technique", get_args(Technique))
RULES: Final[Mapping[str, str]] = _english("rule", get_args(DecisionRule))
VERDICTS: Final = {code: (ENGLISH.word("verdict", code), kind) for code, kind in VERDICT_KINDS.items()}
MODELS_IN_SENTENCES: Final[Mapping[str, str]] = _english("model_named", ("line", "line_through_zero", "quadratic"))

day = ENGLISH.day
day_of = ENGLISH.day_of
days = ENGLISH.days
signed_at = ENGLISH.signed_at
counted = ENGLISH.counted
listed = ENGLISH.listed
printed = ENGLISH.number
short = ENGLISH.short
short_against = ENGLISH.short_against
interval = ENGLISH.interval
limit = ENGLISH.limit
