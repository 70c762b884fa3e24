"""The report of a run on paper: numbers of tables and figures, parts of long tables, tags, faces, sizes."""

from __future__ import annotations

import io
from dataclasses import replace
from typing import TYPE_CHECKING

import pikepdf
import pytest
from tests.pictures.test_charts import CHECKS as CHART
from tests.pictures.test_charts import LIMIT, OVER, SHARES

from benchseal.certificate.page_drawing import Drawing
from benchseal.certificate.page_form import read_runs
from benchseal.certificate.page_text import page_texts
from benchseal.certificate.page_words import said_of
from benchseal.certificate.record_page import Event
from benchseal.certificate.run_check_tables import FORMULAS
from benchseal.certificate.run_report import (
    ROWS_A_TABLE,
    Calculation,
    Column,
    Facts,
    Figure,
    Part,
    RunReport,
    Table,
    Words,
    numbered,
    render_run_report,
)
from benchseal.certificate.run_tables import ranges
from benchseal.compute.run_words import CHECK_NAMES
from benchseal.pictures.against_limit import limit_picture
from benchseal.pictures.check_chart import check_picture
from benchseal.pictures.over_run import over_run_picture
from benchseal.pictures.shares import shares_picture

if TYPE_CHECKING:
    from collections.abc import Sequence

NARROW, WIDE = Column("position", 20, figures=True), Column("said", 80)


