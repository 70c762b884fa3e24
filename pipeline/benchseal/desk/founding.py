"""Founding a site: a folder, two named people at least, both keys, a store with its first entry, the trust file."""

from __future__ import annotations

import os
import secrets
import shutil
from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING
from zoneinfo import available_timezones

from cryptography.hazmat.primitives.serialization import Encoding

from benchseal.desk import keys
from benchseal.desk.acting import Acting, Who, as_json
from benchseal.desk.acts_documents import AddDocument
from benchseal.desk.admission import Password
from benchseal.desk.clock import Clock, system_clock
from benchseal.desk.key_records import trust_value, write_trust
from benchseal.desk.people import checked_person, person_facts
from benchseal.desk.perform import one_line_for_disk_faults, perform
from benchseal.desk.site import (
    CERTIFICATES,
    OUTBOX,
    PRIVATE,
    SETTINGS_FILE,
    STORE_FILE,
    TRUST_FILE,
    Site,
    settings_text,
)
from benchseal.desk.texts import in_kept_form
from benchseal.identity.keys import key_id_of, public_bytes
from benchseal.identity.password_hashes import PasswordHashes, production_hasher
from benchseal.identity.seal_certificate import fingerprint, organisation_problems, seal_certificate
from benchseal.problems import Notice, Problem, Stopped
from benchseal.records.people import Person, Role
from benchseal.shipped import starter
from benchseal.store.sqlite import SqliteStore

if TYPE_CHECKING:
    from pathlib import Path

    from benchseal.desk.acts_people import AddPerson
    from benchseal.identity.keys import Hardness
    from benchseal.records.canonical import Json
    from benchseal.records.evidence import Laboratory

SEAL_YEARS = 10


@dataclass(frozen=True, slots=True)
class Founding:
    """What a new site needs to know. founders: two or more; each enrols the next, the last enrols the first."""

    laboratory: Laboratory
    founders: tuple[AddPerson, ...]


def found(
    folder: Path,
    founding: Founding,
    *,
    clock: Clock = system_clock,
    hashes: PasswordHashes | None = None,
    hardness: Hardness | None = None,
) -> Site:
    """Make a site in ``folder``, which must be empty or new. Raises Stopped; then nothing is left of it."""
    founding = Founding(in_kept_form(founding.laboratory), tuple(in_kept_form(each) for each in founding.founders))
    people = _checked(folder, founding)
    was_there = folder.exists()
    try:
        with one_line_for_disk_faults():
            return _make(folder, founding, people, clock, hashes or PasswordHashes(production_hasher()), hardness)
    except BaseException:
        _remove(folder, keep_folder=was_there)
        raise


def _checked(folder: Path, founding: Founding) -> list[str]:
    problems: list[Notice] = list(organisation_problems(founding.laboratory.name))
    if founding.laboratory.zone not in available_timezones():
        what = f"{founding.laboratory.zone!r} is no time zone."
        problems.append(Problem("site.zone", "laboratory", what, "Write it as Europe/Berlin, for instance."))
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        what = "it is not an empty folder."
        problems.append(Problem("site.not-empty", str(folder), what, "Name a new or an empty folder."))
    if len(founding.founders) < 2:
        what = f"{len(founding.founders)} person is named; a site is founded by at least two."
        problems.append(Problem("site.founders", str(folder), what, "Name a second person."))
    people: list[str] = []
    known: list[Person] = []
    for act in founding.founders:
        try:
            people.append(checked_person(act, known, founding.laboratory.name))
        except Stopped as stop:
            problems.extend(stop.notices)
            continue
        known.append(Person(people[-1], act.printed_name, act.roles, act.identity_check, ""))
    if problems:
        raise Stopped(*problems)
    return people


def _make(  # noqa: PLR0913, PLR0917  one step of ``found``
    folder: Path,
    founding: Founding,
    people: list[str],
    clock: Clock,
    hashes: PasswordHashes,
    hardness: Hardness | None,
) -> Site:
    ledger = f"bs-{secrets.token_hex(8)}"
    for path in (folder, folder / CERTIFICATES, folder / OUTBOX):
        path.mkdir(parents=True, exist_ok=True)
    (folder / PRIVATE).mkdir(mode=0o700)
    made = keys.make_keys(folder / PRIVATE, hardness)
    now = clock()
    certificate = seal_certificate(
        made.seal,
        organisation=founding.laboratory.name,
        serial=secrets.randbits(158) + 1,
        not_before=now - timedelta(minutes=5),
        not_after=now + timedelta(days=365 * SEAL_YEARS),
    )
    (folder / SETTINGS_FILE).write_text(settings_text(ledger), encoding="utf-8")
    site = Site(folder, ledger, SqliteStore.create(folder / STORE_FILE, ledger), clock, hashes)
    kept = [hashes.make(act.password, os.urandom(16)) for act in founding.founders]
    enrolled_by = [people[-1], *people[:-1]]
    persons = [
        person_facts(act, person, kept_hash, by)
        for act, person, kept_hash, by in zip(founding.founders, people, kept, enrolled_by, strict=True)
    ]
    with site.store.writing() as tx:
        first = Who(people[0], founding.founders[0].printed_name, frozenset(founding.founders[0].roles), signs=False)
        laboratory = founding.laboratory
        Acting(site, tx, (first,), now).write(
            "site.founded",
            f"site/{ledger}",
            facts={
                "ledger": ledger,
                "laboratory": {"name": laboratory.name, "address": laboratory.address, "zone": laboratory.zone},
                "persons": as_json(persons),
                "seal_fingerprint": fingerprint(certificate),
                "seal_key_id": key_id_of(made.seal),
                "tree_key": public_bytes(made.tree).hex(),
                "tree_key_id": key_id_of(made.tree),
            },
            digests={"seal_certificate": tx.keep(certificate.public_bytes(Encoding.DER))},
        )
        for person, kept_hash in zip(people, kept, strict=True):
            tx.put_private("password", {"person": person, "hash": kept_hash})
    with site.store.reading() as view:
        write_trust(site, view)
    return site


def draft_rules(site: Site, founders: tuple[AddPerson, ...]) -> bool:
    """Bring in the starter of the rules of the site, for the first founder who may and is no approver; whether one is.

    An approver's draft would bar the approver from putting it in force.
    """
    for founder in founders:
        if {Role.ANALYST, Role.REVIEWER} & set(founder.roles) and Role.APPROVER not in founder.roles:
            act = AddDocument(starter("site/rules.yaml").encode("utf-8"), "rules.yaml")
            perform(site, act, Password(founder.person, founder.password))
            return True
    return False


def trust_of(site: Site) -> dict[str, Json]:
    """Seal certificates, the ledger and its public keys, and how each key came to be."""
    with site.store.reading() as view:
        return trust_value(view, site.ledger)


def _remove(folder: Path, *, keep_folder: bool) -> None:
    if not folder.exists():
        return
    if keep_folder:
        for name in (PRIVATE, CERTIFICATES, OUTBOX):
            shutil.rmtree(folder / name, ignore_errors=True)
        for path in (SETTINGS_FILE, STORE_FILE, "store.queue", "store.turns", TRUST_FILE):
            (folder / path).unlink(missing_ok=True)
    else:
        shutil.rmtree(folder, ignore_errors=True)
