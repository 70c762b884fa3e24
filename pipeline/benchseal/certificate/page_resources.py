"""What the drawing of a page may draw with: colours that are what they are called, letters, nothing else.

Each name in the instructions stands for something kept beside them. A colour space that takes the place of the plain
one, a state that lets things shine through, a picture, or content kept in another file makes another page of the same
instructions. Source: ISO 32000-1, 7.3.8 (streams), 7.8.3 (resources), 8.6.5.6 (default colour spaces), 8.10 (forms),
14.11.5 (output intents); the profile is sRGB2014 of the International Color Consortium, as the renderer ships it.
"""

from __future__ import annotations

import hashlib
import re
from typing import TYPE_CHECKING, Any, Final

import pikepdf

if TYPE_CHECKING:
    from collections.abc import Iterator

_RESOURCES: Final = frozenset({"/ColorSpace", "/ExtGState", "/Font", "/Pattern", "/Shading", "/XObject"})
_FORM: Final = frozenset({"/BBox", "/Filter", "/Group", "/Length", "/Resources", "/Subtype", "/Type"})
_PAGE_STREAM: Final = frozenset({"/Filter", "/Length"})
_ELSEWHERE: Final = ("/F", "/FFilter", "/FDecodeParms")
_SRGB: Final = "384b832de3412066743b52a75ee906b6fb9fb8d9e09e936fc2c43223815c6e0a"  # of the profile's bytes
_SRGB_NAME: Final = "IEC 61966-2-1 Default RGB Colour Space - sRGB"
_PROFILE: Final = frozenset({"/Filter", "/Length", "/N"})
_INTENT: Final = frozenset({"/DestOutputProfile", "/Info", "/OutputConditionIdentifier", "/S", "/Type"})
_GROUP: Final = frozenset({"/CS", "/I", "/S", "/Type"})
_LAB: Final = {  # as a library writes them down; the white points are those of the two lights (CSS Color 4, 9)
    "/lab-d50": b"[ /Lab << /Range [ -125 125 -125 125 ] /WhitePoint [ 0.964296 1 0.825105 ] >> ]",
    "/lab-d65": b"[ /Lab << /Range [ -125 125 -125 125 ] /WhitePoint [ 0.950456 1 1.089058 ] >> ]",
}
_TEXT_ONLY: Final = frozenset(b"q Q gs rg d J j M BT ET Tr Tm Tf TJ w".split())
# Numbers, a name, or a row of codes: nothing that could hold another instruction, a text or a comment.
OPERANDS: Final = re.compile(rb"[-0-9. ]*|/[A-Za-z0-9.]+(?: [0-9.]+)?|\[[-0-9a-f.<> ]*\](?: [0-9.]+)?")
_DARK: Final = 0.6  # of full light, each part: black ink is 0


def dark(told: bytes) -> bool:
    """Whether an ink is dark enough to be read on light. told: operands of the colour."""
    return all(float(part) <= _DARK for part in told.split())


def resource_faults(pdf: pikepdf.Pdf) -> Iterator[str]:
    """Everything the pages are drawn with that is not as this program writes it, in plain sentences."""
    seen: set[tuple[int, int]] = set()  # pages share what they draw with; it is named for the first
    for number, page in enumerate(pdf.pages, start=1):
        where = f"page {number}"
        content = page.obj.get("/Contents")
        if isinstance(content, pikepdf.Stream):
            yield from _more(f"{where}, its drawing,", content, _PAGE_STREAM)
        for resources in all_resources(page.obj.Resources):
            if not (resources.is_indirect and resources.objgen in seen):
                if resources.is_indirect:
                    seen.add(resources.objgen)
                yield from _faults(where, resources, seen)
    if any(name in one for one in pdf.objects if isinstance(one, pikepdf.Stream) for name in _ELSEWHERE):
        yield "it holds something whose content is in another file."
    intents = list(pdf.Root.get("/OutputIntents", ()))
    if [one.get("/S") for one in intents] != ["/GTS_PDFA1"] or not (
        set(intents[0].keys()) <= _INTENT and _named(intents[0]) and _is_srgb(intents[0].get("/DestOutputProfile"))
    ):
        yield "its colours are those of another device than a certificate's."


