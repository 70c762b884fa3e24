"""Every row once at the receiver, wherever exporters are killed and however many of them there are (exporting.py)."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.demo.play import Played

pytestmark = pytest.mark.skipif(os.name == "nt", reason="forks, and kills with a signal")

DELIVERIES, LONG = 200, 10_000
ROOM = 2 * 1024**3


@pytest.fixture
def place(tmp_path: Path) -> Iterator[Path]:
    """In memory where that can be: a killed process loses nothing it has handed over, on a disk or off it."""
    memory = Path("/dev/shm")  # noqa: S108  a folder of our own is made in it
    if memory.is_dir() and os.access(memory, os.W_OK) and shutil.disk_usage(memory).free > ROOM:
        with tempfile.TemporaryDirectory(prefix="benchseal-deliveries-", dir=memory) as name:
            yield Path(name)
    else:
        yield tmp_path


def campaign(site: Path, place: Path, deliveries: int) -> dict[str, Any]:
    """In a process of its own, without threads: they would not live through a fork."""
    shutil.copytree(site, place / "site")
    (place / "receiver").mkdir()
    words = [str(place / "site"), str(place / "receiver"), str(deliveries)]
    done = subprocess.run(  # noqa: S603  the program of this test
        [sys.executable, "-m", "tests.attacks.exporting", *words],
        cwd=Path(__file__).parents[2],
        env={**os.environ, "OPENBLAS_NUM_THREADS": "1"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr[-4000:]
    said: dict[str, Any] = json.loads(done.stdout)
    return said


@pytest.mark.clause("A11 16")
@pytest.mark.refuses("A11 5")
@pytest.mark.parametrize("deliveries", [DELIVERIES, pytest.param(LONG, marks=pytest.mark.long)])
def test_every_row_comes_once_wherever_exporters_are_killed(played: Played, place: Path, deliveries: int) -> None:
    said = campaign(played.site.folder, place, deliveries)
    assert said["deliveries"] >= deliveries
    assert said["killed"] >= deliveries // 2
    assert said["two at once"] >= deliveries // 8
    # Every boundary was one to die at, but for those that only a take-over has, now and then.
    assert len(said["never died before"]) <= 2, said
