"""Forgeries of a sealed file by somebody without the laboratory's key, in the published families.

Families, each generator written anew from the papers' descriptions (the descriptions from memory):
Mladenov, Mainka, Meyer zu Selhausen, Grothe, Schwenk, "1 Trillion Dollar Refund: How To Spoof PDF Signatures", CCS 2019
(incremental saving, signature wrapping, universal signature forgery). Mainka, Mladenov, Rohlmann, "Shadow Attacks:
Hiding and Replacing Content in Signed PDFs", NDSS 2021 (hide, replace, hide and replace; their last step here, the
prepared ones in ``forged_inside``). Rohlmann, Mladenov, Mainka, Schwenk, "Breaking the Specification: PDF
Certification", IEEE S&P 2021 (evil annotation, sneaky signature). The rest is common practice, no source.
"""

from __future__ import annotations

import io
from typing import TYPE_CHECKING, Any, Final, NamedTuple

import pikepdf
from asn1crypto import cms
from pyhanko.pdf_utils import generic
from pyhanko.pdf_utils.generic import pdf_name
from pyhanko.sign.fields import MDPPerm, SigFieldSpec
from tests.attacks.forging import RANGE

if TYPE_CHECKING:
    from collections.abc import Callable

    from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter
    from tests.attacks.forging import Forger


class Attack(NamedTuple):
    """One forged file: how it is made, the check that must not hold, and words that must name the problem."""

    name: str
    make: Callable[[Forger], bytes]
    check: str
    words: str
    word: str = "ALTERED"


def _any(value: object) -> Any:  # noqa: ANN401
    """Parts of a library that is not typed."""
    return value


_dictionary: Final = _any(generic.DictionaryObject)
_number: Final = _any(generic.NumberObject)
FALSE_FIGURE: Final = b"q 1 g 60 500 400 40 re f Q BT /F0 12 Tf 70 510 Td (0.001) Tj ET\n"
_SIG: Final = b"/Type /Sig\n"


# ------------------------------------------------------------------ incremental saving


def _over_the_page(writer: IncrementalPdfFileWriter) -> None:
    page = writer.root["/Pages"]["/Kids"][0]
    stream = writer.add_object(generic.StreamObject(stream_data=FALSE_FIGURE))
    page[pdf_name("/Contents")] = generic.ArrayObject([page.raw_get("/Contents"), stream])
    writer.update_container(page)


def _added(forger: Forger) -> bytes:
    """The bytes of a full update."""
    return forger.update(_over_the_page)[len(forger.one.pdf) :]


def isa_full(forger: Forger) -> bytes:
    return forger.update(_over_the_page)


def isa_without_xref(forger: Forger) -> bytes:
    added = _added(forger)
    return forger.one.pdf + added[: added.rindex(b"endobj") + 7] + b"%%EOF\n"


def isa_without_trailer(forger: Forger) -> bytes:
    added = _added(forger)
    return forger.one.pdf + added[: added.rindex(b"startxref")]


def isa_with_the_signature_again(forger: Forger) -> bytes:
    """The update carries a copy of the signature dictionary, so that a reader finds one in the last revision too."""
    pdf = forger.one.pdf
    start = pdf.rindex(b"/Contents <")
    return isa_full(forger) + b"9000 0 obj\n<<\n" + pdf[start : pdf.index(b"endobj", start)] + b"endobj\n%%EOF\n"


def appended(junk: bytes) -> Callable[[Forger], bytes]:
    return lambda forger: forger.one.pdf + junk


# ------------------------------------------------------------------ signature wrapping


def _wrapped(forger: Forger, between: bytes) -> bytes:
    """The second covered part moved to the end, ``between`` before it, and the byte range following it."""
    pdf = forger.one.pdf
    start, end = forger.gap()
    moved = end + len(between)
    found = list(RANGE.finditer(pdf))[-1]
    told = b"/ByteRange [0 %d %d %d]" % (start, moved, len(pdf) - end)
    second = pdf[end : found.start()] + told.ljust(len(found[0])) + pdf[found.end() :]
    return pdf[:end] + between + second


