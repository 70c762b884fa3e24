"""What each chart shows, read off its own axes; and what it refuses."""

# ruff: noqa: RUF001, E501  true minus signs are what is printed; one case a line

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import pytest

from benchseal.pictures.against_limit import LimitData, Row, limit_picture
from benchseal.pictures.check_chart import CheckData, Line, Value, check_picture
from benchseal.pictures.over_run import Kind, OverRunData, Read, over_run_picture
from benchseal.pictures.shares import Share, SharesData, shares_picture, shown_shares

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.pictures.axes import Tick
    from benchseal.pictures.labels import Label


def read_off(ticks: Sequence[Tick], at: float, power: int = 0) -> float:
    """The value at a place, by the outermost ticks, so that a test does not share the picture's own scale."""
    low, high = (float(tick.label.replace("−", "-")) for tick in (ticks[0], ticks[-1]))
    return (low + (high - low) * (at - ticks[0].at) / (ticks[-1].at - ticks[0].at)) * 10.0**power


def texts(labels: Sequence[Label]) -> list[str]:
    return [one.text for one in labels]


CHECKS = CheckData(
    "check-standard of run R-00003",
    "position in the run",
    "found",
    "%",
    (Value(9, 100.2), Value(21, 96.87), Value(33, 87.1, "87.1 %, fails"), Value(45, 512.0, "512 %, fails")),
    (Line(90.0, "limit 90"), Line(110.0, "limit 110"), Line(100.0, "expected", "middle")),
)


def test_a_check_stands_where_the_axes_say_and_a_failed_one_has_its_words() -> None:
    picture = check_picture(CHECKS, 400.0, 120.0)
    for spot, value in zip(picture.spots[:3], CHECKS.values, strict=False):
        assert read_off(picture.x_ticks, spot.x) == pytest.approx(value.x, abs=0.05)
        assert read_off(picture.y_ticks, spot.y) == pytest.approx(value.y, abs=0.2)
    assert [spot.shape for spot in picture.spots] == ["circle", "circle", "cross", "up"]
    assert {"87.1 %, fails", "512 %, fails"} <= set(texts(picture.labels))
    assert picture.notes == ()


def test_lines_are_named_at_their_ends_and_stand_where_the_axis_says() -> None:
    picture = check_picture(CHECKS, 400.0, 120.0)
    assert [(rule.kind, round(read_off(picture.y_ticks, rule.y))) for rule in picture.rules] == [
        ("limit", 110), ("middle", 100), ("limit", 90),
    ]  # fmt: skip
    for name in ("limit 90", "expected", "limit 110"):
        assert name in texts(picture.labels)


def test_one_value_far_off_does_not_flatten_the_others() -> None:
    picture = check_picture(CHECKS, 400.0, 120.0)
    assert picture.y_ticks[-1].label != "500"
    assert picture.spots[3].y < picture.panel.top + 6.0


def test_values_that_hardly_differ_are_drawn_flat() -> None:
    """100.79 and 100.81 without lines: the axis spans a twentieth of them, not the fiftieth part of one between."""
    data = CheckData("s", "value no.", "found", "%", (Value(1, 100.79), Value(2, 100.81)), joined=True)
    picture = check_picture(data, 500.0, 105.0)
    low, high = (read_off(picture.y_ticks, at) for at in (picture.panel.bottom, picture.panel.top))
    assert high - low == pytest.approx(100.81 * 0.05 * 1.1, abs=0.2)
    assert abs(picture.spots[0].y - picture.spots[1].y) < 1.0
    wide = check_picture(CheckData("s", "x", "found", "%", (Value(1, 50.0), Value(2, 100.0))), 500.0, 105.0)
    assert abs(wide.spots[0].y - wide.spots[1].y) == pytest.approx((105.0 - 32.0) / 1.1, abs=0.5)


def test_lines_at_one_place_share_their_name() -> None:
    data = CheckData("s", "x", "found", "%", (Value(1, 1.0),), (Line(2.0, "limit 2"), Line(2.0, "+3 s")))
    assert "limit 2, +3 s" in texts(check_picture(data, 300.0, 100.0).labels)


