"""The matrix that is printed is the one the door goes by: each cell against ``perform`` itself."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from benchseal.desk.acting import Who
from benchseal.desk.acts import ACTS, ROWS
from benchseal.desk.perform import _require_role
from benchseal.desk.rights import rights
from benchseal.problems import Stopped
from benchseal.records.people import Role

if TYPE_CHECKING:
    from benchseal.desk.act_row import ActRow

CONTENT = {"run", "certificate", "document", "preparation", "standard", "sample", "investigation", "ingest"}


@pytest.mark.clause("P11 11.10(g)", "DI Q4")
@pytest.mark.parametrize("row", ROWS, ids=lambda row: row.command)
def test_each_cell_is_what_the_door_does(row: ActRow) -> None:
    """tests/desk/test_role_matrix.py takes every cell through the whole door; here the printed word is held to it."""
    printed = [one for one in rights() if one.command == row.command and " of " in one.place]
    assert len(printed) == len(row.signers)
    for one, signer in zip(printed, row.signers, strict=True):
        for role in Role:
            who = Who("p-x", "X", frozenset({role}), signs=True)
            try:
                _require_role(row, who, signer)
            except Stopped:
                assert role not in one.roles
            else:
                assert role in one.roles
        assert ("signs as" in one.how) == (signer.meaning is not None)


@pytest.mark.clause("DI Q4")
def test_the_administrator_has_no_act_on_results_and_the_auditor_none_at_all() -> None:
    acts = [one for one in rights() if one.command in {row.command for row in ACTS.values()}]
    of_administrator = {one.command for one in acts if Role.ADMINISTRATOR in one.roles}
    assert {command for command in of_administrator if command.split()[0] in CONTENT} == set()
    everybody = {"person password", "policy acknowledge"}
    assert {one.command for one in acts if Role.AUDITOR in one.roles} <= everybody
    assert {one.command for one in acts if Role.SERVICE in one.roles and one.how.startswith("signs")} == set()
