"""What is amiss with a site, its people or its machine: one finding each, with what to do. Changes nothing.

Ages that count as too long stand in the rules of the site. Where none are in force they are common practice, no
source: a backup a week, a restore tried every quarter, a signed head kept elsewhere every day.
"""

from __future__ import annotations

import os
import shutil
import stat
from datetime import timedelta
from typing import TYPE_CHECKING, Final

from cryptography import x509

from benchseal import __version__, shipped
from benchseal.desk import acknowledging
from benchseal.desk.acting import BACK_ALLOWED_SECONDS
from benchseal.desk.cases import age_days, allowed_days, open_cases, overdue
from benchseal.desk.clock import moment_of
from benchseal.desk.controlled import due_documents
from benchseal.desk.key_records import trust_bytes
from benchseal.desk.keys import SEAL, TREE, UNLOCK_FILE, left_over, open_seal_key, open_tree_key
from benchseal.desk.policies import not_yet
from benchseal.desk.policy_gate import policies_in_force
from benchseal.desk.preliminary_told import to_be_told
from benchseal.desk.qualification import qualified
from benchseal.desk.read_log import read_log_findings
from benchseal.desk.recipients import without_notice
from benchseal.desk.security import open_events
from benchseal.desk.site import TRUST_FILE
from benchseal.desk.site_rules import rules_in_force, rules_row
from benchseal.ledger.checkpoints import Checkpoint, read_checkpoint
from benchseal.problems import Finding, Stopped
from benchseal.records.entries import read_entry
from benchseal.records.site_rules import MONTH_DAYS, RULES_ID, open_gates
from benchseal.store.disks import network_file_system
from benchseal.store.replay import schema_differences
from benchseal.upkeep.doctor_exports import exports
from benchseal.upkeep.doctor_people import people
from benchseal.upkeep.doctor_registers import registers

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from datetime import datetime

    from benchseal.desk.site import Site
    from benchseal.store.sqlite import SqliteReading

SEAL_DAYS: Final = 60
_TRIAL: Final = b"benchseal-trial/1\n"
FREE_BYTES: Final = 1024**3
BEHIND: Final = timedelta(seconds=BACK_ALLOWED_SECONDS)


def examine(site: Site) -> tuple[Finding, ...]:
    """Everything that is amiss, in the order machine, store, keys, copies, people, work. Raises Stopped."""
    now = site.clock()
    with site.store.reading() as view:
        found = [
            *_disk(site),
            *_templates(),
            *schema_differences(view),
            *_clock(view, now),
            *_keys(site, view),
            *_seal(site, view, now),
            *_copies(view, now),
            *people(site, view, now),
            *_access(view, now),
            *read_log_findings(view, site),
            *_qualified(view),
            *_rules(view),
            *_due(view, now),
            *_policies(view),
            *registers(view, now),
            *exports(view),
            *_work(view, now),
            *_investigations(view, now),
            *_told(view),
            *_notices(view),
        ]
    return tuple(found)


def _disk(site: Site) -> Iterator[Finding]:
    where = str(site.folder)
    free = shutil.disk_usage(site.folder).free
    if free < FREE_BYTES:
        what = f"{free // 1024**2} MiB are free."
        yield Finding("doctor.disk-space", where, what, "Free space: a full disk stops every act.")
    if kind := network_file_system(site.folder):
        what = f"the folder is on a network file system ({kind}), whose locks cannot be trusted."
        yield Finding("doctor.network-file-system", where, what, "Move the site to a local disk.")


def _templates() -> Iterator[Finding]:
    for name in shipped.changed_templates():
        what = "it is not the file that came with this version of the program; no paper is made by it."
        remedy = "Find out who changed it, then install the version again: `benchseal qualify iq` compares every file."
        yield Finding("doctor.template", f"report_templates/{name}", what, remedy)


def _clock(view: SqliteReading, now: datetime) -> Iterator[Finding]:
    last = next(view.entries(view.size()), None) if view.size() else None
    behind = moment_of(read_entry(last[1]).at) - now if last else timedelta()
    if behind > BEHIND:
        what = f"it is {behind.total_seconds():.0f} s behind the last entry of the ledger."
        yield Finding("doctor.clock", "this machine's clock", what, "Put the clock right; signing waits until it is.")


