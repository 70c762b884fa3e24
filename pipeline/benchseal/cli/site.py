"""``init`` and ``rebuild``."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from benchseal.cli import show
from benchseal.cli.opened import file_bytes, reading
from benchseal.cli.secrets_in import at_terminal, one_more, secret_lines
from benchseal.desk.acts_people import AddPerson
from benchseal.desk.clock import system_clock
from benchseal.desk.founding import Founding, draft_rules, found
from benchseal.desk.rebuilding import rebuild_site
from benchseal.desk.site import settings_of
from benchseal.identity.password_hashes import PasswordHashes, production_hasher
from benchseal.problems import Problem, Refusal, Stopped
from benchseal.records.canonical import parse_json
from benchseal.records.evidence import Laboratory
from benchseal.records.people import Role
from benchseal.upkeep.upgrade import old_site, upgrade

if TYPE_CHECKING:
    from argparse import Namespace

    from benchseal.desk.admission import Password
    from benchseal.upkeep.upgrade import OldSite


def init(args: Namespace) -> int:
    """Found a site from an answers file; each founder's password comes by prompt or pipe, never from the file."""
    answers = _answers(args.answers)
    people = answers["founders"]
    words = _passwords(args, people)
    founding = Founding(
        Laboratory(**answers["laboratory"]),
        tuple(
            AddPerson(
                each["person"],
                each["printed_name"],
                tuple(Role(role) for role in each["roles"]),
                each["identity_check"],
                password,
            )
            for each, password in zip(people, words, strict=True)
        ),
    )
    site = found(Path(args.folder), founding)
    drafted = draft_rules(site, founding.founders)
    site.store.close()
    said = [
        f"Site {site.ledger} is founded in {args.folder}.",
        f"Hand {Path(args.folder) / 'trust.json'} to customers by another way than their certificates.",
    ]
    if drafted:
        said.append(
            "The rules of the site wait as a draft (site_rules RULES); until they are approved every gate is open."
        )
    return show.lines(args, said, {"ledger": site.ledger, "folder": args.folder})


def rebuild(args: Namespace) -> int:
    """Make the derived rows again from the ledger."""
    folder = Path(args.site)
    if old := old_site(folder, *settings_of(folder)):
        return _upgraded(args, old)
    with reading(args) as (site, _):
        pass
    changed = rebuild_site(site)
    words = (
        f"{changed} derived rows were put right." if changed else "Every derived row already followed from the ledger."
    )
    return show.lines(args, [words], {"changed": changed})


def _upgraded(args: Namespace, old: OldSite) -> int:
    """A store of an earlier version: an administrator gives the password itself, since no session outlives it."""

    def asked() -> tuple[Password, ...]:
        return tuple(one_more(args) for _ in range(1 + int(args.second)))

    done = upgrade(old, system_clock, PasswordHashes(production_hasher()), asked)
    said = [
        f"The store has version {done.now} now, it had {done.before}: {done.entries} entries, verified whole.",
        f"The old file is kept as {old.folder / done.kept_as}. Make a backup, then it can go.",
    ]
    data = {"before": done.before, "now": done.now, "entries": done.entries, "kept_as": done.kept_as}
    return show.lines(args, said, data)


def _answers(name: str) -> dict[str, Any]:
    remedy = "See the manual, page 'Founding a site'."
    try:
        value: Any = parse_json(file_bytes(name, 1024 * 1024))
    except ValueError as fault:
        raise Stopped(Problem("site.answers", name, f"it is not JSON: {fault}.", remedy)) from None
    laboratory = {"name", "address", "zone"}
    person = {"person", "printed_name", "roles", "identity_check"}
    roles = {role.value for role in Role}
    fits = (
        isinstance(value, dict)
        and value.keys() == {"laboratory", "founders"}
        and _texts(value["laboratory"], laboratory)
        and isinstance(value["founders"], list)
        and all(
            isinstance(each, dict)
            and each.keys() == person
            and _texts({name: each[name] for name in person - {"roles"}}, person - {"roles"})
            and isinstance(each["roles"], list)
            and set(map(str, each["roles"])) <= roles
            for each in value["founders"]
        )
    )
    if not fits:
        what = (
            "it needs laboratory {name, address, zone} and founders "
            f"[{{person, printed_name, roles, identity_check}}], all text; roles are {', '.join(sorted(roles))}."
        )
        raise Stopped(Problem("site.answers", name, what, remedy))
    return dict(value)


def _texts(value: object, names: set[str]) -> bool:
    return isinstance(value, dict) and value.keys() == names and all(isinstance(each, str) for each in value.values())


def _passwords(args: Namespace, people: list[dict[str, Any]]) -> list[str]:
    if args.secret_fd is not None:
        return secret_lines(args.secret_fd, len(people))
    if not at_terminal():
        what = "there is no terminal to ask for passwords at."
        raise Stopped(
            Refusal("sign-in.none", "init", what, "Give each founder's password with --secret-fd N (a pipe).")
        )
    from getpass import getpass  # noqa: PLC0415

    words = []
    for each in people:
        first = getpass(f"Password of {each['printed_name']}: ")
        if getpass("Again: ") != first:
            what = "the two passwords differ."
            raise Stopped(Problem("site.password-twice", each["person"], what, "Start again."))
        words.append(first)
    return words
