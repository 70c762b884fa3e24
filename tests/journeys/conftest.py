"""The demo, played once; tests work on copies of it."""

from __future__ import annotations

import shutil
from dataclasses import dataclass
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from benchseal.demo.play import Played
    from benchseal.desk.admission import Password
    from benchseal.desk.site import Site


@dataclass(frozen=True)
class Stage:
    """A played site, open, with its people's passwords and what the play made."""

    site: Site
    played: Played

    def key(self, person: str) -> Password:
        from benchseal.desk.admission import Password  # noqa: PLC0415

        lines = (self.site.private / "demo-people.txt").read_text(encoding="utf-8").splitlines()
        found = dict(line.split("\t")[:2] for line in lines)
        return Password(person, found[person])

    def pdf(self, number: str) -> bytes:
        return (self.site.certificates / f"{number}.pdf").read_bytes()


@pytest.fixture(scope="session")
def played(tmp_path_factory: pytest.TempPathFactory) -> Played:
    from tests.conftest import cheap_hashes  # noqa: PLC0415

    from benchseal.demo.play import play  # noqa: PLC0415
    from benchseal.identity.keys import Hardness  # noqa: PLC0415

    folder = tmp_path_factory.mktemp("demo") / "site"
    done = play(folder, lambda _: None, hashes=cheap_hashes(), hardness=Hardness(1, 8, 1))
    done.site.store.close()
    return done


@pytest.fixture
def stage(played: Played, tmp_path: Path) -> Iterator[Stage]:
    from tests.conftest import cheap_hashes  # noqa: PLC0415

    from benchseal.desk.site import open_site  # noqa: PLC0415

    shutil.copytree(played.site.folder, tmp_path / "site")
    site = open_site(tmp_path / "site", hashes=cheap_hashes)
    yield Stage(site, played)
    site.store.close()
