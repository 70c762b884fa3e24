"""Every picture, whatever the data: words within the paper, none over another; places within their panels."""

# ruff: noqa: RUF001  true minus signs are what is printed

from __future__ import annotations

from typing import TYPE_CHECKING

from hypothesis import given
from hypothesis import strategies as st

from benchseal.pictures.against_limit import LimitData, Row, limit_picture
from benchseal.pictures.calibration import BandPoint, CalibrationData, Standard, calibration_picture
from benchseal.pictures.check_chart import CheckData, Line, Value, check_picture
from benchseal.pictures.labels import Box, clear
from benchseal.pictures.over_run import Kind, OverRunData, Read, over_run_picture
from benchseal.pictures.shares import Share, SharesData, shares_picture, shown_shares

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.pictures.labels import Label

REASONS = ("", "", "", "bubble seen", "air or a blockage in the uptake", "the solution was contaminated or spilled")
SIZES = st.sampled_from([1e-6, 1e-3, 0.06, 1.0, 50.0, 2e4, 3e6])
PARTS = st.floats(min_value=-1.0, max_value=1.0)
NAMES = st.sampled_from(["A-1", "B-22/7", "AF-2025-11-30-LN-0042/B", "S-00001"])


def lie_well(labels: Sequence[Label], width: float, height: float) -> None:
    assert clear(labels), [(one.text, one.box) for one in labels]
    paper = Box(-0.01, -0.01, width + 0.01, height + 0.01)
    assert all(one.box.within(paper) for one in labels), [(one.text, one.box) for one in labels]


@st.composite
def calibrations(draw: st.DrawFn) -> CalibrationData:
    top, slope = draw(SIZES), draw(SIZES)
    levels = draw(st.lists(st.integers(min_value=0, max_value=40), min_size=3, max_size=12))
    levels += [0, 40]
    standards = tuple(
        Standard(
            top * level / 40.0,
            slope * (level / 40.0 + 0.05 * draw(PARTS)),
            draw(st.sampled_from(REASONS)) if nth < len(levels) - 2 else "",
        )
        for nth, level in enumerate(levels)
    )
    wide = slope * 0.04
    band = tuple(BandPoint(top * x / 10.0, slope * x / 10.0 - wide, slope * x / 10.0 + wide) for x in range(11))
    return CalibrationData(
        "Lead", "a line", "concentration", "µg/L", "absorbance", "s", standards, (0.0, slope / top), band
    )


@given(calibrations(), st.sampled_from([(310.0, 220.0), (156.0, 128.0), (114.0, 95.0), (240.0, 140.0)]))
def test_calibration(data: CalibrationData, size: tuple[float, float]) -> None:
    picture = calibration_picture(data, *size)
    lie_well(picture.labels, *size)
    left_out = [one.excluded for one in data.standards if one.excluded]
    beside = [one.text for one in picture.labels if one.text in set(left_out)]
    assert sorted([*beside, *(note.partition(": ")[2] or note for note in picture.notes)]) == sorted(left_out)
    for mark in picture.marks:
        assert picture.upper.left <= mark.x <= picture.upper.right
        assert picture.upper.top <= mark.y <= picture.upper.bottom


@given(
    SIZES,
    st.lists(st.tuples(st.integers(min_value=1, max_value=200), PARTS, st.booleans()), min_size=1, max_size=40),
    st.lists(st.tuples(PARTS, st.sampled_from(["limit 90", "limit 110", "mean", "+2 s", "−2 s", "+3 s"])), max_size=6),
)
def test_check_chart(size: float, values: list[tuple[int, float, bool]], lines: list[tuple[float, str]]) -> None:
    named = {text: Line(size * part * 0.1, text) for part, text in lines}
    found = tuple(Value(x, size * part, "87.1 %, fails" if bad else "") for x, part, bad in values)
    data = CheckData("check-standard", "position in the run", "found", "%", found, tuple(named.values()))
    picture = check_picture(data, 310.0, 110.0)
    lie_well(picture.labels, 310.0, 110.0)
    told = sum(one.text == "87.1 %, fails" for one in picture.labels) + len(picture.notes)
    assert told == sum(bad for _, _, bad in values)
    for spot in picture.spots:
        assert picture.panel.left <= spot.x <= picture.panel.right
        assert picture.panel.top <= spot.y <= picture.panel.bottom


