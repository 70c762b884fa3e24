"""``verify --all``: the inside check of a whole site. Names the first bad item and what is still good.

Chain, tree and kept subtrees; every object against its digest; derived rows against replay; password hashes against the
ledger; signatures against subject, version, digest and meaning; checkpoints kept here or given; the log of reads
against its days in the ledger.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, cast

from benchseal.certificate.blocks import block_tree
from benchseal.desk.acting import BACK_ALLOWED_SECONDS
from benchseal.desk.acts import ACTS, PROGRAM_KINDS, SIGNED_BESIDE
from benchseal.desk.checking_signers import first_named, signers_that_could_not
from benchseal.desk.clock import moment_of
from benchseal.desk.key_records import check_keys, key_history
from benchseal.desk.lending import copies_that_differ
from benchseal.desk.read_log import read_log_findings
from benchseal.desk.reading import load, read_signature
from benchseal.identity.password_hashes import check_kept_hash
from benchseal.identity.statements import check_statement
from benchseal.ledger.blocks import SECRET_BYTES
from benchseal.ledger.checkpoints import Checkpoint, key_id, read_checkpoint
from benchseal.ledger.growing import FINDINGS_LISTED
from benchseal.ledger.key_history import check_head
from benchseal.ledger.walk import against_checkpoints, forks
from benchseal.problems import Finding, Stopped
from benchseal.records.entries import Entry, read_entry
from benchseal.records.manifest import Manifest
from benchseal.records.run import Run
from benchseal.store.in_two import walk_all, wrong_objects
from benchseal.store.replay import differences, replayed, schema_differences

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence
    from pathlib import Path

    from benchseal.desk.site import Site
    from benchseal.store.sqlite import SqliteReading

_KEEP = "Stop work, keep this copy as it is, and compare with the last backup."


@dataclass(frozen=True, slots=True)
class SiteReport:
    """What was looked at, and what was found. anchored: whether a checkpoint from outside was compared."""

    entries: int
    objects: int
    root: str
    anchored: bool
    findings: tuple[Finding, ...]


def verify_site(site: Site, outside: Sequence[Checkpoint] = ()) -> SiteReport:
    """Check everything. ``outside``: checkpoints kept elsewhere, their signatures not yet checked."""
    with site.store.as_kept() as view:
        kept, findings = _checkpoints(view)
        sizes = {each.size for each in (*kept, *outside)}
        walked = walk_all(site.store.path, site.ledger, view, sizes)
        findings = [*_below_the_first(view), *walked.findings, *findings]
        findings += _signed_by(view, site, [*kept, *outside])
        # Those kept here may have been made again with the history: they do not bound where it left one kept elsewhere.
        findings += dict.fromkeys(
            [*against_checkpoints(walked, outside), *against_checkpoints(walked, kept), *forks([*kept, *outside])]
        )
        findings += _guarded(lambda: objects_that_differ(site.store.path, view), "objects")
        findings += schema_differences(view)
        findings += _guarded(lambda: _entries(view, site), "ledger")
        findings += _guarded(lambda: check_keys(view, site.ledger), "keys")
        findings += _guarded(lambda: _replay(view, site.ledger), "derived rows")
        findings += _guarded(lambda: _passwords(view), "password hashes")
        findings += _guarded(lambda: _signatures(view), "signatures")
        findings += _guarded(lambda: signers_that_could_not(view), "signers")
        findings += _guarded(lambda: _secrets(view), "run secrets")
        findings += _guarded(lambda: copies_that_differ(view), "stored curves")
        findings += _guarded(lambda: read_log_findings(view, site), "log of reads")
        objects = len(view.object_names())
    return SiteReport(walked.size, objects, walked.root.hex(), bool(outside), tuple(findings))


def _below_the_first(view: SqliteReading) -> list[Finding]:
    what = "no ledger has an entry of this number: the first one is 1."
    return [Finding("integrity.sequence", f"entry {seq}", what, _KEEP) for seq in view.below_the_first(FINDINGS_LISTED)]


def _guarded(look: Callable[[], list[Finding]], what: str) -> list[Finding]:
    """A check that damage may stop half way: what stopped it is a finding, never a traceback."""
    try:
        return look()
    except Stopped as stop:
        return [Finding(each.code, each.where, each.what, each.remedy) for each in stop.notices]
    except Exception as fault:  # noqa: BLE001  damage can break any reader; naming it is the point
        return [Finding("integrity.unreadable", what, f"they cannot be read: {type(fault).__name__}: {fault}.", _KEEP)]


def _checkpoints(view: SqliteReading) -> tuple[list[Checkpoint], list[Finding]]:
    kept: list[Checkpoint] = []
    findings: list[Finding] = []
    for size, body in view.checkpoints():
        read = read_checkpoint(body.encode(), f"kept checkpoint {size}")
        if isinstance(read, Checkpoint) and read.size == size:
            kept.append(read)
        else:
            findings.append(Finding("integrity.checkpoint", f"kept checkpoint {size}", "it cannot be read.", _KEEP))
    return kept, findings


def _signed_by(view: SqliteReading, site: Site, checkpoints: Sequence[Checkpoint]) -> list[Finding]:
    """Each checkpoint's signature against the ledger key of its time: that of the founding entry, or a later one."""
    first = next(view.entries(), None)
    if first is None:
        return [Finding("integrity.empty", site.ledger, "the ledger is empty; a site has a founding entry.", _KEEP)]
    try:
        founded = read_entry(first[1])
        key = bytes.fromhex(cast("str", founded.facts["tree_key"]))
        history = key_history(view, (key_id(key), key))
    except (ValueError, KeyError):
        return [Finding("integrity.founding", "entry 1", "it is not the founding entry.", _KEEP)]
    found = (check_head(history, each) for each in checkpoints)
    return [finding for finding in found if finding is not None]


