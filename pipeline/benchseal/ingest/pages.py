"""Pages that count themselves: one that lacks, comes twice or stands at another place is one fault, told once."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final, NamedTuple

PAGES_AGAIN: Final = (
    "Export the file at the instrument again; do not edit the stored copy. Where its pages are files of one run, bring "
    "them in together with --one-run, in the order they were written."
)
# What a page at a wrong place brings with it: told too, it would hide the cause.
FOLLOWS: Final = frozenset({"ingest.position-gap", "ingest.time-backwards", "ingest.count-differs"})
_MOST_NAMED: Final = 10
_MOST_PAGES: Final = 9999


class _Page(NamedTuple):
    """Its number as the file writes it, and where."""

    text: str
    line: int
    column: int


@dataclass(slots=True)
class Pages:
    """Page numbers in the order they were read."""

    read: list[_Page] = field(default_factory=list)

    def take(self, text: str, line: int, column: int) -> None:
        """One more page."""
        self.read.append(_Page(text, line, column))

    def fault(self, stated: str) -> tuple[str, int, int] | None:
        """What is wrong, with line and column; 0 for the line of the number of pages. stated: that number, or empty."""
        if not self.read:
            return None
        numbers = [_number(page.text) for page in self.read]
        due = _number(stated)
        wrong = next((nth for nth, number in enumerate(numbers) if number != nth + 1), None)
        if wrong is not None:
            page = self.read[wrong]
            what = f"Page {page.text[:20]} stands where page {wrong + 1} is due.{_beside(numbers, due)}"
            return what, page.line, page.column
        if stated and due != len(self.read):
            were = "was" if len(self.read) == 1 else "were"
            what = f"The file says it has {stated[:20]} pages; {len(self.read)} {were} read.{_beside(numbers, due)}"
            return what, 0, 0
        return None


def remedy_of_files(what: str) -> str:
    """What helps where every page is a file, all named together."""
    if " lacking" in what:
        return "Name the file of what is lacking too, all in the order they were written; export again where none is."
    if " in the order " in what:
        return "Name the files in the order they were written."
    return "Name the files of one run only, each once, in the order they were written."


def _beside(numbers: list[int], due: int) -> str:
    """What lacks or comes twice; or the order, where neither is so. Empty where the numbers do not tell."""
    last = max(*numbers, due, 0)
    if min(numbers) < 1 or last > _MOST_PAGES:
        return ""
    lacking = sorted(set(range(1, last + 1)) - set(numbers))
    if lacking:
        return f" {_named(lacking)} {'is' if len(lacking) == 1 else 'are'} lacking."
    twice = sorted({number for number in numbers if numbers.count(number) > 1})
    if twice:
        return f" {_named(twice)} {'comes' if len(twice) == 1 else 'come'} twice."
    if numbers == sorted(numbers):
        return ""
    return f" They stand in the order {', '.join(map(str, numbers[:_MOST_NAMED]))}."


def _named(pages: list[int]) -> str:
    more = f" and {len(pages) - _MOST_NAMED} more" if len(pages) > _MOST_NAMED else ""
    return f"Page{'s' if len(pages) > 1 else ''} {', '.join(map(str, pages[:_MOST_NAMED]))}{more}"


def _number(text: str) -> int:
    """0 where it is none."""
    bare = text.strip()
    return int(bare) if bare.isascii() and bare.isdigit() and len(bare) <= 9 else 0
