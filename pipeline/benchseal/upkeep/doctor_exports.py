"""What is amiss with export profiles; part of what ``doctor`` looks at."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.desk.in_force import in_force
from benchseal.desk.reading import load
from benchseal.desk.revisions import Revisions
from benchseal.desk.undelivered import Reached
from benchseal.export.profiles import check_profile
from benchseal.problems import Finding
from benchseal.records.profile import Profile
from benchseal.records.said import some

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.store.protocol import Reading

_NAMED = 5  # results named one by one; the rest is counted


def exports(view: Reading) -> Iterator[Finding]:
    """Profiles in force that this version refuses; results a receiver holds and nothing corrects any more."""
    for row in view.rows("document", kind="profile", state="approved"):
        if wrong := check_profile(load(view, Profile, row["value"])):
            what = f"version {row['version']} delivers nothing: {wrong[0]}"
            remedy = f"See all with `benchseal export check {row['id']}`, and approve a version without them."
            yield Finding("doctor.profile-refused", f"profile {row['id']}", what, remedy)
    for name in sorted({str(row["profile"]) for row in view.rows("delivery")}):
        if isinstance(in_force(view, "profile", name), str) and (held := _uncorrected(view, name)):
            listed = ", ".join(held[:_NAMED]) + (" and more" if len(held) > _NAMED else "")
            what = (
                f"it is not in force, and its receivers hold {some(len(held), 'result')} corrected or withdrawn since: "
            )
            remedy = "Approve a version of it and export; or tell the receivers."
            yield Finding("doctor.receiver-holds", f"profile {name}", f"{what}{listed}.", remedy)


def _uncorrected(view: Reading, name: str) -> list[str]:
    """Results delivered under a profile whose later revision was not, unless they went as withdrawn."""
    last: dict[str, str] = {}
    for row in view.rows("delivered", profile=name):
        result = str(row["result_id"])
        last[result] = max(last.get(result, ""), str(row["revision"]))
    digests = [str(row["profile_digest"]) for row in view.rows("delivery", profile=name)]
    reached = Reached(view, load(view, Profile, digests[-1]), Revisions(view))
    found = []
    for result, revision in sorted(last.items()):
        own = {str(row["revision"]): row for row in view.rows("released", result_id=result)}
        if max(own) > revision:
            held = reached.as_reached(own[revision])
            if held is not None and held.change_kind != "withdrawn":
                found.append(result)
    return found
