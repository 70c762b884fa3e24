"""Widths of words, and places where they cover nothing."""

# ruff: noqa: RUF001  true dashes and signs are what is printed

from __future__ import annotations

import io
import string

import pytest
from fontTools.ttLib import TTFont
from hypothesis import given
from hypothesis import strategies as st

from benchseal import shipped
from benchseal.certificate.complete import FONT_FILES
from benchseal.pictures.labels import SIZE, Box, Label, around, beside, clear, spread, width_of

ROOM = Box(0.0, 0.0, 200.0, 100.0)
PRINTED = f"{string.ascii_letters}{string.digits} .,:;'!?%&()[]{{}}*-/#$+<=>~^±×−–≤≥²³⁴⁻µ°·’"


@pytest.mark.parametrize("sign", sorted(set(PRINTED)))
def test_a_sign_is_as_wide_as_the_shipped_face_says(sign: str) -> None:
    font = TTFont(io.BytesIO(shipped.template_bytes(FONT_FILES[0])), lazy=True)
    advance = font["hmtx"][font.getBestCmap()[ord(sign)]][0] / font["head"].unitsPerEm
    assert width_of(sign) == pytest.approx(SIZE * advance, abs=0.001)


def test_a_sign_without_a_width_is_taken_as_a_wide_one() -> None:
    assert width_of("\u0416") > width_of("m")


def test_a_box_has_a_foot_only_where_a_letter_hangs_below_the_line() -> None:
    assert Label(0, 10, "0.05").box.bottom == 10
    assert Label(0, 10, "µg").box.bottom > 10


def test_words_stand_beside_their_point_and_not_beside_another() -> None:
    at, other = (50.0, 50.0), (50.0, 62.0)
    found = beside("bubble seen", at, ROOM, [around(*at, 2.4), around(*other, 2.4)], [at, other])
    assert found is not None
    assert not found.box.overlaps(around(*other, 2.4))
    assert abs(found.y - at[1]) < abs(found.y - other[1])


def test_words_that_find_no_place_are_none() -> None:
    assert beside("a reason much too long for so small a room", (5.0, 5.0), Box(0, 0, 30, 30), []) is None


@given(st.lists(st.floats(min_value=20, max_value=80), min_size=1, max_size=7))
def test_labels_of_a_column_are_pushed_apart_and_keep_their_order(heights: list[float]) -> None:
    labels = [Label(0, height, f"limit {nth}") for nth, height in enumerate(heights)]
    moved = spread(labels, 10.0, 90.0)
    assert clear(moved)
    assert [one.text for one in moved] == [one.text for one in sorted(labels, key=lambda one: one.y)]
    assert all(one.box.top >= 10.0 - 1e-9 and one.y <= 90.0 for one in moved)


def test_a_label_with_room_stays_where_it_is() -> None:
    assert spread([Label(0, 50, "mean")], 10.0, 90.0)[0].y == 50
