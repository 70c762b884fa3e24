"""A balance's own file as it was kept: its masses, by the layout that read it, or as a CSV with columns."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.desk.in_force import in_force
from benchseal.desk.reading import load
from benchseal.documents.balance import balance_times, read_balance
from benchseal.documents.weighings import read_weighings, weighing_times
from benchseal.problems import Problem
from benchseal.records.balance_layout import BalanceLayout
from benchseal.records.registers import Sample
from benchseal.records.said import some
from benchseal.records.specification import Specification

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.records.canonical import Digest
    from benchseal.records.preparation import Portion
    from benchseal.store.protocol import Reading

_BY_MASS = {"content", "amount_per_unit", "percent_of_claim"}
_OF_A_SAMPLE = {"sample", "duplicate", "spiked_sample"}
_WEIGHED = {*_OF_A_SAMPLE, "control_sample", "reference_material"}
_MOST_NAMED = 20


def masses_of(view: Reading, balance: Digest, layout: Digest, source: str) -> dict[str, str] | tuple[Problem, ...]:
    """Label to mass in grams; or every problem. layout: digest of a balance layout, empty for a CSV."""
    data = view.bytes_of(balance)
    return read_weighings(data, source, load(view, BalanceLayout, layout)) if layout else read_balance(data, source)


def times_of(view: Reading, balance: Digest, layout: Digest, source: str) -> dict[str, str]:
    """Label to the time of its weighing as the file writes it, of a file ``masses_of`` reads; nothing without one."""
    data = view.bytes_of(balance)
    return weighing_times(data, source, load(view, BalanceLayout, layout)) if layout else balance_times(data, source)


def without_row(rows: Sequence[Portion], masses: dict[str, str]) -> list[str]:
    """Labels of weighings no row of the sheet bears."""
    return sorted(masses.keys() - {row.portion for row in rows})


def without_mass(rows: Sequence[Portion]) -> list[Portion]:
    """Rows of a kind that is weighed, with neither mass nor surface, though there is something to measure."""
    return [row for row in rows if row.kind in _WEIGHED and not (row.mass_g or row.area_dm2 or row.not_determined)]


def mass_problems(
    view: Reading, rows: Sequence[Portion], places: Sequence[str], masses: dict[str, str], source: str
) -> list[Problem]:
    """Rows the balance's file gives no mass, whose result cannot be calculated without one."""
    where = dict(zip((id(row) for row in rows), places, strict=True))
    strangers = without_row(rows, masses)
    beside = f" Weighings without a row: {listed(strangers)}." if strangers else ""
    return [
        Problem(
            "balance.mass-missing",
            f"{where[id(row)]}, portion {row.portion}",
            f"{because}, and {source} holds no weighing of it.{beside}",
            "Put the label right on the sheet, or weigh the portion; of one that is lost say so in not_determined.",
        )
        for row in without_mass(rows)
        if (because := _wants(view, row))
    ]


def _wants(view: Reading, row: Portion) -> str:
    """What of a row is calculated by its mass; empty where nothing is known to be."""
    if row.kind == "reference_material" and row.expected_ug_per_g:
        return "What is expected of it is a content"
    sample = view.row("sample", sample=row.sample) if row.kind in _OF_A_SAMPLE else None
    agreed = load(view, Sample, sample["record"]).row.specification if sample else ""
    document = in_force(view, "specification", agreed) if agreed else ""
    if isinstance(document, str):
        return ""
    lines = load(view, Specification, document["value"]).requirements
    found = [f"{one.element} {one.quantity}" for one in lines if one.element in row.elements]
    asked = [one for one in found if one.rpartition(" ")[2] in _BY_MASS]
    return f"Its specification {agreed} asks for {', '.join(asked).replace('_', ' ')}" if asked else ""


def remarks(rows: Sequence[Portion], masses: dict[str, str]) -> list[str]:
    """Sentences for the receipt."""
    strangers, bare = without_row(rows, masses), [row.portion for row in without_mass(rows)]
    said = [f"Weighed, but on no row of the sheet ({some(len(strangers), 'label')}): {listed(strangers)}."]
    bared = [f"On record without a mass ({some(len(bare), 'portion')}): {listed(bare)}."]
    return [*(said if strangers else []), *(bared if bare else [])]


def listed(labels: Sequence[str]) -> str:
    """Labels for a sentence, the first of many."""
    more = len(labels) - _MOST_NAMED
    return ", ".join(label[:40] for label in labels[:_MOST_NAMED]) + (f" and {more} more" if more > 0 else "")
