"""A balance's own file as it was kept: its masses, by the layout that read it, or as a CSV with columns."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.desk.reading import load
from benchseal.documents.balance import read_balance
from benchseal.documents.weighings import read_weighings
from benchseal.records.balance_layout import BalanceLayout

if TYPE_CHECKING:
    from benchseal.problems import Problem
    from benchseal.records.canonical import Digest
    from benchseal.store.protocol import Reading


def masses_of(view: Reading, balance: Digest, layout: Digest, source: str) -> dict[str, str] | tuple[Problem, ...]:
    """Label to mass in grams; or every problem. layout: digest of a balance layout, empty for a CSV."""
    data = view.bytes_of(balance)
    return read_weighings(data, source, load(view, BalanceLayout, layout)) if layout else read_balance(data, source)