def objects_that_differ(path: Path, view: SqliteReading) -> list[Finding]:
    """Every object against its digest and size."""
    wrong = wrong_objects(path, view)
    named = first_named(view, wrong)
    return [
        Finding("integrity.object", f"object {name[:16]}…", f"{said} {_named(named.get(name))}", _KEEP)
        for name, said in sorted(wrong.items())
    ]


def _named(seq: int | None) -> str:
    return f"Entry {seq} names it first." if seq else "No entry names it."


def _entries(view: SqliteReading, site: Site) -> list[Finding]:
    """Entries of known kinds, in order of time, naming objects that are there."""
    known = {kind for row in ACTS.values() for kind in row.kinds} | set(PROGRAM_KINDS)
    names = {name for name, _ in view.object_names()}
    findings = []
    last = ""
    for seq, body, _, _ in view.entries():
        try:
            entry = read_entry(body)
        except ValueError as fault:
            findings.append(Finding("integrity.entry", f"entry {seq}", f"{fault}.", _KEEP))
            continue
        if entry.seq != seq:
            what = f"its body is that of entry {entry.seq}."
            findings.append(Finding("integrity.entry", f"entry {seq}", what, _KEEP))
        findings += _entry(entry, known, names)
        findings += _in_time(entry, last)
        last = entry.at
        if seq == 1 and entry.facts.get("ledger") != site.ledger:
            what = f"it founds {entry.facts.get('ledger')}, the settings name {site.ledger}."
            findings.append(Finding("integrity.founding", "entry 1", what, _KEEP))
    return findings


def _in_time(entry: Entry, last: str) -> Iterator[Finding]:
    """Times rise, or an entry says that the clock went back. Two seconds are allowed, as in signing."""
    if not last or entry.at >= last or entry.kind == "clock.back":
        return
    back = (moment_of(last) - moment_of(entry.at)).total_seconds()
    if back > BACK_ALLOWED_SECONDS:
        where = f"entry {entry.seq} ({entry.at}, {entry.kind}, {entry.actor})"
        what = f"it is {back:.0f} s before the entry before it, and no entry says that the clock went back."
        yield Finding("integrity.time-order", where, what, _KEEP)


def _entry(entry: Entry, known: set[str], names: set[str]) -> Iterator[Finding]:
    where = f"entry {entry.seq} ({entry.at}, {entry.kind}, {entry.actor})"
    if entry.kind not in known:
        yield Finding("integrity.entry-kind", where, "no act of this program writes such an entry.", _KEEP)
    for label, name in entry.digests.items():
        if name not in names:
            yield Finding("integrity.object-missing", where, f"its object {label} {name[:16]}… is missing.", _KEEP)


