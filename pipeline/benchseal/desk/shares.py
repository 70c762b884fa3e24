"""Who performed a submitted run, and whose signature on their share is still due.

Whoever submits signs for the run as a whole. Others who prepared its portions, measured it or changed something of it
sign their own share of the version submitted; a later version is another, and is signed again.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from benchseal.desk.reading import load
from benchseal.desk.site_rules import rules_in_force
from benchseal.desk.submitting import operators
from benchseal.problems import Refusal, Stopped
from benchseal.records.people import Role
from benchseal.records.run import Run
from benchseal.records.signatures import Meaning

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.store.protocol import Reading, Row

# What makes somebody a performer. Whoever typed in what another did performed nothing of the measurement itself, and
# is named by the record: the other signs.
_PERFORMING: Final = frozenset({"prepare", "change", "exclude"})
_WORDS: Final = {"prepare": "prepared", "operate": "measured", "change": "corrected", "exclude": "left readings out"}


def performers(view: Reading, row: Row) -> dict[str, tuple[str, ...]]:
    """Person to what they did of a run: portions prepared, readings taken, values changed."""
    subjects = [f"run/{row['run']}"]
    subjects += [f"portion/{one['batch']}/{one['portion']}" for one in view.rows("run_portion", run=row["run"])]
    found: dict[str, dict[str, None]] = {}
    for subject in subjects:
        for one in view.rows("contribution", subject=subject):
            if one["act"] in _PERFORMING:
                found.setdefault(one["person"], {})[_WORDS[one["act"]]] = None
    for person in operators(view, row, load(view, Run, row["bound"])):
        found.setdefault(person, {})[_WORDS["operate"]] = None
    return {person: tuple(did) for person, did in sorted(found.items())}


def signed(view: Reading, row: Row) -> set[str]:
    """Who signed the version of a run that is submitted as performed."""
    whole = view.rows("signature", digest=row["packet"], meaning=Meaning.PERFORMED.value) if row["packet"] else []
    shares = view.rows("run_share", run=row["run"], version=f"{int(row['version']):04d}")
    return {one["person"] for one in (*whole, *shares)}


def shares_due(view: Reading, row: Row) -> dict[str, tuple[str, ...]]:
    """Performers who have not signed, and still could: accounts that are closed, and services, sign nothing."""
    done = signed(view, row)
    return {
        person: did
        for person, did in performers(view, row).items()
        if person not in done
        and view.rows("role", person=person, role=Role.ANALYST.value, active=1)
        and _open(view, person)
    }


def require_shares(view: Reading, rows: Sequence[Row]) -> None:
    """Raise Stopped where the rules want every performer's signature, and one is due."""
    if rules_in_force(view).performers_sign != "required":
        return
    refusals = [
        Refusal(
            "run.share-unsigned",
            f"run {row['run']}",
            f"{person}, who {' and '.join(did)}, has not signed it as performed.",
            f"They sign their share: `benchseal run sign {row['run']}`.",
        )
        for row in rows
        for person, did in shares_due(view, row).items()
    ]
    if refusals:
        raise Stopped(*refusals)


def require_own_share(view: Reading, rows: Sequence[Row], person: str) -> None:
    """Raise Stopped where somebody would sign what they did not do, or signed already."""
    refusals = []
    for row in rows:
        where = f"run {row['run']}"
        if person in signed(view, row):
            what = f"{person} signed this version as performed."
            refusals.append(Refusal("run.share-signed", where, what, "Nothing needs to be done."))
        elif person not in performers(view, row):
            what = f"nothing on record says that {person} prepared, measured or changed anything of it."
            refusals.append(Refusal("run.share-none", where, what, "Whoever did the work signs it."))
    if refusals:
        raise Stopped(*refusals)


def _open(view: Reading, person: str) -> bool:
    row = view.row("person", person=person)
    return row is not None and bool(row["active"])
