"""The command line on a copy of the played demo: one to change for each test, one to read for all of a module."""

from __future__ import annotations

import shutil
from typing import TYPE_CHECKING

import pytest
from tests.journeys.commands import Line

if TYPE_CHECKING:
    from pathlib import Path

    from benchseal.demo.play import Played


@pytest.fixture
def line(played: Played, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Line:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    shutil.copytree(played.site.folder, tmp_path / "site")
    return Line(tmp_path / "site", capsys)


@pytest.fixture
def reader(line: Line) -> Line:
    """Somebody signed in to read."""
    assert line("sign-in", by=("p-maren.holt",)).code == 0
    return line
