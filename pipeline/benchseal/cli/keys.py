"""The site's own keys: list, rotate, revoke, the trust file."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.cli import show
from benchseal.cli.opened import file_bytes, reading, site_of, write_file
from benchseal.cli.secrets_in import credentials, credentials_and_line
from benchseal.desk.acts_keys import ImportSealKey, RevokeKey, RotateKey, UseToken
from benchseal.desk.key_records import key_rows, trust_bytes
from benchseal.desk.perform import perform
from benchseal.desk.seal_in_force import token_of_key
from benchseal.ledger.key_history import KEYS
from benchseal.problems import Problem, Stopped
from benchseal.records.canonical import digest

if TYPE_CHECKING:
    from argparse import Namespace

    from benchseal.store.protocol import Reading, Row

_COLUMNS = ("key", "id", "in force from", "until", "since", "state")


def list_all(args: Namespace) -> int:
    """Every key the site ever had, and when it was in force."""
    with reading(args) as (_, view):
        rows = [_cells(view, row) for key in KEYS for row in key_rows(view, key)]
    return show.table(args, _COLUMNS, rows, name="keys")


def rotate(args: Namespace) -> int:
    """Hand over to a new key, then destroy the old one and write the trust file again."""
    return _two(args, RotateKey(args.key, args.reason))


def import_seal(args: Namespace) -> int:
    """Hand over to the key of a PKCS#12 file. Its password: a line after those of the two people, or asked."""
    from benchseal.desk.rotation import finish  # noqa: PLC0415

    data = file_bytes(args.file)
    with site_of(args) as site:
        both, passphrase = credentials_and_line(args, site, 2, f"Password of {args.file}: ")
        receipt = perform(site, ImportSealKey(data, args.file, passphrase, args.reason), *both)
        finish(site)
        return show.receipt(args, receipt)


def use_token(args: Namespace) -> int:
    """Hand over to a key in a token. Its PIN is never asked for: it is kept under a name."""
    data = file_bytes(args.certificates) if args.certificates else b""
    place = (args.module, args.token, args.key, args.pin)
    return _two(args, UseToken(*place, data, args.certificates, args.reason))


def revoke(args: Namespace) -> int:
    """Revoke an old key, then write the trust file again."""
    return _two(args, RevokeKey(args.key_id, args.since, args.reason))


def trust(args: Namespace) -> int:
    """The trust file as it is now, to be handed out."""
    with reading(args) as (site, view):
        data = trust_bytes(view, site.ledger)
    if args.out:
        write_file(args.out, data, is_trust=True)
        said = f"Written to {args.out}. Hand it to customers and witnesses by a way they trust."
        return show.lines(args, [said], {"file": args.out})
    print(data.decode(), end="")
    return 0


def follow(args: Namespace) -> int:
    """Whether a newer trust file follows from one trusted before. Needs no site."""
    from benchseal.cli.verify import trust_file  # noqa: PLC0415
    from benchseal.verify.trust import follows  # noqa: PLC0415

    known, shown = trust_file(args.before), trust_file(args.trust)
    problem = follows(known, shown)
    if problem is not None:
        raise Stopped(Problem(problem.code, args.trust, problem.what, problem.remedy))
    said = [f"{args.trust} follows from {args.before}: each new key was handed over by the one before it."]
    said += [f"  {one.name}, {one.at}: {one.old_key_id} to {one.new_key_id}" for one in shown.handovers]
    revoked = [one.key_id for one in shown.ledger_keys if one.revoked]
    revoked += [one.fingerprint for one in shown.seals if one.revoked]
    said += [f"  revoked: {name}" for name in revoked]
    stamps = [digest(one.certificate) for one in shown.authorities if one not in known.authorities]
    said += [f"  new for time-stamps, and no key hands that over, so ask the laboratory: {name}" for name in stamps]
    return show.lines(args, said, {"handovers": len(shown.handovers), "revoked": revoked, "time_stamps": stamps})


def _two(args: Namespace, act: object) -> int:
    from benchseal.desk.rotation import finish  # noqa: PLC0415

    with site_of(args) as site:
        receipt = perform(site, act, *credentials(args, site, 2))
        finish(site)
        return show.receipt(args, receipt)


def _cells(view: Reading, row: Row) -> tuple[object, ...]:
    state = f"revoked as from {row['revoked_since']}: {row['revoked_why']}" if row["revoked_since"] else ""
    until = f"entry {row['until_entry']}" if row["until_entry"] else ""
    return (row["key"], row["key_id"], f"entry {row['from_entry']}", until, row["at"], state or _word(view, row))


def _word(view: Reading, row: Row) -> str:
    if row["until_entry"]:
        return "ended"
    token = token_of_key(view, row)
    return f"in force, in token {token}" if token else "in force"
