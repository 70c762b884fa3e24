"""One run's life: submit, accept, return, cancel. A signature covers a packet that lists each run's manifest."""

from __future__ import annotations

import os
from dataclasses import dataclass
from typing import TYPE_CHECKING

from benchseal.certificate.blocks import block_tree, result_bases, run_manifest
from benchseal.desk.acting import Acting, Receipt
from benchseal.desk.changed import VersionChange, version_change
from benchseal.desk.citing import touch, touched
from benchseal.desk.lending import lent_refusal
from benchseal.desk.needed import require_not_needed
from benchseal.desk.reading import load
from benchseal.desk.same_readings import same_readings_lines
from benchseal.desk.shares import performers, require_own_share, require_shares
from benchseal.desk.standing import lots_in, portions_in
from benchseal.desk.submitting import require_submittable
from benchseal.problems import Refusal, Stopped
from benchseal.records.corrections import RunBench
from benchseal.records.manifest import Packet, PacketRun
from benchseal.records.people import Role
from benchseal.records.results import RunWork
from benchseal.records.run import Run
from benchseal.records.shape import record_bytes
from benchseal.records.signatures import Meaning
from benchseal.review.cycles import RUN, decide
from benchseal.review.duty import CONTRIBUTING, Situation

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.desk.acts_runs import AcceptRuns, CancelRun, ReopenRun, ReturnRuns, SignShare, SubmitRuns
    from benchseal.records.canonical import Digest, Json
    from benchseal.store.protocol import Reading, Row


@dataclass(frozen=True, slots=True)
class _Part:
    """One run of a packet, ready to be written: its row, its manifest, what else its entry names."""

    row: Row
    version: int
    manifest: Digest

    @property
    def run(self) -> str:
        """Run number."""
        return str(self.row["run"])


def submit_runs(acting: Acting, act: SubmitRuns) -> Receipt:
    """Fix a manifest for each run and sign them all as performed."""
    rows = _rows(acting, act.runs, "submit")
    require_submittable(acting.tx, rows, acting.first.person, acting.at)
    parts = [_fixed(acting, row) for row in rows]
    packet, signature = _packet(acting, "submit", parts, Role.ANALYST, Meaning.PERFORMED)
    for part in parts:
        acting.write(
            "run.submitted",
            f"run/{part.run}",
            facts={"version": part.version, "signature": signature},
            digests={
                "manifest": part.manifest,
                "packet": packet,
                **{name: part.row[name] for name in ("bound", "work", "bench")},
            },
        )
    said = [
        f"{part.run}, version {part.version}, is submitted{_alone(version_change(acting.tx, part.row))}."
        for part in parts
    ]
    said += _same_readings(acting, parts)
    return _receipt([*said, "A reviewer who had no part in it can now accept or return it."], parts)


def sign_share(acting: Acting, act: SignShare) -> Receipt:
    """Sign what one did of submitted runs, beside whoever submitted them. Raises Stopped for what one did not do."""
    rows = _rows(acting, act.runs, "sign")
    person = acting.first.person
    require_own_share(acting.tx, rows, person)
    parts = [_submitted(row) for row in rows]
    packet, signature = _packet(acting, "share", parts, Role.ANALYST, Meaning.PERFORMED)
    for part in parts:
        acting.write(
            "run.share_signed",
            f"run/{part.run}",
            facts={"version": part.version, "signature": signature},
            digests={"manifest": part.manifest, "packet": packet},
        )
    did = {part.run: performers(acting.tx, part.row)[person] for part in parts}
    said = [
        f"{part.run}, version {part.version}: {person} signs what they {' and '.join(did[part.run])}." for part in parts
    ]
    return _receipt(said, parts)


def accept_runs(acting: Acting, act: AcceptRuns) -> Receipt:
    """Sign submitted runs as reviewed."""
    rows = _rows(acting, act.runs, "accept")
    require_shares(acting.tx, rows)
    parts = [_submitted(row) for row in rows]
    changed = [(part, version_change(acting.tx, part.row)) for part in parts]
    packet, signature = _packet(acting, "accept", parts, Role.REVIEWER, Meaning.REVIEWED)
    for part in parts:
        acting.write(
            "run.reviewed",
            f"run/{part.run}",
            facts={"version": part.version, "signature": signature},
            digests={
                "manifest": part.manifest,
                "packet": packet,
                "work": part.row["work"],
                "bound": part.row["bound"],
            },
        )
    _touch_what_cites(acting, changed)
    said = [f"{part.run}, version {part.version}, is reviewed{_alone(before)}." for part, before in changed]
    said += _same_readings(acting, parts)
    if any(change for _, change in changed):
        said += _holders_to_tell(acting)
    return _receipt(said, parts)


