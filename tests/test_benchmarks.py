"""Each benchmark still runs, heavy ones with --long; what it measures is nobody's business here."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from benchseal.demo.play import Played

ROOT = Path(__file__).parents[1]
_SHORT = {
    "start_up": ("--pairs", "1"),
    "ingest_one_run": ("--rounds", "1"),
    "ingest_many": ("--files", "3", "--rounds", "1"),
    "verify_a_ledger": ("--entries", "3000", "--objects", "3", "--pairs", "1"),
    "verify_certificates": ("--files", "2", "--rounds", "1"),
    "fit_many_runs": ("--pairs", "1", "--runs", "50"),
    "eight_at_once": ("--acts", "2", "--processes", "2"),
    "export_rows": ("--rows", "2000", "--rounds", "1"),
    "render_certificates": ("--pairs", "1", "--certificates", "2", "--kinds", "1"),
}
_ON_THE_DEMO = frozenset({"verify_certificates", "eight_at_once", "render_certificates"})


def test_every_benchmark_is_tried() -> None:
    there = {path.stem for path in (ROOT / "benchmarks").glob("*.py")} - {"__init__", "stage", "timing"}
    assert there == set(_SHORT)


@pytest.mark.parametrize(
    "name", [pytest.param(name, marks=pytest.mark.long) if name in _ON_THE_DEMO else name for name in _SHORT]
)
def test_benchmark_runs(name: str, request: pytest.FixtureRequest) -> None:
    command = [sys.executable, "-m", f"benchmarks.{name}", *_SHORT[name]]
    if name in _ON_THE_DEMO:
        played: Played = request.getfixturevalue("played")
        command += ["--site", str(played.site.folder)]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False, stdin=subprocess.DEVNULL)  # noqa: S603
    assert done.returncode == 0, done.stderr
    assert "goal" in done.stdout
