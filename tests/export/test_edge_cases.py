"""The cases of ``export check``: each differs from the ordinary row in what its name says; how profiles treat them."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

import pytest
from tests.export.test_profiles import STARTERS, read

from benchseal.export.edge_cases import edge_cases, tried
from benchseal.records.profile import Column, FileForm
from benchseal.records.released import is_sealed
from benchseal.shipped import starter

if TYPE_CHECKING:
    from benchseal.records.profile import Profile

STOPPED_BY_BOTH = {
    "a result given as a substance": "export.substance-not-shown",
    "a sum of results": "export.sum-not-shown",
    "a text that begins like a formula": "export.risky-text",
    "a text that begins with a minus": "export.risky-text",
}


def profile(name: str = "comma-utf8") -> Profile:
    return read(starter(f"profiles/{name}.yaml"))


def outcomes(wanted: Profile) -> dict[str, set[str]]:
    return {case.case: {one.code for one in case.problems} for case in tried(wanted)}


def test_every_case_is_sealed_and_differs_from_the_ordinary_one() -> None:
    cases = edge_cases()
    assert all(map(is_sealed, cases.values()))
    ordinary = cases.pop("an ordinary result")
    assert len({row.record_sha256 for row in cases.values()} | {ordinary.record_sha256}) == len(cases) + 1
    assert cases["a withdrawn result"].change_kind == "withdrawn"
    assert cases["a result below its limit"].qualifier == "<"


@pytest.mark.parametrize("name", STARTERS)
def test_the_starters_write_what_is_ordinary_and_stop_what_would_mislead(name: str) -> None:
    found = outcomes(profile(name))
    for case, code in STOPPED_BY_BOTH.items():
        assert code in found.pop(case)
    assert found["an ordinary result"] == found["a withdrawn result"] == found["a result below its limit"] == set()
    assert found["a negative result"] == set()


def test_a_narrow_profile_is_told_what_it_cannot_carry() -> None:
    file = FileForm("us-ascii", ",", "never", "lf", ".", header_line=False)
    columns = (Column("S", "client_sample_id", max_length=30), Column("P", "product"), Column("N", "note"))
    narrow = dataclasses.replace(profile(), file=file, columns=(*columns, Column("C", "change_kind")))
    found = outcomes(narrow)
    assert found["identifiers of 40 characters"] == {"export.too-long"}
    assert found["letters of other scripts"] == {"export.not-in-encoding"}
    assert found["separators and quotes in a text"] == found["a text of two lines"] == {"export.needs-quotes"}
    assert found["figures that look like numbers or dates"] == set()


def test_cells_show_what_the_receiver_reads() -> None:
    (case,) = [case for case in tried(profile()) if case.case == "figures that look like numbers or dates"]
    read_by_field = {cell.field: cell.text for cell in case.cells}
    assert (read_by_field["client_sample_id"], read_by_field["lot_id"]) == ("007", "1E5")