def _replay(view: SqliteReading, ledger: str) -> list[Finding]:
    again = replayed(view, ledger)
    try:
        with again.reading() as model:
            return list(differences(view, model))
    finally:
        again.close()


def _passwords(view: SqliteReading) -> list[Finding]:
    people = {row["person"]: row for row in view.rows("person")}
    kept = {row["person"]: row["hash"] for row in view.rows("password")}
    findings = [
        check_kept_hash(name, kept[name], people[name]["password_sha256"]) for name in people.keys() & kept.keys()
    ]
    strangers = [
        Finding("integrity.password-hash", name, "a password hash is kept for somebody never enrolled.", _KEEP)
        for name in sorted(kept.keys() - people.keys())
    ]
    lost = [
        Finding("integrity.password-hash", name, "no password hash is kept for this active person.", _KEEP)
        for name, row in sorted(people.items())
        if row["active"] and name not in kept
    ]
    return [*(finding for finding in findings if finding is not None), *strangers, *lost]


def _secrets(view: SqliteReading) -> list[Finding]:
    """The private secret of each run, against the block tree of every version that was signed with it."""
    secrets = {row["run"]: row["secret"] for row in view.rows("run_secret")}
    findings = []
    for row in view.rows("run_version"):
        manifest, bound = load(view, Manifest, row["manifest"]), load(view, Run, row["bound"])
        secret = secrets.get(row["run"])
        if secret is None:
            what = "the private secret its solutions were signed with is lost."
        elif not isinstance(secret, bytes) or len(secret) != SECRET_BYTES:
            what = "its private secret is not 32 bytes."
        elif block_tree(row["run"], bound, secret).root != manifest.block_root:
            what = "its private secret is not the one its solutions were signed with."
        else:
            continue
        findings.append(Finding("integrity.run-secret", row["run"], what, _KEEP))
    return findings


def _signatures(view: SqliteReading) -> list[Finding]:
    """Each signature against its statement, its signer's roles then, and what it is a signature of."""
    findings: list[Finding] = []
    for row in view.rows("signature"):
        signature = read_signature(row)
        wrong = check_statement(signature.statement, signature.signature)
        if wrong is not None:
            findings.append(wrong)
        findings += _subject(view, row)
    return findings


def _subject(view: SqliteReading, row: dict[str, Any]) -> Iterator[Finding]:
    """The statement stands in the entry it came with, says the same there, and signs an object that is there."""
    where = f"signature {row['signature'][:8]} of {row['person']} on {row['subject']}"
    try:
        entry = read_entry(view.body_of(int(row["seq"])))
    except KeyError:
        yield Finding("integrity.signature", where, f"the ledger has no entry {row['seq']}.", _KEEP)
        return
    signed = cast("dict[str, Any]", entry.facts.get("signature", {}))
    statement = signed.get("statement", {})
    if signed.get("signature") != row["signature"]:
        yield Finding("integrity.signature", where, f"entry {entry.seq} does not hold it.", _KEEP)
        return
    meanings = {
        signer.meaning.value
        for act in ACTS.values()
        if entry.kind in act.kinds
        for signer in act.signers
        if signer.meaning is not None
    }
    if entry.kind in SIGNED_BESIDE:
        meanings.add(SIGNED_BESIDE[entry.kind].value)
    if statement.get("meaning") not in meanings:
        what = f"entry {entry.seq} is {entry.kind}; a signature there does not mean {statement.get('meaning')!r}."
        yield Finding("integrity.signature", where, what, _KEEP)
    if statement.get("at") != entry.at or statement.get("person") != entry.actor:
        yield Finding("integrity.signature", where, f"entry {entry.seq} is by another person or time.", _KEEP)
    if statement.get("digest") not in entry.digests.values() and statement.get("digest") != _content(view, entry):
        yield Finding("integrity.signature", where, f"entry {entry.seq} does not name what it signs.", _KEEP)


def _content(view: SqliteReading, entry: Entry) -> str:
    """What a certificate's act signs where the entry does not name it again: the content then in force."""
    row = view.row("certificate", number=entry.subject.partition("/")[2])
    return str(row["content"]) if row else ""
