"""The site as numbers for monitoring: the text exposition format of Prometheus, version 0.0.4.

Source of the format: https://prometheus.io/docs/instrumenting/exposition_formats/ (text format details).
"""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from benchseal.desk.clock import moment_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from datetime import datetime

    from benchseal.upkeep.status import Status

BEGINS = b"# HELP benchseal_"
_COUNTS = (
    ("runs_to_submit", "Runs that wait for their analyst."),
    ("runs_to_review", "Runs that wait for a reviewer."),
    ("certificates_open", "Certificates drafted, approved or being sealed."),
    ("certificates_flagged", "Released certificates to amend or justify."),
    ("holders_to_tell", "Holders of a changed certificate who have not been told."),
    ("holds", "Holds that are open."),
    ("investigations_open", "Investigations that are open."),
    ("investigations_overdue", "Investigations past their day."),
    ("deliveries_open", "Deliveries planned and not put down yet."),
)


def exposition(found: Status, ledger: str, version: str, now: datetime) -> str:
    """What ``status`` found as metrics, each with the label ``ledger``: counts, ages, no names and no results.

    ledger: identifier of the site's ledger. version: of the program. now: moment of the look. An age of "never" is
    ``+Inf``, so that a rule "older than" holds for it.
    """
    codes = Counter(one.code for one in found.findings)
    own = {"ledger": ledger}
    lines = [
        *_metric("info", "gauge", "The program that looked.", [({**own, "version": version}, "1")]),
        *_metric("status_timestamp_seconds", "gauge", "When the site was looked at.", [(own, _seconds(now))]),
        *_metric("well", "gauge", "1 where nothing is amiss, else 0.", [(own, "0" if codes else "1")]),
        *_metric(
            "findings",
            "gauge",
            "What is amiss, by code of the manual.",
            [({**own, "code": code}, str(count)) for code, count in sorted(codes.items())],
        ),
        *_metric("ledger_entries_total", "counter", "Entries of the ledger.", [(own, str(found.entries))]),
        *_metric(
            "ledger_last_entry_timestamp_seconds",
            "gauge",
            "When the last entry was made.",
            [(own, _seconds(moment_of(found.last_at)))] if found.last_at else [],
        ),
    ]
    for name, says in _COUNTS:
        lines += _metric(name, "gauge", says, [(own, str(getattr(found, name)))])
    for name, days, says in (
        ("backup_age_days", found.backup_days, "Whole days since the last backup."),
        ("backup_test_age_days", found.tested_days, "Whole days since a backup was last restored without findings."),
    ):
        lines += _metric(name, "gauge", says, [(own, "+Inf" if days < 0 else str(days))])
    return "".join(f"{line}\n" for line in lines)


def _metric(name: str, kind: str, says: str, samples: Iterable[tuple[Mapping[str, str], str]]) -> list[str]:
    """Lines of one metric; none where it has no sample."""
    full = f"benchseal_{name}"
    listed = [f"{full}{{{','.join(_label(*one) for one in labels.items())}}} {value}" for labels, value in samples]
    return [f"# HELP {full} {says}", f"# TYPE {full} {kind}", *listed] if listed else []


def _label(name: str, value: str) -> str:
    escaped = value.replace("\\", r"\\").replace("\n", r"\n").replace('"', r"\"")
    return f'{name}="{escaped}"'


def _seconds(moment: datetime) -> str:
    return f"{moment.timestamp():.3f}"
