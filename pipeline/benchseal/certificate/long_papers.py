"""What a page does with much of anything: long tables in parts with captions, blocks that go on over pages.

Blocks beside each other cannot go on over a page; where they would be long they stand below each other instead.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, Generic, TypeVar

from benchseal.pictures.labels import width_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from benchseal.certificate.language import Words
    from benchseal.certificate.view import CertificateView, CheckLine, Item

T = TypeVar("T")

ROWS_A_TABLE: Final = 40
CHECKS_UNDER_A_PICTURE: Final = 14
_TOO_FEW: Final = 4  # rows that are no part of their own
PEOPLE_BESIDE_THE_MARK: Final = 4  # as high as the mark with its words
_MANY_PEOPLE: Final = 12
_SIGNS_BESIDE: Final = 1500  # of a block as wide as half the page: about 35 lines
_NAME_PT: Final = 14.0
_MM: Final = 72.0 / 25.4
_LINE_MM: Final = 174.0
_BESIDE_MM: Final = 8.0  # between name and address, as the style has it
_BESIDE_LOGO_MM: Final = 3.0  # the same, after a logo


@dataclass(frozen=True, slots=True)
class TablePart(Generic[T]):
    """Rows under one header. caption: which part this is, in words; empty where it is the whole and needs none."""

    caption: str
    rows: tuple[T, ...]


@dataclass(frozen=True, slots=True)
class Length:
    """How the blocks of one certificate are laid out. check_tables: checks too many to stand under their picture.

    many_people: asked by templates of laboratories that were made after the shipped one of before.
    """

    identity_stacked: bool
    foot_stacked: bool
    many_people: bool
    under: int
    check_tables: tuple[TablePart[CheckLine], ...]


def length_of(view: CertificateView) -> Length:
    """Which blocks of ``view`` are long."""
    address = sum(map(len, view.customer.address)) + len(view.customer.name)
    return Length(
        identity_stacked=address + _signs(view.item) > _SIGNS_BESIDE,
        foot_stacked=sum(map(len, view.limits_and_cautions)) > 2 * _SIGNS_BESIDE,
        many_people=len(view.signatures) > _MANY_PEOPLE,
        under=CHECKS_UNDER_A_PICTURE,
        check_tables=tuple(_check_tables(view)),
    )


def crowds(name: str, address: str, logo_mm: int = 0) -> bool:
    """Whether name and address of a laboratory, with its logo, are more than one line of the head holds.

    Counted by the widths of the lighter weight, a letter without one as the widest: in doubt they stand one below the
    other.
    """
    logo = logo_mm + _BESIDE_LOGO_MM if logo_mm else 0.0
    return width_of(name, _NAME_PT) + width_of(address) > (_LINE_MM - logo - _BESIDE_MM) * _MM


def _signs(item: Item) -> int:
    beside = (item.product, item.description, item.lot, item.grade, item.manufacturer, item.condition)
    return sum(map(len, (*beside, item.quantity_received, item.customer_sample_id)))


def _check_tables(view: CertificateView) -> Iterator[TablePart[CheckLine]]:
    for run in view.runs:
        if len(run.checks) > CHECKS_UNDER_A_PICTURE:
            named = {"heading": run.heading, "run": run.run}
            for part in in_parts(run.checks, "table/checks_part", view.words, **named):
                yield TablePart(part.caption or view.words.say("table/checks", **named), part.rows)


def in_parts(rows: Sequence[T], key: str, words: Words, **named: str) -> tuple[TablePart[T], ...]:
    """Rows in parts of ``ROWS_A_TABLE``; one part without a caption where that holds all of them.

    key: of the caption, whose places are ``first``, ``last``, ``count`` and those of ``named``.
    """
    edges = list(range(0, len(rows), ROWS_A_TABLE)) or [0]
    if len(edges) > 1 and len(rows) - edges[-1] < _TOO_FEW:
        edges.pop()
    if len(edges) == 1:
        return (TablePart("", tuple(rows)),)
    ends = [*edges[1:], len(rows)]
    return tuple(
        TablePart(words.say(key, first=first + 1, last=last, count=len(rows), **named), tuple(rows[first:last]))
        for first, last in zip(edges, ends, strict=True)
    )
