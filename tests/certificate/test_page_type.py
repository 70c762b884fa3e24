"""The letters of a file are those of the shipped type: each rule, broken in one place. Cases made here."""

from __future__ import annotations

import io
import re
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import pikepdf
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
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


OF_PARTS, WORDS, MORE_FOLLOW = 0xFFFF, 1, 32  # OpenType 1.9, glyf
DRAWN = "1 of its letters are drawn otherwise than the type of a certificate draws them."


def code_of(pdf: pikepdf.Pdf, letter: str) -> int:
    code = re.search(rb"<([0-9a-f]{4})> <%04x>" % ord(letter), font(pdf).ToUnicode.read_bytes())
    assert code
    return int(code[1], 16)


class Program:
    """The font program of a file: its bytes, and where each table begins and how long it is."""

    def __init__(self, pdf: pikepdf.Pdf) -> None:
        self.file = font(pdf).DescendantFonts[0].FontDescriptor.FontFile2
        self.data = bytearray(self.file.read_bytes())
        count = self.number(4, 2)
        rows = {bytes(self.data[at : at + 4]): at for at in range(12, 12 + 16 * count, 16)}
        self.rows = {name.decode(): at for name, at in rows.items()}
        self.at = {name: self.number(row + 8, 4) for name, row in self.rows.items()}

    def number(self, at: int, size: int) -> int:
        return int.from_bytes(self.data[at : at + size], "big")

    def letter(self, code: int) -> int:
        """Where the description of a letter begins."""
        wide = self.number(self.at["head"] + 50, 2)
        place = self.number(self.at["loca"] + (4 if wide else 2) * code, 4 if wide else 2)
        return self.at["glyf"] + place * (1 if wide else 2)

    def put(self, at: int, *values: int, size: int = 2) -> None:
        for value in values:
            self.data[at : at + size] = (value % 256**size).to_bytes(size, "big")
            at += size

    def sum(self, name: str) -> None:
        """Puts the sum of a table's numbers into the directory."""
        size = self.number(self.rows[name] + 12, 4)
        table = bytes(self.data[self.at[name] : self.at[name] + size])
        table = table[:8] + bytes(4) + table[12:] if name == "head" else table
        table += bytes(-size % 4)
        self.put(
            self.rows[name] + 4,
            sum(int.from_bytes(table[at : at + 4], "big") for at in range(0, len(table), 4)),
            size=4,
        )

    def write(self) -> None:
        self.file.write(bytes(self.data))


def test_a_letter_of_another_shape(pdf: pikepdf.Pdf) -> None:
    """The first point of a letter, moved off its curve."""
    program = Program(pdf)
    at = program.letter(code_of(pdf, "1"))
    hints = at + 10 + 2 * program.number(at, 2)
    program.data[hints + 2 + program.number(hints, 2)] ^= 1
    program.write()
    assert said(pdf) == [DRAWN]


def test_a_letter_moved_to_the_side(pdf: pikepdf.Pdf) -> None:
    """OpenType 1.9, hmtx: the outline begins where its side bearing says, whatever its points are."""
    program = Program(pdf)
    at = program.at["hmtx"] + 4 * code_of(pdf, ".") + 2
    program.put(at, program.number(at, 2) - 500)
    program.write()
    assert said(pdf) == [DRAWN.replace("1", "4", 1)]  # and three letters whose part it is


def test_a_letter_said_to_begin_elsewhere(pdf: pikepdf.Pdf) -> None:
    """The side bearing counts from the box its description names, which is not looked up from its points."""
    program = Program(pdf)
    at = program.letter(code_of(pdf, "1")) + 2
    program.put(at, program.number(at, 2) + 300)
    program.write()
    assert said(pdf) == [DRAWN]


def of_parts(pdf: pikepdf.Pdf, program: Program) -> tuple[str, int]:
    """A letter made of parts, and where the first of them is told: its flags, its number, its place."""
    for code, text in re.findall(rb"<([0-9a-f]{4})> <([0-9a-f]{4})>", font(pdf).ToUnicode.read_bytes()):
        at = program.letter(int(code, 16))
        if program.number(at, 2) == OF_PARTS:
            return chr(int(text, 16)), at + 10
    raise AssertionError


