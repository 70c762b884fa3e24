"""Which layout a file that none knows is nearest to, and what it lacks: lines like those the layout looks for."""

from __future__ import annotations

import re
from difflib import SequenceMatcher
from typing import TYPE_CHECKING, Final

from benchseal.ingest.lines import opening_lines
from benchseal.ingest.plan import plan_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from benchseal.records.layout import Layout
    from benchseal.records.run import DocumentRef

_LONGEST: Final = 200  # signs of a line that are compared
_LINES_SHOWN: Final = 3
_ALIKE: Final = 0.5  # our rule, no source: below it a line has little in common with the pattern
_SIGNS: Final = re.compile(r"\\[A-Za-z]|\(\?P<\w+>|[][()*+?.^$|\\{}]")


def nearest(data: bytes, layouts: Sequence[tuple[DocumentRef, Layout]]) -> Iterator[str]:
    """Sentences about the layout most of whose patterns the file has; none where no line is like any of them."""
    found = sorted(
        (one for one in (_missed(data, ref.id, layout) for ref, layout in layouts) if one is not None),
        key=lambda one: (-one[0], one[1]),
    )
    for _, name, pattern, lines in found[:1]:
        shown = "; ".join(f"line {number} is '{_plain(text)}'" for number, text in lines)
        yield f"Nearest is {name}: no line is like '{pattern}'; {shown}."


def _missed(data: bytes, name: str, layout: Layout) -> tuple[float, str, str, list[tuple[int, str]]] | None:
    """How near a layout is, its first pattern that no line has, and the lines most like it."""
    lines = [(number, line) for number, line in enumerate(opening_lines(data, layout), 1) if line.strip()]
    patterns = zip(layout.recognised_by, plan_of(layout).recognised, strict=True)
    missed = [text for text, pattern in patterns if not any(pattern.fullmatch(line) for _, line in lines)]
    if not missed:
        return None
    alike = sorted(((_alike(missed[0], line), -number) for number, line in lines), reverse=True)[:_LINES_SHOWN]
    near = [(-number, ratio) for ratio, number in alike if ratio >= _ALIKE]
    if not near:
        return None
    had = (len(layout.recognised_by) - len(missed)) / len(layout.recognised_by)
    texts = dict(lines)
    return had + near[0][1], name, missed[0], [(number, texts[number]) for number, _ in near]


def _plain(text: str) -> str:
    """The beginning of a line that nobody has read yet, without signs that do not print."""
    return "".join(sign if sign.isprintable() else "?" for sign in text[:60])


def _alike(pattern: str, line: str) -> float:
    return SequenceMatcher(None, _SIGNS.sub("", pattern), line[:_LONGEST], autojunk=False).ratio()
