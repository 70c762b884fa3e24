"""Tables of a site's store. Two hold the truth; the rest is derived by replay, or private.

Truth: ``ledger`` and ``objects``; triggers refuse change and removal, so that an accident or a fault of this program
cannot alter them. They do not stop the owner of the file: that is what the chain, the tree and the
checkpoints show (``verify --all``).
Derived: every row comes from ``project`` and can be rebuilt; never migrated.
Private: password hashes, sessions, run secrets; never in an inspection copy.
"""

from __future__ import annotations

from typing import Any

from sqlalchemy import Column, Integer, LargeBinary, MetaData, Table, Text

STORE_VERSION = 8

# SQLite would keep any type in any column: a body stored as text has the same letters and another meaning.
_STRICT: dict[str, Any] = {"sqlite_strict": True}

truth = MetaData()
derived = MetaData()
private = MetaData()

ledger = Table(
    "ledger",
    truth,
    Column("seq", Integer, primary_key=True),
    Column("body", LargeBinary, nullable=False),
    Column("leaf", LargeBinary, nullable=False),
    Column("head", LargeBinary, nullable=False),
    **_STRICT,
)
objects = Table(
    "objects",
    truth,
    Column("sha256", Text, primary_key=True),
    Column("size", Integer, nullable=False),
    Column("body", LargeBinary, nullable=False),  # zlib; the digest is over the plain bytes
    **_STRICT,
)
# Complete subtrees of the Merkle tree above the leaves, which stand in the ledger: they follow from it, and are kept so
# that proofs need no rehash.
tree_node = Table(
    "tree_node",
    truth,
    Column("level", Integer, primary_key=True),
    Column("place", Integer, primary_key=True),
    Column("hash", LargeBinary, nullable=False),
    **_STRICT,
)
checkpoint = Table(
    "checkpoint",
    truth,
    Column("size", Integer, primary_key=True),
    Column("body", Text, nullable=False),
    **_STRICT,
)

APPEND_ONLY = ("ledger", "objects", "tree_node", "checkpoint")


def _derived(name: str, key: tuple[str, ...], texts: str = "", integers: str = "") -> Table:
    """A derived table: key columns (text), then text and integer columns, then the entry that last changed the row."""
    columns: list[Column[Any]] = [Column(column, Text, primary_key=True) for column in key]
    columns += [Column(column, Text, nullable=False, server_default="") for column in texts.split()]
    columns += [Column(column, Integer, nullable=False, server_default="0") for column in integers.split()]
    return Table(name, derived, *columns, Column("seq", Integer, nullable=False), **_STRICT)