def _same_readings(acting: Acting, parts: Sequence[_Part]) -> list[str]:
    """Of each run, other runs with most of its readings, and what was said of it: whoever signs is told."""
    return [f"{part.run}:{line[1:]}" for part in parts for line in same_readings_lines(acting.tx, part.run)]


def _holders_to_tell(acting: Acting) -> list[str]:
    """Holders of preliminary figures that what was just reviewed made others."""
    from benchseal.desk.preliminary_told import to_be_told  # noqa: PLC0415  draws in what makes pages

    return [one.said for one in to_be_told(acting.tx)]


def _touch_what_cites(acting: Acting, changed: Sequence[tuple[_Part, VersionChange | None]]) -> None:
    """Certificates that rest on a result that is another now, by whatever way it came; corrections told most before."""
    ids = {part.run: frozenset(one.result_id for one in change.results) for part, change in changed if change}
    flagged = {row["number"] for row in acting.tx.rows("certificate") if row["flag"]}
    for effect in list(touched(acting.tx, ids)):
        if effect.number not in flagged:
            touch(acting, effect, {}, f"a result it cites is another in what {acting.first.person} reviewed")


def _alone(change: VersionChange | None) -> str:
    """What a second review was about: the change alone."""
    if change is None:
        return ""
    count = len(change.results)
    kept = f"{change.untouched} keep their signatures of before"
    return f": {count} result{'s' if count != 1 else ''} changed against version {change.before}, {kept}"


def return_runs(acting: Acting, act: ReturnRuns) -> Receipt:
    """Return submitted runs with a reason."""
    require_reason(act.reason, "run return")
    parts = [_submitted(row) for row in _rows(acting, act.runs, "return")]
    packet, signature = _packet(acting, "return", parts, Role.REVIEWER, Meaning.RETURNED)
    for part in parts:
        acting.write(
            "run.returned",
            f"run/{part.run}",
            facts={"version": part.version, "signature": signature},
            digests={"manifest": part.manifest, "packet": packet},
            reason=act.reason,
        )
    return _receipt([f"{part.run} is returned to its analyst." for part in parts], parts)


def cancel_run(acting: Acting, act: CancelRun) -> Receipt:
    """Cancel a run; analyst and reviewer sign the same packet. Its data stay and stay visible."""
    require_reason(act.reason, "run cancel")
    analyst, reviewer = acting.who
    if analyst.person == reviewer.person:
        what = "analyst and reviewer are the same person."
        raise Stopped(Refusal("duty.same-checker", act.run, what, "A second person has to sign."))
    row = _rows(acting, (act.run,), "cancel")[0]
    require_not_needed(acting.tx, act.run)
    _require_uncited(acting.tx, act.run)
    part = _fixed(acting, row)
    packet = Packet("packet/1", "cancel", (PacketRun(part.run, part.version, part.manifest),))
    kept = acting.tx.keep(record_bytes(packet))
    subject = f"packet/{kept[:16]}"
    for who, role in ((analyst, Role.ANALYST), (reviewer, Role.REVIEWER)):
        signature = acting.sign(who, role, Meaning.CANCELLED, subject, version=1, digest=kept)
        acting.write(
            "run.cancelled",
            f"run/{part.run}",
            facts={"version": part.version, "signature": signature},
            digests={"manifest": part.manifest, "packet": kept},
            reason=act.reason,
            actor=who.person,
        )
    return _receipt([f"{part.run} is cancelled. Its data stay on record."], [part])


def reopen_run(acting: Acting, act: ReopenRun) -> Receipt:
    """Reopen a reviewed run. What an issued certificate shows cannot be reopened by this version of the program."""
    require_reason(act.reason, "run reopen")
    analyst, other = acting.who
    if analyst.person == other.person:
        what = "the analyst and the person who consents are the same."
        raise Stopped(Refusal("duty.same-checker", act.run, what, "A second person has to consent."))
    row = _rows(acting, (act.run,), "reopen")[0]
    _require_uncited(acting.tx, act.run)
    if lent := lent_refusal(acting.tx, row):
        raise Stopped(lent)
    part = _Part(row, int(row["reviewed_version"]), str(row["reviewed_manifest"]))
    packet = Packet("packet/1", "reopen", (PacketRun(part.run, part.version, part.manifest),))
    kept = acting.tx.keep(record_bytes(packet))
    role = Role.REVIEWER if Role.REVIEWER in other.roles else Role.APPROVER
    signature = acting.sign(other, role, Meaning.RETURNED, f"packet/{kept[:16]}", version=1, digest=kept)
    acting.write(
        "run.reopened",
        f"run/{part.run}",
        facts={"version": part.version, "signature": signature, "asked_by": analyst.person},
        digests={"manifest": part.manifest, "packet": kept},
        reason=act.reason,
        actor=other.person,
    )
    return _receipt([f"{part.run} is reopened: recalculate and submit it again, or cancel it."], [part])


