"""Figures that are drawn elsewhere than where they are read, in another size, or with letters at other places.

Each keeps its lines, its letters in their order, and its turn in what is read aloud; the figure of one element under
the name of another, or an axis whose numbers changed places, is a false statement all the same. What a reader's
program is told of a figure's place is changed with it. Sealed with the laboratory's own key.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

import pikepdf
from tests.attacks.forged_inside import redone
from tests.attacks.forged_kept import parts
from tests.attacks.forged_outside import Attack

if TYPE_CHECKING:
    from collections.abc import Callable

_FIGURE: Final = re.compile(
    rb"(\S+) (\S+) (\S+) (\S+)( re\nW\nn\n/Figure\n<</MCID (\d+)>>\nBDC\nq\n/a1 gs\n1 0 0 1 )(\S+) (\S+)"
    rb"( cm\nq\nq\n1 0 0 1 0 0 cm\n)(\S+) 0 0 (\S+)"
)
_PAGE: Final = 1  # of the calibration charts, counted from 0
_MARK_PAGE: Final = 0
Frame = tuple[float, ...]  # left, top, width, height, scale


def _set(change: Callable[[list[Frame]], list[Frame]], page: int = _PAGE) -> Callable[[pikepdf.Pdf], None]:
    """The figures of a page at other places: what is drawn, what is seen of it, and what is told."""

    def make(pdf: pikepdf.Pdf) -> None:
        content = pdf.pages[page].Contents
        data = content.read_bytes()
        found = list(_FIGURE.finditer(data))
        frames = [(*map(float, one.group(1, 2, 3, 4)), float(one[10])) for one in found]
        numbers = [int(one[6]) for one in found]
        for one, (x, y, width, height, scale) in reversed(list(zip(found, change(frames), strict=True))):
            told = b"%f %f %f %f%s%f %f%s%f 0 0 %f" % (x, y, width, height, one[5], x, y, one[9], scale, scale)
            data = data[: one.start()] + told + data[one.end() :]
            figures = [part for part in parts(pdf, "/Figure") if part.Pg.objgen == pdf.pages[page].obj.objgen]
            for figure in figures:
                if list(figure.K) == [numbers[found.index(one)]]:
                    figure.A.BBox = pikepdf.Array([round(at, 6) for at in (x, y, x + width, y + height)])
        content.write(data)

    return make


def _exchanged(one: int, other: int) -> Callable[[list[Frame]], list[Frame]]:
    def change(frames: list[Frame]) -> list[Frame]:
        frames[one], frames[other] = frames[other], frames[one]
        return frames

    return change


def _moved(which: int = 0, *, right: float = 0, down: float = 0, by: float = 1) -> Callable[[list[Frame]], list[Frame]]:
    """One figure of a page moved, or sized by a factor."""

    def change(frames: list[Frame]) -> list[Frame]:
        x, y, *size = frames[which]
        frames[which] = (x + right, y + down, *(one * by for one in size))
        return frames

    return change


def _all_a_row_down(frames: list[Frame]) -> list[Frame]:
    """Each chart in the place of the next one, the last one in that of the first."""
    return [*frames[1:], frames[0]]


def _field(wider: float) -> Callable[[list[Frame]], list[Frame]]:
    """Less of the first figure is seen, or more; its letters are."""

    def change(frames: list[Frame]) -> list[Frame]:
        x, y, width, height, scale = frames[0]
        return [(x, y, width + wider, height, scale), *frames[1:]]

    return change


def _drawn(change: Callable[[bytes], bytes], page: int = _PAGE) -> Callable[[pikepdf.Pdf], None]:
    def make(pdf: pikepdf.Pdf) -> None:
        content = pdf.pages[page].Contents
        data = content.read_bytes()
        told = change(data)
        assert told != data
        content.write(told)

    return make


def _seen_through_half(data: bytes) -> bytes:
    """The rosette, which has no letters, through the half of its field; its own field stays as it was."""
    one = list(_FIGURE.finditer(data))[-1]
    x, y, width, height = map(float, one.group(1, 2, 3, 4))
    return data[: one.start()] + b"%f %f %f %f re\nW\nn\n" % (x, y, width / 2, height) + data[one.start() :]


def _shrunk_from_outside(data: bytes) -> bytes:
    """The page's own units made smaller before a figure, its place told so that it stands where it was."""
    one = list(_FIGURE.finditer(data))[-1]
    x, y = float(one[1]), float(one[2])
    return data[: one.start()] + b"0.5 0 0 0.5 %f %f cm\n" % (x / 2, y / 2) + data[one.start() :]


