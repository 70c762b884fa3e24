"""Which numbers of a line may count what a file holds, by the words beside them: common practice, no source."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

NUMBER: Final = "[0-9]+"  # as patterns of lines have it
_MOST: Final = 4  # numbers of one line
_WORDS: Final = {
    "count_readings": r"readings?|replicates?|measurements?|firings?|injections?|burns?|shots?|values?|results?|rows?|"
    r"lines?|records?|determinations?|data ?(?:points?|sets?)|points?|signals?|absorbances?|einzel(?:mess)?werte?|"
    r"messwerte?|meßwerte?|ablesungen|messungen|wiederholungen|wiederholmessungen|bestimmungen|injektionen|zündungen|"
    r"schüsse|brennvorgänge|zeilen|werte|ergebnisse|datensätze|extinktionen|signale",
    "count_solutions": r"solutions?|samples?|tubes?|cups?|vials?|beakers?|positions?|places?|items?|entries|specimens?|"
    r"lösungen|loesungen|proben|gefäße|gefäsze|gefaesse|becher|röhrchen|positionen|plätze|plaetze|einträge",
    "count_sections": r"sections?|tables?|elements?|series|runs?|tabellen|elemente|abschnitte|reihen|serien",
}
_ANY: Final = r"total|totals|count|number|sum|all|gesamt|insgesamt|anzahl|summe"
# Words that say plainly that a number beside them counts something else, or nothing.
_OTHER: Final = (
    r"lamps?|lampen?|pages?|seiten?|sheets?|blatt|version|rev|revision|release|checksum|crc|prüfsumme|serial|"
    r"seriennummer|id|file|datei|nr|no|slit|spalt|current|strom|temp|temperature|temperatur|nm|ma|mv|v|volts?|s|sec|"
    r"seconds?|sekunden?|min|minutes?|minuten?|h|hours?|stunden?|ms|[munµ]?l|[munµ]?g|c|k|bar|kpa|psi|percent|prozent|"
    r"dilution|verdünnung|factor|faktor|racks?|trays?|gestelle?|bench|room|raum|method|methode|programm?e?|user|"
    r"operator|bediener|errors?|fehler|warnings?|warnungen|flags?|failed|rejected|excluded|outliers?|ausrei(?:ß|ss)er|"
    r"deleted|gelöscht|missing|fehlend|skipped|standards?|blanks?|blindwerte?|leerwerte?|checks?|kontrollen|used|"
    r"remaining|left|life|lebensdauer|year|jahr|day|tag|week|woche|batch|charge|lot|port|channel|kanal"
)
_SUBSET: Final = re.compile(r"\W*(?:of|von|aus|out of)\W*|[.,:/-]")  # 6 of 9, 12:30, 0.5: one statement
_SYNTAX: Final = re.compile(r"\\[a-zA-Z]|[\W_]+")


class Place(NamedTuple):
    """One number of a pattern. facts: what it may count, the likeliest first. told: a word beside it says so."""

    nth: int
    facts: tuple[str, ...]
    told: bool


def places(pattern: str) -> Iterator[Place]:
    """The numbers of a pattern that may be counts."""
    parts = pattern.split(NUMBER)
    count = len(parts) - 1
    if not 1 <= count <= _MOST:
        return
    said = [_SYNTAX.sub(" ", part).lower() for part in parts]
    before = bool(_facts(said[0])) and not _facts(said[-1])  # words stand before their numbers
    for nth in range(count):
        if _is_part(parts, nth):
            continue
        beside = [said[nth], said[nth + 1]] if before else [said[nth + 1], said[nth]]
        own = _facts(" ".join(beside)) if count == 1 else _facts(beside[0]) or _facts(beside[1])
        if own:
            yield Place(nth, own, told=True)
        elif _has(_ANY, " ".join(said)):
            yield Place(nth, ("count_readings", "count_solutions"), told=True)
        elif not _has(_OTHER, " ".join(beside)):
            yield Place(nth, ("count_readings", "count_solutions"), told=False)


def coarseness(pattern: str) -> int:
    """0 where words of a pattern count readings, the finest count; 1 where they count something else; 2 else."""
    own = [number.facts[0] for number in places(pattern) if number.told]
    return 0 if "count_readings" in own else 1 if own else 2


def as_fact(pattern: str, nth: int, fact: str) -> str:
    """The pattern, the number at one place of it read as a fact."""
    parts = pattern.split(NUMBER)
    return NUMBER.join(parts[: nth + 1]) + f"(?P<{fact}>{NUMBER})" + NUMBER.join(parts[nth + 1 :])


def _facts(said: str) -> tuple[str, ...]:
    return tuple(fact for fact, words in _WORDS.items() if _has(words, said))


def _has(words: str, said: str) -> bool:
    return re.search(rf"\b(?:{words})\b", said) is not None


def _is_part(parts: Sequence[str], nth: int) -> bool:
    """Whether a number is a part of a word, of a decimal number, a day or a time, or of ``6 of 9``."""
    blank = re.sub(r"\\[st]\*?| \+", " ", parts[nth]), re.sub(r"\\[st]\*?| \+", " ", parts[nth + 1])
    left, right = (side.replace("\\", "") for side in blank)
    if re.search(r"[\w-]$", left) or re.match(r"\w", right):
        return True
    inner = ([left] if nth else []) + ([right] if nth + 2 < len(parts) else [])
    return any(_SUBSET.fullmatch(side) for side in inner)
