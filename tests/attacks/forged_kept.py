"""Lies in what lies beside the drawing: colours, letters, what is read aloud, attached files, what a reader shows.

Every word of the page is as it was, and so is every instruction but where the name says so. Sealed with the
laboratory's own key. Common practice, no source.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any, Final

import pikepdf
from tests.attacks.forged_inside import redone, seal_told
from tests.attacks.forged_outside import Attack

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

_WHITE: Final = b"{ pop pop pop 1 1 1 }"


def parts(pdf: pikepdf.Pdf, kind: str) -> Iterator[pikepdf.Object]:
    """Parts read aloud of one kind, in order."""
    waiting: list[Any] = [pdf.Root.StructTreeRoot.K]
    while waiting:
        item = waiting.pop()
        if isinstance(item, pikepdf.Array):
            waiting += reversed(list(item))
        elif isinstance(item, pikepdf.Dictionary):
            if item.get("/S") == kind:
                yield item
            waiting.append(item.get("/K"))


def _drawn(pdf: pikepdf.Pdf, change: Callable[[bytes], bytes]) -> None:
    content = pdf.pages[0].Contents
    before = content.read_bytes()
    content.write(change(before))
    assert content.read_bytes() != before


def _font(pdf: pikepdf.Pdf) -> pikepdf.Object:
    return next(iter(pdf.pages[0].Resources.Font.values()))


# ------------------------------------------------------------------ colours


def _colour(name: str, components: int) -> Callable[[pikepdf.Pdf], None]:
    """ISO 32000-1, 8.6.5.6: every ink told in the plain way is white."""

    def change(pdf: pikepdf.Pdf) -> None:
        white = pdf.make_stream(_WHITE)
        white.FunctionType, white.Domain, white.Range = 4, [0, 1] * components, [0, 1] * 3
        space = pikepdf.Array([pikepdf.Name.DeviceN, [pikepdf.Name(f"/N{at}") for at in range(components)]])
        space.append(pikepdf.Name.DeviceRGB)
        space.append(white)
        pdf.pages[0].Resources.ColorSpace[name] = space

    return change


def _profile(pdf: pikepdf.Pdf) -> None:
    pdf.Root.OutputIntents[0].DestOutputProfile = pdf.make_stream(b"white", N=3)


def _second_intent(pdf: pikepdf.Pdf) -> None:
    pdf.Root.OutputIntents[0].DestOutputProfileRef = pikepdf.Dictionary({"/URLs": []})


def _page_profile(pdf: pikepdf.Pdf) -> None:
    pdf.pages[0].Resources.ColorSpace["/srgb"][1].Alternate = pikepdf.Name.DeviceGray


def _state(name: str, value: object) -> Callable[[pikepdf.Pdf], None]:
    def change(pdf: pikepdf.Pdf) -> None:
        for state in pdf.pages[0].Resources.ExtGState.values():
            state[name] = value

    return change


def _mask(pdf: pikepdf.Pdf) -> None:
    group = pdf.make_stream(b"", Type=pikepdf.Name.XObject, Subtype=pikepdf.Name.Form, BBox=[0, 0, 1, 1])
    group.Group = pikepdf.Dictionary({"/S": pikepdf.Name.Transparency})
    _state("/SMask", pikepdf.Dictionary({"/S": pikepdf.Name.Luminosity, "/G": group}))(pdf)


def _page_group(pdf: pikepdf.Pdf) -> None:
    pdf.pages[0].Group = pikepdf.Dictionary({"/S": pikepdf.Name.Transparency, "/K": True})


def _apart(pdf: pikepdf.Pdf) -> Iterator[pikepdf.Object]:
    """Drawings apart of any page: letters of its figures."""
    for page in pdf.pages:
        yield from page.Resources.get("/XObject", {}).values()


def _knocked_out(pdf: pikepdf.Pdf) -> None:
    for form in _apart(pdf):
        form.Group.K = True


def _apart_cut(pdf: pikepdf.Pdf) -> None:
    for form in _apart(pdf):
        form.BBox = pikepdf.Array([0, 0, 1, 1])


def _apart_font(pdf: pikepdf.Pdf) -> None:
    """Letters of figures from a font of their own, in which two digits are exchanged."""
    own = pdf.make_indirect(pikepdf.Dictionary(dict(_font(pdf))))
    told = own.ToUnicode.read_bytes().replace(b"> <0031>", b"> <0000>").replace(b"> <0037>", b"> <0031>")
    own.ToUnicode = pdf.make_stream(told.replace(b"> <0000>", b"> <0037>"))
    for form in _apart(pdf):
        form.Resources.Font = pikepdf.Dictionary(dict.fromkeys(form.Resources.Font.keys(), own))


def _in_a_form(pdf: pikepdf.Pdf) -> None:
    """The first words of the page in a drawing apart: seen at the same place, read by nobody who reads the page."""
    content = pdf.pages[0].Contents
    data = content.read_bytes()
    found = re.search(rb"BT\n1 0 0 -1 .*\n.*\n.* TJ\nET", data)
    assert found
    black = b"q\n0.1 0.1 0.1 rg\n"
    form = pdf.make_stream(black + found[0] + b"\nQ", Type=pikepdf.Name.XObject, Subtype=pikepdf.Name.Form)
    form.BBox, form.Resources = pikepdf.Array([0, 0, 2000, 2000]), pdf.pages[0].Resources
    content.write(data.replace(found[0], b"/Words Do"))
    pdf.pages[0].Resources.XObject = pikepdf.Dictionary({"/Words": form})


# ------------------------------------------------------------------ letters


def _type_3(pdf: pikepdf.Pdf) -> None:
    procs = pikepdf.Dictionary({"/a": pdf.make_stream(b"9 0 0 0 9 9 d1 0 0 9 9 re f")})
    told = {"/Type": pikepdf.Name.Font, "/Subtype": pikepdf.Name.Type3, "/CharProcs": procs}
    name = next(iter(pdf.pages[0].Resources.Font.keys()))
    pdf.pages[0].Resources.Font[name] = pdf.make_indirect(pikepdf.Dictionary(told))


def _font_file(pdf: pikepdf.Pdf) -> None:
    """Outlines of many letters, left empty."""
    fonts = [font.DescendantFonts[0].FontDescriptor for font in pdf.pages[0].Resources.Font.values()]
    data = bytearray(fonts[0].FontFile2.read_bytes())
    start = data.index(b"glyf") + 8
    place = int.from_bytes(data[start : start + 4], "big")
    data[place + 40 : place + 4000] = bytes(3960)
    fonts[0].FontFile2 = pdf.make_stream(bytes(data), Length1=len(data))


def _program(change: Callable[[bytearray, dict[bytes, int]], None]) -> Callable[[pikepdf.Pdf], None]:
    """Something changed in each font program, told where the rows of its tables are."""

    def make(pdf: pikepdf.Pdf) -> None:
        for font in pdf.pages[0].Resources.Font.values():
            file = font.DescendantFonts[0].FontDescriptor.FontFile2
            data = bytearray(file.read_bytes())
            count = int.from_bytes(data[4:6], "big")
            change(data, {bytes(data[at : at + 4]): at for at in range(12, 12 + 16 * count, 16)})
            font.DescendantFonts[0].FontDescriptor.FontFile2 = pdf.make_stream(bytes(data), Length1=len(data))

    return make


def _points_aside(data: bytearray, rows: dict[bytes, int]) -> None:
    """OpenType 1.9, hmtx: an outline begins at its side bearing. Every letter but one is drawn half a line left."""
    start, size = (int.from_bytes(data[rows[b"hmtx"] + at : rows[b"hmtx"] + at + 4], "big") for at in (8, 12))
    for at in range(start + 6, start + size - 1, 4):
        data[at : at + 2] = ((int.from_bytes(data[at : at + 2], "big") - 500) % 65536).to_bytes(2, "big")


def _other_outlines(data: bytearray, rows: dict[bytes, int]) -> None:
    """Readers take the outlines of CFF where the program says so; those of glyf stay as they were."""
    data[:4] = b"OTTO"
    data[rows[b"gasp"] : rows[b"gasp"] + 4] = b"CFF "


def _outlines_twice(data: bytearray, rows: dict[bytes, int]) -> None:
    data[rows[b"gasp"] : rows[b"gasp"] + 4] = b"glyf"


def _second_font_file(pdf: pikepdf.Pdf) -> None:
    """ISO 32000-1, table 126: a reader may take the other program of the two."""
    _font(pdf).DescendantFonts[0].FontDescriptor.FontFile3 = pdf.make_stream(b"other", Subtype=pikepdf.Name.OpenType)


def _map_told(change: Callable[[bytes], bytes]) -> Callable[[pikepdf.Pdf], None]:
    def make(pdf: pikepdf.Pdf) -> None:
        for font in pdf.pages[0].Resources.Font.values():
            told = change(font.ToUnicode.read_bytes())
            assert told != font.ToUnicode.read_bytes()
            font.ToUnicode.write(told)

    return make


def _one_as_seven(told: bytes) -> bytes:
    return told.replace(b"> <0031>", b"> <0000>").replace(b"> <0037>", b"> <0031>").replace(b"> <0000>", b"> <0037>")


def _told_twice(told: bytes) -> bytes:
    """The first of two lines about the 1 says 7: some readers keep the first, some the last."""
    return re.sub(rb"(<[0-9a-f]{4}>) <0031>", rb"\1 <0037>\n\1 <0031>", told)


def _told_as_range(told: bytes) -> bytes:
    code = re.search(rb"<([0-9a-f]{4})> <0031>", told)
    assert code
    told_range = b"endbfchar\n1 beginbfrange\n<%s>\n<%s>\n<0037>\nendbfrange" % (code[1], code[1])
    return told.replace(b"endbfchar", told_range)


def _glyphs(pdf: pikepdf.Pdf) -> None:
    """Each code drawn as itself but two; the map is a stream, as it may be."""
    for font in pdf.pages[0].Resources.Font.values():
        codes = [*range(65536)]
        codes[0x536], codes[0x53C] = codes[0x53C], codes[0x536]
        font.DescendantFonts[0].CIDToGIDMap = pdf.make_stream(b"".join(at.to_bytes(2, "big") for at in codes))


def _widths(change: Callable[[int], int]) -> Callable[[pikepdf.Pdf], None]:
    def make(pdf: pikepdf.Pdf) -> None:
        for font in pdf.pages[0].Resources.Font.values():
            for at, row in enumerate(list(font.DescendantFonts[0].W)):
                if isinstance(row, pikepdf.Array):
                    font.DescendantFonts[0].W[at] = pikepdf.Array([change(int(width)) for width in row])

    return make


def _widths_told_twice(pdf: pikepdf.Pdf) -> None:
    """A range after the rows: every letter as narrow as can be, for a reader that keeps the last."""
    told = _font(pdf).DescendantFonts[0].W
    told.append(0)
    told.append(pikepdf.Array([60] * 3000))


def _default_width(pdf: pikepdf.Pdf) -> None:
    _font(pdf).DescendantFonts[0].DW = 1


def _upright(pdf: pikepdf.Pdf) -> None:
    _font(pdf).Encoding = pikepdf.Name("/Identity-V")


# ------------------------------------------------------------------ what is read aloud


def _figure_told(pdf: pikepdf.Pdf) -> None:
    figure = next(part for part in parts(pdf, "/Figure") if re.search(r"\d", str(part.Alt)))
    figure.Alt = re.sub(r"\d", "0", str(figure.Alt))


def _cells(row: pikepdf.Object) -> int:
    return [str(one.S) for one in row.K].count("/TD")


def _cells_swapped(pdf: pikepdf.Pdf) -> None:
    """Two results in each other's row, for whoever has the page read aloud."""
    rows = [part for part in parts(pdf, "/TR") if _cells(part) > 1]
    rows[0].K[1], rows[1].K[1] = rows[1].K[1], rows[0].K[1]