@pytest.mark.parametrize("place", [3, 4, 5])
def test_a_part_of_another_letter_or_at_another_place(pdf: pikepdf.Pdf, place: int) -> None:
    program = Program(pdf)
    _, at = of_parts(pdf, program)
    program.data[at + place] += 1
    program.write()
    assert said(pdf) == [DRAWN]


def test_a_part_more(pdf: pikepdf.Pdf) -> None:
    """The description runs on into the next one."""
    program = Program(pdf)
    _, at = of_parts(pdf, program)
    steps = 8 if program.number(at, 2) & WORDS else 6
    while program.number(at, 2) & MORE_FOLLOW:
        at += steps
    program.put(at, program.number(at, 2) | MORE_FOLLOW)
    program.write()
    assert len(said(pdf)) == 1


def test_a_letter_of_itself(pdf: pikepdf.Pdf) -> None:
    program = Program(pdf)
    letter, at = of_parts(pdf, program)
    program.put(at + 2, code_of(pdf, letter))
    program.write()
    assert said(pdf) == [DRAWN]


def test_a_letter_said_to_be_of_parts(pdf: pikepdf.Pdf) -> None:
    program = Program(pdf)
    program.put(program.letter(code_of(pdf, "1")), OF_PARTS)
    program.write()
    assert len(said(pdf)) == 1


def test_a_table_twice(pdf: pikepdf.Pdf) -> None:
    """Some readers take the first, some the last."""
    program = Program(pdf)
    row = program.rows["gasp"]
    program.data[row : row + 4] = b"glyf"
    program.write()
    assert said(pdf) == [UNREADABLE]


@pytest.mark.parametrize("name", ["CFF ", "prep", "fpgm", "gvar", "SVG ", "sbix"])
def test_another_table(pdf: pikepdf.Pdf, name: str) -> None:
    """Outlines of another kind, or what moves the points of those there are."""
    program = Program(pdf)
    row = program.rows["gasp"]
    program.data[row : row + 4] = name.encode()
    program.write()
    assert said(pdf) == [f"its program holds {name.strip()}, which that of a certificate never has."]


@pytest.mark.parametrize("version", [b"OTTO", b"true", b"wOFF", b"ttcf", b"\0\2\0\0"])
def test_another_kind_of_font(pdf: pikepdf.Pdf, version: bytes) -> None:
    program = Program(pdf)
    program.data[:4] = version
    program.write()
    assert said(pdf) == [UNREADABLE]


@pytest.mark.parametrize(("table", "place", "size"), [("head", 18, 2), ("head", 17, 1)])
def test_other_measures(pdf: pikepdf.Pdf, table: str, place: int, size: int) -> None:
    """How many units are the height of the type, and where it says its lines stand."""
    program = Program(pdf)
    at = program.at[table] + place
    program.put(at, program.number(at, size) ^ 2, size=size)
    program.write()
    assert said(pdf) == ["its letters are measured otherwise than those of a certificate."]


@pytest.mark.parametrize(("table", "place"), [("maxp", 4), ("head", 50), ("hhea", 34)])
@pytest.mark.parametrize("value", [0, 1, 0x7FFF, 0xFFFF])
def test_counts_that_are_none(pdf: pikepdf.Pdf, table: str, place: int, value: int) -> None:
    program = Program(pdf)
    at = program.at[table] + place
    sound = program.number(at, 2) == value  # the form of places may be 0 or 1
    program.put(at, value)
    program.write()
    assert bool(said(pdf)) is not sound


