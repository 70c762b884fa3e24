"""Words that no page shows, kept in the file: where no list names them, where nothing leads, in what was there before.

Sealed with the laboratory's own key, in the layout of the renderer but for the lie. Every page is as it was, and is
shown alike by every reader. Common practice, no source.
"""

from __future__ import annotations

import io
import zlib
from dataclasses import replace
from typing import TYPE_CHECKING, Any, Final

import pikepdf
from pyhanko.pdf_utils import generic
from tests.attacks.forged_inside import redone
from tests.attacks.forged_outside import Attack
from tests.attacks.written import HEADER, Written, parts_of, stream_text

if TYPE_CHECKING:
    from collections.abc import Callable

    from tests.attacks.forging import Forger

_WORDS: Final = b"Cadmium does not comply"
_COMMENT: Final = b"%% %s\n" % _WORDS
_HIDDEN: Final = zlib.compress(_WORDS)


def _parts(forger: Forger) -> Written:
    with pikepdf.open(io.BytesIO(forger.one.raw)) as pdf:
        return parts_of(pdf)


def _laid(change: Callable[[Written], Written]) -> Callable[[Forger], bytes]:
    return lambda forger: forger.sealed_otherwise(change(_parts(forger)).data())


def _stream_of_words(written: Written) -> tuple[Written, int]:
    return written.having(stream_text(b"", _HIDDEN), _HIDDEN)


# ------------------------------------------------------------------ beside the objects that are listed


def _stream_more(written: Written) -> Written:
    return _stream_of_words(written)[0]


def _key_of_the_end(written: Written) -> Written:
    more, number = _stream_of_words(written)
    return replace(more, more=b"/Hidden %d 0 R" % number)


def _in_a_ring(written: Written) -> Written:
    """Two that lead to each other."""
    more, number = written.having(b"<</Note (%s)>>" % _WORDS)
    again, other = more.having(b"<</Other %d 0 R>>" % number)
    return again.told(number, b"<</Note (%s)/Other %d 0 R>>" % (_WORDS, other))


def _led_to_in_a_text(written: Written) -> Written:
    """The way to it is a text, which only looks as one."""
    more, number = written.having(b"<</Note (%s)>>" % _WORDS)
    return more.told(written.about, written.objects[written.about].replace(b"<<", b"<</Note (%d 0 R)" % number, 1))


def _margin_with_words(written: Written) -> Written:
    return written.having(b"<</Type /StructElem/S /Span/K [1]/Pg 7 0 R/P 2 0 R/Alt (%s)>>" % _WORDS)[0]


def _before_it_was_replaced(written: Written) -> Written:
    """An older object of the same number, which the list no longer names."""
    return replace(written, between=b"3 0 obj\n%s\nstream\n%s\nendstream\nendobj\n" % (
        stream_text(b"", _HIDDEN), _HIDDEN,
    ))  # fmt: skip


def _unlisted_among_others(written: Written) -> Written:
    """Kept together with the others, and no longer listed."""
    more, number = written.having(b"<</Note (%s)>>" % _WORDS)
    return replace(more, rows={number: bytes(6)})


def _free_entry(written: Written) -> Written:
    return replace(written, rows={max(written.objects) + 3: b"\x00" + _WORDS[:5]})


def _behind_a_stream(written: Written) -> Written:
    number = next(iter(written.streams))
    packed = written.streams[number] + _WORDS
    text = written.objects[number]
    told = text[: text.rindex(b"/Filter")] + b"/Filter /FlateDecode/Length %d>>" % len(packed)
    return replace(written.told(number, told), streams={**written.streams, number: packed})


def _comment_in(stream: bool) -> Callable[[Written], Written]:
    def change(written: Written) -> Written:
        number = next(one for one in written.objects if (one in written.streams) is stream)
        return written.told(number, written.objects[number].replace(b"<<", b"<<" + _COMMENT, 1))

    return change


# ------------------------------------------------------------------ beside the keys a reader asks for


def _of_metadata(pdf: pikepdf.Pdf) -> None:
    pdf.Root.Metadata["/Kept"] = pdf.make_stream(_WORDS)


def _of_a_colour(pdf: pikepdf.Pdf) -> None:
    pdf.pages[0].Resources.ColorSpace["/lab-d50"][1]["/Kept"] = pdf.make_stream(_WORDS)


# ------------------------------------------------------------------ what sealing replaces


def _resealed(
    change: Callable[[Any], None], first: Callable[[pikepdf.Pdf], None] = lambda _: None
) -> Callable[[Forger], bytes]:
    """first: changes what is rendered; change: puts it otherwise in the part that sealing writes."""

    def make(forger: Forger) -> bytes:
        with pikepdf.open(io.BytesIO(forger.one.raw)) as pdf:
            first(pdf)
            raw = parts_of(pdf).data()
        return forger.sealed_otherwise(raw, prepared=change)

    return make


