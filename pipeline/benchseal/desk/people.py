"""Enrolling people. An identifier is given once and for good; a person's password is typed by that person."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

from benchseal.desk.acting import Acting, Receipt, as_json
from benchseal.desk.signers import unprintable_names
from benchseal.identity.names import new_person_problems, person_id
from benchseal.identity.password_hashes import kept_hash_digest
from benchseal.identity.passwords import password_problems
from benchseal.problems import Notice, Problem, Refusal, Stopped
from benchseal.records.people import Person, Role
from benchseal.review.apart import content_roles_of_administrator, not_kept_apart

if TYPE_CHECKING:
    from collections.abc import Iterable

    from benchseal.desk.acts_people import AddPerson, UnlockPerson
    from benchseal.desk.site import Site
    from benchseal.records.canonical import Json
    from benchseal.store.protocol import Reading, Row


CONFIRM_FIRST = "They work and sign once an approver who is somebody else ran `benchseal person confirm`."


def add_person(acting: Acting, act: AddPerson) -> Receipt:
    """Enrol a person. Nobody enrols themselves or gives themselves a role; another person's word lets them work."""
    person = checked_person(act, known_people(acting.tx), laboratory_name(acting.tx, acting.site))
    if person == acting.first.person:
        raise Stopped(Refusal("person.self", person, "nobody enrols themselves.", "Ask another administrator."))
    kept = acting.site.hashes.make(act.password, os.urandom(16))
    acting.write("person.added", f"person/{person}", facts=person_facts(act, person, kept, acting.first.person))
    acting.tx.put_private("password", {"person": person, "hash": kept})
    said = f"{act.printed_name} is enrolled as {person}."
    return Receipt((said,) if Role.SERVICE in act.roles else (said, CONFIRM_FIRST), {"person": person})


def unlock_person(acting: Acting, act: UnlockPerson) -> Receipt:
    """Forget the wrong passwords counted against somebody; the entry stays."""
    if not act.reason.strip():
        raise Stopped(Refusal("act.reason", "person unlock", "no reason is given.", "Say why with --reason."))
    person = str(somebody_else(acting, act.person, "unlocks themselves")["person"])
    acting.write("person.unlocked", f"person/{person}", reason=act.reason)
    acting.tx.remove_private("sign_in_failure", person=person)
    return Receipt((f"{person} can sign in again.",), {"person": person})


def somebody(acting: Acting, name: str) -> Row:
    """The account of a user id. Raises Stopped."""
    person = person_id(name)
    if isinstance(person, Problem):
        raise Stopped(person)
    row = acting.tx.row("person", person=person)
    if row is None:
        raise Stopped(
            Refusal("person.unknown", person, "nobody of this id is enrolled.", "See `benchseal person list`.")
        )
    return row


def somebody_else(acting: Acting, name: str, deed: str) -> Row:
    """The account of another person than whoever acts. deed: what nobody does to themselves. Raises Stopped."""
    row = somebody(acting, name)
    if row["person"] == acting.first.person:
        raise Stopped(Refusal("person.self", row["person"], f"nobody {deed}.", "Ask another administrator."))
    return row


def checked_person(act: AddPerson, known: Iterable[Person], laboratory: str) -> str:
    """The identifier to enrol under. Raises Stopped with everything that speaks against it."""
    person = person_id(act.person)
    if isinstance(person, Problem):
        raise Stopped(person)
    problems: list[Notice] = [
        *new_person_problems(person, act.printed_name, known),
        *unprintable_names([act.printed_name]),
        *password_problems(act.password, person=person, laboratory=laboratory),
    ]
    if not act.roles:
        problems.append(Problem("person.no-role", person, "no role is given.", "Give at least one role."))
    if not act.identity_check.strip():
        what = "how the identity was checked is not said."
        problems.append(Problem("person.identity-check", person, what, "Say who checked it, how and when."))
    if Role.SERVICE in act.roles and len(act.roles) > 1:
        what = "a service identity can have no other role."
        problems.append(Problem("person.service", person, what, "Enrol the service under its own identifier."))
    if beside := content_roles_of_administrator(act.roles):
        problems.append(not_kept_apart(person, beside))
    if problems:
        raise Stopped(*problems)
    return person


def person_facts(act: AddPerson, person: str, kept: str, enrolled_by: str) -> dict[str, Json]:
    """Entry facts of an enrolment. The ledger carries only the digest of the password hash."""
    return {
        "person": person,
        "printed_name": act.printed_name,
        "roles": as_json([role.value for role in act.roles]),
        "identity_check": act.identity_check,
        "enrolled_by": enrolled_by,
        "password_sha256": kept_hash_digest(kept),
    }


def known_people(view: Reading) -> list[Person]:
    """Everybody ever enrolled."""
    return [
        Person(
            person=row["person"],
            printed_name=row["printed_name"],
            roles=tuple(Role(role["role"]) for role in view.rows("role", person=row["person"]) if role["active"]),
            identity_check=row["identity_check"],
            enrolled_by=row["enrolled_by"],
            active=bool(row["active"]),
        )
        for row in view.rows("person")
    ]


def laboratory_name(view: Reading, site: Site) -> str:
    """Name of the laboratory; empty before founding."""
    row = view.row("site", ledger=site.ledger)
    return str(row["name"]) if row else ""
