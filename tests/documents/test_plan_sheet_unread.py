"""A plan sheet of which no row can be read gives the problems of its rows and no more."""

from __future__ import annotations

from benchseal.documents.sheets import read_plan_rows
from benchseal.problems import Problem


def test_a_sheet_without_a_readable_row_gives_its_problems() -> None:
    (problem,) = read_plan_rows(b"sample,methods,volume_ml\nS-00001,pb-furnace,half\n", "p.csv")
    assert isinstance(problem, Problem)
    assert (problem.code, problem.where) == ("documents.value-unfit", "p.csv, line 2, cell 3 (volume_ml)")


def test_an_empty_kind_is_a_sample() -> None:
    (row,) = read_plan_rows(b"sample,kind,volume_ml\nS-00001,,25\n", "p.csv")
    assert not isinstance(row, Problem)
    assert row.kind == "sample"
    assert read_plan_rows(b"sample,volume_ml\nS-00001,25\n", "p.csv") == (row,)
