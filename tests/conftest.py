"""Sites for tests that go through the desk: a small founded one, and the demo played once. Passwords cost little."""

from __future__ import annotations

import gc
import shutil
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import pytest
from hypothesis import settings

settings.register_profile("benchseal", deadline=None)  # how long an example takes says how busy the machine is
settings.load_profile("benchseal")


def pytest_collection_finish() -> None:
    """Tens of thousands of gathered tests stay to the end: else each full collection walks through all of them."""
    gc.collect()
    gc.freeze()


if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from benchseal.demo.play import Played
    from benchseal.desk.acting import Receipt
    from benchseal.desk.admission import Password
    from benchseal.desk.site import Site
    from benchseal.identity.password_hashes import PasswordHashes

SECRETS = {
    "p-ana.keel": "seven herons over slate",
    "p-ben.marsh": "copper kettle in october",
    "p-cleo.strand": "a ferry leaves at dusk",
    "p-dora.fell": "nine lanterns, one ladder",
    "p-emil.holt": "the orchard wall is warm",
}


@dataclass
class TestClock:
    """A clock that moves a second at each look, and further when told."""

    __test__ = False
    now: datetime = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)
    step: timedelta = field(default=timedelta(seconds=1))

    def __call__(self) -> datetime:
        self.now += self.step
        return self.now


@dataclass(frozen=True)
class Bench:
    """A site and its people: ana analyst, ben reviewer, cleo and dora approvers, emil administrator."""

    site: Site
    clock: TestClock

    def key(self, name: str) -> Password:
        from benchseal.desk.admission import Password  # noqa: PLC0415

        person = next(known for known in SECRETS if known.startswith(f"p-{name}"))
        return Password(person, SECRETS[person])

    def do(self, act: object, *names: str) -> Receipt:
        from benchseal.desk.perform import perform  # noqa: PLC0415

        return perform(self.site, act, *(self.key(name) for name in names))

    def entries(self) -> int:
        with self.site.store.reading() as view:
            return view.size()


def cheap_hashes() -> PasswordHashes:
    from argon2 import PasswordHasher  # noqa: PLC0415

    from benchseal.identity.password_hashes import PasswordHashes  # noqa: PLC0415

    return PasswordHashes(PasswordHasher(time_cost=1, memory_cost=8, parallelism=1))


@pytest.fixture(scope="session")
def founded(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A founded site, made once: its RSA key takes a moment. Tests work on copies."""
    from benchseal.desk.acts_people import AddPerson  # noqa: PLC0415
    from benchseal.desk.founding import Founding, found  # noqa: PLC0415
    from benchseal.identity.keys import Hardness  # noqa: PLC0415
    from benchseal.records.evidence import Laboratory  # noqa: PLC0415
    from benchseal.records.people import Role  # noqa: PLC0415

    def person(handle: str, name: str, role: Role) -> AddPerson:
        return AddPerson(handle, name, (role,), "passport seen at the bench", SECRETS[f"p-{handle}"])

    folder = tmp_path_factory.mktemp("founded") / "site"
    founding = Founding(
        Laboratory("Heron Ford Laboratory", "1 Weir Lane, Heron Ford", "Europe/Berlin"),
        (
            person("ana.keel", "Ana Keel", Role.ANALYST),
            person("ben.marsh", "Ben Marsh", Role.REVIEWER),
            person("cleo.strand", "Cleo Strand", Role.APPROVER),
            person("dora.fell", "Dora Fell", Role.APPROVER),
            person("emil.holt", "Emil Holt", Role.ADMINISTRATOR),
        ),
    )
    found(folder, founding, clock=TestClock(), hashes=cheap_hashes(), hardness=Hardness(1, 8, 1)).store.close()
    return folder


@pytest.fixture
def bench(founded: Path, tmp_path: Path) -> Iterator[Bench]:
    from benchseal.desk.site import open_site  # noqa: PLC0415

    shutil.copytree(founded, tmp_path / "site")
    clock = TestClock()
    clock.now += timedelta(minutes=1)
    site = open_site(tmp_path / "site", clock=clock, hashes=cheap_hashes)
    yield Bench(site, clock)
    site.store.close()


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
    from benchseal.demo.play import play  # noqa: PLC0415
    from benchseal.identity.keys import Hardness  # noqa: PLC0415

    folder = tmp_path_factory.mktemp("demo") / "site"
    done = play(folder, lambda _: None, hashes=cheap_hashes(), hardness=Hardness(1, 8, 1))
    done.site.store.close()
    return done


@pytest.fixture
def stage(played: Played, tmp_path: Path) -> Iterator[Stage]:
    from benchseal.desk.site import open_site  # noqa: PLC0415

    shutil.copytree(played.site.folder, tmp_path / "site")
    site = open_site(tmp_path / "site", hashes=cheap_hashes)
    yield Stage(site, played)
    site.store.close()
