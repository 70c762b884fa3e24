"""The words of a page as its drawing was followed: each run with its part, and the lines they stand in.

A page is gone through once for whether it is seen (``page_drawing``) and what it says; ``page_text`` reads the words of
pages that no certificate is made of.
"""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple

from benchseal.certificate.page_drawing import Drawing
from benchseal.certificate.page_letters import Letters, said

if TYPE_CHECKING:
    from collections.abc import Iterator

    import pikepdf


class Said(NamedTuple):
    """Text of a run, the number of its figure, 0 outside figures, and the number of its part (``page_aloud``)."""

    text: str
    figure: int
    mark: int


class Pages:
    """The pages of a file, each followed once, when they are first asked for."""

    def __init__(self, pdf: pikepdf.Pdf) -> None:
        self._pdf = pdf

    @cached_property
    def drawn(self) -> tuple[Drawing, ...]:
        """Each page followed. Raises where a font is not built as one of a certificate (``page_type``)."""
        known: dict[tuple[int, int], Letters] = {}
        return tuple(Drawing(page, known) for page in self._pdf.pages)

    def texts(self) -> tuple[str, ...]:
        """Text of each page; runs on one base line are one line. Raises KeyError for a letter without a character."""
        return tuple(map(_text_of, self.drawn))


def said_of(drawn: Drawing) -> Iterator[Said]:
    """Each run, part by part as they end; those of drawings apart, in figures, too."""
    for part in drawn.parts:
        for run, letters, _ in drawn.lettered[part.begin : part.end]:
            yield Said(said(run, letters), part.figure, part.mark)


def _text_of(drawn: Drawing) -> str:
    lines: list[tuple[float, list[str]]] = []
    for run, letters, level in drawn.lettered:
        if level is None:
            continue
        text = said(run, letters)
        if lines and lines[-1][0] == level:
            lines[-1][1].append(text)
        else:
            lines.append((level, [text]))
    return "\n".join(" ".join(" ".join(runs).split()) for _, runs in lines)