def test_the_sentence_of_a_chart_names_lines_and_failures() -> None:
    assert check_picture(CHECKS, 400.0, 120.0).sentence == (
        "check-standard of run R-00003: 4 values of found, %, against limit 110, expected, limit 90; "
        "position in the run 33: 87.1 %, fails; position in the run 45: 512 %, fails."
    )


OVER = OverRunData(
    "Lead",
    "absorbance",
    "",
    "check standard 10 µg/L",
    (Read(9, 0.30), Read(9, 0.32), Read(33, 0.25)),
    (Kind("calibration blank", (Read(1, 0.001),)), Kind("check blank", (Read(10, 0.002), Read(34, 0.004)))),
)


def test_readings_over_a_run_stand_where_the_axes_say_and_kinds_differ_in_shape() -> None:
    picture = over_run_picture(OVER, 400.0, 190.0)
    upper, lower = picture.strips
    for spot, reading in zip(upper.spots, OVER.standards, strict=True):
        assert read_off(picture.x_ticks, spot.x) == pytest.approx(reading.x, abs=0.05)
        assert read_off(upper.y_ticks, spot.y) == pytest.approx(reading.y, abs=0.001)
    assert [spot.shape for spot in lower.spots] == ["circle", "square", "square"]
    assert [spot.shape for spot in picture.key] == ["circle", "square"]
    assert upper.first is not None
    assert read_off(upper.y_ticks, upper.first) == pytest.approx(0.31, abs=0.001)


def test_the_line_of_a_drift_correction_is_drawn_through_its_places() -> None:
    line = (Read(9, 0.31), Read(20, 0.28), Read(33, 0.25))
    data = OverRunData("Lead", "absorbance", "", "check standard", OVER.standards, (), line)
    (strip,) = over_run_picture(data, 400.0, 150.0).strips
    assert strip.path.count("L") == 2
    assert "drift correction" in over_run_picture(data, 400.0, 150.0).sentence


def test_blanks_alone_are_one_panel() -> None:
    data = OverRunData("Lead", "absorbance", "", "", (), OVER.blanks)
    picture = over_run_picture(data, 400.0, 120.0)
    assert len(picture.strips) == 1
    assert picture.strips[0].first is None


SHARES = SharesData(
    "A-1, content",
    (
        *(Share("weighing", "0.0008"), Share("recovery", "17.1"), Share("reading noise", "54.7")),
        *(Share("volume", "0.04"), Share("calibration curve", "28.1")),
    ),
)


def test_shares_are_ordered_and_the_small_ones_summed() -> None:
    rows = [(name, str(percent), rest) for name, percent, rest in shown_shares(SHARES)]
    assert rows == [
        ("reading noise", "54.7", False), ("calibration curve", "28.1", False), ("recovery", "17.1", False),
        ("the other 2", "0.0408", True),
    ]  # fmt: skip
    picture = shares_picture(SHARES, 230.0)
    assert [bar.light for bar in picture.bars] == [False, False, False, True]
    assert picture.bars[1].width / picture.bars[0].width == pytest.approx(28.1 / 54.7, abs=0.001)
    assert "< 0.1 %" in texts(picture.labels)


def test_one_small_share_keeps_its_name() -> None:
    data = SharesData("s", (Share("curve", "99.6"), Share("volume", "0.4")))
    assert [name for name, _, _ in shown_shares(data)] == ["curve", "volume"]


LIMIT = LimitData(
    "Lead",
    "content",
    "µg/g",
    None,
    0.50,
    "",
    "0.50",
    (
        Row("A-1", "0.067 ± 0.020, complies", 0.067, 0.020, None, None, 0.48),
        Row("A-2", "0.62 ± 0.08, does not comply", 0.62, 0.08),
        Row("A-3", "< 0.050, complies", below=0.050),
        Row("A-4", "12 ± 1, does not comply", 12.0, 1.0),
        Row("A-5", "no result"),
    ),
)