def _cell_removed(pdf: pikepdf.Pdf) -> None:
    row = next(part for part in parts(pdf, "/TR") if _cells(part) > 1)
    del row.K[1]


def _cell_unread(pdf: pikepdf.Pdf) -> None:
    """ISO 32000-2, 14.8.4.7: an artifact in the structure is passed over."""
    next(parts(pdf, "/TD")).S = pikepdf.Name.Artifact


def _under_another_head(pdf: pikepdf.Pdf) -> None:
    """A value read aloud as that of another column."""
    cells = [part for part in parts(pdf, "/TD") if len(part.A.Headers) == 1]
    other = next(cell for cell in cells if cell.A.Headers[0] != cells[0].A.Headers[0])
    cells[0].A.Headers = other.A.Headers


def _heads_exchanged(pdf: pikepdf.Pdf) -> None:
    one, other = [part for part in parts(pdf, "/TH") if "/ID" in part][:2]
    one.ID, other.ID = other.ID, one.ID


def _found_elsewhere(pdf: pikepdf.Pdf) -> None:
    """From the place on the page, a reader comes to another cell."""
    places = pdf.Root.StructTreeRoot.ParentTree.Nums[1]
    places[40], places[46] = places[46], places[40]


def _another_parent(pdf: pikepdf.Pdf) -> None:
    cells = list(parts(pdf, "/TD"))
    cells[0].P = cells[-1].P


