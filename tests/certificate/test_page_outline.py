"""Blocks and shapes due from a page in HTML, against those told by a file. Cases made here, worked by hand."""

from __future__ import annotations

import pytest

from benchseal.certificate.page_figure import due_shapes, shape_faults
from benchseal.certificate.page_outline import Block, due_blocks, outline_faults

PAGE = (
    "<h1>A <b>title</b></h1><div><p>One &amp; two.</p><svg></div><table><caption>Of it</caption><thead><tr>"
    '<th scope="col">X</th><th colspan="2">Y</th></tr></thead><tbody><tr><td>1</td><td>2</td><td></td></tr>'
    "</tbody></table>"
)
HEAD = Block("/TR", "XY", (("/TH", 1, "X"), ("/TH", 2, "Y")), head=True, first=True)
ROW = Block("/TR", "12", (("/TD", 1, "1"), ("/TD", 1, "2"), ("/TD", 1, "")))
DUE = (Block("/H1", "Atitle"), Block("/P", "One&two."), Block("/Figure", ""), Block("/Caption", "Ofit"), HEAD, ROW)


def faults(told: tuple[Block, ...], *, rows_alone: bool = False) -> list[str]:
    return list(outline_faults(told, DUE, rows_alone=rows_alone))


def test_blocks_of_a_page() -> None:
    assert due_blocks(PAGE) == DUE
    assert faults(DUE) == []


def test_a_paragraph_and_a_table_go_on_over_a_break() -> None:
    parts = (Block("/P", "One&"), Block("/P", "two.", page=1))
    told = (DUE[0], *parts, *(one._replace(page=1) for one in DUE[2:5]), HEAD._replace(page=2), ROW._replace(page=2))
    assert faults(told) == []
    assert faults(tuple(one._replace(page=0) for one in told)) != []


@pytest.mark.parametrize(
    ("told", "fault"),
    [
        (
            (*DUE[:5], ROW._replace(cells=ROW.cells[::-1])),
            "a row of a table is read aloud with other cells than are due: '12'.",
        ),
        ((*DUE[:5], ROW._replace(head=True)), "a row is read aloud as one of another table, or of its head: '12'."),
        ((*DUE[:5], Block("/P", "12")), "a paragraph is read aloud where a row of a table is due: '12'."),
        (DUE[:5], "nothing is read aloud where a row of a table is due: '12'."),
        ((*DUE, ROW), "a row of a table is read aloud where nothing is due: '12'."),
        ((Block("/P", "Atitle"), *DUE[1:]), "a paragraph is read aloud where a heading is due: 'Atitle'."),
    ],
)
def test_blocks_told_otherwise(told: tuple[Block, ...], fault: str) -> None:
    assert faults(told) == [fault]


def test_of_an_own_layout_rows_alone_are_compared() -> None:
    assert faults((Block("/P", "Atitle"), HEAD, ROW), rows_alone=True) == []
    assert faults((HEAD, ROW._replace(cells=ROW.cells[::-1])), rows_alone=True) != []


def test_shapes_of_a_figure() -> None:
    """Steps told from where the last one ended become places (SVG 1.1, 8.3)."""
    path = '<path d="M1 2h3v-1l1 1Q7 5 8 2z" fill="none" stroke="#ff0000" stroke-width="0.5"/>'
    letters, numbers = due_shapes(f"<svg>{path}</svg>")
    assert letters == "Smmlllch"
    places = (0, 0, 1, 2, 4, 2, 4, 1, 5, 2, 19 / 3, 4, 22 / 3, 4, 8, 2)
    assert numbers == pytest.approx((1, 0, 0, 0.5, *places))


def test_shapes_drawn_otherwise() -> None:
    due = ("Sml", (0.0, 1.0))
    assert list(shape_faults([due], [due])) == []
    for other in (("Sm", (0.0, 1.0)), ("Sml", (0.0, 1.01)), ("Sml", (0.0,))):
        assert list(shape_faults([other], [due])) == ["figure 1 is drawn with other lines or fields than are due."]
    assert list(shape_faults([], [due])) == ["0 figures are drawn where 1 are due."]