def table(caption: str, rows: int, readings: int = 1) -> Table:
    """Rows in groups of so many readings; only the first of a group has a position."""
    cells = [(str(nth // readings + 1) if nth % readings == 0 else "", f"row {nth}") for nth in range(rows)]
    return Table(caption, (NARROW, WIDE), tuple(cells))


def figure(numbers: str) -> Figure:
    return Figure("shares", shares_picture(SHARES, 200.0), "Shares.", numbers)


REPORT = RunReport(
    subject="R-00003",
    stand="Reviewed; usable: one check fails.",
    stand_kind="open",
    laboratory="Tern Quay Laboratory",
    address="4 Tern Quay",
    program="benchseal",
    made_at="2026-11-26T14:00:00Z",
    about=(("method", "lead-furnace version 1"),),
    parts=(
        Part("Conditions", (Facts((("slit", "0.7 nm"),)), Words(("Nothing was found.",)))),
        Part(
            "Checks",
            (
                Figure("check_chart", check_picture(CHART, 480.0, 110.0), "Checks.", "Readings"),
                Figure("over_run", over_run_picture(OVER, 480.0, 180.0), "Drift.", "Readings", ("a note",)),
                Figure("against_limit", limit_picture(LIMIT, 480.0), "Limit.", "Results"),
                figure("Results"),
                table("Results", 3),
            ),
        ),
        Part("Readings", (table("Readings", 90, readings=3),)),
        Part("Calculations", (Calculation("Sample S-1", ("c = (A - b0) / b1", "  = 1.36 µg/L", "√(2²) ± 3")),)),
    ),
    signatures=(("Edda Farrow (p-edda.farrow), reviewer", "reviewed", "2026", "signature 9d6a6246"),),
    events=(
        Event(
            "7", "2026-11-26 14:00:00 UTC", "local", "Edda Farrow", "reviewer", "run reviewed", "run/R-3", "", "", ()
        ),
    ),
)


@pytest.fixture(scope="module")
def paper() -> bytes:
    return render_run_report(REPORT)


def kinds(data: bytes) -> list[str]:
    with pikepdf.open(io.BytesIO(data)) as pdf:
        return [
            str(one.S)
            for one in pdf.objects
            if isinstance(one, pikepdf.Dictionary) and one.get("/Type") == "/StructElem"
        ]


def test_tables_and_figures_are_numbered_and_figures_name_their_table() -> None:
    parts = numbered((Part("one", (figure("B"), table("A", 2))), Part("two", (table("B", 2), figure("A")))))
    found = [
        (type(one).__name__, one.number) for part in parts for one in part.items if isinstance(one, Table | Figure)
    ]
    assert found == [("Figure", 1), ("Table", 1), ("Table", 2), ("Figure", 2)]
    assert [one.table for part in parts for one in part.items if isinstance(one, Figure)] == [2, 1]


def test_a_figure_without_its_table_and_two_captions_alike_are_faults() -> None:
    with pytest.raises(KeyError):
        numbered((Part("one", (figure("nowhere"),)),))
    with pytest.raises(AssertionError, match="same caption"):
        numbered((Part("one", (table("A", 1), table("A", 2))),))


def test_an_identifier_is_not_broken_at_its_hyphen() -> None:
    """Nor a day; a word wider than its column is still broken, so that it does not run into the next one."""
    columns = (Column("who", 16), Column("when", 84))
    words = ("by p-ruth.calloway", "S-" + 60 * "A")
    page = replace(REPORT, parts=(Part("One", (Table("A", columns, tuple((word, "") for word in words)),)),), events=())
    with pikepdf.open(io.BytesIO(render_run_report(replace(page, signatures=())))) as pdf:
        runs = [text for one in pdf.pages for text, *_ in said_of(Drawing(one))]
    assert "p-ruth.calloway" in [run.strip() for run in runs]
    assert not any(60 * "A" in run for run in runs)


def test_a_table_of_one_row_does_not_draw_what_follows_to_the_next_page() -> None:
    """The rows of a short table stay together, and nothing else stays with the last of them."""
    short = tuple(table(f"T{nth}", 1) for nth in range(60))
    page = replace(REPORT, parts=(Part("One", short),), events=(), signatures=())
    with pikepdf.open(io.BytesIO(render_run_report(page))) as pdf:
        lowest = min(level for _, _, level, _ in read_runs(pdf.pages[0]) if level > 60)
    assert lowest < 110


@pytest.mark.parametrize(
    ("rows", "readings", "parts"),
    [
        pytest.param(0, 1, 1, id="no row"),
        pytest.param(ROWS_A_TABLE, 1, 1, id="as many as fit"),
        pytest.param(ROWS_A_TABLE + 2, 1, 1, id="two more are no part of their own"),
        pytest.param(ROWS_A_TABLE + 10, 1, 2, id="ten more are"),
        pytest.param(200, 3, 6, id="readings of one solution stay together"),
    ],
)
def test_a_long_table_is_split_with_its_caption(rows: int, readings: int, parts: int) -> None:
    whole = table("A", rows, readings)
    (part,) = numbered((Part("one", (whole,)),))
    found = [one for one in part.items if isinstance(one, Table)]
    assert len(found) == parts
    assert [row for one in found for row in one.rows] == list(whole.rows)
    assert all(one.rows[0][0] for one in found if one.rows), "a part never begins in the middle of a solution"
    assert [one.part for one in found] == (
        [""] if parts == 1 else [f"part {n} of {parts}" for n in range(1, parts + 1)]
    )
    assert {one.number for one in found} == {1}


def test_it_reads_in_the_order_in_which_it_is_seen(paper: bytes) -> None:
    with pikepdf.open(io.BytesIO(paper)) as pdf:
        words = " ".join(" ".join(page_texts(pdf)).split())
    order = [
        *("Report of a run", "Reviewed; usable: one check fails.", "lead-furnace version 1", "Conditions", "0.7 nm"),
        *("Figure 1.", "Its numbers: table 2.", "Figure 2.", "a note", "Figure 3.", "Figure 4.", "Table 1.", "Results"),
        *("Table 2, part 1 of 3.", "Table 2, part 2 of 3.", "Calculations", "Sample S-1", "= 1.36 µg/L"),
        *("Signatures", "Edda Farrow (p-edda.farrow), reviewer", "run reviewed", "End of the report of run R-00003"),
    ]
    at = -1
    for piece in order:
        assert piece in words[at + 1 :], piece
        at = words.index(piece, at + 1)


def test_it_is_tagged_with_headings_headers_captions_and_sentences_for_pictures(paper: bytes) -> None:
    found = kinds(paper)
    assert found.count("/H1") == 1
    assert found.count("/H2") == 6
    assert found.count("/Table") >= 1 + 1 + 1 + 3 + 1, "one that goes over a page is tagged again there"
    assert found.count("/Figure") == 4, "no figure without its sentence"
    assert found.count("/TH") >= 2 * 4 + 5
    assert found.count("/Caption") >= 5
    with pikepdf.open(io.BytesIO(paper)) as pdf:
        said = [str(one.Alt) for one in pdf.objects if isinstance(one, pikepdf.Dictionary) and "/Alt" in one]
        assert pdf.Root.MarkInfo.Marked
        assert pdf.Root.Lang == "en"
    assert len(said) == 4
    assert all(sentence.endswith(".") and len(sentence.split()) > 8 for sentence in said)


def test_only_shipped_faces_are_in_it(paper: bytes) -> None:
    with pikepdf.open(io.BytesIO(paper)) as pdf:
        names = {
            str(one.BaseFont)[8:]
            for one in pdf.objects
            if isinstance(one, pikepdf.Dictionary) and one.get("/Type") == "/Font"
        }
        assert "/Annots" not in pdf.pages[0]
        assert "/AF" not in pdf.Root
    assert names == {"Certificate", "Certificate-Semi-Bold", "Calculation"}


@pytest.mark.parametrize(("paper_size", "size"), [("a4", (595, 842)), ("letter", (612, 792))])
def test_both_papers(paper_size: str, size: tuple[int, int]) -> None:
    data = render_run_report(replace(REPORT, parts=REPORT.parts[:1]), paper_size)  # type: ignore[arg-type]
    with pikepdf.open(io.BytesIO(data)) as pdf:
        assert [tuple(round(float(side)) for side in page.MediaBox[2:]) for page in pdf.pages] == [size] * len(
            pdf.pages
        )


def test_the_same_report_has_the_same_bytes(paper: bytes) -> None:
    assert render_run_report(REPORT) == paper


def test_markup_in_a_record_is_text() -> None:
    part = Part("x", (Words(("<b>&{{ 7*7 }}",)), Calculation("<i>", ("<script>",))))
    with pikepdf.open(io.BytesIO(render_run_report(replace(REPORT, parts=(part,))))) as pdf:
        words = " ".join(page_texts(pdf))
    assert "<b>&{{ 7*7 }}" in words
    assert "<script>" in words


def test_every_kind_of_check_has_its_formula() -> None:
    assert set(FORMULAS) == {"calibration", "replicates", *CHECK_NAMES}


@pytest.mark.parametrize(("places", "words"), [((), ""), ((3,), "3"), ((9, 4, 5, 6, 6), "4 to 6, 9")])
def test_positions_in_words(places: Sequence[int], words: str) -> None:
    assert ranges(places) == words