def _other_field_than_place(data: bytes) -> bytes:
    """The drawing of the rosette moved within what is seen of it."""
    one = list(_FIGURE.finditer(data))[-1]
    return data[: one.start(7)] + b"%f" % (float(one[7]) + 30) + data[one.end(7) :]


def _mirrored(data: bytes) -> bytes:
    one = list(_FIGURE.finditer(data))[-1]
    told = b"-%s 0 0 %s %s 0" % (one[10], one[11], one[3])
    return data[: one.start(10)] + told + data[one.end(11) :].removeprefix(b" 0 0")


def _texts_moved(pdf: pikepdf.Pdf) -> None:
    """The numbers of an axis of the first chart a tick further up, in their order: 0 stands where 0.2 stood."""
    resources = pdf.pages[_PAGE].obj.Resources.XObject
    content = pdf.pages[_PAGE].Contents.read_bytes()
    begin = content.index(b"/Figure\n")
    names = re.findall(rb"/(x\d+) Do", content[begin : content.index(b"\nEMC", begin)])[:3]
    forms = [resources[f"/{name.decode()}"] for name in names]
    places = [re.search(rb"1 0 0 -1 \S+ (\S+) Tm", form.read_bytes()) for form in forms]
    levels = [float(one[1]) for one in places if one]
    apart = levels[0] - levels[1]
    for form in forms:
        form.write(re.sub(
            rb"(1 0 0 -1 \S+ )(\S+)( Tm)", lambda one: b"%s%f%s" % (one[1], float(one[2]) - apart / 2, one[3]),
            form.read_bytes(),
        ))  # fmt: skip
        x0, y0, x1, y1 = map(float, form.BBox)
        form.BBox = pikepdf.Array([x0, round(y0 - apart / 2, 5), x1, round(y1, 5)])


def _title_of_an_axis_aside(data: bytes) -> bytes:
    """The name of the upper axis, letter by letter, to the middle of the figure."""
    begin = data.index(b"BT\n", data.index(b"/Figure\n"))
    end = data.index(b"ET\n", begin)
    told = re.sub(rb"(1 0 0 -1 )(\S+)", lambda one: b"%s%f" % (one[1], float(one[2]) + 60), data[begin:end])
    return data[:begin] + told + data[end:]


def _told_larger(pdf: pikepdf.Pdf) -> None:
    figure = list(parts(pdf, "/Figure"))[-1]
    x0, y0, x1, y1 = figure.A.BBox
    figure.A.BBox = pikepdf.Array([x0, y0, x1 + 50, y1])


def _told_more(pdf: pikepdf.Pdf) -> None:
    """Words behind the four numbers of a figure's place."""
    next(iter(parts(pdf, "/Figure"))).A.BBox.append(pikepdf.String("Zinc complies"))


def _spoken(change: Callable[[str], str]) -> Callable[[pikepdf.Pdf], None]:
    """What is read aloud in the place of the first chart."""

    def make(pdf: pikepdf.Pdf) -> None:
        chart = next(part for part in parts(pdf, "/Figure") if "0." in str(part.Alt))
        told = change(str(chart.Alt))
        assert told != str(chart.Alt)
        chart.Alt = told

    return make


def _spoken_of_another(pdf: pikepdf.Pdf) -> None:
    charts = list(parts(pdf, "/Figure"))[-2:]
    charts[0].Alt, charts[1].Alt = str(charts[1].Alt), str(charts[0].Alt)


def _name_of_another(pdf: pikepdf.Pdf) -> None:
    """The names of two elements exchanged in what is read aloud, with their wavelengths; the numbers stay."""
    charts = list(parts(pdf, "/Figure"))[-2:]
    one, other = (str(chart.Alt) for chart in charts)
    (name, _, rest), (named, _, others) = one.partition(" nm"), other.partition(" nm")
    charts[0].Alt, charts[1].Alt = f"{named} nm{rest}", f"{name} nm{others}"


def _tabs(pdf: pikepdf.Pdf) -> None:
    pdf.pages[0].obj.Tabs = pikepdf.Name.W


def _colours_named(pdf: pikepdf.Pdf) -> None:
    pdf.Root.OutputIntents[0].Info = "Zinc complies"


