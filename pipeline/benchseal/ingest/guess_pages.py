"""Guesses about the pages of a captured print: the lines that open each, and whether a table shows its header again."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from benchseal.ingest.guess_spans import Span, by_content
from benchseal.ingest.guess_text import loosely
from benchseal.records.layout import PageForm, Word

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from benchseal.records.layout import FileForm

TAKEN = "-"  # stands where a line of a page was taken: a drawn line says nothing
_MOST = 8  # lines of a heading


@dataclass(frozen=True, slots=True)
class Pages:
    """The form of the pages, facts and words of their headings, and all lines, those of pages replaced by ``TAKEN``."""

    form: PageForm
    facts: frozenset[str]
    words: tuple[Word, ...]
    lines: list[str]


def guess_pages(lines: list[str], form: FileForm) -> Pages | None:
    """The pages of a file with form feeds; None where it has none."""
    starts = [0, *(nth for nth, line in enumerate(lines) if nth and line.startswith("\f"))]
    if not any("\f" in line for line in lines):
        return None
    if len(starts) < 2:
        return Pages(PageForm((), repeats_header=False), frozenset(), (), lines)
    bare = [line.removeprefix("\f") for line in lines]
    depth = _depth(bare, starts)
    blanks = _blanks(bare, starts, depth)
    again = _header_again(bare, starts, depth + blanks) if depth else 0
    patterns: list[str] = []
    facts: set[str] = set()
    words: list[Word] = []
    for nth in range(depth):
        text, marks = bare[nth], tuple(_marks([bare[start + nth] for start in starts]))
        found = by_content(text, form, facts, marks)
        patterns.append(found.pattern if found else loosely(text.rstrip()) + r"\s*")
        facts |= set(found.facts) if found else set()
        words += found.words if found else ()
    taken = {start + nth for start in starts for nth in range(depth)}
    taken |= {start + depth + blanks + nth for start in starts[1:] for nth in range(again)}
    left = [TAKEN if nth in taken else line for nth, line in enumerate(lines)]
    return Pages(PageForm(tuple(patterns), repeats_header=again > 0), frozenset(facts), tuple(words), left)


def _depth(lines: Sequence[str], starts: Sequence[int]) -> int:
    """How many lines all pages begin with that are alike but for their figures."""
    depth = 0
    while depth < _MOST and starts[-1] + depth < len(lines):
        first = lines[depth]
        if not first.strip() or any(loosely(lines[start + depth]) != loosely(first) for start in starts):
            break
        depth += 1
    return depth


def _blanks(lines: Sequence[str], starts: Sequence[int], depth: int) -> int:
    """How many blank lines stand below the headings of later pages; none where they differ."""
    counts = set()
    for start in starts[1:]:
        behind = lines[start + depth :]
        counts.add(next((nth for nth, line in enumerate(behind) if line.strip()), 0))
    return counts.pop() if len(counts) == 1 else 0


def _header_again(lines: Sequence[str], starts: Sequence[int], depth: int) -> int:
    """How many lines below the headings of later pages stand as they are on the first page, too: its header, units."""
    count = 0
    while count < 2 and starts[-1] + depth + count < len(lines):
        shown = {lines[start + depth + count] for start in starts[1:]}
        if len(shown) > 1 or not shown & set(lines[depth : starts[1]]):
            break
        count += 1
    return count


def _marks(texts: Sequence[str]) -> Iterator[Span]:
    """Where headings count pages, ``2/5`` or ``2 of 5``: which stands for the page, which for all of them."""
    places = [[found.span() for found in re.finditer("[0-9]+", text)] for text in texts]
    if len({len(each) for each in places}) != 1:
        return
    for column in zip(*places, strict=True):
        numbers = [int(text[span[0] : span[1]]) for text, span in zip(texts, column, strict=True)]
        if numbers == list(range(1, len(texts) + 1)):
            (begins, ends), *_ = column
            yield Span("page", begins, ends, "[0-9]+")
            behind = re.compile(r" ?(?:/|of|von) ?([0-9]+)").match(texts[0], ends)
            if behind is not None and int(behind[1]) == len(texts):
                yield Span("pages", behind.start(1), behind.end(1), "[0-9]+")
            return
