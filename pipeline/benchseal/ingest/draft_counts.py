"""Counts below or above tables: what a file says it holds is compared with what was read, so that a draft keeps it.

A count is taken only where the draft reads it as the number of what was read. In lines that close a table or the file
any such number is one, unless a word beside it speaks of another thing; above tables a word must speak of it.
"""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import replace
from typing import TYPE_CHECKING, Final, NamedTuple

from benchseal.documents.patterns import LONGEST_PATTERN, compiled
from benchseal.ingest.count_words import as_fact, coarseness, places
from benchseal.ingest.guess_text import WORD, loosely
from benchseal.ingest.reader import walked
from benchseal.records.layout import Layout, LineRule
from benchseal.records.run import DocumentRef

if TYPE_CHECKING:
    from benchseal.ingest.draft import Draft
    from benchseal.records.run import RunDocument

COUNTED: Final = "the number there is that of what was read; it is compared from now on"
_REF: Final = DocumentRef("draft", 0, "0" * 64)
_FEWEST: Final = 5  # our rule, no source: a smaller number that no word tells may be anything
_AGAIN: Final = "(?P<element_again>[A-Z][a-z]?)"


class _Read(NamedTuple):
    """What a layout reads of the file: problems, documents, facts of the file and its sections by name."""

    problems: Counter[tuple[str, str, str]]
    documents: tuple[RunDocument, ...]
    facts: dict[str, list[str]]

    @property
    def size(self) -> tuple[int, int]:
        """Readings and solutions."""
        return (
            sum(len(one.readings.signal) for one in self.documents),
            sum(len(one.solutions.position) for one in self.documents),
        )


def with_counts(draft: Draft, lines: list[str]) -> Draft:
    """The draft, with counts below and above its tables compared. lines: of the file, as its encoding reads them."""
    before = _read(draft.layout, lines)
    if before is None or not before.size[0]:
        return draft
    for place in ("last_line", "section.ends", *_dropped(draft.layout)):
        draft = _below(draft, place, lines, before)
    for key in ("head", "section.lines"):
        draft = _above(draft, key, lines, before)
    for place in ("last_line", "section.ends"):
        draft = _with_element(draft, place, lines, before)
    return draft


def _below(draft: Draft, place: str, lines: list[str], before: _Read) -> Draft:
    """The draft with the counts of one line below a table read; a remark where a count is none of what was read."""
    asked = list(places(_at(draft.layout, place)))
    for number in asked:
        for fact in number.facts:
            pattern = _at(draft.layout, place)
            if f"<{fact}>" in pattern:
                continue
            changed = _with(draft, place, as_fact(pattern, number.nth, fact))
            if changed is not None and _agrees(changed.layout, lines, before, fact, told=number.told):
                draft, place = changed, "last_line" if place == "last_line" else "section.ends"
                break
    if any(number.told for number in asked) and "(?P<count_" not in _at(draft.layout, place) and place in draft.remarks:
        draft = _not_compared(draft, place, before)
    return draft


def _above(draft: Draft, key: str, lines: list[str], before: _Read) -> Draft:
    """The same for lines above the tables where a word says what is counted, such as ``Rows,7``."""
    for nth, rule in enumerate(_rules(draft.layout, key)):
        first = next((one for one in lines if "(?P<" not in rule.line and compiled(rule.line).fullmatch(one)), "")
        pattern = loosely(first.rstrip()) + r"\s*"
        asked = [one for one in places(pattern) if one.told and len(pattern) + 50 < LONGEST_PATTERN]
        for number in asked:
            for fact in number.facts:
                told = as_fact(pattern, number.nth, fact)
                changed = _ruled(draft.layout, key, nth, LineRule(told))
                if f"<{fact}>" not in pattern and _agrees(changed, lines, before, fact, told=True):
                    pattern = told
                    line = draft.remarks[f"{key}.{nth}"][1].partition(":")[0]
                    remarks = {**draft.remarks, f"{key}.{nth}": (False, f"{line}: {COUNTED}")}
                    draft = replace(draft, layout=changed, remarks=remarks)
                    break
        if asked and "(?P<" not in pattern:
            draft = _not_compared(draft, f"{key}.{nth}", before)
    return draft


def _rules(layout: Layout, key: str) -> tuple[LineRule, ...]:
    return layout.head if key == "head" else layout.section.lines


def _ruled(layout: Layout, key: str, nth: int, rule: LineRule) -> Layout:
    rules = _rules(layout, key)
    rules = (*rules[:nth], rule, *rules[nth + 1 :])
    return replace(layout, head=rules) if key == "head" else _section(layout, lines=rules)


def _section(layout: Layout, **changes: object) -> Layout:
    return replace(layout, section=replace(layout.section, **changes))  # type: ignore[arg-type]  # fields of it


