"""Words stand in the order they are read in: of every two that change their places, it is told. Cases made here."""

from __future__ import annotations

import io
from itertools import combinations
from typing import TYPE_CHECKING

import pikepdf
import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.certificate.conftest import ATTACHED, SEALED_AT
from tests.certificate.test_page_flow import VIEWS

from benchseal.certificate.page_form import read_runs
from benchseal.certificate.page_order import order_faults, overlap_faults
from benchseal.certificate.render import render

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.certificate.page_order import Run


def run(begin: float, end: float, level: float, height: float = 9.0) -> Run:
    return begin, end, level, height


def changed(runs: Sequence[Run], one: int, other: int) -> list[Run]:
    """Two runs in each other's place, each as long as it is."""
    made = list(runs)
    for at, place in ((one, other), (other, one)):
        begin, level = runs[place][0], runs[place][2]
        made[at] = (begin, begin + runs[at][1] - runs[at][0], level, runs[at][3])
    return made


def table(rows: int, columns: int) -> list[Run]:
    return [
        run(100.0 * column, 100.0 * column + 60, 700.0 - 12 * row) for row in range(rows) for column in range(columns)
    ]


@given(st.integers(1, 6), st.integers(1, 5), st.data())
def test_of_two_cells_that_changed_places_it_is_told(rows: int, columns: int, data: st.DataObject) -> None:
    """But for the last of a row and the first of the next one, which the module names as its limit."""
    runs = table(rows, columns)
    assert list(order_faults(runs)) == []
    if len(runs) < 2:
        return
    one = data.draw(st.integers(0, len(runs) - 2))
    other = data.draw(st.integers(one + 1, len(runs) - 1))
    neighbours = other == one + 1 and other % columns == 0 and columns > 1
    assert bool(list(order_faults(changed(runs, one, other)))) is not neighbours


@pytest.mark.parametrize(
    "runs",
    [
        [run(50.0, 90.0, 700.0), run(80.0, 120.0, 700.0)],  # over each other
        [run(50.0, 90.0, 700.0), run(60.0, 120.0, 697.0)],  # nearly
        [run(50.0, 90.0, 700.0), run(20.0, 40.0, 700.0)],  # to the left
        [run(50.0, 90.0, 700.0), run(50.0, 90.0, 730.0)],  # above
        [run(50.0, 90.0, 700.0), run(50.0, 90.0, 680.0), run(50.0, 90.0, 690.0)],  # between
    ],
)
def test_what_is_out_of_order(runs: list[Run]) -> None:
    assert list(order_faults(runs)) == ["words stand in another order than they are read in, or over each other."]


@pytest.mark.parametrize(
    "runs",
    [
        [],
        [run(50.0, 90.0, 700.0), run(90.5, 95.0, 703.0), run(95.0, 120.0, 700.0)],  # a letter set higher
        [
            run(50.0, 90.0, 700.0),
            run(50.0, 90.0, 680.0),
            run(300.0, 390.0, 700.0),
            run(300.0, 390.0, 680.0),
        ],  # two columns
        [
            run(50.0, 90.0, 700.0),
            run(200.0, 290.0, 700.0),
            run(200.0, 290.0, 690.0),
            run(400.0, 410.0, 700.0),
        ],  # a cell of two lines
    ],
)
def test_what_is_in_order(runs: list[Run]) -> None:
    assert list(order_faults(runs)) == []


def test_more_than_a_page_holds() -> None:
    assert list(order_faults([run(0.0, 1.0, 0.0)] * 20_001)) == ["it holds more words than a page has room for."]


def unseen_pairs(name: str, every: int) -> None:
    """Unseen are neighbours, the last words of a line or block and the first after it. every: so many-th pair."""
    raw = render(VIEWS[name], ATTACHED, SEALED_AT)
    assert isinstance(raw, bytes), raw
    with pikepdf.open(io.BytesIO(raw)) as pdf:
        runs = read_runs(pdf.pages[0])
    assert len(runs) > 60
    assert list(order_faults(runs)) == []
    pairs = [*combinations(range(len(runs)), 2)][::every]
    unseen = [pair for pair in pairs if not list(order_faults(changed(runs, *pair)))]
    for one, other in unseen:  # never two of one line or one column, whatever they say
        assert abs(runs[one][0] - runs[other][0]) > 10
        assert abs(runs[one][2] - runs[other][2]) > 4
    assert len(unseen) < len(pairs) / 100


@pytest.mark.parametrize("name", VIEWS)
def test_two_words_of_a_certificate_that_changed_places(name: str) -> None:
    """Of its first page."""
    unseen_pairs(name, 7)


@pytest.mark.long
@pytest.mark.parametrize("name", VIEWS)
def test_every_two_words_that_changed_places(name: str) -> None:
    unseen_pairs(name, 1)


@pytest.mark.parametrize(
    ("one", "other"),
    [
        (run(50, 90, 700), run(80, 120, 700)),
        (run(50, 90, 700), run(50, 90, 703)),
        (run(50, 90, 700), run(50, 90, 697)),
        (run(50, 90, 700), run(60, 70, 690, 60)),  # one large letter over several lines
        (run(50, 90, 700), run(60, 62, 701, 3)),
    ],
)
def test_letters_over_others(one: Run, other: Run) -> None:
    over = ["words stand over each other."]
    assert list(overlap_faults([one, other], [])) == list(overlap_faults([other, one], [])) == over
    assert list(overlap_faults([one], [other])) == list(overlap_faults([other], [one])) == over
    assert list(overlap_faults([], [one, other])) == []  # in a figure they may


@pytest.mark.parametrize("other", [run(91, 120, 700), run(50, 90, 691), run(50, 90, 709), run(90, 95, 703, 6)])
def test_letters_beside_others(other: Run) -> None:
    assert list(overlap_faults([run(50, 90, 700), other], [])) == []
    assert list(overlap_faults([run(50, 90, 700)], [other])) == []


def test_more_letters_than_a_page_holds() -> None:
    many = [run(0, 1, 0)] * 20_001
    assert (
        list(overlap_faults(many, []))
        == list(overlap_faults([], many))
        == ["it holds more words than a page has room for."]
    )
