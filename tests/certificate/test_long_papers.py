"""Much of anything goes on over pages: nothing is cut off; tables are split, each part with caption and header."""

from __future__ import annotations

import io
import re
import shutil
import subprocess
from dataclasses import replace
from functools import cache
from itertools import pairwise
from typing import TYPE_CHECKING

import pikepdf
import pytest
from tests.certificate.conftest import ATTACHED, SEALED_AT
from tests.certificate.demo_views import LOZENGE, line
from tests.certificate.structure import every_fault, tables_with_heads
from tests.certificate.test_render import all_texts

from benchseal.certificate.language import ENGLISH
from benchseal.certificate.page_form import read_runs
from benchseal.certificate.page_order import order_faults
from benchseal.certificate.page_text import page_texts
from benchseal.certificate.render import render
from benchseal.certificate.view import Change, Relation, row_is_printed

if TYPE_CHECKING:
    from pathlib import Path

    from benchseal.certificate.view import CertificateView, ResultRow

MARGIN_TOP, MARGIN_BOTTOM, HEIGHT, WIDTH = 42.0, 48.0, 841.9, 595.3  # points: 15 mm, 17 mm, A4
WORD = re.compile(r'<word xMin="([\d.-]+)" yMin="([\d.-]+)" xMax="([\d.-]+)" yMax="([\d.-]+)">(.*?)</word>')


def results(count: int) -> tuple[ResultRow, ...]:
    return tuple(
        replace(LOZENGE.results[at % 6], quantity=f"piece {at}", detail="Second portion 0.60." if at % 7 == 0 else "")
        for at in range(count)
    )


def sentences(count: int, about: str) -> tuple[str, ...]:
    return tuple(f"Sentence {nth} about {about}, long enough to fill a good part of a line." for nth in range(count))


CHECKS = tuple(line(f"check {nth}", f"{nth}.5 %", "90–110 %") for nth in range(70))  # noqa: RUF001  a true dash
VIEWS: dict[str, CertificateView] = {
    "1 result": replace(LOZENGE, results=results(1)),
    "40 results": replace(LOZENGE, results=results(40)),
    "41 results": replace(LOZENGE, results=results(41)),
    "45 results": replace(LOZENGE, results=results(45)),
    "400 results": replace(LOZENGE, results=results(400)),
    "70 checks in each of two": replace(LOZENGE, runs=tuple(replace(run, checks=CHECKS) for run in LOZENGE.runs[:2])),
    "70 checks in each of seven": replace(
        LOZENGE, runs=tuple(replace(LOZENGE.runs[at % 6], heading=f"Run {at}", checks=CHECKS) for at in range(7))
    ),
    "31 runs": replace(LOZENGE, runs=tuple(replace(LOZENGE.runs[at % 6], heading=f"Run {at}") for at in range(31))),
    "40 signatures": replace(
        LOZENGE, signatures=tuple(replace(LOZENGE.signatures[at % 4], name=f"Person {at}") for at in range(40))
    ),
    "120 cautions": replace(LOZENGE, limits_and_cautions=(*LOZENGE.limits_and_cautions, *sentences(120, "limits"))),
    "60 opinions, 60 notes": replace(LOZENGE, opinions=sentences(60, "opinion"), notes=sentences(60, "notes")),
    "200 changes": replace(
        LOZENGE,
        relation=Relation("Replaces certificate TQ-2025-0999, because the mass was wrong.", "TQ-2025-0999"),
        changes=tuple(Change(f"row {nth}", f"{nth}.1 before", f"{nth}.2 after") for nth in range(200)),
    ),
    "a long address and description": replace(
        LOZENGE,
        item=replace(LOZENGE.item, description=" ".join(f"part{nth}" for nth in range(900))),
        customer=replace(LOZENGE.customer, address=tuple(f"{nth} Mill Lane" for nth in range(90))),
    ),
    "a long word under a result": replace(
        LOZENGE, results=(replace(LOZENGE.results[0], detail=" ".join(sentences(40, "a portion"))), *results(3))
    ),
}  # fmt: skip