def all_resources(resources: pikepdf.Object) -> Iterator[pikepdf.Object]:
    """Those of a page, and of each drawing apart on it."""
    yield resources
    for item in resources.get("/XObject", {}).values():
        if "/Resources" in item:
            yield item.Resources


def _faults(where: str, resources: pikepdf.Object, seen: set[tuple[int, int]]) -> Iterator[str]:
    """Of what is kept once for several, each is looked at once. seen: places of those, in the file."""

    def new(kind: str) -> Any:  # noqa: ANN401  an object of a file
        found: Any = resources.get(kind, {})
        known = isinstance(found, pikepdf.Dictionary) and found.is_indirect and found.objgen in seen
        if isinstance(found, pikepdf.Dictionary) and found.is_indirect:
            seen.add(found.objgen)
        return {} if known else found

    yield from _more(f"{where}, its resources,", resources, _RESOURCES)
    yield from _colour_faults(where, new("/ColorSpace"))
    for kind in ("/Pattern", "/Shading"):
        if len(resources.get(kind, {})):
            yield f"{where} is painted with a {kind[1:].lower()}, which a certificate never is."
    for state in resources.get("/ExtGState", {}).values():
        if not set(state.keys()) <= {"/ca", "/CA"} or any(float(value) != 1 for value in state.values()):
            yield f"{where} is painted in a way that lets something shine through."
    for item in new("/Font").values():
        below: Any = item.get("/DescendantFonts", [])
        if any(one.get("/CIDToGIDMap", "/Identity") != "/Identity" for one in below):
            yield f"{where} uses a font whose letters are drawn as other ones."
    yield from _form_faults(where, resources)


def _form_faults(where: str, resources: pikepdf.Object) -> Iterator[str]:
    for item in resources.get("/XObject", {}).values():
        if item.get("/Subtype") == "/Image":  # ``page_image`` looks at it
            continue
        if item.get("/Subtype") != "/Form" or not (
            set(item.keys()) <= _FORM
            and set(item.get("/Group", pikepdf.Dictionary()).keys()) <= _GROUP
            and _letters(item.read_bytes())
        ):
            yield f"{where} holds a drawing apart that is more than dark letters."


def _colour_faults(where: str, spaces: Any) -> Iterator[str]:  # noqa: ANN401
    for name, space in spaces.items():
        known = _is_srgb(space[1]) if name == "/srgb" else space.unparse(resolved=True) == _LAB.get(name)
        if not known:
            yield f"{where}: {name[1:]} is a colour that a certificate does not have."


def _is_srgb(profile: pikepdf.Object | None) -> bool:
    """Whether it is that profile, with nothing beside it that a reader may take instead."""
    if not isinstance(profile, pikepdf.Stream) or not set(profile.keys()) <= _PROFILE or profile.get("/N") != 3:
        return False
    return hashlib.sha256(profile.read_bytes()).hexdigest() == _SRGB


def _named(intent: pikepdf.Object) -> bool:
    """Whether it is called what it is."""
    return {str(intent.get(name, _SRGB_NAME)) for name in ("/Info", "/OutputConditionIdentifier")} == {_SRGB_NAME}


def _letters(content: bytes) -> bool:
    """Whether a form draws letters and nothing else, dark and in the plain way."""
    lines = [line.rpartition(b" ") for line in content.split(b"\n")]
    inks = [told for told, _, operator in lines if operator == b"rg"]
    plain = all(told == b"0" for told, _, operator in lines if operator == b"Tr")
    known = all(operator in _TEXT_ONLY and OPERANDS.fullmatch(told) for told, _, operator in lines)
    return known and plain and bool(inks) and all(map(dark, inks))


def _more(where: str, value: pikepdf.Object, known: frozenset[str]) -> Iterator[str]:
    more = sorted(set(value.keys()) - known)
    if more:
        yield f"{where} holds {', '.join(more)}, which a certificate never has."
