"""Policies acknowledged: each person for themselves, with their own password, the version they were shown."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.desk.acting import Receipt
from benchseal.desk.policy_gate import has_acknowledged, policies_in_force
from benchseal.problems import Problem, Refusal, Stopped
from benchseal.records.people import Role

if TYPE_CHECKING:
    from benchseal.desk.acting import Acting
    from benchseal.desk.acts_policies import AcknowledgePolicy
    from benchseal.records.policy import Policy
    from benchseal.store.protocol import Reading, Row

SHOWN_FIGURES = 8


def acknowledge_policy(acting: Acting, act: AcknowledgePolicy) -> Receipt:
    """Put on record that the person read the version in force."""
    person = acting.first.person
    row, policy = policy_in_force(acting.tx, act.id)
    figures = row["value"][:SHOWN_FIGURES]
    if act.seen != figures:
        what = f"version {row['version']} in force ends with {figures}, given is {act.seen or 'nothing'}."
        remedy = f"Read it with `benchseal policy show {row['id']}`, then give the figures it ends with."
        raise Stopped(Problem("policy.not-read", f"policy {row['id']}", what, remedy))
    if has_acknowledged(acting.tx, row, person):
        what = f"{person} acknowledged version {row['version']} already."
        raise Stopped(Refusal("policy.already", f"policy {row['id']}", what, "Nothing needs to be done."))
    acting.write(
        "policy.acknowledged",
        f"document/policy/{row['id']}",
        facts={"id": row["id"], "version": int(row["version"])},
        digests={"value": row["value"]},
    )
    said = f"{acting.first.printed_name} has acknowledged {policy.title}, version {row['version']}."
    return Receipt((said,), {"id": row["id"], "version": int(row["version"]), "person": person})


def policy_in_force(view: Reading, identifier: str) -> tuple[Row, Policy]:
    """A policy in force by its identifier. Raises Stopped."""
    found = [pair for pair in policies_in_force(view) if pair[0]["id"] == identifier]
    if not found:
        what, remedy = "no policy of this identifier is in force.", "See `benchseal policy list`."
        raise Stopped(Refusal("policy.unknown", identifier, what, remedy))
    return found[0]


def not_yet(view: Reading, row: Row) -> list[str]:
    """Everybody active who has not acknowledged this version; services sign nothing and are left out."""
    services = {one["person"] for one in view.rows("role", role=Role.SERVICE.value) if one["active"]}
    active = [one["person"] for one in view.rows("person") if one["active"] and one["person"] not in services]
    return [person for person in active if not has_acknowledged(view, row, person)]
