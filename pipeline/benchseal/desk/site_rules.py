"""The rules a site works under: those of its approved document, else the defaults, which open every gate."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.desk.reading import load
from benchseal.records.site_rules import RULES_ID, SiteRules

if TYPE_CHECKING:
    from benchseal.store.protocol import Reading, Row


def rules_in_force(view: Reading) -> SiteRules:
    """The rules in force in this view or transaction; the defaults where no document of them is in force."""
    row = rules_row(view)
    return SiteRules() if row is None else load(view, SiteRules, row["value"])


def rules_row(view: Reading) -> Row | None:
    """The document row of the rules in force."""
    return view.row("document", kind="site_rules", id=RULES_ID, state="approved")
