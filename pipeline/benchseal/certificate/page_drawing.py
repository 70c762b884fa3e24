"""The instructions of a page followed: each run of letters is seen, and nothing is painted over it.

A run is dark, upright, large enough, close set, on a light ground, inside its clip and the page, drawn in the plain
way; no fill and no line touches it. The renderer writes one instruction in each line, with exactly the operands it
takes, and places and sizes each text between BT and ET; whatever is written in another way may mean another thing to
another reader, and is refused. Sources: ISO 32000-1, 8.4 and 8.5 (graphics state, painting), 9.3 and 9.4 (text).

Limit: dark lines and fields in a figure are not seen here to belong to it; ``page_figure`` compares them.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final, TypeAlias

import numpy as np
import pikepdf

from benchseal.certificate.page_aloud import Part, apart_faults, part_of
from benchseal.certificate.page_beside import Word, figure_faults, mark_faults, ring, word_faults
from benchseal.certificate.page_frame import frames
from benchseal.certificate.page_letters import NO_LETTERS, Lettered, Letters, length, letters_of
from benchseal.certificate.page_operators import (
    BEGINS,
    CLIPS,
    GOES_ON,
    INSTRUCTIONS,
    NONE,
    UNKNOWN,
    instructions,
)
from benchseal.certificate.page_places import (
    around,
    bounds,
    corners,
    matrix,
    shared,
    stands_on_dark,
    times,
    touches,
    turned,
)

if TYPE_CHECKING:
    import re
    from collections.abc import Callable, Iterator

    from benchseal.certificate.page_order import Run
    from benchseal.certificate.page_places import Box, Matrix

_Act: TypeAlias = "Callable[[Drawing, bytes], None] | None"

# A run is looked at along a line this share of its letters' height above its origin.
_ABOVE: Final = 0.2
_OVER, _UNDER = 0.5, 0.4  # of the same measure, above and below that line: figures, and the tails of commas
_BODY: Final = (0.1, 0.35)  # what even the lowest letters fill
_LIGHT: Final = 0.8  # of full light, each part: what letters stand on is no darker
_DARK: Final = 0.6  # of full light, each part: black ink is 0
_LEAST_PT: Final = 4.0
_THICKEST_PT: Final = 3.0
# What a clip may take from a run: the rounding of places. Two clips of one run could leave nothing of its point else.
_SLACK_PT: Final = 0.05
_SHARPEST: Final = 10.0  # a corner of two lines reaches no further, as a multiple of their width (ISO 32000-1, 8.4.3.5)
_PLAIN: Final[Matrix] = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
_NOWHERE: Final[Box] = (0.0, 0.0, 0.0, 0.0)

_FURTHEST: Final = 20_000.0  # that a place is moved to, in points: many pages
_LARGEST: Final = 1_000.0  # that anything is drawn, as a multiple


class Drawing:
    """What was drawn: where runs of letters stand, what was painted, and every fault, in plain sentences."""

    def __init__(self, page: pikepdf.Page, known: dict[tuple[int, int], Letters] | None = None) -> None:
        """Follows a page. known: fonts of the pages before it, by their place in the file; this one's are added."""
        x0, y0, x1, y1 = (float(corner) for corner in page.obj.MediaBox)
        self.right, self.top = x1, y1
        self._known = {} if known is None else known
        self.faults: list[str] = []
        self.runs: list[Run] = []
        self.lettered: list[Lettered] = []  # of each run
        self.words: list[Word] = []  # the same without blanks around them
        self.pictured: list[int] = []  # of each run, the number of the figure it stands in, counted from 1; else 0
        # The part of the graphics state that decides whether something is seen; inks are black at first (8.6.5.3).
        self._matrix, self._clip, self._boxed = _PLAIN, (x0, y0, x1, y1), True
        self._dark, self._light, self._light_line, self._plain = True, False, False, True
        self._line, self._corner, self._shade = 1.0, _SHARPEST, 0
        self._kept: list[tuple[Any, ...]] = []
        self._shades: dict[tuple[float, ...], int] = {(0.0, 0.0, 0.0): 0}
        # Of a text: its place and size, told anew in each.
        self._in_text, self._size = False, 0.0
        self._at: Matrix | None = None
        self._letters = NO_LETTERS
        self._fonts = self._fonts_of(page.obj.Resources)
        # Of a path: its lines and curves, its rectangles, whether one of those is turned, whether it becomes the clip.
        self._steps: list[bytes] = []
        self._rectangles: list[Box] = []
        self._turned, self._clips, self._open = False, False, False
        # Painted: fills and lines, each with the number of runs before it; dark fills as lists of boxes besides.
        self._fills: list[tuple[int, Box]] = []
        self._lines: list[Box] = []
        self._grounds: list[tuple[int, bool, list[Box]]] = []
        self._marks: list[Box] = []
        self._forms: dict[bytes, Any] = {
            name[1:].encode(): form for name, form in page.obj.Resources.get("/XObject", {}).items()
        }
        self.parts: list[Part] = []  # in the order of drawing
        self._within: list[Part] = []  # those that are open
        self._figures, self._apart = 0, False
        content = page.obj.Contents.read_bytes()
        self.frames = frames(content)
        self.framed: dict[int, tuple[Matrix, Box]] = {}  # of each figure, where it begins: its matrix, what is seen
        self.texts: list[int] = []  # of each text in a figure, the first run
        self._follow(content)
        if self._open or self._in_text or self._kept or self._within:
            self._say("its drawing ends before everything begun in it has its end.")
        self.faults += apart_faults(self.parts, len(self.runs))
        # Of each part with letters that is read aloud, the first run drawn in it.
        self.marks = {part.mark: part.begin for part in self.parts if part.end > part.begin and part.mark >= 0}
        if not self.faults:
            self.faults += dict.fromkeys(self._painted_over())

    def read(self) -> list[Run]:
        """Runs outside figures, in the order of drawing."""
        return [run for run, apart in zip(self.runs, self.pictured, strict=True) if not apart]

    def in_figures(self) -> list[Run]:
        """The other ones."""
        return [run for run, apart in zip(self.runs, self.pictured, strict=True) if apart]

    def beside(self) -> Iterator[str]:
        """What stands so close to words outside figures that it is read with them, in plain sentences."""
        placed = list(zip(self.pictured, self.words, strict=True))
        words = [word for figure, word in placed if not figure]
        yield from word_faults(words)
        yield from mark_faults(words, self._marks)
        yield from figure_faults(words, [one for one in placed if one[0]])

    def _say(self, fault: str) -> None:
        if fault not in self.faults:
            self.faults.append(fault)

    def _fonts_of(self, resources: Any) -> dict[bytes, Letters]:  # noqa: ANN401  an object of a file
        fonts: Any = resources.get("/Font", {})
        found = {}
        for name, font in fonts.items():
            if font.objgen not in self._known:
                self._known[font.objgen] = letters_of(font)
            found[name[1:].encode()] = self._known[font.objgen]
        return found

    # ---------------------------------------------------------------- instructions

    def _follow(self, content: bytes) -> None:
        lines = instructions(content)
        if lines is None:
            self._say("the beginning of a part of it is written otherwise than that of a certificate.")
            return
        for line in lines:
            told, _, operator = line.rpartition(b" ")
            form, in_text, of_path, act = _INSTRUCTIONS.get(operator, UNKNOWN)
            written = form is not None and (operator == line if form is NONE else form.fullmatch(told) is not None)
            if of_path <= GOES_ON:
                written = written and self._open is (of_path == GOES_ON)
            elif of_path != CLIPS:
                self._open = of_path == BEGINS
            if not written or in_text is not self._in_text:
                self._other(line)
            elif act is not None:
                act(self, told)

    def _other(self, line: bytes) -> None:
        named = ascii(line[:40].decode("latin-1"))[1:-1] or "an empty line"
        self._say(f"it is drawn with {named}, which a certificate never is.")

    def _save(self, _: bytes) -> None:
        self._kept.append((
            self._matrix, self._clip, self._boxed, self._dark, self._light, self._light_line, self._plain, self._line,
            self._corner, self._shade,
        ))  # fmt: skip

    def _restore(self, _: bytes) -> None:
        if not self._kept:
            self._other(b"Q")
            return
        (
            self._matrix, self._clip, self._boxed, self._dark, self._light, self._light_line, self._plain, self._line,
            self._corner, self._shade,
        ) = self._kept.pop()  # fmt: skip

    def _move(self, told: bytes) -> None:
        self._matrix = times(matrix(told), self._matrix)
        *large, across, up = map(abs, self._matrix)
        if max(across, up) > _FURTHEST or max(large) > _LARGEST:
            self._say("it is drawn far outside the page, which a certificate never is.")

    def _ink(self, told: bytes) -> None:
        parts = [float(part) for part in told.split()]
        self._dark, self._light = max(parts) <= _DARK, min(parts) >= _LIGHT
        self._shade = self._shades.setdefault(tuple(parts), len(self._shades))

    def _line_ink(self, told: bytes) -> None:
        self._light_line = max(map(float, told.split())) > _DARK

    def _way(self, told: bytes) -> None:
        self._plain = told == b"0"

    def _pen(self, told: bytes) -> None:
        self._line = float(told)

    def _sharp(self, told: bytes) -> None:
        self._corner = float(told)

    def _open_part(self, told: bytes) -> None:
        if self._within:
            self._say("a part of it lies in another, which that of a certificate never does.")
        part = part_of(told, self._figures + 1, len(self.runs))
        self._figures = max(self._figures, part.figure)
        self._within.append(part)
        if part.figure:
            self.framed[part.mark] = self._matrix, self._clip if self._boxed else _NOWHERE

    def _close_part(self, _: bytes) -> None:
        if len(self._within) <= self._apart:  # a drawing apart does not end its figure
            self._other(b"EMC")
            return
        self.parts.append(self._within.pop()._replace(end=len(self.runs)))

    def _in_figure(self) -> int:
        return max((part.figure for part in self._within), default=0)

    # ---------------------------------------------------------------- texts

    def _begin(self, _: bytes) -> None:
        self._in_text, self._at, self._size, self._letters = True, None, 0.0, NO_LETTERS
        if self._within and self._within[-1].figure:
            self.texts.append(len(self.runs))

    def _end(self, _: bytes) -> None:
        self._in_text = False

    def _place(self, told: bytes) -> None:
        self._at = matrix(told)

    def _font(self, told: bytes) -> None:
        name, size = told.split()
        self._size, self._letters = float(size), self._fonts.get(name[1:], NO_LETTERS)

    def _run(self, told: bytes) -> None:
        """A run of letters. It needs a place of its own: what stands where the last one ended is written as one."""
        if self._at is None:
            self._say("it is drawn with letters without a place, which a certificate never is.")
            return
        whole, level = times(self._at, self._matrix), self._at[5]
        self._at = None
        if not (self._dark and self._plain):
            self._say("text is drawn so that it is not seen.")
        a, b, c, d = whole[:4]
        if a <= 0 or d <= 0 or max(abs(b), abs(c), abs(a - d)) > a / 100:
            self._say("text is drawn turned, mirrored or out of shape.")
        height = self._size * d
        if height < _LEAST_PT:
            high = f"{height:.1f} points high" if height > 0 else "upside down"
            self._say(f"text is drawn {high}; the least of a certificate is {_LEAST_PT:g}.")
        run = length(told, self._letters)
        long, before, after, close, _ = run
        if not close:
            self._say("letters are set over each other or far apart.")
        x, y = whole[4] + c * self._size * _ABOVE, whole[5] + d * self._size * _ABOVE
        end = x + height * long / 1000
        x0, y0, x1, y1 = self._clip
        inside = x0 <= x + _SLACK_PT and end <= x1 + _SLACK_PT
        inside = inside and y0 <= y - _UNDER * height + _SLACK_PT and y + _OVER * height <= y1 + _SLACK_PT
        if not (self._boxed and inside):
            self._say("text is drawn where it is cut off.")
        self.runs.append((x, end, y, height))
        self.lettered.append(Lettered(run, self._letters, None if self._apart else level))
        self.pictured.append(self._in_figure())
        share = height / 1000
        self.words.append(Word(x + share * before, end - share * after, whole[5], height, self._shade))

    def _drawn_apart(self, told: bytes) -> None:
        """Letters of a figure in a drawing of their own, seen through its box; ``page_resources`` holds what it is."""
        form = self._forms.get(told[1:])
        if form is None:
            return
        if not self._in_figure():
            self._say("something is drawn apart outside a figure.")
            return
        if form.get("/Subtype") != "/Form":  # an image: it covers, and may be dark
            box = shared(bounds(corners(self._matrix, (0.0, 0.0, 1.0, 1.0))), self._clip)
            self._fills.append((len(self.runs), box))
            self._grounds.append((len(self.runs), False, [box]))
            self._marks.append(box)
            return
        kept = self._fonts, self._forms
        self._save(b"")
        self._fonts, self._forms, self._apart = self._fonts_of(form.get("/Resources", pikepdf.Dictionary())), {}, True
        x0, y0, x1, y1 = (float(corner) for corner in form.BBox)
        self._clip = shared(self._clip, bounds(corners(self._matrix, (x0, y0, x1, y1))))
        self._boxed = self._boxed and not turned(self._matrix)
        self._follow(form.read_bytes())
        self._restore(b"")
        (self._fonts, self._forms), self._apart = kept, False

    # ---------------------------------------------------------------- paths

    def _to(self, told: bytes) -> None:
        """A line or curve: a curve stays among the points that are told of it."""
        self._steps.append(told)

    def _rectangle(self, told: bytes) -> None:
        x, y, width, height = map(float, told.split())
        self._rectangles.append(bounds(corners(self._matrix, (x, y, x + width, y + height))))
        self._turned = self._turned or turned(self._matrix)

    def _around(self) -> Box:
        """The path, of one matrix, as that is not changed within it."""
        return around(self._matrix, b" ".join(self._steps), self._rectangles)

    def _clipping(self, _: bytes) -> None:
        self._clips = True

    def _fill(self, _: bytes, *, odd: bool = False) -> None:
        """The inside of the path. odd: what lies in two of its boxes is bare."""
        if self._steps or self._rectangles:
            box = shared(self._around(), self._clip)
            self._fills.append((len(self.runs), box))
            if not self._light:
                others = self._turned or bool(self._steps)
                shapes = [box] if others else [shared(one, self._clip) for one in self._rectangles]
                self._grounds.append((len(self.runs), odd and not others, shapes))
                self._marks += ring(shapes) if odd and not others else shapes
        self._end_path(b"")

    def _fill_odd(self, _: bytes) -> None:
        self._fill(b"", odd=True)

    def _fill_along(self, _: bytes) -> None:
        self._pen_along()
        self._fill(b"")

    def _along(self, _: bytes) -> None:
        self._pen_along()
        self._end_path(b"")

    def _end_path(self, _: bytes) -> None:
        """It becomes the clip where that was told before; of no path, nothing is seen through."""
        if self._clips:
            any_of_it = bool(self._steps or self._rectangles)
            self._boxed = self._boxed and len(self._rectangles) == 1 and not (self._turned or self._steps)
            self._clip = shared(self._around(), self._clip) if any_of_it else _NOWHERE
        self._steps, self._rectangles, self._turned, self._clips = [], [], False, False

    def _pen_along(self) -> None:
        """Lines, as wide as the pen is at its widest; a light one covers, a dark one makes another digit of a digit."""
        a, b, c, d = self._matrix[:4]
        thickness = self._line * (a * a + b * b + c * c + d * d) ** 0.5  # root of 2 times the pen, of an even matrix
        if thickness > _THICKEST_PT * 2**0.5 or self._corner > _SHARPEST:
            self._say("a line is drawn thicker than any of a certificate.")
        if self._steps or self._rectangles:
            x0, y0, x1, y1 = self._around()
            wide = thickness / 2 * max(self._corner, 1.0)
            box = shared((x0 - wide, y0 - wide, x1 + wide, y1 + wide), self._clip)
            self._lines.append(box)
            if self._light_line:
                self._fills.append((len(self.runs), box))
            else:
                self._marks.append(box)

    # ---------------------------------------------------------------- all of it

    def _painted_over(self) -> Iterator[str]:
        runs = np.array(self.runs, dtype=float).reshape(-1, 4)
        begins, ends, levels, heights = runs.T
        letters = np.column_stack((begins, levels - _UNDER * heights, ends, levels + _OVER * heights))
        if self._fills:
            before, boxes = zip(*self._fills, strict=True)
            if np.any(touches(boxes, letters) & (np.arange(len(runs)) < np.array(before)[:, None])):
                yield "something is painted over text."
        if self._lines and np.any(touches(self._lines, letters[~np.array(self.pictured, dtype=bool)])):
            yield "a line is drawn over text."
        below, above = _BODY
        bodies = np.column_stack((begins, levels - below * heights, ends, levels + above * heights))
        for before_it, odd, shapes in self._grounds:
            later = bodies[before_it:]
            touched = touches(shapes, later)
            if any(stands_on_dark(shapes, touched[:, at], later[at], odd=odd) for at in np.flatnonzero(touched.any(0))):
                yield "text is drawn on a dark ground."
                return


_INSTRUCTIONS: Final[dict[bytes, tuple[re.Pattern[bytes], bool, int, _Act]]] = {
    name: (form, in_text, of_path, getattr(Drawing, f"_{act}") if act else None)
    for name, (form, in_text, of_path, act) in INSTRUCTIONS.items()
}