# ------------------------------------------------------------------ attached files


def _spec(pdf: pikepdf.Pdf) -> pikepdf.Object:
    return pdf.attachments["evidence.json"].obj


def _listed_twice(pdf: pikepdf.Pdf) -> None:
    other = pikepdf.AttachedFileSpec(pdf, b"{}", filename="evidence.json").obj
    names = pdf.Root.Names.EmbeddedFiles
    names.Names = pikepdf.Array(["evidence.json", other, *list(names.Names)])


def _listed_below(pdf: pikepdf.Pdf) -> None:
    other = pikepdf.AttachedFileSpec(pdf, b"{}", filename="evidence.json").obj
    pdf.Root.Names.EmbeddedFiles.Kids = pikepdf.Array(
        [pdf.make_indirect(pikepdf.Dictionary({"/Names": ["evidence.json", other], "/Limits": ["evidence.json"] * 2}))]
    )


def _file_size(pdf: pikepdf.Pdf) -> None:
    _spec(pdf).EF.F.Params.Size = 12


def _file_date(pdf: pikepdf.Pdf) -> None:
    _spec(pdf).EF.F.Params.ModDate = "D:20200101000000Z"


def _page_kept_elsewhere(pdf: pikepdf.Pdf) -> None:
    pdf.pages[0].Contents.F = "page.txt"


