"""Accounts: roles given and taken, closed and opened again. Nobody touches their own; identifiers stay for good."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.desk.acting import Receipt
from benchseal.desk.exceptions import require_kept_apart
from benchseal.desk.people import CONFIRM_FIRST, somebody_else
from benchseal.desk.runs import require_reason
from benchseal.problems import Refusal, Stopped
from benchseal.records.people import Role

if TYPE_CHECKING:
    from benchseal.desk.acting import Acting
    from benchseal.desk.acts_people import ChangeRole, DisablePerson, EnablePerson
    from benchseal.store.protocol import Reading, Row


def change_role(acting: Acting, act: ChangeRole) -> Receipt:
    """Give a role, or take it. What it allows is looked at in every act, so that it counts from the next one on."""
    require_reason(act.reason, "person role")
    row = somebody_else(acting, act.person, "gives or takes their own roles")
    held = {one["role"] for one in acting.tx.rows("role", person=row["person"]) if one["active"]}
    if act.gives == (act.role.value in held):
        what = f"{row['person']} {'has' if act.gives else 'does not have'} the role {act.role.value}."
        raise Stopped(Refusal("person.role-already", row["person"], what, "Nothing needs to be done."))
    after = held | {act.role.value} if act.gives else held - {act.role.value}
    ever = {one["role"] for one in acting.tx.rows("role", person=row["person"])} | after
    if Role.SERVICE in ever and len(ever) > 1:
        what = "a service identity is no person, and never becomes one."
        raise Stopped(Refusal("person.service", row["person"], what, "Enrol the service under its own identifier."))
    if act.gives:
        require_kept_apart(acting.site, acting.tx, acting.moment, row["person"], map(Role, after))
    kind = "person.role_given" if act.gives else "person.role_taken"
    acting.write(kind, f"person/{row['person']}", facts={"role": act.role.value}, reason=act.reason)
    words = "now has" if act.gives else "no longer has"
    said = f"{row['person']} {words} the role {act.role.value}."
    return Receipt((said,), {"person": row["person"], "roles": sorted(after)})


def disable_person(acting: Acting, act: DisablePerson) -> Receipt:
    """Close an account and its sessions. What the person signed stays what it is."""
    require_reason(act.reason, "person disable")
    row = somebody_else(acting, act.person, "closes their own account")
    if not row["active"]:
        what = "the account is closed already."
        raise Stopped(Refusal("person.disabled-already", row["person"], what, "Nothing needs to be done."))
    acting.write("person.disabled", f"person/{row['person']}", reason=act.reason)
    acting.tx.remove_private("session", person=row["person"])
    said = [f"{row['person']} is disabled. The user id is never given to anybody else."]
    said += [f"Nobody active has the role {role} now." for role in _lost_roles(acting.tx, row)]
    return Receipt(tuple(said), {"person": row["person"]})


def enable_person(acting: Acting, act: EnablePerson) -> Receipt:
    """Open a closed account again. It waits until somebody else confirmed who uses it."""
    require_reason(act.reason, "person enable")
    row = somebody_else(acting, act.person, "opens their own account")
    if row["active"]:
        what = "the account is active."
        raise Stopped(Refusal("person.enabled-already", row["person"], what, "Nothing needs to be done."))
    acting.write("person.enabled", f"person/{row['person']}", reason=act.reason)
    return Receipt((f"{row['person']} can sign in again.", CONFIRM_FIRST), {"person": row["person"]})


def _lost_roles(view: Reading, row: Row) -> list[str]:
    """Roles of somebody just disabled that nobody active has any more."""
    active = {one["person"] for one in view.rows("person") if one["active"]}
    held = {one["role"] for one in view.rows("role") if one["active"] and one["person"] in active}
    own = {one["role"] for one in view.rows("role", person=row["person"]) if one["active"]}
    return sorted(own - held)