def swa_moved(forger: Forger) -> bytes:
    return _wrapped(forger, b"\n7 0 obj\n<< /Type /Page >>\nendobj\n")


def swa_moved_by_blanks(forger: Forger) -> bytes:
    return _wrapped(forger, b" " * 64)


def swa_range_before(forger: Forger) -> bytes:
    """A second byte range, put where no digest covers it, for readers that take the first."""
    start, end = forger.gap()
    told = b"00> /ByteRange [0 %d %d %d] /Contents <" % (start, end, len(forger.one.pdf) - end)
    kept = forger.one.pdf[start : end - 1 - len(told)]
    return forger.in_gap(kept + told + b">")


def swa_escaped_name(forger: Forger) -> bytes:
    """The same under an escaped name, which a search for the plain one does not see (ISO 32000-1, 7.3.5)."""
    start, end = forger.gap()
    told = b"> /Byte#52ange [0 %d %d %d] /X <" % (start, end, len(forger.one.pdf) - end)
    kept = forger.one.pdf[start : end - 1 - len(told)]
    return forger.in_gap(kept + told + b">")


def swa_objects_in_the_gap(forger: Forger) -> bytes:
    """Objects in the room that the zeros leave, where no digest covers them."""
    start, end = forger.gap()
    told = b"> >> endobj 7 0 obj << /Type /Page >> endobj 9001 0 obj << /X <"
    kept = forger.one.pdf[start : end - 1 - len(told)]
    return forger.in_gap(kept + told + b">")


def range_told(first: bytes) -> Callable[[Forger], bytes]:
    """The byte range put otherwise: {0} start, {1} before, {2} after, {3} rest."""

    def make(forger: Forger) -> bytes:
        pdf = forger.one.pdf
        found = list(RANGE.finditer(pdf))[-1]
        names = {b"{1}": found[1], b"{2}": found[2], b"{3}": found[3], b"{n}": b"%d" % len(pdf)}
        told = first
        for name, value in names.items():
            told = told.replace(name, value)
        return pdf[: found.start()] + told.ljust(len(found[0])) + pdf[found.end() :]

    return make


# ------------------------------------------------------------------ universal signature forgery


def contents_told(told: bytes) -> Callable[[Forger], bytes]:
    """The signature's place put otherwise, the rest moved up."""

    def make(forger: Forger) -> bytes:
        _, end = forger.gap()
        place = forger.one.pdf.rindex(b"/Contents <", 0, end)
        return forger.one.pdf[:place] + told + forger.one.pdf[end:]

    return make


def usf_zeros(forger: Forger) -> bytes:
    start, end = forger.gap()
    return forger.in_gap(b"<" + b"0" * (end - start - 2) + b">")


def usf_other_type(forger: Forger) -> bytes:
    return forger.put(_SIG, b"/Type /Sug\n")


def without_seal(forger: Forger) -> bytes:
    return forger.one.raw


def usf_empty_dictionary(forger: Forger) -> bytes:
    pdf = forger.one.pdf
    start = pdf.rindex(b"/Contents <")
    return pdf[:start] + pdf[pdf.rindex(b">>\nendobj", start) :]


# ------------------------------------------------------------------ shadow attacks, their last step; annotations


def shadow_replaced_font(forger: Forger) -> bytes:
    """A digit drawn as another: the character map of a font put otherwise in an update."""

    def change(writer: IncrementalPdfFileWriter) -> None:
        fonts = writer.root["/Pages"]["/Kids"][0]["/Resources"]["/Font"]
        font = next(iter(fonts.values())).get_object()
        font[pdf_name("/ToUnicode")] = writer.add_object(generic.StreamObject(stream_data=b"<0011> <0039>\n"))
        writer.update_container(font)

    return forger.update(change)