def _figure(name: str, change: Callable[[pikepdf.Pdf], None], words: str, check: str = "page form") -> Attack:
    return Attack(f"figure: {name}", redone(change), check, words)


_READ: Final = "elsewhere than where it is read"
_ALOUD: Final = "figures are read aloud with other words than are due"
_CUT: Final = "placed or cut off otherwise"
_TOLD: Final = "told to be of another place or size"
_SIZE: Final = "larger or smaller than is due"
_LETTERS: Final = "letters at other places"
_LINES: Final = "between the lines above and below"
_ELSE: Final = "nothing else printed"
FIGURES: Final = (
    _figure("charts of two elements exchanged", _set(_exchanged(0, 1)), _READ),
    _figure("charts of two rows exchanged", _set(_exchanged(0, 3)), _READ),
    _figure("each chart under the next element", _set(_all_a_row_down), _READ),
    _figure("a chart over a table", _set(_moved(down=200)), "painted over text"),
    _figure("a chart over the words above it", _set(_moved(down=-20)), "painted over text"),
    _figure("a chart in the next column", _set(_moved(right=225)), "painted over text"),
    _figure("a chart half over the next one", _set(_moved(right=100)), _READ),
    _figure("a chart half in the margin", _set(_moved(2, right=30)), _LINES, _ELSE),
    _figure("a chart at the edge of the paper", _set(_moved(2, right=52)), "in the margin"),
    _figure("a chart enlarged", _set(_moved(by=1.02)), _SIZE, _ELSE),
    _figure("a chart shrunk", _set(_moved(by=0.8)), _SIZE, _ELSE),
    _figure("a chart less of which is seen", _set(_field(-8)), _SIZE, _ELSE),
    _figure("a chart with a wider field", _set(_field(4)), _SIZE, _ELSE),
    _figure("a chart set aside", _set(_moved(right=6)), _LINES, _ELSE),
    _figure("a chart set lower", _set(_moved(down=2)), _LINES, _ELSE),
    _figure("the rosette enlarged", _set(_moved(-1, by=1.02), _MARK_PAGE), _SIZE, _ELSE),
    _figure("the rosette set aside", _set(_moved(-1, right=-6), _MARK_PAGE), _LINES, _ELSE),
    # which fault is named first hangs on the rosette, and that on the evidence
    _figure("the rosette at another line", _set(_moved(-1, down=-60), _MARK_PAGE), "Of the pages: page 1: a "),
    _figure("the rosette set higher", _set(_moved(-1, down=-8), _MARK_PAGE), _LINES, _ELSE),
    _figure("the rosette seen in half", _drawn(_seen_through_half, _MARK_PAGE), _CUT),
    _figure("the rosette smaller by the page's units", _drawn(_shrunk_from_outside, _MARK_PAGE), _CUT),
    _figure("the rosette drawn beside its field", _drawn(_other_field_than_place, _MARK_PAGE), _TOLD),
    _figure("the rosette mirrored", _drawn(_mirrored, _MARK_PAGE), _CUT),
    _figure("numbers of an axis at other ticks", _texts_moved, _LETTERS, _ELSE),
    _figure("the name of an axis in its middle", _drawn(_title_of_an_axis_aside), _LETTERS, _ELSE),
    _figure("a digit of what is read aloud", _spoken(lambda told: told.replace("0.", "1.", 1)), _ALOUD, _ELSE),
    _figure("read aloud with blanks for a word", _spoken(lambda told: told.replace(" ", "\n\n\n")), _ALOUD, _ELSE),
    _figure("read aloud with a blank at the end", _spoken(lambda told: f"{told} "), _ALOUD, _ELSE),
    _figure("a blank in a number read aloud", _spoken(lambda told: told.replace("0.", "0. ", 1)), _ALOUD, _ELSE),
    _figure(
        "a sign without width in what is read aloud", _spoken(lambda told: f"{told[:3]}\u200b{told[3:]}"), _ALOUD, _ELSE
    ),
    _figure("charts of two elements read aloud for each other", _spoken_of_another, _ALOUD, _ELSE),
    _figure("names of two elements exchanged in what is read aloud", _name_of_another, _ALOUD, _ELSE),
    Attack("told: a page gone through by its drawing", redone(_tabs), "page form", "gone through in another order"),
    Attack("told: colours by another name", redone(_colours_named), "page form", "colours are those of another device"),
    _figure("told to be larger", _told_larger, _TOLD),
    _figure("told its place with words behind it", _told_more, _TOLD),
)