def _keys(site: Site, view: SqliteReading) -> Iterator[Finding]:
    row = view.row("site", ledger=site.ledger) or {}
    looks: tuple[tuple[str, Callable[[], object]], ...] = (
        (SEAL, lambda: open_seal_key(site.private, str(row.get("seal_key_id"))).sign(_TRIAL)),
        (TREE, lambda: open_tree_key(site.private, str(row.get("tree_key_id")))),
    )
    for name, look in looks:
        try:
            look()
        except Stopped as stop:
            yield from (Finding("doctor.key", f"{name} key", one.what, one.remedy) for one in stop.notices)
    in_force = {str(row.get("seal_key_id")), str(row.get("tree_key_id"))}
    for path in left_over(site.private, in_force):
        what = "it holds a key that is not in force."
        yield Finding("doctor.key-left", str(path), what, "Destroy the file, and its copy in safe keeping.")
    if not _trust_is_now(site, view):
        what = "it does not say what the ledger says of the keys."
        remedy = "Write it again with `benchseal key trust --out`, and hand it out again."
        yield Finding("doctor.trust", TRUST_FILE, what, remedy)
    unlock = site.private / UNLOCK_FILE
    if os.name != "nt" and unlock.is_file() and stat.S_IMODE(unlock.stat().st_mode) & 0o077:
        what = f"others than its owner can read it (mode {stat.S_IMODE(unlock.stat().st_mode):o})."
        yield Finding("doctor.key-readable", str(unlock), what, "Take the rights away: chmod 600.")


def _trust_is_now(site: Site, view: SqliteReading) -> bool:
    try:
        return (site.folder / TRUST_FILE).read_bytes() == trust_bytes(view, site.ledger)
    except OSError:
        return False


def _seal(site: Site, view: SqliteReading, now: datetime) -> Iterator[Finding]:
    row = view.row("site", ledger=site.ledger)
    if row is None:
        return
    until = x509.load_der_x509_certificate(view.bytes_of(row["seal_certificate"])).not_valid_after_utc
    if until - now < timedelta(days=SEAL_DAYS):
        what = f"its certificate is valid until {until:%Y-%m-%d}."
        yield Finding("doctor.seal-expiry", "seal", what, "Run `benchseal key rotate seal` before that day.")


def _copies(view: SqliteReading, now: datetime) -> Iterator[Finding]:
    rules, rows = rules_in_force(view), view.rows("backup")
    backup = max((row["made_at"] for row in rows if row["made_at"]), default="")
    tested = max((row["tested_at"] for row in rows if row["tested_at"] and not row["findings"]), default="")
    if not _within(backup, now, rules.backup_days):
        what = f"the last backup on record was made at {backup}." if backup else "no backup is on record."
        yield Finding("doctor.backup", "backup", what, f"Make one at least every {rules.backup_days} days.")
    if not _within(tested, now, rules.restore_test_days):
        what = f"the last one restored and found whole was at {tested}." if tested else "none was ever restored."
        remedy = f"Run `benchseal backup test` every {rules.restore_test_days} days."
        yield Finding("doctor.restore", "backup", what, remedy)
    heads = [read_checkpoint(body.encode()) for _, body in view.checkpoints()]
    head = max((one.at for one in heads if isinstance(one, Checkpoint)), default="")
    if not _within(head, now, rules.checkpoint_days):
        what = f"the last signed head is of {head}." if head else "no head was ever signed."
        every = "day" if rules.checkpoint_days == 1 else f"{rules.checkpoint_days} days"
        remedy = f"Run `benchseal ledger checkpoint` every {every} and keep what it prints on another machine."
        yield Finding("doctor.checkpoint", "ledger", what, remedy)


def _within(at: str, now: datetime, days: float) -> bool:
    return bool(at) and now - moment_of(at) <= timedelta(days=days)


def _access(view: SqliteReading, now: datetime) -> Iterator[Finding]:
    """Events nobody has seen, accounts that wait for a second person, and how long ago access was reviewed."""
    for row in open_events(view):
        lack = " and ".join(role for role in ("administrator", "approver") if not row[f"by_{role}"])
        what = f"{row['what']} ({row['at']}); not acknowledged by {lack}."
        where = f"event {int(row['event'])}" + (f", {row['person']}" if row["person"] else "")
        yield Finding("doctor.event", where, what, "Find out what happened, then `benchseal event acknowledge`.")
    for row in view.rows("person", suspended=1, active=1):
        what = "it is not confirmed yet who uses the account."
        yield Finding("doctor.suspended", row["person"], what, "An approver runs `benchseal person confirm`.")
    first = next(view.entries(), None)
    founded = read_entry(first[1]).at if first else ""
    reviewed = max((row["at"] for row in view.rows("access_review")), default="")
    if not _within(reviewed or founded, now, rules_in_force(view).access_review_months * MONTH_DAYS):
        what = f"accounts and roles were last reviewed at {reviewed}." if reviewed else "they were never reviewed."
        yield Finding("doctor.access-review", "people", what, "An approver runs `benchseal access review`.")


