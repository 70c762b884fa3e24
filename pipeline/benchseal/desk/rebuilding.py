"""Derived rows made again from the ledger. Truth is read, never written."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.desk.reading import all_entries
from benchseal.store.replay import differences, replayed

if TYPE_CHECKING:
    from benchseal.desk.site import Site


def rebuild_site(site: Site) -> int:
    """Replace the derived rows by those that follow from the ledger; how many differed."""
    with site.store.writing() as tx:
        all_entries(tx)  # a ledger that cannot be read is named, and nothing is replaced
        again = replayed(tx, site.ledger)
        try:
            with again.reading() as model:
                found = differences(tx, model)
                if found:
                    tx.replace_derived(model)
        finally:
            again.close()
    return len(found)