def _not_compared(draft: Draft, place: str, before: _Read) -> Draft:
    """Say that a line that speaks of a count has another number than what was read."""
    readings, solutions = before.size
    why = f"{draft.remarks[place][1]}{_joint(draft.remarks[place][1])}its number is none of what was read ({readings} "
    why += f"readings, {solutions} solutions), so it is not compared"
    return replace(draft, remarks={**draft.remarks, place: (False, why)})


def _joint(why: str) -> str:
    return " Look: " if why.endswith("?") else "; "


def _with_element(draft: Draft, place: str, lines: list[str], before: _Read) -> Draft:
    """The draft with the element that a line below a table repeats compared with that of its section."""
    pattern = _at(draft.layout, place)
    elements = {one.facts.element for one in before.documents}
    words = [re.escape(f"{WORD}+"), *(rf"(?<![A-Za-z<\\]){one}(?![A-Za-z>])" for one in elements if len(one) == 2)]
    for found in (found for word in words for found in re.finditer(word, pattern)):
        again = pattern[: found.start()] + _AGAIN + pattern[found.end() :]
        changed = _placed(draft.layout, place, again)
        if _agrees(changed, lines, before, "element_again", told=True):
            why = draft.remarks[place][1]
            why += f"{_joint(why)}the element there must be that of the section"
            return replace(draft, layout=changed, remarks={**draft.remarks, place: (False, why)})
    return draft


def _placed(layout: Layout, place: str, pattern: str) -> Layout:
    return replace(layout, last_line=pattern) if place == "last_line" else _section(layout, ends=pattern)


def _dropped(layout: Layout) -> list[str]:
    """Lines that are dropped, those that speak of readings first: that is the finer count."""
    numbers = range(len(layout.drop_lines))
    told = sorted(numbers, key=lambda nth: coarseness(layout.drop_lines[nth]))
    return [f"drop_lines.{nth}" for nth in told]


def _at(layout: Layout, place: str) -> str:
    if place.startswith("drop_lines."):
        nth = int(place.rpartition(".")[2])
        return layout.drop_lines[nth] if nth < len(layout.drop_lines) else ""
    return layout.last_line if place == "last_line" else layout.section.ends


def _with(draft: Draft, place: str, told: str) -> Draft | None:
    """The draft with the pattern there; a dropped line closes the only section, where nothing does yet."""
    layout, remarks = draft.layout, dict(draft.remarks)
    if place == "last_line":
        why = remarks[place][1] if place in remarks else ""
        more = "" if COUNTED in why.lower() else COUNTED
        remarks[place] = (False, f"{why} {more.capitalize()}".rstrip() if why else more)
        return replace(draft, layout=replace(layout, last_line=told), remarks=remarks)
    if place == "section.ends":
        remarks[place] = (False, COUNTED)
        return replace(draft, layout=replace(layout, section=replace(layout.section, ends=told)), remarks=remarks)
    if layout.section.ends:
        return None
    gone = int(place.rpartition(".")[2])
    kept = tuple(one for nth, one in enumerate(layout.drop_lines) if nth != gone)
    own = {key: remarks.pop(key) for key in list(remarks) if key.startswith("drop_lines.")}
    for key, remark in own.items():
        nth = int(key.rpartition(".")[2])
        if nth != gone:
            remarks[f"drop_lines.{nth - (nth > gone)}"] = remark
    remarks["section.ends"] = (False, COUNTED)
    section = replace(layout.section, ends=told)
    return replace(draft, layout=replace(layout, section=section, drop_lines=kept), remarks=remarks)


def _read(layout: Layout, lines: list[str]) -> _Read | None:
    """What the layout reads; None where it holds patterns that cannot be used, as a draft may."""
    try:
        walk, documents = walked(lines, ("", "0" * 64, 0), layout, _REF)
    except ValueError:
        return None
    facts: dict[str, list[str]] = {}
    for part in (walk.facts, *(section.facts for section in walk.sections)):
        for name, fact in part.items():
            facts.setdefault(name, []).append(fact.text)
    return _Read(Counter((each.code, each.where, each.what) for each in walk.problems), documents, facts)


def _agrees(layout: Layout, lines: list[str], before: _Read, fact: str, *, told: bool) -> bool:
    """Whether the layout reads the file as before, and the fact without another problem: it is then what was read.

    The draft may have problems of its own, such as facts that somebody has to state yet.
    """
    read = _read(layout, lines)
    if read is None or fact not in read.facts or read.size != before.size or read.problems - before.problems:
        return False
    if fact == "element_again":
        return set(read.facts[fact]) <= {one.facts.element for one in before.documents}
    return told or all(int(text) >= _FEWEST for text in read.facts[fact])
