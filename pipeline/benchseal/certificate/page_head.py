"""What a file says of itself beside its pages: the title a reader shows above them, author, subject, program, language.

It stands twice: in the document information and in the metadata (XMP). Both must say the same, and nothing more, so
that a catalogue which reads either one finds what the page says. Sources: ISO 32000-1, 14.3 (metadata), 14.9.2
(language); ISO 19005-3, 6.6.2 (both alike).
"""

from __future__ import annotations

import html
import re
from dataclasses import dataclass, fields
from typing import TYPE_CHECKING, Any, Final

if TYPE_CHECKING:
    from collections.abc import Iterator

    import pikepdf

_TOLD: Final = {"title": "/Title", "author": "/Author", "subject": "/Subject", "program": "/Creator"}
_MOMENTS: Final = ("/CreationDate", "/ModDate")
_MOMENT: Final = re.compile(r"D:(\d{4})(\d\d)(\d\d)(\d\d)(\d\d)(\d\d)Z")
_PRODUCER: Final = re.compile(r"[A-Za-z]+ [0-9.]+")
# The metadata packet is text between tags, and attributes; there is no comment, entity of its own or other markup.
_BETWEEN_TAGS: Final = re.compile(r">([^<>]*)<")
_VALUE: Final = re.compile(r'\s(?!xmlns:)[\w:]+="([^"]*)"')
_PARTS: Final = frozenset({"", "3", "A", "x-default", "W5M0MpCehiHzreSzNTczkc9d", "r", "w", "\ufeff"})
_MARKS: Final = ("<!", "<?xml")


@dataclass(frozen=True, slots=True)
class Head:
    """What the file says of itself; as it is read aloud, ``language`` is the voice."""

    title: str = ""
    author: str = ""
    subject: str = ""
    program: str = ""
    language: str = ""


NO_HEAD: Final = Head()


def drawn_head(pdf: pikepdf.Pdf) -> Head:
    """What the document information says; for a file without ``own_faults``."""
    told = {name: str(pdf.docinfo.get(key, "")) for name, key in _TOLD.items()}
    return Head(**told, language=str(pdf.Root.get("/Lang", "")))


def due_head(page: str) -> Head:
    """What the HTML of a page makes the file say of itself."""
    head = page[: page.index("<body")]

    def found(form: str) -> str:
        told = re.search(form, head)
        return html.unescape(told[1]) if told else ""

    return Head(
        title=found("<title>([^<]*)</title>"),
        author=found('<meta name="author" content="([^"]*)">'),
        subject=found('<meta name="description" content="([^"]*)">'),
        program=found('<meta name="generator" content="([^"]*)">'),
        language=found('<html lang="([^"]*)">'),
    )


def head_faults(drawn: Head, due: Head) -> Iterator[str]:
    """What the file says of itself otherwise than its page."""
    for one in fields(Head):
        found, wanted = getattr(drawn, one.name), getattr(due, one.name)
        if _plain(found) != _plain(wanted):
            yield f"the file says of itself, as its {one.name}, {found[:60]!r} where {wanted[:60]!r} is due."


def own_faults(pdf: pikepdf.Pdf) -> Iterator[str]:
    """Where document information and metadata differ, or say more than they are for."""
    info: dict[str, str] = {name: str(value) for name, value in dict(pdf.docinfo).items()}
    moments = [_MOMENT.fullmatch(info.pop(name, "")) for name in _MOMENTS]
    producer = info.pop("/Producer", "")
    more = sorted(set(info) - set(_TOLD.values()))
    if more or None in moments or not _PRODUCER.fullmatch(producer):
        yield f"the file says more of itself than a certificate does, or otherwise ({', '.join(more) or 'times'})."
        return
    due = {_plain(text) for text in info.values()} | {producer}
    due |= {f"{at[1]}-{at[2]}-{at[3]}T{at[4]}:{at[5]}:{at[6]}Z" for at in moments if at is not None}
    metadata: Any = pdf.Root.get("/Metadata")
    packet = metadata.read_bytes().decode("utf-8") if metadata is not None else ""
    told = {_plain(html.unescape(text)) for text in (*_BETWEEN_TAGS.findall(packet), *_VALUE.findall(packet))}
    if told - due - _PARTS or due - told - {""} or any(mark in packet for mark in _MARKS):
        yield "the file's metadata say something else of it than its document information."


def _plain(text: str) -> str:
    return " ".join(text.split())