def _require_uncited(view: Reading, run: str) -> None:
    """Raise Stopped where a certificate that is signed rests on a run: it is corrected, never taken away whole."""
    states = {row["number"]: row["state"] for row in view.rows("certificate")}
    issued = [
        cited["number"]
        for cited in view.rows("certificate_run", run=run)
        if states[cited["number"]] in {"approved", "sealing", "released"}
    ]
    if issued:
        what = f"{', '.join(issued)} rest{'s' if len(issued) == 1 else ''} on it."
        remedy = (
            "Return an approved certificate first; an issued one stands. A wrong value is put right by a correction."
        )
        raise Stopped(Refusal("run.certified", run, what, remedy))


def require_reason(reason: str, command: str) -> None:
    """Raise Stopped where a change lacks its reason."""
    if not reason.strip():
        raise Stopped(Refusal("act.reason", command, "no reason is given.", "Say why with --reason."))


def run_contributors(view: Reading, run: str) -> dict[str, tuple[str, ...]]:
    """Who contributed to a run, to a portion measured in it or to a standard it rests on, with the acts that count."""
    row = view.row("run", run=run)
    lots = load(view, Run, row["bound"]).standard_lots if row is not None else ()
    subjects = [f"run/{run}", *(f"standard/{lot}" for lot in lots)]
    subjects += [f"portion/{row['batch']}/{row['portion']}" for row in view.rows("run_portion", run=run)]
    found: dict[str, set[str]] = {}
    for subject in subjects:
        for row in view.rows("contribution", subject=subject):
            if row["act"] in CONTRIBUTING:
                found.setdefault(row["person"], set()).add(row["act"])
    return {person: tuple(sorted(acts)) for person, acts in found.items()}


def run_secret(acting: Acting, run: str) -> bytes:
    """The run's secret, from which the salts of its block tree come; made when first needed."""
    row = acting.tx.row("run_secret", run=run)
    if row is not None:
        return bytes(row["secret"])
    secret = os.urandom(32)
    acting.tx.put_private("run_secret", {"run": run, "secret": secret})
    return secret


def _rows(acting: Acting, runs: Sequence[str], act: str) -> list[Row]:
    """The rows of the runs, each allowed to undergo ``act`` by the person acting. Raises Stopped with every refusal."""
    refusals: list[Refusal] = []
    rows: list[Row] = []
    if not runs or len(set(runs)) != len(runs):
        what = "no run is named, or one is named twice."
        raise Stopped(Refusal("run.which", f"run {act}", what, "Name each run once."))
    for run in runs:
        row = acting.tx.row("run", run=run)
        if row is None:
            refusals.append(Refusal("run.unknown", run, "there is no such run.", "See `benchseal run list`."))
            continue
        situation = Situation(f"run {run}", row["state"], run_contributors(acting.tx, run))
        for who in acting.who:
            decided = decide(RUN, act, situation, who.person)
            if isinstance(decided, Refusal):
                refusals.append(decided)
        rows.append(row)
    if refusals:
        raise Stopped(*refusals)
    return rows


def _fixed(acting: Acting, row: Row) -> _Part:
    """Make and keep the manifest of a run as it stands, and all the parts it names."""
    tx, run = acting.tx, str(row["run"])
    bound, work, bench = load(tx, Run, row["bound"]), load(tx, RunWork, row["work"]), load(tx, RunBench, row["bench"])
    secret = run_secret(acting, run)
    blocks = block_tree(run, bound, secret)
    bases = result_bases(work, blocks, portions_in(tx, bench), lots_in(tx, bench, bound), secret)
    version = int(row["version"]) + 1
    manifest = run_manifest(run, version, bound, work, blocks, bases, row["reviewed_manifest"])
    for basis in bases:
        tx.keep(record_bytes(basis))
    return _Part(row, version, tx.keep(record_bytes(manifest)))


def _submitted(row: Row) -> _Part:
    return _Part(row, int(row["version"]), str(row["manifest"]))


def _packet(
    acting: Acting, act: str, parts: Sequence[_Part], role: Role, meaning: Meaning
) -> tuple[Digest, dict[str, Json]]:
    packet = Packet("packet/1", act, tuple(PacketRun(part.run, part.version, part.manifest) for part in parts))
    kept = acting.tx.keep(record_bytes(packet))
    signature = acting.sign(acting.first, role, meaning, f"packet/{kept[:16]}", version=1, digest=kept)
    return kept, signature


def _receipt(said: Sequence[str], parts: Sequence[_Part]) -> Receipt:
    runs: list[Json] = [{"run": part.run, "version": part.version, "manifest": part.manifest} for part in parts]
    return Receipt(tuple(said), {"runs": runs})
