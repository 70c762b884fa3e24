"""Mutation testing of compute as a long campaign: a sample by chance, of which nine in ten must be killed."""

from __future__ import annotations

import os
import subprocess
import sys

import pytest
from tests.mutation.touched import ROOT

SAMPLE, SEED = 500, 20261


@pytest.mark.long
@pytest.mark.skipif(not hasattr(os, "fork"), reason="mutants run in forked processes")
def test_nine_mutants_of_ten_are_killed() -> None:
    command = [sys.executable, "-m", "tests.mutation", f"--sample={SAMPLE}", f"--seed={SEED}", "--floor=90"]
    found = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)  # noqa: S603  ours
    assert found.returncode == 0, found.stdout + found.stderr
    assert f"{SAMPLE} drawn with seed {SEED}" in found.stdout
