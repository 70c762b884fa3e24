"""The starter documents the demo approves, read as anybody reads them."""

from __future__ import annotations

from dataclasses import dataclass

from benchseal.documents.reading import ControlledDocument, read_document
from benchseal.records.method import Method
from benchseal.shipped import starter


@dataclass(frozen=True, slots=True)
class Document:
    """One controlled document to add. kind: as its text says. name: file name."""

    kind: str
    name: str
    text: str


METHODS = (
    "zinc-flame", "magnesium-flame", "lead-furnace", "cadmium-furnace", "mercury-cold-vapour", "arsenic-hydride",
    "lead-flame-ware", "cadmium-flame-ware",
)  # fmt: skip
SPECIFICATIONS = ("mineral-lozenge", "drink-sachet", "flat-ware")
CERTIFICATE_FORMS = ("corrigan-german",)
LETTERHEADS = ("letterhead",)
LAYOUTS = ("comma-list", "page-print", "semicolon-sections")
_FOLDERS = (("layout", "layouts", LAYOUTS), ("method", "methods", METHODS),
            ("specification", "specifications", SPECIFICATIONS),
            ("certificate_form", "certificate_forms", CERTIFICATE_FORMS),
            ("letterhead", "letterheads", LETTERHEADS))  # fmt: skip


def documents() -> tuple[Document, ...]:
    """Layouts, methods, specifications, a customer's form and the letterhead, in the order they are approved."""
    return tuple(
        Document(kind, f"{name}.yaml", starter(f"{folder}/{name}.yaml"))
        for kind, folder, names in _FOLDERS
        for name in names
    )


def methods() -> dict[str, Method]:
    """The starter methods by identifier. Raises AssertionError where a shipped one cannot be read."""
    return {name: _method(name) for name in METHODS}


def _method(name: str) -> Method:
    read = read_document(starter(f"methods/{name}.yaml").encode("utf-8"), f"{name}.yaml")
    if isinstance(read, ControlledDocument) and isinstance(read.value, Method):
        return read.value
    raise AssertionError(f"the starter method {name} is not good: {read}")
