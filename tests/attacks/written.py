"""A changed file written in the layout of the renderer, so that it is refused for what was changed in it alone.

Streams each by itself, packed; all other objects together in one stream; then the list of all (ISO 32000-1, 7.5.7 and
7.5.8). What nothing leads to is left out, as a library that saves a file does.
"""

from __future__ import annotations

import re
import zlib
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any, Final

import pikepdf

if TYPE_CHECKING:
    from collections.abc import Mapping

HEADER: Final = b"%PDF-1.7\n%\xf0\x9f\x96\xa4\n"
_REFERENCE: Final = re.compile(rb"\((?:[^\\()]|\\.)*\)|\b([0-9]{1,7}) 0 R", re.DOTALL)
_LISTS: Final = ("/ObjStm", "/XRef")


@dataclass(frozen=True)
class Written:
    """A file in parts. objects: by number, as written; streams: what those with a content hold, packed.

    header, between, behind: what stands first, behind the last stream, behind the list of objects. more: in the list's
    dictionary. together: what is put behind the objects that are kept together. rows: of the list, by number.
    """

    objects: Mapping[int, bytes]
    streams: Mapping[int, bytes]
    about: int
    header: bytes = HEADER
    between: bytes = b""
    behind: bytes = b""
    more: bytes = b""
    together: bytes = b""
    rows: Mapping[int, bytes] = field(default_factory=dict)
    end: bytes = b""

    def having(self, text: bytes, packed: bytes | None = None) -> tuple[Written, int]:
        """With one object more, and its number."""
        number = max(self.objects) + 1
        streams = self.streams if packed is None else {**self.streams, number: packed}
        return replace(self, objects={**self.objects, number: text}, streams=streams), number

    def told(self, number: int, text: bytes) -> Written:
        """With one object written otherwise."""
        assert number in self.objects
        return replace(self, objects={**self.objects, number: text})

    def data(self) -> bytes:
        """The whole file."""
        out, places = self.header, {}
        for number, packed in sorted(self.streams.items()):
            places[number] = len(out)
            out += b"%d 0 obj\n%s\nstream\n%s\nendstream\nendobj\n" % (number, self.objects[number], packed)
        out += self.between
        others = [number for number in sorted(self.objects) if number not in self.streams]
        keeper, own = max(self.objects) + 1, max(self.objects) + 2
        texts = [self.objects[number] for number in others]
        starts = [sum(len(text) + 1 for text in texts[:at]) for at in range(len(texts))]
        head = b" ".join(b"%d %d" % pair for pair in zip(others, starts, strict=True)) + b"\n"
        packed = zlib.compress(head + b"\n".join(texts) + self.together, 9)
        places[keeper] = len(out)
        told = b"<</Type /ObjStm/N %d/First %d/Filter /FlateDecode/Length %d>>" % (len(others), len(head), len(packed))
        out += b"%d 0 obj\n%s\nstream\n%s\nendstream\nendobj\n" % (keeper, told, packed)
        places[own] = len(out)
        rows = {0: (0, 0, 65535), **{number: (1, place, 0) for number, place in places.items()}}
        rows |= {number: (2, keeper, index) for index, number in enumerate(others)}
        whole = {number: _row(*row) for number, row in rows.items()} | dict(self.rows)
        packed = zlib.compress(b"".join(row for _, row in sorted(whole.items())), 9)
        size = max(whole) + 1
        out += (
            b"%d 0 obj\n<</Type /XRef/Index [0 %d]/W [1 3 2]/Size %d/Root 2 0 R/Info %d 0 R/ID [(%s) (%s)]%s"
            b"/Filter /FlateDecode/Length %d>>\nstream\n%s\nendstream\nendobj\n"
        ) % (own, size, size, self.about, b"0" * 32, b"0" * 32, self.more, len(packed), packed)
        return out + self.behind + b"startxref\n%d\n%%%%EOF\n" % places[own] + self.end


def _row(kind: int, place: int, third: int) -> bytes:
    return bytes((kind,)) + place.to_bytes(3, "big") + third.to_bytes(2, "big")


def parts_of(pdf: pikepdf.Pdf) -> Written:
    """The parts of a file that the renderer wrote and something changed."""
    texts: dict[int, bytes] = {}
    streams: dict[int, bytes] = {}
    for one in pdf.objects:
        if isinstance(one, pikepdf.Stream):
            if one.get("/Type") in _LISTS:
                continue
            texts[one.objgen[0]], streams[one.objgen[0]] = _stream(one)
        else:
            texts[one.objgen[0]] = one.unparse(resolved=True)
    root, about = pdf.Root.objgen[0], pdf.trailer.Info.objgen[0]
    led_to, todo = {root, about}, [root, about]
    while todo:
        new = {int(one) for one in _REFERENCE.findall(texts.get(todo.pop(), b"")) if one} - led_to
        led_to |= new
        todo += new
    numbers = {old: new for new, old in enumerate(sorted(led_to & texts.keys()), start=1)}
    assert (numbers[pdf.Root.Pages.objgen[0]], numbers[root]) == (1, 2)

    def renamed(found: re.Match[bytes]) -> bytes:
        return b"%d 0 R" % numbers[int(found[1])] if found[1] else found[0]

    return Written(
        {new: _REFERENCE.sub(renamed, texts[old]) for old, new in numbers.items()},
        {numbers[old]: packed for old, packed in streams.items() if old in numbers},
        numbers[about],
    )


def as_rendered(pdf: pikepdf.Pdf) -> bytes:
    """The bytes of a changed file, in the layout of the renderer."""
    return parts_of(pdf).data()


def stream_text(told: bytes, packed: bytes) -> bytes:
    """The dictionary of a packed stream. told: what else it holds."""
    return b"<<%s/Filter /FlateDecode/Length %d>>" % (told, len(packed))


def _stream(one: Any) -> tuple[bytes, bytes]:  # noqa: ANN401  an object of a file
    """Its dictionary and its packed content."""
    packed = one.read_raw_bytes()
    told = pikepdf.Dictionary({name: value for name, value in one.items() if name not in ("/Length", "/Filter")})
    if "/Filter" not in one:
        packed = zlib.compress(packed, 9)
    elif one.Filter != "/FlateDecode":  # the renderer writes none: it is refused, and should be
        told.Filter = one.Filter
        return told.unparse().removesuffix(b">>") + b"/Length %d>>" % len(packed), packed
    return stream_text(told.unparse().removeprefix(b"<<").removesuffix(b" >>"), packed), packed
