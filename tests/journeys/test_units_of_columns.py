"""The demo's file of mercury with the unit of the concentrations it gives in its header. All invented."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from tests.journeys.test_demo import ANALYST, APPROVER
from tests.journeys.test_reading_numbers import came_in, plain

from benchseal.desk.acts_documents import AddDocument, ApproveDocument
from benchseal.desk.acts_runs import IngestFile, RecalculateRun
from benchseal.desk.perform import perform
from benchseal.shipped import starter

if TYPE_CHECKING:
    from tests.conftest import Stage


def headed(stage: Stage, unit: str) -> bytes:
    """The layout whose header says the unit is in force; a file of that layout."""
    layout = starter("layouts/comma-list.yaml").replace("header: Given,", f'header: "Given [{unit}]",')
    added = perform(stage.site, AddDocument(layout.encode(), "layout.yaml"), stage.key(ANALYST)).data
    perform(stage.site, ApproveDocument(f"{added['kind']}/{added['id']}"), stage.key(APPROVER))
    text = plain(stage).replace(",Given,", f",Given [{unit}],")
    assert f"Given [{unit}]" in text
    return text.encode()


@pytest.mark.parametrize("unit", ["mg/L", "ng/L", "ppm"])
def test_a_file_that_gives_another_unit_than_the_method_does_not_come_in(stage: Stage, unit: str) -> None:
    done = perform(stage.site, IngestFile(headed(stage, unit), "other.txt", "", ()), stage.key(ANALYST))
    assert {each.code for each in done.notices} == {"validate.nominal-unit-differs"}
    assert not done.data["runs"]


@pytest.mark.parametrize("unit", ["µg/l", "ng/mL"])
def test_the_method_s_unit_comes_in_and_is_calculated_again(stage: Stage, unit: str) -> None:
    run = came_in(stage, headed(stage, unit), "same.txt", beside=True)
    perform(stage.site, RecalculateRun(run, "looked again"), stage.key(ANALYST))