def shadow_replaced_page(forger: Forger) -> bytes:
    """The page tree points to another page, prepared before."""

    def change(writer: IncrementalPdfFileWriter) -> None:
        pages = writer.root["/Pages"]
        page = writer.add_object(
            _dictionary(
                {
                    pdf_name("/Type"): pdf_name("/Page"),
                    pdf_name("/Parent"): writer.root.raw_get("/Pages"),
                    pdf_name("/MediaBox"): pages["/Kids"][0]["/MediaBox"],
                }
            )
        )
        pages[pdf_name("/Kids")][0] = page
        writer.update_container(pages["/Kids"])

    return forger.update(change)


def shadow_other_catalog(forger: Forger) -> bytes:
    """Hide and replace: only a new cross-reference section, whose root is another catalog."""
    return (
        forger.one.pdf
        + b"xref\n0 1\n0000000000 65535 f \ntrailer\n<< /Size 1 /Root 1 0 R >>\nstartxref\n%d\n%%%%EOF\n"
        % (len(forger.one.pdf))
    )


def annotated(kind: str) -> Callable[[Forger], bytes]:
    """An annotation over the value, in an update."""

    def change(writer: IncrementalPdfFileWriter) -> None:
        page = writer.root["/Pages"]["/Kids"][0]
        note = _dictionary(
            {
                pdf_name("/Type"): pdf_name("/Annot"),
                pdf_name("/Subtype"): pdf_name(kind),
                pdf_name("/Rect"): generic.ArrayObject(_number(at) for at in (60, 500, 460, 540)),
                pdf_name("/Contents"): generic.pdf_string("0.001"),
                pdf_name("/F"): _number(4),
            }
        )
        page["/Annots"].append(writer.add_object(note))
        writer.update_container(page["/Annots"])

    return lambda forger: forger.update(change)


def sneaky_signature(forger: Forger) -> bytes:
    """A second signature, of a stranger, whose appearance lies over the value."""
    spec = SigFieldSpec("Second", on_page=0, box=(60, 500, 460, 540))
    return forger.sealed_otherwise(
        forger.one.pdf, key=forger.stranger, certificate=forger.strangers_certificate, field="Second", spec=spec,
        certify=False, docmdp_permissions=MDPPerm.FILL_FORMS,
    )  # fmt: skip


def catalog_told(name: str, value: generic.PdfObject) -> Callable[[Forger], bytes]:
    def change(writer: IncrementalPdfFileWriter) -> None:
        writer.root[pdf_name(name)] = value
        _any(writer).update_root()

    return lambda forger: forger.update(change)


def script() -> generic.PdfObject:
    made: generic.PdfObject = _dictionary(
        {pdf_name("/S"): pdf_name("/JavaScript"), pdf_name("/JS"): generic.pdf_string("this.getField('x')")}
    )
    return made


# ------------------------------------------------------------------ the container of the signature


def seal_of_another(forger: Forger) -> bytes:
    """The seal of another certificate of the same laboratory, put in the place of this one's."""
    return forger.with_container(forger.container(forger.other.pdf).rstrip(b"\0"))


def container_told(change: Callable[[cms.SignedData], None]) -> Callable[[Forger], bytes]:
    """The container taken apart, ``change``d and put together."""

    def make(forger: Forger) -> bytes:
        info = cms.ContentInfo.load(forger.container().rstrip(b"\0"))
        change(info["content"])
        return forger.with_container(info.dump(force=True))

    return make


def _unsigned_attribute(signed: cms.SignedData) -> None:
    attribute = cms.CMSAttribute({"type": "content_type", "values": ["data"]})
    signed["signer_infos"][0]["unsigned_attrs"] = cms.CMSAttributes([attribute])


def _sha1(signed: cms.SignedData) -> None:
    signed["signer_infos"][0]["digest_algorithm"] = {"algorithm": "sha1"}


def _twice(signed: cms.SignedData) -> None:
    signed["signer_infos"].append(signed["signer_infos"][0])


def _nobody(signed: cms.SignedData) -> None:
    signed["signer_infos"] = cms.SignerInfos([])


def _two_certificates(signed: cms.SignedData) -> None:
    signed["certificates"].append(signed["certificates"][0])


def _inside(signed: cms.SignedData) -> None:
    signed["encap_content_info"] = {"content_type": "data", "content": b"0.001"}


