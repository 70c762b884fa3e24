"""What a line of a balance's print says of a number in it, whatever its pattern lets pass: its unit, more figures."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from benchseal.documents.patterns import Match
    from benchseal.records.layout import LineRule

NUMBERS: Final = ("mass", "gross", "tare")
# Places the point moves to make grams of it.
PLACES: Final = {"kg": 3, "g": 0, "mg": -3}
# Units no mass is read in, in any spelling (from memory).
_FOREIGN = {
    "t", "hg", "dag", "dg", "cg", "ug", "µg", "μg", "ng", "ct", "oz", "ozt", "lb", "lbs", "gn", "gr", "dwt", "%", "‰",
}  # fmt: skip
_TOLD_BESIDE = ("serial", "weighed_at")
_WORD = re.compile(r"[^\W\d_]+|[%‰]")
_RIGHT_BEHIND = re.compile(r"(?:[^\w%‰]|_)*([^\W\d_]+|[%‰])")
_BEGUN = re.compile(r"[0-9][.,'\u2019]?$|(?:^|[\s;:,=|(])[-\u2212\u2013]$")
_THOUSANDS = re.compile(r"([.,'\u2019 \u00a0\u202f])[0-9]{3}(?![0-9])")


def unit_said(line: str, rule: LineRule, match: Match, name: str) -> str:
    """The unit a line says of a number, both where it says two; empty where the layout says the words itself.

    The word right behind the number, over any signs, is its unit or may be one. Else it is a mass unit farther on, up
    to the next number, or before the first. A label, a date and a serial number are none.
    """
    text, given = _masked(line, match), match.groupdict()
    begin = match.start(name)
    end = begin + len(given[name] or "")
    others = [match.start(each) for each in NUMBERS if each != name and given.get(each) is not None]
    text = text[: min((at for at in others if at > begin), default=len(text))]
    word = _RIGHT_BEHIND.match(text, end)
    behind = word[1] if word else ""
    if behind not in PLACES and behind.casefold() not in {*PLACES, *_FOREIGN} and _says(rule, behind):
        behind = next((each for each in _WORD.findall(text, end) if _counts(each, rule)), "")
    first = all(at > begin for at in others)
    ahead = next((each for each in _WORD.findall(text, 0, begin) if _counts(each, rule)), "") if first else ""
    return " and ".join(dict.fromkeys(filter(None, (ahead, behind))))


def goes_on(line: str, rule: LineRule, match: Match, name: str, mark: str) -> str:
    """More of a number than its group took, with it; empty where it is whole. A minus before it is of it."""
    number, begin = match.groupdict()[name] or "", match.start(name)
    rest = line[begin + len(number) :]
    thousands = None if mark in number else _THOUSANDS.match(rest)
    if thousands and _says_behind(rule, name, thousands[1]):
        thousands = None
    behind = bool(re.match(f"{re.escape(mark)}?[0-9]", rest) or thousands)
    before = _BEGUN.search(line[:begin])
    if not (behind or before):
        return ""
    return f"{before[0].strip() if before else ''}{number}{rest[:8].rstrip() if behind else ''}"


def _masked(line: str, match: Match) -> str:
    """The line with a figure for each sign of what is named something else; a date of ``mg`` stays what it is."""
    for name in ("portion", *_TOLD_BESIDE):
        text = match.groupdict().get(name) or ""
        if text and (name == "portion" or not PLACES.keys() & set(_WORD.findall(text))):
            at = match.start(name)
            line = f"{line[:at]}{'0' * len(text)}{line[at + len(text) :]}"
    return line


def _counts(word: str, rule: LineRule) -> bool:
    """Whether a word that is not right behind a number is a unit: a literal ``t`` may be the tare."""
    return word in PLACES or (word in _FOREIGN and not _says(rule, word))


def _says(rule: LineRule, word: str) -> bool:
    return not word or bool(re.search(rf"(?<![\\\w]){re.escape(word)}(?!\w)", rule.line))


def _says_behind(rule: LineRule, name: str, sign: str) -> bool:
    """Whether the pattern has this very sign right behind the group of a number."""
    found = re.search(rf"\(\?P?<{name}>[^()]*\)(\\?.)", rule.line)
    return found is not None and found[1] in ({"\\."} if sign == "." else {sign, f"\\{sign}"})
