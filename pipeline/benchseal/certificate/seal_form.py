"""The objects a seal brings into a file, and the file's catalog: exactly as this program writes them.

A signature dictionary, the form and its field, and what the seal permits may say more to a reader than they show: other
permissions beside the first, fields that are locked or not, a text in a place nobody looks at. So each is compared
whole. Source: ISO 32000-1, 7.7.2 (catalog), 12.7.2 to 12.7.4 (form and field), 12.8 (signatures, permissions).
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

import pikepdf

from benchseal.certificate.page_parts import CATALOG
from benchseal.certificate.seal import FIELD

if TYPE_CHECKING:
    from collections.abc import Iterator

_SIGNATURE: Final = frozenset(
    {"/ByteRange", "/Contents", "/Filter", "/M", "/Reason", "/Reference", "/SubFilter", "/Type"}
)
_FORM: Final = frozenset({"/Fields", "/SigFlags"})
_FIELD: Final = frozenset({"/F", "/FT", "/P", "/Rect", "/Subtype", "/T", "/Type", "/V"})
_MOMENT: Final = re.compile(r"D:[0-9]{14}Z")
# As a library writes an object down: keys in order, nothing kept elsewhere.
_EXTENSIONS: Final = b"<< /ESIC << /BaseVersion /1.7 /ExtensionLevel 1 /Type /DeveloperExtensions >> >>"
_REFERENCE: Final = (
    b"[ << /TransformMethod /DocMDP /TransformParams << /P 1 /Type /TransformParams /V /1.2 >> /Type /SigRef >> ]"
)
_WIDGET: Final = {
    "/F": b"132", "/FT": b"/Sig", "/Rect": b"[ 0 0 0 0 ]", "/Subtype": b"/Widget", "/T": f"({FIELD})".encode(),
    "/Type": b"/Annot",
}  # fmt: skip


def seal_form_faults(pdf: pikepdf.Pdf) -> Iterator[str]:
    """Whatever of these objects is not as this program writes it, in plain sentences; of a sealed file."""
    root = pdf.Root
    yield from _keys("the file's catalog", root, CATALOG)
    if _written(root, "/Type") != b"/Catalog" or _written(root, "/Extensions") != _EXTENSIONS:
        yield "the file's catalog says of itself what that of a certificate does not."
    form = root.get("/AcroForm", pikepdf.Dictionary())
    yield from _keys("the form of the seal", form, _FORM)
    fields = list(form.get("/Fields", ()))
    if len(fields) != 1 or _written(form, "/SigFlags") != b"3":
        yield "the form of the seal does not hold one signature to which nothing is added."
        return
    yield from _field_faults(pdf, fields[0])
    signature = fields[0].get("/V", pikepdf.Dictionary())
    yield from _signature_faults(signature)
    permitted = root.get("/Perms", pikepdf.Dictionary())
    yield from _keys("what is permitted", permitted, frozenset({"/DocMDP"}))
    if permitted.get("/DocMDP", pikepdf.Dictionary()).objgen != signature.objgen:
        yield "what is permitted is not said by the seal alone."


def _field_faults(pdf: pikepdf.Pdf, field: pikepdf.Object) -> Iterator[str]:
    yield from _keys("the seal's field", field, _FIELD)
    other = sorted(name for name, due in _WIDGET.items() if _written(field, name) != due)
    if other:
        yield f"the seal's field says otherwise what it is, in {', '.join(other)}."
    holding = [number for number, page in enumerate(pdf.pages) if "/Annots" in page.obj and len(page.obj.Annots)]
    if holding != [0] or field.get("/P", pikepdf.Dictionary()).objgen != pdf.pages[0].obj.objgen:
        yield "the seal's field does not belong to the first page alone."


def _signature_faults(signature: pikepdf.Object) -> Iterator[str]:
    yield from _keys("the seal", signature, _SIGNATURE)
    if _written(signature, "/Type") != b"/Sig" or not _MOMENT.fullmatch(str(signature.get("/M", ""))):
        yield "the seal says otherwise what it is, or when it was made."
    if _written(signature, "/Reference") != _REFERENCE:
        yield "the seal says otherwise, or more, what it permits: that of a certificate permits no change, once."


def _keys(where: str, value: pikepdf.Object, due: frozenset[str]) -> Iterator[str]:
    held = set(value.keys())
    if held != due:
        yield f"{where} holds more, or less, than that of a certificate: {', '.join(sorted(held ^ due))}."


def _written(value: pikepdf.Object, name: str) -> bytes:
    """A member as a library writes it down; empty where there is none."""
    if name not in value:
        return b""
    member: object = value[name]
    return member.unparse(resolved=True) if isinstance(member, pikepdf.Object) else repr(member).encode()