@given(data=st.data())
@settings(max_examples=200, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_any_bytes_of_a_program(pdf: pikepdf.Pdf, data: st.DataObject) -> None:
    """A program with other bytes is read to its end, and by nothing but sentences."""
    program = Program(pdf)
    kept = bytes(program.data)
    for _ in range(data.draw(st.integers(1, 8))):
        program.data[data.draw(st.integers(0, len(kept) - 1))] = data.draw(st.integers(0, 255))
    if data.draw(st.booleans()):
        del program.data[data.draw(st.integers(0, len(kept))) :]
    program.write()
    assert all(isinstance(fault, str) for fault in said(pdf))
    program.file.write(kept)
    assert said(pdf) == []


def test_a_font_of_a_figure_alone(pdf: pikepdf.Pdf) -> None:
    """It stands in the resources of a drawing apart, and on no page."""
    own = pdf.make_indirect(pikepdf.Dictionary(dict(font(pdf))))
    own.Encoding = pikepdf.Name("/Identity-V")
    forms = next(page.Resources.XObject for page in pdf.pages if len(page.Resources.get("/XObject", {})))
    next(iter(forms.values())).Resources.Font = pikepdf.Dictionary({"/Own": own})
    assert said(pdf)[0] == "its letters are told in another way than those of a certificate."


def test_the_table_of_letters_is_that_of_the_type() -> None:
    """Mends itself by ``tools/type_letters.py``."""
    assert Path(type_letters.__file__).read_text(encoding="utf-8") == table()


BUILT = "its program is built otherwise than that of a certificate, so that readers may draw nothing of it."
NAMED = "it is named or described otherwise than that of a certificate."


_HEADS: Final = {"GDEF": 16, "cmap": 34}


@pytest.mark.parametrize("name", ["gasp", "post", "STAT", "OS/2", "name", "GDEF", "cmap", "hhea", "maxp", "head"])
def test_any_bit_of_a_table_that_no_letter_needs(pdf: pikepdf.Pdf, name: str) -> None:
    """A reader that cannot load a font draws none of its letters; others keep words nobody sees."""
    program = Program(pdf)
    begin, size = program.at[name], program.number(program.rows[name] + 12, 4)
    # What follows from the letters left: sums, counts, characters there are, and to which letter a map leads.
    free = {"head": {*range(8, 12), 50, 51}, "hhea": {34, 35}, "maxp": {4, 5}, "OS/2": {*range(42, 58), *range(64, 68)}}
    sound = bytes(program.data)
    accepted = []
    for place in sorted(set(range(size)) - free.get(name, set())):
        program.data[:] = sound
        program.data[begin + place] ^= 0x40
        program.sum(name)
        program.write()
        if not said(pdf):
            accepted.append(place)
    if name in _HEADS:  # behind it stand numbers of letters that rise
        accepted = [place for place in accepted if place < _HEADS[name]]
    assert accepted == []


def test_words_behind_the_last_table_and_between_two(pdf: pikepdf.Pdf) -> None:
    program = Program(pdf)
    program.data += b"void"
    program.write()
    assert BUILT in said(pdf)


@pytest.mark.parametrize(
    ("key", "told"),
    [
        ("/FontFamily", pikepdf.String("VOID lead 9 mg/kg")), ("/FontFamily", pikepdf.String("")), ("/StemV", 81),
        ("/Ascent", 1025), ("/ItalicAngle", -12), ("/FontName", pikepdf.Name("/PBFAIL+Certificate")),
    ],
)  # fmt: skip
def test_words_and_measures_of_its_description(pdf: pikepdf.Pdf, key: str, told: Any) -> None:  # noqa: ANN401
    font(pdf).DescendantFonts[0].FontDescriptor[key] = told
    assert said(pdf) == [NAMED]


@pytest.mark.parametrize("name", ["/PBFAIL+Certificate", "/Certificate", "/ZHJJQI+Certificate-Semi-Bold"])
def test_every_name_changed_alike(pdf: pikepdf.Pdf, name: str) -> None:
    own = font(pdf)
    for one in (own, own.DescendantFonts[0]):
        one.BaseFont = pikepdf.Name(name)
    own.DescendantFonts[0].FontDescriptor.FontName = pikepdf.Name(name)
    assert NAMED in said(pdf)


def test_a_type_twice(pdf: pikepdf.Pdf) -> None:
    """A copy for a single sign, which a reader might not draw."""
    pdf.pages[0].Resources.Font.Copy = pdf.make_indirect(pikepdf.Dictionary(dict(font(pdf))))
    assert list(type_faults(pdf)) == ["a type is in it twice, and each reader may take another one."]


@pytest.mark.parametrize("name", ["cmap", "head", "glyf", "name"])
def test_another_sum_of_a_table(pdf: pikepdf.Pdf, name: str) -> None:
    program = Program(pdf)
    program.put(program.rows[name] + 4, program.number(program.rows[name] + 4, 4) ^ 1, size=4)
    program.write()
    assert said(pdf) == [BUILT]
    program.sum(name)
    program.write()
    assert said(pdf) == []