_derived(
    "site",
    ("ledger",),
    "name address zone seal_fingerprint seal_key_id seal_certificate tree_key tree_key_id clock_back program",
)
# Every key the site ever had. public: as handovers give it; until_entry 0: in force.
_derived(
    "site_key",
    ("key", "key_id"),
    "public handover old_signature new_signature at revoked_at revoked_since revoked_why",
    "from_entry until_entry",
)
_derived("counter", ("name",), integers="value")
_derived(
    "person",
    ("person",),
    "printed_name identity_check enrolled_by password_sha256 reset_by",
    "active suspended must_change",
)
_derived("role", ("person", "role"), integers="active")
_derived("recovery", ("sha256",), "custodians made_at used_at used_for checked_at")
_derived(
    "document",
    ("kind", "id", "version"),
    "title source value state author approver effective begins approved_at reviewed_at comparison",
)
_derived("opinion", ("opinion",), "sample lot person record state")
_derived("layout_sample", ("id", "sha256"), "name expected person at", "version")
_derived("exception", ("exception",), "kind person since until record")
_derived("acknowledgement", ("policy", "version", "person"), "value at")
_derived("customer", ("customer",), "name record")
_derived("instrument", ("instrument",), "serial technique record")
_derived("instrument_event", ("event",), "instrument kind at by record until")
_derived("standard_lot", ("lot",), "element purpose record")
_derived("sample", ("sample",), "lot customer product specification record")
_derived("plan", ("plan",), "batch methods record person at")
# Each printing of a plan's labels; tubes: those printed, again: those of them that had been printed before.
_derived("plan_labels", ("plan", "copy"), "form tubes again reason person at")
_derived("portion", ("batch", "portion"), "sample kind record", "version")
_derived("confirmation", ("subject", "record"), "person at")
_derived("late_entry", ("event",), "subject event_at person reason", "hours entry")
_derived(
    "training",
    ("training",),
    "person subject since until evidence entered_by entered_at withdrawn_by withdrawn_at",
    "version may_train",
)
_derived("source_file", ("sha256",), "name state report")
# Files that came in joined as those of one run: the bytes of each, and of the whole.
_derived("source_part", ("part", "raw"))
_derived("trial", ("event",), "sha256 name person at report", "runs problems lost")
_derived(
    "run",
    ("run",),
    "state element method instrument measured_at source_sha256 document bound work bench corrections "
    "manifest packet reviewed_packet reviewed_manifest reviewed_work reviewed_bound",
    "version reviewed_version usable correcting",
)
# Figures of a run's readings as its file gave them, for the question whether another run holds the same ones; and who
# said which of two files of one run stands. instead_of: the entry of the decision it took the place of, or 0.
_derived("run_figures", ("run",), "figures")
_derived("run_repeat", ("event",), "run sha256 name stands beside person at reason", "instead_of")
# Every version a run was submitted in, reviewed where reviewed_packet is not empty: what its signatures are about.
_derived("run_version", ("run", "version"), "manifest packet reviewed_packet bound work bench")
# Who signed their own share of a submitted version, beside whoever submitted it.
_derived("run_share", ("run", "version", "person"), "packet at")
_derived("correction", ("subject", "entry"), "person at reason changes effect")
_derived("run_portion", ("run", "batch", "portion"))
_derived("contribution", ("subject", "person", "act"))
_derived(
    "result",
    ("run", "place"),
    "result_id sample element quantity unit outcome value_text expanded_text verdict why comment_required",
)
# What questions over time ask of each calculation on record; which of a run's counts, the run's row says. One row with
# all checks: a row for each check would double what storing and replaying a run costs.
_derived("calculation", ("run", "work"), "method method_value instrument measured_at lot second_lot calibration checks")
_derived("hold", ("sample", "element", "investigation"), "lot customer why", "is_open")
_derived(
    "investigation",
    ("investigation",),
    "means state outcome sample lot customer element line run result_id limit_text unit work bound "
    "opened_at started_at closed_at told_at told_who told_how statement stated_by category cause also conclusion",
)
# Every result that belongs to an investigation, as it came; set_aside: digest of the calculation that was invalidated.
_derived(
    "investigation_result",
    ("investigation", "run", "result_id"),
    "kind plan sample result value_text expanded_text verdict analyst measured_at why set_aside",
)
_derived("investigation_answer", ("investigation", "line"), "answer evidence evidence_name person at")
_derived(
    "investigation_plan", ("investigation", "plan"), "kind sample analyst record signed_at person state", "readings"
)
_derived("signature", ("signature",), "subject digest person role meaning at statement", "version")
_derived(
    "certificate",
    ("number",),
    "kind sample lot customer state first replaces content evidence unsealed sealed reason flag",
)
_derived("certificate_run", ("number", "run"), "manifest", "version")
# Who was given an issued certificate, and who was told that it is replaced or withdrawn; kind: sent or told.
_derived("certificate_recipient", ("event",), "number kind person_told how state person at")
# The notice of a withdrawn certificate, unsealed and sealed; and each paper copy that was asked for.
_derived("certificate_notice", ("number",), "unsealed sealed")
_derived("certificate_copy", ("number", "copy"), "given_to reason state person at")
_derived("preliminary", ("number",), "sample lot customer given_to at person figures")
_derived("preliminary_told", ("number", "event"), "who how person at told")
_derived("released", ("result_id", "revision"), "number change_kind")
# files: of a delivery in the order they are put down, each with its digest. considered: the last entry whose results
# were looked at for it, so that the next one under the same profile begins behind it. planned: the entry that fixed it.
# answer: digest of the receiver's file. answer_hours: how long they may take, 0 for no matter.
_derived(
    "delivery",
    ("delivery_id",),
    "profile profile_digest state produced_at destination file files done_at answer",
    "rows considered planned answer_hours",
)
# Rows a receiver did not take; open until a person says what was done about them.
_derived(
    "delivery_hold", ("delivery_id", "row_no"), "result_id reason settled_by settled_at settled_why", "revision is_open"
)
_derived("delivered", ("profile", "result_id", "revision"), "delivery_id")
# Tokens of the reading interface. scopes, customers: words separated by blanks; no customers: every customer.
_derived(
    "interface_token",
    ("token",),
    "system scopes customers until secret_mac record made_at made_by revoked_at revoked_by",
)
_derived("security_event", ("event",), "kind person by at what by_administrator by_approver")
_derived("trail_review", ("subject", "event"), "person at looked")
_derived("access_review", ("list",), "person at")
_derived("periodic_review", ("report",), "person at", "upto")
# Digests of the log of reads, a row for a day: which bytes of which file. begins: the first of them, zeros before it.
_derived("reads_noted", ("file", "begins"), "day sha256", "ends lines")
_derived("qualification", ("record",), "program verdict installation performed_by approved_by at")
_derived("backup", ("sha256",), "name root made_at tested_at", "entries findings")

password = Table(
    "password",
    private,
    Column("person", Text, primary_key=True),
    Column("hash", Text, nullable=False),
    **_STRICT,
)
sign_in_failure = Table(
    "sign_in_failure",
    private,
    Column("number", Integer, primary_key=True, autoincrement=True),
    Column("person", Text, nullable=False),
    Column("at", Text, nullable=False),
    **_STRICT,
)
session = Table(
    "session",
    private,
    Column("token_sha256", Text, primary_key=True),
    Column("person", Text, nullable=False),
    Column("opened", Text, nullable=False),
    Column("used", Text, nullable=False),
    **_STRICT,
)
run_secret = Table(
    "run_secret",
    private,
    Column("run", Text, primary_key=True),
    Column("secret", LargeBinary, nullable=False),
    **_STRICT,
)

DERIVED: dict[str, Table] = dict(derived.tables)
PRIVATE: dict[str, Table] = dict(private.tables)


def triggers() -> tuple[str, ...]:
    """SQL of the triggers that keep the truth append-only and the sequence without gaps."""
    made = [
        f"CREATE TRIGGER {table}_no_{act.lower()} BEFORE {act} ON {table} "
        f"BEGIN SELECT RAISE(ABORT, '{table} is append-only'); END"
        for table in APPEND_ONLY
        for act in ("UPDATE", "DELETE")
    ]
    made.append(
        "CREATE TRIGGER ledger_no_gap BEFORE INSERT ON ledger "
        "WHEN NEW.seq IS NOT (SELECT coalesce(max(seq), 0) + 1 FROM ledger) "
        "BEGIN SELECT RAISE(ABORT, 'ledger sequence gap'); END"
    )
    made.append(
        "CREATE TRIGGER objects_no_replace BEFORE INSERT ON objects "
        "WHEN EXISTS (SELECT 1 FROM objects WHERE sha256 = NEW.sha256) "
        "BEGIN SELECT RAISE(ABORT, 'object is already there'); END"
    )
    return tuple(made)
