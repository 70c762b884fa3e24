"""The renderer keeps nothing of a page it has made; the page is the same byte for byte as without that."""

from __future__ import annotations

import ctypes
import gc
import sys
from datetime import UTC, datetime
from typing import TYPE_CHECKING

import pytest
import weasyprint
from weasyprint.text.line_break import Layout

from benchseal.certificate import native_memory, shipped_only
from benchseal.certificate.instruction import render_instruction, sheet_for
from benchseal.certificate.language import ENGLISH

if TYPE_CHECKING:
    from collections.abc import Iterator

AT = datetime(2026, 11, 26, 12, tzinfo=UTC)
SHEET = sheet_for(ENGLISH, laboratory="Tern Quay", program="benchseal", made_on=AT.date(), prints=["0" * 64], earlier=2)


class _InUse(ctypes.Structure):
    """What the C library says of its memory (mallinfo(3), glibc 2.33 and later)."""

    _fields_ = [(name, ctypes.c_size_t) for name in (
        "arena", "ordblks", "smblks", "hblks", "hblkhd", "usmblks", "fsmblks", "uordblks", "fordblks", "keepcost",
    )]  # fmt: skip


def _bytes_in_use() -> int:
    """Handed out by the C library and not given back yet."""
    mallinfo = getattr(ctypes.CDLL(None), "mallinfo2", None) if sys.platform == "linux" else None
    if mallinfo is None:
        pytest.skip("the C library does not say")
    mallinfo.restype = _InUse
    gc.collect()
    return int(mallinfo().uordblks)


@pytest.fixture
def as_the_library_does(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Without what ``native_memory`` changes."""
    shipped_only.type_of.cache_clear()
    monkeypatch.setattr(Layout, "setup", native_memory._setup)  # noqa: SLF001
    monkeypatch.setattr(shipped_only, "give_back", lambda _: None)
    yield
    shipped_only.type_of.cache_clear()


def _grown(papers: int) -> int:
    """Bytes that stay in use after so many papers more."""
    for _ in range(3):
        render_instruction(SHEET, "a4", AT)
    before = _bytes_in_use()
    for _ in range(papers):
        render_instruction(SHEET, "a4", AT)
    return _bytes_in_use() - before


def test_the_version_of_the_library_is_the_one_looked_at() -> None:
    """A newer one: read its ``Layout.setup`` first, then name it, or take the module out."""
    assert weasyprint.__version__ == native_memory.LOOKED_AT


def test_pages_keep_no_memory() -> None:
    assert _grown(20) < 100_000


@pytest.mark.usefixtures("as_the_library_does")
def test_without_it_they_do() -> None:
    """Or the test above would show nothing."""
    assert _grown(20) > 200_000


def test_the_page_is_the_same(request: pytest.FixtureRequest) -> None:
    ours = render_instruction(SHEET, "a4", AT)
    request.getfixturevalue("as_the_library_does")
    assert render_instruction(SHEET, "a4", AT) == ours