def _font_kept_elsewhere(pdf: pikepdf.Pdf) -> None:
    _font(pdf).DescendantFonts[0].FontDescriptor.FontFile2.F = "font.ttf"


# ------------------------------------------------------------------ the file and its pages


def _marks_of(pdf: pikepdf.Pdf) -> list[pikepdf.Object]:
    found, waiting = [], [pdf.Root.Outlines.First]
    while waiting:
        item = waiting.pop()
        found.append(item)
        waiting += [item[name] for name in ("/Next", "/First") if name in item]
    return found


def _leads_elsewhere(pdf: pikepdf.Pdf) -> None:
    last = _marks_of(pdf)[-1]
    last.Dest = pikepdf.Array([pdf.pages[0].obj, pikepdf.Name.XYZ, 0, 800, 0])


def _leads_to_another_place(pdf: pikepdf.Pdf) -> None:
    """To the words of another element, on the same page."""
    one, other = [mark for mark in _marks_of(pdf) if "nm" in str(mark.Title)][:2]
    one.Dest = other.Dest


def _few_words(pdf: pikepdf.Pdf) -> None:
    """Words that stand on the page, but are no heading."""
    _marks_of(pdf)[1].Title = "comply"


def _mark_more(pdf: pikepdf.Pdf) -> None:
    last = _marks_of(pdf)[-1]
    told = {"/Title": last.Title, "/Dest": last.Dest, "/Parent": last.Parent, "/Prev": last}
    last.Next = pdf.make_indirect(pikepdf.Dictionary(told))
    last.Parent.Last = last.Next


