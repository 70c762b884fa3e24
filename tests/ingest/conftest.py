"""The three shipped layouts."""

from __future__ import annotations

from pathlib import Path

import pytest

from benchseal.documents.reading import ControlledDocument, read_document
from benchseal.records.canonical import digest
from benchseal.records.layout import Layout
from benchseal.records.run import DocumentRef

_LAYOUTS = Path(__file__).parents[2] / "pipeline" / "benchseal" / "starters" / "layouts"


@pytest.fixture(scope="session")
def layouts() -> dict[str, tuple[DocumentRef, Layout]]:
    """By identifier."""
    found: dict[str, tuple[DocumentRef, Layout]] = {}
    for path in sorted(_LAYOUTS.glob("*.yaml")):
        document = read_document(path.read_bytes(), path.name)
        assert isinstance(document, ControlledDocument)
        assert isinstance(document.value, Layout)
        found[document.id] = (DocumentRef(document.id, 1, digest(document.canonical)), document.value)
    return found
