"""What the renderer leaves open in the tags of a file, put right before it is written (ISO 32000-1, 14.7 and 14.8).

Texts in the margins are artifacts of turning pages, not content without a place in the structure. Each header cell has
a name of its own, also where a table goes on over pages, and the tree of names holds it. A cell under a row that is
nothing but a header has that header. Elements that say nothing are left out: the renderer makes one for each box and
each run of text, two in three of a file, and whoever reads or checks the file had to go through all of them.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

import pydyf

if TYPE_CHECKING:
    from collections.abc import Iterator

_NO_ELEMENT: Final = "null"
# Neither has a meaning of its own (ISO 32000-1, 14.8.4.2 and 14.8.4.4.2): what they hold belongs to what holds them.
_PLAIN: Final = frozenset({"/NonStruct", "/Span"})
_PLAIN_KEYS: Final = frozenset({"Type", "S", "K", "P", "Pg"})


def finished(_document: object, pdf: Any) -> None:  # noqa: ANN401  pydyf is not typed
    """A finisher for the renderer: changes ``pdf`` in place."""
    _name_each_attachment_once(pdf)
    root = _at(pdf, pdf.catalog["StructTreeRoot"])
    held = dict(_elements(pdf, root))
    _margins_are_artifacts(pdf, root, set(held))
    named = _headers_have_names(pdf, held)
    if named:
        pairs = (part for name, reference in sorted(named) for part in (pydyf.String(name), reference))
        names = pydyf.Dictionary({"Names": pydyf.Array(pairs)})
        pdf.add_object(names)
        root["IDTree"] = names.reference
    _plain_elements_go(pdf, root)
    _without_the_unheld(pdf, {*dict(_elements(pdf, root))})


def _name_each_attachment_once(pdf: Any) -> None:  # noqa: ANN401
    """WeasyPrint lists every attachment twice in the catalog's AF array."""
    if "AF" in pdf.catalog:
        pdf.catalog["AF"] = pydyf.Array(dict.fromkeys(pdf.catalog["AF"]))


def _at(pdf: Any, reference: bytes) -> Any:  # noqa: ANN401
    return pdf.objects[int(reference.split()[0])]


def _elements(pdf: Any, above: Any) -> Iterator[tuple[bytes, Any]]:  # noqa: ANN401
    """Every element of the structure with its reference, in reading order."""
    for kid in above["K"]:
        if isinstance(kid, bytes):
            element = _at(pdf, kid)
            if "S" in element:
                yield kid, element
                yield from _elements(pdf, element)


def _margins_are_artifacts(pdf: Any, root: Any, held: set[bytes]) -> None:  # noqa: ANN401
    """What is marked but hangs on no element of the structure stands in a margin: page numbers, running titles."""
    numbers = _at(pdf, root["ParentTree"])["Nums"]
    for page, parents in zip(pdf.page_references, numbers[1::2], strict=False):
        outside = {number for number, element in enumerate(parents) if element not in held}
        for number in outside:
            parents[number] = _NO_ELEMENT
        _as_artifacts(_at(pdf, _at(pdf, page)["Contents"]).stream, outside)


def _as_artifacts(operators: list[Any], numbers: set[int]) -> None:
    for place, operator in enumerate(operators):
        if operator == b"BDC" and operators[place - 1].get("MCID") in numbers:
            operators[place - 2] = "/Artifact"
            operators[place - 1] = pydyf.Dictionary({"Type": "/Pagination"})


def _headers_have_names(pdf: Any, held: dict[bytes, Any]) -> list[tuple[str, bytes]]:  # noqa: ANN401
    """New names of all header cells, with their references."""
    named: list[tuple[str, bytes]] = []
    tables = [element for element in held.values() if element["S"] == "/Table"]
    for number, table in enumerate(tables, start=1):
        rows = [row for _, row in _elements(pdf, table) if row["S"] == "/TR"]
        cells = [[(kid, _at(pdf, kid)) for kid in row["K"]] for row in rows]
        new: dict[str, str] = {}
        for reference, cell in (pair for row in cells for pair in row if pair[1]["S"] == "/TH"):
            name = f"{number:05}-{len(new):05}"
            new[cell["ID"].string] = name
            cell["ID"] = pydyf.String(name)
            named.append((name, reference))
        _point_to(cells, new)
    return named


def _point_to(rows: list[list[tuple[bytes, Any]]], new: dict[str, str]) -> None:
    """Cells name their headers by the new names."""
    alone: list[str] = []
    for row in rows:
        if all(cell["S"] == "/TH" for _, cell in row):
            alone = [cell["ID"].string for _, cell in row]
        for _, cell in row:
            if cell["S"] == "/TD":
                own = [new[one.string] for one in cell["A"]["Headers"]]
                cell["A"]["Headers"] = pydyf.Array(pydyf.String(one) for one in own or alone)


def _plain_elements_go(pdf: Any, root: Any) -> None:  # noqa: ANN401
    """What an element without a meaning holds goes to the one it stands in, on the same page, in its place."""
    numbers = _at(pdf, root["ParentTree"])["Nums"]
    places: dict[bytes, list[tuple[Any, int]]] = {}  # where the list of marks names an element
    for parents in numbers[1::2]:
        for place, element in enumerate(parents):
            places.setdefault(element, []).append((parents, place))
    held = [(b"", root), *_elements(pdf, root)]
    for reference, element in reversed(held):  # those within first
        kids: list[Any] = []
        for kid in element["K"]:
            within = _at(pdf, kid) if isinstance(kid, bytes) else {}
            if within.get("S") in _PLAIN and within.keys() <= _PLAIN_KEYS and within.get("Pg") == element.get("Pg"):
                kids += within["K"]
                for parents, place in places.pop(kid, ()):
                    parents[place] = reference
                    places.setdefault(reference, []).append((parents, place))
                for one in within["K"]:
                    if isinstance(one, bytes):
                        _at(pdf, one)["P"] = reference
            else:
                kids.append(kid)
        element["K"] = pydyf.Array(kids)


def _without_the_unheld(pdf: Any, held: set[bytes]) -> None:  # noqa: ANN401
    """Elements that hang on nothing any more are not written, and the objects behind them move up."""
    kept = [one for one in pdf.objects if not _is_element(one) or one.reference in held]
    moved = {one.reference: f"{number} 0 R".encode() for number, one in enumerate(kept) if one.number != number}
    for number, one in enumerate(kept):
        one.number = number
        for part in (one, getattr(one, "extra", None)):
            _point_anew(part, moved)
    pdf.objects[:] = kept


def _is_element(one: Any) -> bool:  # noqa: ANN401
    return isinstance(one, dict) and one.get("Type") == "/StructElem"


def _point_anew(part: Any, moved: dict[bytes, bytes]) -> None:  # noqa: ANN401
    """References in a dictionary or list, however deep: of objects that lie before the structure none has moved."""
    pairs = part.items() if isinstance(part, dict) else enumerate(part) if isinstance(part, list) else ()
    for place, value in [*pairs]:
        if isinstance(value, bytes) and value in moved:
            part[place] = moved[value]
        elif isinstance(value, (dict, list)):
            _point_anew(value, moved)
