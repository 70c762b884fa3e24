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

from benchseal.certificate.page_marks import bookmarks

if TYPE_CHECKING:
    from collections.abc import Iterator

    import pikepdf

_TOLD: Final = {"title": "/Title", "author": "/Author", "subject": "/Subject", "program": "/Creator"}
_MOMENTS: Final = ("/CreationDate", "/ModDate")
_MOMENT: Final = re.compile(r"D:(\d{4})(\d\d)(\d\d)(\d\d)(\d\d)(\d\d)Z")
_PRODUCER: Final = re.compile(r"[A-Za-z]+ [0-9.]+")
# The metadata packet: what is around it, and one description for each property, in this order.
_PACKET: Final = (
    (
        '<?xpacket begin="" id="W5M0MpCehiHzreSzNTczkc9d"?><x:xmpmeta xmlns:x="adobe:ns:meta/">'
        '<rdf:RDF xmlns:dc="http://purl.org/dc/elements/1.1/" xmlns:pdf="http://ns.adobe.com/pdf/1.3/" '
        'xmlns:pdfaid="http://www.aiim.org/pdfa/ns/id/" xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#" '
        'xmlns:xmp="http://ns.adobe.com/xap/1.0/">'
        '<rdf:Description rdf:about="" pdfaid:part="3" pdfaid:conformance="A"/>'
    ),
    '</rdf:RDF></x:xmpmeta><?xpacket end="r"?>',
)
_TEXT: Final = '<rdf:Alt><rdf:li xml:lang="x-default">{}</rdf:li></rdf:Alt>'
_PROPERTIES: Final = (
    ("/Title", "<dc:title>" + _TEXT + "</dc:title>"),
    ("/Author", "<dc:creator><rdf:Seq><rdf:li>{}</rdf:li></rdf:Seq></dc:creator>"),
    ("/Subject", "<dc:description>" + _TEXT + "</dc:description>"),
    ("/Creator", "<xmp:CreatorTool>{}</xmp:CreatorTool>"),
    ("/CreationDate", "<xmp:CreateDate>{}</xmp:CreateDate>"),
    ("/ModDate", "<xmp:ModifyDate>{}</xmp:ModifyDate>"),
)
_METADATA: Final = frozenset({"/Filter", "/Length", "/Subtype", "/Type"})
_MAY_CHANGE, _STAYS = '<?xpacket end="w"?>', '<?xpacket end="r"?>'  # whether programs may write into the packet
_TAG: Final = re.compile(r"<[^>]*>")
_HEADING: Final = re.compile(r"<h[1-6]\b[^>]*>(.*?)</h[1-6]>", re.DOTALL)
_BLANKS: Final = " \t\n\r\f"
_BLANK: Final = re.compile(f"[{_BLANKS}]+")
_BETWEEN: Final = re.compile(r">\s+<")


@dataclass(frozen=True, slots=True)
class Head:
    """What the file says of itself; as it is read aloud, ``language`` is the voice.

    headings: listed beside the page, as bookmarks.
    """

    title: str = ""
    author: str = ""
    subject: str = ""
    program: str = ""
    language: str = ""
    headings: tuple[str, ...] = ()


NO_HEAD: Final = Head()


def drawn_head(pdf: pikepdf.Pdf) -> Head:
    """What the document information says; for a file without ``own_faults``."""
    told = {name: str(pdf.docinfo.get(key, "")) for name, key in _TOLD.items()}
    headings = tuple(str(one.Title) for one in bookmarks(pdf))
    return Head(**told, language=str(pdf.Root.get("/Lang", "")), headings=headings)


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
        headings=tuple(html.unescape(_TAG.sub("", told)) for told in _HEADING.findall(page)),
    )


def head_faults(drawn: Head, due: Head) -> Iterator[str]:
    """What the file says of itself otherwise than its page."""
    for one in fields(Head):
        if one.name == "headings":
            continue
        found, wanted = getattr(drawn, one.name), getattr(due, one.name)
        if found not in {wanted, wanted.strip(_BLANKS), _plain(wanted)}:
            yield f"the file says of itself, as its {one.name}, {found[:60]!r} where {wanted[:60]!r} is due."
    if drawn.headings != (headings := tuple(map(_plain, due.headings))):
        other = next((one for one in drawn.headings if one not in headings), "")
        yield f"its bookmarks are not the headings of the page, one by one: {other[:60]!r}."


def own_faults(pdf: pikepdf.Pdf) -> Iterator[str]:
    """Where document information and metadata differ, or say more than they are for."""
    info: dict[str, str] = {name: str(value) for name, value in dict(pdf.docinfo).items()}
    moments = [_MOMENT.fullmatch(info.pop(name, "")) for name in _MOMENTS]
    producer = info.pop("/Producer", "")
    more = sorted(set(info) - set(_TOLD.values()))
    if more or None in moments or not _PRODUCER.fullmatch(producer):
        yield f"the file says more of itself than a certificate does, or otherwise ({', '.join(more) or 'times'})."
        return
    for name, at in zip(_MOMENTS, moments, strict=True):
        info[name] = "{}-{}-{}T{}:{}:{}Z".format(*at.groups()) if at else ""
    about = ('<rdf:Description rdf:about=""', "</rdf:Description>")
    due = f'{about[0]} pdf:Producer="{producer}"/>' + "".join(
        f"{about[0]}>{form.format(html.escape(info[name], quote=False))}{about[1]}"
        for name, form in _PROPERTIES
        if info.get(name)
    )
    metadata: Any = pdf.Root.get("/Metadata")
    if metadata is not None and not set(metadata.keys()) <= _METADATA:
        yield "the file's metadata hold more than those of a certificate."
    packet = metadata.read_bytes().decode("utf-8") if metadata is not None else ""
    packet = _BETWEEN.sub("><", packet.strip().replace("\ufeff", "").replace(_MAY_CHANGE, _STAYS)).replace(" />", "/>")
    if packet != f"{_PACKET[0]}{due}{_PACKET[1]}":
        yield "the file's metadata say something else of it than its document information."


def _plain(text: str) -> str:
    """As a renderer sets it: runs of blanks are one (CSS 2.2, 16.6.1); no-break spaces are letters."""
    return _BLANK.sub(" ", text).strip(_BLANKS)
