"""The bytes of a sealed file: each belongs to an object that is listed and led to, and sealing replaced two objects.

What no list names, what lies between objects, what nothing leads to, and what was rendered before an object took its
place, is shown by no page, and can be read by whoever looks into the file. So the file is read from its first byte to
its last in the one layout that this program's renderer and its sealing write, without trusting a number in it: where
each object lies is found first and compared with the list afterwards. Source: ISO 32000-1, 7.3 (objects), 7.5 (file,
object streams, cross-reference streams, updates).

Limits: in how bytes are packed, in the second half of the file's identifier, in the order of objects and in blanks
within them something could be said still.
"""

from __future__ import annotations

import re
import zlib
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Iterator

_HEADER: Final = b"%PDF-1.7\n%\xf0\x9f\x96\xa4\n"
_LARGEST: Final = 256 * 1024 * 1024  # of one stream, unpacked
_CATALOG, _PAGES = b"2", b"1"  # as the renderer numbers them

_STRING: Final = rb"\((?:[^\\()]++|\\.)*+\)"


def _dictionary(depth: int, blank: bytes) -> bytes:
    """A dictionary with others within, without a comment. blank: what may stand between its parts."""
    within = b"" if depth == 0 else b"|" + _dictionary(depth - 1, blank)
    return rb"<<(?:[!-$&'*-;=?-~" + blank + rb"]++|" + _STRING + rb"|<[0-9A-Fa-f]*+>" + within + rb")*+>>"


_DEEPEST: Final = 4
_OBJECT: Final = re.compile(_dictionary(_DEEPEST, b" "), re.DOTALL)
_STREAM: Final = re.compile(rb"([1-9][0-9]{0,6}) 0 obj\n(" + _dictionary(_DEEPEST, b" ") + rb")\nstream\n", re.DOTALL)
_REPLACED: Final = re.compile(
    rb"([1-9][0-9]{0,6}) 0 obj\n(" + _dictionary(_DEEPEST, rb" \n") + rb")\nendobj\n", re.DOTALL
)
_LENGTH: Final = re.compile(rb".*/Filter ?/FlateDecode\b.*/Length ([0-9]{1,9})>>", re.DOTALL)
_AFTER_STREAM: Final = b"\nendstream\nendobj\n"
_LAST_LINES: Final = b"startxref\n%d\n%%%%EOF\n"
_KEPT_TOGETHER: Final = re.compile(rb"<</Type /ObjStm/N ([0-9]+)/First ([0-9]+)/Filter")
_LIST: Final = re.compile(
    rb"<</Type /XRef/Index \[0 ([0-9]+)\]/W \[1 ([1-8]) ([1-8])\]/Size \1/Root 2 0 R/Info ([0-9]+) 0 R"
    rb"/ID \[\(([0-9a-f]{32})\) \(\5\)\]/Filter /FlateDecode/Length [0-9]+>>"
)
_LIST_OF_SEAL: Final = re.compile(
    rb"([0-9]+) 0 obj\n<<\n/W \[ 1 8 2 \]\n/Type /XRef\n/Filter /FlateDecode\n/Size ([0-9]+)\n/Root 2 0 R\n"
    rb"/Info ([0-9]+) 0 R\n/ID \[ <([0-9a-f]{64})> <[0-9a-f]{32}> \]\n/Prev ([0-9]+)\n/Index \[ ([0-9 ]+) \]\n"
    rb"/Length ([0-9]{1,4})\n>>\nstream\n"
)
_REFERENCE: Final = re.compile(rb"\b([0-9]{1,7}) 0 R")
_STRINGS: Final = re.compile(_STRING, re.DOTALL)
_FIRST_PAGE: Final = re.compile(rb"/Kids ?\[ ?([0-9]+) 0 R")
# Texts in the margins are artifacts; the elements that the renderer made for them hang on nothing (``tagging``).
_OF_MARGIN: Final = re.compile(
    rb"<</Type /StructElem/S /(?:NonStruct/K \[[0-9]+ 0 R(?: [0-9]+ 0 R)*\]|Span/K \[[0-9]+(?: [0-9]+)*\])"
    rb"/Pg [0-9]+ 0 R/P [0-9]+ 0 R>>"
)
_TOKEN: Final = re.compile(_STRING + rb"|<<|>>|[\[\]]|<[0-9A-Fa-f]*>|/[^\s/<>\[\]()]*|[^\s/<>\[\]()]+", re.DOTALL)
_OCTAL: Final = re.compile(rb"\\([0-7]{3})")
_OF_CATALOG: Final = (
    b"/AcroForm %b 0 R /Extensions << /ESIC << /Type /DeveloperExtensions /BaseVersion /1.7 /ExtensionLevel 1 >> >> "
    b"/Perms << /DocMDP %b 0 R >> >>"
)
_TWICE: Final = "the file holds an object twice."
_OF_PAGE: Final = b"/Annots [ %b 0 R ] >>"


