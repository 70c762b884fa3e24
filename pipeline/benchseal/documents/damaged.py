"""What spreadsheets are known to make of texts that look like numbers, days or formulas: nobody can say what was typed.

In their own spelling, so that a laboratory's own MAR-01 or 1E5 stays a name. Common practice, no source.
"""

from __future__ import annotations

import re

_MONTH = "(?:Jan|Feb|Mar|Mär|Mrz|Apr|May|Mai|Jun|Jul|Aug|Sep|Oct|Okt|Nov|Dec|Dez)"
# Short months of French, Spanish, Portuguese, Italian and Dutch spreadsheets, which spell them small; without those
# that may well be a word of a name: gen, mag, out, set.
_SMALL_MONTH = (
    "(?:janv?|févr?|fev|feb|mars?|mrt|avr|abr|apr|mai|may|mei|juin|jun|giu|juil|jul|lug|août|ago|aug|sept?|oct|okt|ott|"
    "nov|déc|dez|dic|dec|ene)"
)
_ERROR = re.compile(r"#(?:N/A|NAME\?|REF!|VALUE!|NUM!|DIV/0!|NULL!|NV|WERT!|BEZUG!|ZAHL!)")
_DAMAGED = re.compile(
    r"[0-9](?:[.,][0-9]+)?E[+-][0-9]{2,3}|"
    rf"[0-9]{{1,2}}(?:-|\. ?){_MONTH}(?:[-. ][0-9]{{2,4}})?|{_MONTH}[- ][0-9]{{2,4}}|###+|"
    rf"[0-9]{{1,2}}-{_SMALL_MONTH}\.?(?:-[0-9]{{2,4}})?|{_SMALL_MONTH}\.?-[0-9]{{2,4}}"
)
# A day with midnight behind it, where only a day, or 5-3, was typed.
_MIDNIGHT = re.compile(r"[0-9]{1,4}([-./])[0-9]{1,2}\1[0-9]{1,4}[ T]0?0:00(?::00)?")
# Of words in people's own language only what cannot be one.
_DAMAGED_WORDS = re.compile(
    r"[0-9](?:[.,][0-9]+)?E[+-][0-9]+|[0-9]{1,2}-(?:Jan|Feb|Mar|Apr|May|Jun|Jul|Aug|Sep|Oct|Nov|Dec)(?:-[0-9]+)?|#+"
)


def looks_damaged(name: str) -> bool:
    """Whether a name looks as if a spreadsheet had made it of another: ``1E+05``, ``05-Mar``, ``#####``, ``#REF!``."""
    return _DAMAGED.fullmatch(name) is not None or is_error(name)


def cell_damaged(text: str, *, free_text: bool) -> bool:
    """The same of a cell of a sheet, which may hold a day with midnight too; errors are told of every cell before.

    free_text: people's own words.
    """
    if _DAMAGED_WORDS.fullmatch(text) or _MIDNIGHT.fullmatch(text):
        return True
    return not free_text and _DAMAGED.fullmatch(text) is not None


def is_error(text: str) -> bool:
    """Whether a text is what a spreadsheet shows where a formula failed."""
    return _ERROR.fullmatch(text) is not None