def _turned_above(name: str, value: object) -> Callable[[pikepdf.Pdf], None]:
    """ISO 32000-1, 7.7.3.4: a page takes it from the node above."""

    def change(pdf: pikepdf.Pdf) -> None:
        pdf.Root.Pages[name] = value

    return change


def _of_page(name: str, value: object) -> Callable[[pikepdf.Pdf], None]:
    def change(pdf: pikepdf.Pdf) -> None:
        pdf.pages[0].obj[name] = pdf.make_stream(b"x") if value is None else value

    return change


def _trimmed(pdf: pikepdf.Pdf) -> None:
    pdf.pages[0].TrimBox = pikepdf.Array([0, 0, 595, 300])


def _labels(pdf: pikepdf.Pdf) -> None:
    pdf.Root.PageLabels = pikepdf.Dictionary({"/Nums": [0, pikepdf.Dictionary({"/P": "Draft "})]})


def _rights(pdf: pikepdf.Pdf) -> None:
    pdf.Root.Perms = pikepdf.Dictionary({"/UR3": pikepdf.Dictionary({"/Type": pikepdf.Name.Sig})})


def _optional_words(pdf: pikepdf.Pdf) -> None:
    """The first words of the page belong to a layer, which may be switched off."""
    _drawn(pdf, lambda data: data.replace(b"\n/Span\n", b"\n/OC /Layer BDC\n/Span\n", 1) + b"\nEMC")


def _exchanged_heads(pdf: pikepdf.Pdf) -> None:
    """Author and subject in each other's place, in the metadata only."""
    told = pdf.Root.Metadata.read_bytes()
    author, subject = (str(pdf.docinfo[name]).encode() for name in ("/Author", "/Subject"))
    told = told.replace(author, b"\1").replace(subject, author).replace(b"\1", subject)
    pdf.Root.Metadata.write(told)


def _metadata_title(pdf: pikepdf.Pdf) -> None:
    old = str(pdf.docinfo["/Title"]).encode()
    pdf.Root.Metadata.write(pdf.Root.Metadata.read_bytes().replace(old, b"Cadmium complies"))


def _told(name: str, change: Callable[[pikepdf.Pdf], None], words: str, check: str = "page form") -> Attack:
    return Attack(name, redone(change), check, words)