class _OtherwiseError(Exception):
    """The file is laid out otherwise; the text is a plain sentence."""


@dataclass(frozen=True, slots=True)
class _Rendered:
    """The first part of the file, as it was rendered.

    objects: by number, as written, without the content of streams. ends: where the part ends. listed: where its list
    of objects lies. size: one more than the highest number. about: the number of what the file says of itself.
    identifier: of the file.
    """

    objects: dict[bytes, bytes]
    ends: int
    listed: int
    size: int
    about: bytes
    identifier: bytes


def layout_faults(data: bytes) -> Iterator[str]:
    """What of a sealed file's layout is not as this program writes it: one plain sentence, or none."""
    try:
        rendered = _rendered(data)
        objects = _sealed(data, rendered)
        _demand_led_to(objects, rendered.about)
    except _OtherwiseError as fault:
        yield str(fault)


# ---------------------------------------------------------------- the file as it was rendered


def _rendered(data: bytes) -> _Rendered:
    if not data.startswith(_HEADER):
        raise _OtherwiseError("the file begins otherwise than this program begins one.")
    objects, places, before_last, last, at = _streams(data)
    own = list(objects)[-1] if objects else b""
    end = _LAST_LINES % places.get(own, 0)
    if len(objects) < 2 or not data.startswith(end, at):
        raise _OtherwiseError("the file holds something outside its objects, or writes them otherwise than usual.")
    told = _LIST.fullmatch(objects[own])
    if told is None:
        raise _OtherwiseError("the end of the file says more, or less, than that of a certificate.")
    keeper = list(objects)[-2]
    together = _kept_together(objects[keeper], before_last)
    whole = together | objects
    if len(whole) != len(together) + len(objects):
        raise _OtherwiseError(_TWICE)
    rows = {name: (1, place, 0) for name, place in places.items()}
    rows |= {name: (2, int(keeper), index) for index, name in enumerate(together)}
    if last != _list(rows, int(told[1]), int(told[2]), int(told[3])):
        raise _OtherwiseError("the list of the file's objects names others than those it holds.")
    return _Rendered(whole, at + len(end), places[own], int(told[1]), told[4], told[5])


def _streams(data: bytes) -> tuple[dict[bytes, bytes], dict[bytes, int], bytes, bytes, int]:
    """Streams by number, in their order; where each lies; what the last two hold; where they end."""
    objects: dict[bytes, bytes] = {}
    places: dict[bytes, int] = {}
    before, content, at = b"", b"", len(_HEADER)
    while found := _STREAM.match(data, at):
        number, told = found.groups()
        if number in objects:
            raise _OtherwiseError(_TWICE)
        objects[number], places[number], before = told, at, content
        content, at = _content(data, found.end(), told)
    return objects, places, before, content, at


def _list(rows: dict[bytes, tuple[int, int, int]], size: int, wide: int, narrow: int) -> bytes:
    """The list of objects as it is due: one row for each number below size, that of no object free."""
    named = {int(name): row for name, row in rows.items()}
    named[0] = (0, 0, 65535)
    if len(named) != size or max(named) != size - 1 or size > 1 << 8 * narrow:
        return b""
    return b"".join(
        b"%c%b%b" % (kind, place.to_bytes(wide, "big"), third.to_bytes(narrow, "big"))
        for _, (kind, place, third) in sorted(named.items())
    )


def _content(data: bytes, begin: int, told: bytes) -> tuple[bytes, int]:
    """What a stream unpacks to, and where the next object begins."""
    length = _LENGTH.fullmatch(told)
    end = begin + int(length[1]) if length else begin
    if not data.startswith(_AFTER_STREAM, end):
        raise _OtherwiseError("a stream of the file is longer or shorter than it says, or packed otherwise.")
    return _unpacked(data[begin:end]), end + len(_AFTER_STREAM)


def _unpacked(packed: bytes) -> bytes:
    unpacking = zlib.decompressobj()
    try:
        content = unpacking.decompress(packed, _LARGEST)
    except zlib.error:
        raise _OtherwiseError("a stream of the file cannot be unpacked.") from None
    if not unpacking.eof or unpacking.unused_data:
        raise _OtherwiseError("a stream of the file holds more than what it unpacks to.")
    return content


