"""The commands that are stopped, each waiting on a site of its own that it was prepared on once."""

from __future__ import annotations

import json
import shutil
import sqlite3
from contextlib import closing
from dataclasses import dataclass
from typing import TYPE_CHECKING

from tests.attacks.stops import Runner, Scene
from tests.attacks.watched import put_to_watch, require_watched, require_watched_ended
from tests.attacks.wholes import require_copy, require_copy_ended, require_keys, require_keys_ended
from tests.journeys.commands import ADMINISTRATOR, ANALYST, APPROVER, REVIEWER, SECOND_APPROVER

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

BOTH = (ADMINISTRATOR, APPROVER)


def scenes(demo: Path, folder: Path, runner: Runner) -> dict[str, Scene]:
    """All of them, by name, on copies of the played demo under ``folder``."""
    stage = Stage(folder, runner)
    files = (backup_scene(stage, demo), copy_scene(stage, demo), watch_scene(stage, demo))
    made = (*record_scenes(stage, demo), *key_scenes(stage, demo), *files)
    return {scene.name: scene for scene in made}


@dataclass(frozen=True)
class Stage:
    """Where sites are prepared, and who runs commands on them."""

    folder: Path
    runner: Runner

    def site(self, name: str, after: Path) -> Path:
        """A copy of ``after`` for one scene."""
        shutil.copytree(after, self.folder / name / "site")
        return self.folder / name / "site"

    def good(self, site: Path, by: tuple[str, ...], *argv: str) -> str:
        """What a command says that has to go well."""
        said = self.runner(site, list(argv), by)
        assert said.code == 0, said
        return said.out


def record_scenes(stage: Stage, demo: Path) -> Iterator[Scene]:
    """A file on its way to a delivery: ingest, sign, review, draft, approve, release, export."""
    runner = stage.runner

    def ingest(site: Path) -> list[str]:
        return ["ingest", str(site / "inbox" / "flame-ware.txt")]

    def draft(_: Path) -> list[str]:
        return ["certificate", "draft", "C-1"]

    site = stage.site("ingest", demo)
    yield Scene("ingest", site, (ANALYST,), ingest, runner)
    site = stage.site("sign", site)
    stage.good(site, (ANALYST,), *ingest(site))
    with closing(sqlite3.connect(site / "store.sqlite")) as store:
        runs = [run for (run,) in store.execute("SELECT run FROM run WHERE state = 'draft'")]
    submit, accept, export = ["run", "submit", *runs], ["run", "accept", *runs], ["export", "run", "comma-utf8"]
    yield Scene("sign", site, (ANALYST,), lambda _: submit, runner)
    site = stage.site("review", site)
    stage.good(site, (ANALYST,), *submit)
    yield Scene("review", site, (REVIEWER,), lambda _: accept, runner)
    site = stage.site("draft", site)
    stage.good(site, (REVIEWER,), *accept)
    yield Scene("draft", site, (ANALYST,), draft, runner, draft)
    site = stage.site("approve", site)
    number = str(json.loads(stage.good(site, (ANALYST,), *draft(site), "--json"))["number"])
    approve, release = (["certificate", act, number] for act in ("approve", "release"))
    yield Scene("approve", site, (APPROVER,), lambda _: approve, runner)
    site = stage.site("release", site)
    stage.good(site, (APPROVER,), *approve)
    yield Scene("release", site, (SECOND_APPROVER,), lambda _: release, runner)
    site = stage.site("export", site)
    stage.good(site, (SECOND_APPROVER,), *release)
    yield Scene("export", site, (APPROVER,), lambda _: export, runner)


def backup_scene(stage: Stage, demo: Path) -> Scene:
    """A backup beside the site."""

    def backup(site: Path) -> list[str]:
        return ["backup", "make", str(site.parent / "b.zip")]

    def another_backup(site: Path) -> list[str]:
        there = (site.parent / "b.zip").exists()
        return ["backup", "make", str(site.parent / ("second.zip" if there else "b.zip"))]

    return Scene("backup", stage.site("backup", demo), (ADMINISTRATOR,), backup, stage.runner, another_backup)


def key_scenes(stage: Stage, demo: Path) -> Iterator[Scene]:
    """A new key of each kind, and the old one revoked. The trust file of before is kept to compare with."""
    for key in ("tree", "seal"):
        rotate = ["key", "rotate", key, "--reason", "the yearly one"]
        yield _of_keys(f"rotate {key}", stage.site(f"rotate {key}", demo), stage, rotate)
    site = stage.site("revoke", demo)
    with closing(sqlite3.connect(site / "store.sqlite")) as store:
        (old,) = store.execute("SELECT tree_key_id FROM site").fetchone()
    stage.good(site, BOTH, "key", "rotate", "tree", "--reason", "the disk is gone")
    revoke = ["key", "revoke", old, "--since", "2026-01-01", "--reason", "the disk is gone"]
    yield _of_keys("revoke", site, stage, revoke)


def _of_keys(name: str, site: Path, stage: Stage, words: list[str]) -> Scene:
    def argv(_: Path) -> list[str]:
        return words

    (site / "private" / "before").mkdir()
    shutil.copy(site / "trust.json", site / "private" / "before")
    return Scene(name, site, BOTH, argv, stage.runner, argv, require_keys, require_keys_ended)


def copy_scene(stage: Stage, demo: Path) -> Scene:
    """An inspection copy beside the site."""

    def copy(site: Path) -> list[str]:
        return ["copy", "--lot", "A-2", "--out", str(site.parent / "copy")]

    site = stage.site("copy", demo)
    return Scene("copy", site, (REVIEWER,), copy, stage.runner, copy, require_copy, require_copy_ended)


def watch_scene(stage: Stage, demo: Path) -> Scene:
    """A watched folder with a file and its copy under another name, looked at once."""

    def look(site: Path) -> list[str]:
        return ["ingest", "--watch", str(site / "watched"), "--once", "--settle-seconds", "0"]

    site = stage.site("watch", demo)
    put_to_watch(site)
    return Scene("watch", site, (ANALYST,), look, stage.runner, whole=require_watched, ended=require_watched_ended)