def _without_a_value(data: bytes) -> bytes:
    begin = data.index(b"BDC\n", data.index(b"MCID 39>>")) + 4
    return data[:begin] + data[data.index(b"EMC", begin) :]


def _two_drawings(pdf: pikepdf.Pdf) -> None:
    """The page has the drawing without a value; the whole one is kept as the place of a colour."""
    page = pdf.pages[0].obj
    page.Resources["/Kept"] = page.Contents
    page.Contents = pdf.make_stream(_without_a_value(page.Contents.read_bytes()))


def _whole_drawing(writer: Any) -> None:  # noqa: ANN401
    kids = writer.root["/Pages"]["/Kids"]
    kids[0]["/Contents"] = kids[0]["/Resources"].raw_get("/Kept")
    writer.mark_update(kids.raw_get(0))


def _drawing_replaced(writer: Any) -> None:  # noqa: ANN401
    reference = writer.root["/Pages"]["/Kids"][0].raw_get("/Contents")
    drawn = generic.StreamObject(stream_data=reference.get_object().data)
    writer.objects[reference.generation, reference.idnum] = drawn


def _object_more(writer: Any) -> None:  # noqa: ANN401
    writer.add_object(generic.StreamObject(stream_data=_WORDS))


def _language(value: str) -> Callable[[pikepdf.Pdf], None]:
    return lambda pdf: pdf.Root.__setitem__("/Lang", pikepdf.String(value))


def _language_replaced(writer: Any) -> None:  # noqa: ANN401
    writer.root[generic.pdf_name("/Lang")] = generic.pdf_string("en")
    writer.update_root()


def _key_of_the_second_end(writer: Any) -> None:  # noqa: ANN401
    writer.set_custom_trailer_entry(generic.pdf_name("/Hidden"), generic.pdf_string(_WORDS.decode()))


# ------------------------------------------------------------------ all of them


def _told(name: str, change: Callable[[Written], Written], words: str) -> Attack:
    return Attack(f"kept in the file: {name}", _laid(change), "page form", words)


_OUTSIDE: Final = "outside its objects, or writes them otherwise"
_END: Final = "the end of the file says more"
_LEADS: Final = "that nothing in it leads to"
_LIST: Final = "list of the file's objects names others"
_TWICE: Final = "holds an object twice"
_REPLACED: Final = "replaced or added other objects"
_ANOTHER: Final = "another page or catalog than what was rendered"

LAYOUT: Final = (
    _told("an object without a list", lambda one: replace(one, between=b"9999 0 obj\n(x)\nendobj\n"), _OUTSIDE),
    _told("words between objects", lambda one: replace(one, between=_WORDS + b"\n"), _OUTSIDE),
    _told("a comment between objects", lambda one: replace(one, between=_COMMENT), _OUTSIDE),
    _told("a comment at the end", lambda one: replace(one, behind=_COMMENT), _OUTSIDE),
    _told("a comment at the beginning", lambda one: replace(one, header=HEADER + _COMMENT), _OUTSIDE),
    _told("another beginning", lambda one: replace(one, header=b"%PDF-1.7\n%\xe2\xe3Cd\n"), "begins otherwise"),
    _told("a comment in a stream's dictionary", _comment_in(stream=True), _OUTSIDE),
    _told("a comment in an object", _comment_in(stream=False), "stands something else"),
    _told("words behind those kept together", lambda one: replace(one, together=b"\n(x)"), "stands something else"),
    _told("a comment before the seal", lambda one: replace(one, end=_COMMENT), _REPLACED),
    _told("a key of the end", _key_of_the_end, _END),
    _told("a second list beside", lambda one: replace(one, more=b"/XRefStm 15"), _END),
    _told("an object nothing leads to", _stream_more, _LEADS),
    _told("two that lead to each other", _in_a_ring, _LEADS),
    _told("one a text seems to lead to", _led_to_in_a_text, _LEADS),
    _told("a part of a margin with words", _margin_with_words, _LEADS),
    _told("an older object of one number", _before_it_was_replaced, _TWICE),
    _told("one no longer listed among others", _unlisted_among_others, _LIST),
    _told("a free entry with words", _free_entry, _LIST),
    _told("words behind a packed stream", _behind_a_stream, "more than what it unpacks to"),
    Attack("kept in the file: beside the metadata", redone(_of_metadata), "page form", "metadata hold more"),
    Attack("kept in the file: in a colour", redone(_of_a_colour), "page form", "lab-d50 is a colour"),
    Attack("sealing: another drawing than rendered", _resealed(_whole_drawing, _two_drawings), "page form", _ANOTHER),
    Attack("sealing: another catalog", _resealed(_language_replaced, _language("de")), "page form", _ANOTHER),
    Attack("sealing: a drawing replaced", _resealed(_drawing_replaced), "page form", _REPLACED),
    Attack("sealing: an object more", _resealed(_object_more), "page form", _REPLACED),
    Attack("sealing: a key of the end", _resealed(_key_of_the_second_end), "page form", "its list of objects"),
)
