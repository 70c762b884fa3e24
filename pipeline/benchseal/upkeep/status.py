"""The site in one line, for monitoring: what is waiting, how old the last backup is, and whether anything is amiss."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from benchseal.desk.cases import open_cases, overdue
from benchseal.desk.clock import moment_of
from benchseal.desk.recipients import to_tell
from benchseal.records.entries import read_entry
from benchseal.records.said import some
from benchseal.upkeep.doctor import examine

if TYPE_CHECKING:
    from datetime import datetime

    from benchseal.desk.site import Site
    from benchseal.problems import Finding


@dataclass(frozen=True, slots=True)
class Status:
    """Counts of what is open. backup_days, tested_days: age in whole days, -1 for never."""

    entries: int
    last_at: str
    runs_to_submit: int
    runs_to_review: int
    certificates_open: int
    certificates_flagged: int
    holders_to_tell: int
    holds: int
    investigations_open: int
    investigations_overdue: int
    deliveries_open: int
    backup_days: int
    tested_days: int
    findings: tuple[Finding, ...]

    @property
    def line(self) -> str:
        """``amiss: 2 findings; 412 entries, last …``."""
        word = f"amiss: {some(len(self.findings), 'finding')}" if self.findings else "well"
        copies = f"backup {_age(self.backup_days)}, restored {_age(self.tested_days)}"
        return (
            f"{word}; {some(self.entries, 'entry')}, last {self.last_at}; runs to submit {self.runs_to_submit}, "
            f"to review {self.runs_to_review}; certificates open {self.certificates_open}, "
            f"to amend or justify {self.certificates_flagged}, holders to tell {self.holders_to_tell}; "
            f"held {self.holds}; "
            f"investigations open {self.investigations_open}, overdue {self.investigations_overdue}; "
            f"deliveries open {self.deliveries_open}; {copies}"
        )


def status(site: Site) -> Status:
    """Look at the site as it is now. Raises Stopped."""
    findings = examine(site)
    now = site.clock()
    with site.store.reading() as view:
        size = view.size()
        last = next(view.entries(size), None) if size else None
        runs = [row["state"] for row in view.rows("run")]
        backups, certificates = view.rows("backup"), view.rows("certificate")
        cases = open_cases(view)
        return Status(
            entries=size,
            last_at=read_entry(last[1]).at if last else "",
            runs_to_submit=sum(state in {"draft", "returned", "reopened"} for state in runs),
            runs_to_review=runs.count("submitted"),
            certificates_open=sum(row["state"] in {"draft", "approved", "sealing"} for row in certificates),
            certificates_flagged=sum(row["state"] == "released" and bool(row["flag"]) for row in certificates),
            holders_to_tell=sum(len(to_tell(view, row["number"])) for row in certificates),
            holds=len(view.rows("hold", is_open=1)),
            investigations_open=len(cases),
            investigations_overdue=sum(overdue(view, case, now) for case in cases),
            deliveries_open=len(view.rows("delivery", state="planned")),
            backup_days=_days([row["made_at"] for row in backups], now),
            tested_days=_days([row["tested_at"] for row in backups if not row["findings"]], now),
            findings=findings,
        )


def _days(times: list[str], now: datetime) -> int:
    last = max(filter(None, times), default="")
    return (now - moment_of(last)).days if last else -1


def _age(days: int) -> str:
    return "never" if days < 0 else f"{days} d ago"