def _other_time(signed: cms.SignedData) -> None:
    """Another digest in the signed attributes."""
    for attribute in signed["signer_infos"][0]["signed_attrs"]:
        if attribute["type"].native == "message_digest":
            attribute["values"] = [bytes(32)]


def other_digits(forger: Forger) -> bytes:
    """Lower-case digits: the same signature, other bytes."""
    start, end = forger.gap()
    return forger.in_gap(forger.one.pdf[start:end].lower())


def after_the_signature(forger: Forger) -> bytes:
    start, end = forger.gap()
    return forger.in_gap(forger.one.pdf[start : end - 3] + b"01>")


def white_space_in_the_gap(forger: Forger) -> bytes:
    start, end = forger.gap()
    return forger.in_gap(forger.one.pdf[start : end - 3] + b" \n>")


def longer_lengths(forger: Forger) -> bytes:
    """The outermost length in BER, indefinite."""
    der = forger.container().rstrip(b"\0")
    return forger.with_container(b"\x30\x80" + der[4:] + b"\0\0")


# ------------------------------------------------------------------ strangers, other files


def strangers_seal(forger: Forger) -> bytes:
    """Everything right but the key; its certificate names the laboratory."""
    return forger.sealed_otherwise(key=forger.stranger, certificate=forger.strangers_certificate)


def strangers_signature_under_our_certificate(forger: Forger) -> bytes:
    return forger.sealed_otherwise(key=forger.stranger)


def saved_again(forger: Forger) -> bytes:
    out = io.BytesIO()
    with pikepdf.open(io.BytesIO(forger.one.pdf)) as pdf:
        pdf.save(out)
    return out.getvalue()


def junk_before(forger: Forger) -> bytes:
    return b"GIF89a\n" + forger.one.pdf


def other_version(forger: Forger) -> bytes:
    return b"%PDF-1.4" + forger.one.pdf[8:]


def cut_off(forger: Forger) -> bytes:
    return forger.one.pdf[:-7]


