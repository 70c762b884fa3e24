"""How one customer wants its certificates printed: language, numbers, dates, order of results. One document each."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal, TypeAlias

from benchseal.records.printed_form import Language
from benchseal.records.shape import LEFT_OUT_WHEN_EMPTY

Thousands: TypeAlias = Literal["none", "space", "locale"]
Dates: TypeAlias = Literal["long", "numeric", "iso"]


@dataclass(frozen=True, slots=True)
class CertificateForm:
    """One customer's form. id: chosen by the laboratory.

    locale: as CLDR names it (``de_DE``), whose decimal sign and date pattern are printed. thousands: figures in one
    row, in threes parted by a narrow space (ISO 80000-1), or by the locale's own sign. dates: ``19. Januar 2026``,
    ``19.01.2026``, or ``2026-01-19``. order: symbols of the elements whose results stand first, in this order.
    """

    kind: Literal["certificate_form"]
    id: str
    title: str
    customer: str
    language: Language
    locale: str
    thousands: Thousands
    dates: Dates
    order: tuple[str, ...] = field(default=(), metadata=LEFT_OUT_WHEN_EMPTY)
