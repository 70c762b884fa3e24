"""The default scenario, and all of its instrument files read, bound and calculated once."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import pytest

from benchseal.demo.scenario import scenario

from .laboratory import Laboratory, Worked

if TYPE_CHECKING:
    from benchseal.demo.scenario import Scenario

START = date(2026, 3, 2)


@pytest.fixture(scope="session")
def story() -> Scenario:
    return scenario(START)


@pytest.fixture(scope="session")
def laboratory(story: Scenario) -> Laboratory:
    return Laboratory(story)


@pytest.fixture(scope="session")
def worked(laboratory: Laboratory) -> dict[str, dict[str, Worked]]:
    """File name to element to run."""
    return {file.name: laboratory.take(file) for file in laboratory.story.files}
