"""The demo's site as the benchmarks use it: played anew, or copied from one that was played before."""

# ruff: noqa: INP001

from __future__ import annotations

import shutil
from typing import TYPE_CHECKING

from argon2 import PasswordHasher

from benchseal.demo.play import play
from benchseal.identity.keys import Hardness
from benchseal.identity.password_hashes import PasswordHashes

if TYPE_CHECKING:
    import argparse
    from pathlib import Path

CHEAP = Hardness(1, 8, 1)


def cheap() -> PasswordHashes:
    """Passwords that cost little: they are not what is measured."""
    return PasswordHashes(PasswordHasher(time_cost=1, memory_cost=8, parallelism=1))


def ask_for_site(options: argparse.ArgumentParser) -> None:
    """The option for a site that is there already."""
    options.add_argument("--site", metavar="FOLDER", help="a demo site with cheap passwords, to be copied, not played")


def staged(folder: Path, played: str | None) -> Path:
    """``folder`` with the demo's site in it."""
    if played:
        shutil.copytree(played, folder)
    else:
        play(folder, lambda _: None, hashes=cheap(), hardness=CHEAP).site.store.close()
    return folder
