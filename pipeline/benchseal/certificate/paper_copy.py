"""A numbered paper copy: the pages of an issued certificate with a line in the upper margin that says what it is.

The pages are those that were sealed, drawn over, never set anew. Attachments, the seal and the claim to an archive form
are left out: what is printed cannot be verified, and says so.
"""

from __future__ import annotations

from dataclasses import dataclass
from io import BytesIO
from typing import TYPE_CHECKING, Final

from benchseal.certificate.complete import unprintable

if TYPE_CHECKING:
    from datetime import datetime

    from benchseal.problems import Problem

TEMPLATE: Final = "copy_mark.html.jinja"
LONGEST_TO: Final = 120  # signs: the longest line then takes three rows, which is the room above the page's text
_POINTS_A_MM: Final = 72.0 / 25.4


@dataclass(frozen=True, slots=True)
class CopyMark:
    """What the margin says. number: of the certificate. standing: in capitals where it is not in force, else empty."""

    number: str
    copy: int
    given_to: str
    printed: str
    standing: str

    @property
    def words(self) -> str:
        """The line."""
        return f"Paper copy {self.copy} of {self.number}, for {self.given_to}. Printed {self.printed}."


NOT_SEALED: Final = "Not sealed: only the file of this certificate can be verified."


def mark_problems(mark: CopyMark) -> tuple[Problem, ...]:
    """Characters of the line that the shipped type cannot print."""
    return tuple(unprintable("--to", mark.words))


def paper_copy(unsealed: bytes, mark: CopyMark, at: datetime) -> bytes:
    """PDF bytes for a printer. unsealed: the rendered pages of the certificate. at: aware."""
    import pikepdf  # noqa: PLC0415  heavy

    from benchseal.certificate.render import STYLE, TEXT_WIDTH_MM, render_paper  # noqa: PLC0415  heavy

    with pikepdf.open(BytesIO(unsealed)) as pages:
        width, height = (float(pages.pages[0].mediabox[side]) / _POINTS_A_MM for side in (2, 3))
        side = (width - TEXT_WIDTH_MM) / 2
        size = f"{width:.1f}mm {height:.1f}mm; margin: 15mm {side:.2f}mm 0"
        drawn = render_paper(TEMPLATE, STYLE, at, size=size, mark=mark, not_sealed=NOT_SEALED)
        with pikepdf.open(BytesIO(drawn)) as line:
            for page in pages.pages:
                page.add_overlay(line.pages[0], pikepdf.Rectangle(page.mediabox))
        for name in ("/AF", "/Names", "/Metadata", "/OutputIntents"):
            if name in pages.Root:
                del pages.Root[name]
        pages.docinfo["/Title"] = f"Paper copy {mark.copy} of {mark.number}"
        written = BytesIO()
        pages.save(written, deterministic_id=True)
    return written.getvalue()