READS = st.lists(st.tuples(st.integers(min_value=1, max_value=300), PARTS), max_size=12)


@given(SIZES, READS, st.lists(READS.filter(bool), max_size=5), st.booleans())
def test_over_run(
    size: float, standards: list[tuple[int, float]], blanks: list[list[tuple[int, float]]], line: bool
) -> None:
    names = ("zero standard", "calibration blank", "check blank", "method blank", "rinse")
    if not standards and not blanks:
        return
    own = tuple(Read(x, size * part) for x, part in sorted(standards))
    data = OverRunData(
        "Lead",
        "absorbance",
        "s",
        "check standard 10 µg/L",
        own,
        tuple(
            Kind(name, tuple(Read(x, size * part / 50) for x, part in rows))
            for name, rows in zip(names, blanks, strict=False)
        ),
        own if line else (),
    )
    picture = over_run_picture(data, 330.0, 190.0)
    lie_well(picture.labels, 330.0, 190.0)
    assert sum(len(strip.spots) for strip in picture.strips) == len(data.readings)
    for strip in picture.strips:
        for spot in strip.spots:
            assert strip.panel.left <= spot.x <= strip.panel.right
            assert strip.panel.top <= spot.y <= strip.panel.bottom


@given(st.lists(st.integers(min_value=0, max_value=1000), min_size=1, max_size=14))
def test_shares(parts: list[int]) -> None:
    whole = sum(parts) or 1
    shares = tuple(Share(f"contribution {nth}", f"{100 * part / whole:.6f}") for nth, part in enumerate(parts))
    data = SharesData("lead", shares)
    picture = shares_picture(data, 230.0)
    lie_well(picture.labels, picture.width, picture.height)
    rows = shown_shares(data)
    assert abs(float(sum(percent for _, percent, _ in rows)) - (100.0 if sum(parts) else 0.0)) < 0.001
    alone = [percent for _, percent, rest in rows if not rest]
    assert alone == sorted(alone, reverse=True)
    assert all(bar.x + bar.width <= picture.width for bar in picture.bars)


@st.composite
def limited(draw: st.DrawFn) -> LimitData:
    size = draw(SIZES)
    sides = draw(st.sampled_from(["low", "high", "both"]))
    low = size * 0.9 if sides != "high" else None
    high = size * 1.1 if sides != "low" else None
    rows = []
    for _ in range(draw(st.integers(min_value=1, max_value=12))):
        kind = draw(st.sampled_from(["value", "below", "none"]))
        at = size * draw(st.sampled_from([-0.1, 0.0, 0.01, 0.5, 0.9, 1.0, 1.1, 1.3, 5.0, 4000.0]))
        moved = size * 0.05 if draw(st.booleans()) else None
        rows.append(
            Row(
                draw(NAMES),
                draw(
                    st.sampled_from(["0.067 ± 0.020, complies", "< 0.050, does not comply, conditionally", "no result"])
                ),
                at if kind == "value" else None,
                abs(at) * 0.3 if kind == "value" else None,
                abs(at) if kind == "below" else None,
                low + moved if low is not None and moved else None,
                high - moved if high is not None and moved else None,
            )
        )
    text = f"{size * 1.1:g}"
    return LimitData("Lead", "content", "µg/g", low, high, text, text, tuple(rows))


@given(limited())
def test_against_limit(data: LimitData) -> None:
    picture = limit_picture(data, 500.0)
    lie_well(picture.labels, picture.width, picture.height)
    panel = picture.panel
    assert all(panel.left <= at <= panel.right for at in picture.limits)
    for row, strip in zip(data.rows, picture.strips, strict=True):
        drawn = [strip.dot, strip.less_than, strip.arrow]
        assert sum(at is not None for at in drawn) == (row.value is not None or row.below is not None)
        places = [at for at in (*drawn, *(strip.whisker or ()), *strip.accepted) if at is not None]
        assert all(panel.left <= at <= panel.right for at in places)
