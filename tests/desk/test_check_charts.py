"""Control charts on paper: a picture for each lot with its frozen lines, broken rules in words, tables, structure."""

from __future__ import annotations

import io
from dataclasses import replace
from typing import TYPE_CHECKING

import pikepdf
import pytest
from tests.certificate.structure import elements, every_fault, tables_with_heads
from tests.compute.test_history_chart import TWENTY, charted, row, value

from benchseal.certificate.chart_page import ChartPage, render_charts
from benchseal.certificate.language import MINUS
from benchseal.certificate.page_text import page_texts
from benchseal.certificate.run_report import Figure, Table
from benchseal.desk.check_charts import VALUES_A_PICTURE, chart_part
from benchseal.desk.histories import Series
from benchseal.pictures.check_chart import CheckPicture

if TYPE_CHECKING:
    from benchseal.certificate.run_report import Paper, Part
    from benchseal.compute.history_chart import Chart


def part_of(chart: Chart) -> Part:
    return chart_part(Series("cs", "check_standard", "AA-1", chart), chart)


def pictures(part: Part) -> list[CheckPicture]:
    return [one.picture for one in part.items if isinstance(one, Figure) and isinstance(one.picture, CheckPicture)]


def table(part: Part, begins: str) -> Table:
    (found,) = [one for one in part.items if isinstance(one, Table) and one.caption.startswith(begins)]
    return found


def broken() -> Chart:
    """By hand (tests/cli/test_history.py): centre 100, s 0.666; 104 is beyond 3 s, lot L-2 has no limits yet."""
    new = row(["98", "99"], 22, lot="L-2")
    failed = replace(new[1], verdict="fail")
    return charted(*row((*TWENTY, "104")), new[0], failed, replace(value(24, ""), verdict="not_evaluated"))


def test_each_lot_has_a_picture_with_its_own_lines() -> None:
    first, second = pictures(part_of(broken()))
    names = {label.text for label in first.labels}
    assert {"mean 100.00", f"{MINUS}2 s 98.67", "+2 s 101.33", f"{MINUS}3 s 98.00", "+3 s 102.00"} <= names
    assert sorted(rule.kind for rule in first.rules) == ["limit", "limit", "middle", "warning", "warning"]
    assert second.rules == ()


def test_what_breaks_a_rule_has_another_shape_and_words() -> None:
    first, second = pictures(part_of(broken()))
    assert [spot.shape for spot in first.spots] == ["circle"] * 20 + ["cross"]
    assert "W1" in {label.text for label in first.labels}
    assert first.sentence.endswith("value no. 21: W1.")
    assert [spot.shape for spot in second.spots] == ["circle", "cross"]
    assert second.sentence.endswith("no lines; value no. 23: fails.")


def test_far_off_is_an_arrow_with_its_words() -> None:
    (picture,) = pictures(part_of(charted(*row((*TWENTY, "150")))))
    assert picture.spots[-1].shape == "up"
    assert "W1" in {label.text for label in picture.labels}


def test_the_lines_are_frozen_whatever_follows() -> None:
    (before,) = pictures(part_of(charted(*row(TWENTY))))
    (after,) = pictures(part_of(charted(*row((*TWENTY, "101.9", "101.9")))))
    named = [{one.text for one in each.labels if " s " in one.text or "mean" in one.text} for each in (before, after)]
    assert named[0] == named[1]


def test_tables_hold_every_value_and_every_limit() -> None:
    part = part_of(broken())
    values = table(part, "Values").rows
    assert [one[0] for one in values] == [str(n) for n in range(1, 25)]
    assert values[20][1:] == ("R-00021", "9", "2026-01-22 08:00", "104.00 %", "", "", "A", "W1")
    assert values[23][4:] == ("none", "", "not judged", "A", "")
    frozen, none = table(part, "Limits").rows
    assert frozen[3:] == (
        "limits from its first 20 values, R-00001 to R-00020; frozen",
        "100.00",
        "0.666",
        "98.67 to 101.33",
        "98.00 to 102.00",
    )
    assert none[3].startswith("none: they need at least 10 values")
    assert table(part, "Run rules").rows == (("W1", "a value beyond 3 s", "21", "A"),)


def test_found_and_expected_have_their_own_units_and_a_true_minus() -> None:
    """A percentage of 10 µg/L is no 100.2 % that should be 10.0."""
    percent = [replace(one, expected="10.0", expected_unit="ug/L", verdict="pass") for one in row(("100.2",))]
    blank = [replace(one, expected="0", unit="ug/L", expected_unit="ug/L", lot="B") for one in row(("-0.02269",), 2)]
    values = table(part_of(charted(*percent, *blank)), "Values").rows
    assert values[0][4:6] == ("100.2 %", "10.0 µg/L")
    assert values[1][4:6] == (f"{MINUS}0.02269 µg/L", "0 µg/L")


def test_a_rule_called_by_its_kind_is_named_once() -> None:
    chart = charted(*row(TWENTY))
    named = [
        chart_part(Series(rule, kind, "AA-1", chart), chart).title
        for rule, kind in (("check-standard", "check_standard"), ("spike", "spike"), ("portions", "portions_agree"))
    ]
    assert named == ["check-standard on AA-1", "spike on AA-1", "portions (portions agree) on AA-1"]


def test_the_line_is_broken_where_a_value_is_missing() -> None:
    found = [*row(("100", "101")), replace(value(3, ""), verdict="not_evaluated"), *row(("100", "99"), 4)]
    (picture,) = pictures(part_of(charted(*found)))
    assert [piece.count("L") for piece in picture.path.split("M")] == [0, 1, 1]


def test_few_values_without_lines_have_a_low_picture() -> None:
    """So that a page holds several of them."""
    (few,), (lined,) = pictures(part_of(charted(*row(("98", "99"))))), pictures(part_of(charted(*row(TWENTY))))
    assert few.height < lined.height


def test_a_long_series_is_drawn_in_pieces() -> None:
    part = part_of(charted(*row(TWENTY * 6)))
    found = pictures(part)
    assert sum(len(one.spots) for one in found) == 120
    assert max(len(one.spots) for one in found) <= VALUES_A_PICTURE
    assert len({tuple(rule.kind for rule in one.rules) for one in found}) == 1


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_the_paper_is_built_like_any_other(paper: Paper) -> None:
    part = part_of(broken())
    page = ChartPage(
        "lead", "The newest value is part of no broken run rule.", "open", "Tern Quay Laboratory", "4 Tern Quay",
        "benchseal", "2026-11-26T14:00:00Z", (("method", "lead"),), (part,),
    )  # fmt: skip
    made = render_charts(page, paper)
    assert every_fault(made) == []
    assert made == render_charts(page, paper)
    with pikepdf.open(io.BytesIO(made)) as pdf:
        said = [str(one.Alt) for one in elements(pdf) if str(one.get("/S", "")) == "/Figure"]
        assert said == [one.sentence for one in pictures(part)]
        assert tables_with_heads(pdf) == 4  # the one of 24 values goes on over a page, with its header
        width = float(pdf.pages[0].MediaBox[2])
        assert width == pytest.approx(612 if paper == "letter" else 595.28, abs=0.1)
        text = " ".join(page_texts(pdf))
    assert "End of the control charts of lead" in text
