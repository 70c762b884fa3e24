"""The letters of a file are those of the shipped type: each rule, broken in one place. Cases made here."""

from __future__ import annotations

import io
import re
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pikepdf
import pytest
from tools.type_letters import table

from benchseal.certificate import type_letters
from benchseal.certificate.page_type import type_faults

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator


@pytest.fixture
def pdf(raw: bytes) -> Iterator[pikepdf.Pdf]:
    with pikepdf.open(io.BytesIO(raw)) as opened:
        yield opened


def font(pdf: pikepdf.Pdf) -> Any:  # noqa: ANN401  an object of a file
    return next(iter(pdf.pages[0].Resources.Font.values()))


def said(pdf: pikepdf.Pdf) -> list[str]:
    return [fault.partition(": ")[2] for fault in type_faults(pdf)]


def test_a_sound_file(pdf: pikepdf.Pdf) -> None:
    assert said(pdf) == []


MAP_TOLD = "what its letters stand for is told otherwise than in a certificate, or twice."
WIDER = "its letters are said to be wider or less wide than they are."
UNREADABLE = "its letters cannot be read."


@pytest.mark.parametrize(
    ("old", "new", "fault"),
    [
        (rb"<0031>", b"<0037>", "what is drawn for '7' is another letter."),
        (rb"(<[0-9a-f]{4}>) <0031>", rb"\1 <0037>\n\1 <0031>", MAP_TOLD),
        (rb"endbfchar", b"endbfchar\n1 beginbfrange\n<0536>\n<0536>\n<0037>\nendbfrange", MAP_TOLD),
        (rb"/Adobe-Identity-UCS", b"/Other", MAP_TOLD),
        (rb"endcmap", b"% more\nendcmap", MAP_TOLD),
    ],
)
def test_the_map_to_characters(pdf: pikepdf.Pdf, old: bytes, new: bytes, fault: str) -> None:
    told = font(pdf).ToUnicode
    told.write(re.sub(old, new, told.read_bytes(), count=1))
    assert said(pdf) == [fault]


def test_a_code_without_a_width(pdf: pikepdf.Pdf) -> None:
    """ISO 32000-1, 9.7.4.3: it would be as wide as it is high."""
    del font(pdf).DescendantFonts[0].W[-2:]
    assert said(pdf) == [WIDER]


@pytest.mark.parametrize("change", [1, -1, 400])
def test_another_width(pdf: pikepdf.Pdf, change: int) -> None:
    row = font(pdf).DescendantFonts[0].W[1]
    row[0] = int(row[0]) + change
    assert said(pdf) == [WIDER]


def test_widths_twice(pdf: pikepdf.Pdf) -> None:
    widths = font(pdf).DescendantFonts[0].W
    widths.append(widths[0])
    widths.append(widths[1])
    assert said(pdf) == [WIDER]


def test_widths_of_a_range(pdf: pikepdf.Pdf) -> None:
    font(pdf).DescendantFonts[0].W = pikepdf.Array([0, 3000, 500])
    assert said(pdf) == [UNREADABLE]


@pytest.mark.parametrize(
    ("where", "name"),
    [
        (lambda one: one, "/Metadata"),
        (lambda one: one.DescendantFonts[0], "/DW"),
        (lambda one: one.DescendantFonts[0].FontDescriptor, "/FontFile3"),
    ],
)
def test_a_key_more(pdf: pikepdf.Pdf, where: Callable[[Any], Any], name: str) -> None:
    where(font(pdf))[name] = 1
    assert said(pdf) == [f"it holds {name}, which that of a certificate never has."]


def test_written_from_top_to_bottom(pdf: pikepdf.Pdf) -> None:
    font(pdf).Encoding = pikepdf.Name("/Identity-V")
    assert said(pdf) == ["its letters are told in another way than those of a certificate."]


@pytest.mark.parametrize("name", ["/Subtype", "/ToUnicode", "/DescendantFonts"])
def test_a_part_is_missing(pdf: pikepdf.Pdf, name: str) -> None:
    del font(pdf)[name]
    assert said(pdf) == [UNREADABLE]


def _outline_changed(pdf: pikepdf.Pdf, code: int) -> None:
    """The first point of a letter, moved off its curve."""
    file = font(pdf).DescendantFonts[0].FontDescriptor.FontFile2
    data = bytearray(file.read_bytes())
    tables = {bytes(data[at : at + 4]): int.from_bytes(data[at + 8 : at + 12], "big") for at in range(12, 300, 16)}
    wide = int.from_bytes(data[tables[b"head"] + 50 : tables[b"head"] + 52], "big")
    size = 4 if wide else 2
    place = tables[b"loca"] + size * code
    start = int.from_bytes(data[place : place + size], "big") * (1 if wide else 2)
    contours = int.from_bytes(data[tables[b"glyf"] + start : tables[b"glyf"] + start + 2], "big")
    hints = tables[b"glyf"] + start + 10 + 2 * contours
    data[hints + 2 + int.from_bytes(data[hints : hints + 2], "big")] ^= 1
    file.write(bytes(data))


def test_a_letter_of_another_shape(pdf: pikepdf.Pdf) -> None:
    code = re.search(rb"<([0-9a-f]{4})> <0031>", font(pdf).ToUnicode.read_bytes())
    assert code
    _outline_changed(pdf, int(code[1], 16))
    assert said(pdf) == ["1 of its letters are drawn otherwise than the type of a certificate draws them."]


def test_a_font_of_a_figure_alone(pdf: pikepdf.Pdf) -> None:
    """It stands in the resources of a drawing apart, and on no page."""
    own = pdf.make_indirect(pikepdf.Dictionary(dict(font(pdf))))
    own.Encoding = pikepdf.Name("/Identity-V")
    forms = next(page.Resources.XObject for page in pdf.pages if len(page.Resources.get("/XObject", {})))
    next(iter(forms.values())).Resources.Font = pikepdf.Dictionary({"/Own": own})
    assert said(pdf) == ["its letters are told in another way than those of a certificate."]


def test_the_table_of_letters_is_that_of_the_type() -> None:
    """Mends itself by ``tools/type_letters.py``."""
    assert Path(type_letters.__file__).read_text(encoding="utf-8") == table()
