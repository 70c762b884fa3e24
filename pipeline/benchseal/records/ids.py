"""Identifiers. Readable per-site counters for samples, runs and certificates; a hash where systems must agree."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from benchseal.records.canonical import digest_of

if TYPE_CHECKING:
    from collections.abc import Sequence


def result_id(  # noqa: PLR0913, PLR0917  what a result is
    ledger: str, sample: str, element: str, fraction: str, basis: str, quantity: str, expressed_as: str = ""
) -> str:
    """The same result keeps its identifier through every correction; 32 hexadecimal figures.

    expressed_as: formula of the substance the value is given as, empty for the element; a part of the name only then.
    """
    substance = [expressed_as] if expressed_as else []
    return digest_of(["benchseal-result/1", ledger, sample, element, fraction, basis, quantity, *substance])[:32]


def sum_id(  # noqa: PLR0913, PLR0917  what a sum is
    ledger: str, sample: str, name: str, elements: Sequence[str], basis: str, quantity: str, bound: str
) -> str:
    """As ``result_id`` for a sum; the order of its elements is nothing."""
    return digest_of(["benchseal-sum/1", ledger, sample, name, [*sorted(elements)], basis, quantity, bound])[:32]


def sample_number(count: int) -> str:
    """``S-00001``."""
    return f"S-{count:05d}"


def run_number(count: int) -> str:
    """``R-00001``."""
    return f"R-{count:05d}"


def plan_number(count: int) -> str:
    """``PL-00001``."""
    return f"PL-{count:05d}"


def training_number(count: int) -> str:
    """``T-00001``."""
    return f"T-{count:05d}"


def certificate_number(year: int, count: int) -> str:
    """``C-2026-00001``: counted within the site, never reused."""
    return f"C-{year}-{count:05d}"


def later_number(first: str, letter: Literal["A", "S"], count: int) -> str:
    """``C-2026-00001-A1``, ``-S1``: of an amendment or a supplement, counted within its series, never reused."""
    return f"{first}-{letter}{count}"


def notice_number(certificate: str) -> str:
    """``C-2026-00001-W``: of the notice that a certificate is withdrawn; there is one at most."""
    return f"{certificate}-W"


def preliminary_number(year: int, count: int) -> str:
    """``P-2026-00001``: of a paper with preliminary figures, counted within the site, never reused."""
    return f"P-{year}-{count:05d}"


def investigation_number(count: int) -> str:
    """``I-00001``."""
    return f"I-{count:05d}"
