"""A numbered paper copy: the pages of an issued certificate with a line in the upper margin that says what it is.

The pages are those that were sealed, drawn over, never set anew. Attachments, the seal and the claim to an archive form
are left out: what is printed cannot be verified, and says so.
"""

from __future__ import annotations

from dataclasses import dataclass
from io import BytesIO
from typing import TYPE_CHECKING, Final

from benchseal.certificate.complete import unprintable
from benchseal.certificate.language import Words

if TYPE_CHECKING:
    from datetime import datetime

    from benchseal.problems import Problem
    from benchseal.records.printed_form import Language

TEMPLATE: Final = "copy_mark.html.jinja"
LONGEST_TO: Final = 120  # signs: the longest line then takes three rows, which is the room above the page's text
_POINTS_A_MM: Final = 72.0 / 25.4


@dataclass(frozen=True, slots=True)
class CopyMark:
    """What the margin says, in the certificate's language.

    number: of the certificate. printed_at, by: as read. state: of the certificate. replaced_by: the number of the one
    in force where another replaced it, else empty.
    """

    number: str
    copy: int
    given_to: str
    printed_at: str = ""
    by: str = ""
    state: str = "released"
    replaced_by: str = ""
    language: Language = "en"

    @property
    def words(self) -> str:
        """The line."""
        return self._say("copy/line", to=self.given_to, at=self.printed_at, by=self.by)

    @property
    def title(self) -> str:
        """What the file is called."""
        return self._say("copy/title")

    @property
    def not_sealed(self) -> str:
        """That it proves nothing."""
        return self._say("copy/not_sealed")

    @property
    def standing(self) -> str:
        """In capitals where the certificate is not in force, else empty."""
        if self.state == "released":
            return ""
        standing = Words.in_language(self.language).word("copy_state", self.state)
        return self._say("copy/replaced", standing=standing, by=self.replaced_by) if self.replaced_by else standing

    def _say(self, key: str, **values: str) -> str:
        return Words.in_language(self.language).say(key, copy=self.copy, number=self.number, **values)


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
        drawn = render_paper(TEMPLATE, STYLE, at, size=size, mark=mark)
        with pikepdf.open(BytesIO(drawn)) as line:
            for page in pages.pages:
                page.add_overlay(line.pages[0], pikepdf.Rectangle(page.mediabox))
        for name in ("/AF", "/Names", "/Metadata", "/OutputIntents"):
            if name in pages.Root:
                del pages.Root[name]
        pages.docinfo["/Title"] = mark.title
        written = BytesIO()
        pages.save(written, deterministic_id=True)
    return written.getvalue()