def _kept_together(told: bytes, content: bytes) -> dict[bytes, bytes]:
    """Objects of the one stream that holds all without a stream of their own, in its order, and nothing between."""
    found = _KEPT_TOGETHER.match(told)
    if found is None:
        raise _OtherwiseError("the file does not keep its objects together as this program does.")
    begin = int(found[2])
    names = content[: begin - 1].split(b" ")
    numbers, places = names[::2], [*map(int, names[1::2]), len(content) - begin + 1]
    texts = [content[begin + one : begin + following - 1] for one, following in pairwise(places)]
    # Every text begins where its place says, a line feed after the one before: they make up the whole again.
    made = b" ".join(names) + b"\n" + b"\n".join(texts)
    if places[0] or made != content or int(found[1]) != len(numbers) or not all(map(_OBJECT.fullmatch, texts)):
        raise _OtherwiseError("between the objects that the file keeps together stands something else.")
    objects = dict(zip(numbers, texts, strict=True))
    if len(objects) != len(texts):
        raise _OtherwiseError(_TWICE)
    return objects


# ---------------------------------------------------------------- what sealing wrote behind it


def _sealed(data: bytes, rendered: _Rendered) -> dict[bytes, bytes]:
    """All objects as a reader takes them: those of sealing in the place of the rendered ones."""
    places: dict[bytes, int] = {}
    written: dict[bytes, bytes] = {}
    at = rendered.ends
    while (found := _REPLACED.match(data, at)) and found[1] not in written:
        written[found[1]], places[found[1]] = found[2], at
        at = found.end()
    page = _FIRST_PAGE.search(rendered.objects[_PAGES])
    form, field, signature, own = (b"%d" % (rendered.size + more) for more in range(1, 5))
    first = page[1] if page else b""
    if list(written) != [_CATALOG, first, form, field, signature]:
        raise _OtherwiseError("sealing replaced or added other objects than catalog, first page and the seal's own.")
    for name, more in ((_CATALOG, _OF_CATALOG % (form, signature)), (first, _OF_PAGE % field)):
        before = _tokens(rendered.objects[name])
        if _tokens(written[name]) != before[:-1] + _tokens(more):
            raise _OtherwiseError("what was sealed is another page or catalog than what was rendered in the same file.")
    _demand_list_of_seal(data, at, rendered, {**places, own: at})
    return rendered.objects | written


def _demand_list_of_seal(data: bytes, at: int, rendered: _Rendered, places: dict[bytes, int]) -> None:
    found = _LIST_OF_SEAL.match(data, at)
    if found is None:
        raise _OtherwiseError("behind what sealing wrote stands something else than its list of objects.")
    numbers = [0, *map(int, places)]
    firsts = [number for number in numbers if number - 1 not in numbers]
    runs = [(first, next(more for more in range(1, 9) if first + more not in numbers)) for first in firsts]
    index = b" ".join(b"%d %d" % run for run in runs)
    highest, identifier = numbers[-1], rendered.identifier.hex().encode()
    due = (b"%d" % highest, b"%d" % (highest + 1), rendered.about, identifier, b"%d" % rendered.listed, index)
    end = found.end() + int(found[7])
    rows = (
        b"\x00" + bytes(8) + b"\xff\xff",
        *(b"\x01" + place.to_bytes(8, "big") + bytes(2) for place in places.values()),
    )
    if found.groups()[:6] != due or _unpacked(data[found.end() : end]) != b"".join(rows):
        raise _OtherwiseError("the list of what sealing wrote names other objects, or says more, than is due.")
    if data[end:] != _AFTER_STREAM + b"\n" + _LAST_LINES % at:
        raise _OtherwiseError("the file ends otherwise than this program ends one.")


def _tokens(text: bytes) -> list[bytes]:
    """An object in parts, without what may be written in two ways."""
    return [_OCTAL.sub(lambda one: bytes((int(one[1], 8),)), part) for part in _TOKEN.findall(text)]


# ---------------------------------------------------------------- what leads to what


def _demand_led_to(objects: dict[bytes, bytes], about: bytes) -> None:
    """From the catalog, or from what the file says of itself, a way leads to every object but the lists themselves."""
    todo, met = [_CATALOG, about], {_CATALOG, about}
    while todo:
        text = objects.get(todo.pop(), b"")
        new = set(_REFERENCE.findall(_STRINGS.sub(b"", text) if b"(" in text else text)) - met
        met |= new
        todo += new
    left = [text for name, text in objects.items() if name not in met]
    apart = [text for text in left if not _OF_MARGIN.fullmatch(text)]
    lists = len(apart) == 2 and _KEPT_TOGETHER.match(apart[0]) and _LIST.fullmatch(apart[1])
    if not lists or not met <= objects.keys():
        raise _OtherwiseError("the file holds an object that nothing in it leads to, or leads to one it does not hold.")