KEPT: Final = (
    _told("colour: another one in place of the plain one", _colour("/DefaultRGB", 3), "DefaultRGB is a colour"),
    _told("colour: another grey", _colour("/DefaultGray", 1), "DefaultGray is a colour"),
    _told("colour: another profile of the file", _profile, "those of another device"),
    _told("colour: a profile kept elsewhere", _second_intent, "those of another device"),
    _told("colour: another one beside the profile", _page_profile, "srgb is a colour"),
    _told("colour: a soft mask", _mask, "shine through"),
    _told("colour: multiplied", _state("/BM", pikepdf.Name.Multiply), "shine through"),
    _told("colour: overprinted", _state("/OP", True), "shine through"),
    _told("colour: the page as a group", _page_group, "/Group"),
    _told("apart: a group that knocks out", _knocked_out, "more than dark letters"),
    _told("apart: letters of a figure cut off", _apart_cut, "cut off"),
    _told("apart: letters of a figure from another font", _apart_font, "is another letter"),
    _told("apart: words of the page", _in_a_form, "outside a figure"),
    _told("letters: drawn by instructions", _type_3, "its letters cannot be read"),
    _told("letters: another font file", _font_file, "its letters"),
    _told("letters: drawn beside their places", _program(_points_aside), "drawn otherwise"),
    _told("letters: outlines of another kind", _program(_other_outlines), "its letters cannot be read"),
    _told("letters: outlines twice", _program(_outlines_twice), "its letters cannot be read"),
    _told("letters: a second font file", _second_font_file, "/FontFile3"),
    _told("letters: 1 stands for 7", _map_told(_one_as_seven), "is another letter"),
    _told("letters: told twice what they stand for", _map_told(_told_twice), "told otherwise"),
    _told("letters: told in a range", _map_told(_told_as_range), "told otherwise"),
    _told("letters: two drawn as each other", _glyphs, "drawn as other ones"),
    _told("letters: half as wide", _widths(lambda width: width // 2), "wide"),
    _told("letters: all of one width", _widths(lambda _: 520), "wide"),
    _told("letters: widths told twice", _widths_told_twice, "wide"),
    _told("letters: a width for the others", _default_width, "/DW"),
    _told("letters: from top to bottom", _upright, "told in another way"),
    _told("aloud: another value of a figure", _figure_told, "figures are read aloud", "nothing else printed"),
    _told("aloud: two results in each other's row", _cells_swapped, "another order"),
    _told("aloud: a result left out", _cell_removed, "not every part"),
    _told("aloud: a result passed over", _cell_unread, "/Artifact"),
    _told("aloud: a value under another head", _under_another_head, "under the head"),
    _told("aloud: two heads exchanged", _heads_exchanged, "under the head"),
    _told("aloud: another cell at a place of the page", _found_elsewhere, "found at another place"),
    _told("aloud: a cell of another row", _another_parent, "found at another place"),
    _told("files: listed twice", _listed_twice, "not listed once"),
    _told("files: another list below", _listed_below, "not listed once"),
    _told("files: another size", _file_size, "another size"),
    _told("files: another date", _file_date, "another time"),
    _told("page: kept elsewhere", _page_kept_elsewhere, "/F"),
    _told("letters: kept elsewhere", _font_kept_elsewhere, "in another file"),
    _told("bookmark: leads to another page", _leads_elsewhere, "bookmark"),
    _told("bookmark: leads to another place", _leads_to_another_place, "bookmark"),
    _told("bookmark: a few words of the page", _few_words, "bookmark", "nothing else printed"),
    _told("bookmark: one more", _mark_more, "13 bookmarks for 12 headings"),
    _told("pages: all upside down", _turned_above("/Rotate", 180), "/Rotate"),
    _told("pages: all cropped", _turned_above("/CropBox", [0, 0, 9, 9]), "/CropBox"),
    _told("page: trimmed", _trimmed, "another size"),
    _told("page: larger units", _of_page("/UserUnit", 9), "/UserUnit"),
    _told("page: metadata of its own", _of_page("/Metadata", None), "/Metadata"),
    _told("page: a small picture of it", _of_page("/Thumb", None), "/Thumb"),
    _told("pages: numbered otherwise", _labels, "/PageLabels"),
    _told("file: rights of a reader", _rights, "/UR3", "seal"),
    _told("page: words in a layer", _optional_words, "written otherwise"),
    _told("told: author and subject exchanged", _exchanged_heads, "metadata say something else"),
    _told("told: another title in the metadata", _metadata_title, "metadata say something else"),
    Attack("seal: another reason", seal_told(reason="Cadmium complies"), "seal", "due to say"),
)
