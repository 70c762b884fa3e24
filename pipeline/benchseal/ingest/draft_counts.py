"""Counts below or above tables: what a file says it holds is compared with what was read, so that a draft keeps it.

A count is taken only where the draft reads the file, the line speaks of what is counted, and the number is that read.
"""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING, Final

from benchseal.documents.patterns import compiled
from benchseal.ingest.guess_text import exactly
from benchseal.ingest.reader import walked
from benchseal.records.layout import LineRule
from benchseal.records.run import DocumentRef

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.ingest.draft import Draft
    from benchseal.records.layout import Layout

_NUMBER: Final = "[0-9]+"
_WORDS: Final = {
    "count_readings": r"readings?|replicates?|measurements?|firings?|values?|rows?|lines?|records?|"
    r"messwerte?|ablesungen|messungen|zeilen|werte",
    "count_solutions": r"solutions?|samples?|tubes?|cups?|vials?|positions?|items?|entries|lösungen|proben|gefäße|"
    r"positionen|plätze",
    "count_sections": r"sections?|tables?|elements?|series|runs?|tabellen|elemente|abschnitte|reihen",
}
_ANY: Final = r"total|count|number|sum|all|gesamt|anzahl|summe"
_ONE_NUMBER: Final = re.compile("([^0-9]*)([0-9]+)([^0-9]*)")
_REF: Final = DocumentRef("draft", 0, "0" * 64)


def with_counts(draft: Draft, lines: list[str]) -> Draft:
    """The draft, with counts below its tables compared. lines: of the file, as its encoding reads them."""
    for place in ("last_line", "section.ends", *_dropped(draft.layout)):
        pattern = _at(draft.layout, place)
        for fact in _speaks_of(pattern):
            changed = _with(draft, place, pattern.replace(_NUMBER, f"(?P<{fact}>{_NUMBER})"))
            if changed is not None and _agrees(changed.layout, lines):
                draft = changed
                break
    return _with_heads(draft, lines)


def _with_heads(draft: Draft, lines: list[str]) -> Draft:
    """The same for lines above the tables whose one number is a count, such as ``Rows,7``."""
    for nth, rule in enumerate(draft.layout.head):
        line = next((one for one in lines if "(?P<" not in rule.line and compiled(rule.line).fullmatch(one)), "")
        found = _ONE_NUMBER.fullmatch(line)
        if found is None:
            continue
        for fact in _speaks_of(f"{found[1]}{_NUMBER}{found[3]}"):
            told = LineRule(f"{exactly(found[1])}(?P<{fact}>{_NUMBER}){exactly(found[3].rstrip())}\\s*")
            head = (*draft.layout.head[:nth], told, *draft.layout.head[nth + 1 :])
            changed = replace(draft.layout, head=head)
            if _agrees(changed, lines):
                why = f"{draft.remarks[f'head.{nth}'][1].partition(':')[0]}: the number there is that of what was read"
                remarks = {**draft.remarks, f"head.{nth}": (False, f"{why}; it is compared from now on")}
                draft = replace(draft, layout=changed, remarks=remarks)
                break
    return draft


def _dropped(layout: Layout) -> list[str]:
    """Lines that are dropped, those that speak of readings first: that is the finer count."""
    numbers = range(len(layout.drop_lines))
    told = sorted(numbers, key=lambda nth: "count_readings" not in [*_speaks_of(layout.drop_lines[nth])][:1])
    return [f"drop_lines.{nth}" for nth in told]


def _at(layout: Layout, place: str) -> str:
    if place.startswith("drop_lines."):
        nth = int(place.rpartition(".")[2])
        return layout.drop_lines[nth] if nth < len(layout.drop_lines) else ""
    return layout.last_line if place == "last_line" else layout.section.ends


def _speaks_of(pattern: str) -> Iterator[str]:
    """Facts a line may count, the likeliest first; none where it holds no number, or several."""
    if pattern.count(_NUMBER) != 1 or "(?P<" in pattern:
        return
    said = re.sub(r"\\[a-z]|[^\w]+", " ", pattern.replace(_NUMBER, " ")).lower()
    own = [fact for fact, words in _WORDS.items() if re.search(rf"\b(?:{words})\b", said)]
    yield from own
    if not own and re.search(rf"\b(?:{_ANY})\b", said):
        yield from ("count_readings", "count_solutions")


def _with(draft: Draft, place: str, told: str) -> Draft | None:
    """The draft with the pattern there; a dropped line closes the only section, where nothing does yet."""
    layout, remarks = draft.layout, dict(draft.remarks)
    counted = (False, "the number there is that of what was read; it is compared from now on")
    if place == "last_line":
        remarks[place] = (False, f"{remarks[place][1]} {counted[1].capitalize()}" if place in remarks else counted[1])
        return replace(draft, layout=replace(layout, last_line=told), remarks=remarks)
    if place == "section.ends":
        remarks[place] = counted
        return replace(draft, layout=replace(layout, section=replace(layout.section, ends=told)), remarks=remarks)
    if layout.section.ends or layout.section.begins:
        return None
    gone = int(place.rpartition(".")[2])
    kept = tuple(one for nth, one in enumerate(layout.drop_lines) if nth != gone)
    own = {key: remarks.pop(key) for key in list(remarks) if key.startswith("drop_lines.")}
    for key, remark in own.items():
        nth = int(key.rpartition(".")[2])
        if nth != gone:
            remarks[f"drop_lines.{nth - (nth > gone)}"] = remark
    remarks["section.ends"] = counted
    section = replace(layout.section, ends=told)
    return replace(draft, layout=replace(layout, section=section, drop_lines=kept), remarks=remarks)


def _agrees(layout: Layout, lines: list[str]) -> bool:
    """Whether the file is read by the layout without a problem: its counts are then those read."""
    try:
        walk, documents = walked(lines, ("", "0" * 64, 0), layout, _REF)
    except ValueError:  # a draft may hold patterns that cannot be used
        return False
    return bool(documents) and not walk.problems