def _rules(view: SqliteReading) -> Iterator[Finding]:
    """Gates nobody decided about: without approved rules of the site all are open. The letter on signatures."""
    if rules_row(view) is None:
        what = f"no rules of the site are in force; open: {'; '.join(open_gates(rules_in_force(view)))}."
        remedy = "Bring them in with `benchseal document add`, and have them approved by somebody else."
        yield Finding("doctor.site-rules", RULES_ID, what, remedy)
    elif not rules_in_force(view).signature_letter:
        what = "no letter to an authority about electronic signatures is named (21 CFR 11.100(c))."
        remedy = "Name its reference and day in the rules of the site, or say there that none is due."
        yield Finding("doctor.signature-letter", RULES_ID, what, remedy)


def _qualified(view: SqliteReading) -> Iterator[Finding]:
    """The version in use without a signed qualification that did not fail (EU GMP Annex 11, 4; 21 CFR 11.10(a))."""
    if qualified(view) is None:
        what = "this version has no signed qualification here that did not fail."
        remedy = "Look at `benchseal qualify all`; administrator and approver then run `benchseal qualify sign`."
        yield Finding("doctor.qualification", f"benchseal {__version__}", what, remedy)


def _due(view: SqliteReading, now: datetime) -> Iterator[Finding]:
    for row, at in due_documents(view, now):
        what = f"version {row['version']} was last looked at on {at[:10]}."
        remedy = "An approver runs `benchseal document review`, or a new version is brought in."
        yield Finding("doctor.document-due", f"{row['kind']} {row['id']}", what, remedy)


def _policies(view: SqliteReading) -> Iterator[Finding]:
    for row, policy in policies_in_force(view):
        if people := not_yet(view, row):
            bars = "; they sign nothing until then" if policy.purpose == "signing" else ""
            what = f"version {row['version']} is not acknowledged by {', '.join(people)}{bars}."
            yield Finding("doctor.policy", f"policy {row['id']}", what, "Each runs `benchseal policy acknowledge`.")


def _work(view: SqliteReading, now: datetime) -> Iterator[Finding]:
    for row in view.rows("certificate", state="sealing"):
        what = "its release is signed and it is not sealed yet."
        remedy = "Run `benchseal certificate release` again: it is sealed then, or a draft again where it cannot be."
        yield Finding("doctor.sealing", row["number"], what, remedy)
    for row in view.rows("delivery", state="planned"):
        what = f"it was planned at {row['produced_at']} and is not delivered yet."
        remedy = (
            "Run `benchseal export run` again to finish it; if its place never comes back, `benchseal export close`."
        )
        yield Finding("doctor.delivery", row["delivery_id"], what, remedy)
    yield from acknowledging.alarms(view, now)
    for row in view.rows("hold", is_open=1):
        what = f"held: {row['why']}"
        remedy = f"See `benchseal investigation show {row['investigation']}`."
        yield Finding("doctor.hold", f"lot {row['lot']}, {row['element']}", what, remedy)


def _investigations(view: SqliteReading, now: datetime) -> Iterator[Finding]:
    for case in open_cases(view):
        if overdue(view, case, now):
            what = f"it is open for {age_days(view, case, now)} working days, allowed are {allowed_days(view, case)}."
            yield Finding("doctor.investigation-overdue", case.name, what, f"It waits for {case.waits_for}.")


def _notices(view: SqliteReading) -> Iterator[Finding]:
    for number in without_notice(view):
        what = "it is withdrawn, and its notice was not made."
        remedy = (
            f"Run `benchseal certificate withdraw {number}` with any reason: nobody signs again, and the reason "
            "signed stays. Where that is refused too, tell those who have it yourselves."
        )
        yield Finding("doctor.notice", number, what, remedy)


def _told(view: SqliteReading) -> Iterator[Finding]:
    for one in to_be_told(view):
        what = f"{one.row['given_to']} has figures that are others now: {'; '.join(one.lines)}."
        remedy = "Tell them, then say so with `benchseal certificate figures-told`."
        yield Finding("doctor.to-be-told", str(one.row["number"]), what, remedy)