def test_results_stand_where_the_axis_says_with_u_and_guard_band() -> None:
    picture = limit_picture(LIMIT, 480.0)
    first, second, third, fourth, fifth = picture.strips
    assert first.dot is not None
    assert first.whisker is not None
    assert read_off(picture.x_ticks, first.dot) == pytest.approx(0.067, abs=0.001)
    assert [read_off(picture.x_ticks, at) for at in first.whisker] == pytest.approx([0.047, 0.087], abs=0.001)
    assert [read_off(picture.x_ticks, at) for at in first.guards[0]] == pytest.approx([0.48, 0.50], abs=0.001)
    assert [read_off(picture.x_ticks, at) for at in picture.limits] == pytest.approx([0.50], abs=0.001)
    assert second.guards == ()
    assert third.dot is None
    assert third.less_than is not None
    assert read_off(picture.x_ticks, third.less_than) == pytest.approx(0.050, abs=0.001)
    assert fourth.dot is None
    assert fourth.arrow is not None
    assert fourth.arrow_right
    assert (fifth.dot, fifth.less_than, fifth.arrow) == (None, None, None)
    assert {"at most 0.50", "A-3", "< 0.050, complies", "12 ± 1, does not comply"} <= set(texts(picture.labels))


def test_two_sided_limits_have_two_lines() -> None:
    rows = (Row("A-3", "90.0 ± 1.9, complies", 89.96, 1.9, None, 91.9, 108.1),)
    picture = limit_picture(LimitData("Zinc", "percent of claim", "%", 90.0, 110.0, "90.0", "110.0", rows), 480.0)
    assert [round(read_off(picture.x_ticks, at)) for at in picture.limits] == [90, 110]
    assert len(picture.strips[0].guards) == 2
    assert "limit at least 90.0 and at most 110.0 %" in picture.sentence


def test_a_limit_moved_outwards_has_its_band_outside() -> None:
    rows = (Row("A-1", "0.52 ± 0.05, complies", 0.52, 0.05, None, None, 0.55),)
    picture = limit_picture(LimitData("Lead", "content", "µg/g", None, 0.5, "", "0.50", rows), 480.0)
    left, right = picture.strips[0].guards[0]
    assert left == picture.limits[0] < right


@pytest.mark.parametrize(
    "make",
    [
        pytest.param(lambda: CheckData("s", "x", "y", "%", ()), id="a chart without a value"),
        pytest.param(lambda: CheckData("s", "x", "y", "%", (Value(1, math.nan),)), id="a check is not a number"),
        pytest.param(lambda: CheckData("s", "x", "y", "%", (Value(1, 1.0),), (Line(math.inf, "l"),)), id="a limit is infinite"),
        pytest.param(lambda: OverRunData("s", "a", "", "", (), ()), id="no readings"),
        pytest.param(lambda: OverRunData("s", "a", "", "", (Read(1, math.nan),), ()), id="a reading is not a number"),
        pytest.param(lambda: OverRunData("s", "a", "", "", (Read(1, 1.0),), (Kind("k", (Read(1, 1.0),)),) * 6), id="six kinds"),
        pytest.param(lambda: SharesData("s", ()), id="no shares"),
        pytest.param(lambda: LimitData("s", "q", "u", None, None, "", "", (Row("a", "w", 1.0),)), id="no limit"),
        pytest.param(lambda: LimitData("s", "q", "u", None, 1.0, "", "1", ()), id="no results"),
        pytest.param(lambda: LimitData("s", "q", "u", None, math.nan, "", "1", (Row("a", "w"),)), id="a limit is not a number"),
        pytest.param(lambda: limit_picture(LIMIT, 150.0), id="no room for the scale"),
    ],
)  # fmt: skip
def test_refused_data(make: object) -> None:
    assert callable(make)
    with pytest.raises(ValueError, match=r"picture needs|chart needs|no room"):
        make()
