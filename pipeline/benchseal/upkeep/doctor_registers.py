"""What is amiss with instruments, training, typed values and the periodic review; part of what ``doctor`` looks at."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING, Final
from zoneinfo import ZoneInfo

from benchseal.desk.clock import moment_of, stamp
from benchseal.desk.confirmations import waiting_for_run
from benchseal.desk.instrument_time import all_events
from benchseal.desk.instruments import clock_findings
from benchseal.desk.late import site_zone
from benchseal.desk.reading import load
from benchseal.desk.site_rules import rules_in_force
from benchseal.desk.trained import facts_of
from benchseal.problems import Finding
from benchseal.records.entries import read_entry
from benchseal.records.registers import Instrument
from benchseal.validate.instrument_state import calibrated_until, last_event, out_since

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from benchseal.records.instrument_events import InstrumentEvent
    from benchseal.store.sqlite import SqliteReading

SOON_DAYS: Final = 30  # training that ends within this time is named while there is time to renew it (ours)
MONTH_DAYS: Final = 30.5


def registers(view: SqliteReading, now: datetime) -> Iterator[Finding]:
    """Instruments, training, typed values, periodic review, in this order."""
    events = all_events(view)
    for row in view.rows("instrument"):
        record = load(view, Instrument, row["record"])
        yield from _instrument(view, record, events.get(record.instrument, ()), now)
    yield from _training(view, now)
    yield from _typed(view)
    yield from _periodic(view, now)


def _instrument(
    view: SqliteReading, record: Instrument, events: Sequence[InstrumentEvent], now: datetime
) -> Iterator[Finding]:
    moment = f"{stamp(now)[:19]}Z"
    today = now.astimezone(ZoneInfo(record.zone)).date().isoformat()
    if (out := out_since(moment, events)) is not None:
        what = f"it is out of service since {out.at}: {out.text}."
        remedy = "Its new runs are refused until a reviewer or approver puts it back in service."
        yield Finding("doctor.instrument-out", record.instrument, what, remedy)
    until = calibrated_until(moment, events)
    if until and today > until:
        what = f"it was calibrated until {until}."
        remedy = "Its new runs are refused until a calibration is on record: `benchseal instrument event`."
        yield Finding("doctor.instrument-calibration", record.instrument, what, remedy)
    qualified = last_event(moment, [one for one in events if one.until], ("qualification",))
    if qualified is not None and today > qualified.until:
        what = f"it was qualified until {qualified.until}."
        yield Finding("doctor.instrument-qualification", record.instrument, what, "Have it qualified again.")
    checked = last_event(moment, events, ("clock_check",))
    if checked is not None and (off := clock_findings(view, checked)):
        yield Finding("doctor.instrument-clock", record.instrument, off[0].what, off[0].remedy)


def _training(view: SqliteReading, now: datetime) -> Iterator[Finding]:
    """Training that ended, or ends soon, without another fact that goes on; only where training is asked for."""
    if rules_in_force(view).training != "required":
        return
    day = now.astimezone(site_zone(view)).date()
    soon = (day + timedelta(days=SOON_DAYS)).isoformat()
    active = {row["person"] for row in view.rows("person", active=1)}
    latest: dict[tuple[str, str], str] = {}
    for one in facts_of(view):
        if one.person in active and not one.withdrawn_on:
            key = (one.person, one.subject)
            latest[key] = max(latest.get(key, ""), one.until)
    for (person, subject), until in sorted(latest.items()):
        if until <= soon:
            word = "ended" if date.fromisoformat(until) < day else "ends"
            what = f"training for {subject} {word} on {until}."
            yield Finding("doctor.training", person, what, "An approver or trainer runs `benchseal training add`.")


def _typed(view: SqliteReading) -> Iterator[Finding]:
    """Runs that cannot be submitted since typed values were not confirmed."""
    for row in view.rows("run"):
        waiting = waiting_for_run(view, row) if row["state"] in {"draft", "returned", "reopened"} else []
        if waiting:
            what = f"typed values nobody has confirmed: {', '.join(one.name for one in waiting)}."
            remedy = "A second person runs `benchseal preparation confirm` or `benchseal standard confirm`."
            yield Finding("doctor.typed", str(row["run"]), what, remedy)


def _periodic(view: SqliteReading, now: datetime) -> Iterator[Finding]:
    months = rules_in_force(view).periodic_review_months
    first = next(view.entries(), None)
    if not months or first is None:
        return
    reviewed = max((row["at"] for row in view.rows("periodic_review")), default="")
    since = reviewed or read_entry(first[1]).at
    if now - moment_of(since) > timedelta(days=months * MONTH_DAYS):
        what = f"the last periodic review was signed at {reviewed}." if reviewed else "the site was never reviewed."
        yield Finding("doctor.periodic-review", "site", what, "An approver reads `benchseal periodic` and signs it.")
