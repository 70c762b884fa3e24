"""Rules of the document "rules of the site" beyond its schema."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.documents.judge import Fault
from benchseal.records.quantities import decimal_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.records.site_rules import SiteRules


def site_rules_faults(rules: SiteRules) -> Iterator[Fault]:
    """Every rule the document breaks."""
    if rules.restore_test_days < rules.backup_days:
        what = f"a backup is to be restored every {rules.restore_test_days} days, but made every {rules.backup_days}."
        yield _fault(
            "restore_test_days", "restore-before-backup", what, "Restore as often as backups are made, or less."
        )
    quantities = [one.quantity for one in rules.typed_ranges]
    if len(set(quantities)) != len(quantities):
        what = "a quantity has two ranges."
        yield _fault("typed_ranges", "range-twice", what, "Keep one range for each quantity.")
    for one in rules.typed_ranges:
        if decimal_of(one.low) >= decimal_of(one.high):
            what = f"the range of {one.quantity} begins at {one.low} and ends at {one.high}."
            yield _fault("typed_ranges", "range-empty", what, "Write the smaller value first.")
    if rules.stock_deviation_percent and decimal_of(rules.stock_deviation_percent) == 0:
        what = "two stocks never agree to 0 %."
        yield _fault("stock_deviation_percent", "deviation-zero", what, "Write what is allowed; '' compares nothing.")


def _fault(key: str, code: str, what: str, remedy: str) -> Fault:
    return Fault((key,), f"documents.site-rules-{code}", what, remedy)