OUTSIDE: Final = (
    Attack("incremental saving: a full update", isa_full, "seal", "does not cover the whole file"),
    Attack("incremental saving: without a table", isa_without_xref, "seal", "does not cover the whole file"),
    Attack("incremental saving: without a trailer", isa_without_trailer, "seal", "does not cover the whole file"),
    Attack(
        "incremental saving: with the signature again", isa_with_the_signature_again, "seal", "carries 2 seals"
    ),
    Attack("incremental saving: a line feed", appended(b"\n"), "seal", "does not cover the whole file"),
    Attack("incremental saving: zeros", appended(bytes(16)), "seal", "does not cover the whole file"),
    Attack("incremental saving: a comment", appended(b"% hello\n%%EOF\n"), "seal", "does not cover the whole file"),
    Attack("wrapping: the second part moved", swa_moved, "seal", "signature does not hold one signature"),
    Attack("wrapping: moved by blanks", swa_moved_by_blanks, "seal", "does not hold one signature"),
    Attack("wrapping: a byte range in the gap", swa_range_before, "seal", "carries 2 seals"),
    Attack("wrapping: under an escaped name", swa_escaped_name, "seal", "does not hold one signature"),
    Attack("wrapping: objects in the gap", swa_objects_in_the_gap, "seal", "does not hold one signature"),
    Attack("wrapping: an empty gap at the end", range_told(b"/ByteRange [0 {n} {n} 0]"), "seal", "does not cover"),
    Attack("wrapping: starts at one", range_told(b"/ByteRange [1 {1} {2} {3}]"), "seal", "does not cover"),
    Attack("wrapping: ends early", range_told(b"/ByteRange [0 {1} {2} 0]"), "seal", "does not cover"),
    Attack("wrapping: a range within", range_told(b"/ByteRange [0 9 {2} {3}]"), "seal", "does not hold one signature"),
    Attack("universal: no byte range", range_told(b""), "seal", "carries 0 seals", "UNKNOWN"),
    Attack("universal: null byte range", range_told(b"/ByteRange null"), "seal", "carries 0 seals", "UNKNOWN"),
    Attack("universal: empty byte range", range_told(b"/ByteRange []"), "seal", "carries 0 seals", "UNKNOWN"),
    Attack("universal: three numbers", range_told(b"/ByteRange [0 {1} {2}]"), "seal", "carries 0 seals", "UNKNOWN"),
    Attack("universal: negative", range_told(b"/ByteRange [0 -1 {2} {3}]"), "seal", "carries 0 seals", "UNKNOWN"),
    Attack("universal: zeros", range_told(b"/ByteRange [0 0 0 0]"), "seal", "does not cover the whole file"),
    Attack("universal: no contents", contents_told(b""), "seal", "does not cover the whole file"),
    Attack("universal: null contents", contents_told(b"/Contents null"), "seal", "does not cover the whole file"),
    Attack("universal: empty contents", contents_told(b"/Contents <>"), "seal", "does not cover the whole file"),
    Attack("universal: a zero byte", contents_told(b"/Contents <00>"), "seal", "does not cover the whole file"),
    Attack("universal: contents of zeros", usf_zeros, "seal", "does not hold one signature"),
    Attack("universal: another type", usf_other_type, "seal", "digest differs"),
    Attack("universal: an empty dictionary", usf_empty_dictionary, "seal", "carries 0 seals", "UNKNOWN"),
    Attack("universal: no signature at all", without_seal, "seal", "carries 0 seals", "UNKNOWN"),
    Attack("shadow: a font replaced", shadow_replaced_font, "seal", "does not cover the whole file"),
    Attack("shadow: a page replaced", shadow_replaced_page, "seal", "does not cover the whole file"),
    Attack("shadow: another catalog", shadow_other_catalog, "seal", "does not cover the whole file"),
    Attack("evil annotation: free text", annotated("/FreeText"), "seal", "does not cover the whole file"),
    Attack("evil annotation: redaction", annotated("/Redact"), "seal", "does not cover the whole file"),
    Attack("evil annotation: stamp", annotated("/Stamp"), "seal", "does not cover the whole file"),
    Attack("sneaky signature: its appearance over the value", sneaky_signature, "seal", "carries 2 seals"),
    Attack("code: run when opened", catalog_told("/OpenAction", script()), "seal", "does not cover the whole file"),
    Attack("code: layers", catalog_told("/OCProperties", _dictionary()), "seal", "does not cover"),
    Attack("seal of another certificate", seal_of_another, "seal", "digest differs"),
    Attack("container: an unsigned attribute", container_told(_unsigned_attribute), "seal", "cannot be read"),
    Attack("container: SHA-1", container_told(_sha1), "seal", "in the one form"),
    Attack("container: signed twice", container_told(_twice), "seal", "in the one form"),
    Attack("container: signed by nobody", container_told(_nobody), "seal", "cannot be read"),
    Attack("container: two certificates", container_told(_two_certificates), "seal", "names other certificates"),
    Attack("container: a text inside", container_told(_inside), "seal", "in the one form"),
    Attack("container: another digest", container_told(_other_time), "seal", "digest differs"),
    Attack("container: lower-case digits", other_digits, "seal", "does not hold one signature"),
    Attack("container: a byte after it", after_the_signature, "seal", "does not hold one signature"),
    Attack("container: white space after it", white_space_in_the_gap, "seal", "does not hold one signature"),
    Attack("container: of no stated length", longer_lengths, "seal", "in the one form"),
    Attack("stranger: the laboratory's name, another key", strangers_seal, "sealing key", "not one of", "UNKNOWN"),
    Attack(
        "stranger: under the laboratory's certificate",
        strangers_signature_under_our_certificate,
        "seal",
        "does not hold under the key",
    ),
    Attack("file: saved again", saved_again, "seal", "does not cover the whole file"),
    Attack("file: another kind before it", junk_before, "seal", "does not begin as a PDF", "UNKNOWN"),
    Attack("file: another version", other_version, "seal", "digest differs"),
    Attack("file: cut off", cut_off, "seal", "does not cover the whole file"),
)  # fmt: skip