@cache
def made(name: str) -> bytes:
    data = render(VIEWS[name], ATTACHED, SEALED_AT)
    assert isinstance(data, bytes), data
    return data


@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="poppler is not installed")
@pytest.mark.parametrize("name", VIEWS)
def test_nothing_is_cut_off_or_runs_into_the_margin(name: str, tmp_path: Path) -> None:
    """Poppler tells where each word stands and leaves out what lies off the page."""
    (tmp_path / "raw.pdf").write_bytes(made(name))
    command = ["pdftotext", "-bbox", str(tmp_path / "raw.pdf"), "-"]
    told = subprocess.run(command, capture_output=True, text=True, check=True).stdout  # noqa: S603
    seen = []
    for page in told.split("<page ")[1:]:
        words = WORD.findall(page)
        foot = [word for *_, bottom, word in words if float(bottom) > HEIGHT - MARGIN_BOTTOM + 2]
        assert " ".join(foot).startswith(VIEWS[name].number), foot[:20]
        assert len(foot) <= 8, foot[:20]
        assert all(float(left) > 40 and float(right) < WIDTH - 40 for left, _, right, _, _ in words)
        assert all(float(top) > MARGIN_TOP - 4 for _, top, _, _, _ in words)
        seen.append("".join(word for *_, word in words))
    together = "".join(seen).replace("&lt;", "<").replace("&gt;", ">").replace("&amp;", "&")
    counted = len(together)
    missing = [text for text in all_texts(VIEWS[name]) if not stands_in(text, together)]
    assert missing == []
    assert counted > 1000


def stands_in(text: str, together: str) -> bool:
    """Poppler goes column by column where it sees some, so a text is looked for word by word."""
    return all(word in together for word in text.split())


@pytest.mark.parametrize("name", VIEWS)
def test_it_is_built_like_any_other(name: str) -> None:
    assert every_fault(made(name)) == []


@pytest.mark.parametrize("name", ["1 result", "40 results", "41 results", "400 results"])
def test_each_row_is_whole_on_one_page_and_stands_under_a_header(name: str) -> None:
    view = VIEWS[name]
    with pikepdf.open(io.BytesIO(made(name))) as pdf:
        pages = page_texts(pdf)
        heads = tables_with_heads(pdf)
    assert all(row_is_printed(row, pages) for row in view.results)
    with_rows = [page for page in pages if any(row_is_printed(row, (page,)) for row in view.results)]
    assert all("Result ± expanded uncertainty" in " ".join(page.split()) for page in with_rows)
    assert heads >= len(with_rows)


@pytest.mark.parametrize(
    ("name", "parts"), [("1 result", 0), ("40 results", 0), ("41 results", 0), ("45 results", 2), ("400 results", 10)]
)
def test_a_long_table_is_split_into_parts_that_say_which_they_are(name: str, parts: int) -> None:
    with pikepdf.open(io.BytesIO(made(name))) as pdf:
        text = " ".join(" ".join(page_texts(pdf)).split())
    found = re.findall(r"Results (\d+) to (\d+) of (\d+)", text)
    assert len(found) == parts
    if parts:
        edges = [(int(first), int(last)) for first, last, _ in found]
        assert edges[0][0] == 1
        assert edges[-1][1] == len(VIEWS[name].results)
        assert all(after == last + 1 for (_, last), (after, _) in pairwise(edges))


def test_the_mark_stands_beside_the_last_signatures_whatever_their_number() -> None:
    """Those before them flow, so that a page ends between two of them; the words of the mark stand at their right."""
    people = (LOZENGE.signatures * 9)[:14]
    made = render(replace(LOZENGE, signatures=people), ATTACHED, SEALED_AT)
    assert isinstance(made, bytes)
    mark = ENGLISH.say("page/rosette").split()[0]
    with pikepdf.open(io.BytesIO(made)) as pdf:
        (page,) = [page for page, text in zip(pdf.pages, page_texts(pdf), strict=True) if mark in text]
        runs = read_runs(page)
        assert list(order_faults(runs)) == []
    beside = [level for begin, _, level in runs if begin > 420.0]
    assert beside
    assert any(begin < 60.0 and abs(level - beside[0]) < 80.0 for begin, _, level in runs)
